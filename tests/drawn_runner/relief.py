"""Rounded, lit parts: every part of the body is a small hill seen from above.

A `Part` is a tapered bone with its own thickness in front and behind. Around it lies a hill
as high as the part is thick. Hills that belong together are melted into one, so a limb has
one outline and no seam; the slope of the hill gives the light. Edges are smooth because a
pixel is covered by as much as its distance to the outline says.

Picture pixels throughout: x right, y down, hills towards the viewer.
"""

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

Field = NDArray[np.floating[Any]]
Nodes = tuple[tuple[float, float, float], ...]
"""Along the bone (0 to 1), thickness in front, thickness behind."""

SUN = np.array([0.34, -0.62, 0.71], np.float32)
"""Towards the sun: high, from the right, behind the camera."""

SUNLIGHT = np.array([0.76, 0.71, 0.63], np.float32)
SKYLIGHT = np.array([0.39, 0.42, 0.48], np.float32)
GROUNDLIGHT = np.array([0.26, 0.22, 0.19], np.float32)


PLACES = 4096
CORNER = 200
"""Profiles are looked up at so many places; their corners are rounded over so many."""

END_ROUNDNESS = 0.55
"""How strongly a round end turns away from the viewer; below 1 joints show less."""


@dataclass(frozen=True)
class Part:
    """A bone from start to end (px) with its thickness profile (px).

    facing: +1 when the front of the runner is to the right in the picture.
    flat: the far end is cut square instead of rounded (a hem).
    """

    start: tuple[float, float]
    end: tuple[float, float]
    nodes: Nodes
    facing: int
    flat: bool = False

    def reach(self) -> float:
        """No pixel farther from the bone than this belongs to it."""
        return max(max(front, back) for _, front, back in self.nodes) + 1.5


@dataclass(frozen=True)
class Patch:
    """A rectangle of picture with its own finer grid: corner, size (px) and fineness."""

    x: int
    y: int
    width: int
    height: int
    fine: int = 1

    def grid(self) -> tuple[Field, Field]:
        """Pixel centres, x of shape (1, W) and y of shape (H, 1)."""
        across = np.arange(self.width * self.fine, dtype=np.float32)
        down = np.arange(self.height * self.fine, dtype=np.float32)[:, None]
        return self.x + (across[None] + 0.5) / self.fine, self.y + (down + 0.5) / self.fine


@dataclass(frozen=True)
class Hill:
    """What parts leave on a patch: `inside` px within the outline (negative outside), height
    (px), the part of its unit normal that points right and down, and the place along the bone.
    """

    inside: Field
    height: Field
    right: Field
    down: Field
    along: Field


def patch_around(parts: list[Part], fine: int = 1, margin: float = 2.0) -> Patch:
    """The smallest patch that holds all the parts."""
    xs = [x + sign * p.reach() for p in parts for x in (p.start[0], p.end[0]) for sign in (-1, 1)]
    ys = [y + sign * p.reach() for p in parts for y in (p.start[1], p.end[1]) for sign in (-1, 1)]
    left, top = int(np.floor(min(xs) - margin)), int(np.floor(min(ys) - margin))
    right, bottom = int(np.ceil(max(xs) + margin)), int(np.ceil(max(ys) + margin))
    return Patch(left, top, right - left, bottom - top, fine)


def hill(part: Part, grid: tuple[Field, Field]) -> Hill:
    """The hill of one part."""
    (x0, y0), (x1, y1) = part.start, part.end
    length = max(float(np.hypot(x1 - x0, y1 - y0)), 1e-3)
    ux, uy = (x1 - x0) / length, (y1 - y0) / length
    px, py = grid[0] - np.float32(x0), grid[1] - np.float32(y0)
    run = px * np.float32(ux) + py * np.float32(uy)
    across = (px * np.float32(uy) - py * np.float32(ux)) * np.float32(part.facing)
    along = np.clip(run / np.float32(length), 0.0, 1.0)
    beyond = run - along * np.float32(length)
    away = np.sqrt(across * across + beyond * beyond)
    front, back = _thickness(part.nodes, along)
    half, lopsided = (front + back) / 2, (front - back) / 2
    radius = half + lopsided * across / np.maximum(away, 1e-3)
    inside = radius - away
    if part.flat:
        inside = np.minimum(inside, np.float32(length) - run)
    height = half * np.sqrt(np.maximum(1 - (away / radius) ** 2, 0.0))
    side, tip = across * part.facing / radius, END_ROUNDNESS * beyond / radius
    right, down = side * uy + tip * ux, tip * uy - side * ux
    return Hill(inside, height, *_at_most_flat(right, down), along)


