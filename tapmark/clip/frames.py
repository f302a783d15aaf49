"""The front door of the room: what the window, the sheet and the command line may call.

Clips and stills give the same thing, a `Pictures`. Picture i is one and the same exposure in
`preview`, `full`, `time_s` and `stamp`, however the caller jumps about.
"""

from collections.abc import Callable
from typing import Protocol

from PIL import Image

from tapmark.clip.rates import Capture

Progress = Callable[[int, int | None], None]
"""Called with (pictures read so far, pictures expected or None when nobody knows)."""

IsCancelled = Callable[[], bool]


class Pictures(Protocol):
    """A row of pictures, upright, with square pixels and, where known, times.

    name:     what to call it in a sentence (file or folder name, safe to print)
    kind:     "clip" or "stills"
    size_px:  full size (w, h), upright
    capture:  how the file's clock relates to true time
    notes:    plain sentences: turned, interlaced, uneven rate, missing exposures, HDR, cut off …
    """

    name: str
    kind: str

    @property
    def size_px(self) -> tuple[int, int]: ...
    @property
    def capture(self) -> Capture: ...
    @property
    def notes(self) -> tuple[str, ...]: ...

    def __len__(self) -> int:
        """Return how many pictures are known by now; grows while a clip is read."""

    def preview(self, i: int) -> Image.Image:
        """Return picture i, RGB, longest side at most 1280. Shared: copy before drawing on it.

        Raises FrameNotThere outside 0 … len−1, ClipError when the file has gone.
        """

    def full(self, i: int) -> Image.Image:
        """Return the same picture at `size_px`, RGB. A clip needs 0.3–1.5 s: call it in a job."""

    def time_s(self, i: int) -> float | None:
        """Return seconds on the file's clock since the file's first picture; None = not known.

        True seconds are this ÷ capture.slow_factor.
        """

    def interval_s(self, i: int) -> float | None:
        """Return the larger of the two gaps beside picture i, seconds on the file's clock."""

    def missing_between(self, i: int, j: int) -> int:
        """Return how many exposures seem to be missing between pictures i and j."""

    def stamp(self, i: int) -> int | None:
        """Return the file's own integer stamp of picture i: its name for life, in any part."""

    def close(self) -> None:
        """Stop reading, end every process, drop what is half done."""
