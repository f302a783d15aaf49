"""Exact stills of a clip and their times, as files: `tapmark frames`."""

import csv
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from PIL import Image

from tapmark import disk
from tapmark.clip import troubles
from tapmark.clip.blob import JPEG_END, PNG_END, Splitter
from tapmark.clip.colour import chain_to_rgb, write_table
from tapmark.clip.ffmpeg import Running, stop
from tapmark.clip.header import SILENCE_S, Header, confirmed, read_header
from tapmark.clip.ingest import Part, every_picture, jpeg_chain, part_of
from tapmark.clip.names import shown_name
from tapmark.clip.rates import Capture, capture_from_file
from tapmark.clip.showinfo import Talk
from tapmark.clip.stills import TIMES_FILE, times_beside
from tapmark.clip.timing import Stamps, rate_stretches
from tapmark.clip.turns import turns
from tapmark.errors import AlreadyThere, ClipError, ClipUnreadable
from tapmark.leftovers import half_made, temporary_folder
from tapmark.progress import NOBODY, Progress

KINDS = {
    "png": (PNG_END, ["-c:v", "png", "-compression_level", "3"]),
    "jpg": (JPEG_END, ["-c:v", "mjpeg", "-q:v", "2", "-pix_fmt", "yuvj420p"]),
}


@dataclass(frozen=True)
class Exported:
    """What was written: the folder, how many stills, what is known of their times."""

    folder: Path
    n_pictures: int
    capture: Capture
    is_cut: bool


def export_frames(
    path: Path,
    out: Path,
    *,
    from_s: float | None = None,
    to_s: float | None = None,
    kind: str = "png",
    progress: Progress = NOBODY,
) -> Exported:
    """Write every frame of a clip, or of a part, at full size into the new folder `out`.

    from_s, to_s:  seconds on the file's clock since its first frame
    kind:          "png" (exact) or "jpg" (a tenth of the space)
    Beside the stills lies times.csv with picture, time_s and, where known, capture_time_s.
    The folder appears only when all is written. Raises AlreadyThere, ClipError,
    InUse, Cancelled.
    """
    if disk.exists(out) and (not disk.is_folder(out) or disk.entries(out)):
        raise AlreadyThere(
            f"“{shown_name(out)}” exists and is not empty. Name a new folder for the stills."
        )
    header = confirmed(read_header(path))
    part = None
    if from_s is not None or to_s is not None:
        end_s = (header.length_s or 0.0) + 1e6 if to_s is None else to_s
        part = part_of(from_s or 0.0, end_s)
    half = half_made(out)
    try:
        half.mkdir(parents=True)
        writer = _written(header, part, kind, half, progress)
        capture = writer.write_times(header)
        if disk.exists(out):
            out.rmdir()
        disk.rename_folder(half, out)
    except OSError as trouble:
        raise _cannot_write(out, trouble) from trouble
    finally:
        shutil.rmtree(half, ignore_errors=True)
    return Exported(out, len(writer.stamps), capture, writer.talk.is_cut)


def exported(folder: Path) -> tuple[list[float], Callable[[int], Image.Image]]:
    """Return the times of exported stills, s on the file's clock, and the way to each frame.

    A number before the first or after the last one gives that one.
    """
    rows = [(row["picture"], float(row["time_s"])) for row in times_beside(folder)]

    @lru_cache(maxsize=2)
    def picture(i: int) -> Image.Image:
        path = folder / rows[min(max(i, 0), len(rows) - 1)][0]
        with disk.opened(path) as file, Image.open(file) as still:
            return still.convert("RGB")

    return [time_s for _, time_s in rows], picture


