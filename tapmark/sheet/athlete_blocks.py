"""The groups of the athlete's page, each as a block; `athlete_page` decides how they stand."""

from typing import Final

from tapmark.drawing.shapes import Shapes
from tapmark.drawing.signs import HEIGHT, change_sign, strength_tick
from tapmark.drawing.step_line import StepLook, step_line
from tapmark.sheet.content import SheetContent, SinceLine
from tapmark.sheet.desk import Desk, lowered
from tapmark.sheet.layout import (
    CONTENT,
    DROP,
    EMPTY,
    HEAVY,
    LARGE,
    LARGE_LINE,
    LEFT_WIDTH,
    LINE,
    MARGIN,
    NAME,
    TEXT,
    THIN,
    TITLE_LINE,
    Block,
    rule,
    ruled,
    ruled_off,
    stacked,
)
from tapmark.sheet.page_words import PageWords

THIRD: Final = 48.0  # pitch of three short things side by side
TICK: Final = 5.0  # room of a strength's tick


def strip(desk: Desk) -> Block:
    """Return code, date, run and picture quality over the one rule of the page."""
    paper, setter, content = desk.paper, desk.setter, desk.content
    wide = setter.width(content.athlete.code, LARGE, bold=True)
    if wide <= LEFT_WIDTH + 4:
        facts = _facts(desk, CONTENT, paper.content)
        head = Block((setter.title(content.athlete.code),), TITLE_LINE).beside(facts)
    else:  # a long code takes a line of its own
        lines = setter.paragraph(content.athlete.code, MARGIN, paper.full, LARGE, True, LARGE_LINE)
        head = lines.below(_facts(desk, MARGIN, paper.full), 0.6)
    return ruled_off(head, paper.full)


def _facts(desk: Desk, x: float, width: float) -> Block:
    setter, words, visit = desk.setter, desk.words, desk.content.visit
    day = words.date(desk.content.day)
    number = words.sheet_number.format(n=visit.sheet_number) if visit.sheet_number else ""
    first = setter.label(day, (x, DROP), bold=True)
    at = x + setter.width(day, bold=True) + 3.5
    second = setter.label(number, (at, DROP)) if number else None
    lines = setter.paragraph(run_facts(desk.content, words), x, width)
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


def strengths(desk: Desk) -> Block:
    """Return two or three ticks, side by side where they fit."""
    setter = desk.setter
    texts = [
        strength.words for strength in desk.content.assessment.strengths[: desk.room.n_strengths]
    ]
    if not texts:
        return EMPTY
    heading = desk.heading(desk.words.do_well)
    fits = all(setter.width(text) <= THIRD - TICK - 2 for text in texts)
    if fits:
        at = [(CONTENT + i * THIRD, 0.0) for i in range(len(texts))]
        height = LINE
    else:
        at = [(CONTENT, i * LINE) for i in range(len(texts))]
        height = LINE * len(texts)
    shapes: Shapes = ()
    for text, (x, y) in zip(texts, at, strict=True):
        text = setter.shortened(text, desk.paper.right - x - TICK)
        shapes += strength_tick((x, y + DROP + 0.3), HEIGHT)
        shapes += (setter.label(text, (x + TICK, y + DROP)),)
    return heading.beside(Block(shapes, height))


def instead(desk: Desk) -> Block:
    """Return what stands where there is no task: keep this, or what the film can't tell."""
    title, *says = desk.content.assessment.instead
    name = desk.setter.paragraph(title, CONTENT, desk.paper.content, NAME, True, 6.2)
    lines = stacked(desk.setter.paragraph(text, CONTENT, desk.paper.content) for text in says)
    heading = desk.heading(desk.words.this_time)
    return lowered(heading).beside(name.below(lines, 1.0))


def blocked(desk: Desk) -> Block:
    """Return what stands in the place of tasks and drills when care comes first."""
    setter, words = desk.setter, desk.words
    says = setter.paragraph(
        desk.content.assessment.blocked, CONTENT, desk.paper.content, NAME, True, 6.4
    )
    heading = desk.heading(words.first_things)
    return lowered(heading).beside(says)


