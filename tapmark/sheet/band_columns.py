"""Where the columns of the coach's table stand, worked out from the words that stand in them."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from tapmark.checklist.verdict import RowVerdict
from tapmark.checklist.words import Words
from tapmark.drawing.bands import printed
from tapmark.measures.result import Measured
from tapmark.sheet.content import SheetContent
from tapmark.sheet.layout import MARGIN, Setter
from tapmark.sheet.page_words import PageWords

BANDS: Final = (42.0, 38.0, 34.0)  # width of a band, the widest that leaves room for names
LEAST_NAME: Final = 31.0
MOST_WORD, MOST_MOSTLY = 27.0, 28.0
SIGN_HALF: Final = 3.4


@dataclass(frozen=True)
class Columns:
    """Edges in mm of the page.

    name, foot, unit, band, word and mostly begin there; value and plus_minus end there; sign and
    verdict have their middles there. right is the margin.
    """

    foot: float
    value: float
    sign: float
    plus_minus: float
    unit: float
    band: float
    band_width: float
    verdict: float
    word: float
    mostly: float
    right: float
    number: float
    name: float = MARGIN


def value_text(row: RowVerdict) -> str:
    """Return a value as it is printed, "–" where there is none."""
    result = row.result
    if not isinstance(result, Measured):
        return "–"
    return f"{'≈ ' if result.is_about else ''}{printed(result.value, result.digits)}"


def doubt_text(row: RowVerdict) -> str:
    """Return the number behind the ±, "" where there is none."""
    result = row.result
    return printed(result.plus_minus, result.digits) if isinstance(result, Measured) else ""


def mostly_text(row: RowVerdict, language: Words, words: PageWords) -> str:
    """Return what most of the doubt comes from, or where the reason stands."""
    result = row.result
    if isinstance(result, Measured) and not result.not_graded:
        return language.told(result.mostly)
    return words.see_below


def columns_for(
    content: SheetContent,
    setter: Setter,
    words: PageWords,
    rows: Sequence[RowVerdict],
    right: float,
) -> Columns:
    """Return the columns, worked out from the right margin on; names get what is left."""

    def widest(texts: Iterable[str], most: float) -> float:
        return min(max((setter.width(text) for text in texts), default=0.0), most)

    mostly = right - widest((mostly_text(row, content.words, words) for row in rows), MOST_MOSTLY)
    head = min(setter.width(words.verdict, bold=True) + 1.0, MOST_WORD)
    said = widest((content.words.verdict(row.word) for row in rows), MOST_WORD)
    word = mostly - 2.4 - max(head, said)
    verdict = word - SIGN_HALF - 1.0
    units = [
        content.words.told(row.result.unit) for row in rows if isinstance(row.result, Measured)
    ]
    number = widest(map(value_text, rows), 16.0)
    doubt = widest(map(doubt_text, rows), 12.0)
    feet = widest((words.side(row.foot) for row in rows), 14.0)
    for width in BANDS:
        band = verdict - SIGN_HALF - 1.0 - width
        unit = band - 1.3 - widest(units, 14.0)
        plus_minus = unit - 1.2
        sign = plus_minus - doubt - 2.5
        value = sign - 2.8
        foot = value - number - 1.6 - feet
        if foot - MARGIN >= LEAST_NAME:
            break
    return Columns(
        foot, value, sign, plus_minus, unit, band, width, verdict, word, mostly, right, number
    )
