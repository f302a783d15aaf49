"""The coach's copy on paper: numbers and the decision, then what stands behind them."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

from PIL import Image

from tapmark.report.drawing.bands import band_shapes, numerals
from tapmark.report.drawing.painter import Fonts
from tapmark.report.drawing.shapes import Shapes, moved
from tapmark.report.drawing.signs import HEIGHT, verdict_sign
from tapmark.report.pages.athlete_page import PageSetup, Room, items
from tapmark.report.pages.content import SheetContent
from tapmark.report.pages.layout import (
    CONTENT,
    DROP,
    GUTTER,
    LARGE,
    LINE,
    LIST_LINE,
    MARGIN,
    PX_PER_MM,
    SMALL,
    TITLE_LINE,
    Block,
    Setter,
    painted,
    ruled_off,
    spread,
    stacked,
)
from tapmark.report.pages.sections import (
    Figure,
    NumberRow,
    Numbers,
    Paragraph,
    coach_sections,
)
from tapmark.report.pages.words import PageWords, page_words

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


def _mostly(row: NumberRow, words: PageWords) -> str:
    """Return what most of the doubt comes from, or where the reason stands."""
    return words.see_below if row.reason else row.mostly


def columns_for(
    setter: Setter, words: PageWords, rows: Sequence[NumberRow], right: float
) -> Columns:
    """Return the columns, worked out from the right margin on; names get what is left."""

    def widest(texts: Iterable[str], most: float) -> float:
        return min(max((setter.width(text) for text in texts), default=0.0), most)

    mostly = right - widest((_mostly(row, words) for row in rows), MOST_MOSTLY)
    head = min(setter.width(words.verdict, bold=True) + 1.0, MOST_WORD)
    said = widest((row.verdict for row in rows), MOST_WORD)
    word = mostly - 2.4 - max(head, said)
    verdict = word - SIGN_HALF - 1.0
    number = widest((row.value for row in rows), 16.0)
    doubt = widest((row.doubt for row in rows), 12.0)
    feet = widest((row.side for row in rows), 14.0)
    for width in BANDS:
        band = verdict - SIGN_HALF - 1.0 - width
        unit = band - 1.3 - widest((row.unit for row in rows), 14.0)
        plus_minus = unit - 1.2
        sign = plus_minus - doubt - 2.5
        value = sign - 2.8
        foot = value - number - 1.6 - feet
        if foot - MARGIN >= LEAST_NAME:
            break
    return Columns(
        foot, value, sign, plus_minus, unit, band, width, verdict, word, mostly, right, number
    )


GROUPS: Final = {  # key frame -> its rows in order; rows that stand nowhere come last
    "touchdown": "reach ankle_hip knee_touchdown thigh_touchdown knee_separation "
    "separation_behind swing_thigh trunk_lean",
    "mid_stance": "leg_stack knee_bend fold",
    "toe_off_on": "thigh_toe_off hip_share drive_angle turn_delay arm_leg_lag foot_turn",
}
FIRST_GROUP, *_, LAST_GROUP = GROUPS
NUMERALS: Final = 2.9  # room below a band


@dataclass(frozen=True)
class Table:
    """What the rows need to be set; pitch is that of a row with the numerals under its band."""

    graded: tuple[NumberRow, ...]
    setter: Setter
    words: PageWords
    right: float
    pitch: float = 7.0

    @cached_property
    def at(self) -> Columns:
        """Where the columns stand."""
        return columns_for(self.setter, self.words, self.graded, self.right)

    @property
    def line(self) -> float:
        """Height of one line of values."""
        return self.pitch - NUMERALS + 0.4

    def blocks(self) -> Iterator[Block]:
        """Yield a block for each key frame that has graded rows, with its heading."""
        left = dict.fromkeys(row.key for row in self.graded)
        for name, keys in GROUPS.items():
            here = [key for key in keys.split() if key in left]
            left = {key: None for key in left if key not in here}
            if name == LAST_GROUP:
                here += left
            if here:
                rows = [self._group([r for r in self.graded if r.key == k]) for k in here]
                yield self._head(name).below(stacked(rows))

    def _head(self, name: str) -> Block:
        words, at, setter = self.words, self.at, self.setter
        heads = [(words.heading(name), at.name, at.foot - at.name - 1.0)]
        shapes: Shapes = ()
        if name == FIRST_GROUP:
            limit = at.band + at.band_width * 0.52 - 0.8
            heads += [
                ("±", at.sign - 1.2, 4.0),
                (words.fine_band, at.band, limit - at.band - 1.0),
                (words.limit, limit, at.word - limit - 1.0),
                (words.verdict, at.word, at.mostly - at.word - 1.0),
                (words.mostly_head, at.mostly, at.right - at.mostly),
            ]
            value = setter.shortened(words.value, at.value - at.foot, bold=True)
            shapes = (setter.label(value, (at.value, DROP), bold=True, anchor="e"),)
        texts = ((setter.shortened(text, room, bold=True), x) for text, x, room in heads)
        labels = (setter.label(text, (x, DROP), bold=True) for text, x in texts)
        return Block((*labels, *shapes), 6.0)

    def _group(self, rows: Sequence[NumberRow]) -> Block:
        """Return the rows of one measure: near foot first, one band for all."""
        at, first, more = self.at, rows[0], self.line * (len(rows) - 1)
        end = at.foot if len(rows) > 1 else at.value - at.number
        text = self.setter.shortened(first.short, end - at.name - 1.0)
        shapes: Shapes = (self.setter.label(text, (at.name, DROP)),)
        for i, row in enumerate(rows):
            shapes += moved(self._line(row, len(rows) > 1), 0.0, i * self.line)
        if first.band:
            middle, tall = DROP - 1.35 + more / 2, 3.9 + more
            dots = (
                replace(row.dot, y=(i - (len(rows) - 1) / 2) * self.line)
                for i, row in enumerate(rows)
                if row.dot
            )
            band = band_shapes(first.band, tuple(dots), at.band_width, tall)
            under = tall / 2 + NUMERALS - 0.35
            band += numerals(first.band, at.band_width, under, SMALL, self.setter.width)
            shapes += moved(band, at.band, middle)
        return Block(shapes, more + self.pitch)

    def _line(self, row: NumberRow, names_foot: bool) -> Shapes:
        at, setter = self.at, self.setter
        shapes: Shapes = ()
        if names_foot and row.side:
            side = setter.shortened(row.side, at.value - at.number - at.foot)
            shapes += (setter.label(side, (at.foot, DROP)),)
        shapes += (setter.label(row.value, (at.value, DROP), anchor="e"),)
        if row.dot:
            doubt = setter.label(row.doubt, (at.plus_minus, DROP), anchor="e")
            unit = setter.shortened(row.unit, at.band - at.unit - 0.5)
            shapes += (setter.label("±", (at.sign, DROP), anchor="c"), doubt)
            shapes += (setter.label(unit, (at.unit, DROP)),)
        sign = verdict_sign(row.sign, (at.verdict, DROP - 1.35), HEIGHT)
        word = setter.shortened(row.verdict, at.mostly - at.word - 0.8)
        mostly = setter.shortened(_mostly(row, self.words), at.right - at.mostly)
        texts = (setter.label(word, (at.word, DROP)), setter.label(mostly, (at.mostly, DROP)))
        return (*shapes, *sign, *texts)


GAP: Final = 3.2  # above a group of page 2
GAP_LATER: Final = 5.0  # above a group of the pages after it
FIRST_PAGE: Final = 2  # page 1 is the athlete's
PITCHES: Final = (7.0, 6.6, 6.2)
MIN_SHOWN: Final = 60.0  # room for the rows that are only shown


def coach_pages(content: SheetContent, fonts: Fonts | None = None) -> tuple[Image.Image, ...]:
    """Paint the pages of numbers in grey at 300 dpi: the decision, then what stands behind."""
    fonts = fonts or Fonts(PX_PER_MM)
    return tuple(painted(shapes, content.paper, fonts) for shapes in coach_shapes(content, fonts))


def coach_shapes(content: SheetContent, fonts: Fonts) -> tuple[Shapes, ...]:
    """Return the pages as shapes in mm: the decision, then as many as the rest takes."""
    return tuple(_Copy(content, Setter(fonts), page_words(content.words)).pages())


class _Copy:
    """Sets the sections of a coach's copy; each becomes blocks that a page may be parted at."""

    def __init__(self, content: SheetContent, setter: Setter, words: PageWords) -> None:
        self.content, self.setter, self.words = content, setter, words
        self.sections = coach_sections(content, words)
        room = Room(has_list=True)
        self.setup = PageSetup(content, self.sections, setter, words, room)
        self.paper = self.setup.paper

    def pages(self) -> Iterator[Shapes]:
        """Yield the decision, the numbers, and what stands behind them."""
        number = FIRST_PAGE
        for blocks in (self._decision(), self._numbers(), self._behind()):
            while blocks:
                strip = self._strip(number)
                room, n = self.paper.free - strip.height, 0
                while n < len(blocks) and (room := room - blocks[n].height) >= -0.01:
                    n += 1
                here, blocks = [strip, *blocks[: max(1, n)]], blocks[max(1, n) :]
                yield spread(here, [0.0] * len(here), MARGIN)
                number += 1

    def _decision(self) -> list[Block]:
        """Return why this one, the 18 items, the map, what would tell more, and own lines."""
        blocks = self._told("why", GAP, stays=1)
        if "items" in self.sections:
            blocks += _spaced([items(self.setup)], GAP_LATER)
        drawn = self.setup.only("chain", Figure).draw(self.paper.full, 0.0, self.setter.width)
        if drawn.height:
            chain = Block((), drawn.height, ((drawn.shapes, MARGIN, 0.0),))
            heading = self.setup.wide_heading(self.sections["chain"].heading)
            blocks += _spaced([heading.below(chain)], GAP_LATER)
        return [*blocks, *self._told("unsure"), *self._told("drawn")]

    def _numbers(self) -> list[Block]:
        """Return the graded rows by moment and the rows that are only shown."""
        graded = "graded" in self.sections and self.setup.only("graded", Numbers).rows
        for pitch in PITCHES:
            table = Table(graded or (), self.setter, self.words, self.paper.right, pitch)
            blocks = _spaced(table.blocks(), GAP)
            if sum(block.height for block in blocks) <= self.paper.free - MIN_SHOWN:
                break
        return [*blocks, *self._under("shown", self._shown)]

    def _behind(self) -> list[Block]:
        """Return what is missing and why, and the bands."""
        return [*self._told("missing"), *self._under("bands", self._bands)]

    def _told(self, name: str, gap: float = GAP_LATER, stays: int = 0) -> list[Block]:
        """Sentences beside their heading; as many as it is tall stay with it, or that many."""
        section = self.sections.get(name)
        if not section:
            return []
        head, wide = self.setter.heading(section.heading), self.paper.content
        texts = (part.text for part in section.parts if isinstance(part, Paragraph))
        said = [self.setter.paragraph(text, CONTENT, wide) for text in texts]
        tall = (i for i in range(1, len(said)) if stacked(said[:i]).height >= head.height)
        n = stays or next(tall, len(said))
        return [*_spaced([head.compare(stacked(said[:n]))], gap), *said[n:]]

    def _under(self, name: str, lines: Callable[[Numbers], list[Block]]) -> list[Block]:
        """Return the lines of a table, the first one with the heading over it."""
        if name not in self.sections:
            return []
        first, *more = lines(self.setup.only(name, Numbers))
        heading = self.setup.wide_heading(self.sections[name].heading)
        return [*_spaced([heading.below(first)], GAP_LATER), *more]

    def _strip(self, number: int) -> Block:
        """Return code, day and facts; what stands under them explains the signs of the page."""
        content, setter, words, right = self.content, self.setter, self.words, self.paper.right
        leg, results = words.leg(content.results.leg_source), content.results
        second = f"{words.plus_minus_line} {leg} {words.behind_line}"
        code, day = content.athlete.code, words.date(content.day)
        x = max(CONTENT, MARGIN + setter.width(code, LARGE, bold=True) + 5.0)
        facts = words.coach_copy.format(
            page=number,
            context=words.context(content.run.set_up.context),
            n=results.n_steps,
            rate=words.rate.format(n=round(results.rate_hz)) if results.rate_hz else words.no_rate,
        )
        at = x + setter.width(day, bold=True) + 3.5
        first = setter.paragraph(facts, at, right - at)
        head = Block((setter.label(day, (x, DROP), bold=True),), LINE)
        lines = head.compare(first).below(setter.paragraph(second, x, right - x))
        block = lines.with_shapes(setter.title(code)).compare(Block((), TITLE_LINE))
        return ruled_off(block, self.paper.full)

    def _shown(self, part: Numbers) -> list[Block]:
        """Two columns of numbers that are never graded."""
        setter, width = self.setter, (self.paper.full - GUTTER) / 2
        lefts, half = (MARGIN, MARGIN + width + GUTTER), (len(part.rows) + 1) // 2
        lines = []
        for i in range(half):
            shapes: Shapes = ()
            for left, row in zip(lefts, part.rows[i::half], strict=False):
                side = f", {row.side}" if row.side else ""
                room = width - setter.width(row.number) - setter.width(side) - 1.5
                text = f"{setter.shortened(row.short, room)}{side}"
                value = setter.label(row.number, (left + width, DROP), anchor="e")
                shapes += (setter.label(text, (left, DROP)), value)
            lines.append(Block(shapes, LIST_LINE))
        return lines

    def _bands(self, part: Numbers) -> list[Block]:
        """Every band in use with its edges and what it rests on."""
        said = []
        for row in part.bands:
            name = self.setter.shortened(row.short, CONTENT - MARGIN - 0.8)
            text = f"{row.edges}{row.unit}. {row.basis}"
            told = self.setter.paragraph(text, CONTENT, self.paper.content, line=LIST_LINE)
            said.append(told.with_shapes(self.setter.label(name, (MARGIN, DROP))))
        return said


def _spaced(blocks: Iterable[Block], gap: float) -> list[Block]:
    """Return blocks with some room above each."""
    return [block.shifted(0.0, gap, block.height + gap) for block in blocks]
