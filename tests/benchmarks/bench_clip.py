"""What reading clips costs, as ratios to the bare operation, measured in one run.

    python -m tests.benchmarks.bench_clip [FOLDER]

Makes a 10 s clip of 1080p at 240 pictures a second (H.264) and 3 s of 4K at 60 (HEVC, HLG) in
FOLDER (kept there for the next run; a temporary folder without one), then prints a table. Takes
about six minutes on two cores. CPU seconds count, because wall times lie on a busy machine; times
a person waits for are wall times. Needs a screen (Xvfb will do) for the lines about the window.
"""

import io
import random
import resource
import statistics
import subprocess
import sys
import tempfile
import time
import tkinter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from PIL import Image, ImageTk

from tapmark.clip.blob import open_blob
from tapmark.clip.cache import Cache
from tapmark.clip.colour import write_table
from tapmark.clip.ffmpeg import POLITE, find_program
from tapmark.clip.frames import begin_clip, open_clip, read_header
from tapmark.clip.ingest import preview_command
from tapmark.clip.reading import n_threads

N_STEPS = 120
TURNS = 3


@dataclass(frozen=True)
class Line:
    what: str
    value: float
    unit: str
    bar: float | None

    def __str__(self) -> str:
        bar = f"≤ {self.bar:g}" if self.bar is not None else ""
        sign = "" if self.bar is None or self.value <= self.bar else "  MISSED"
        return f"| {self.what:<58} | {self.value:8.2f} {self.unit:<3} | {bar:<7} |{sign}"


def make_clips(folder: Path) -> tuple[Path, Path, Path]:
    """Return the 1080p clip, its first 3 s, and the 4K clip; made unless they are there."""
    long, short, wide = (folder / name for name in ("1080p240.mp4", "short.mp4", "4k60.mp4"))
    noisy = "noise=alls=10:allf=t"
    if not long.exists():
        source = f"testsrc2=s=1920x1080:r=240:d=10,{noisy},format=yuv420p"
        x264 = ["-c:v", "libx264", "-preset", "superfast", "-b:v", "80M", "-g", "240"]
        ffmpeg("-f", "lavfi", "-i", source, *x264, str(long))
    if not short.exists():
        ffmpeg("-i", str(long), "-t", "3", "-c", "copy", str(short))
    if not wide.exists():
        source = f"testsrc2=s=3840x2160:r=60:d=3,{noisy},format=yuv420p10le"
        x265 = ["-c:v", "libx265", "-preset", "ultrafast", "-b:v", "55M", "-tag:v", "hvc1"]
        hlg = (
            "log-level=error:keyint=60:colorprim=bt2020:transfer=arib-std-b67:colormatrix=bt2020nc"
        )
        ffmpeg("-f", "lavfi", "-i", source, *x265, "-x265-params", hlg, str(wide))
    return long, short, wide


def ffmpeg(*arguments: str, folder: Path | None = None) -> None:
    """Run ffmpeg alone, at the priority Tapmark gives it, its output thrown away."""
    quiet = [find_program().path, "-hide_banner", "-nostats", "-nostdin", "-v", "info", "-y"]
    subprocess.run(
        ["nice", "-n", str(POLITE), *quiet, *arguments],
        check=True,
        cwd=folder,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )


def cpu_s() -> float:
    """Return CPU seconds of this program and its finished children."""
    parts = (resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return sum(part.ru_utime + part.ru_stime for part in parts)


def cost(work: Callable[[], object]) -> float:
    before = cpu_s()
    work()
    return cpu_s() - before


def import_lines(name: str, path: Path, folder: Path) -> Iterator[Line]:
    """Compare reading with the same command alone and with decoding alone; medians of three."""
    header = read_header(path)
    command = preview_command(header, None, can_seek=False, n_threads=n_threads())
    if header.hdr:
        write_table(header.hdr, folder)
    alone, decode, ours = [], [], []
    for turn in range(TURNS):
        cache = folder / f"{name} {turn}"
        decode.append(
            cost(lambda: ffmpeg("-threads", str(n_threads()), "-i", str(path), "-f", "null", "-"))
        )
        alone.append(cost(lambda: ffmpeg(*command, folder=folder)))
        ours.append(cost(lambda cache=cache: open_clip(path, cache).close()))  # type: ignore[misc]
    to_alone, to_decode = median_ratio(ours, alone), median_ratio(ours, decode)
    yield Line(f"{name}: import / same ffmpeg command alone, CPU", to_alone, "×", 1.15)
    yield Line(f"{name}: import / plain decode, CPU", to_decode, "×", 2.6)
    yield Line(f"{name}: first picture, wall", first_picture_s(path, folder), "s", 0.5)
    yield Line(f"{name}: exact full-size picture, wall, median", full_s(path, folder), "s", 1.5)


def first_picture_s(path: Path, folder: Path) -> float:
    times = []
    for turn in range(9):
        start = time.perf_counter()
        begin_clip(path, folder / f"first {turn}").close()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def full_s(path: Path, folder: Path) -> float:
    clip = open_clip(path, folder / f"{path.stem} full")
    times = []
    for i in random.Random(4).sample(range(len(clip)), 9):
        start = time.perf_counter()
        clip.full(i)
        times.append(time.perf_counter() - start)
    clip.close()
    return statistics.median(times)


class Screen:
    """A canvas picture that is pasted into, as the window does it."""

    def __init__(self, size: tuple[int, int]) -> None:
        self.root = tkinter.Tk()
        self.photo = ImageTk.PhotoImage("RGB", size, master=self.root)
        tkinter.Label(self.root, image=self.photo).pack()
        self.root.update()

    def show(self, picture: Image.Image) -> None:
        self.photo.paste(picture)
        self.root.update()


def ms_each(show: Callable[[int], None], numbers: list[int]) -> list[float]:
    times = []
    for i in numbers:
        start = time.perf_counter()
        show(i)
        times.append(1000 * (time.perf_counter() - start))
    return times


def step_lines(path: Path, folder: Path) -> Iterator[Line]:
    """Compare a step, a jump and a bare picture: always a picture and its neighbour, in turns."""
    clip = open_clip(path, folder / "steps")
    screen = Screen(clip.preview(0).size)
    places = random.Random(9).sample(range(0, len(clip) - 1, 2), N_STEPS)
    stored = open_blob(next((folder / "steps").glob("*.pictures")))
    assert stored is not None
    jpegs = {i: stored[0].read(i) for i in places}
    stored[0].close()

    def ours(i: int) -> None:
        screen.show(clip.preview(i))

    def bare(i: int) -> None:
        picture = Image.open(io.BytesIO(jpegs[i]))
        picture.load()
        screen.show(picture)

    ms_each(ours, list(range(10)))
    bare_ms, step_ms, jump_ms = [], [], []
    for i in places:  # in turns, so that a busy moment hits all alike
        bare_ms += ms_each(bare, [i])
        jump_ms += ms_each(ours, [i])
        step_ms += ms_each(ours, [i + 1])
    yield Line("step / bare JPEG decode + paste, median", median_ratio(step_ms, bare_ms), "×", 1.5)
    yield Line("random jump / step, median", median_ratio(jump_ms, step_ms), "×", 1.0)
    yield Line("step, idle, median", statistics.median(step_ms), "ms", 15)
    clip.close()
    growing = begin_clip(path, folder / "growing")
    while len(growing) < 2 * N_STEPS:
        growing.wait(0.05)
    busy = ms_each(lambda i: screen.show(growing.preview(i)), list(range(N_STEPS)))
    assert not growing.is_done, "the clip was still being read"
    growing.close()
    yield Line("step while importing / step idle, median", median_ratio(busy, step_ms), "×", 2)
    screen.root.destroy()


def median_ratio(ours: list[float], bare: list[float]) -> float:
    return statistics.median(ours) / statistics.median(bare)


READ = """
import resource, sys
from pathlib import Path

def peak_mb():
    status = Path("/proc/self/status")
    if status.exists():  # what getrusage says there begins with the memory of whoever started us
        line = next(l for l in status.read_text().splitlines() if l.startswith("VmHWM"))
        return int(line.split()[1]) / 1024
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / (2**20 if sys.platform == "darwin" else 2**10)

from tapmark.clip.frames import open_clip
clip = open_clip(Path(sys.argv[1]), Path(sys.argv[2]))
for i in range(0, len(clip), 10):
    clip.preview(i)
print(peak_mb())
clip.close()
"""


def peak_mb(path: Path, folder: Path) -> float:
    done = subprocess.run(
        [sys.executable, "-c", READ, str(path), str(folder / f"{path.stem} memory")],
        check=True,
        capture_output=True,
        encoding="utf-8",
    )
    return float(done.stdout)


def memory_lines(long: Path, short: Path, folder: Path) -> Iterator[Line]:
    long_mb, short_mb = peak_mb(long, folder), peak_mb(short, folder)
    yield Line("Python's peak memory, 2400 pictures", long_mb, "MB", 250)
    yield Line("Python's peak memory, 720 pictures", short_mb, "MB", 250)
    yield Line("grown by 1680 more pictures", long_mb - short_mb, "MB", 10)


def main() -> None:
    tkinter.Tk().destroy()  # no screen: said now, not after six minutes
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(temporary)
        kept = Path(sys.argv[1]) if len(sys.argv) > 1 else folder
        long, short, wide = make_clips(kept)
        cache_mb = Cache(folder / "1080p240 0")
        print(f"ffmpeg {find_program().version}; a busy loop gets {share():.0%} of a processor.")
        print("Wall times are longer by about that share when other programs run.\n")
        print("| what | measured | bar |\n|---|---|---|")
        for line in import_lines("1080p240", long, folder):
            print(line, flush=True)
        stored = cache_mb.size_bytes() / len_of(long)
        print(Line("1080p240: disk per picture", stored / 1000, "kB", 80), flush=True)
        for line in import_lines("4K60 HLG", wide, folder):
            print(line, flush=True)
        for line in (*memory_lines(long, short, folder), *step_lines(long, folder)):
            print(line, flush=True)


def share() -> float:
    """Return how much of one processor this program gets right now."""
    wall, cpu = time.perf_counter(), time.process_time()
    while time.process_time() - cpu < 0.5:
        pass
    return 0.5 / (time.perf_counter() - wall)


def len_of(path: Path) -> int:
    return read_header(path).n_expected or 1


if __name__ == "__main__":
    main()
