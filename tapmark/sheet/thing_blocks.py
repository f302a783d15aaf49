"""The one thing: you and the idea, what we saw, the cue in large type."""

from typing import Final

from tapmark.checklist.verdict import Chosen, ItemVerdict
from tapmark.drawing.back_idea import back_pair
from tapmark.drawing.idea import pair_of
from tapmark.drawing.pair import pair_drawing
from tapmark.drawing.pose import step_poses
from tapmark.drawing.shapes import Shapes
from tapmark.sheet.content import SheetContent
from tapmark.sheet.desk import Desk, lowered
from tapmark.sheet.layout import (
    CONTENT,
    DROP,
    EMPTY,
    LARGE,
    LARGE_LINE,
    LEFT_WIDTH,
    MARGIN,
    NAME,
    SMALL_CUE,
    TEXT,
    THIN,
    Block,
    ruled,
)
from tapmark.sheet.page_words import PageWords
from tapmark.sheet.photo import photo_frame

QUOTE: Final = 4.0  # room between the pair and the quote mark that hangs beside it


def slot(desk: Desk, chosen: Chosen, is_first: bool) -> Block:
    """Return one thing: its name, you and the idea, what we saw, the cue, where it starts."""
    body = _name(desk, chosen).below(_shown(desk, chosen, is_first), 1.0)
    if not is_first:
        return body
    heading = lowered(desk.heading(desk.content.assessment.heading or desk.words.one_thing))
    below = _for_hands(desk)
    top = max(heading.height + 2.4, body.height - below.height - 4.6)
    return heading.beside(body).beside(below.shifted(0.0, top, top + below.height))


def _shown(desk: Desk, chosen: Chosen, is_first: bool) -> Block:
    """What we saw stands beside the pair, or over it where that takes less height."""
    paper = desk.paper
    has_pair = desk.room.pair > 0 and (is_first or desk.room.has_second_pair)
    key = ("pair", chosen.item.number, desk.room.pair)
    pair = desk.once(key, lambda: _pair(desk, chosen)) if has_pair else EMPTY
    over = _says(desk, chosen, CONTENT, paper.content)
    if not pair.height:
        large = _cue(desk, chosen, CONTENT, paper.content)
        is_bare = desk.room.is_terse and not is_first
        said = large if is_bare else over.below(large, 2.4)
        return _with_start(desk, chosen, said, CONTENT, paper.content)
    cue_only = _cue(desk, chosen, paper.second, paper.half)
    said = _says(desk, chosen, paper.second, paper.half).below(cue_only, 2.4)
    ways = (
        _beside_pair(desk, chosen, pair, said),
        over.below(_beside_pair(desk, chosen, pair, cue_only), 1.6),
    )
    return min(ways, key=lambda way: way.height)


def _beside_pair(desk: Desk, chosen: Chosen, pair: Block, said: Block) -> Block:
    """The shorter side tells where it probably starts."""
    paper = desk.paper
    if pair.height < said.height:
        pair = _with_start(desk, chosen, pair, CONTENT, paper.half)
    else:
        said = _with_start(desk, chosen, said, paper.second, paper.half)
    return pair.beside(said)


def _name(desk: Desk, chosen: Chosen) -> Block:
    """The plain name in 15 pt and, beside it, the foot that is meant."""
    setter, words, item = desk.setter, desk.words, chosen.item
    name = setter.paragraph(chosen.phrase.name, CONTENT, desk.paper.content, NAME, True, 6.2)
    text = aside(desk.content, words, item)
    if not text:
        return name
    last = name.own[-1]
    wide = setter.width(chosen.phrase.name, NAME, bold=True)
    x = CONTENT + wide + 3.0
    if len(name.own) > 1 or x + setter.width(text) > desk.paper.right:
        return name.below(setter.paragraph(text, CONTENT, desk.paper.content))
    baseline = last.point[1]  # type: ignore[union-attr]
    return name.with_shapes(setter.label(text, (x, baseline)))


def aside(content: SheetContent, words: PageWords, item: ItemVerdict) -> str:
    """Return which foot is meant and how sure the film is, to stand beside a name."""
    if item.is_sure:
        word = words.seen_once if item.once else ""
    else:
        word = content.words.verdict(item.word)
    return ", ".join(part for part in (words.foot(item.feet), word) if part)


