"""The groups of the athlete's page, each as a block; `athlete_page` decides how they stand."""

from dataclasses import dataclass
from typing import Final

from tapmark.checklist.verdict import Chosen, Drill
from tapmark.drawing.idea import pair_of
from tapmark.drawing.pair import pair_drawing
from tapmark.drawing.pose import step_poses
from tapmark.drawing.shapes import Shapes, moved
from tapmark.drawing.signs import HEIGHT, change_sign, check_box, strength_tick
from tapmark.drawing.step_line import StepLook, step_line
from tapmark.sheet.content import SheetContent, SinceLine
from tapmark.sheet.layout import (
    BOX,
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
    PAPERS,
    RULE,
    SMALL_CUE,
    TEXT,
    THIN,
    Block,
    Paper,
    Setter,
    rule,
    ruled,
    stacked,
)
from tapmark.sheet.page_words import PageWords

THIRD: Final = 48.0  # pitch of three short things side by side
TICK: Final = 5.0  # room of a strength's tick
ROW: Final = 6.15
N_TICK_ROWS: Final = 6


@dataclass(frozen=True)
class Room:
    """How much room the page gives its groups, in mm; `athlete_page` gives it up in order.

    pair, figure:  one body height in the pair and in the step line.
    gap:           between groups.
    ruled:         pitch of the lines to write on; n_notes says how many.
    """

    pair: float = 40.0
    figure: float = 25.0
    gap: float = 4.6
    ruled: float = 6.5
    n_notes: int = 3
    has_list: bool = True
    has_second_pair: bool = True


@dataclass(frozen=True)
class Desk:
    """What every group needs to be set."""

    content: SheetContent
    setter: Setter
    words: PageWords
    room: Room

    @property
    def paper(self) -> Paper:
        """The sheet of paper."""
        return PAPERS[self.content.paper]


def strip(desk: Desk) -> Block:
    """Return code, date, run and picture quality over the one rule of the page."""
    paper, setter, content = desk.paper, desk.setter, desk.content
    code = setter.label(content.athlete.code, (MARGIN, 6.6), LARGE, bold=True)
    wide = setter.width(content.athlete.code, LARGE, bold=True)
    if wide <= LEFT_WIDTH + 4:
        facts = _facts(desk, CONTENT, paper.content)
        head = Block((code, *facts.shapes), max(facts.height, 9.0))
    else:  # a long code takes a line of its own
        lines = setter.paragraph(content.athlete.code, MARGIN, paper.full, LARGE, True, LARGE_LINE)
        head = lines.below(_facts(desk, MARGIN, paper.full), 0.6)
    y = head.height + 1.9
    return Block((*head.shapes, rule(MARGIN, y, paper.full, RULE)), y + RULE / 2)


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
    parts = [f"{typed}." if typed else "", sides[content.sides], quality[content.quality]]
    return " ".join(part for part in parts if part)


def strengths(desk: Desk) -> Block:
    """Return two or three ticks, side by side where they fit."""
    setter = desk.setter
    texts = [strength.words for strength in desk.content.assessment.strengths[:3]]
    if not texts:
        return EMPTY
    heading = setter.heading(desk.words.do_well)
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


def slot(desk: Desk, chosen: Chosen, is_first: bool) -> Block:
    """Return one thing: its name, you and the idea, what we saw, the cue, where it starts."""
    body = _name(desk, chosen).below(_shown(desk, chosen, is_first), 1.0)
    if not is_first:
        return body
    heading = lowered(desk.setter.heading(desk.content.assessment.heading or desk.words.one_thing))
    return heading.beside(body).beside(_left_of_slot(desk, body.height))


def _shown(desk: Desk, chosen: Chosen, is_first: bool) -> Block:
    """What we saw stands beside the pair, or over it where that takes less height."""
    paper = desk.paper
    pair = _pair(desk, chosen) if is_first or desk.room.has_second_pair else EMPTY
    over = _says(desk, chosen, CONTENT, paper.content)
    if not pair.height:
        said = over.below(_cue(desk, chosen, CONTENT, paper.content), 2.4)
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


