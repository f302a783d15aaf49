"""Which capture rate would explain times that no runner makes.

Slow-motion clips lose their true rate on the way to the laptop, so "240 a second, saved at 30" is
taken for 30 and a contact of 100 ms reads as 800. Times that no runner makes give it away.
"""

from collections.abc import Iterable
from dataclasses import dataclass

CONTACT_S = (0.060, 0.280)
STEP_HZ = (2.3, 5.5)
"""What running people do, from a sprint to an easy run (from memory); outside, the stated rate is
suspect."""

TYPICAL_CONTACT_S = 0.110
TYPICAL_STEP_S = 0.240
"""Middle of a fast run (common practice, no source): only puts the likeliest rate first."""

FILMED_HZ = (30, 60, 120, 240, 480, 960)
SAVED_HZ = (24, 25, 30, 50, 60)
NEAR_SAVED = 0.12
"""Rates at which phones film and save, and how far their file clocks stray: from memory."""

SAME_WITHIN = 0.03
"""Two rates closer than this are one: ours."""


@dataclass(frozen=True)
class LikelyRate:
    """A rate that would make the times fit.

    slow_factor:  file time ÷ true time at that rate
    filmed_hz:    exposures a second; the file's own rate where it was no slow motion at all
    saved_hz:     frames per second the file plays, by its nominal rate
    """

    slow_factor: float
    filmed_hz: float
    saved_hz: float

    @property
    def question(self) -> str:
        """Return the question to the coach."""
        if self.slow_factor == 1.0:
            return "Filmed at normal speed, not in slow motion?"
        return f"Filmed at {self.filmed_hz:.0f}, saved at {self.saved_hz:.0f}?"


def likely_rates(
    contact_s: float | None, step_s: float | None, *, slow_factor: float, file_hz: float
) -> tuple[LikelyRate, ...]:
    """Return the other rates at which both times are a runner's, likeliest first.

    contact_s, step_s:  true seconds as now computed, None where not measured
    slow_factor:        the factor they were computed with
    file_hz:            usual frames per second on the file's own clock
    """
    found = []
    for rate in _candidates(file_hz):
        change = slow_factor / rate.slow_factor
        contact, step = (None if s is None else s * change for s in (contact_s, step_s))
        if abs(change - 1) > SAME_WITHIN and are_usual(contact, step):
            pairs = ((contact, TYPICAL_CONTACT_S), (step, TYPICAL_STEP_S))
            ratios = [max(s / usual, usual / s) for s, usual in pairs if s is not None]
            found.append((max(ratios, default=1.0), rate))
    return tuple(rate for _, rate in sorted(found, key=lambda pair: pair[0]))


def are_usual(contact_s: float | None, step_s: float | None) -> bool:
    """Say whether contact and step time can be a runner's; what is not measured is no doubt."""
    low, high = CONTACT_S
    if contact_s is not None and not low <= contact_s <= high:
        return False
    return step_s is None or (step_s > 0 and STEP_HZ[0] <= 1 / step_s <= STEP_HZ[1])


def _candidates(file_hz: float) -> Iterable[LikelyRate]:
    """Yield every rate that phones film at, and the file's own."""
    saved = float(min(SAVED_HZ, key=lambda hz: abs(hz - file_hz)))
    if abs(saved - file_hz) > NEAR_SAVED * saved:
        saved = float(round(file_hz))
    yield LikelyRate(1.0, saved, saved)
    for filmed in FILMED_HZ:
        if filmed != saved:
            ratio = filmed / file_hz
            whole = round(ratio)
            is_whole = whole and abs(ratio - whole) < SAME_WITHIN * whole
            yield LikelyRate(float(whole) if is_whole else ratio, float(filmed), saved)