def _pair(desk: Desk, chosen: Chosen) -> Block:
    content, setter, wide = desk.content, desk.setter, desk.paper.half - QUOTE
    is_far, photo = chosen.item.feet == content.run.far_side, None
    pair = pair_of(chosen.item.number, step_poses(content.run, content.i_step), is_far)
    if pair is not None:
        photo = content.photo if content.photo and content.photo.event == pair.event else None
        drawing = pair_drawing(pair, wide, desk.room.pair, THIN, shows_you=photo is None)
        first = desk.words.you
    else:
        seen = back_pair(chosen.item.number, wide, desk.room.pair) if chosen.item.is_sure else None
        if seen is None:
            return EMPTY
        drawing, first = seen, desk.words.saw
    ground = drawing.above + 1.0
    names = list(zip((first, desk.words.idea), drawing.clear, strict=True))
    is_clear = all(setter.width(text, bold=True) < room for text, (_, room) in names)
    baseline = ground + (0.9 if is_clear else drawing.below) + DROP
    labels: Shapes = tuple(
        setter.label(text, (CONTENT + start, baseline), bold=True) for text, (start, _) in names
    )
    if photo:
        frame = photo_frame(CONTENT, ground - drawing.above, wide / 2 - 2.0, drawing.above)
        labels = (*labels, frame)
    height = max(baseline + 1.0, ground + drawing.below)
    return Block(labels, height, ((lambda: drawing.shapes, CONTENT, ground),))


def _says(desk: Desk, chosen: Chosen, x: float, width: float) -> Block:
    says = chosen.phrase.says
    if desk.room.is_terse:
        says = first_sentence(says)
    return desk.setter.paragraph(says, x, width)


def first_sentence(text: str) -> str:
    """Return a text up to its first full stop."""
    head, stop, _ = text.partition(". ")
    return f"{head}." if stop else text


def _cue(desk: Desk, chosen: Chosen, x: float, width: float) -> Block:
    return cue(desk, chosen.phrase.cue, x, width) if chosen.phrase.cue else EMPTY


def _with_start(desk: Desk, chosen: Chosen, block: Block, x: float, width: float) -> Block:
    text = start_text(desk.content, desk.words, chosen, desk.room.n_causes)
    return block.below(desk.setter.paragraph(text, x, width), 1.8) if text else block


def start_text(content: SheetContent, words: PageWords, chosen: Chosen, most: int) -> str:
    """Return what a priority probably starts with and what it may start with as well.

    most: how many names there is room for; one cause that this film can't tell is always named.
    """
    told = (
        (words.starts_with, chosen.starts_with[:most]),
        (words.may_start_with, chosen.may_start_with[: max(1, most)]),
    )
    return " ".join(
        said.format(names=", ".join(content.words.item(n) for n in numbers))
        for said, numbers in told
        if numbers
    )


def cue(desk: Desk, text: str, x: float, width: float) -> Block:
    """Return the cue in large type; its opening quote mark hangs outside the column."""
    setter, words = desk.setter, desk.words
    quoted = f"{text}{words.close_quote}"
    lines = setter.wrapped(quoted, width, LARGE, bold=True)
    size = desk.room.cue if len(lines) <= 4 else SMALL_CUE
    pitch = LARGE_LINE * size / LARGE
    block = setter.paragraph(quoted, x, width, size, True, pitch)
    mark = setter.width(words.open_quote, size, bold=True)
    hung = setter.label(words.open_quote, (x - mark, DROP * size / TEXT), size, bold=True)
    return block.with_shapes(hung)


def _for_hands(desk: Desk) -> Block:
    """My word for it, and two lines for the athlete's hand."""
    label = desk.setter.paragraph(desk.words.my_word, MARGIN, LEFT_WIDTH)
    own = desk.content.athlete.own_cue
    if own:
        quoted = f"{desk.words.open_quote}{own}{desk.words.close_quote}"
        label = label.below(desk.setter.paragraph(quoted, MARGIN, LEFT_WIDTH))
    return label.below(ruled(MARGIN, LEFT_WIDTH, 1 if own else 2, desk.room.ruled))
