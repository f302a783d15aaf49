"""Smooth curves through asked values: cubic pieces, vectorised over time."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Real = Array | float


@dataclass(frozen=True)
class Curve:
    """A piecewise cubic given by times, values and slopes at its knots, all of shape (K,)."""

    times: Array
    values: Array
    slopes: Array

    def __call__(self, t: Array) -> Array:
        """Values at t (any shape); outside the knots the end values hold."""
        t = np.clip(t, self.times[0], self.times[-1])
        piece, width, u = self._locate(t)
        y0, y1 = self.values[piece], self.values[piece + 1]
        m0, m1 = self.slopes[piece] * width, self.slopes[piece + 1] * width
        rise = y1 - y0
        return y0 + u * (m0 + u * (3 * rise - 2 * m0 - m1 + u * (m0 + m1 - 2 * rise)))

    def slope(self, t: Array) -> Array:
        """First derivative at t; constant beyond the ends."""
        piece, width, u = self._locate(np.clip(t, self.times[0], self.times[-1]))
        rise = self.values[piece + 1] - self.values[piece]
        m0, m1 = self.slopes[piece] * width, self.slopes[piece + 1] * width
        change = m0 + u * (2 * (3 * rise - 2 * m0 - m1) + 3 * u * (m0 + m1 - 2 * rise))
        return change / width

    def _locate(self, t: Array) -> tuple[NDArray[np.intp], Array, Array]:
        piece = np.clip(np.searchsorted(self.times, t, "right") - 1, 0, len(self.times) - 2)
        width = self.times[piece + 1] - self.times[piece]
        return piece, width, (t - self.times[piece]) / width


def curve_through(
    times: Sequence[float], values: Sequence[float], slopes: Sequence[float | None]
) -> Curve:
    """The cubic curve through the knots with the slopes asked for.

    Where a slope is None it is chosen so that the second derivative does not jump there
    (the usual spline condition). The first and the last slope must be given.
    """
    t, y = np.asarray(times, float), np.asarray(values, float)
    matrix, right = np.eye(len(t)), np.zeros(len(t))
    for i, slope in enumerate(slopes):
        if slope is not None:
            right[i] = slope
            continue
        before, after = 1 / (t[i] - t[i - 1]), 1 / (t[i + 1] - t[i])
        matrix[i, i - 1 : i + 2] = before, 2 * (before + after), after
        right[i] = 3 * ((y[i] - y[i - 1]) * before**2 + (y[i + 1] - y[i]) * after**2)
    return Curve(t, y, np.linalg.solve(matrix, right).astype(np.float64))
