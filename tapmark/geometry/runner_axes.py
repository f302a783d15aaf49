"""From the picture (x right, y down, px) to the runner (X forward, Y up, px)."""

import numpy as np

from tapmark.geometry.planar import Array


def roll_rad(bottom_px: Array, top_px: Array) -> Array:
    """Return how far a true vertical leans to the right in the picture, in radians.

    bottom_px, top_px: ends of something vertical, shape (2,) or (N, 2), px.
    """
    along = top_px - bottom_px
    return np.asarray(np.arctan2(along[..., 0], -along[..., 1]))


def to_runner(points_px: Array, roll: Array | float, travel_sign: int) -> Array:
    """Turn picture points into runner axes.

    points_px:    shape (..., 2).
    roll:         radians, a number or an array that broadcasts against points_px[..., 0].
    travel_sign:  +1 for left to right in the picture, −1 for right to left.

    X = d (x cos ρ + y sin ρ), Y = x sin ρ − y cos ρ: a turn by the roll, then a mirror where the
    runner goes left, so a mirrored run gives the very same numbers.
    """
    x, y = points_px[..., 0], points_px[..., 1]
    forward = travel_sign * (x * np.cos(roll) + y * np.sin(roll))
    up = x * np.sin(roll) - y * np.cos(roll)
    return np.stack([forward, up], axis=-1)
