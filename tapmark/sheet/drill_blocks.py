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
LEAST_DATE: Final = 13.0  # room of the date and the gap behind it
HEAD_GAP: Final = 1.4


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
    return desk.heading(words.do_this).beside(body).beside(_coach_boxes(desk, body.height))


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
    text = words.tick_next
    if desk.room.is_terse:
        text = setter.shortened(text, paper.half, bold=True)
    title = setter.paragraph(text, paper.second, paper.half, bold=True)
    heads = [words.tick_did, words.tick_easier, words.tick_same, words.tick_harder]
    centres, labels = _heads(desk, heads)
    date_width = min(17.0, centres[0] - BOX / 2 - 3.0 - paper.second)
    date = setter.label(setter.shortened(words.tick_date, date_width), (paper.second, DROP))
    rows: Shapes = ()
    for i in range(N_TICK_ROWS):
        rows += (rule(paper.second, i * ROW + BOX - THIN / 2, date_width),)
        for x in centres:
            rows += check_box((x - BOX / 2, i * ROW), BOX, width=THIN)
    boxes = Block(rows, (N_TICK_ROWS - 1) * ROW + BOX)
    return title.below(labels.with_shapes(date), 1.2).below(boxes, 0.8)


def _heads(desk: Desk, heads: list[str]) -> tuple[list[float], Block]:
    """Return the middles of the four columns of boxes, and their heads over them.

    Heads that are too wide for one row stand on two by turns; the last column ends at the margin.
    """
    setter, paper = desk.setter, desk.paper
    widths = [max(setter.width(text), BOX) for text in heads]
    room = paper.half - LEAST_DATE
    in_one_row = sum(widths) + 3 * HEAD_GAP <= room
    if in_one_row:
        gap = min(2.6, (room - sum(widths)) / 3)
    else:
        most = (room - HEAD_GAP) / 2
        heads = [setter.shortened(text, most) for text in heads]
        widths, gap = [room / 4 - HEAD_GAP] * 4, HEAD_GAP
    ends = [paper.right - sum(widths[i + 1 :]) - gap * (3 - i) for i in range(4)]
    centres = [end - wide / 2 for end, wide in zip(ends, widths, strict=True)]
    labels = Block((), LINE if in_one_row else 2 * LINE)
    for i, (text, centre) in enumerate(zip(heads, centres, strict=True)):
        y = DROP if in_one_row or i % 2 else DROP + LINE
        x = min(centre, paper.right - setter.width(text) / 2)
        labels = labels.with_shapes(setter.label(text, (x, y), anchor="c"))
    return centres, labels


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
