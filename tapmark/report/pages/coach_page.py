"""The coach's copy: numbers and the decision, then what stands behind them."""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

from PIL import Image

from tapmark.checklist.verdict import SHOWN, Band, RowVerdict
from tapmark.checklist.words import Words
from tapmark.measures.catalogue import row as row_named
from tapmark.measures.result import Measured
from tapmark.report.drawing.bands import Dot, band_shapes, numerals, printed
from tapmark.report.drawing.chain_map import MapLook, chain_map
from tapmark.report.drawing.painter import Fonts
from tapmark.report.drawing.shapes import Shapes, moved
from tapmark.report.drawing.signs import HEIGHT, verdict_sign
from tapmark.report.pages.athlete_page import painted
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
    PT,
    PX_PER_MM,
    TEXT,
    TITLE_LINE,
    Block,
    Setter,
    ruled_off,
    spread,
    stacked,
)
from tapmark.report.pages.words import PageWords, page_words


def why_sentences(content: SheetContent, words: PageWords) -> Iterator[str]:
    """Yield why this was chosen, what to tell a family, guesses and checks, as sentences."""
    assessment = content.assessment
    yield from assessment.reasons
    rule_names = ", ".join(content.words.item(number) for number in assessment.by_rule)
    if any(slot.is_override for slot in assessment.slots):
        yield words.by_rule.format(names=rule_names or words.nothing)
    if assessment.is_youth:
        for slot in assessment.slots:
            yield words.family.format(says=slot.phrase.to_parent)
    if content.results.guesses:
        yield words.guesses.format(names=", ".join(content.results.guesses))
    if content.visit.notes:
        yield f"{words.notes}: {content.visit.notes}"
    yield from (check.words for check in content.results.checks)


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
        return result.mostly
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
    units = [row.result.unit for row in rows if isinstance(row.result, Measured)]
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
            unit = setter.shortened(row.result.unit, at.band - at.unit - 0.5)
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


GAP_BEHIND: Final = 5.0


def behind_blocks(content: SheetContent, setter: Setter, words: PageWords) -> Iterator[Block]:
    """Yield the lines of page 3 as blocks that may be parted between pages."""
    for group in (
        _shown(content, setter, words),
        _missing(content, setter, words),
        _bands(content, setter, words),
    ):
        for i, block in enumerate(group):
            yield block.shifted(0.0, GAP_BEHIND, block.height + GAP_BEHIND) if i == 0 else block


def _shown(content: SheetContent, setter: Setter, words: PageWords) -> list[Block]:
    """Two columns of numbers that are never graded."""
    rows = [
        row
        for row in content.assessment.rows
        if row.word == SHOWN and isinstance(row.result, Measured)
    ]
    paper = PAPERS[content.paper]
    width = (paper.full - GUTTER) / 2
    half = (len(rows) + 1) // 2
    lines = []
    for i in range(half):
        shapes: Shapes = ()
        for left, row in zip((MARGIN, MARGIN + width + GUTTER), rows[i::half], strict=False):
            shapes += _shown_row(content, setter, words, row, left, width, DROP)
        lines.append(Block(shapes, LIST_LINE))
    return _behind_headed(setter.paragraph(words.shown_head, MARGIN, paper.full, bold=True), lines)


def _behind_headed(head: Block, lines: list[Block]) -> list[Block]:
    """Put a heading over the first line, so that they stay together."""
    return [head.below(lines[0]), *lines[1:]] if lines else []


def _shown_row(
    content: SheetContent,
    setter: Setter,
    words: PageWords,
    row: RowVerdict,
    left: float,
    width: float,
    y: float,
) -> Shapes:
    result = row.result
    assert isinstance(result, Measured)
    about = "≈ " if result.is_about else ""
    value = (
        f"{about}{printed(result.value, result.digits)} ± "
        f"{printed(result.plus_minus, result.digits)}{unit_of(result.key, content.words)}"
    )
    side = f", {words.side(row.foot)}" if row.foot else ""
    name = words.row(result.key) or content.words.row(result.key)
    room = width - setter.width(value) - setter.width(side) - 1.5
    text = f"{setter.shortened(name, room)}{side}"
    return (setter.label(text, (left, y)), setter.label(value, (left + width, y), anchor="e"))


def _missing(content: SheetContent, setter: Setter, words: PageWords) -> list[Block]:
    """What has no number and why, each reason once."""
    paper = PAPERS[content.paper]
    reasons: dict[str, list[str]] = {}
    for row in content.assessment.rows:
        result = row.result
        why = result.not_graded if isinstance(result, Measured) else result.reason
        if why:
            side = f" ({words.side(row.foot)})" if row.foot else ""
            name = words.row(result.key) or content.words.row(result.key)
            reasons.setdefault(why, []).append(f"{name}{side}")
    said = [
        setter.paragraph(f"{', '.join(names)}: {why}", CONTENT, paper.content)
        for why, names in reasons.items()
    ]
    if not said:
        return []
    head = setter.heading(words.missing_head)
    n = next((i for i in range(1, len(said)) if stacked(said[:i]).height >= head.height), len(said))
    return [head.compare(stacked(said[:n])), *said[n:]]


def _bands(content: SheetContent, setter: Setter, words: PageWords) -> list[Block]:
    """Every band in use with its edges and what it rests on."""
    paper = PAPERS[content.paper]
    bands: dict[str, Band] = {}
    for row in content.assessment.rows:
        if row.band and row.band.basis:
            bands.setdefault(row.result.key, row.band)
    said = []
    for key, band in bands.items():
        name = words.row(key) or content.words.row(key)
        label = setter.label(setter.shortened(name, CONTENT - MARGIN - 0.8), (MARGIN, DROP))
        basis = with_minus(band.basis)
        text = f"{edges(band)}{unit_of(key, content.words)}. {basis}"
        told = setter.paragraph(text, CONTENT, paper.content, line=LIST_LINE)
        said.append(told.with_shapes(label))
    return _behind_headed(setter.paragraph(words.bands_head, MARGIN, paper.full, bold=True), said)


