"""Lengths and angles in the side plane, on arrays of points.

Runner axes throughout: X forward, Y up; any unit of length. Points have shape (2,) or (N, 2) and
give () or (N,). Angles are in degrees. A direction without length gives nan, never a number.
Formulas: two-argument arctangent of coordinate differences (plane trigonometry; no other source).
"""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_STIFFEST_DEG = 90.0  # flexion is read from −90 (bent backwards) up to 270


def length(first: Array, second: Array) -> Array:
    """Return the distance between two points, in the unit of the points."""
    return np.asarray(np.hypot(*_parts(second - first)))


def lean_deg(lower: Array, upper: Array) -> Array:
    """Return the tilt of lower → upper from straight up; + = upper point further forward."""
    forward, up = _parts(upper - lower)
    return _direction_deg(forward, up)


def hang_deg(upper: Array, lower: Array) -> Array:
    """Return the angle of upper → lower from straight down; + = lower point in front.

    Thigh: hip → knee. Shank: knee → ankle, so + is the ankle ahead of the knee.
    """
    forward, up = _parts(lower - upper)
    return _direction_deg(forward, -up)


def joint_deg(upper_hang: Array, lower_hang: Array) -> Array:
    """Return 180 − (upper − lower): 180 is straight, more is bent backwards.

    Knee from thigh and shank angle, signed, so that 190 never reads as 170. Anything from 90° bent
    backwards to fully folded comes out right, wherever the arctangent of a segment wraps.
    """
    flexion = (upper_hang - lower_hang + _STIFFEST_DEG) % 360.0 - _STIFFEST_DEG
    return np.asarray(180.0 - flexion)


def hip_deg(thigh_hang: Array, trunk_lean: Array) -> Array:
    """Return 180 − (thigh + trunk lean), signed: more than 180 is stretched behind the body."""
    return np.asarray(180.0 - (thigh_hang + trunk_lean))


def turned_deg(start: Array, end: Array) -> Array:
    """Return end − start by the shorter way round, −180 to 180."""
    return np.asarray((end - start + 180.0) % 360.0 - 180.0)


def _parts(vector: Array) -> tuple[Array, Array]:
    return vector[..., 0], vector[..., 1]


def _direction_deg(sideways: Array, along: Array) -> Array:
    angle = np.degrees(np.arctan2(sideways, along))
    return np.asarray(np.where((sideways == 0) & (along == 0), np.nan, angle))
