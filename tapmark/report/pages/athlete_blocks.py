"""The groups of the athlete's page, each as a block."""

from collections.abc import Sequence
from typing import Final

from tapmark.checklist.verdict import Assessment, Chosen, Drill, ItemVerdict
from tapmark.report.drawing.idea import back_pair, pair_drawing, pair_of
from tapmark.report.drawing.pose import step_poses
from tapmark.report.drawing.shapes import Shapes
from tapmark.report.drawing.signs import HEIGHT, change_sign, check_box, strength_tick, verdict_sign
from tapmark.report.drawing.step_line import StepLook, step_line
from tapmark.report.pages.content import SheetContent, SinceLine
from tapmark.report.pages.layout import (
    BOX,
    CONTENT,
    DROP,
    EMPTY,
    GUTTER,
    HEAVY,
    LARGE,
    LARGE_LINE,
    LEFT_WIDTH,
    LINE,
    LIST_LINE,
    MARGIN,
    NAME,
    SMALL_CUE,
    TEXT,
    THIN,
    TITLE_LINE,
    Block,
    rule,
    ruled,
    ruled_off,
    stacked,
)
from tapmark.report.pages.photo import photo_frame
from tapmark.report.pages.space import PageSetup, lowered
from tapmark.report.pages.words import PageWords

THIRD: Final = 48.0  # pitch of three short things side by side
TICK: Final = 5.0  # room of a strength's tick


def strip(setup: PageSetup) -> Block:
    """Return code, date, run and picture quality over the one rule of the page."""
    paper, setter, content = setup.paper, setup.setter, setup.content
    wide = setter.width(content.athlete.code, LARGE, bold=True)
    if wide <= LEFT_WIDTH + 4:
        facts = _facts(setup, CONTENT, paper.content)
        head = Block((setter.title(content.athlete.code),), TITLE_LINE).compare(facts)
    else:  # a long code takes a line of its own
        lines = setter.paragraph(content.athlete.code, MARGIN, paper.full, LARGE, True, LARGE_LINE)
        head = lines.below(_facts(setup, MARGIN, paper.full), 0.6)
    return ruled_off(head, paper.full)


def _facts(setup: PageSetup, x: float, width: float) -> Block:
    setter, words, visit = setup.setter, setup.words, setup.content.visit
    day = words.date(setup.content.day)
    number = words.sheet_number.format(n=visit.sheet_number) if visit.sheet_number else ""
    first = setter.label(day, (x, DROP), bold=True)
    at = x + setter.width(day, bold=True) + 3.5
    second = setter.label(number, (at, DROP)) if number else None
    lines = setter.paragraph(run_facts(setup.content, words), x, width)
    return Block((first, second) if second else (first,), LINE).below(lines)


def run_facts(content: SheetContent, words: PageWords) -> str:
    """Return zone, effort, shoes, side and picture quality in one line of plain text."""
    set_up = content.run.set_up
    effort = words.effort.format(n=set_up.effort) if set_up.effort is not None else ""
    typed = ", ".join(part for part in (set_up.zone, effort, set_up.shoes) if part)
    sides = {"right": words.filmed_right, "left": words.filmed_left, "both": words.filmed_both}
    quality = {"good": words.picture_good, "fair": words.picture_fair, "only": words.picture_only}
    parts = [
        f"{typed[:1].upper()}{typed[1:]}." if typed else "",
        sides[content.sides],
        quality[content.quality],
    ]
    return " ".join(part for part in parts if part)


def strengths(setup: PageSetup) -> Block:
    """Return two or three ticks, side by side where they fit."""
    setter = setup.setter
    texts = [
        strength.words for strength in setup.content.assessment.strengths[: setup.room.n_strengths]
    ]
    if not texts:
        return EMPTY
    heading = setup.heading(setup.words.do_well)
    fits = all(setter.width(text) <= THIRD - TICK - 2 for text in texts)
    if fits:
        at = [(CONTENT + i * THIRD, 0.0) for i in range(len(texts))]
        height = LINE
    else:
        at = [(CONTENT, i * LINE) for i in range(len(texts))]
        height = LINE * len(texts)
    shapes: Shapes = ()
    for text, (x, y) in zip(texts, at, strict=True):
        text = setter.shortened(text, setup.paper.right - x - TICK)
        shapes += strength_tick((x, y + DROP + 0.3), HEIGHT)
        shapes += (setter.label(text, (x + TICK, y + DROP)),)
    return heading.compare(Block(shapes, height))


