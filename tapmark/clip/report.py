"""A clip in plain words: what it is, what its times are worth, what to watch for.

For `tapmark doctor CLIP` and the file panel of the window.
"""

from collections.abc import Callable, Sequence
from contextlib import ExitStack
from pathlib import Path

from tapmark.clip.changes import measure_changes
from tapmark.clip.clip import Clip
from tapmark.clip.frames import OnProgress, Pictures, is_clip, open_pictures, read_header
from tapmark.clip.header import LONG_CLIP
from tapmark.clip.rates import Capture
from tapmark.leftovers import temporary_folder


def clip_report(
    paths: Path | Sequence[Path],
    cache_folder: Path | None = None,
    *,
    on_progress: OnProgress | None = None,
    on_compared: OnProgress | None = None,
    is_cancelled: Callable[[], bool] | None = None,
) -> tuple[str, ...]:
    """Return sentences about a clip, a folder of stills or a pick of stills; reads all of it.

    cache_folder: where prepared pictures go; None = nowhere, nothing is kept
    on_progress, on_compared: told how far the reading is, then how far the look for repeats
    Raises ClipError with the kind of trouble when it cannot be used at all, Cancelled.
    """
    with ExitStack() as stack:
        folder = cache_folder or stack.enter_context(temporary_folder())
        part = _part_of_long(paths)
        pictures = open_pictures(
            paths, folder, on_progress=on_progress, is_cancelled=is_cancelled, part=part
        )
        stack.callback(pictures.close)
        changes = measure_changes(pictures, is_cancelled=is_cancelled, on_progress=on_compared)
        long = [f"A long clip: only its first {part[1]:.0f} s were looked at."] if part else []
        return (*headline(pictures), *long, *pictures.notes, *changes.notes())


def _part_of_long(paths: Path | Sequence[Path]) -> tuple[float, float] | None:
    """Return the beginning of a clip that is too long to be looked at whole, else None."""
    if not is_clip(paths):
        return None
    header = read_header(paths if isinstance(paths, Path) else paths[0])
    return (0.0, LONG_CLIP / header.rate_hz) if header.is_long and header.rate_hz else None


def headline(pictures: Pictures) -> tuple[str, ...]:
    """Return what the pictures are, whether all are there, and what a second means in them."""
    lines = [_what(pictures)]
    if isinstance(pictures, Clip) and pictures.shortfall:
        rest = "Opening the clip uses them; for the rest, copy it again from the phone."
        lines.append(f"{pictures.shortfall} {rest}")
    lines.append(_clock(pictures))
    return tuple(lines)


def _what(pictures: Pictures) -> str:
    width, height = pictures.size_px
    n = len(pictures)
    words = f"“{pictures.name}”: {n} frame{'' if n == 1 else 's'}, {width} × {height}"
    length_s = pictures.time_s(n - 1) if n > 1 else None
    if length_s is not None:
        words += f", {length_s:.2f} s on the file's clock"
    rate_hz = pictures.rate_hz()
    if rate_hz is not None:
        words += f", {rate_hz:.1f} frames per second".replace(".0 ", " ")
    if isinstance(pictures, Clip):
        words += f", coding {pictures.header.coding}"
    return words + "."


def _clock(pictures: Pictures) -> str:
    capture = pictures.capture
    if capture.slow_factor is None or capture.rate_hz is None:
        return f"Capture rate {_unknown(capture)}. {_ask(pictures)}"
    step_ms = 1000 / capture.rate_hz
    return (
        f"Capture rate {capture.rate_hz:.0f} frames per second: {capture.source}. One frame is "
        f"{step_ms:.1f} ms."
    )


def _unknown(capture: Capture) -> str:
    return capture.source if capture.source.startswith("not known") else "not known"


def _ask(pictures: Pictures) -> str:
    if len(pictures) == 1:
        return "One frame has no times: its angles can be measured, seconds cannot."
    if pictures.kind == "stills":
        return "Type the rate or the times, or leave them unknown: angles can still be measured."
    if "changes inside" in pictures.capture.source:
        return "State the rate of the part you mark, or leave it unknown: angles can be measured."
    return (
        "State the rate you filmed at (60, 120, 240), find it with a stopwatch in the picture, or "
        "leave it unknown: angles can still be measured, seconds cannot."
    )
