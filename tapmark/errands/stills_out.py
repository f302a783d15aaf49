"""Exact stills of a clip and their times, for `tapmark frames`."""

from collections.abc import Callable
from pathlib import Path

from tapmark.clip.export import Exported, export_frames
from tapmark.errands.progress import Waiting


def write_frames(
    clip: Path,
    out: Path,
    part_s: tuple[float | None, float | None],
    say: Callable[[str], None],
    waiting: Waiting,
) -> Exported:
    """Write the stills of a clip, or of a part of it, into the new folder `out`.

    part_s: from and to, seconds on the file's clock since its first picture; None = no limit.
    Raises AlreadyThere for a folder in use, ClipError with the kind of trouble.
    """
    with waiting:
        tell = waiting.telling("pictures written")
        written = export_frames(clip, out, from_s=part_s[0], to_s=part_s[1], on_progress=tell)
    if written.capture.slow_factor is None:
        say(f"Capture rate {written.capture.source}: capture_time_s stays empty.")
    if written.is_cut:
        say("The clip ends before it should: it was cut off. These are the pictures it holds.")
    return written