def lowered(heading: Block) -> Block:
    """Put a heading on the baseline of a name in larger type beside it."""
    return Block(moved(heading.shapes, 0.0, DROP * (NAME / TEXT - 1)), heading.height)


def _name(desk: Desk, chosen: Chosen) -> Block:
    """The plain name in 15 pt and, beside it, the foot that is meant."""
    setter, words, item = desk.setter, desk.words, chosen.item
    name = setter.paragraph(chosen.phrase.name, CONTENT, desk.paper.content, NAME, True, 6.2)
    aside = [words.foot(item.feet), words.seen_once if item.once else ""]
    text = ", ".join(part for part in aside if part)
    if not text:
        return name
    last = [shape for shape in name.shapes][-1]
    wide = setter.width(chosen.phrase.name, NAME, bold=True)
    x = CONTENT + wide + 3.0
    if len(name.shapes) > 1 or x + setter.width(text) > desk.paper.right:
        return name.below(setter.paragraph(text, CONTENT, desk.paper.content))
    baseline = last.point[1]  # type: ignore[union-attr]
    return Block((*name.shapes, setter.label(text, (x, baseline))), name.height)


def _pair(desk: Desk, chosen: Chosen) -> Block:
    content, setter = desk.content, desk.setter
    is_far = chosen.item.feet == content.run.far_side
    pair = pair_of(chosen.item.number, step_poses(content.run, content.i_step), is_far)
    if pair is None:
        return EMPTY
    drawing = pair_drawing(pair, desk.paper.half, desk.room.pair, THIN)
    ground = drawing.above + 1.0
    names = list(zip((desk.words.you, desk.words.idea), drawing.clear, strict=True))
    is_clear = all(setter.width(text, bold=True) < room for text, (_, room) in names)
    baseline = ground + (0.9 if is_clear else drawing.below) + DROP
    labels = tuple(
        setter.label(text, (CONTENT + start, baseline), bold=True) for text, (start, _) in names
    )
    height = max(baseline + 1.0, ground + drawing.below)
    return Block((*moved(drawing.shapes, CONTENT, ground), *labels), height)


def _says(desk: Desk, chosen: Chosen, x: float, width: float) -> Block:
    return desk.setter.paragraph(chosen.phrase.says, x, width)


def _cue(desk: Desk, chosen: Chosen, x: float, width: float) -> Block:
    return cue(desk, chosen.phrase.cue, x, width) if chosen.phrase.cue else EMPTY


def _with_start(desk: Desk, chosen: Chosen, block: Block, x: float, width: float) -> Block:
    names = [desk.content.words.item(number) for number in chosen.starts_with]
    if not names:
        return block
    text = desk.words.starts_with.format(names=", ".join(names))
    return block.below(desk.setter.paragraph(text, x, width), 1.8)


def cue(desk: Desk, text: str, x: float, width: float) -> Block:
    """Return the cue in large type; its opening quote mark hangs outside the column."""
    setter, words = desk.setter, desk.words
    quoted = f"{text}{words.close_quote}"
    lines = setter.wrapped(quoted, width, LARGE, bold=True)
    size = LARGE if len(lines) <= 4 else SMALL_CUE
    pitch = LARGE_LINE * size / LARGE
    block = setter.paragraph(quoted, x, width, size, True, pitch)
    mark = setter.width(words.open_quote, size, bold=True)
    hung = setter.label(words.open_quote, (x - mark, DROP * size / TEXT), size, bold=True)
    return Block((hung, *block.shapes), block.height)


def _left_of_slot(desk: Desk, height: float) -> Block:
    """My word for it, and two lines for the athlete's hand at the lower edge."""
    lines = ruled(MARGIN, LEFT_WIDTH, 2, desk.room.ruled)
    label = desk.setter.paragraph(desk.words.my_word, MARGIN, LEFT_WIDTH)
    own = desk.content.athlete.own_cue
    if own:
        label = label.below(desk.setter.paragraph(f"“{own}”", MARGIN, LEFT_WIDTH))
    block = label.below(lines)
    return Block(moved(block.shapes, 0.0, max(9.0, height - block.height - 4.6)), 0.0)


