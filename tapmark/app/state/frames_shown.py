"""Frames as the window shows them: cut to the view, toned, remembered; kept stills among them."""

import functools
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from PIL import Image

from tapmark import disk
from tapmark.app.jobs import Jobs, Task
from tapmark.app.state.viewport import Box, Point, Size, Tone, Viewport
from tapmark.clip.frames import Pictures
from tapmark.clip.rates import Capture
from tapmark.errors import ClipError, FrameNotThere
from tapmark.marks.run import Run
from tapmark.progress import NOBODY, Progress
from tapmark.store.pictures import kept_stills

CUT_BYTES = 120_000_000  # of frames cut to the view: a step and more; one is 2 to 8 MB
FULL_KEPT = 6  # full frames beside them: the key frames and one more
PIXEL_BYTES = 4  # Pillow keeps three colours in four bytes
GREY = (0x55, 0x60, 0x6C)
EXTENT = Image.Transform.EXTENT


@dataclass(frozen=True)
class Shown:
    """A cut frame and where its top-left corner belongs on the canvas; key names it."""

    image: Image.Image
    at: tuple[int, int]
    key: tuple[Any, ...]


class Gallery:
    """The frames of one run, cut to what is asked; those used last are kept until it is closed.

    most_bytes: of all that is kept, cut and full frames together.
    """

    def __init__(self, pictures: Pictures, jobs: Jobs) -> None:
        self.pictures, self._jobs = pictures, jobs
        self._kept: OrderedDict[tuple[Any, ...], Shown] = OrderedDict()
        width, height = pictures.size_px
        self.most_bytes = CUT_BYTES + FULL_KEPT * PIXEL_BYTES * width * height
        self._n_bytes, self._is_closed = 0, False
        self._wanted: int | None = None
        self.compared: tuple[str, ...] = ()
        self.n_repeats = 0
        self.moves: bool | None = None  # the background does; None: not looked at, or cannot tell

    @property
    def notes(self) -> tuple[str, ...]:
        """What a coach should know of the frames: what the file says, then what was compared."""
        return (*self.pictures.notes, *self.compared)

    def has_full(self, i: int) -> bool:
        """Say whether the full-size frame is at hand."""
        return (i,) in self._kept

    def want_full(self, i: int, then: Callable[[], None]) -> None:
        """Fetch the full-size frame beside the window; call `then` when it has come."""
        if self.has_full(i) or self._wanted == i:
            return
        self._wanted = i

        def done(image: Image.Image) -> None:
            self._wanted = None
            self.keep(Shown(image, (0, 0), (i,)))
            then()

        def failed(trouble: object) -> None:
            self._wanted = None

        def fetch(task: Task) -> Image.Image:
            return self.pictures.full(i)

        self._jobs.run("full picture", fetch, done, failed, by="window")  # kept here, seen or not

    def best(self, i: int) -> Image.Image:
        """Return frame i as large as it is at hand: full, else preview."""
        return self._used((i,)).image if self.has_full(i) else self.pictures.preview(i)

    def cut(self, i: int, view: Viewport, tone: Tone) -> Shown:
        """Return the seen part of frame i at canvas size."""
        key = (i, self.has_full(i), view, tone)
        if key in self._kept:
            return self._used(key)
        shown = _cut_out(self.best(i), view, tone, key)
        self.keep(shown)
        return shown

    def _used(self, key: tuple[Any, ...]) -> Shown:
        self._kept.move_to_end(key)
        return self._kept[key]

    def quick(self, i: int, view: Viewport, tone: Tone) -> Shown:
        """Return the seen part of frame i without asking for the full one; on any thread."""
        image, key = self.pictures.preview(i), (i, False, view, tone)
        return _cut_out(image, view, tone, key, Image.Resampling.BOX)

    def later(self, i: int, view: Viewport, tone: Tone) -> Callable[[], Shown]:
        """Return the work of `quick` for any thread; it is asked for on the main one."""
        return functools.partial(self.quick, i, view, tone)

    def is_kept(self, i: int, view: Viewport, tone: Tone) -> bool:
        """Say whether the seen part of frame i is at hand."""
        return any((i, is_full, view, tone) in self._kept for is_full in (True, False))

    def kept(self, i: int, view: Viewport, tone: Tone) -> Shown:
        """Return the seen part of frame i that is at hand, the full one if there is."""
        full = (i, True, view, tone)
        return self._used(full if full in self._kept else (i, False, view, tone))

    def keep(self, shown: Shown) -> None:
        """Remember a frame; those used longest ago go, but one may stay however large it is."""
        if self._is_closed:
            return
        old = self._kept.pop(shown.key, None)
        self._kept[shown.key] = shown
        self._n_bytes += _bytes_of(shown) - (_bytes_of(old) if old else 0)
        while self._n_bytes > self.most_bytes and len(self._kept) > 1:
            self._n_bytes -= _bytes_of(self._kept.popitem(last=False)[1])

    def close(self) -> None:
        """Close the clip or stills and forget every frame, also those a worker still brings."""
        self._is_closed, self._n_bytes = True, 0
        self._kept.clear()
        self.pictures.close()

    def part(self, i: int, box: Box, size: Size, tone: Tone) -> Image.Image:
        """Return a part of frame i at a size; what lies beyond the frame is grey."""
        image = self.best(i)
        shrink = image.width / max(1, self.pictures.size_px[0])
        seen, how = tuple(c * shrink for c in box), Image.Resampling.BILINEAR
        return tone.applied(image.transform(size, EXTENT, seen, resample=how, fillcolor=GREY))

    def near(self, i: int, at: Point, n_px: int, side: int, tone: Tone) -> Image.Image:
        """Return n_px × n_px pixels of the full frame around a point, each drawn as a square.

        side: of the image that comes back, px. Beyond the edge it is grey.
        """
        image = self.best(i)
        shrink = image.width / max(1, self.pictures.size_px[0])
        x, y = int(at[0]) + 0.5, int(at[1]) + 0.5  # the middle of the pixel that was hit
        edges = x - n_px / 2, y - n_px / 2, x + n_px / 2, y + n_px / 2
        left, top, right, bottom = (round(c * shrink) for c in edges)
        patch = Image.new("RGB", (max(1, right - left), max(1, bottom - top)), GREY)
        inside = max(0, left), max(0, top), min(image.width, right), min(image.height, bottom)
        if inside[0] < inside[2] and inside[1] < inside[3]:
            patch.paste(image.crop(inside), (inside[0] - left, inside[1] - top))
        return tone.applied(patch.resize((side, side), Image.Resampling.NEAREST))


