"""Smooth closed outlines and hills made from them, for what is no bone: shoe, head, hair."""

from collections.abc import Sequence

import numpy as np
from PIL import Image, ImageDraw, ImageFilter

from tests.drawn_runner.curves import Array
from tests.drawn_runner.relief import Field, Hill, Patch


def smooth_outline(corners: Sequence[tuple[float, float]], pieces: int = 6) -> Array:
    """A closed curve through the corners (Catmull and Rom), shape (N, 2)."""
    p1 = np.asarray(corners, float)
    p0, p2, p3 = np.roll(p1, 1, 0), np.roll(p1, -1, 0), np.roll(p1, -2, 0)
    u = np.linspace(0, 1, pieces, endpoint=False)[None, :, None]
    a, b, c, d = (p[:, None, :] for p in (p0, p1, p2, p3))
    curve = b + 0.5 * u * (c - a + u * (2 * a - 5 * b + 4 * c - d + u * (3 * (b - c) + d - a)))
    around: Array = curve.reshape(-1, 2)
    return around


def patch_of(outline: Array, fine: int, margin: float = 3.0) -> Patch:
    """The smallest patch around an outline in px."""
    left, top = np.floor(outline.min(0) - margin).astype(int)
    right, bottom = np.ceil(outline.max(0) + margin).astype(int)
    return Patch(int(left), int(top), int(right - left), int(bottom - top), fine)


def filled(outline: Array, patch: Patch) -> Image.Image:
    """The outline (px) filled white on black, on the patch's own grid."""
    mask = Image.new("L", (patch.width * patch.fine, patch.height * patch.fine))
    local = (outline - (patch.x, patch.y)) * patch.fine - 0.5
    ImageDraw.Draw(mask).polygon([(float(x), float(y)) for x, y in local], fill=255)
    return mask


def as_field(mask: Image.Image) -> Field:
    """Return a mask of levels 0 to 255 as numbers from 0 to 1, shape (height, width)."""
    return np.asarray(mask, dtype=np.float32) / np.float32(255)


def domed(mask: Image.Image, patch: Patch, thick: float) -> Hill:
    """A hill over a filled outline that rises from its edge within about `thick` px."""
    height = np.zeros((mask.height, mask.width), np.float32)
    for share in (0.12, 0.3, 0.6):
        spread = share * thick * patch.fine
        blurred = as_field(mask.filter(ImageFilter.GaussianBlur(spread)))
        height += np.float32(1.7 * spread) * blurred
    down, right = np.gradient(height)
    flat = np.sqrt(1 + right * right + down * down)
    edge = as_field(mask)
    inside = edge - np.float32(0.5)
    return Hill(inside, height, -right / flat, -down / flat, np.zeros_like(edge))
