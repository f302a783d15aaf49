"""The checklist of the athlete's page: all 18 items in two columns, each with sign and word."""

from collections.abc import Sequence

from tapmark.checklist.verdict import ItemVerdict
from tapmark.drawing.shapes import Shapes
from tapmark.drawing.signs import HEIGHT, verdict_sign
from tapmark.sheet.desk import Desk
from tapmark.sheet.layout import (
    CONTENT,
    DROP,
    GUTTER,
    LEFT_WIDTH,
    LIST_LINE,
    MARGIN,
    TEXT,
    Block,
)

SIGN = 7.6  # room of a sign before its word


def checklist(desk: Desk) -> Block:
    """Return the list in the content column, or over the full width where it is too wide."""
    setter, words = desk.setter, desk.words
    items = desk.content.assessment.items
    heading = desk.heading(words.checklist)
    doubt = setter.paragraph(words.can_be_off, MARGIN, LEFT_WIDTH, line=LIST_LINE)
    is_narrow = all(_width(desk, item) <= desk.paper.half for item in items)
    if is_narrow:
        rows = _columns(desk, items, (CONTENT, desk.paper.second), desk.paper.half)
        return heading.below(doubt).beside(rows)
    half = (desk.paper.full - GUTTER) / 2
    rows = _columns(desk, items, (MARGIN, MARGIN + half + GUTTER), half)
    over = setter.paragraph(words.can_be_off, CONTENT, desk.paper.content)
    return heading.beside(over).below(rows, 0.6)


def _columns(
    desk: Desk, items: Sequence[ItemVerdict], lefts: tuple[float, float], width: float
) -> Block:
    middle = (len(items) + 1) // 2
    shapes: Shapes = ()
    for left, column in zip(lefts, (items[:middle], items[middle:]), strict=True):
        word_at = left + width - _word_width(desk, items)
        for i, item in enumerate(column):
            shapes += _row(desk, item, left, word_at, left + width, DROP + i * LIST_LINE)
    return Block(shapes, middle * LIST_LINE)


def _row(
    desk: Desk, item: ItemVerdict, left: float, word_at: float, right: float, y: float
) -> Shapes:
    setter = desk.setter
    if item.is_result:
        follows = desk.content.words.say("verdicts.follows")
        room = right - left - setter.width(follows, italic=True) - 2.0
        name = setter.shortened(item.name, room)
        return (
            setter.label(name, (left, y), italic=True),
            setter.label(follows, (right, y), italic=True, anchor="e"),
        )
    name = setter.shortened(item.name, word_at - SIGN - left - 0.4)
    word = setter.label(desk.content.words.verdict(item.word), (word_at, y))
    sign = verdict_sign(item.word, (word_at - SIGN / 2 - 0.2, y - 1.35), HEIGHT)
    return (setter.label(name, (left, y)), *sign, word)


def _width(desk: Desk, item: ItemVerdict) -> float:
    if item.is_result:
        follows = desk.content.words.say("verdicts.follows")
        return desk.setter.width(f"{item.name}  {follows}", TEXT, italic=True)
    name = desk.setter.width(item.name)
    return name + SIGN + 0.4 + _word_width(desk, desk.content.assessment.items)


def _word_width(desk: Desk, items: Sequence[ItemVerdict]) -> float:
    spoken = {desk.content.words.verdict(item.word) for item in items if not item.is_result}
    return max((desk.setter.width(word) for word in spoken), default=0.0)
