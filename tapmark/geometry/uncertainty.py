"""How far a result moves when what it was read from is off, and how wide an interval must be.

The law of propagation of uncertainty (JCGM 100:2008, 5.1.2) with each partial derivative taken
numerically over ± one standard uncertainty (note 2 to its 5.1.3). A source that feeds several
points is one column, so its effects are added with their signs before they are squared.
"""

from functools import lru_cache
from math import exp, lgamma, pi, sqrt, tan

import numpy as np

from tapmark.geometry.planar import Array

Z95 = 1.96  # two-sided 95 % of a normal distribution
Z90 = 1.64  # one-sided 95 %: known to be past something, not only read as such
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(80)


def stacked(values: Array, sds: Array) -> Array:
    """Return values once as they are, then twice for each source of doubt: shape (1 + 2S, S).

    values, sds: shape (S,). Row 0 holds the values; rows 1 + 2i and 2 + 2i have value i moved
    up and down by its SD.
    """
    n_sources = len(values)
    rows = np.tile(np.asarray(values, dtype=float), (1 + 2 * n_sources, 1))
    index = np.arange(n_sources)
    rows[1 + 2 * index, index] += sds
    rows[2 + 2 * index, index] -= sds
    return rows


def shares(results: Array) -> Array:
    """Return each source's signed share of the doubt, shape (S,), in the unit of the result.

    results: shape (1 + 2S,), a function evaluated on the rows of `stacked`.
    """
    return np.asarray((results[1::2] - results[2::2]) / 2.0)


def combined(independent_shares: Array) -> float:
    """Return the standard uncertainty of independent shares: the root of their summed squares."""
    return float(np.sqrt(np.sum(np.square(independent_shares))))


@lru_cache(maxsize=256)
def t_factor(freedom: float, coverage: float = 0.95) -> float:
    """Return Student's factor: k so that mean ± k·SD holds that share of a t distribution.

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