def _at_most_flat(right: Field, down: Field) -> tuple[Field, Field]:
    """Normals no steeper than the horizon, so the outline is lit like the pixels inside it."""
    shrink = np.float32(0.97) / np.maximum(np.hypot(right, down), 0.97)
    return (right * shrink).astype(np.float32), (down * shrink).astype(np.float32)


def _thickness(nodes: Nodes, along: Field) -> tuple[Field, Field]:
    """Front and back thickness along the bone."""
    front, back = _thickness_tables(nodes)
    place = (along * PLACES).astype(np.int16)
    return front[place], back[place]


@lru_cache(maxsize=512)
def _thickness_tables(nodes: Nodes) -> tuple[Field, Field]:
    """The profile at many places along the bone, its corners rounded."""
    table = np.array(nodes)
    window = np.hanning(2 * CORNER + 3)[1:-1]
    places = np.linspace(0.0, 1.0, PLACES + 1)

    def rounded(column: int) -> Field:
        straight = np.interp(places, table[:, 0], table[:, column])
        straight = np.pad(straight, CORNER, mode="edge")
        return np.convolve(straight, window / window.sum(), "valid").astype(np.float32)

    return rounded(1), rounded(2)


def melted(hills: list[Hill], softness: float) -> Hill:
    """One hill from several: corners between them filled, light blended (softness in px)."""
    one = hills[0]
    for other in hills[1:]:
        share = _ease(0.5 + (other.height - one.height) / np.float32(2 * softness))
        one = Hill(
            _soft_max(one.inside, other.inside, softness),
            np.maximum(one.height, other.height),
            one.right + share * (other.right - one.right),
            one.down + share * (other.down - one.down),
            np.where(other.inside > one.inside, 1 + other.along, one.along),
        )
    return one


def _ease(share: Field) -> Field:
    u = np.clip(share, 0.0, 1.0)
    eased: Field = u * u * (3 - 2 * u)
    return eased


def _soft_max(a: Field, b: Field, softness: float) -> Field:
    near = np.maximum(np.float32(softness) - np.abs(a - b), 0.0)
    fillet: Field = np.maximum(a, b) + near * near * np.float32(0.25 / softness)
    return fillet


def coverage(shape: Hill) -> Field:
    """How much of each pixel the shape covers, 0 to 1."""
    cover: Field = np.clip(shape.inside + 0.5, 0.0, 1.0)
    return cover


def light(shape: Hill, gloss: float = 0.06) -> Field:
    """Light that the shape sends back, shape (H, W, 3), 1 = white paper facing the sun."""
    up_to_viewer = np.sqrt(np.maximum(1 - shape.right**2 - shape.down**2, 0.0))
    facing = shape.right * SUN[0] + shape.down * SUN[1] + up_to_viewer * SUN[2]
    lit = np.clip(0.12 + 0.88 * facing, 0.0, 1.0)[..., None]
    above = (0.5 - 0.5 * shape.down)[..., None]
    shine = np.float32(gloss) * np.clip(facing, 0.0, 1.0)[..., None] ** 18
    glow: Field = lit * SUNLIGHT + above * SKYLIGHT + (1 - above) * GROUNDLIGHT + shine
    return glow


def reduced(field: Field, fine: int) -> Field:
    """Average the finer grid back to picture pixels."""
    h, w = field.shape[0] // fine, field.shape[1] // fine
    blocks = field.reshape(h, fine, w, fine, *field.shape[2:])
    averaged: Field = blocks.mean(axis=(1, 3), dtype=np.float32)
    return averaged