def instead(setup: PageSetup) -> Block:
    """Return what stands where there is no task: keep this, or what the film can't tell."""
    title, *says = setup.content.assessment.instead
    name = setup.setter.paragraph(title, CONTENT, setup.paper.content, NAME, True, 6.2)
    lines = stacked(setup.setter.paragraph(text, CONTENT, setup.paper.content) for text in says)
    heading = setup.heading(setup.words.this_time)
    return lowered(heading).compare(name.below(lines, 1.0))


def blocked(setup: PageSetup) -> Block:
    """Return what stands in the place of tasks and drills when care comes first."""
    setter, words = setup.setter, setup.words
    says = setter.paragraph(
        setup.content.assessment.blocked, CONTENT, setup.paper.content, NAME, True, 6.4
    )
    heading = setup.heading(words.first_things)
    return lowered(heading).compare(says)


def since(setup: PageSetup) -> Block:
    """Return at most three names with the sign and the word of what became of them."""
    setter, words = setup.setter, setup.words
    heading = setup.heading(words.since)
    lines = setup.content.since[:3]
    if setup.content.assessment.blocked or not (lines or setup.content.assessment.is_first_sheet):
        return EMPTY
    if not lines:
        return heading.compare(setter.paragraph(words.starting_point, CONTENT, setup.paper.content))
    entries = [_since(setup, line, CONTENT + i * THIRD) for i, line in enumerate(lines)]
    for entry in entries:
        heading = heading.compare(entry)
    return heading


def _since(setup: PageSetup, line: SinceLine, x: float) -> Block:
    setter = setup.setter
    text = setter.shortened(line.name, THIRD - 2) if setup.room.is_terse else line.name
    name = setter.paragraph(text, x, THIRD - 2)
    sign = change_sign(line.word, (x, name.height + DROP - 1.35), HEIGHT)
    word = setter.paragraph(setup.words.change(line.word), x + 11.0, THIRD - 14.0, bold=True)
    block = name.with_shapes(*sign).below(word)
    return block.below(setter.paragraph(line.note, x, THIRD - 2)) if line.note else block


def step(setup: PageSetup) -> Block:
    """Return the step line over the full width."""
    look = StepLook(
        figure=setup.room.figure,
        text=TEXT,
        thin=THIN,
        heavy=HEAVY,
        leader=THIN,
        min_outline=THIN,
    )
    content = setup.content
    drawn = step_line(
        content.run, content.i_step, setup.paper.full, look, setup.setter.width, setup.words.step
    )
    height = drawn.above + drawn.below
    return Block((), height, ((lambda: drawn.shapes, MARGIN, drawn.above),))


def notes(setup: PageSetup) -> Block:
    """Return the coach's notes, lines to write on, and the re-test week."""
    words, room = setup.words, setup.room
    typed = _typed(setup)
    n = max(0, room.n_notes - round(typed.height / LINE))
    lines = typed.below(ruled(CONTENT, setup.paper.content, n, room.ruled))
    heading = setup.heading(words.notes)
    if room.is_terse:
        return heading.compare(lines.below(_retest_in_line(setup)))
    week = _retest(setup)
    top = max(heading.height, lines.height - week.height)
    return heading.compare(lines).compare(week.shifted(0.0, top, top + week.height))


def _typed(setup: PageSetup) -> Block:
    """What the coach typed, at most three lines; the coach's copy has the rest."""
    text, setter, width = setup.content.visit.notes, setup.setter, setup.paper.content
    most = max(2, min(3, setup.room.n_notes))
    lines = setter.wrapped(text, width)
    if len(lines) > most:
        lines[most - 1 :] = [setter.shortened(" ".join(lines[most - 1 :]), width)]
    return stacked(setter.paragraph(line, CONTENT, width) for line in lines)


def _retest(setup: PageSetup) -> Block:
    setter, week = setup.setter, setup.content.visit.retest_week
    label = setter.paragraph(setup.words.retest, MARGIN, LEFT_WIDTH)
    if week:
        return label.below(setter.paragraph(week, MARGIN, LEFT_WIDTH, bold=True))
    return label.below(ruled(MARGIN, LEFT_WIDTH, 1, setup.room.ruled))


