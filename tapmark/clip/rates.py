"""How fast the camera really exposed: what the file says, and how to catch a wrong answer.

Slow-motion files keep two clocks apart: the camera exposed at, say, 240 pictures a second, and
the file plays them at 30. Some phones write the exposure rate into the file, some keep the true
clock, and shared copies often lose both. "Not known" is then the honest answer.
"""

from collections.abc import Iterable
from dataclasses import dataclass

FAST_CLOCK_HZ = (100.0, 1050.0)
"""No phone plays this fast: a file clock in between is the camera's own (common practice).
Above, the clock is too coarse for the pictures and says nothing."""

WHOLE_WITHIN = 0.03
"""File clocks of phones stray this far from their nominal rate (28.6–33.1/s were met at 30)."""

CONTACT_S = (0.060, 0.280)
STEP_HZ = (2.3, 5.5)
"""What running people do, from a sprint to an easy run; outside, the stated rate is suspect."""

TYPICAL_CONTACT_S = 0.110
TYPICAL_STEP_S = 0.240
"""Middle of a fast run (common practice): only used to put the likeliest fix first."""

FILMED_HZ = (30, 60, 120, 240, 480, 960)
SAVED_HZ = (24, 25, 30, 50, 60)


@dataclass(frozen=True)
class Capture:
    """How the file's clock relates to true time.

    slow_factor:  file time / true time: 1.0 when the clock is true, 8.0 for 240 saved as 30.
                  None means not known, an ordinary answer: nothing in seconds can be graded.
    rate_hz:      true exposures per second, None when not known
    source:       in plain words, where this comes from
    """

    slow_factor: float | None
    rate_hz: float | None
    source: str

    def true_s(self, file_s: float | None) -> float | None:
        """Return true seconds for seconds on the file's clock; None when either is unknown."""
        if file_s is None or self.slow_factor is None:
            return None
        return file_s / self.slow_factor


def capture_from_file(
    tag_hz: float | None, file_rate_hz: float | None, *, is_steady: bool = True
) -> Capture:
    """Return what the file alone says.

    tag_hz:        exposure rate some phones write into the file, None without one
    file_rate_hz:  usual pictures per second on the file's own clock
    is_steady:     False when the clip is made of stretches of different rates
    """
    if file_rate_hz is None:
        return Capture(None, None, "not known: the file holds no times")
    if not is_steady:
        return Capture(None, None, "not known: the rate changes inside the clip")
    if tag_hz is not None and tag_hz > 0:
        factor = _whole(tag_hz / file_rate_hz)
        words = f"the phone noted {tag_hz:g} exposures a second"
        if factor != 1.0:
            words += f"; the file plays {_factor_words(factor)}"
        return Capture(factor, file_rate_hz * factor, words)
    if FAST_CLOCK_HZ[0] <= file_rate_hz <= FAST_CLOCK_HZ[1]:
        words = f"the file's own clock runs at {file_rate_hz:.0f} pictures a second"
        return Capture(1.0, file_rate_hz, words)
    words = (
        f"not known: the file plays {file_rate_hz:.0f} pictures a second and does not say how "
        "fast they were filmed"
    )
    return Capture(None, None, words)


def capture_told(filmed_hz: float, file_rate_hz: float, source: str = "") -> Capture:
    """Return the capture for a rate that a person stated (240) or a stopwatch showed (239.6)."""
    factor = _whole(filmed_hz / file_rate_hz)
    return Capture(factor, file_rate_hz * factor, source or f"set by the coach: {filmed_hz:g}")


def _whole(ratio: float) -> float:
    """Return the nearest whole factor when within 3 %, else the ratio as it is."""
    whole = round(ratio)
    return float(whole) if whole >= 1 and abs(ratio - whole) < WHOLE_WITHIN * whole else ratio


def _factor_words(factor: float) -> str:
    return f"{factor:g} times slower" if factor > 1 else f"{1 / factor:.3g} times faster"


@dataclass(frozen=True)
class RateFix:
    """A way to make doubtful times fit: take this factor instead. `words` ask the question."""

    slow_factor: float
    words: str


@dataclass(frozen=True)
class RateDoubt:
    """Times that no runner makes, and what would explain them, likeliest first."""

    words: str
    fixes: tuple[RateFix, ...]


