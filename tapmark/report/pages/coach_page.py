"""The coach's copy on paper: numbers and the decision, then what stands behind them."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

from PIL import Image

from tapmark.report.drawing.bands import Dot, band_shapes, numerals
from tapmark.report.drawing.painter import Fonts
from tapmark.report.drawing.shapes import Shapes, moved
from tapmark.report.drawing.signs import HEIGHT, verdict_sign
from tapmark.report.pages.athlete_page import PageSetup, Room, items
from tapmark.report.pages.content import SheetContent
from tapmark.report.pages.layout import (
    CONTENT,
    DROP,
    EMPTY,
    GUTTER,
    LARGE,
    LINE,
    LIST_LINE,
    MARGIN,
    PAPERS,
    PX_PER_MM,
    SMALL,
    TITLE_LINE,
    Block,
    Paper,
    Setter,
    painted,
    ruled_off,
    spread,
    stacked,
)
from tapmark.report.pages.sections import (
    ChainFigure,
    NumberRow,
    Numbers,
    Paragraph,
    Section,
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
        known = {key for _, keys in GROUPS for key in keys}
        for name, keys in GROUPS:
            here = [key for key in keys if any(row.key == key for row in self.graded)]
            if name == "toe_off_on":
                here += dict.fromkeys(row.key for row in self.graded if row.key not in known)
            if here:
                rows = [self._group([r for r in self.graded if r.key == k]) for k in here]
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

    def _group(self, rows: Sequence[NumberRow]) -> Block:
        """Return the rows of one measure: near foot first, one band for all."""
        at, first = self.at, rows[0]
        end = at.foot if len(rows) > 1 else at.value - at.number
        text = self.setter.shortened(first.short, end - at.name - 1.0)
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


def _dots(rows: Sequence[NumberRow], line: float) -> Iterator[Dot]:
    middle = (len(rows) - 1) / 2
    for i, row in enumerate(rows):
        if row.dot:
            yield replace(row.dot, y=(i - middle) * line)


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


@dataclass(frozen=True)
class _Copy:
    """Sets the sections of a coach's copy; each becomes blocks that a page may be parted at."""

    content: SheetContent
    setter: Setter
    words: PageWords

    @cached_property
    def paper(self) -> Paper:
        return PAPERS[self.content.paper]

    @cached_property
    def sections(self) -> dict[str, Section]:
        return coach_sections(self.content, self.words)

    def pages(self) -> Iterator[Shapes]:
        """Yield the decision, the numbers, and what stands behind them."""
        number = FIRST_PAGE
        for blocks in (self._decision(), self._numbers(), self._behind()):
            while blocks:
                strip = self._strip(number)
                n = max(1, _how_many_fit(blocks, self.paper.free - strip.height))
                yield _placed([strip, *blocks[:n]])
                blocks, number = blocks[n:], number + 1

    def _decision(self) -> list[Block]:
        """Return why this one, the 18 items, the map, what would tell more, and own lines."""
        blocks = self._why()
        if section := self.sections.get("items"):
            setup = PageSetup(
                self.content, {"items": section}, self.setter, self.words, Room(has_list=True)
            )
            blocks += _spaced([items(setup)], GAP_LATER)
        blocks += _spaced((each for each in [self._chain()] if each.height), GAP_LATER)
        return [*blocks, *self._told("unsure"), *self._told("drawn")]

    def _numbers(self) -> list[Block]:
        """Return the graded rows by moment and the rows that are only shown."""
        parts = self.sections["graded"].parts if "graded" in self.sections else ()
        rows = tuple(row for part in parts if isinstance(part, Numbers) for row in part.rows)
        for pitch in PITCHES:
            table = Table(rows, self.setter, self.words, self.paper.right, pitch)
            blocks = _spaced(table.blocks(), GAP)
            if sum(block.height for block in blocks) <= self.paper.free - MIN_SHOWN:
                break
        if section := self.sections.get("shown"):
            first, *more = self._shown(section)
            blocks += [*_spaced([first], GAP_LATER), *more]
        return blocks

    def _behind(self) -> list[Block]:
        """Return what is missing and why, and the bands."""
        blocks = self._told("missing")
        if section := self.sections.get("bands"):
            first, *more = self._bands(section)
            blocks += [*_spaced([first], GAP_LATER), *more]
        return blocks

    def _told(self, name: str) -> list[Block]:
        """Sentences beside their heading; as many as it is tall stay with it."""
        section = self.sections.get(name)
        if not section:
            return []
        head, said = self.setter.heading(section.heading), self._paragraphs(section)
        tall = (i for i in range(1, len(said)) if stacked(said[:i]).height >= head.height)
        n = next(tall, len(said))
        return [*_spaced([head.compare(stacked(said[:n]))], GAP_LATER), *said[n:]]

    def _strip(self, number: int) -> Block:
        """Return code, day and facts; what stands under them explains the signs of the page."""
        leg = self.words.leg(self.content.results.leg_source)
        second = f"{self.words.plus_minus_line} {leg} {self.words.behind_line}"
        content, setter, words, right = self.content, self.setter, self.words, self.paper.right
        wide = setter.width(content.athlete.code, LARGE, bold=True)
        x = max(CONTENT, MARGIN + wide + 5.0)
        day = words.date(content.day)
        code, head = setter.title(content.athlete.code), setter.label(day, (x, DROP), bold=True)
        results = content.results
        rate = words.rate.format(n=round(results.rate_hz)) if results.rate_hz else words.no_rate
        facts = words.coach_copy.format(
            page=number,
            context=words.context(content.run.set_up.context),
            n=results.n_steps,
            rate=rate,
        )
        at = x + setter.width(day, bold=True) + 3.5
        first = setter.paragraph(facts, at, right - at)
        lines = Block((head,), LINE).compare(first).below(setter.paragraph(second, x, right - x))
        block = lines.with_shapes(code).compare(Block((), TITLE_LINE))
        return ruled_off(block, self.paper.full)

    def _chain(self) -> Block:
        section = self.sections["chain"]
        (part,) = section.parts
        assert isinstance(part, ChainFigure)
        drawn = part.draw(self.paper.full, self.setter.width)
        if not drawn.items:
            return EMPTY
        heading = self._over(section.heading)
        return heading.below(Block((), drawn.height, ((drawn.shapes, MARGIN, 0.0),)))

    def _over(self, heading: str) -> Block:
        """Return a heading over the full width."""
        return self.setter.paragraph(heading, MARGIN, self.paper.full, bold=True)

    def _paragraphs(self, section: Section) -> list[Block]:
        texts = (part.text for part in section.parts if isinstance(part, Paragraph))
        return [self.setter.paragraph(text, CONTENT, self.paper.content) for text in texts]

    def _why(self) -> list[Block]:
        """Return the reasons, a block a sentence, the first one beside the heading."""
        section = self.sections.get("why")
        if not section:
            return []
        first, *more = self._paragraphs(section)
        headed = self.setter.heading(section.heading).compare(first)
        return [*_spaced([headed], GAP), *more]

    def _shown(self, section: Section) -> list[Block]:
        """Two columns of numbers that are never graded."""
        (part,) = section.parts
        assert isinstance(part, Numbers)
        width = (self.paper.full - GUTTER) / 2
        lefts = MARGIN, MARGIN + width + GUTTER
        half = (len(part.rows) + 1) // 2
        lines = []
        for i in range(half):
            shapes: Shapes = ()
            for left, row in zip(lefts, part.rows[i::half], strict=False):
                shapes += self._shown_row(row, left, width)
            lines.append(Block(shapes, LIST_LINE))
        return [self._over(section.heading).below(lines[0]), *lines[1:]]

    def _shown_row(self, row: NumberRow, left: float, width: float) -> Shapes:
        setter = self.setter
        side = f", {row.side}" if row.side else ""
        room = width - setter.width(row.number) - setter.width(side) - 1.5
        text = f"{setter.shortened(row.short, room)}{side}"
        value = setter.label(row.number, (left + width, DROP), anchor="e")
        return (setter.label(text, (left, DROP)), value)

    def _bands(self, section: Section) -> list[Block]:
        """Every band in use with its edges and what it rests on."""
        (part,) = section.parts
        assert isinstance(part, Numbers)
        said = []
        for row in part.bands:
            name = self.setter.shortened(row.short, CONTENT - MARGIN - 0.8)
            text = f"{row.edges}{row.unit}. {row.basis}"
            told = self.setter.paragraph(text, CONTENT, self.paper.content, line=LIST_LINE)
            said.append(told.with_shapes(self.setter.label(name, (MARGIN, DROP))))
        return [self._over(section.heading).below(said[0]), *said[1:]]


def _how_many_fit(blocks: list[Block], room: float) -> int:
    """Return how many of the blocks fit, in order; at least one where there is a whole page."""
    n = 0
    while n < len(blocks) and (room := room - blocks[n].height) >= -0.01:
        n += 1
    return n


def _spaced(blocks: Iterable[Block], gap: float) -> list[Block]:
    """Return blocks with some room above each."""
    return [block.shifted(0.0, gap, block.height + gap) for block in blocks]


def _placed(blocks: list[Block]) -> Shapes:
    return spread(blocks, [0.0] * len(blocks), MARGIN)
