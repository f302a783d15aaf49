"""What this installation can do, in lines a coach can send when asking for help.

Versions and abilities only: no name, no code, no path of a person.
"""

import importlib.metadata
import platform
from collections.abc import Callable, Iterable, Sequence
from datetime import date
from importlib.util import find_spec
from pathlib import Path

from tapmark import __version__, disk
from tapmark.clip.ffmpeg import find_program
from tapmark.clip.names import shown_name
from tapmark.clip.report import clip_report
from tapmark.errors import TapmarkError
from tapmark.report.drawing.painter import font_report
from tapmark.services.progress import Waiting
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
    return examine_clip(clip, waiting) if clip else examine_installation()


def examine_installation() -> tuple[str, ...]:
    """Return lines about versions, ffmpeg, fonts, the window and the samples."""
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
        told = clip_report(
            path,
            on_progress=waiting.telling("frames read"),
            on_compared=waiting.telling("frames compared"),
        )
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
