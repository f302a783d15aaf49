"""Pictures to show on a phone: the step line, marked stills, two photos side by side."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from io import BytesIO
from typing import Final

import numpy as np
from PIL import Image, ImageDraw, ImageOps

from tapmark.errors import NoConsent
from tapmark.marks.run import FreeMark, KeyFrame, Run
from tapmark.report.drawing.body import HEAD_UP
from tapmark.report.drawing.figure import HEAD_RADIUS
from tapmark.report.drawing.overlay import mark_shapes, tap_shapes
from tapmark.report.drawing.painter import Fonts, paint
from tapmark.report.drawing.palette import INK, WHITE
from tapmark.report.drawing.shapes import Label, Point, moved
from tapmark.report.drawing.step_line import StepLook, StepWords, step_line

Picture = Image.Image
TRUNK: Final = 0.288  # hip to shoulder in body heights
NECK: Final = 0.306  # hip to neck base
COVER: Final = 1.75  # radius of the disc in radii of a head: hair, chin and a slip of the tap
ON_PHONE: Final = 1600
TALL: Final = 900  # px of two stills beside each other
LEG: Final = 0.36  # thigh and shank in a side-by-side, as a share of its height


@dataclass(frozen=True)
class FaceDisc:
    """What covers a face: middle and radius in px of the still."""

    centre: Point
    radius: float


def face_disc(frame: KeyFrame) -> FaceDisc | None:
    """Return a disc over the head, placed above hip and shoulder taps; None without them."""
    hip, top = frame.at("hip"), frame.at("neck base") or frame.at("shoulder")
    if hip is None or top is None or hip == top:
        return None
    part = NECK if frame.at("neck base") else TRUNK
    height = math.dist(hip, top) / part
    share = (NECK + HEAD_UP) / part
    centre = hip[0] + (top[0] - hip[0]) * share, hip[1] + (top[1] - hip[1]) * share
    return FaceDisc(centre, COVER * HEAD_RADIUS * height)


def covered(still: Image.Image, disc: FaceDisc | None) -> Image.Image:
    """Return a copy of the still with the disc burned in.

    Raises NoConsent without a disc: a photo with a face is not given out.
    """
    if disc is None:
        raise NoConsent(
            "The face cannot be covered: hip and shoulder are not tapped on this frame. "
            "Tap them, or show the step line instead."
        )
    picture = still.convert("RGB").copy()
    (x, y), r = disc.centre, disc.radius
    ImageDraw.Draw(picture).ellipse((x - r, y - r, x + r, y + r), fill=INK)
    return picture


def marked(
    still: Image.Image,
    frame: KeyFrame,
    disc: FaceDisc | None,
    own: Mapping[FreeMark, str] | None = None,
) -> Image.Image:
    """Return a still with its taps and the coach's own marks over it and the face covered.

    own: line, angle or note on this frame → its value as it is printed.
    """
    picture = covered(still, disc)
    fonts = Fonts(1.0)
    unit = max(1.0, picture.height / 720)
    shapes = list(tap_shapes(frame, lambda point: point, unit))
    for mark, text in (own or {}).items():
        shapes += mark_shapes(mark, lambda point: point, unit, text)
    paint(picture, tuple(shapes), fonts)
    return picture


def step_picture(
    run: Run, i_step: int = 0, width: int = ON_PHONE, words: StepWords | None = None
) -> Image.Image:
    """Return the step line on white, that many px wide: no photo in it."""
    fonts = Fonts(1.0)
    unit = width / 56
    look = StepLook(
        figure=width / 6.6,
        text=unit,
        thin=unit / 9,
        heavy=unit / 3.4,
        leader=unit / 9,
        min_outline=unit / 9,
    )
    drawn = step_line(run, i_step, width - 2 * unit, look, fonts.width, words)
    height = round(drawn.above + drawn.below + 2.2 * unit)
    picture = Image.new("RGB", (width, height), WHITE)
    paint(picture, moved(drawn.shapes, unit, drawn.above + unit), fonts)
    return picture


@dataclass(frozen=True)
class Side:
    """One half of a side-by-side: the still (face covered), its key frame and its run.

    label: a date or a code, written below.
    """

    still: Image.Image
    frame: KeyFrame
    run: Run
    label: str = ""


def side_by_side(sides: Sequence[Side]) -> Image.Image:
    """Return two stills, aligned at the hip, scaled to the same leg and running the same way.

    Raises NoConsent where hip, knee or ankle are not tapped.
    """
    height, width, gap, unit = TALL, round(0.8 * TALL), TALL // 60, TALL / 36
    size = width * len(sides) + gap * (len(sides) - 1), round(height + 2.2 * unit)
    picture = Image.new("RGB", size, WHITE)
    for i, side in enumerate(sides):
        length, hip = leg_px(side.run), side.frame.at("hip")
        if hip is None or length is None:
            raise NoConsent(
                f"The frame of {side.label} cannot be aligned: tap hip, knee and ankle on it."
            )
        scale, x = LEG * height / length, i * (width + gap)
        left, top = hip[0] - width / 2 / scale, hip[1] - 0.48 * height / scale
        box = (left, top, left + width / scale, top + height / scale)
        cut = side.still.convert("RGB").transform(
            (width, height), Image.Transform.EXTENT, box, Image.Resampling.BICUBIC
        )
        if side.run.travel_sign != sides[0].run.travel_sign:
            cut = ImageOps.mirror(cut)
        picture.paste(cut, (x, 0))
        if side.label:
            label = Label((x, height + 1.5 * unit), side.label, unit, INK)
            paint(picture, (label,), Fonts(1.0))
    return picture


def leg_px(run: Run) -> float | None:
    """Return thigh and shank of the near leg in px, the mean over the frames that show both."""
    lengths = [
        math.dist(hip, knee) + math.dist(knee, ankle)
        for step in run.steps
        for frame in step.key_frames
        if (hip := frame.at("hip"))
        and (knee := frame.at("near knee"))
        and (ankle := frame.at("near ankle"))
    ]
    return sum(lengths) / len(lengths) if lengths else None


def png_bytes(picture: Image.Image) -> bytes:
    """Return a PNG of the pixels and of nothing else."""
    bare = Image.fromarray(np.asarray(picture.convert("RGB")))
    out = BytesIO()
    bare.save(out, "PNG", optimize=True)
    return out.getvalue()
