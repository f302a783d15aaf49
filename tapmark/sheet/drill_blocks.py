"""What to do: drills with their cautions, the tick table, the coach's boxes."""

from typing import Final

from tapmark.checklist.verdict import Assessment, Drill
from tapmark.drawing.shapes import Shapes
from tapmark.drawing.signs import check_box
from tapmark.sheet.desk import Desk
from tapmark.sheet.layout import (
    BOX,
    CONTENT,
    DROP,
    EMPTY,
    LEFT_WIDTH,
    LINE,
    MARGIN,
    THIN,
    Block,
    rule,
    stacked,
)

ROW: Final = 6.15
N_TICK_ROWS: Final = 6


def drills_of(assessment: Assessment) -> list[Drill]:
    """Return at most two drills: two of one thing, or the first of each of two."""
    most = 1 if len(assessment.slots) > 1 else 2
    return [drill for each in assessment.slots for drill in each.phrase.drills[:most]]


def drills(desk: Desk) -> Block:
    """Return drills with their cautions, the tick table and the coach's boxes."""
    todo = drills_of(desk.content.assessment)[: desk.room.n_drills]
    if not todo:
        return EMPTY
    setter, words, paper = desk.setter, desk.words, desk.paper
    pain = setter.paragraph(words.pain_today, CONTENT, paper.half, bold=True)
    told = stacked([pain, *(_drill(desk, drill) for drill in todo)], 2.2)
    body = told.beside(_tick_table(desk))
    return setter.heading(words.do_this).beside(body).beside(_coach_boxes(desk, body.height))


def _drill(desk: Desk, drill: Drill) -> Block:
    setter, width = desk.setter, desk.paper.half
    care = " ".join(text for text in (drill.stop, drill.caution) if text)
    return stacked(
        [
            setter.paragraph(drill.name, CONTENT, width, bold=True),
            setter.paragraph(drill.dose, CONTENT, width),
            setter.paragraph(care, CONTENT, width),
        ]
    )


def _tick_table(desk: Desk) -> Block:
    """Six rows: a date to write, did it, and how it felt."""
    setter, words, paper = desk.setter, desk.words, desk.paper
    title = setter.paragraph(words.tick_next, paper.second, paper.half, bold=True)
    heads = [words.tick_did, words.tick_easier, words.tick_same, words.tick_harder]
    centres = _tick_centres(desk, heads)
    date_width = min(17.0, centres[0] - BOX / 2 - 3.0 - paper.second)
    first = title.height + 1.2
    date = setter.shortened(words.tick_date, date_width)
    shapes: Shapes = (setter.label(date, (paper.second, first + DROP)),)
    for text, x in zip(heads, centres, strict=True):
        shapes += (setter.label(text, (x, first + DROP), anchor="c"),)
    y = first + LINE + 0.8
    for _ in range(N_TICK_ROWS):
        shapes += (rule(paper.second, y + BOX - THIN / 2, date_width),)
        for x in centres:
            shapes += check_box((x - BOX / 2, y), BOX, width=THIN)
        y += ROW
    return title.beside(Block(shapes, y - ROW + BOX))


def _tick_centres(desk: Desk, heads: list[str]) -> list[float]:
    """Spread the boxes so that no two heads touch and the last one ends at the margin."""
    widths = [max(desk.setter.width(text), BOX) for text in heads]
    gap = 2.6
    room = desk.paper.right - desk.paper.second - 12.0
    while gap > 1.2 and sum(widths) + gap * 3 > room:
        gap -= 0.2
    centres = []
    x = desk.paper.right
    for wide in reversed(widths):
        centres.append(x - wide / 2)
        x -= wide + gap
    return centres[::-1]


def _coach_boxes(desk: Desk, height: float) -> Block:
    setter, words = desk.setter, desk.words
    block = setter.paragraph(words.coach_saw, MARGIN, LEFT_WIDTH)
    y = block.height + 0.6
    shapes: Shapes = block.shapes
    for text in (words.not_yet, words.sometimes, words.mostly):
        shapes += check_box((MARGIN, y), BOX, width=THIN)
        text = setter.shortened(text, LEFT_WIDTH - BOX - 2)
        shapes += (setter.label(text, (MARGIN + BOX + 2, y + 3.9)),)
        y += ROW
    tall = y - ROW + BOX
    return Block(shapes, tall).shifted(0.0, max(LINE + 3, height - tall), 0.0)
