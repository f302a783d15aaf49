"""The boxes of a printed sheet, typed back in: one letter a session, its date before it.

"7.4 e, 9.4 s, n" reads: 7 April did it, easier; 9 April did it, same; then once not done. Six
boxes take half a minute. Nothing is guessed: a session without a date stays without one.
"""

import re
from datetime import date

from tapmark.app.form import FieldTrouble
from tapmark.marks.days import long_day

Tick = tuple[str, bool, str]
"""ISO date or "", drill done, how it felt."""

LETTERS = {"d": (True, ""), "e": (True, "easier"), "s": (True, "same"), "h": (True, "harder")}
LETTERS |= {"n": (False, "")}
SAW = ("", "not yet", "sometimes", "mostly")
HELP = "e did it, easier · s same · h harder · d did it · n not done; with the date: 7.4 e"

_TICK = re.compile(r"(?:(\d{1,2})[./](\d{1,2})\.?\s*)?([a-z])", re.IGNORECASE)
_GAP = re.compile(r"[\s,;]*")


def ticks_from(text: str, sheet: str, today: str) -> tuple[Tick, ...]:
    """Return the sessions typed for the sheet of a date; raise FieldTrouble for what is none.

    A day and month lie between the sheet and today; the year follows from that.
    """
    at, found = _GAP.match(text).end(), list[Tick]()  # type: ignore[union-attr]
    while at < len(text):
        match = _TICK.match(text, at)
        letter = match[3].lower() if match else ""
        if match is None or letter not in LETTERS:
            raise FieldTrouble("ticks", f"“{text[at:][:12]}” is no box. Write {HELP}.")
        dated = _date(match[1], match[2], sheet, today) if match[1] else ""
        found.append((dated, *LETTERS[letter]))
        at = _GAP.match(text, match.end()).end()  # type: ignore[union-attr]
    return tuple(found)


def _date(day_text: str, month_text: str, sheet: str, today: str) -> str:
    for year in range(int(sheet[:4]), int(today[:4]) + 1):
        try:
            found = date(year, int(month_text), int(day_text)).isoformat()
        except ValueError:
            continue
        if sheet <= found <= today:
            return found
    raise FieldTrouble(
        "ticks",
        f"{day_text}.{month_text} does not lie between the sheet of {long_day(sheet)} and today.",
    )


def ticks_text(ticked: tuple[Tick, ...]) -> str:
    """Return sessions as they are typed."""
    letters = {meaning: letter for letter, meaning in LETTERS.items()}
    return ", ".join(
        f"{_short(dated)} {letters[(did, felt if did else '')]}".strip()
        for dated, did, felt in ticked
    )


def ticks_words(ticked: tuple[Tick, ...]) -> str:
    """Return sessions in words, for the eye to check what the fingers typed."""
    return "\n".join(
        f"{i}.  {long_day(dated, with_year=False) if dated else 'no date'}: {_felt(did, felt)}"
        for i, (dated, did, felt) in enumerate(ticked, start=1)
    )


def _felt(did: bool, felt: str) -> str:
    return (f"did it, {felt}" if felt else "did it") if did else "not done"


def _short(dated: str) -> str:
    return f"{int(dated[8:])}.{int(dated[5:7])}" if dated else ""
