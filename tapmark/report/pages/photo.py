"""A photo in the place of the line figure *you*: cut around the runner, the face covered, in grey.

Only where somebody asked for it and every consent is there; who reads the still asks for consent.
The cut reaches a little over half a body height from the hip each way, so that nobody else is in
it, runs the way the figures run, and is printed at 150 dots an inch in 32 greys, which is what a
mono printer can show and keeps the page small; a little paler than it was, to spare toner.
"""

import math
from base64 import b64encode
from dataclasses import dataclass
from io import BytesIO
from typing import Final

from PIL import Image, ImageOps

from tapmark.marks.run import KeyFrame, Run
from tapmark.report.drawing.shapes import Area, Point, Shapes
from tapmark.report.pages.layout import DPI, PX_PER_MM
from tapmark.report.pages.pictures import NECK, TRUNK, covered, face_disc

REACH: Final = 0.56  # of a body height, from the hip up and down
DOT_PX: Final = 2  # printed px a dot: 150 dots an inch
GREY_BITS: Final = 5
PHOTO: Final = 0.82  # width of its place in the pair ÷ height of the figures


@dataclass(frozen=True)
class Photo:
    """A grey still with the face covered.

    event:  key frame it shows.
    hip:    in px of the still; body is a body height in px.
    flips:  the runner goes right to left and the figures go left to right.
    """

    event: str
    grey: Image.Image
    hip: Point
    body: float
    flips: bool = False

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
        part = ImageOps.mirror(part) if self.flips else part
        paler = part.point([255 - (255 - grey) * 3 // 4 for grey in range(256)])
        return ImageOps.posterize(paler, GREY_BITS)

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
    return Photo(frame.event, grey, hip, body, run.travel_sign < 0)


def photo_frame(left: float, top: float, width: float, height: float) -> Area:
    """Return the place of a photo on a page: an outline without ink, which prints nothing."""
    right, bottom = left + width, top + height
    return Area(((left, top), (right, top), (right, bottom), (left, bottom)), None)


def paste(page: Image.Image, shapes: Shapes, photo: Photo) -> None:
    """Put a photo into its place on a painted page."""
    for shape in shapes:
        if isinstance(shape, Area) and shape.fill is None and shape.edge is None:
            (left, top), _, (right, bottom), _ = shape.points
            small = photo.cut(right - left, bottom - top, PX_PER_MM / DOT_PX)
            large = small.resize((small.width * DOT_PX, small.height * DOT_PX), 0)
            page.paste(large, (round(left * PX_PER_MM), round(top * PX_PER_MM)))
