"""Pixels to metres, and the leg length that makes runners comparable."""

import numpy as np
from numpy.typing import ArrayLike

from tapmark.errors import ScaleUnusable
from tapmark.geometry.planar import Array, length

# Leg ÷ (thigh + shank) from body ratios 0.530 ÷ (0.245 + 0.246) of height: standard textbook
# values after Drillis & Contini, from memory.
LEG_PER_THIGH_AND_SHANK = 1.08


def px_per_m(ends_px: ArrayLike, distance_m: float) -> float:
    """Return the scale from two marks on the running line.

    ends_px:     shape (2, 2), px.
    distance_m:  true distance between the marks, in metres.

    Raises ScaleUnusable where the marks coincide or the distance is not positive.
    """
    first, second = np.asarray(ends_px, dtype=float)
    apart_px = float(length(first, second))
    if not (np.isfinite(distance_m) and distance_m > 0):
        raise ScaleUnusable(
            f"The distance between the scale marks is {distance_m:g} m; type in the true one."
        )
    if not apart_px >= 1.0:
        raise ScaleUnusable("The two scale marks lie on the same spot; tap both ends again.")
    return apart_px / distance_m


def leg_from_segments(thigh_lengths: Array, shank_lengths: Array) -> Array:
    """Return the leg length from near thigh and shank, trochanter to floor, in their unit.

    Both have shape (n_frames,) or (n_frames, N); the mean over frames is taken.
    """
    return np.asarray(LEG_PER_THIGH_AND_SHANK * np.mean(thigh_lengths + shank_lengths, axis=0))