def _retest_in_line(setup: PageSetup) -> Block:
    """The re-test week beside its label, where the left column has no room for it."""
    setter, week = setup.setter, setup.content.visit.retest_week
    text = setter.shortened(f"{setup.words.retest} {week}".strip(), setup.paper.content)
    at = CONTENT + setter.width(text) + 2.0
    line = () if week else (rule(at, DROP + 0.9, max(8.0, setup.paper.right - at)),)
    return Block((setter.label(text, (CONTENT, DROP)), *line), LINE + 1.0)


def foot(setup: PageSetup) -> Block:
    """Return cautions and privacy, over the full width; the doubt too where no list tells it."""
    setter, words, paper = setup.setter, setup.words, setup.paper
    standing = {words.stop, words.pain_today}
    extra = [each for each in setup.content.assessment.cautions if each not in standing]
    doubt = [words.can_be_off] if not setup.room.has_list else []
    said = " ".join([*extra, *doubt, words.private])
    first = setter.paragraph(words.stop, MARGIN, paper.full, bold=True, line=LINE - 0.2)
    return first.below(setter.paragraph(said, MARGIN, paper.full, line=LINE - 0.2))


SIGN = 7.6  # room of a sign before its word


def checklist(setup: PageSetup) -> Block:
    """Return the list in the content column, or over the full width where it is too wide."""
    setter, words = setup.setter, setup.words
    items = setup.content.assessment.items
    heading = setup.heading(words.checklist)
    doubt = setter.paragraph(words.can_be_off, MARGIN, LEFT_WIDTH, line=LIST_LINE)
    is_narrow = all(_width(setup, item) <= setup.paper.half for item in items)
    if is_narrow:
        rows = _columns(setup, items, (CONTENT, setup.paper.second), setup.paper.half)
        return heading.below(doubt).compare(rows)
    half = (setup.paper.full - GUTTER) / 2
    rows = _columns(setup, items, (MARGIN, MARGIN + half + GUTTER), half)
    over = setter.paragraph(words.can_be_off, CONTENT, setup.paper.content)
    return heading.compare(over).below(rows, 0.6)


def _columns(
    setup: PageSetup, items: Sequence[ItemVerdict], lefts: tuple[float, float], width: float
) -> Block:
    middle = (len(items) + 1) // 2
    shapes: Shapes = ()
    for left, column in zip(lefts, (items[:middle], items[middle:]), strict=True):
        word_at = left + width - _word_width(setup, items)
        for i, item in enumerate(column):
            shapes += _row(setup, item, left, word_at, left + width, DROP + i * LIST_LINE)
    return Block(shapes, middle * LIST_LINE)


def _row(
    setup: PageSetup, item: ItemVerdict, left: float, word_at: float, right: float, y: float
) -> Shapes:
    setter = setup.setter
    if item.is_result:
        follows = setup.content.words.say("verdicts.follows")
        room = right - left - setter.width(follows, italic=True) - 2.0
        name = setter.shortened(item.name, room)
        return (
            setter.label(name, (left, y), italic=True),
            setter.label(follows, (right, y), italic=True, anchor="e"),
        )
    name = setter.shortened(item.name, word_at - SIGN - left - 0.4)
    word = setter.label(setup.content.words.verdict(item.word), (word_at, y))
    sign = verdict_sign(item.word, (word_at - SIGN / 2 - 0.2, y - 1.35), HEIGHT)
    return (setter.label(name, (left, y)), *sign, word)


def _width(setup: PageSetup, item: ItemVerdict) -> float:
    if item.is_result:
        follows = setup.content.words.say("verdicts.follows")
        return setup.setter.width(f"{item.name}  {follows}", TEXT, italic=True)
    name = setup.setter.width(item.name)
    return name + SIGN + 0.4 + _word_width(setup, setup.content.assessment.items)


def _word_width(setup: PageSetup, items: Sequence[ItemVerdict]) -> float:
    spoken = {setup.content.words.verdict(item.word) for item in items if not item.is_result}
    return max((setup.setter.width(word) for word in spoken), default=0.0)


ROW: Final = 6.15
N_TICK_ROWS: Final = 6
LEAST_DATE: Final = 13.0  # room of the date and the gap behind it
HEAD_GAP: Final = 1.4


def drills_of(assessment: Assessment) -> list[Drill]:
    """Return at most two drills: two of one thing, or the first of each of two."""
    most = 1 if len(assessment.slots) > 1 else 2
    return [drill for each in assessment.slots for drill in each.phrase.drills[:most]]