def keep_this(desk: Desk) -> Block:
    """Return what stands where nothing is seen: keep this."""
    setter, words = desk.setter, desk.words
    name = setter.paragraph(words.keep_this, CONTENT, desk.paper.content, NAME, True, 6.2)
    heading = setter.heading(desk.words.one_thing)
    says = setter.paragraph(words.keep_says, CONTENT, desk.paper.content)
    return lowered(heading).beside(name.below(says, 1.0))


def blocked(desk: Desk) -> Block:
    """Return what stands in the place of tasks and drills when care comes first."""
    setter, words = desk.setter, desk.words
    says = setter.paragraph(
        desk.content.assessment.blocked, CONTENT, desk.paper.content, NAME, True, 6.4
    )
    heading = setter.heading(words.first_things)
    return lowered(heading).beside(says)


def drills(desk: Desk) -> Block:
    """Return drills with their cautions, the tick table and the coach's boxes."""
    chosen = desk.content.assessment.slots
    todo = [drill for each in chosen for drill in each.phrase.drills[: 1 if len(chosen) > 1 else 2]]
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
    return Block(moved(shapes, 0.0, max(LINE + 3, height - tall)), 0.0)


def since(desk: Desk) -> Block:
    """Return at most three names with the sign and the word of what became of them."""
    setter, words = desk.setter, desk.words
    heading = setter.heading(words.since)
    lines = desk.content.since[:3]
    if not lines:
        return heading.beside(setter.paragraph(words.starting_point, CONTENT, desk.paper.content))
    entries = [_since(desk, line, CONTENT + i * THIRD) for i, line in enumerate(lines)]
    shapes = tuple(shape for entry in entries for shape in entry.shapes)
    return heading.beside(Block(shapes, max(entry.height for entry in entries)))


def _since(desk: Desk, line: SinceLine, x: float) -> Block:
    setter = desk.setter
    name = setter.paragraph(line.name, x, THIRD - 2)
    sign = change_sign(line.word, (x, name.height + DROP - 1.35), HEIGHT)
    word = setter.paragraph(desk.words.change(line.word), x + 11.0, THIRD - 12.0, bold=True)
    block = Block((*name.shapes, *sign), name.height).below(word)
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
    return Block(moved(drawn.shapes, MARGIN, drawn.above), drawn.above + drawn.below)


def notes(desk: Desk) -> Block:
    """Return the coach's notes, lines to write on, and the re-test week."""
    setter, words, room = desk.setter, desk.words, desk.room
    typed = setter.paragraph(desk.content.visit.notes, CONTENT, desk.paper.content)
    n = max(0, room.n_notes - len(typed.shapes))
    lines = typed.below(ruled(CONTENT, desk.paper.content, n, room.ruled))
    return setter.heading(words.notes).beside(lines).beside(_retest(desk, lines.height))


def _retest(desk: Desk, height: float) -> Block:
    setter, week = desk.setter, desk.content.visit.retest_week
    label = setter.paragraph(desk.words.retest, MARGIN, LEFT_WIDTH)
    if week:
        block = label.below(setter.paragraph(week, MARGIN, LEFT_WIDTH, bold=True))
    else:
        block = label.below(ruled(MARGIN, LEFT_WIDTH, 1, desk.room.ruled))
    top = max(LINE, height - block.height)
    return Block(moved(block.shapes, 0.0, top), top + block.height)


def foot(desk: Desk, says_doubt: bool) -> Block:
    """Return cautions and privacy, over the full width."""
    setter, words, paper = desk.setter, desk.words, desk.paper
    standing = {words.stop, words.pain_today}
    extra = [each for each in desk.content.assessment.cautions if each not in standing]
    texts = [(words.stop, True), *((each, False) for each in extra)]
    texts += [(words.can_be_wrong, False)] if says_doubt else []
    texts += [(words.private, False)]
    return stacked(
        setter.paragraph(text, MARGIN, paper.full, bold=bold, line=LINE - 0.2)
        for text, bold in texts
    )