def _cut_out(
    image: Image.Image,
    view: Viewport,
    tone: Tone,
    key: tuple[Any, ...],
    shrinking: Image.Resampling = Image.Resampling.BILINEAR,
) -> Shown:
    """Cut and scale; shrinking: how, where it gets smaller: a box is half as dear as it moves."""
    left, top, right, bottom = view.placed
    size = max(1, round(right - left)), max(1, round(bottom - top))
    fx, fy = image.width / view.picture[0], image.height / view.picture[1]
    seen = view.seen
    box = (seen[0] * fx, seen[1] * fy, seen[2] * fx, seen[3] * fy)
    how = shrinking if box[2] - box[0] > size[0] else Image.Resampling.BILINEAR
    cut = tone.applied(image.resize(size, how, box=box, reducing_gap=2.0))
    return Shown(cut, (round(left), round(top)), key)


def _bytes_of(shown: Shown) -> int:
    return shown.image.width * shown.image.height * PIXEL_BYTES


DECODED_KEPT = 16
EMPTY = (0xD8, 0xDD, 0xE3)
LONGEST_PX = 1280


class KeptStills:
    """Gives `clip.frames.Pictures` for the few frames that were kept; the others are grey.

    Times are those of the key frames; the clip's own are gone with it.
    """

    kind = "clip"

    def __init__(self, run: Run, folder: Path) -> None:
        self.name = "the kept stills"
        self.size_px = run.source.size_px
        self._n = run.source.n_pictures
        self._paths: dict[int, Path] = {}  # a frame that two key frames share is there once
        for (i_step, event, offset), path in kept_stills(folder).items():
            frame = run.steps[i_step].key_frame(event) if i_step < len(run.steps) else None
            if frame:
                self._paths[frame.picture + offset] = path
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

    def full(self, i: int, progress: Progress = NOBODY) -> Image.Image:
        if not 0 <= i < self._n:
            raise FrameNotThere(f"Frame {i + 1} is not there: {self.name} go up to {self._n}.")
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

    def rate_hz(self) -> float | None:
        return None

    def close(self) -> None:
        self._decoded.cache_clear()