def since(desk: Desk) -> Block:
    """Return at most three names with the sign and the word of what became of them."""
    setter, words = desk.setter, desk.words
    heading = desk.heading(words.since)
    lines = desk.content.since[:3]
    if desk.content.assessment.blocked or not (lines or desk.content.assessment.is_first_sheet):
        return EMPTY
    if not lines:
        return heading.beside(setter.paragraph(words.starting_point, CONTENT, desk.paper.content))
    entries = [_since(desk, line, CONTENT + i * THIRD) for i, line in enumerate(lines)]
    for entry in entries:
        heading = heading.beside(entry)
    return heading


def _since(desk: Desk, line: SinceLine, x: float) -> Block:
    setter = desk.setter
    text = setter.shortened(line.name, THIRD - 2) if desk.room.is_terse else line.name
    name = setter.paragraph(text, x, THIRD - 2)
    sign = change_sign(line.word, (x, name.height + DROP - 1.35), HEIGHT)
    word = setter.paragraph(desk.words.change(line.word), x + 11.0, THIRD - 14.0, bold=True)
    block = name.with_shapes(*sign).below(word)
    return block.below(setter.paragraph(line.note, x, THIRD - 2)) if line.note else block


def step(desk: Desk) -> Block:
    """Return the step line over the full width."""
    look = StepLook(
        figure=desk.room.figure,
        text=TEXT,
        thin=THIN,
        heavy=HEAVY,
        leader=THIN,
        min_outline=THIN,
    )
    content = desk.content
    drawn = step_line(
        content.run, content.i_step, desk.paper.full, look, desk.setter.width, desk.words.step
    )
    height = drawn.above + drawn.below
    return Block((), height, ((lambda: drawn.shapes, MARGIN, drawn.above),))


def notes(desk: Desk) -> Block:
    """Return the coach's notes, lines to write on, and the re-test week."""
    words, room = desk.words, desk.room
    typed = _typed(desk)
    n = max(0, room.n_notes - round(typed.height / LINE))
    lines = typed.below(ruled(CONTENT, desk.paper.content, n, room.ruled))
    heading = desk.heading(words.notes)
    if room.is_terse:
        return heading.beside(lines.below(_retest_in_line(desk)))
    week = _retest(desk)
    top = max(heading.height, lines.height - week.height)
    return heading.beside(lines).beside(week.shifted(0.0, top, top + week.height))


def _typed(desk: Desk) -> Block:
    """What the coach typed, at most three lines; the coach's copy has the rest."""
    text, setter, width = desk.content.visit.notes, desk.setter, desk.paper.content
    most = max(2, min(3, desk.room.n_notes))
    lines = setter.wrapped(text, width)
    if len(lines) > most:
        lines[most - 1 :] = [setter.shortened(" ".join(lines[most - 1 :]), width)]
    return stacked(setter.paragraph(line, CONTENT, width) for line in lines)


def _retest(desk: Desk) -> Block:
    setter, week = desk.setter, desk.content.visit.retest_week
    label = setter.paragraph(desk.words.retest, MARGIN, LEFT_WIDTH)
    if week:
        return label.below(setter.paragraph(week, MARGIN, LEFT_WIDTH, bold=True))
    return label.below(ruled(MARGIN, LEFT_WIDTH, 1, desk.room.ruled))


def _retest_in_line(desk: Desk) -> Block:
    """The re-test week beside its label, where the left column has no room for it."""
    setter, week = desk.setter, desk.content.visit.retest_week
    text = setter.shortened(f"{desk.words.retest} {week}".strip(), desk.paper.content)
    at = CONTENT + setter.width(text) + 2.0
    line = () if week else (rule(at, DROP + 0.9, max(8.0, desk.paper.right - at)),)
    return Block((setter.label(text, (CONTENT, DROP)), *line), LINE + 1.0)


def foot(desk: Desk) -> Block:
    """Return cautions and privacy, over the full width; the doubt too where no list tells it."""
    setter, words, paper = desk.setter, desk.words, desk.paper
    standing = {words.stop, words.pain_today}
    extra = [each for each in desk.content.assessment.cautions if each not in standing]
    doubt = [words.can_be_off] if not desk.room.has_list else []
    said = " ".join([*extra, *doubt, words.private])
    first = setter.paragraph(words.stop, MARGIN, paper.full, bold=True, line=LINE - 0.2)
    return first.below(setter.paragraph(said, MARGIN, paper.full, line=LINE - 0.2))
