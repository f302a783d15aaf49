"""Pictures as the window shows them: cut to the view, toned, remembered.

Preview pictures are there at once; the full-size picture of a key frame is fetched by a job and
takes the preview's place when it has come. Nothing here knows of tkinter.
"""

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from PIL import Image

from tapmark.app.jobs import Jobs
from tapmark.app.tone import Tone
from tapmark.app.viewport import Box, Point, Viewport
from tapmark.clip.frames import Pictures

KEPT_SHOWN = 48  # cut pictures; one is 1 to 2 MB
KEPT_FULL = 12  # the five key frames and some neighbours
MOST_BYTES = 200_000_000  # of either: a picture of 4K takes 33 MB, a large screen's cut 8
PIXEL_BYTES = 4  # Pillow keeps three colours in four bytes
GREY = (0x55, 0x60, 0x6C)


@dataclass(frozen=True)
class Shown:
    """A cut picture and where its top-left corner belongs on the canvas; key names it."""

    image: Image.Image
    at: tuple[int, int]
    key: tuple[Any, ...]


class Gallery:
    """The pictures of one run, cut to what is asked."""

    def __init__(self, pictures: Pictures, jobs: Jobs) -> None:
        self.pictures, self._jobs = pictures, jobs
        self._shown: OrderedDict[tuple[Any, ...], Shown] = OrderedDict()
        self._full: OrderedDict[int, Image.Image] = OrderedDict()
        self._wanted: int | None = None
        self.compared: tuple[str, ...] = ()

    @property
    def notes(self) -> tuple[str, ...]:
        """What a coach should know of the pictures: what the file says, then what was compared."""
        return (*self.pictures.notes, *self.compared)

    def has_full(self, i: int) -> bool:
        """Say whether the full-size picture is at hand."""
        return i in self._full

    def want_full(self, i: int, then: Callable[[], None]) -> None:
        """Fetch the full-size picture beside the window; call `then` when it has come."""
        if i in self._full or self._wanted == i:
            return
        self._wanted = i
        self._jobs.run(
            "full picture",
            lambda task: self.pictures.full(i),
            lambda image: self._keep_full(i, image, then),
            lambda trouble: self._forget_wanted(),
            by="window",  # it is kept in the gallery that asked, seen or not
        )

    def _forget_wanted(self) -> None:
        self._wanted = None

    def _keep_full(self, i: int, image: Image.Image, then: Callable[[], None]) -> None:
        self._wanted = None
        self._full[i] = image
        _let_go(self._full, KEPT_FULL, [_bytes_of(kept) for kept in self._full.values()])
        then()

    def best(self, i: int) -> Image.Image:
        """Return picture i as large as it is at hand: full, else preview."""
        return self._full.get(i) or self.pictures.preview(i)

    def cut(self, i: int, view: Viewport, tone: Tone) -> Shown:
        """Return the seen part of picture i at canvas size."""
        key = (i, i in self._full, view, tone)
        if key in self._shown:
            self._shown.move_to_end(key)
            return self._shown[key]
        left, top, right, bottom = view.placed
        size = max(1, round(right - left)), max(1, round(bottom - top))
        image = tone.applied(_cut(self.best(i), view.picture, view.seen, size))
        shown = Shown(image, (round(left), round(top)), key)
        self._shown[key] = shown
        _let_go(self._shown, KEPT_SHOWN, [_bytes_of(kept.image) for kept in self._shown.values()])
        return shown

    def near(self, i: int, at: Point, n_px: int, side: int, tone: Tone) -> Image.Image:
        """Return n_px × n_px pixels of the full picture around a point, each drawn as a square.

        side: of the image that comes back, px. Beyond the edge it is grey.
        """
        image = self.best(i)
        shrink = image.width / max(1, self.pictures.size_px[0])
        half = n_px / 2
        box = tuple(round(c * shrink) for c in _around(at, half))
        patch = Image.new("RGB", (max(1, box[2] - box[0]), max(1, box[3] - box[1])), GREY)
        inside = (
            max(0, box[0]),
            max(0, box[1]),
            min(image.width, box[2]),
            min(image.height, box[3]),
        )
        if inside[0] < inside[2] and inside[1] < inside[3]:
            patch.paste(image.crop(inside), (inside[0] - box[0], inside[1] - box[1]))
        return tone.applied(patch.resize((side, side), Image.Resampling.NEAREST))


def _let_go(kept: OrderedDict[Any, Any], most: int, sizes: list[int]) -> None:
    """Let the oldest go until there are no more than so many, and no more bytes; one may stay."""
    total = sum(sizes)
    for size in sizes[:-1]:
        if len(kept) <= most and total <= MOST_BYTES:
            return
        kept.popitem(last=False)
        total -= size


def _bytes_of(image: Image.Image) -> int:
    return image.width * image.height * PIXEL_BYTES


def _around(at: Point, half: float) -> Box:
    x, y = int(at[0]) + 0.5, int(at[1]) + 0.5  # the middle of the pixel that was hit
    return x - half, y - half, x + half, y + half


def _cut(image: Image.Image, picture: tuple[int, int], seen: Box, size: tuple[int, int]) -> Any:
    fx, fy = image.width / picture[0], image.height / picture[1]
    box = (seen[0] * fx, seen[1] * fy, seen[2] * fx, seen[3] * fy)
    return image.resize(size, Image.Resampling.BILINEAR, box=box, reducing_gap=2.0)
