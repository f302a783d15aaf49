"""The sole of a shoe, the same for everybody."""

from collections.abc import Sequence
from typing import Final

from tapmark.drawing.body import Point

_SOLE: Final = (  # right half of a sole, heel first
    (0.0, -4.2),
    (0.95, -3.9),
    (1.5, -2.8),
    (1.4, -1.2),
    (1.25, 0.2),
    (1.65, 1.6),
    (1.8, 2.6),
    (1.3, 3.7),
    (0.0, 4.2),
)


def sole_outline() -> list[Point]:
    """Return the outline around (0, 0), heel at y = −4.2 and toe at 4.2, rounded (Catmull-Rom)."""
    ring = [*_SOLE, *((-x, y) for x, y in reversed(_SOLE[1:-1]))]
    n = len(ring)
    return [
        _curve([ring[(i + k) % n] for k in (-1, 0, 1, 2)], step / 5)
        for i in range(n)
        for step in range(5)
    ]


def _curve(four: Sequence[Point], t: float) -> Point:
    weights = (
        (-t + 2 * t**2 - t**3) / 2,
        (2 - 5 * t**2 + 3 * t**3) / 2,
        (t + 4 * t**2 - 3 * t**3) / 2,
        (-(t**2) + t**3) / 2,
    )
    pairs = list(zip(weights, four, strict=True))
    return sum(w * p[0] for w, p in pairs), sum(w * p[1] for w, p in pairs)
