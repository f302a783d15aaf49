"""The graded rows of the coach's page: value, ±, band, verdict and what the ± is mostly made of.

A row with two feet is one group of two lines over one band, so both dots can be compared.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from tapmark.checklist.verdict import SHOWN, RowVerdict
from tapmark.drawing.bands import Dot, band_shapes, numerals, printed
from tapmark.drawing.shapes import Label, Shapes, moved
from tapmark.drawing.signs import HEIGHT, verdict_sign
from tapmark.measures.result import Measured
from tapmark.sheet.content import SheetContent
from tapmark.sheet.layout import DROP, MARGIN, PT, Block, Setter, stacked
from tapmark.sheet.page_words import PageWords

SMALL: Final = 9 * PT  # numerals under the bands only
GROUPS: Final = (
    (
        "touchdown",
        (
            "reach",
            "ankle_hip",
            "knee_touchdown",
            "knee_separation",
            "separation_behind",
            "swing_thigh",
            "trunk_lean",
        ),
    ),
    ("mid_stance", ("leg_stack", "knee_bend", "fold")),
    (
        "toe_off_on",
        (
            "thigh_toe_off",
            "hip_share",
            "drive_angle",
            "turn_delay",
            "front_leg_return",
            "arm_leg_lag",
            "foot_turn",
        ),
    ),
)
NUMERALS: Final = 2.9  # room below a band


@dataclass(frozen=True)
class Columns:
    """Left or right edges of the columns, in mm of the page."""

    name: float = MARGIN
    foot: float = 50.5
    value: float = 71.0
    sign: float = 73.9
    plus_minus: float = 81.0
    unit: float = 82.2
    band: float = 93.6
    band_width: float = 42.0
    verdict: float = 141.4
    word: float = 146.0
    mostly: float = 169.9


COLUMNS: Final = Columns()


@dataclass(frozen=True)
class Table:
    """What the rows need to be set; room is the pitch of a row with its numerals."""

    content: SheetContent
    setter: Setter
    words: PageWords
    right: float
    pitch: float = 7.0

    @property
    def line(self) -> float:
        """Height of one line of values."""
        return self.pitch - NUMERALS + 0.4

    def blocks(self) -> Iterator[Block]:
        """Yield a block for each key frame that has graded rows, with its heading."""
        graded = [row for row in self.content.assessment.rows if row.word != SHOWN and row.band]
        known = {key for _, keys in GROUPS for key in keys}
        for name, keys in GROUPS:
            here = [key for key in keys if any(row.result.key == key for row in graded)]
            if name == "toe_off_on":
                others = [row.result.key for row in graded if row.result.key not in known]
                here += dict.fromkeys(others)
            if here:
                rows = [self._group([r for r in graded if r.result.key == key]) for key in here]
                yield self._head(name).below(stacked(rows))

    def _head(self, name: str) -> Block:
        words, at = self.words, COLUMNS
        heads = [(words.heading(name), at.name, "w")]
        if name == GROUPS[0][0]:
            heads += [
                (words.value, at.value, "e"),
                ("±", at.sign + 1.4, "c"),
                (words.fine_band, at.band, "w"),
                (words.verdict, at.word, "w"),
                (words.mostly_head, at.mostly, "w"),
            ]
            edge = at.band + at.band_width * 0.52
            heads.append((words.limit, edge - 0.8, "w"))
        shapes = tuple(
            self.setter.label(text, (x, DROP), bold=True, anchor=anchor)
            for text, x, anchor in heads
        )
        return Block(shapes, 6.0)

    def _group(self, rows: Sequence[RowVerdict]) -> Block:
        """Return the rows of one measure: near foot first, one band for all."""
        at, first = COLUMNS, rows[0]
        name = self.words.row(first.result.key) or self.content.words.row(first.result.key)
        room = (at.foot if len(rows) > 1 else at.value - 14.0) - at.name - 1.0
        text = self.setter.shortened(name, room)
        shapes: Shapes = (self.setter.label(text, (at.name, DROP)),)
        for i, row in enumerate(rows):
            shapes += moved(self._line(row, len(rows) > 1), 0.0, i * self.line)
        height = self.line * (len(rows) - 1) + self.pitch
        if first.band:
            middle = DROP - 1.35 + self.line * (len(rows) - 1) / 2
            tall = 3.9 + self.line * (len(rows) - 1)
            dots = tuple(_dots(rows, self.line))
            band = band_shapes(first.band, dots, at.band_width, tall)
            under = tall / 2 + NUMERALS - 0.35
            band += numerals(first.band, at.band_width, under, SMALL, self.setter.width)
            shapes += moved(band, at.band, middle)
        return Block(shapes, height)

    def _line(self, row: RowVerdict, names_foot: bool) -> Shapes:
        at, setter = COLUMNS, self.setter
        shapes: Shapes = ()
        if names_foot and row.foot:
            shapes += (setter.label(self.words.side(row.foot), (at.foot, DROP)),)
        shapes += value_labels(setter, row, at)
        sign = verdict_sign(row.word, (at.verdict, DROP - 1.35), HEIGHT)
        word = setter.label(self.content.words.verdict(row.word), (at.word, DROP))
        mostly = setter.shortened(self._mostly(row), self.right - at.mostly)
        return (*shapes, *sign, word, setter.label(mostly, (at.mostly, DROP)))

    def _mostly(self, row: RowVerdict) -> str:
        result = row.result
        if isinstance(result, Measured):
            return result.mostly if not result.not_graded else self.words.see_below
        return self.words.see_below


def value_labels(setter: Setter, row: RowVerdict, at: Columns) -> tuple[Label, ...]:
    """Return value, ±, its number and the unit; a dash where there is no number."""
    result = row.result
    if not isinstance(result, Measured):
        return (setter.label("–", (at.value, DROP), anchor="e"),)
    about = "≈ " if result.is_about else ""
    value = f"{about}{printed(result.value, result.digits)}"
    return (
        setter.label(value, (at.value, DROP), anchor="e"),
        setter.label("±", (at.sign + 1.4, DROP), anchor="c"),
        setter.label(printed(result.plus_minus, result.digits), (at.plus_minus, DROP), anchor="e"),
        setter.label(result.unit, (at.unit, DROP)),
    )


def _dots(rows: Sequence[RowVerdict], line: float) -> Iterator[Dot]:
    middle = (len(rows) - 1) / 2
    for i, row in enumerate(rows):
        if isinstance(row.result, Measured):
            y = (i - middle) * line
            yield Dot(row.result.value, row.result.plus_minus, row.result.is_about, y)
