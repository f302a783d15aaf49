"""The stills that were kept beside a run, as pictures under the numbers they had in their clip."""

import functools
from collections.abc import Callable, Mapping
from pathlib import Path

from PIL import Image

from tapmark import disk
from tapmark.clip.rates import Capture
from tapmark.clip.timing import Span
from tapmark.errors import ClipError, FrameNotThere
from tapmark.marks.run import Run
from tapmark.store.pictures import Still, kept_stills

DECODED_KEPT = 16
EMPTY = (0xD8, 0xDD, 0xE3)
LONGEST_PX = 1280


class KeptStills:
    """Gives `clip.frames.Pictures` for the few pictures that were kept; the others are grey.

    Times are those of the key frames; the clip's own are gone with it.
    """

    kind = "clip"

    def __init__(self, run: Run, folder: Path) -> None:
        self.name = "the kept stills"
        self.size_px = run.source.size_px
        self._n = run.source.n_pictures
        self._paths = _numbered(run, kept_stills(folder))
        frames = [frame for step in run.steps for frame in step.key_frames]
        self._times = {frame.picture: (frame.time_s, frame.interval_s) for frame in frames}
        self.capture = Capture(run.set_up.slow_factor, None, run.set_up.rate_source)
        self.notes = ("The clip is not where it was. Key frames and their neighbours were kept.",)
        self._decoded = functools.lru_cache(maxsize=DECODED_KEPT)(self._decode)

    @property
    def is_empty(self) -> bool:
        """True when nothing was kept."""
        return not self._paths

    def __len__(self) -> int:
        return self._n

    def full(self, i: int, is_cancelled: Callable[[], bool] | None = None) -> Image.Image:
        if not 0 <= i < self._n:
            raise FrameNotThere(f"Picture {i + 1} is not there: {self.name} go up to {self._n}.")
        return self._decoded(i)

    def _decode(self, i: int) -> Image.Image:
        if i not in self._paths:
            return Image.new("RGB", self.size_px, EMPTY)
        try:
            with disk.opened(self._paths[i]) as file, Image.open(file) as image:
                return image.convert("RGB")
        except OSError as trouble:
            raise ClipError(f"“{self._paths[i].name}” cannot be read. Open the clip.") from trouble

    def preview(self, i: int) -> Image.Image:
        image = self.full(i)
        longest = max(image.size)
        return image if longest <= LONGEST_PX else image.reduce(-(-longest // LONGEST_PX))

    def small(self, i: int) -> Image.Image:
        image = self.full(i).copy()
        image.thumbnail((320, 320))
        return image

    def time_s(self, i: int) -> float | None:
        return self._times.get(i, (None, None))[0]

    def interval_s(self, i: int) -> float | None:
        return self._times.get(i, (None, None))[1]

    def span(self, i: int, j: int) -> Span | None:
        return None

    def stamp(self, i: int) -> int | None:
        return None

    def rate_hz(self) -> float | None:
        return None

    def close(self) -> None:
        self._decoded.cache_clear()


def _numbered(run: Run, stills: Mapping[Still, Path]) -> dict[int, Path]:
    """Return picture number -> file; a picture that two key frames share is there once."""
    found = {}
    for (i_step, event, offset), path in stills.items():
        frame = run.steps[i_step].key_frame(event) if i_step < len(run.steps) else None
        if frame:
            found[frame.picture + offset] = path
    return found
