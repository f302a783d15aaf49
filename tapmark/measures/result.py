"""What a measure can be: a number with its doubt, or the reason why there is none."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from tapmark.geometry.uncertainty import Z90, Z95

__all__ = [
    "Z90",
    "Z95",
    "Key",
    "MarkingCheck",
    "Measured",
    "NotMeasured",
    "Result",
    "Results",
    "behind",
    "printed",
]

_SMALLEST_PART = 1e-3  # of u, ours: where a bias is all there is, rounding must not leave nothing

Key = tuple[str, str]  # catalogue row, leg ("near", "far" or "" where no leg is meant)


def printed(number: float, digits: int = 0, plus: str = "") -> str:
    """Return a number as it is printed: a true minus sign, no minus before zero.

    plus: what stands before a number that is not negative.
    """
    text = f"{abs(number):.{digits}f}"
    return f"−{text}" if number < 0 and float(text) != 0.0 else f"{plus}{text}"


def behind(unit: str) -> str:
    """Return a unit as it stands behind a number, with the space that belongs between them."""
    return unit if unit == "°" else f" {unit}"


@dataclass(frozen=True)
class Measured:
    """A number that can be stood behind.

    key, leg:    catalogue row and leg: "near", "far" or "".
    value:       in unit, in the sign convention of the row.
    u:           standard uncertainty (1 SD) of value, in the same unit, above 0.
    parts:       (what the doubt comes from in words, its SD), the largest first; squares add to u².
    digits:      decimals printed.
    is_about:    leans on a guess, a point behind the leg or the far hip: prints "≈".
    not_graded:  why it may be shown but not judged ("" when it may), in words for the coach.
    capped:      why the verdict may be fine but never seen ("" otherwise).
    n_steps:     how many steps were pooled.
    scatter:     SD of the value between those steps; None for a single one.
    u_set_up:    the part of u that more steps of the same set-up do not shrink.
    bias:        the error of known size and direction, value − truth (JCGM 200:2012, 2.18): half a
                 picture at contact, and the body's depth off the camera's axis. Inside u already.
    u_bias:      how far the bias itself may be off (1 SD): limbs turn at other rates than the usual
                 ones. It is the same in every pass. The depth's own doubt is inside u already.
    of_slip:     what taking the bias off does to the variance (unit², mostly below 0): the contact,
                 by which the bias is told, is read from the same key frames.
    """

    key: str
    leg: str
    value: float
    u: float
    unit: str
    parts: tuple[tuple[str, float], ...] = ()
    digits: int = 0
    is_about: bool = False
    not_graded: str = ""
    capped: str = ""
    n_steps: int = 1
    scatter: float | None = None
    u_set_up: float = 0.0
    bias: float = 0.0
    u_bias: float = 0.0
    of_slip: float = 0.0

    @property
    def corrected(self) -> float:
        """The value with its known bias taken off: the best guess of the truth, for verdicts."""
        return self.value - self.bias

    @property
    def u_corrected(self) -> float:
        """The standard uncertainty of `corrected`: of the bias only its own doubt is left.

        JCGM 100:2008, 3.2.4 and F.2.4.5: a known effect is corrected for, and the doubt of the
        correction takes its place. What both are read from counts once, with its sign (5.2).
        """
        left = self.u**2 - self.bias**2 + self.u_bias**2 + self.of_slip
        return float(max(left, (_SMALLEST_PART * self.u) ** 2) ** 0.5)

    @property
    def plus_minus(self) -> float:
        """Half-width of the 95 % interval, never below one of the last printed digit."""
        return max(Z95 * self.u, 10.0**-self.digits)

    @property
    def shown(self) -> str:
        """The value and its ± as they are printed, without a unit."""
        return f"{printed(self.value, self.digits)} ± {printed(self.plus_minus, self.digits)}"

    @property
    def with_unit(self) -> str:
        """The same with its unit."""
        return f"{self.shown}{behind(self.unit)}"

    @property
    def u_one_step(self) -> float:
        """The part of the doubt that is new in every step, for one step (1 SD)."""
        own = max(0.0, self.u**2 - self.u_set_up**2) * self.n_steps
        return float(own**0.5)

    @property
    def mostly(self) -> str:
        """What most of the doubt comes from, in words; "" when not known."""
        return self.parts[0][0] if self.parts else ""


@dataclass(frozen=True)
class NotMeasured:
    """No number, and why, in a sentence for the coach."""

    key: str
    leg: str
    reason: str


Result = Measured | NotMeasured


@dataclass(frozen=True)
class MarkingCheck:
    """Something about the marking that may be a slip; never an error, never blocking.

    event, point: where to look again ("" when the check is about the whole step).
    """

    name: str
    words: str
    event: str = ""
    point: str = ""
    i_step: int = 0


@dataclass(frozen=True)
class Results:
    """All rows of one run, or of the pooled runs of one visit with the same set-up.

    rows:         by (key, leg), in catalogue order.
    checks:       marking checks, most telling first.
    context:      "sprint", "race pace", "acceleration" or "bend".
    view:         "side", "rear" or "front".
    near_side:    "right" or "left".
    rate_hz:      true pictures per second; None when not known.
    effective_hz: pictures per step ÷ typical step time when the rate is not known.
    is_fast:      race-pace rows marked † may be graded (at least 6 m/s, see compute).
    is_sprint:    of a sprint: its speed, or its contact, is known to be one; else race-pace bands.
    ticks:        what the coach ticked, worst level per name.
    guesses:      what was guessed, in words.
    n_steps:      steps that went in; Measured.n_steps counts them per row.
    leg_source:   "tape", "height" or "picture": what lengths in % of leg were divided by.
    others:       passes of the same visit that cannot be pooled with these: the other foot near,
                  another set-up, another view. Empty for a single run.
    """

    rows: Mapping[Key, Result]
    checks: tuple[MarkingCheck, ...] = ()
    context: str = "sprint"
    view: str = "side"
    near_side: str = "right"
    rate_hz: float | None = None
    effective_hz: float | None = None
    is_fast: bool = True
    is_sprint: bool = True
    ticks: Mapping[str, int] = field(default_factory=dict)
    guesses: tuple[str, ...] = ()
    n_steps: int = 1
    leg_source: str = ""
    others: tuple["Results", ...] = ()

    @property
    def graded_as(self) -> str:
        """The context whose bands count."""
        is_slow = self.context == "sprint" and not self.is_sprint
        return "race pace" if is_slow else self.context

    def foot(self, leg: str) -> str:
        """Return "right" or "left" for a leg, "" where no leg is meant.

        From behind or in front the foot that was marked is the near one.
        """
        if self.view != "side":
            return self.near_side
        other = "left" if self.near_side == "right" else "right"
        return {"near": self.near_side, "far": other}.get(leg, "")

    def all(self) -> "tuple[Results, ...]":
        """Return these results and those of the other passes: each foot, set-up and view."""
        return (self, *(each for other in self.others for each in other.all()))

    def row(self, key: str, leg: str = "") -> Result:
        """Return a row; one that was never tried is NotMeasured.

        A row that exists for a single leg is found without naming it.
        """
        if not leg:
            leg = next((each for name, each in self.rows if name == key), "")
        return self.rows.get((key, leg), NotMeasured(key, leg, "Not marked in this run."))
