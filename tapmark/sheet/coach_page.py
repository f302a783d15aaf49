"""The coach's copy behind the athlete's page: numbers and the decision, then what stands behind.

Page 2 has the graded rows with their bands, the chain and why this was chosen. Page 3 has every
number that is shown but never graded, what is missing and why, and where the bands come from.
"""

from PIL import Image

from tapmark.drawing.chain_map import MapLook, chain_map
from tapmark.drawing.pillow_painter import Fonts
from tapmark.drawing.shapes import Shapes
from tapmark.errors import SheetTooFull
from tapmark.sheet.athlete_page import painted
from tapmark.sheet.band_table import Table
from tapmark.sheet.behind_numbers import behind_blocks
from tapmark.sheet.content import SheetContent
from tapmark.sheet.layout import (
    CONTENT,
    DROP,
    EMPTY,
    HEADING_WIDTH,
    LARGE,
    LINE,
    MARGIN,
    PAPERS,
    PX_PER_MM,
    RULE,
    TEXT,
    Block,
    Setter,
    rule,
    spread,
    stacked,
)
from tapmark.sheet.page_words import PageWords, page_words
from tapmark.sheet.why import why_sentences


def coach_pages(content: SheetContent, fonts: Fonts | None = None) -> tuple[Image.Image, ...]:
    """Paint both pages of numbers in grey at 300 dpi; raises as athlete_page does."""
    fonts = fonts or Fonts(PX_PER_MM)
    return tuple(painted(shapes, content.paper, fonts) for shapes in coach_shapes(content, fonts))


def coach_page(content: SheetContent, fonts: Fonts | None = None) -> Image.Image:
    """Paint page 2 of the coach's copy: bands, chain and choice."""
    fonts = fonts or Fonts(PX_PER_MM)
    return painted(coach_shapes(content, fonts)[0], content.paper, fonts)


def coach_shapes(content: SheetContent, fonts: Fonts) -> tuple[Shapes, Shapes]:
    """Return both pages as shapes in mm."""
    setter, words = Setter(fonts), page_words(content.words)
    first, left_over = _decision(content, setter, words)
    strip = _strip(content, setter, words, 3, words.behind_line)
    blocks = [strip, *behind_blocks(content, setter, words, left_over)]
    return first, _placed(content, blocks, 5.0)


def _decision(
    content: SheetContent, setter: Setter, words: PageWords
) -> tuple[Shapes, tuple[str, ...]]:
    """Return page 2, and the reasons that had no room on it."""
    paper = PAPERS[content.paper]
    second = f"{words.plus_minus_line} {words.leg(content.results.leg_source)}"
    strip = _strip(content, setter, words, 2, second)
    for pitch in (7.0, 6.6, 6.2):
        groups = list(Table(content, setter, words, paper.right, pitch).blocks())
        top = [strip, *groups, _chain(content, setter, words)]
        used = sum(block.height for block in top) + 3.2 * len(top)
        room = paper.free - used
        if room > 5 * LINE:
            break
    why, left_over = _why(content, setter, words, int(room / LINE))
    return _placed(content, [*top, why], 3.2), left_over


def _placed(content: SheetContent, blocks: list[Block], gap: float) -> Shapes:
    blocks = [block for block in blocks if block.height]
    height = sum(block.height for block in blocks) + gap * (len(blocks) - 1)
    free = PAPERS[content.paper].free
    if height > free + 0.01:
        raise SheetTooFull(
            f"The coach's page of {content.athlete.code} does not hold its rows: "
            f"{height - free:.0f} mm too many."
        )
    gaps = [0.0] + [gap] * (len(blocks) - 1)
    return spread(blocks, gaps, MARGIN)


def _strip(
    content: SheetContent, setter: Setter, words: PageWords, number: int, second: str
) -> Block:
    paper = PAPERS[content.paper]
    code = setter.label(content.athlete.code, (MARGIN, 6.6), LARGE, bold=True)
    wide = setter.width(content.athlete.code, LARGE, bold=True)
    x = max(CONTENT, MARGIN + wide + 5.0)
    day = words.date(content.day)
    head = setter.label(day, (x, DROP), bold=True)
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
    y = max(lines.height, 9.0) + 1.9
    line = rule(MARGIN, y, paper.full, RULE)
    return lines.with_shapes(code, line).beside(Block((), y + RULE / 2))


def _chain(content: SheetContent, setter: Setter, words: PageWords) -> Block:
    look = MapLook(TEXT, 3.5, 9.5, 0.43, 0.9)
    drawn = chain_map(content.assessment, PAPERS[content.paper].full, look, setter.width)
    if not drawn.items:
        return EMPTY
    heading = setter.paragraph(words.chain_head, MARGIN, PAPERS[content.paper].full, bold=True)
    return heading.below(Block((), drawn.height, ((drawn.shapes, MARGIN, 0.0),)))


def _why(
    content: SheetContent, setter: Setter, words: PageWords, n_lines: int
) -> tuple[Block, tuple[str, ...]]:
    """Return the reasons, as many whole sentences as there are lines, and the rest."""
    paper = PAPERS[content.paper]
    sentences = list(why_sentences(content, words))
    blocks: list[Block] = []
    while sentences and n_lines > 0:
        block = setter.paragraph(sentences[0], CONTENT, paper.content)
        n_lines -= len(block.shapes)
        if n_lines < 0:
            break
        blocks.append(block)
        sentences.pop(0)
    heading = setter.paragraph(words.why_this, MARGIN, HEADING_WIDTH, bold=True)
    return (heading.beside(stacked(blocks)) if blocks else EMPTY), tuple(sentences)
