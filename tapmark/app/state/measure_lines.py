"""The measures as lines of a table, and what one frame later would change in them."""

from dataclasses import dataclass

from tapmark.checklist.judge import gap
from tapmark.checklist.verdict import CANT_TELL, NOT_MEASURED, SHOWN, RowVerdict
from tapmark.checklist.words import Words
from tapmark.measures.catalogue import row as catalogue_row
from tapmark.measures.change import steps_to_decide
from tapmark.measures.result import Measured, Results
from tapmark.services.visits import VisitReading


@dataclass(frozen=True)
class Line:
    """One measure as text.

    word: the verdict, as a key for its sign; said: as printed. why: a sentence when asked.
    event: the key frame it belongs to, "" when to several. key, leg: of the catalogue row.
    measure, foot: what the name is made of.
    """

    name: str
    value: str
    plus_minus: str
    unit: str
    word: str
    said: str
    mostly: str
    why: str
    event: str
    is_quiet: bool
    key: str = ""
    leg: str = ""
    measure: str = ""
    foot: str = ""

    @property
    def short(self) -> str:
        """The value as it stands beside its arc, "19 ± 3°"."""
        gap = "" if self.unit == "°" else " "
        return f"{self.value} {self.plus_minus}{gap}{self.unit}" if self.value else ""

    @property
    def printed(self) -> str:
        """The value as it stands in the table, with ≈ behind what leans on a guess."""
        about = " ≈" if self.name.endswith("≈") else ""
        return f"{self.value} {self.plus_minus} {self.unit}{about}" if self.value else ""


def lines_of(reading: VisitReading) -> tuple[Line, ...]:
    """Return one line for every row, graded ones first, those without a number last."""
    words = reading.criteria.words
    lines = [(_rank(verdict), _line(verdict, words)) for verdict in reading.assessment.rows]
    return tuple(line for _, line in sorted(lines, key=lambda pair: pair[0]))


def _rank(verdict: RowVerdict) -> int:
    if not isinstance(verdict.result, Measured):
        return 2
    return 1 if verdict.word == SHOWN else 0


def _line(verdict: RowVerdict, words: Words) -> Line:
    result = verdict.result
    measure, foot = words.row(result.key), words.foot(verdict.foot)
    name = f"{measure}, {foot}" if foot else measure
    if not isinstance(result, Measured):
        unit, said = catalogue_row(result.key).unit, words.verdict(NOT_MEASURED)
        none = ("", "")
        return Line(
            name, *none, unit, NOT_MEASURED, said, "", result.reason, "", True, *none, measure, foot
        )
    needs = catalogue_row(result.key).needs_of(result.leg)
    return Line(
        f"{name}  ≈" if result.is_about else name,
        number(result.value, result.digits),
        f"± {number(result.plus_minus, result.digits)}",
        result.unit,
        "" if verdict.word == SHOWN else verdict.word,
        words.verdict(verdict.word),
        result.mostly,
        verdict.why or result.not_graded or result.capped or _how_many_would_tell(verdict),
        next(iter(needs)) if len(needs) == 1 else "",
        verdict.word == SHOWN,
        result.key,
        result.leg,
        measure,
        foot,
    )


def _how_many_would_tell(verdict: RowVerdict) -> str:
    """Say how many marked steps would narrow the ± enough, where one more could help."""
    result, band = verdict.result, verdict.band
    if verdict.word != CANT_TELL or band is None or not isinstance(result, Measured):
        return ""
    n = steps_to_decide(result, gap(band, verdict.side))
    if n is None:
        return "More steps of this visit would hardly tell; film again by the filming card."
    return f"Mark about {n} steps of this visit to tell." if n > result.n_steps else ""


def number(value: float, digits: int) -> str:
    """Return a number with so many decimals and a real minus sign; never "−0"."""
    text = f"{value:.{digits}f}"
    if float(text) == 0:
        text = text.lstrip("-")
    return text.replace("-", "−")


USUAL_CONTACT_S = 0.110


def later_words(reading: VisitReading, line: Line) -> str:
    """Return "One frame later: touchdown −1.5°."; "" where nothing is known or moves.

    The typical rates of change are those of the catalogue, in the time between two frames.
    """
    rate_hz = reading.results.rate_hz
    if not rate_hz or not line.value:
        return ""
    row = catalogue_row(line.key)
    rates = row.rates_of(line.leg, contact_s(reading.results))
    gap = "" if row.unit == "°" else " "
    parts = [
        f"{event} {signed(rate / rate_hz)}{gap}{row.unit}"
        for event, rate in rates.items()
        if abs(rate / rate_hz) >= 0.05
    ]
    return f"One frame later: {', '.join(parts)}." if parts else ""


def signed(value: float) -> str:
    """Return a number with one decimal and its sign, also "+"."""
    text = number(value, 1)
    return text if text.startswith("−") else f"+{text}"


def contact_s(results: Results) -> float:
    """Return the measured contact time in seconds, else a usual one."""
    for leg in ("near", ""):
        found = results.row("contact_time", leg)
        if isinstance(found, Measured):
            return found.value / 1000
    return USUAL_CONTACT_S