def sanity(
    contact_s: float | None,
    step_s: float | None,
    *,
    slow_factor: float,
    file_rate_hz: float,
) -> RateDoubt | None:
    """Return a doubt when contact or step rate cannot be a runner's at the stated rate.

    contact_s, step_s:  true seconds as now computed, None where not measured
    slow_factor:        the factor they were computed with
    file_rate_hz:       usual pictures per second on the file's clock
    Limits: 60–280 ms on the ground, 2.3–5.5 steps a second.
    """
    if _fits(contact_s, step_s):
        return None
    found = []
    for factor, words in _candidates(file_rate_hz):
        change = slow_factor / factor
        contact, step = _times(contact_s, change), _times(step_s, change)
        if abs(change - 1) > WHOLE_WITHIN and _fits(contact, step):
            found.append((_oddness(contact, step), RateFix(factor, words)))
    found.sort(key=lambda pair: pair[0])
    return RateDoubt(_doubt_words(contact_s, step_s), tuple(fix for _, fix in found))


def _fits(contact_s: float | None, step_s: float | None) -> bool:
    low, high = CONTACT_S
    if contact_s is not None and not low <= contact_s <= high:
        return False
    return step_s is None or (step_s > 0 and STEP_HZ[0] <= 1 / step_s <= STEP_HZ[1])


def _times(seconds: float | None, change: float) -> float | None:
    return None if seconds is None else seconds * change


def _candidates(file_rate_hz: float) -> Iterable[tuple[float, str]]:
    """Yield (slow factor, question) for every rate phones film at and the file's own rate."""
    saved = min(SAVED_HZ, key=lambda hz: abs(hz - file_rate_hz))
    if abs(saved - file_rate_hz) > 0.12 * saved:
        saved = round(file_rate_hz)
    yield 1.0, "filmed at normal speed, not in slow motion?"
    for filmed in FILMED_HZ:
        if filmed != saved:
            yield _whole(filmed / file_rate_hz), f"filmed at {filmed}, saved at {saved}?"


def _oddness(contact_s: float | None, step_s: float | None) -> float:
    """Return how far the times are from a typical fast run, as a ratio; smaller is likelier."""
    pairs = ((contact_s, TYPICAL_CONTACT_S), (step_s, TYPICAL_STEP_S))
    ratios = [max(s / typical, typical / s) for s, typical in pairs if s is not None]
    return max(ratios, default=1.0)


def _doubt_words(contact_s: float | None, step_s: float | None) -> str:
    parts = []
    if contact_s is not None and not CONTACT_S[0] <= contact_s <= CONTACT_S[1]:
        parts.append(f"{1000 * contact_s:.0f} ms on the ground (runners: 60–280)")
    if step_s is not None and not _fits(None, step_s):
        rate = f"{1 / step_s:.1f} steps a second" if step_s > 0 else "a step without length"
        parts.append(f"{rate} (runners: 2.3–5.5)")
    return "At the stated rate this step shows " + " and ".join(parts) + "."


@dataclass(frozen=True)
class StopwatchRate:
    """The true rate of a phone from a filmed stopwatch.

    rate_hz, plus_minus_hz:  true exposures per second and 95 % doubt from reading the watch
    slow_factor:             file time / true time of this clip
    """

    rate_hz: float
    plus_minus_hz: float
    slow_factor: float


def rate_from_stopwatch(
    n_pictures: int, shown_s: float, file_s: float, read_to_s: float = 0.01
) -> StopwatchRate:
    """Return a phone's true rate from a clip of a running stopwatch.

    n_pictures:  steps from the picture with the first reading to the one with the last
    shown_s:     seconds that passed on the stopwatch between the two
    file_s:      seconds between the same two pictures on the file's clock
    read_to_s:   smallest step of the watch; each reading may be off by that much either way
    Missing exposures lower rate_hz but not slow_factor: store slow_factor × file rate.
    """
    if n_pictures < 1 or shown_s <= 0 or file_s <= 0 or read_to_s < 0:
        raise ValueError("a stopwatch check needs two pictures and a watch that runs forward")
    rate = n_pictures / shown_s
    doubt_s = 1.96 * read_to_s * (2 / 3) ** 0.5  # two readings, each even over ± one step
    return StopwatchRate(rate, rate * doubt_s / shown_s, file_s / shown_s)
