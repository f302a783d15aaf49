"""Exact stills of a clip and their times, for `tapmark frames`."""

from collections.abc import Callable
from pathlib import Path

from tapmark.clip.export import Exported, export_frames

EVERY = 100


def write_frames(
    clip: Path, out: Path, start_s: float | None, end_s: float | None, say: Callable[[str], None]
) -> Exported:
    """Write the stills of a clip, or of a part of it, into the new folder `out`.

    start_s, end_s: seconds on the file's clock since its first picture; None = no limit.
    Raises AlreadyThere for a folder in use, ClipError with the kind of trouble.
    """

    def progress(read: int, expected: int | None) -> None:
        if read and read % EVERY == 0:
            say(f"{read} pictures" + (f" of about {expected}" if expected else ""))

    written = export_frames(clip, out, from_s=start_s, to_s=end_s, on_progress=progress)
    if written.capture.slow_factor is None:
        say(f"Capture rate {written.capture.source}: capture_time_s stays empty.")
    return written
