"""Statistics of repeats: how far two readings of the same thing differ.

One reading is a number in any unit; nothing here knows of taps.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from tapmark.geometry.uncertainty import Z95
from tapmark.measures.student import t_factor


@dataclass(frozen=True)
class Agreement:
    """Two series of readings of the same things (Bland & Altman, Lancet 1986; i: 307).

    bias:      mean of first − second.
    sd:        SD of the differences, n − 1.
    low, high: limits of agreement, bias ± 1.96 SD.
    u_bias:    standard error of the bias; freedom: n − 1.
    """

    bias: float
    sd: float
    n: int

    @property
    def low(self) -> float:
        return self.bias - Z95 * self.sd

    @property
    def high(self) -> float:
        return self.bias + Z95 * self.sd

    @property
    def u_bias(self) -> float:
        return float(self.sd / self.n**0.5)

    @property
    def bias_interval(self) -> tuple[float, float]:
        """95 % interval of the bias, by t."""
        half = t_factor(self.n - 1) * self.u_bias
        return self.bias - half, self.bias + half


@dataclass(frozen=True)
class Spread:
    """One-way analysis of variance: repeats inside groups.

    within_sd:   pooled repeat SD, the square root of the mean square within groups.
    between_sd:  SD of true group values; 0 where the groups differ less than the repeats.
    f:           mean square between ÷ mean square within.
    """

    within_sd: float
    between_sd: float
    f: float
    within_freedom: int
    between_freedom: int


@dataclass(frozen=True)
class Agreements:
    """Intraclass correlations of one reading (Shrout & Fleiss, Psychol. Bull. 86, 1979).

    one_way: ICC(1,1); absolute: ICC(2,1), a shift between judges counts; consistent: ICC(3,1).
    sem_absolute, sem_consistent: standard error of measurement on the same two readings.
    """

    one_way: float
    absolute: float
    consistent: float
    sem_absolute: float
    sem_consistent: float


def agreement(first: Sequence[float], second: Sequence[float]) -> Agreement:
    """Return bias and spread of first − second; at least two pairs."""
    differences = np.asarray(first, dtype=float) - np.asarray(second, dtype=float)
    return Agreement(float(differences.mean()), float(differences.std(ddof=1)), len(differences))


def typical_error(first: Sequence[float], second: Sequence[float]) -> float:
    """Return the SD of one reading from pairs, √(Σd² ÷ 2n) (Dahlberg's formula)."""
    differences = np.asarray(first, dtype=float) - np.asarray(second, dtype=float)
    return float(np.sqrt(np.sum(differences**2) / (2.0 * len(differences))))


def smallest_change(sd_of_one_reading: float) -> float:
    """Return the minimal detectable change between two readings, 1.96 √2 SD."""
    return float(Z95 * 2.0**0.5 * sd_of_one_reading)


def spread(groups: Sequence[Sequence[float]]) -> Spread:
    """Return repeat SD and spread between groups; groups of two or more, may differ in size."""
    arrays = [np.asarray(group, dtype=float) for group in groups]
    sizes = np.array([len(group) for group in arrays])
    means = np.array([group.mean() for group in arrays])
    grand = float(np.concatenate(arrays).mean())
    within_freedom, between_freedom = int(sizes.sum() - len(arrays)), len(arrays) - 1
    within = sum(float(((group - group.mean()) ** 2).sum()) for group in arrays) / within_freedom
    between = float((sizes * (means - grand) ** 2).sum()) / between_freedom
    usual_size = (sizes.sum() - (sizes**2).sum() / sizes.sum()) / between_freedom
    between_variance = max(0.0, (between - within) / float(usual_size))
    f = between / within if within else float("inf")
    return Spread(within**0.5, between_variance**0.5, f, within_freedom, between_freedom)


def intraclass(readings: ArrayLike) -> Agreements:
    """Return how far judges agree about targets; readings has shape (n_targets, n_judges)."""
    table = np.asarray(readings, dtype=float)
    n_targets, n_judges = table.shape
    grand = table.mean()
    targets = n_judges * ((table.mean(axis=1) - grand) ** 2).sum() / (n_targets - 1)
    judges = n_targets * ((table.mean(axis=0) - grand) ** 2).sum() / (n_judges - 1)
    total = ((table - grand) ** 2).sum()
    within = (total - targets * (n_targets - 1)) / (n_targets * (n_judges - 1))
    left_over = total - targets * (n_targets - 1) - judges * (n_judges - 1)
    error = left_over / ((n_targets - 1) * (n_judges - 1))
    shift = n_judges * (judges - error) / n_targets
    return Agreements(
        one_way=float((targets - within) / (targets + (n_judges - 1) * within)),
        absolute=float((targets - error) / (targets + (n_judges - 1) * error + shift)),
        consistent=float((targets - error) / (targets + (n_judges - 1) * error)),
        sem_absolute=float(np.sqrt(max(0.0, (judges - error) / n_targets) + error)),
        sem_consistent=float(np.sqrt(error)),
    )
