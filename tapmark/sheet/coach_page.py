"""The coach's copy behind the athlete's page: numbers and the decision, then what stands behind.

Page 2 has the graded rows with their bands, the chain and why this was chosen. Page 3, and more
where the words are long, has every number that is shown but never graded, what is missing and
why, and what the bands rest on.
"""

from collections.abc import Iterable
from typing import Final

from PIL import Image

from tapmark.drawing.chain_map import MapLook, chain_map
from tapmark.drawing.pillow_painter import Fonts
from tapmark.drawing.shapes import Shapes
from tapmark.sheet.athlete_page import painted
from tapmark.sheet.band_table import Table
from tapmark.sheet.behind_numbers import behind_blocks
from tapmark.sheet.content import SheetContent
from tapmark.sheet.layout import (
    CONTENT,
    DROP,
    EMPTY,
    LARGE,
    LINE,
    MARGIN,
    PAPERS,
    PX_PER_MM,
    TEXT,
    TITLE_LINE,
    Block,
    Setter,
    ruled_off,
    spread,
)
from tapmark.sheet.page_words import PageWords, page_words
from tapmark.sheet.why import why_sentences

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
        context=words.context(content.run.set_up.context),
        n=results.n_steps,
        rate=rate,
    )
    at = x + setter.width(day, bold=True) + 3.5
    first = setter.paragraph(facts, at, paper.right - at)
    lines = Block((head,), LINE).beside(first).below(setter.paragraph(second, x, paper.right - x))
    return ruled_off(lines.with_shapes(code).beside(Block((), TITLE_LINE)), paper.full)


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
    return _spaced([setter.heading(words.why_this).beside(block)], GAP)[0]
