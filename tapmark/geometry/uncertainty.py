"""How far a result moves when what it was read from is off: numerical propagation.

The law of propagation of uncertainty (JCGM 100:2008, 5.1.2) with each partial derivative taken
numerically over ± one standard uncertainty (note 2 to its 5.1.3). A source that feeds several
points is one column, so its effects are added with their signs before they are squared.
"""

import numpy as np

from tapmark.geometry.planar import Array

Z95 = 1.96  # two-sided 95 % of a normal distribution


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
