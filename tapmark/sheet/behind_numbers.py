"""Page 3 of the coach's copy: shown numbers, what is missing, where the bands come from."""

import re
from collections.abc import Iterator, Sequence

from tapmark.checklist.verdict import SHOWN, Band, RowVerdict
from tapmark.drawing.bands import printed
from tapmark.drawing.shapes import Shapes
from tapmark.measures.catalogue import row as row_named
from tapmark.measures.result import Measured
from tapmark.sheet.content import SheetContent
from tapmark.sheet.layout import (
    CONTENT,
    DROP,
    EMPTY,
    GUTTER,
    HEADING_WIDTH,
    LIST_LINE,
    MARGIN,
    PAPERS,
    Block,
    Setter,
    stacked,
)
from tapmark.sheet.page_words import PageWords


def behind_blocks(
    content: SheetContent, setter: Setter, words: PageWords, left_over: Sequence[str]
) -> Iterator[Block]:
    """Yield the groups of page 3 that have something to say."""
    paper = PAPERS[content.paper]
    if left_over:
        said = stacked(setter.paragraph(each, CONTENT, paper.content) for each in left_over)
        yield setter.heading(words.why_this).beside(said)
    yield _shown(content, setter, words)
    yield _missing(content, setter, words)
    yield _bands(content, setter, words)


def _shown(content: SheetContent, setter: Setter, words: PageWords) -> Block:
    """Two columns of numbers that are never graded."""
    rows = [
        row
        for row in content.assessment.rows
        if row.word == SHOWN and isinstance(row.result, Measured)
    ]
    if not rows:
        return EMPTY
    paper = PAPERS[content.paper]
    width = (paper.full - GUTTER) / 2
    half = (len(rows) + 1) // 2
    shapes: Shapes = ()
    for i, row in enumerate(rows):
        left = MARGIN + (i // half) * (width + GUTTER)
        shapes += _shown_row(
            content, setter, words, row, left, width, DROP + (i % half) * LIST_LINE
        )
    head = setter.paragraph(words.shown_head, MARGIN, paper.full, bold=True)
    return head.below(Block(shapes, half * LIST_LINE))


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
    unit = "" if result.unit == "°" else " "
    value = (
        f"{about}{printed(result.value, result.digits)} ± "
        f"{printed(result.plus_minus, result.digits)}{unit}{result.unit}"
    )
    side = f", {words.side(row.foot)}" if row.foot else ""
    name = words.row(result.key) or content.words.row(result.key)
    room = width - setter.width(value) - setter.width(side) - 1.5
    text = f"{setter.shortened(name, room)}{side}"
    return (setter.label(text, (left, y)), setter.label(value, (left + width, y), anchor="e"))


def _missing(content: SheetContent, setter: Setter, words: PageWords) -> Block:
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
    if not reasons:
        return EMPTY
    said = [
        setter.paragraph(f"{', '.join(names)}: {why}", CONTENT, paper.content)
        for why, names in reasons.items()
    ]
    return setter.heading(words.missing_head).beside(stacked(said))


def _bands(content: SheetContent, setter: Setter, words: PageWords) -> Block:
    """Every band in use with its edges and what it rests on."""
    paper = PAPERS[content.paper]
    bands: dict[str, Band] = {}
    for row in content.assessment.rows:
        if row.band and row.band.basis:
            bands.setdefault(row.result.key, row.band)
    if not bands:
        return EMPTY
    said = []
    for key, band in bands.items():
        name = words.row(key) or content.words.row(key)
        label = setter.label(setter.shortened(name, HEADING_WIDTH), (MARGIN, DROP))
        text = f"{edges(band)}{row_named(key).shown_unit}. {with_minus(band.basis)}"
        told = setter.paragraph(text, CONTENT, paper.content, line=LIST_LINE)
        said.append(told.with_shapes(label))
    head = setter.paragraph(words.bands_head, MARGIN, paper.full, bold=True)
    return head.below(stacked(said))


def with_minus(text: str) -> str:
    """Return a text typed on a keyboard with true minus signs before its numbers."""
    return re.sub(r"(?<![\w])-(?=\d)", "−", text)


def edges(band: Band) -> str:
    """Return a band in one line: fine edge or zone, arrow, limit or limits."""
    fine = [printed(e) for e in (band.fine_low, band.fine_high) if e is not None]
    limits = [printed(e) for e in (band.limit_low, band.limit_high) if e is not None]
    return f"{'…'.join(fine)} → {' / '.join(limits)}"
