"""Page 3 of the coach's copy: shown numbers, what is missing, where the bands come from."""

import re
from collections.abc import Iterator
from typing import Final

from tapmark.checklist.verdict import SHOWN, Band, RowVerdict
from tapmark.checklist.words import Words
from tapmark.drawing.bands import printed
from tapmark.drawing.shapes import Shapes
from tapmark.measures.catalogue import row as row_named
from tapmark.measures.result import Measured
from tapmark.sheet.content import SheetContent
from tapmark.sheet.layout import (
    CONTENT,
    DROP,
    GUTTER,
    LIST_LINE,
    MARGIN,
    PAPERS,
    Block,
    Setter,
    stacked,
)
from tapmark.sheet.page_words import PageWords

GAP: Final = 5.0


def behind_blocks(content: SheetContent, setter: Setter, words: PageWords) -> Iterator[Block]:
    """Yield the lines of page 3 as blocks that may be parted between pages."""
    for group in (
        _shown(content, setter, words),
        _missing(content, setter, words),
        _bands(content, setter, words),
    ):
        for i, block in enumerate(group):
            yield block.shifted(0.0, GAP, block.height + GAP) if i == 0 else block


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
    return _headed(setter.paragraph(words.shown_head, MARGIN, paper.full, bold=True), lines)


def _headed(head: Block, lines: list[Block]) -> list[Block]:
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
        setter.paragraph(f"{', '.join(names)}: {content.words.told(why)}", CONTENT, paper.content)
        for why, names in reasons.items()
    ]
    if not said:
        return []
    head = setter.heading(words.missing_head)
    n = next((i for i in range(1, len(said)) if stacked(said[:i]).height >= head.height), len(said))
    return [head.beside(stacked(said[:n])), *said[n:]]


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
        basis = with_minus(content.words.told(band.basis))
        text = f"{edges(band)}{unit_of(key, content.words)}. {basis}"
        told = setter.paragraph(text, CONTENT, paper.content, line=LIST_LINE)
        said.append(told.with_shapes(label))
    return _headed(setter.paragraph(words.bands_head, MARGIN, paper.full, bold=True), said)


def unit_of(key: str, language: Words) -> str:
    """Return a row's unit as it stands behind a number."""
    unit = row_named(key).shown_unit
    bare = unit.strip()
    return unit.replace(bare, language.told(bare)) if bare else ""


def with_minus(text: str) -> str:
    """Return a text typed on a keyboard with true minus signs before its numbers."""
    return re.sub(r"(?<![\w])-(?=\d)", "−", text)


def edges(band: Band) -> str:
    """Return a band in one line: fine edge or zone, arrow, limit or limits."""
    fine = [printed(e) for e in (band.fine_low, band.fine_high) if e is not None]
    limits = [printed(e) for e in (band.limit_low, band.limit_high) if e is not None]
    return f"{'…'.join(fine)} → {' / '.join(limits)}"
