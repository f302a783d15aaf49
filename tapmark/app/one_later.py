"""What a key frame chosen one picture later would change in a measure."""

from tapmark.app.verdict_rows import Line, number
from tapmark.errands.visits import VisitReading
from tapmark.measures.catalogue import row as catalogue_row
from tapmark.measures.result import Measured, Results

USUAL_CONTACT_S = 0.110


def later_words(reading: VisitReading, line: Line) -> str:
    """Return "One picture later: touchdown −1.5°."; "" where nothing is known or moves.

    The typical rates of change are those of the catalogue, in the time between two pictures.
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
    return f"One picture later: {', '.join(parts)}." if parts else ""


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
