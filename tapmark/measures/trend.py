"""A measure over three or more sessions: a straight line with an honest slope."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tapmark.geometry.planar import Array
from tapmark.geometry.uncertainty import Z95
from tapmark.measures.change import u_of_the_runner
from tapmark.measures.result import Measured, NotMeasured

FEWEST_SESSIONS = 3
DAYS_A_MONTH = 30.44


@dataclass(frozen=True)
class Line:
    """Weighted least squares, y = start + slope · x (JCGM 100:2008, H.3, with given u).

    u_slope, u_start:  from the given u of the points.
    correlation:       of start and slope.
    excess:            √(χ² ÷ (n − 2)): above 1 the points scatter more than their u.
    """

    slope: float
    start: float
    u_slope: float
    u_start: float
    correlation: float
    excess: float


@dataclass(frozen=True)
class Trend:
    """Change a month with its 95 % ±, in the row's unit; is_clear when the ± excludes none."""

    slope_a_month: float
    plus_minus: float
    n_sessions: int

    @property
    def is_clear(self) -> bool:
        return abs(self.slope_a_month) > self.plus_minus


def straight_line(x: Array, y: Array, u: Array) -> Line:
    """Fit a line to at least three points with standard uncertainties u, all of shape (n,)."""
    weights = 1.0 / u**2
    total, middle = weights.sum(), (weights * x).sum() / weights.sum()
    spread = (weights * (x - middle) ** 2).sum()
    slope = (weights * (x - middle) * y).sum() / spread
    start = (weights * y).sum() / total - slope * middle
    u_start = (1.0 / total + middle**2 / spread) ** 0.5
    chi_square = (weights * (y - start - slope * x) ** 2).sum()
    return Line(
        slope=float(slope),
        start=float(start),
        u_slope=float(spread**-0.5),
        u_start=float(u_start),
        correlation=float(-middle / spread / (u_start * spread**-0.5)),
        excess=float((chi_square / (len(x) - 2)) ** 0.5),
    )


def trend(key: str, sessions: Sequence[tuple[float, Measured]]) -> Trend | NotMeasured:
    """Return the change a month over a season.

    sessions: (day, what was measured on it), any order; days counted from any start.

    The ± is that of the points; where they scatter more than that, it grows with them.
    """
    days = np.array([day for day, _ in sessions])
    if len(sessions) < FEWEST_SESSIONS or np.ptp(days) <= 0:
        return NotMeasured(key, "", "Needs three sessions on different days for a trend.")
    values = np.array([measured.value for _, measured in sessions])
    u = np.array([u_of_the_runner(measured) for _, measured in sessions])
    line = straight_line(days / DAYS_A_MONTH, values, u)
    return Trend(line.slope, Z95 * line.u_slope * max(1.0, line.excess), len(sessions))