def _written(
    header: Header,
    part: Part | None,
    kind: str,
    folder: Path,
    progress: Progress,
) -> "_Writer":
    """Run the pass; for a part whose seek went wrong, again from the start of the file."""
    end, coding = KINDS[kind]
    if kind == "jpg":
        chain = jpeg_chain(header, header.size_px)
    else:
        rgb = chain_to_rgb(header.size_px, hdr=header.hdr, matrix=header.matrix)
        chain = f"{rgb},format=rgb24"
    n_expected = part.n_expected(header) if part else header.n_expected
    for can_seek in (True, False):
        writer = _Writer(folder, kind, end, Stamps(header.tick_s, header.first_stamp))
        with temporary_folder() as tables:
            if header.hdr:
                write_table(header.hdr, tables)
            arguments = every_picture(header, part, chain, coding, [], can_seek=can_seek)
            running = Running(arguments, writer, tables)
            running.start()
            try:
                for _ in turns(running, progress, silence_s=SILENCE_S):
                    progress.report(writer.n_written, n_expected)
            finally:
                stop(running)
        if not writer.is_late(part.latest_first(header) if part and can_seek else None):
            break
    writer.check(header)
    return writer


class _Writer:
    """Takes the pass: one file per frame, one stamp per frame."""

    def __init__(self, folder: Path, kind: str, end: bytes, stamps: Stamps) -> None:
        self.stamps = stamps
        self.talk = Talk()
        self.n_written = 0
        self._folder = folder
        self._kind = kind
        self._splitter = Splitter(end)
        self._code = 0
        self._trouble: OSError | None = None

    def take_bytes(self, chunk: bytes) -> None:
        for data in self._splitter.feed(chunk):
            self.n_written += 1
            (self._folder / self._name(self.n_written)).write_bytes(data)

    def take_line(self, line: str) -> None:
        if picture := self.talk.take(line):
            self.stamps.add(picture.stamp)

    def end(self, code: int, trouble: OSError | None) -> None:
        self._code, self._trouble = code, trouble

    def _name(self, number: int) -> str:
        return f"picture_{number:05d}.{self._kind}"

    def is_late(self, latest: int | None) -> bool:
        first = self.stamps.stamp(0) if len(self.stamps) else None
        return latest is not None and (first is None or first > latest)

    def check(self, header: Header) -> None:
        """Raise what makes the stills unusable: disk, clip, or counts that disagree.

        Raises ClipUnreadable, CannotWrite and what `explain` makes of ffmpeg's last words.
        """
        if self._trouble is not None:
            raise self._trouble
        if self.n_written == 0:
            if self._code == 0:
                raise ClipUnreadable(f"“{header.name}” has no frames in that part.")
            raise troubles.explain(header.path, self._code, self.talk.last_words)
        if self.n_written != len(self.stamps):
            raise ClipUnreadable(
                f"“{header.name}” announces {len(self.stamps)} frames but gives "
                f"{self.n_written}: nobody can say which is which."
            )

    def write_times(self, header: Header) -> Capture:
        """Write times.csv; return how the file's clock relates to true time."""
        gaps = self.stamps.gaps_s()
        capture = capture_from_file(
            header.tag_hz,
            self.stamps.rate_hz(),
            is_steady=len(rate_stretches(gaps, float(header.tick_s))) < 2,
        )
        with (self._folder / TIMES_FILE).open("w", encoding="utf-8", newline="") as file:
            rows = csv.writer(file)
            rows.writerow(["picture", "time_s", "capture_time_s"])
            for i in range(self.n_written):
                time_s = self.stamps.time_s(i)
                times = (time_s, capture.true_s(time_s))
                told = ("" if each is None else f"{each:.9f}" for each in times)
                rows.writerow([self._name(i + 1), *told])
        return capture


def _cannot_write(out: Path, trouble: OSError) -> ClipError:
    name = shown_name(out)
    if disk.is_full(trouble):
        return ClipError(
            f"The disk is full: “{name}” was not written and nothing was left behind. Free some "
            "space, choose a shorter part, or write JPEG."
        )
    return ClipError(f"“{name}” cannot be written: {disk.reason(trouble)}. Choose another folder.")
