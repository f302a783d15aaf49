"""When each frame was taken, as far as the file can tell.

Everything rests on the file's own integer stamps. A time is a difference of two stamps times the
length of one tick; it is never a frame number divided by a rate, because phones drop frames
and change their rate while filming.
"""

from array import array
from fractions import Fraction
from itertools import pairwise

import numpy as np
import numpy.typing as npt

NO_STAMP = -(2**63)
MISSING_FROM = 1.5
"""A gap this many times its surroundings means that exposures are missing."""

SURROUNDINGS = 5
"""How many gaps on either side count as surroundings."""

UNEVEN_FROM = 0.10
"""Middle half of the gaps spread over more than this share of their median: not steady."""


class Stamps:
    """The stamps of all frames read so far, in the order shown. It only ever grows."""

    def __init__(self, tick_s: Fraction, first: int | None = None) -> None:
        """tick_s: seconds per tick; first: stamp of the file's first frame (its zero)."""
        self.tick_s = tick_s
        self._first = first
        self._stamps = array("q")
        self._has_gap_in_knowledge = False

    def __len__(self) -> int:
        return len(self._stamps)

    def begin(self, tick_s: Fraction, first: int | None) -> None:
        """Set tick and zero, once they are known and before the first stamp comes."""
        self.tick_s, self._first = tick_s, first

    def add(self, stamp: int | None) -> None:
        if stamp is None:
            self._has_gap_in_knowledge = True
        elif self._first is None:
            self._first = stamp
        self._stamps.append(NO_STAMP if stamp is None else stamp)

    @property
    def is_known(self) -> bool:
        """Whether every frame carries a stamp; a single one without makes all times unknown."""
        return not self._has_gap_in_knowledge and len(self._stamps) > 0

    def stamp(self, i: int) -> int | None:
        value = self._stamps[i]
        return None if value == NO_STAMP else value

    def time_s(self, i: int) -> float | None:
        """Return seconds since the file's first frame; None where the file has no stamps."""
        if not self.is_known or self._first is None:
            return None
        return float((self._stamps[i] - self._first) * self.tick_s)

    def interval_s(self, i: int) -> float | None:
        """Return the larger gap beside frame i in seconds; None for a lone frame."""
        if not self.is_known or len(self._stamps) < 2:
            return None
        row = self._stamps[max(0, i - 1) : i + 2]
        return float(max(b - a for a, b in pairwise(row)) * self.tick_s)

    def twins(self, i: int) -> tuple[int, int]:
        """Return how many frames share frame i's stamp: (before it, in all with itself).

        Coarse clocks give neighbours one stamp; joined recordings start their clock anew.
        """
        value = self._stamps[i]
        return self._stamps[:i].count(value), self._stamps.count(value)

    def rate_hz(self) -> float | None:
        """Return the file's usual frames per second on its own clock."""
        usual = usual_gap_s(self.gaps_s(), float(self.tick_s))
        return 1.0 / usual if usual else None

    def gaps_s(self) -> npt.NDArray[np.float64]:
        """Return the n−1 gaps between neighbours in seconds; empty where times are unknown."""
        if not self.is_known:
            return np.empty(0)
        ticks = np.diff(np.array(self._stamps[: len(self._stamps)], dtype=np.int64))
        return np.asarray(ticks * float(self.tick_s), dtype=np.float64)


def usual_gap_s(gaps_s: npt.NDArray[np.float64], tick_s: float) -> float:
    """Return the mean of the gaps near their median, 0 where there are none.

    The median alone is wrong on coarse clocks: at 240 frames per second a clock of 1/600 s ticks
    2, 3, 2, 3, and its median says 200 or 300. Wide gaps of missing exposures are left out.
    """
    positive = gaps_s[gaps_s > 0]
    if not positive.size:
        return 0.0
    middle = float(np.median(positive))
    low = min(0.5 * middle, middle - 1.01 * tick_s)
    high = max(MISSING_FROM * middle, middle + 1.01 * tick_s)
    return float(gaps_s[(gaps_s >= low) & (gaps_s <= high)].mean())


def missing_exposures(gaps_s: npt.NDArray[np.float64], tick_s: float) -> npt.NDArray[np.int64]:
    """Return, for each of n gaps, how many exposures seem to be missing in it (0 mostly).

    A gap is compared with the five before and the five after it, whichever side is slower, so a
    clip that changes its rate on purpose is not called broken. The file alone is judged.
    """
    missing = np.zeros(gaps_s.size, dtype=np.int64)
    positive = gaps_s[gaps_s > 0]
    floor = (
        float(np.percentile(positive, 10)) if positive.size else 0.0
    )  # few usual gaps undercut it
    for k in np.flatnonzero(gaps_s > MISSING_FROM * floor):
        sides = (gaps_s[max(0, k - SURROUNDINGS) : k], gaps_s[k + 1 : k + 1 + SURROUNDINGS])
        usual = max(
            (float(np.percentile(s, 50, method="lower")) for s in sides if s.size), default=0.0
        )
        if usual > 0 and gaps_s[k] > max(MISSING_FROM * usual, usual + 1.01 * tick_s):
            missing[k] = round(gaps_s[k] / usual) - 1
    return missing


def rate_stretches(gaps_s: npt.NDArray[np.float64], tick_s: float) -> tuple[float, ...]:
    """Return the rates in Hz of the stretches a clip is made of, in order; one for most clips.

    A new stretch begins where the usual gap of eleven frames differs by more than 1.5 times.
    """
    block = 2 * SURROUNDINGS + 1
    rates: list[float] = []
    for start in range(0, max(1, gaps_s.size - block + 1), block):
        usual = usual_gap_s(gaps_s[start : start + block], tick_s)
        rate = 1.0 / usual if usual else 0.0
        if rate and (not rates or max(rate / rates[-1], rates[-1] / rate) > MISSING_FROM):
            rates.append(rate)
    return tuple(rates)


def is_uneven(gaps_s: npt.NDArray[np.float64], tick_s: float) -> bool:
    """Return True when the gaps differ by more than a coarse clock and a tenth explain."""
    positive = gaps_s[gaps_s > 0]
    if positive.size < 4:
        return False
    low, middle, high = np.percentile(positive, (10, 50, 90))
    return bool(high - low > max(UNEVEN_FROM * middle, 1.01 * tick_s))
