"""One run looked at beside another: the hip held in one place, legs of one length, one direction.

Between key frames the hip goes in a straight line from tap to tap; before and after them it stays.
Nothing here knows of tkinter.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median
from typing import Protocol

from PIL import Image

from tapmark.app.viewport import Box, Point, Size
from tapmark.drawing import palette
from tapmark.marks.points import SIDE_EVENTS, TOUCHDOWN
from tapmark.marks.run import KeyFrame, Run

LEGS_UP, LEGS_DOWN = 1.05, 1.2  # what is seen above and below the hip, in lengths of hip to ankle
LIMBS = (("hip", "near knee", "near ankle"), ("hip", "far knee", "far ankle"))


class Clocked(Protocol):
    """Whatever has pictures with times."""

    def __len__(self) -> int: ...
    def time_s(self, i: int) -> float | None: ...


@dataclass(frozen=True)
class Sight:
    """Where to look in each picture of one step.

    frames:  its key frames with a hip, in the order of their pictures.
    leg_px:  hip to ankle along the bones, the middle one of all key frames.
    """

    frames: tuple[KeyFrame, ...]
    leg_px: float
    goes_right: bool
    slow_factor: float | None

    @property
    def start(self) -> KeyFrame:
        """The key frame that both runs start from."""
        return next((f for f in self.frames if f.event == TOUCHDOWN), self.frames[0])

    def hip(self, picture: int) -> Point:
        """Return where the hip is, or would be, in a picture."""
        spots = [(frame.picture, frame.at("hip")) for frame in self.frames]
        placed = [(at, spot) for at, spot in spots if spot is not None]
        for (a, p), (b, q) in pairwise(placed):
            if a <= picture <= b:
                share = (picture - a) / (b - a) if b > a else 0.0
                return p[0] + (q[0] - p[0]) * share, p[1] + (q[1] - p[1]) * share
        return placed[0][1] if picture < placed[0][0] else placed[-1][1]

    def box(self, picture: int, size: Size) -> Box:
        """Return the part of the picture that fills a canvas of that size, in picture px."""
        x, y = self.hip(picture)
        tall = (LEGS_UP + LEGS_DOWN) * self.leg_px
        wide = tall * size[0] / max(1, size[1])
        top = y - LEGS_UP * self.leg_px
        return x - wide / 2, top, x + wide / 2, top + tall

    def picture_at(self, pictures: Clocked, after_s: float) -> int:
        """Return the picture nearest to so many true seconds after touchdown."""
        times = [pictures.time_s(i) for i in range(len(pictures))]
        start = pictures.time_s(min(self.start.picture, len(pictures) - 1)) or 0.0
        wanted = start + after_s * (self.slow_factor or 1.0)
        known = [(abs(t - wanted), i) for i, t in enumerate(times) if t is not None]
        return min(known)[1] if known else self.start.picture

    def seconds_at(self, pictures: Clocked, picture: int) -> float | None:
        """Return true seconds after touchdown of a picture; None when they are not known."""
        i, start = picture, min(self.start.picture, len(pictures) - 1)
        at, zero = pictures.time_s(i), pictures.time_s(start)
        if at is None or zero is None or self.slow_factor is None:
            return None
        return (at - zero) / self.slow_factor


def sight_of(run: Run, i_step: int) -> Sight | None:
    """Return where to look in a step; None without a hip and a leg on any key frame."""
    step = run.steps[min(i_step, len(run.steps) - 1)]
    frames = tuple(
        sorted(
            (f for f in step.key_frames if f.event in SIDE_EVENTS and f.at("hip")),
            key=lambda frame: frame.picture,
        )
    )
    lengths = [length for frame in frames for length in _legs(frame)]
    if not lengths:
        return None
    return Sight(frames, median(lengths), run.travel_sign > 0, run.set_up.slow_factor)


def _legs(frame: KeyFrame) -> list[float]:
    found = []
    for limb in LIMBS:
        spots = [frame.at(point) for point in limb]
        if all(spots):
            found.append(_along(spots))  # type: ignore[arg-type]
    return found


def _along(points: Sequence[Point]) -> float:
    return sum(math.dist(a, b) for a, b in pairwise(points))


def cut(image: Image.Image, full: Size, box: Box, size: Size, *, mirrored: bool) -> Image.Image:
    """Return a part of a picture at canvas size; what lies outside is paper."""
    fx, fy = image.width / full[0], image.height / full[1]
    scaled = (box[0] * fx, box[1] * fy, box[2] * fx, box[3] * fy)
    shown = image.transform(
        size,
        Image.Transform.EXTENT,
        scaled,
        resample=Image.Resampling.BILINEAR,
        fillcolor=palette.HAIRLINE,
    )
    return shown.transpose(Image.Transpose.FLIP_LEFT_RIGHT) if mirrored else shown


def placing(box: Box, size: Size, *, mirrored: bool) -> "Placing":
    """Return the function from picture px to canvas px that belongs to a cut."""
    return Placing(box, size, mirrored)


@dataclass(frozen=True)
class Placing:
    """From picture px to canvas px."""

    box: Box
    size: Size
    mirrored: bool

    def __call__(self, at: Point) -> Point:
        """Return where a picture point lies on the canvas."""
        left, top, right, bottom = self.box
        x = (at[0] - left) / (right - left) * self.size[0]
        y = (at[1] - top) / (bottom - top) * self.size[1]
        return (self.size[0] - x if self.mirrored else x), y