def drills(setup: PageSetup) -> Block:
    """Return drills with their cautions, the tick table and the coach's boxes."""
    todo = drills_of(setup.content.assessment)[: setup.room.n_drills]
    if not todo:
        return EMPTY
    setter, words, paper = setup.setter, setup.words, setup.paper
    pain = setter.paragraph(words.pain_today, CONTENT, paper.half, bold=True)
    told = stacked([pain, *(_drill(setup, drill) for drill in todo)], 2.2)
    body = told.compare(_tick_table(setup))
    return setup.heading(words.do_this).compare(body).compare(_coach_boxes(setup, body.height))


def _drill(setup: PageSetup, drill: Drill) -> Block:
    setter, width = setup.setter, setup.paper.half
    care = " ".join(text for text in (drill.stop, drill.caution) if text)
    return stacked(
        [
            setter.paragraph(drill.name, CONTENT, width, bold=True),
            setter.paragraph(drill.dose, CONTENT, width),
            setter.paragraph(care, CONTENT, width),
        ]
    )


def _tick_table(setup: PageSetup) -> Block:
    """Six rows: a date to write, did it, and how it felt."""
    setter, words, paper = setup.setter, setup.words, setup.paper
    text = words.tick_next
    if setup.room.is_terse:
        text = setter.shortened(text, paper.half, bold=True)
    title = setter.paragraph(text, paper.second, paper.half, bold=True)
    heads = [words.tick_did, words.tick_easier, words.tick_same, words.tick_harder]
    centres, labels = _heads(setup, heads)
    date_width = min(17.0, centres[0] - BOX / 2 - 3.0 - paper.second)
    date = setter.label(setter.shortened(words.tick_date, date_width), (paper.second, DROP))
    rows: Shapes = ()
    for i in range(N_TICK_ROWS):
        rows += (rule(paper.second, i * ROW + BOX - THIN / 2, date_width),)
        for x in centres:
            rows += check_box((x - BOX / 2, i * ROW), BOX, width=THIN)
    boxes = Block(rows, (N_TICK_ROWS - 1) * ROW + BOX)
    return title.below(labels.with_shapes(date), 1.2).below(boxes, 0.8)


def _heads(setup: PageSetup, heads: list[str]) -> tuple[list[float], Block]:
    """Return the middles of the four columns of boxes, and their heads over them.

    Heads that are too wide for one row stand on two by turns; the last column ends at the margin.
    """
    setter, paper = setup.setter, setup.paper
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


def _coach_boxes(setup: PageSetup, height: float) -> Block:
    setter, words = setup.setter, setup.words
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


QUOTE: Final = 4.0  # room between the pair and the quote mark that hangs beside it


def slot(setup: PageSetup, chosen: Chosen, is_first: bool) -> Block:
    """Return one thing: its name, you and the idea, what we saw, the cue, where it starts."""
    body = _name(setup, chosen).below(_shown(setup, chosen, is_first), 1.0)
    if not is_first:
        return body
    heading = lowered(setup.heading(setup.content.assessment.heading or setup.words.one_thing))
    below = _for_hands(setup)
    top = max(heading.height + 2.4, body.height - below.height - 4.6)
    return heading.compare(body).compare(below.shifted(0.0, top, top + below.height))


def _shown(setup: PageSetup, chosen: Chosen, is_first: bool) -> Block:
    """What we saw stands beside the pair, or over it where that takes less height."""
    paper = setup.paper
    has_pair = setup.room.pair > 0 and (is_first or setup.room.has_second_pair)
    key = ("pair", chosen.item.number, setup.room.pair)
    pair = setup.once(key, lambda: _pair(setup, chosen)) if has_pair else EMPTY
    over = _says(setup, chosen, CONTENT, paper.content)
    if not pair.height:
        large = _cue(setup, chosen, CONTENT, paper.content)
        is_bare = setup.room.is_terse and not is_first
        said = large if is_bare else over.below(large, 2.4)
        return _with_start(setup, chosen, said, CONTENT, paper.content)
    cue_only = _cue(setup, chosen, paper.second, paper.half)
    said = _says(setup, chosen, paper.second, paper.half).below(cue_only, 2.4)
    ways = (
        _beside_pair(setup, chosen, pair, said),
        over.below(_beside_pair(setup, chosen, pair, cue_only), 1.6),
    )
    return min(ways, key=lambda way: way.height)


