"""Dates and counts as a person writes them; on the disk and in tables a date is ISO text."""

from datetime import date
from typing import Final

MONTHS: Final = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)
SHORT: Final = 3  # letters of a month


def long_day(dated: str, *, with_year: bool = True) -> str:
    """Return an ISO date as a person writes it, "14 May 2026"; other text as it is."""
    try:
        at = date.fromisoformat(dated)
    except ValueError:
        return dated
    text = f"{at.day} {MONTHS[at.month - 1]}"
    return f"{text} {at.year}" if with_year else text


def short_day(dated: str, *, with_year: bool = True) -> str:
    """Return an ISO date in few letters, "1 Feb 2026"; other text as it is."""
    words = long_day(dated).split()
    if len(words) != 3:
        return dated
    text = f"{words[0]} {words[1][:SHORT]}"
    return f"{text} {words[2]}" if with_year else text


def iso_day(text: str) -> str:
    """Return "14 May 2026", also with a short month, as ISO text; other text as it is."""
    match text.split():
        case [number, month, year] if number.isdecimal() and year.isdecimal():
            found = [m for m in MONTHS if month.lower() in (m.lower(), m[:SHORT].lower())]
            if found:
                return f"{int(year):04}-{MONTHS.index(found[0]) + 1:02}-{int(number):02}"
    return text


def run_words(name: str) -> str:
    """Return the name of a run's file as a person says it: "run-1" is run 1."""
    return name.replace("-", " ")


def whose_run(code: str, dated: str, name: str) -> str:
    """Return which run is meant in a sentence: "run 1 of K07 on 14 May 2026"."""
    return f"{run_words(name)} of {code} on {long_day(dated)}"


def several(count: int, one: str, many: str = "") -> str:
    """Return "1 run", "2 runs"."""
    return f"{count} {one if count == 1 else many or one + 's'}"
