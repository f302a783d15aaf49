"""Where a frame lies on a canvas (zoom, pan, the arithmetic both ways) and its tone."""

from dataclasses import dataclass, replace

from PIL import Image, ImageEnhance

Point = tuple[float, float]
Size = tuple[int, int]
Box = tuple[float, float, float, float]
MOST_PX_PER_PX = 16.0
"""A frame pixel is never drawn larger than this many canvas pixels."""


@dataclass(frozen=True)
class Viewport:
    """What part of a frame is seen.

    picture:  its size in px (w, h).
    canvas:   the place it is shown in, px (w, h).
    zoom:     1 = the whole frame just fits; never below 1.
    centre:   the frame point in the middle of the canvas; None = the middle of the frame.
    """

    picture: Size
    canvas: Size
    zoom: float = 1.0
    centre: Point | None = None

    @property
    def fit(self) -> float:
        """Canvas px per frame px when the whole frame just fits."""
        (w, h), (cw, ch) = self.picture, self.canvas
        return max(1e-6, min(cw / max(1, w), ch / max(1, h)))

    @property
    def scale(self) -> float:
        """Canvas px per frame px."""
        return self.fit * self.zoom

    @property
    def middle(self) -> Point:
        """The frame point in the middle of the canvas, held so that the frame fills it."""
        at = self.centre or (self.picture[0] / 2, self.picture[1] / 2)
        return self._held(at[0], 0), self._held(at[1], 1)

    def _held(self, at: float, axis: int) -> float:
        half_seen = self.canvas[axis] / self.scale / 2
        size = self.picture[axis]
        return size / 2 if half_seen * 2 >= size else min(max(at, half_seen), size - half_seen)

    def to_canvas(self, point: Point) -> Point:
        """Return where a frame point lies on the canvas."""
        mx, my = self.middle
        s = self.scale
        return ((point[0] - mx) * s + self.canvas[0] / 2, (point[1] - my) * s + self.canvas[1] / 2)

    def to_picture(self, point: Point) -> Point:
        """Return the frame point under a canvas point; it may lie outside the frame."""
        mx, my = self.middle
        s = self.scale
        return ((point[0] - self.canvas[0] / 2) / s + mx, (point[1] - self.canvas[1] / 2) / s + my)

    @property
    def seen(self) -> Box:
        """The part of the frame that is seen: left, top, right, bottom in frame px."""
        left, top = self.to_picture((0, 0))
        right, bottom = self.to_picture(self.canvas)
        w, h = self.picture
        return max(0.0, left), max(0.0, top), min(float(w), right), min(float(h), bottom)

    @property
    def placed(self) -> Box:
        """Where the seen part lies on the canvas: left, top, right, bottom in canvas px."""
        left, top, right, bottom = self.seen
        return (*self.to_canvas((left, top)), *self.to_canvas((right, bottom)))

    @property
    def fits(self) -> bool:
        """True when the whole frame is seen."""
        return self.zoom <= 1.0

    def zoomed(self, factor: float, about: Point | None = None) -> "Viewport":
        """Zoom about a canvas point, which keeps its place; about the middle without one."""
        spot = about or (self.canvas[0] / 2, self.canvas[1] / 2)
        kept = self.to_picture(spot)
        most = max(1.0, MOST_PX_PER_PX / self.fit)
        closer = replace(self, zoom=min(max(1.0, self.zoom * factor), most), centre=self.middle)
        s = closer.scale
        centre = (
            kept[0] - (spot[0] - self.canvas[0] / 2) / s,
            kept[1] - (spot[1] - self.canvas[1] / 2) / s,
        )
        return replace(closer, centre=replace(closer, centre=centre).middle)

    def panned(self, dx: float, dy: float) -> "Viewport":
        """Move the frame by canvas px: positive dx shows more of its left."""
        mx, my = self.middle
        moved = replace(self, centre=(mx - dx / self.scale, my - dy / self.scale))
        return replace(moved, centre=moved.middle)

    def showing(self, point: Point, margin: float = 0.15) -> "Viewport":
        """Pan just enough that a frame point is seen with a margin (share of the canvas)."""
        x, y = self.to_canvas(point)
        (w, h) = self.canvas
        dx = max(0.0, w * margin - x) - max(0.0, x - w * (1 - margin))
        dy = max(0.0, h * margin - y) - max(0.0, y - h * (1 - margin))
        return self.panned(dx, dy) if (dx or dy) and not self.fits else self


@dataclass(frozen=True)
class Tone:
    """Brightness and contrast as factors; 1 leaves a frame as it is."""

    brightness: float = 1.0
    contrast: float = 1.0

    def applied(self, image: Image.Image) -> Image.Image:
        """Return the image with this tone; the very same image when there is nothing to do."""
        if self.brightness != 1.0:
            image = ImageEnhance.Brightness(image).enhance(self.brightness)
        if self.contrast != 1.0:
            image = ImageEnhance.Contrast(image).enhance(self.contrast)
        return image
