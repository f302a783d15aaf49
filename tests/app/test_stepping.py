"""An old laptop steps back one picture quickly, proved by the work done.

A time would depend on the machine. What is counted instead, while the real window is driven:
processes begun, pictures decoded by Pillow, bytes read from the file of prepared pictures, and the
memory of all pictures that are alive. What stands on the screen is read back by its bar code.
"""

import gc
import subprocess
import sys
import zlib
from array import array
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from PIL import Image, ImageTk

from tapmark.clip.blob import Blob
from tests.app.driving import Driver, OpenWindow
from tests.clip import made

N, FIRST, SIZE = 64, 100, (1280, 720)
MOST_BYTES = 200_000_000  # for pictures, in a window of 1366 × 768; the laptop has 4,000 million
PIXEL_BYTES = {"RGB": 4, "RGBA": 4, "L": 1}  # as Pillow keeps them
HELD = 12


@dataclass
class Work:
    """What was done since the last look."""

    processes: list[Any] = field(default_factory=list)
    decoded: list[str] = field(default_factory=list)
    read: list[tuple[int, int]] = field(default_factory=list)

    def forget(self) -> None:
        for each in (self.processes, self.decoded, self.read):
            each.clear()


@pytest.fixture
def work(monkeypatch: pytest.MonkeyPatch) -> Work:
    """Counts at the three places that everything has to pass: the system, Pillow, the file."""
    done = Work()
    begin = subprocess.Popen.__init__
    decoder, read_at = Image._getdecoder, Blob._read_at  # noqa: SLF001

    def began(self: Any, *arguments: Any, **options: Any) -> None:
        done.processes.append(arguments)
        begin(self, *arguments, **options)

    def decodes(mode: str, name: str, *more: Any) -> Any:
        done.decoded.append(name)
        return decoder(mode, name, *more)

    def reads(self: Blob, start: int, size: int) -> bytes:
        done.read.append((start, size))
        return read_at(self, start, size)

    monkeypatch.setattr(subprocess.Popen, "__init__", began)
    monkeypatch.setattr(Image, "_getdecoder", decodes)
    monkeypatch.setattr(Blob, "_read_at", reads)
    return done


@pytest.fixture(scope="module")
def clip(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Pictures of a phone's usual size, each with its number."""
    path = tmp_path_factory.mktemp("stepping") / "numbered.mp4"
    pictures = [made.draw(FIRST + k, SIZE) for k in range(N)]
    options = {"preset": "ultrafast", "x264-params": "log-level=error"}
    return made.write_clip(path, pictures, made.steady(N, 240, 90_000), 90_000, options=options)


@pytest.fixture
def app(open_app: OpenWindow, squad_folder: Path, clip: Path) -> Iterator[Driver]:
    """The window on Frames, the clip read to its end and compared, nothing left to do."""
    driver = open_app(squad_folder)
    driver.keyboard_on(driver.view.list)
    driver.press("Control-Key-n")
    driver.asked.ready.append(clip)
    driver.context.perform("open clip")
    driver.wait_for_clip()
    driver.go("frames")
    driver.pump(lambda: driver.state.run.source.n_pictures == N, "what the whole clip tells")
    driver.pump(lambda: driver.context.jobs.is_idle, "the comparison that follows it")
    driver.keyboard_on(driver.bench.pane.canvas)
    yield driver


def shown(app: Driver) -> int | None:
    """Return the number that the picture on the screen carries, counted from 0."""
    photo: Any = app.bench.pane._photo  # noqa: SLF001
    number = made.number_in(ImageTk.getimage(photo).convert("RGB"))
    return None if number is None else number - FIRST


def bytes_of(app: Driver, i: int) -> tuple[int, int]:
    """Return where picture i lies in the file of prepared pictures, and how long it is."""
    path = max(
        app.context.cache_folder.glob("*.pictures"), key=lambda each: each.stat().st_mtime_ns
    )
    ends = [0]
    with path.open("rb") as file:
        data = file.read()
    while len(ends) <= i + 1:  # a JPEG ends where its end mark stands, and nowhere else
        ends.append(data.index(b"\xff\xd9", ends[-1]) + 2)
    return ends[i], ends[i + 1] - ends[i]


WALK = [
    *["Key-Left"] * 5,
    "Shift-Key-Left",
    "Key-Left",
    "Key-Right",  # seen a moment ago
    "Shift-Key-Right",
    *["Key-comma"] * 3,
    "Key-period",
]
BY = {"Key-Left": -1, "Key-comma": -1, "Key-Right": 1, "Key-period": 1}
BY |= {"Shift-Key-Left": -10, "Shift-Key-Right": 10}


def test_task_3_a_step_reads_and_decodes_one_stored_picture_and_begins_no_process(
    app: Driver, work: Work
) -> None:
    app.press("End")
    seen = {0, N - 1}
    for key in WALK:
        before = app.state.marking.picture
        work.forget()

        app.press(key)

        i = before + BY[key]
        assert (i, i) == (app.state.marking.picture, shown(app)), key
        is_new = i not in seen
        assert len(work.decoded) == is_new, f"{key} to picture {i}"
        assert work.read == ([bytes_of(app, i)] if is_new else []), f"{key} to picture {i}"
        assert work.processes == []
        seen.add(i)


def test_task_3_a_held_key_does_no_more_for_all_its_repeats_than_for_one_step_each(
    app: Driver, work: Work
) -> None:
    app.press("End")
    work.forget()

    for _ in range(HELD):  # the keyboard repeats faster than the window can draw
        app.bench.pane.canvas.event_generate("<Key-Left>")
    app.pump(lambda: app.state.marking.picture == N - 1 - HELD, "the last repeat")

    assert shown(app) == N - 1 - HELD
    assert 1 <= len(work.decoded) <= HELD
    assert set(work.read) <= {bytes_of(app, N - 2 - k) for k in range(HELD)}
    assert work.processes == []


@pytest.mark.long
def test_task_3_what_is_kept_of_the_pictures_stays_small(app: Driver) -> None:
    before = alive()
    app.press("Home", *["Key-Right"] * (N - 1), *["Key-Left"] * (N - 1))
    for event in range(1, 6):
        app.press(f"Key-{event}", *["Shift-Key-Right"])
    app.go("taps")
    for event in range(1, 6):
        app.press(f"Key-{event}")
        app.pump(
            lambda: app.state.marking.gallery.has_full(app.state.marking.picture),
            "the full picture",
        )

    kept = {i: size for i, size in alive().items() if i not in before}
    assert len(kept) > 40, "they are really counted"
    assert sum(kept.values()) <= MOST_BYTES


def alive() -> dict[int, int]:
    """Return id -> bytes of every picture that Python has not let go."""
    gc.collect()
    found = (each for each in gc.get_objects() if isinstance(each, Image.Image))
    return {
        id(image): image.width * image.height * PIXEL_BYTES.get(image.mode, 4) for image in found
    }


def test_the_counters_see_a_process_a_decode_and_a_read(work: Work, clip: Path) -> None:
    jpeg = clip.with_suffix(".jpg")
    Image.new("RGB", (8, 8)).save(jpeg)
    work.forget()
    Image.open(jpeg).load()
    subprocess.run([sys.executable, "-c", ""], check=True)
    blob = Blob(jpeg, array("Q", [4]), array("L", [zlib.crc32(jpeg.read_bytes()[:4])]))
    blob.read(0)
    blob.close()
    assert (len(work.decoded), len(work.processes), work.read) == (1, 1, [(0, 4)])
