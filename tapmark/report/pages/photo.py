"""A photo in the place of the line figure *you*: cut around the runner, the face covered, in grey.

Only where somebody asked for it and every consent is there; who reads the still asks for consent.
The cut reaches a little over half a body height from the hip each way, so that nobody else is in
it, runs the way the figures run, and is printed at 150 dots an inch in 32 greys, which is what a
mono printer can show and keeps the page small. It is made so pale that even a copier set dark takes
nothing of it for ink, and the lines between the taps are drawn over it in black: they are what is
left on a copy, where a photo alone turns to speckle and the shin is gone.
"""

import math
from base64 import b64encode
from dataclasses import dataclass
from io import BytesIO
from typing import Final

from PIL import Image, ImageOps

from tapmark.marks.run import KeyFrame, Run
from tapmark.report.drawing.overlay import BONES, FAR
from tapmark.report.drawing.painter import Fonts, paint
from tapmark.report.drawing.palette import BLACK, WHITE
from tapmark.report.drawing.shapes import Area, Line, Point, Shapes
from tapmark.report.pages.layout import DPI, PX_PER_MM
from tapmark.report.pages.pictures import NECK, TRUNK, covered, face_disc

REACH: Final = 0.56  # of a body height, from the hip up and down
DOT_PX: Final = 2  # printed px a dot: 150 dots an inch
GREY_BITS: Final = 5
PALE: Final = 0.24  # black becomes 194 of 255; a copier set dark takes 170 for ink
BONE: Final = 0.008  # width of a line in body heights: 1 mm where a body is 12 cm
PHOTO: Final = 0.82  # width of its place in the pair ÷ height of the figures


@dataclass(frozen=True)
class Photo:
    """A grey still with the face covered.

    event:  key frame it shows.
    hip:    in px of the still; body is a body height in px.
    flips:  the runner goes right to left and the figures go left to right.
    bones:  (start, end, is far) of each line between two taps, in px of the still.
    """

    event: str
    grey: Image.Image
    hip: Point
    body: float
    flips: bool = False
    bones: tuple[tuple[Point, Point, bool], ...] = ()

    def cut(self, width: float, height: float, dots_per_unit: float) -> Image.Image:
        """Return the part around the runner for a frame of that size in units of the page."""
        size = round(width * dots_per_unit), round(height * dots_per_unit)
        down = 2 * REACH * self.body
        across = down * width / height
        left, top = self.hip[0] - across / 2, self.hip[1] - down / 2
        box = (left, top, left + across, top + down)
        part = self.grey.transform(
            size, Image.Transform.EXTENT, box, Image.Resampling.BICUBIC, fillcolor=255
        )
        pale = part.point([255 - round((255 - grey) * PALE) for grey in range(256)])
        pale = ImageOps.posterize(pale, GREY_BITS)
        scale = size[1] / down
        wide = BONE * self.body * scale
        lines = [
            Line(
                tuple(((x - left) * scale, (y - top) * scale) for x, y in (start, end)),
                BLACK,
                wide,
                (3 * wide, 2 * wide) if is_far else (),
                WHITE,
                2.4 * wide,
                is_round=not is_far,
            )
            for start, end, is_far in self.bones
        ]
        paint(pale, tuple(lines), Fonts(1.0))
        return ImageOps.mirror(pale) if self.flips else pale

    def as_data(self, width: float, height: float) -> str:
        """Return the cut as the address of a JPEG within an HTML file."""
        out = BytesIO()
        self.cut(width, height, DPI / 25.4 / DOT_PX).save(out, "JPEG", quality=80)
        return f"data:image/jpeg;base64,{b64encode(out.getvalue()).decode()}"


def photo_of(still: Image.Image, frame: KeyFrame, run: Run) -> Photo:
    """Return the photo of a key frame; raise NoConsent where the face cannot be covered."""
    grey = covered(still, face_disc(frame)).convert("L")
    hip, top = frame.at("hip"), frame.at("neck base") or frame.at("shoulder")
    assert hip and top, "there is no face disc without them"
    body = math.dist(hip, top) / (NECK if frame.at("neck base") else TRUNK)
    bones = tuple(
        (frame.at(a) or hip, frame.at(b) or hip, role == FAR)
        for a, b, role in BONES
        if frame.at(a) and frame.at(b)
    )
    return Photo(frame.event, grey, hip, body, run.travel_sign < 0, bones)


def photo_place(wide: float, tall: float) -> tuple[float, float]:
    """Return left end and width of a photo in the left half of a pair so wide and tall."""
    across = min(wide / 2 - 4.0, PHOTO * tall)
    return wide / 4 - across / 2, across


def photo_frame(left: float, width: float, height: float) -> Area:
    """Return the place of a photo in a block: an outline without ink, which prints nothing."""
    right = left + width
    return Area(((left, 0.0), (right, 0.0), (right, height), (left, height)), None)


def paste(page: Image.Image, shapes: Shapes, photo: Photo) -> None:
    """Put a photo into its place on a painted page."""
    for shape in shapes:
        if isinstance(shape, Area) and shape.fill is None and shape.edge is None:
            (left, top), _, (right, bottom), _ = shape.points
            small = photo.cut(right - left, bottom - top, PX_PER_MM / DOT_PX)
            large = small.resize((small.width * DOT_PX, small.height * DOT_PX), 0)
            page.paste(large, (round(left * PX_PER_MM), round(top * PX_PER_MM)))
