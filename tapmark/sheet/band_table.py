"""The graded rows of the coach's page: value, ±, band, verdict and what the ± is mostly made of.

A row with two feet is one group of two lines over one band, so both dots can be compared.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

from tapmark.checklist.verdict import SHOWN, RowVerdict
from tapmark.drawing.bands import Dot, band_shapes, numerals
from tapmark.drawing.shapes import Shapes, moved
from tapmark.drawing.signs import HEIGHT, verdict_sign
from tapmark.measures.result import Measured
from tapmark.sheet.band_columns import (
    Columns,
    columns_for,
    doubt_text,
    mostly_text,
    value_text,
)
from tapmark.sheet.content import SheetContent
from tapmark.sheet.layout import DROP, PT, Block, Setter, stacked
from tapmark.sheet.page_words import PageWords

SMALL: Final = 9 * PT  # numerals under the bands only
GROUPS: Final = (
    (
        "touchdown",
        (
            "reach",
            "ankle_hip",
            "knee_touchdown",
            "thigh_touchdown",
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
            "arm_leg_lag",
            "foot_turn",
        ),
    ),
)
NUMERALS: Final = 2.9  # room below a band


@dataclass(frozen=True)
class Table:
    """What the rows need to be set; pitch is that of a row with the numerals under its band."""

    content: SheetContent
    setter: Setter
    words: PageWords
    right: float
    pitch: float = 7.0

    @cached_property
    def graded(self) -> tuple[RowVerdict, ...]:
        """The rows that have a band, measured or not."""
        return tuple(r for r in self.content.assessment.rows if r.word != SHOWN and r.band)

    @cached_property
    def at(self) -> Columns:
        """Where the columns stand."""
        return columns_for(self.content, self.setter, self.words, self.graded, self.right)

    @property
    def line(self) -> float:
        """Height of one line of values."""
        return self.pitch - NUMERALS + 0.4

    def blocks(self) -> Iterator[Block]:
        """Yield a block for each key frame that has graded rows, with its heading."""
        known = {key for _, keys in GROUPS for key in keys}
        for name, keys in GROUPS:
            here = [key for key in keys if any(row.result.key == key for row in self.graded)]
            if name == "toe_off_on":
                others = [row.result.key for row in self.graded if row.result.key not in known]
                here += dict.fromkeys(others)
            if here:
                rows = [self._group([r for r in self.graded if r.result.key == k]) for k in here]
                yield self._head(name).below(stacked(rows))

    def _head(self, name: str) -> Block:
        words, at = self.words, self.at
        heads = [(words.heading(name), at.name, at.foot - at.name - 1.0)]
        if name == GROUPS[0][0]:
            limit = at.band + at.band_width * 0.52 - 0.8
            heads += [
                ("±", at.sign - 1.2, 4.0),
                (words.fine_band, at.band, limit - at.band - 1.0),
                (words.limit, limit, at.word - limit - 1.0),
                (words.verdict, at.word, at.mostly - at.word - 1.0),
                (words.mostly_head, at.mostly, at.right - at.mostly),
            ]
        cut = self.setter.shortened
        shapes = tuple(
            self.setter.label(cut(text, room, bold=True), (x, DROP), bold=True)
            for text, x, room in heads
        )
        if name == GROUPS[0][0]:
            value = cut(words.value, at.value - at.foot, bold=True)
            shapes += (self.setter.label(value, (at.value, DROP), bold=True, anchor="e"),)
        return Block(shapes, 6.0)

    def _group(self, rows: Sequence[RowVerdict]) -> Block:
        """Return the rows of one measure: near foot first, one band for all."""
        at, first = self.at, rows[0]
        name = self.words.row(first.result.key) or self.content.words.row(first.result.key)
        end = at.foot if len(rows) > 1 else at.value - at.number
        text = self.setter.shortened(name, end - at.name - 1.0)
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
        at, setter, language = self.at, self.setter, self.content.words
        shapes: Shapes = ()
        if names_foot and row.foot:
            side = setter.shortened(self.words.side(row.foot), at.value - at.number - at.foot)
            shapes += (setter.label(side, (at.foot, DROP)),)
        shapes += (setter.label(value_text(row), (at.value, DROP), anchor="e"),)
        if isinstance(row.result, Measured):
            doubt = setter.label(doubt_text(row), (at.plus_minus, DROP), anchor="e")
            unit = setter.shortened(language.told(row.result.unit), at.band - at.unit - 0.5)
            shapes += (setter.label("±", (at.sign, DROP), anchor="c"), doubt)
            shapes += (setter.label(unit, (at.unit, DROP)),)
        sign = verdict_sign(row.word, (at.verdict, DROP - 1.35), HEIGHT)
        word = setter.shortened(language.verdict(row.word), at.mostly - at.word - 0.8)
        mostly = setter.shortened(mostly_text(row, language, self.words), at.right - at.mostly)
        texts = (setter.label(word, (at.word, DROP)), setter.label(mostly, (at.mostly, DROP)))
        return (*shapes, *sign, *texts)


def _dots(rows: Sequence[RowVerdict], line: float) -> Iterator[Dot]:
    middle = (len(rows) - 1) / 2
    for i, row in enumerate(rows):
        if isinstance(row.result, Measured):
            y = (i - middle) * line
            yield Dot(row.result.value, row.result.plus_minus, row.result.is_about, y)