def unit_of(key: str, language: Words) -> str:
    """Return a row's unit as it stands behind a number."""
    unit = row_named(key).shown_unit
    bare = unit.strip()
    return unit.replace(bare, bare) if bare else ""


def with_minus(text: str) -> str:
    """Return a text typed on a keyboard with true minus signs before its numbers."""
    return re.sub(r"(?<![\w])-(?=\d)", "−", text)


def edges(band: Band) -> str:
    """Return a band in one line: fine edge or zone, arrow, limit or limits."""
    fine = [printed(e) for e in (band.fine_low, band.fine_high) if e is not None]
    limits = [printed(e) for e in (band.limit_low, band.limit_high) if e is not None]
    return f"{'…'.join(fine)} → {' / '.join(limits)}"


GAP: Final = 3.2
FIRST_PAGE: Final = 2  # page 1 is the athlete's
PITCHES: Final = (7.0, 6.6, 6.2)
MIN_WHY: Final = 5 * LINE  # room for reasons that is worth a narrower pitch


def coach_pages(content: SheetContent, fonts: Fonts | None = None) -> tuple[Image.Image, ...]:
    """Paint the pages of numbers in grey at 300 dpi: the decision, then what stands behind."""
    fonts = fonts or Fonts(PX_PER_MM)
    return tuple(painted(shapes, content.paper, fonts) for shapes in coach_shapes(content, fonts))


def coach_shapes(content: SheetContent, fonts: Fonts) -> tuple[Shapes, ...]:
    """Return the pages as shapes in mm: the decision, then as many as the rest takes."""
    setter, words = Setter(fonts), page_words(content.words)
    first, left_over = _decision(content, setter, words)
    rest = [*left_over, *behind_blocks(content, setter, words)]
    pages = [first]
    while rest:
        strip = _strip(content, setter, words, FIRST_PAGE + len(pages), words.behind_line)
        n = _how_many_fit(rest, PAPERS[content.paper].free - strip.height)
        pages.append(_placed([strip, *rest[:n]]))
        rest = rest[n:]
    return tuple(pages)


def _decision(
    content: SheetContent, setter: Setter, words: PageWords
) -> tuple[Shapes, list[Block]]:
    """Return page 2, and what had no room on it."""
    free = PAPERS[content.paper].free
    second = f"{words.plus_minus_line} {words.leg(content.results.leg_source)}"
    strip = _strip(content, setter, words, FIRST_PAGE, second)
    chain = [block for block in [_chain(content, setter, words)] if block.height]
    why = _why(content, setter, words)
    for pitch in PITCHES:
        table = Table(content, setter, words, PAPERS[content.paper].right, pitch)
        top = [strip, *_spaced(table.blocks(), GAP), *_spaced(chain, GAP)]
        room = free - sum(block.height for block in top)
        if room > MIN_WHY:
            break
    if room < 0:  # the map goes with the reasons
        top, why = top[: len(top) - len(chain)], [*_spaced(chain, GAP), *why]
        room = free - sum(block.height for block in top)
    n = _how_many_fit(why, room)
    rest = why[n:]
    if rest and n:  # what goes over the page is headed again
        rest[0] = _headed(setter, words, rest[0])
    return _placed([*top, *why[:n]]), rest


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


def _strip(
    content: SheetContent, setter: Setter, words: PageWords, number: int, second: str
) -> Block:
    paper = PAPERS[content.paper]
    wide = setter.width(content.athlete.code, LARGE, bold=True)
    x = max(CONTENT, MARGIN + wide + 5.0)
    day = words.date(content.day)
    code, head = setter.title(content.athlete.code), setter.label(day, (x, DROP), bold=True)
    results = content.results
    rate = words.rate.format(n=round(results.rate_hz)) if results.rate_hz else words.no_rate
    facts = words.coach_copy.format(
        page=number,
        context=words.context(results.graded_as),
        n=results.n_steps,
        rate=rate,
    )
    at = x + setter.width(day, bold=True) + 3.5
    first = setter.paragraph(facts, at, paper.right - at)
    lines = Block((head,), LINE).compare(first).below(setter.paragraph(second, x, paper.right - x))
    return ruled_off(lines.with_shapes(code).compare(Block((), TITLE_LINE)), paper.full)


def _chain(content: SheetContent, setter: Setter, words: PageWords) -> Block:
    look = MapLook(TEXT, 3.5, 9.5, 0.43, 0.9)
    drawn = chain_map(content.assessment, PAPERS[content.paper].full, look, setter.width)
    if not drawn.items:
        return EMPTY
    heading = setter.paragraph(words.chain_head, MARGIN, PAPERS[content.paper].full, bold=True)
    return heading.below(Block((), drawn.height, ((drawn.shapes, MARGIN, 0.0),)))


def _why(content: SheetContent, setter: Setter, words: PageWords) -> list[Block]:
    """Return the reasons, a block a sentence, the first one beside the heading."""
    paper = PAPERS[content.paper]
    said = [
        setter.paragraph(sentence, CONTENT, paper.content)
        for sentence in why_sentences(content, words)
    ]
    if said:
        said[0] = _headed(setter, words, said[0])
    return said


def _headed(setter: Setter, words: PageWords, block: Block) -> Block:
    return _spaced([setter.heading(words.why_this).compare(block)], GAP)[0]
