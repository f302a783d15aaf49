"""What this installation can do, or what a clip is like, in lines a coach can send for help.

No name, no code, no path of a person is in them.
"""

import importlib.metadata
import platform
from collections.abc import Callable, Iterable, Sequence
from datetime import date
from importlib.util import find_spec
from pathlib import Path

from tapmark import __version__, disk
from tapmark.clip.changes import measure_changes
from tapmark.clip.clip import Clip
from tapmark.clip.ffmpeg import find_program
from tapmark.clip.frames import Pictures, is_clip, open_pictures, read_header
from tapmark.clip.header import LONG_CLIP
from tapmark.clip.names import shown_name
from tapmark.errors import TapmarkError
from tapmark.leftovers import temporary_folder
from tapmark.marks.days import several
from tapmark.progress import NOBODY, Progress, Waiting
from tapmark.report.drawing.painter import font_report
from tapmark.services.samples import sample_frames
from tapmark.services.true_rate import check_by_stopwatch

LIBRARIES = ("Pillow", "numpy", "imageio", "imageio-ffmpeg")


def examine(
    clip: Path | None, readings: Sequence[str], keep: Sequence[str], today: date, waiting: Waiting
) -> Iterable[str]:
    """Return lines about a clip, about its true rate by a stopwatch, or about this installation.

    readings, keep: as for true_rate.check_by_stopwatch, () for neither.
    waiting:        shows how far a long clip is read. Raises TapmarkError.
    """
    if readings or keep:
        return check_by_stopwatch(clip, readings, keep, today, waiting)
    if clip:
        return examine_clip(clip, waiting)
    return (
        f"Tapmark {__version__} on Python {platform.python_version()}, {platform.system()}",
        *(f"{name} {importlib.metadata.version(name)}" for name in LIBRARIES),
        _told("Clips", lambda: "read by ffmpeg " + ".".join(map(str, find_program().version))),
        *font_report(),
        f"Window: {_window()}",
        _told("Samples", lambda: "there" if sample_frames() else ""),
    )


def examine_clip(path: Path, waiting: Waiting) -> tuple[str, ...]:
    """Return what a clip is like and what to do about it; raises ClipError.

    It is called “clip”, whatever its name: coaches name clips after athletes.
    """
    with waiting:
        read, compared = waiting.telling("frames read"), waiting.telling("frames compared")
        told = clip_report(path, read, compared)
    plain = f"clip{path.suffix}" if disk.is_file(path) else "pictures"
    return tuple(line.replace(shown_name(path), plain) for line in told)


def _told(what: str, tell: Callable[[], str]) -> str:
    try:
        return f"{what}: {tell()}"
    except TapmarkError as trouble:
        return f"{what}: {trouble}"


def _window() -> str:
    if find_spec("tkinter") is None or find_spec("_tkinter") is None:
        return (
            "this Python has no tkinter. On Debian or Ubuntu: sudo apt install python3-tk; "
            "on macOS with Homebrew: brew install python-tk; everything else works without it."
        )
    import _tkinter

    return f"Tk {_tkinter.TK_VERSION}"


def clip_report(
    path: Path, read: Progress = NOBODY, compared: Progress = NOBODY
) -> tuple[str, ...]:
    """Return sentences about a clip, or about a still or a folder of stills; reads all of it.

    read, compared: told how far the reading is, then how far the look for repeats
    Raises ClipError with the kind of trouble when it cannot be used at all.
    """
    part = None
    if is_clip(path):
        header = read_header(path)
        if header.is_long and header.rate_hz:
            part = (0.0, LONG_CLIP / header.rate_hz)
    with temporary_folder() as folder:
        pictures = open_pictures(path, folder, progress=read, part=part)
        try:
            changes = measure_changes(pictures, progress=compared)
            long = [f"A long clip: only its first {part[1]:.0f} s were looked at."] if part else []
            return (*headline(pictures), *long, *pictures.notes, *changes.notes())
        finally:
            pictures.close()


def headline(pictures: Pictures) -> tuple[str, ...]:
    """Return what the frames are, whether all are there, and what a second means in them."""
    width, height = pictures.size_px
    n = len(pictures)
    words = f"“{pictures.name}”: {several(n, 'frame')}, {width} × {height}"
    length_s = pictures.time_s(n - 1) if n > 1 else None
    if length_s is not None:
        words += f", {length_s:.2f} s on the file's clock"
    rate_hz = pictures.rate_hz()
    if rate_hz is not None:
        words += f", {rate_hz:.1f} frames per second".replace(".0 ", " ")
    if not isinstance(pictures, Clip):
        return f"{words}.", _clock(pictures)
    words += f", coding {pictures.header.coding}."
    if not pictures.shortfall:
        return words, _clock(pictures)
    rest = "Opening the clip uses them; for the rest, copy it again from the phone."
    return words, f"{pictures.shortfall} {rest}", _clock(pictures)


def _clock(pictures: Pictures) -> str:
    capture = pictures.capture
    if capture.slow_factor is None or capture.rate_hz is None:
        is_told = capture.source.startswith("not known")
        return f"Capture rate {capture.source if is_told else 'not known'}. {_ask(pictures)}"
    step_ms = 1000 / capture.rate_hz
    return (
        f"Capture rate {capture.rate_hz:.0f} frames per second: {capture.source}. One frame is "
        f"{step_ms:.1f} ms."
    )


def _ask(pictures: Pictures) -> str:
    if len(pictures) == 1:
        return "One frame has no times: its angles can be measured, seconds cannot."
    if pictures.kind == "stills":
        known = pictures.time_s(0) is not None
        first = "Their times come from times.csv: type the rate the clip was filmed at"
        ask = first if known else "Type the rate they were taken at"
        return f"{ask}, or leave it unknown: angles can still be measured."
    if "changes inside" in pictures.capture.source:
        return "State the rate of the part you mark, or leave it unknown: angles can be measured."
    return (
        "State the rate you filmed at (60, 120, 240), find it with a stopwatch in the frame, or "
        "leave it unknown: angles can still be measured, seconds cannot."
    )
