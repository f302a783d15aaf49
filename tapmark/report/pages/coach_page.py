"""The coach's copy on paper: numbers and the decision, then what stands behind them."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Final

from PIL import Image

from tapmark.report.drawing.bands import band_shapes, numerals
from tapmark.report.drawing.painter import Fonts
from tapmark.report.drawing.shapes import Shapes, moved
from tapmark.report.drawing.signs import HEIGHT, verdict_sign
from tapmark.report.pages.athlete_page import item_list
from tapmark.report.pages.content import SheetContent
from tapmark.report.pages.layout import (
    CONTENT,
    DROP,
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
    Setter,
    n_fitting,
    of_drawing,
    painted,
    ruled_off,
    spread,
    stacked,
)
from tapmark.report.pages.parts import Figure, NumberRow, Numbers, Paragraph
from tapmark.report.pages.sections import coach_sections
from tapmark.report.pages.words import PageWords, page_words

BANDS: Final = (42.0, 38.0, 34.0)  # width of a band, the widest that leaves room for names
LEAST_NAME: Final = 31.0
MOST_WORD, MOST_MOSTLY = 27.0, 28.0
SIGN_HALF: Final = 3.4
GROUPS: Final = {  # key frame -> its rows in order; rows that stand nowhere come last
    "touchdown": "reach ankle_hip knee_touchdown thigh_touchdown knee_separation "
    "separation_behind swing_thigh trunk_lean",
    "mid_stance": "leg_stack knee_bend fold",
    "toe_off_on": "thigh_toe_off hip_share drive_angle turn_delay arm_leg_lag foot_turn",
}
FIRST_GROUP, *_, LAST_GROUP = GROUPS
NUMERALS: Final = 2.9  # room below a band
GAP: Final = 3.2  # above a group of page 2
GAP_LATER: Final = 5.0  # above a group of the pages after it
FIRST_PAGE: Final = 2  # page 1 is the athlete's
PITCHES: Final = (7.0, 6.6, 6.2)
MIN_SHOWN: Final = 60.0  # room for the rows that are only shown


class _Table:
    """Sets graded rows. All columns are worked out from the right margin on; names get the rest.

    name, foot, unit, band, word and mostly begin at their x; value and plus_minus end there; sign
    and verdict have their middles there. pitch: of a row with the numerals under its band.
    """

    def __init__(
        self, rows: Sequence[NumberRow], setter: Setter, words: PageWords, pitch: float
    ) -> None:
        self.rows, self.setter, self.words, self.pitch = rows, setter, words, pitch
        self.line = pitch - NUMERALS + 0.4  # height of one line of values

        def widest(texts: Iterable[str], most: float) -> float:
            return min(max((setter.width(text) for text in texts), default=0.0), most)

        self.right = setter.paper.right
        self.mostly = self.right - widest(map(self._mostly, rows), MOST_MOSTLY)
        head = min(setter.width(words.verdict, bold=True) + 1.0, MOST_WORD)
        said = widest((row.verdict for row in rows), MOST_WORD)
        self.word = self.mostly - 2.4 - max(head, said)
        self.verdict = self.word - SIGN_HALF - 1.0
        self.number = widest((row.value for row in rows), 16.0)
        doubt = widest((row.doubt for row in rows), 12.0)
        feet = widest((row.side for row in rows), 14.0)
        for self.band_width in BANDS:
            self.band = self.verdict - SIGN_HALF - 1.0 - self.band_width
            self.unit = self.band - 1.3 - widest((row.unit for row in rows), 14.0)
            self.plus_minus = self.unit - 1.2
            self.sign = self.plus_minus - doubt - 2.5
            self.value = self.sign - 2.8
            self.foot = self.value - self.number - 1.6 - feet
            if self.foot - MARGIN >= LEAST_NAME:
                break

    def blocks(self) -> Iterator[Block]:
        """Yield a block for each key frame that has graded rows, with its heading."""
        left = dict.fromkeys(row.key for row in self.rows)
        for name, keys in GROUPS.items():
            here = [key for key in keys.split() if key in left]
            left = {key: None for key in left if key not in here}
            if name == LAST_GROUP:
                here += left
            if here:
                rows = [self._measure([r for r in self.rows if r.key == k]) for k in here]
                yield self._head(name).below(stacked(rows))

    def _mostly(self, row: NumberRow) -> str:
        """Return what most of the doubt comes from, or where the reason stands."""
        return self.words.see_below if row.reason else row.mostly

    def _head(self, name: str) -> Block:
        words, label = self.words, self.setter.label
        heads = [(words.heading(name), MARGIN, self.foot - MARGIN - 1.0)]
        shapes: Shapes = ()
        if name == FIRST_GROUP:
            limit = self.band + self.band_width * 0.52 - 0.8
            heads += [
                ("±", self.sign - 1.2, 4.0),
                (words.fine_band, self.band, limit - self.band - 1.0),
                (words.limit, limit, self.word - limit - 1.0),
                (words.verdict, self.word, self.mostly - self.word - 1.0),
                (words.mostly_head, self.mostly, self.right - self.mostly),
            ]
            at, room = (self.value, DROP), self.value - self.foot
            shapes = (label(words.value, at, bold=True, anchor="e", within=room),)
        labels = (label(text, (x, DROP), bold=True, within=room) for text, x, room in heads)
        return Block((*labels, *shapes), 6.0)

    def _measure(self, rows: Sequence[NumberRow]) -> Block:
        """Return the rows of one measure: near foot first, one band for all."""
        first, more = rows[0], self.line * (len(rows) - 1)
        end = self.foot if len(rows) > 1 else self.value - self.number
        name = self.setter.label(first.short, (MARGIN, DROP), within=end - MARGIN - 1.0)
        shapes: Shapes = (name,)
        for i, row in enumerate(rows):
            shapes += moved(self._line(row, len(rows) > 1), 0.0, i * self.line)
        if first.band:
            middle, tall = DROP - 1.35 + more / 2, 3.9 + more
            dots = (
                replace(row.dot, y=(i - (len(rows) - 1) / 2) * self.line)
                for i, row in enumerate(rows)
                if row.dot
            )
            band = band_shapes(first.band, tuple(dots), self.band_width, tall)
            under = tall / 2 + NUMERALS - 0.35
            band += numerals(first.band, self.band_width, under, SMALL, self.setter.width)
            shapes += moved(band, self.band, middle)
        return Block(shapes, more + self.pitch)

    def _line(self, row: NumberRow, names_foot: bool) -> Shapes:
        label = self.setter.label
        shapes: Shapes = ()
        if names_foot and row.side:
            room = self.value - self.number - self.foot
            shapes += (label(row.side, (self.foot, DROP), within=room),)
        shapes += (label(row.value, (self.value, DROP), anchor="e"),)
        if row.dot:
            shapes += (
                label("±", (self.sign, DROP), anchor="c"),
                label(row.doubt, (self.plus_minus, DROP), anchor="e"),
                label(row.unit, (self.unit, DROP), within=self.band - self.unit - 0.5),
            )
        return (
            *shapes,
            *verdict_sign(row.sign, (self.verdict, DROP - 1.35), HEIGHT),
            label(row.verdict, (self.word, DROP), within=self.mostly - self.word - 0.8),
            label(self._mostly(row), (self.mostly, DROP), within=self.right - self.mostly),
        )


def coach_pages(content: SheetContent) -> tuple[Image.Image, ...]:
    """Paint the pages of numbers in grey at 300 dpi: the decision, then what stands behind."""
    fonts = Fonts(PX_PER_MM)
    return tuple(painted(shapes, content.paper, fonts) for shapes in coach_shapes(content, fonts))


def coach_shapes(content: SheetContent, fonts: Fonts) -> tuple[Shapes, ...]:
    """Return the pages as shapes in mm: the decision, then as many as the rest takes."""
    return tuple(_CoachPages(content, fonts).pages())


class _CoachPages(Setter):
    """Sets the sections of a coach's copy; each becomes blocks that a page may be parted at."""

    def __init__(self, content: SheetContent, fonts: Fonts) -> None:
        super().__init__(fonts, PAPERS[content.paper])
        self.content, self.words = content, page_words(content.words)
        self.sections = coach_sections(content, self.words)

    def pages(self) -> Iterator[Shapes]:
        """Yield the decision, the numbers, and what stands behind them."""
        behind = [*self._told("missing"), *self._under("bands", self._bands)]
        number = FIRST_PAGE
        for blocks in (self._decision(), self._numbers(), behind):
            while blocks:
                strip = self._strip(number)
                n = n_fitting(blocks, self.paper.free - strip.height)
                yield spread([strip, *blocks[:n]], 0.0)
                blocks = blocks[n:]
                number += 1

    def _decision(self) -> list[Block]:
        """Return why this one, the 18 items, the map, what would tell more, and own lines."""
        blocks = self._told("why", GAP, stays=1)
        if "items" in self.sections:
            blocks += _spaced([item_list(self, self.sections["items"])], GAP_LATER)
        section = self.sections["chain"]
        drawn = section.only(Figure).draw(self.paper.full, 0.0, self.width)
        if drawn.height:
            chain = self.wide_heading(section.heading).below(of_drawing(drawn))
            blocks += _spaced([chain], GAP_LATER)
        return [*blocks, *self._told("unsure"), *self._told("drawn")]

    def _numbers(self) -> list[Block]:
        """Return the graded rows by moment and the rows that are only shown."""
        graded = self.sections.get("graded")
        rows = graded.only(Numbers).rows if graded else ()
        for pitch in PITCHES:
            blocks = _spaced(_Table(rows, self, self.words, pitch).blocks(), GAP)
            if sum(block.height for block in blocks) <= self.paper.free - MIN_SHOWN:
                break
        return [*blocks, *self._under("shown", self._shown)]

    def _told(self, name: str, gap: float = GAP_LATER, stays: int = 0) -> list[Block]:
        """Sentences beside their heading; as many as it is tall stay with it, or that many."""
        section = self.sections.get(name)
        if not section:
            return []
        head, wide = self.heading(section.heading), self.paper.content
        texts = (part.text for part in section.parts if isinstance(part, Paragraph))
        said = [self.paragraph(text, CONTENT, wide) for text in texts]
        tall = (i for i in range(1, len(said)) if stacked(said[:i]).height >= head.height)
        n = stays or next(tall, len(said))
        return [*_spaced([head.beside(stacked(said[:n]))], gap), *said[n:]]

    def _under(self, name: str, lines: Callable[[Numbers], list[Block]]) -> list[Block]:
        """Return the lines of a table, the first one with the heading over it."""
        section = self.sections.get(name)
        if not section:
            return []
        first, *more = lines(section.only(Numbers))
        return [*_spaced([self.wide_heading(section.heading).below(first)], GAP_LATER), *more]

    def _strip(self, number: int) -> Block:
        """Return code, day and facts; what stands under them explains the signs of the page."""
        content, words, right = self.content, self.words, self.paper.right
        results, code, day = content.results, content.athlete.code, words.date(content.day)
        second = f"{words.plus_minus_line} {words.leg(results.leg_source)} {words.behind_line}"
        x = max(CONTENT, MARGIN + self.width(code, LARGE, bold=True) + 5.0)
        facts = words.coach_copy.format(
            page=number,
            context=words.context(content.run.set_up.context),
            n=results.n_steps,
            rate=words.rate.format(n=round(results.rate_hz)) if results.rate_hz else words.no_rate,
        )
        at = x + self.width(day, bold=True) + 3.5
        head = Block((self.label(day, (x, DROP), bold=True),), LINE)
        lines = head.beside(self.paragraph(facts, at, right - at))
        lines = lines.below(self.paragraph(second, x, right - x))
        block = lines.with_shapes(self.title(code)).beside(Block((), TITLE_LINE))
        return ruled_off(block, self.paper.full)

    def _shown(self, part: Numbers) -> list[Block]:
        """Two columns of numbers that are never graded."""
        width = (self.paper.full - GUTTER) / 2
        lefts, half = (MARGIN, MARGIN + width + GUTTER), (len(part.rows) + 1) // 2
        lines = []
        for i in range(half):
            shapes: Shapes = ()
            for left, row in zip(lefts, part.rows[i::half], strict=False):
                side = f", {row.side}" if row.side else ""
                room = width - self.width(row.number) - self.width(side) - 1.5
                shapes += (
                    self.label(f"{self.shortened(row.short, room)}{side}", (left, DROP)),
                    self.label(row.number, (left + width, DROP), anchor="e"),
                )
            lines.append(Block(shapes, LIST_LINE))
        return lines

    def _bands(self, part: Numbers) -> list[Block]:
        """Every band in use with its edges and what it rests on."""
        said = []
        for row in part.bands:
            name = self.label(row.short, (MARGIN, DROP), within=CONTENT - MARGIN - 0.8)
            text = f"{row.edges}{row.unit}. {row.basis}"
            told = self.paragraph(text, CONTENT, self.paper.content, line=LIST_LINE)
            said.append(told.with_shapes(name))
        return said


def _spaced(blocks: Iterable[Block], gap: float) -> list[Block]:
    """Return blocks with some room above each."""
    return [block.shifted(gap, block.height + gap) for block in blocks]
