"""How fast the camera really exposed: what the file says, and what a filmed stopwatch shows.

Slow-motion files keep two clocks apart: the camera exposed at, say, 240 frames per second, and
the file plays them at 30. Some phones write the exposure rate into the file, some keep the true
clock, and shared copies often lose both. "Not known" is then the honest answer.
"""

from dataclasses import dataclass

FAST_CLOCK_HZ = (100.0, 1050.0)
"""No phone plays this fast: a file clock in between is the camera's own (common practice).
Above, the clock is too coarse for the frames and says nothing."""

WHOLE_WITHIN = 0.03
"""File clocks of phones stray this far from their nominal rate (28.6–33.1/s were met at 30)."""


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
    file_rate_hz:  usual frames per second on the file's own clock
    is_steady:     False when the clip is made of stretches of different rates
    """
    if file_rate_hz is None:
        return Capture(None, None, "not known: the file holds no times")
    if not is_steady:
        return Capture(None, None, "not known: the rate changes inside the clip")
    if tag_hz is not None and tag_hz > 0:
        factor = _whole(tag_hz / file_rate_hz)
        words = f"the phone noted {tag_hz:g} frames per second"
        if factor != 1.0:
            slower = f"{factor:g} times slower" if factor > 1 else f"{1 / factor:.3g} times faster"
            words += f"; the file plays {slower}"
        return Capture(factor, file_rate_hz * factor, words)
    if FAST_CLOCK_HZ[0] <= file_rate_hz <= FAST_CLOCK_HZ[1]:
        words = f"the file's own clock runs at {file_rate_hz:.0f} frames per second"
        return Capture(1.0, file_rate_hz, words)
    if file_rate_hz > FAST_CLOCK_HZ[1]:
        words = (
            f"not known: the file's clock is wrong, it says {file_rate_hz:.0f} frames per second"
        )
        return Capture(None, None, words)
    words = (
        f"not known: the file plays {file_rate_hz:.0f} frames per second and does not say how "
        "fast they were filmed"
    )
    return Capture(None, None, words)


def capture_told(filmed_hz: float, file_rate_hz: float) -> Capture:
    """Return the capture for a rate by its nominal name: what is called 240 is 8 × 29.97."""
    factor = _whole(filmed_hz / file_rate_hz)
    return Capture(factor, file_rate_hz * factor, f"set by the coach: {filmed_hz:g}")


def _whole(ratio: float) -> float:
    """Return the nearest whole factor when within 3 %, else the ratio as it is."""
    whole = round(ratio)
    return float(whole) if whole >= 1 and abs(ratio - whole) < WHOLE_WITHIN * whole else ratio


READ_TO_S = 0.01
"""Smallest step of a stopwatch; each reading may be off by that much either way."""


@dataclass(frozen=True)
class StopwatchRate:
    """The true rate of a phone from a filmed stopwatch.

    rate_hz, plus_minus_hz:  true exposures per second and 95 % doubt from reading the watch
    slow_factor:             file time / true time of this clip
    """

    rate_hz: float
    plus_minus_hz: float
    slow_factor: float


def rate_from_stopwatch(n_pictures: int, shown_s: float, file_s: float) -> StopwatchRate:
    """Return a phone's true rate from a clip of a running stopwatch.

    n_pictures:  steps from the frame with the first reading to the one with the last
    shown_s:     seconds that passed on the stopwatch between the two
    file_s:      seconds between the same two frames on the file's clock
    Missing exposures lower rate_hz but not slow_factor: store slow_factor × file rate.
    """
    if n_pictures < 1 or shown_s <= 0 or file_s <= 0:
        raise ValueError("a stopwatch check needs two pictures and a watch that runs forward")
    rate = n_pictures / shown_s
    doubt_s = 1.96 * READ_TO_S * (2 / 3) ** 0.5  # two readings, each even over ± one step
    return StopwatchRate(rate, rate * doubt_s / shown_s, file_s / shown_s)
