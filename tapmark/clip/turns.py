"""Waiting for a file or for ffmpeg: cancel is heard, progress told, a dead drive noticed."""

from collections.abc import Iterator
from typing import Protocol

from tapmark.errors import ClipUnreadable
from tapmark.progress import Progress, refuse_cancelled

TURN_S = 0.02
"""Short, because a person waits for the first frame."""


class Waitable(Protocol):
    """Something that goes on: one run, or a reading that may need two."""

    @property
    def n_signs_of_life(self) -> int: ...
    def wait(self, timeout_s: float) -> bool: ...


def turns(work: Waitable, progress: Progress, *, silence_s: float | None = None) -> Iterator[None]:
    """Give the caller a turn 50 times a second until the work is over.

    Raises as `run` does, and ClipUnreadable when the drive stays silent for silence_s.
    """
    quiet_s, signs = 0.0, 0
    while True:
        refuse_cancelled(progress)
        if work.wait(TURN_S):
            return
        quiet_s = quiet_s + TURN_S if signs == work.n_signs_of_life else 0.0
        signs = work.n_signs_of_life
        if silence_s is not None and quiet_s > silence_s:
            raise ClipUnreadable(
                f"The drive gave no answer for {silence_s:.0f} seconds. Check that it is still "
                "connected, or copy the clip to this computer and open the copy."
            )
        yield
