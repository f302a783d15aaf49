"""Did anything move between two visits, between left and right, over a season?

Bands are passed in as plain numbers: nothing here knows the checklist.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, inf

import numpy as np

from tapmark.geometry.planar import Array
from tapmark.geometry.uncertainty import Z90, Z95
from tapmark.measures.catalogue import row
from tapmark.measures.result import Measured, NotMeasured, Results, printed

MOVED, SAME, CANT_TELL = "moved", "same", "can't tell"
NEARER, FARTHER = "nearer", "farther"
DIFFERS, NO_DIFFERENCE_SHOWN = "differs", "no difference shown"
MOST_STEPS_ASKED = 20  # ours: nobody marks more
FEWEST_STEPS_A_SIDE = 2

# How much one athlete's steps differ among themselves (SD): common practice, no source.
_JOINTS = ("knee_touchdown", "knee_mid_stance", "knee_bend", "fold", "knee_toe_off", "hip_toe_off")
_SCATTER_OF_JOINTS_DEG = 3.0
_SCATTER = {"°": 2.0, "% leg": 2.0, "%": 3.0, "cm": 2.0, "ms": 5.0, "/s": 0.08, "m": 0.03}
_SCATTER |= {"m/s": 0.1, "°/s": 60.0}
# Same foot, the sprinter at 9.5 m/s (Dorn 2012, 10.1242/jeb.064527; our arithmetic): two steps a
# foot give 4.5 to 5.7 % of leg and 4.5 to 6.9°; slower runs scatter less.
_SCATTER_OF_ROW = {"knee_separation": 4.7, "swing_thigh": 5.6}
_WEIGHT_OF_DEFAULT = 3  # ours: several passes tell; this many steps are what the default counts for

FEWEST_SESSIONS = 3  # ours: two points always lie on a line
DAYS_A_MONTH = 30.44  # calc: 365.25 ÷ 12


@dataclass(frozen=True)
class Limits:
    """Fine band and limits of a row; None where that side is open.

    Order on the number line: limit_low <= fine_low <= fine_high <= limit_high.
    """

    limit_low: float | None = None
    fine_low: float | None = None
    fine_high: float | None = None
    limit_high: float | None = None

    def outside(self, value: float) -> float:
        """Return how far a value lies outside the fine band, 0 inside."""
        below = self.fine_low - value if self.fine_low is not None else 0.0
        above = value - self.fine_high if self.fine_high is not None else 0.0
        return max(below, above, 0.0)

    def gap(self, value: float) -> float | None:
        """Return the width from fine to limit on the side nearest to a value, or None."""
        sides = [
            (abs(value - limit), abs(limit - fine))
            for limit, fine in (
                (self.limit_low, self.fine_low),
                (self.limit_high, self.fine_high),
            )
            if limit is not None and fine is not None
        ]
        return min(sides)[1] if sides else None


@dataclass(frozen=True)
class Change:
    """One row on two dates.

    word:        "moved", "same" or "can't tell".
    difference:  after − before, in the row's unit.
    smallest:    the minimal detectable change at 95 %.
    arrow:       "nearer" to or "farther" from fine when it moved, "" when both are fine.
    n_steps:     steps a visit that would show a change of this size; None where none would.
    """

    before: Measured
    after: Measured
    word: str
    difference: float
    smallest: float
    arrow: str = ""
    n_steps: int | None = None


@dataclass(frozen=True)
class LeftRight:
    """One row of both sides, each filmed as the near leg: left − right, never graded."""

    key: str
    leg: str
    word: str
    difference: float
    plus_minus: float
    why: str = ""


def step_scatter(measured: Measured) -> float:
    """Return how much one step differs from the next (SD), in the row's unit.

    The usual scatter, until several passes tell: then the scatter seen between them, less what
    the marking alone would make, blended in.
    """
    usual = _SCATTER[measured.unit]
    if measured.key in _JOINTS:
        usual = _SCATTER_OF_JOINTS_DEG
    usual = _SCATTER_OF_ROW.get(measured.key, usual)
    if measured.scatter is None:
        return usual
    seen = max(0.0, measured.scatter**2 - measured.u_one_step**2)
    n_free = measured.n_steps - 1
    weighed = _WEIGHT_OF_DEFAULT * usual**2 + n_free * seen
    return float((weighed / (_WEIGHT_OF_DEFAULT + n_free)) ** 0.5)


def u_of_the_runner(measured: Measured) -> float:
    """Return the doubt of what the runner usually does: marking, step scatter, set-up (1 SD)."""
    new_in_each = measured.u_one_step**2 + step_scatter(measured) ** 2
    return float((new_in_each / measured.n_steps + measured.u_set_up**2) ** 0.5)


def compare(before: Measured, after: Measured, limits: Limits) -> Change:
    """Say whether a row moved from one visit to another.

    Moved: more than the minimal detectable change. Same: even with its ± no wider than the
    row's way from fine to limit. Else it can't be told.
    """
    difference = after.value - before.value
    u = (u_of_the_runner(before) ** 2 + u_of_the_runner(after) ** 2) ** 0.5
    gap = limits.gap((before.value + after.value) / 2.0)
    word, arrow = CANT_TELL, ""
    if abs(difference) > Z95 * u:
        was, now = limits.outside(before.value), limits.outside(after.value)
        word, arrow = MOVED, "" if was == now else NEARER if now < was else FARTHER
    elif gap is not None and abs(difference) + Z90 * u <= gap:
        word = SAME
    own = sum(m.u_one_step**2 + step_scatter(m) ** 2 for m in (before, after))
    set_up = before.u_set_up**2 + after.u_set_up**2
    n_steps = _whole_steps(own, (difference / Z95) ** 2 - set_up)
    return Change(before, after, word, difference, Z95 * u, arrow, n_steps)


def steps_to_decide(measured: Measured, gap: float) -> int | None:
    """Return how many steps of one visit would narrow the ± to a row's way from fine to limit.

    The ± is that of the value as it is judged, with its known bias taken off. None where the set-up
    alone is too doubtful or too many steps would be needed.
    """
    set_up = measured.u_corrected**2 - measured.u_one_step**2 / measured.n_steps
    room = (gap / Z95) ** 2 - set_up
    return _whole_steps(measured.u_one_step**2, room)


def left_right(right: Results, left: Results, is_static: bool) -> tuple[LeftRight, ...]:
    """Compare near-leg rows of runs filmed both ways; never graded.

    right, left:  results whose near side is the right and the left one.
    is_static:    False for a camera that moved: then nothing is compared.
    """
    compared = []
    for key, leg in right.rows:
        if leg == "near":
            a, b = right.row(key, leg), left.row(key, leg)
            if isinstance(a, Measured) and isinstance(b, Measured):
                difference = b.value - a.value
                plus_minus = Z95 * (u_of_the_runner(a) ** 2 + u_of_the_runner(b) ** 2) ** 0.5
                why_not = _why_not_sides(right, left, is_static, a, b)
                word = DIFFERS if abs(difference) > plus_minus else NO_DIFFERENCE_SHOWN
                word = CANT_TELL if why_not else word
                compared.append(LeftRight(key, leg, word, difference, plus_minus, why_not))
    return tuple(compared)


def both_sides(results: Results) -> tuple[Results, Results] | NotMeasured:
    """Return (right, left) of a visit filmed both ways, else why they cannot be compared."""
    passes = (*reversed(results.others), results)
    sides = {each.near_side: each for each in passes if each.view == "side"}
    if {"right", "left"} <= sides.keys():
        return sides["right"], sides["left"]
    return NotMeasured(
        "left_right",
        "",
        f"Only the {results.near_side} side was filmed near. Film the same run the other way too: "
        "then each leg is the near one once.",
    )


def _whole_steps(variance_of_one: float, room: float) -> int | None:
    needed = variance_of_one / room if room > 0 else inf
    return max(1, ceil(needed)) if needed <= MOST_STEPS_ASKED else None


def _why_not_sides(right: Results, left: Results, is_static: bool, a: Measured, b: Measured) -> str:
    if not is_static:
        return "The camera moved: left and right are not compared."
    if right.context != left.context:
        return "The two sides were filmed at different kinds of running."
    if min(a.n_steps, b.n_steps) < FEWEST_STEPS_A_SIDE:
        return "Needs two steps of each side."
    return ""


def in_words(change: Change) -> str:
    """Return a change in a few plain words, rounded as the row is printed."""
    digits, unit = change.after.digits, row(change.after.key).shown_unit
    size, smallest = printed(change.difference, digits, "+"), printed(change.smallest, digits)
    told = f"{size}{unit}, counts from {smallest}{unit}"
    if change.word == CANT_TELL and change.n_steps:
        told += f"; about {change.n_steps} steps a visit would show it"
    return f"{change.word} ({told})"


@dataclass(frozen=True)
class Line:
    """Weighted least squares, y = start + slope · x (JCGM 100:2008, H.3, with given u).

    u_slope, u_start:  from the given u of the points.
    excess:            √(χ² ÷ (n − 2)): above 1 the points scatter more than their u.
    """

    slope: float
    start: float
    u_slope: float
    u_start: float
    excess: float


@dataclass(frozen=True)
class Trend:
    """Change a month with its 95 % ±, in the row's unit; is_clear when the ± excludes none."""

    slope_a_month: float
    plus_minus: float

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
    return Trend(line.slope, Z95 * line.u_slope * max(1.0, line.excess))
