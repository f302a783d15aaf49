"""Student's t: how much wider an interval is when its SD comes from few values."""

from functools import lru_cache
from math import exp, lgamma, pi, sqrt, tan

import numpy as np

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(80)


@lru_cache(maxsize=256)
def t_factor(freedom: float, coverage: float = 0.95) -> float:
    """Return k so that mean ± k·SD holds the given share of a t distribution.

    freedom:   degrees of freedom, above 0, not always whole (Welch).
    coverage:  two-sided, between 0 and 1.

    With t = √ν tan θ the density becomes a constant times cos^(ν−1) θ, which a Gauss rule
    integrates to rounding; the limit is then found by halving.
    """
    low, high = 0.0, pi / 2.0
    for _ in range(60):
        middle = (low + high) / 2.0
        low, high = (middle, high) if _within(middle, freedom) < coverage else (low, middle)
    return sqrt(freedom) * tan(low)


def _within(angle: float, freedom: float) -> float:
    """Return the share of the distribution within ± angle, 0 to 1."""
    angles = angle / 2.0 * (_NODES + 1.0)
    area = angle / 2.0 * float(np.sum(_WEIGHTS * np.cos(angles) ** (freedom - 1.0)))
    constant = exp(lgamma((freedom + 1.0) / 2.0) - lgamma(freedom / 2.0)) / sqrt(pi)
    return 2.0 * constant * area