def _beside_pair(setup: PageSetup, chosen: Chosen, pair: Block, said: Block) -> Block:
    """The shorter side tells where it probably starts."""
    paper = setup.paper
    if pair.height < said.height:
        pair = _with_start(setup, chosen, pair, CONTENT, paper.half)
    else:
        said = _with_start(setup, chosen, said, paper.second, paper.half)
    return pair.compare(said)


def _name(setup: PageSetup, chosen: Chosen) -> Block:
    """The plain name in 15 pt and, beside it, the foot that is meant."""
    setter, words, item = setup.setter, setup.words, chosen.item
    name = setter.paragraph(chosen.phrase.name, CONTENT, setup.paper.content, NAME, True, 6.2)
    text = aside(setup.content, words, item)
    if not text:
        return name
    last = name.own[-1]
    wide = setter.width(chosen.phrase.name, NAME, bold=True)
    x = CONTENT + wide + 3.0
    if len(name.own) > 1 or x + setter.width(text) > setup.paper.right:
        return name.below(setter.paragraph(text, CONTENT, setup.paper.content))
    baseline = last.point[1]  # type: ignore[union-attr]
    return name.with_shapes(setter.label(text, (x, baseline)))


def aside(content: SheetContent, words: PageWords, item: ItemVerdict) -> str:
    """Return which foot is meant and how sure the film is, to stand beside a name."""
    if item.is_sure:
        word = words.seen_once if item.once else ""
    else:
        word = content.words.verdict(item.word)
    return ", ".join(part for part in (words.foot(item.feet), word) if part)


def _pair(setup: PageSetup, chosen: Chosen) -> Block:
    content, setter, wide = setup.content, setup.setter, setup.paper.half - QUOTE
    is_far, photo = chosen.item.feet == content.run.far_side, None
    pair = pair_of(chosen.item.number, step_poses(content.run, content.i_step), is_far)
    if pair is not None:
        photo = content.photo if content.photo and content.photo.event == pair.event else None
        drawing = pair_drawing(pair, wide, setup.room.pair, THIN, shows_you=photo is None)
        first = setup.words.you
    else:
        seen = back_pair(chosen.item.number, wide, setup.room.pair) if chosen.item.is_sure else None
        if seen is None:
            return EMPTY
        drawing, first = seen, setup.words.saw
    ground = drawing.above + 1.0
    names = list(zip((first, setup.words.idea), drawing.clear, strict=True))
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


def _says(setup: PageSetup, chosen: Chosen, x: float, width: float) -> Block:
    says = chosen.phrase.says
    if setup.room.is_terse:
        says = first_sentence(says)
    return setup.setter.paragraph(says, x, width)


def first_sentence(text: str) -> str:
    """Return a text up to its first full stop."""
    head, stop, _ = text.partition(". ")
    return f"{head}." if stop else text


def _cue(setup: PageSetup, chosen: Chosen, x: float, width: float) -> Block:
    return cue(setup, chosen.phrase.cue, x, width) if chosen.phrase.cue else EMPTY


def _with_start(setup: PageSetup, chosen: Chosen, block: Block, x: float, width: float) -> Block:
    text = start_text(setup.content, setup.words, chosen, setup.room.n_causes)
    return block.below(setup.setter.paragraph(text, x, width), 1.8) if text else block


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


def cue(setup: PageSetup, text: str, x: float, width: float) -> Block:
    """Return the cue in large type; its opening quote mark hangs outside the column."""
    setter, words = setup.setter, setup.words
    quoted = f"{text}{words.close_quote}"
    lines = setter.wrapped(quoted, width, LARGE, bold=True)
    size = setup.room.cue if len(lines) <= 4 else SMALL_CUE
    pitch = LARGE_LINE * size / LARGE
    block = setter.paragraph(quoted, x, width, size, True, pitch)
    mark = setter.width(words.open_quote, size, bold=True)
    hung = setter.label(words.open_quote, (x - mark, DROP * size / TEXT), size, bold=True)
    return block.with_shapes(hung)


def _for_hands(setup: PageSetup) -> Block:
    """My word for it, and two lines for the athlete's hand."""
    label = setup.setter.paragraph(setup.words.my_word, MARGIN, LEFT_WIDTH)
    own = setup.content.athlete.own_cue
    if own:
        quoted = f"{setup.words.open_quote}{own}{setup.words.close_quote}"
        label = label.below(setup.setter.paragraph(quoted, MARGIN, LEFT_WIDTH))
    return label.below(ruled(MARGIN, LEFT_WIDTH, 1 if own else 2, setup.room.ruled))
