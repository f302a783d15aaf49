"""The athlete's page: one side of paper, in the order a runner reads it.

Strip, what you do well, your one thing, do this, ticks, since last time, checklist, step line,
notes, re-test week, foot. Where the text needs more room, the page gives up in a fixed order:
the pair, the figures, the gaps, the ruled lines, at last the long list. Text and boxes never
shrink.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Final

from PIL import Image

from tapmark.checklist.verdict import Drill
from tapmark.errors import SheetTooFull
from tapmark.report.drawing.painter import Fonts
from tapmark.report.drawing.shapes import Shapes
from tapmark.report.drawing.signs import HEIGHT, change_sign, check_box, strength_tick, verdict_sign
from tapmark.report.pages.content import SheetContent
from tapmark.report.pages.layout import (
    BOX,
    CONTENT,
    DROP,
    EMPTY,
    GUTTER,
    HEADING_WIDTH,
    LARGE,
    LARGE_LINE,
    LEFT_WIDTH,
    LINE,
    LIST_LINE,
    MARGIN,
    NAME,
    PAPERS,
    PX_PER_MM,
    SMALL_CUE,
    TEXT,
    THIN,
    TITLE_LINE,
    Block,
    Paper,
    Setter,
    painted,
    rule,
    ruled,
    ruled_off,
    spread,
    stacked,
)
from tapmark.report.pages.photo import paste, photo_frame
from tapmark.report.pages.sections import (
    N_TICK_ROWS,
    Drills,
    Entries,
    Entry,
    Head,
    Notes,
    Pair,
    Paragraph,
    Priority,
    Section,
    Sections,
    StepFigure,
    athlete_sections,
    foot,
    head,
)
from tapmark.report.pages.words import PageWords, page_words


@dataclass(frozen=True)
class Room:
    """Room of one try, in mm.

    pair, figure:  one body height in the pair and in the step line; a pair of 0 is left out.
    gap:           between groups.
    ruled:         pitch of the lines to write on; n_notes says how many.
    cue:           em of the cue.
    n_causes:      how many names "probably starts with" may list.
    is_terse:      one sentence for the first thing, the cue alone for the second, headings of two
                   lines at most.
    """

    pair: float = 40.0
    figure: float = 25.0
    gap: float = 4.6
    ruled: float = 6.5
    n_notes: int = 3
    has_list: bool = True
    has_second_pair: bool = True
    cue: float = LARGE
    n_causes: int = 2
    n_drills: int = 2
    n_strengths: int = 3
    is_terse: bool = False


Changes = tuple[dict[str, Any], ...]
GIVE_UP: Final[Changes] = (
    {"pair": 34.0},
    {"figure": 22.0},
    {"gap": 3.6},
    {"ruled": 6.0},
    {"pair": 28.0},
    {"gap": 3.0},
    {"n_notes": 2},
    {"pair": 24.0, "gap": 2.6},
)
KEEP_THE_LIST: Final[Changes] = ({"cue": SMALL_CUE}, {"n_causes": 1})
SHORTEN: Final[Changes] = (
    {"cue": SMALL_CUE},
    {"n_causes": 1},
    {"n_causes": 0},
    {"n_drills": 1},
    {"pair": 0.0},
    {"n_notes": 1, "n_strengths": 2},
    {"figure": 17.0, "gap": 2.0},
    {"is_terse": True},
    {"gap": 1.5},
)


def rooms(has_list: bool, is_quiet: bool) -> Iterator[Room]:
    """Yield rooms from the most generous to the most frugal.

    has_list: the page starts with the long list; without it the figures may be larger.
    is_quiet: nothing to do on this page, so that the figures may be larger still.
    """
    if is_quiet:
        yield from (Room(figure=tall, has_list=has_list) for tall in (38.0, 34.0))
    if has_list:
        yield from _changed(Room(), GIVE_UP + KEEP_THE_LIST)
    room = Room(has_list=False)
    if not has_list:
        yield replace(room, figure=30.0)
    yield from _changed(room, GIVE_UP)
    one_pair = replace(room, has_second_pair=False)
    yield from _changed(one_pair, GIVE_UP + SHORTEN)


def _changed(room: Room, changes: Changes) -> Iterator[Room]:
    yield room
    for change in changes:
        room = replace(room, **change)
        yield room


@dataclass(frozen=True)
class PageSetup:
    """What every group needs to be set; kept holds what was drawn already."""

    content: SheetContent
    sections: Sections
    setter: Setter
    words: PageWords
    room: Room
    kept: dict[tuple[object, ...], Block] = field(default_factory=dict, compare=False)

    def once(self, key: tuple[object, ...], make: Callable[[], Block]) -> Block:
        """Return a drawn group; it is drawn once for all layouts that give it the same room."""
        if key not in self.kept:
            self.kept[key] = make()
        return self.kept[key]

    def heading(self, text: str) -> Block:
        """Return a heading in the left column; on a crowded page it takes two lines at most."""
        lines = self.setter.wrapped(text, HEADING_WIDTH, bold=True)
        if self.room.is_terse and len(lines) > 2:
            second = self.setter.shortened(" ".join(lines[1:]), HEADING_WIDTH, bold=True)
            first = self.setter.paragraph(lines[0], MARGIN, HEADING_WIDTH, bold=True)
            return first.below(self.setter.paragraph(second, MARGIN, HEADING_WIDTH, bold=True))
        return self.setter.heading(text)

    @property
    def paper(self) -> Paper:
        """The sheet of paper."""
        return PAPERS[self.content.paper]


def lowered(heading: Block) -> Block:
    """Put a heading on the baseline of a name in larger type beside it."""
    return heading.shifted(0.0, DROP * (NAME / TEXT - 1))


WIDEST_GAP: Final = 9.0
MOST_NOTES: Final = 6
MOST_NOTES_QUIET: Final = 10  # where there is nothing to do


def athlete_page(content: SheetContent, fonts: Fonts | None = None) -> Image.Image:
    """Paint the athlete's page in grey at 300 dpi.

    Raises SheetTooFull where the words do not fit even when the page has given up all it can,
    TextHasNoGlyph for a letter that no form of the font can print.
    """
    fonts = fonts or Fonts(PX_PER_MM)
    shapes = athlete_shapes(content, fonts)
    page = painted(shapes, content.paper, fonts)
    if content.photo:
        paste(page, shapes, content.photo)
    return page


def athlete_shapes(content: SheetContent, fonts: Fonts) -> Shapes:
    """Return the whole page as shapes in mm, top left corner of the paper at (0, 0)."""
    plan = _plan(content, Setter(fonts))
    paper = PAPERS[content.paper]
    slack = paper.free - plan.height
    return spread(plan.blocks, plan.spread_gaps(slack), MARGIN)


@dataclass(frozen=True)
class _Plan:
    """Blocks from top to bottom; the last one, the foot, stands on the lower margin."""

    blocks: tuple[Block, ...]
    gaps: tuple[float, ...]

    @property
    def height(self) -> float:
        return sum(self.gaps) + sum(block.height for block in self.blocks)

    def spread_gaps(self, slack: float) -> tuple[float, ...]:
        """Widen the gaps between the groups, none beyond WIDEST_GAP; the rest is above the foot."""
        inner = [i for i in range(1, len(self.gaps))]
        share = min(slack / len(inner), max(0.0, WIDEST_GAP - max(self.gaps)))
        gaps = [gap + (share if i else 0.0) for i, gap in enumerate(self.gaps)]
        gaps[-1] += slack - share * len(inner)
        return tuple(gaps)


def _plan(content: SheetContent, setter: Setter) -> _Plan:
    words = page_words(content.words)
    free = PAPERS[content.paper].free
    sections = athlete_sections(content, words)
    setup = PageSetup(content, sections, setter, words, Room())
    for room in rooms("items" in sections, not content.assessment.slots):
        setup = replace(setup, room=room)
        plan = _planned(setup)
        if plan.height <= free:
            return _with_more_lines(setup, plan)
    raise SheetTooFull(
        f"The page of {content.athlete.code} does not hold its words: {plan.height - free:.0f} mm "
        "too many. Shorten the notes or the phrases, or choose one priority."
    )


def _with_more_lines(setup: PageSetup, plan: _Plan) -> _Plan:
    """Use what is left for more lines to write on, after the gaps have had their share."""
    room, free = setup.room, setup.paper.free
    spare = free - plan.height - (WIDEST_GAP - room.gap) * (len(plan.gaps) - 1)
    most = MOST_NOTES if setup.content.assessment.slots else MOST_NOTES_QUIET
    more = min(most - room.n_notes, int(spare / room.ruled))
    if more <= 0:
        return plan
    return _planned(replace(setup, room=replace(room, n_notes=room.n_notes + more)))


def _planned(setup: PageSetup) -> _Plan:
    room = setup.room
    groups = [_kept(setup, strip), _kept(setup, strengths, room.n_strengths), *_tasks(setup)]
    groups.append(_kept(setup, since))
    groups += [_kept(setup, items)] if room.has_list else []
    groups += [_kept(setup, step, room.figure), notes(setup)]
    blocks = [block for block in groups if block.height]
    gaps = [0.0] + [room.gap] * (len(blocks) - 1)
    return _Plan((*blocks, _kept(setup, bottom, room.has_list)), (*gaps, room.gap * 0.6))


def _kept(setup: PageSetup, group: Callable[[PageSetup], Block], *room: object) -> Block:
    """Set a group once for all layouts that give it the same room."""
    key = (group.__name__, setup.room.is_terse, *room)
    return setup.once(key, lambda: group(setup))


def _tasks(setup: PageSetup) -> Iterator[Block]:
    heading, parts = setup.sections["task"].heading, setup.sections["task"].parts
    paragraphs = [part for part in parts if isinstance(part, Paragraph)]
    if paragraphs:
        yield instead(setup, heading, paragraphs)
    priorities = [part for part in parts if isinstance(part, Priority)]
    for i, part in enumerate(priorities):
        yield priority(setup, part, "" if i else heading)
    yield _kept(setup, drills, setup.room.n_drills)


THIRD: Final = 48.0  # pitch of three short things side by side
TICK: Final = 5.0  # room of a strength's tick


def strip(setup: PageSetup) -> Block:
    """Return code, date, run and clip quality over the one rule of the page."""
    paper, setter, told = setup.paper, setup.setter, head(setup.content, setup.words)
    wide = setter.width(told.code, LARGE, bold=True)
    if wide <= LEFT_WIDTH + 4:
        facts = _facts(setup, told, CONTENT, paper.content)
        block = Block((setter.title(told.code),), TITLE_LINE).compare(facts)
    else:  # a long code takes a line of its own
        lines = setter.paragraph(told.code, MARGIN, paper.full, LARGE, True, LARGE_LINE)
        block = lines.below(_facts(setup, told, MARGIN, paper.full), 0.6)
    return ruled_off(block, paper.full)


def _facts(setup: PageSetup, told: Head, x: float, width: float) -> Block:
    setter = setup.setter
    first = setter.label(told.day, (x, DROP), bold=True)
    at = x + setter.width(told.day, bold=True) + 3.5
    second = setter.label(told.number, (at, DROP)) if told.number else None
    lines = setter.paragraph(told.facts, x, width)
    return Block((first, second) if second else (first,), LINE).below(lines)


def strengths(setup: PageSetup) -> Block:
    """Return two or three ticks, side by side where they fit."""
    setter, section = setup.setter, setup.sections.get("strengths")
    if not section:
        return EMPTY
    texts = [entry.name for entry in _entries(section)[: setup.room.n_strengths]]
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
    return setup.heading(section.heading).compare(Block(shapes, height))


def _entries(section: Section) -> tuple[Entry, ...]:
    return tuple(
        entry for part in section.parts if isinstance(part, Entries) for entry in part.entries
    )


def instead(setup: PageSetup, heading: str, told: Sequence[Paragraph]) -> Block:
    """Return what stands where there is no task: keep this, or why there is none."""
    title, *says = (part.text for part in told)
    pitch = 6.2 if says else 6.4
    name = setup.setter.paragraph(title, CONTENT, setup.paper.content, NAME, True, pitch)
    if says:
        lines = (setup.setter.paragraph(text, CONTENT, setup.paper.content) for text in says)
        name = name.below(stacked(lines), 1.0)
    return lowered(setup.heading(heading)).compare(name)


def since(setup: PageSetup) -> Block:
    """Return at most three names with the sign and the word of what became of them."""
    section = setup.sections.get("since")
    if not section:
        return EMPTY
    block = setup.heading(section.heading)
    for part in section.parts:
        if isinstance(part, Paragraph):
            said = setup.setter.paragraph(part.text, CONTENT, setup.paper.content)
            block = block.compare(said)
    entries = _entries(section)
    if setup.room.is_terse:
        return block.compare(stacked(_since_in_line(setup, entry) for entry in entries))
    for i, entry in enumerate(entries):
        block = block.compare(_since(setup, entry, CONTENT + i * THIRD))
    return block


def _since_in_line(setup: PageSetup, entry: Entry) -> Block:
    """Name and word in one line, where three columns of wrapped words take too much height."""
    setter, x = setup.setter, CONTENT + 11.0
    text = f"{entry.name}: {entry.said}{'. ' if entry.note else ''}{entry.note}"
    label = setter.label(setter.shortened(text, setup.paper.right - x), (x, DROP))
    return Block((label, *change_sign(entry.sign, (CONTENT, DROP - 1.35), HEIGHT)), LINE)


def _since(setup: PageSetup, entry: Entry, x: float) -> Block:
    setter = setup.setter
    name = setter.paragraph(entry.name, x, THIRD - 2)
    sign = change_sign(entry.sign, (x, name.height + DROP - 1.35), HEIGHT)
    word = setter.paragraph(entry.said, x + 11.0, THIRD - 14.0, bold=True)
    block = name.with_shapes(*sign).below(word)
    return block.below(setter.paragraph(entry.note, x, THIRD - 2)) if entry.note else block


def step(setup: PageSetup) -> Block:
    """Return the step line over the full width."""
    (part,) = setup.sections["step"].parts
    assert isinstance(part, StepFigure)
    drawn = part.draw(setup.paper.full, setup.room.figure, setup.setter.width)
    height = drawn.above + drawn.below
    return Block((), height, ((lambda: drawn.shapes, MARGIN, drawn.above),))


def notes(setup: PageSetup) -> Block:
    """Return the coach's notes, lines to write on, and the re-test week."""
    room, section, told = setup.room, setup.sections["notes"], _notes(setup)
    typed = _typed(setup, told.typed)
    n = max(0, room.n_notes - round(typed.height / LINE))
    lines = typed.below(ruled(CONTENT, setup.paper.content, n, room.ruled))
    heading = setup.heading(section.heading)
    if room.is_terse:
        return heading.compare(lines.below(_retest_in_line(setup, told)))
    week = _for_hands(setup, told.week_label, told.week, is_bold=True)
    top = max(heading.height, lines.height - week.height)
    return heading.compare(lines).compare(week.shifted(0.0, top, top + week.height))


def _notes(setup: PageSetup) -> Notes:
    (part,) = setup.sections["notes"].parts
    assert isinstance(part, Notes)
    return part


def _typed(setup: PageSetup, text: str) -> Block:
    """What the coach typed, at most three lines; the coach's copy has the rest."""
    setter, width = setup.setter, setup.paper.content
    most = max(2, min(3, setup.room.n_notes))
    lines = setter.wrapped(text, width)
    if len(lines) > most:
        lines[most - 1 :] = [setter.shortened(" ".join(lines[most - 1 :]), width)]
    return stacked(setter.paragraph(line, CONTENT, width) for line in lines)


def _for_hands(
    setup: PageSetup, label: str, text: str, n_lines: int = 1, is_bold: bool = False
) -> Block:
    """Return a label in the left column over its text, or over lines to write on."""
    block = setup.setter.paragraph(label, MARGIN, LEFT_WIDTH)
    if text:
        return block.below(setup.setter.paragraph(text, MARGIN, LEFT_WIDTH, bold=is_bold))
    return block.below(ruled(MARGIN, LEFT_WIDTH, n_lines, setup.room.ruled))


def _retest_in_line(setup: PageSetup, told: Notes) -> Block:
    """The re-test week beside its label, where the left column has no room for it."""
    setter = setup.setter
    text = setter.shortened(f"{told.week_label} {told.week}".strip(), setup.paper.content)
    at = CONTENT + setter.width(text) + 2.0
    line = () if told.week else (rule(at, DROP + 0.9, max(8.0, setup.paper.right - at)),)
    return Block((setter.label(text, (CONTENT, DROP)), *line), LINE + 1.0)


def bottom(setup: PageSetup) -> Block:
    """Return cautions and privacy, over the full width; the doubt too where no list tells it."""
    return stacked(
        setup.setter.paragraph(
            part.text, MARGIN, setup.paper.full, bold=bool(part.style), line=LINE - 0.2
        )
        for part in foot(setup.content, setup.words, setup.room.has_list)
    )


SIGN = 7.6  # room of a sign before its word


def items(setup: PageSetup) -> Block:
    """Return the list in the content column, or over the full width where it is too wide."""
    setter, section = setup.setter, setup.sections["items"]
    (part,) = section.parts
    assert isinstance(part, Entries)
    heading = setup.heading(section.heading)
    doubt = setter.paragraph(part.doubt, MARGIN, LEFT_WIDTH, line=LIST_LINE)
    word = max((setter.width(each.said) for each in part.entries if each.sign), default=0.0)
    is_narrow = all(_width(setup, each, word) <= setup.paper.half for each in part.entries)
    if is_narrow:
        lefts = (CONTENT, setup.paper.second)
        rows = _columns(setup, part.entries, lefts, setup.paper.half, word)
        return heading.below(doubt).compare(rows)
    half = (setup.paper.full - GUTTER) / 2
    rows = _columns(setup, part.entries, (MARGIN, MARGIN + half + GUTTER), half, word)
    over = setter.paragraph(part.doubt, CONTENT, setup.paper.content)
    return heading.compare(over).below(rows, 0.6)


def _columns(
    setup: PageSetup,
    entries: Sequence[Entry],
    lefts: tuple[float, float],
    width: float,
    word: float,
) -> Block:
    middle = (len(entries) + 1) // 2
    shapes: Shapes = ()
    for left, column in zip(lefts, (entries[:middle], entries[middle:]), strict=True):
        word_at = left + width - word
        for i, entry in enumerate(column):
            shapes += _row(setup, entry, left, word_at, left + width, DROP + i * LIST_LINE)
    return Block(shapes, middle * LIST_LINE)


def _row(
    setup: PageSetup, entry: Entry, left: float, word_at: float, right: float, y: float
) -> Shapes:
    setter = setup.setter
    if entry.is_result:
        room = right - left - setter.width(entry.said, italic=True) - 2.0
        return (
            setter.label(setter.shortened(entry.name, room), (left, y), italic=True),
            setter.label(entry.said, (right, y), italic=True, anchor="e"),
        )
    name = setter.shortened(entry.name, word_at - SIGN - left - 0.4)
    sign = verdict_sign(entry.sign, (word_at - SIGN / 2 - 0.2, y - 1.35), HEIGHT)
    return (setter.label(name, (left, y)), *sign, setter.label(entry.said, (word_at, y)))


def _width(setup: PageSetup, entry: Entry, word: float) -> float:
    if entry.is_result:
        return setup.setter.width(f"{entry.name}  {entry.said}", TEXT, italic=True)
    return setup.setter.width(entry.name) + SIGN + 0.4 + word


ROW: Final = 6.15
LEAST_DATE: Final = 13.0  # room of the date and the gap behind it
HEAD_GAP: Final = 1.4


def drills(setup: PageSetup) -> Block:
    """Return drills with their cautions, the tick table and the coach's boxes."""
    section = setup.sections.get("drills")
    if not section:
        return EMPTY
    (part,) = section.parts
    assert isinstance(part, Drills)
    pain = setup.setter.paragraph(part.pain, CONTENT, setup.paper.half, bold=True)
    told = (_drill(setup, drill) for drill in part.drills[: setup.room.n_drills])
    body = stacked([pain, *told], 2.2).compare(_tick_table(setup, part))
    boxes = _coach_boxes(setup, part, body.height)
    return setup.heading(section.heading).compare(body).compare(boxes)


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


def _tick_table(setup: PageSetup, part: Drills) -> Block:
    """Six rows: a date to write, did it, and how it felt."""
    setter, paper = setup.setter, setup.paper
    text = part.ticks_title
    if setup.room.is_terse:
        text = setter.shortened(text, paper.half, bold=True)
    title = setter.paragraph(text, paper.second, paper.half, bold=True)
    date_head, *heads = part.heads
    centres, labels = _heads(setup, heads)
    date_width = min(17.0, centres[0] - BOX / 2 - 3.0 - paper.second)
    date = setter.label(setter.shortened(date_head, date_width), (paper.second, DROP))
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


def _coach_boxes(setup: PageSetup, part: Drills, height: float) -> Block:
    setter = setup.setter
    block = setter.paragraph(part.boxes_title, MARGIN, LEFT_WIDTH)
    y = block.height + 0.6
    shapes: Shapes = block.shapes
    for text in part.boxes:
        shapes += check_box((MARGIN, y), BOX, width=THIN)
        text = setter.shortened(text, LEFT_WIDTH - BOX - 2)
        shapes += (setter.label(text, (MARGIN + BOX + 2, y + 3.9)),)
        y += ROW
    tall = y - ROW + BOX
    return Block(shapes, tall).shifted(0.0, max(LINE + 3, height - tall), 0.0)


QUOTE: Final = 4.0  # room between the pair and the quote mark that hangs beside it


def priority(setup: PageSetup, part: Priority, heading: str) -> Block:
    """Return one thing: its name, you and the idea, what we saw, the cue, where it starts.

    heading: "" for the second one, which stands under the first one's.
    """
    body = _name(setup, part).below(_shown(setup, part, bool(heading)), 1.0)
    if not heading:
        return body
    title, told, words = lowered(setup.heading(heading)), _notes(setup), setup.words
    own = f"{words.open_quote}{told.own}{words.close_quote}" if told.own else ""
    hands = _for_hands(setup, told.own_label, own, 2)
    if own:
        hands = hands.below(ruled(MARGIN, LEFT_WIDTH, 1, setup.room.ruled))
    top = max(title.height + 2.4, body.height - hands.height - 4.6)
    return title.compare(body).compare(hands.shifted(0.0, top, top + hands.height))


def _shown(setup: PageSetup, part: Priority, is_first: bool) -> Block:
    """What we saw stands beside the pair, or over it where that takes less height."""
    paper = setup.paper
    has_pair = setup.room.pair > 0 and (is_first or setup.room.has_second_pair)
    key = ("pair", part.name, setup.room.pair)
    shown = part.pair if has_pair else None
    pair = setup.once(key, lambda: _pair(setup, shown)) if shown else EMPTY
    over = _says(setup, part, CONTENT, paper.content)
    if not pair.height:
        large = cue(setup, part.cue, CONTENT, paper.content)
        is_bare = setup.room.is_terse and not is_first
        said = large if is_bare else over.below(large, 2.4)
        return _with_start(setup, part, said, CONTENT, paper.content)
    cue_only = cue(setup, part.cue, paper.second, paper.half)
    said = _says(setup, part, paper.second, paper.half).below(cue_only, 2.4)
    ways = (
        _beside_pair(setup, part, pair, said),
        over.below(_beside_pair(setup, part, pair, cue_only), 1.6),
    )
    return min(ways, key=lambda way: way.height)


def _beside_pair(setup: PageSetup, part: Priority, pair: Block, said: Block) -> Block:
    """The shorter side tells where it probably starts."""
    paper = setup.paper
    if pair.height < said.height:
        pair = _with_start(setup, part, pair, CONTENT, paper.half)
    else:
        said = _with_start(setup, part, said, paper.second, paper.half)
    return pair.compare(said)


def _name(setup: PageSetup, part: Priority) -> Block:
    """The plain name in 15 pt and, beside it, the foot that is meant."""
    setter = setup.setter
    name = setter.paragraph(part.name, CONTENT, setup.paper.content, NAME, True, 6.2)
    if not part.aside:
        return name
    x = CONTENT + setter.width(part.name, NAME, bold=True) + 3.0
    if len(name.own) > 1 or x + setter.width(part.aside) > setup.paper.right:
        return name.below(setter.paragraph(part.aside, CONTENT, setup.paper.content))
    return name.with_shapes(setter.label(part.aside, (x, DROP * NAME / TEXT)))


def _pair(setup: PageSetup, pair: Pair) -> Block:
    setter, wide = setup.setter, setup.paper.half - QUOTE
    drawing = pair.draw(wide, setup.room.pair)
    ground = drawing.above + 1.0
    names = list(zip(pair.names, drawing.clear, strict=True))
    is_clear = all(setter.width(text, bold=True) < room for text, (_, room) in names)
    baseline = ground + (0.9 if is_clear else drawing.below) + DROP
    labels: Shapes = tuple(
        setter.label(text, (CONTENT + start, baseline), bold=True) for text, (start, _) in names
    )
    if pair.photo:
        frame = photo_frame(CONTENT, ground - drawing.above, wide / 2 - 2.0, drawing.above)
        labels = (*labels, frame)
    height = max(baseline + 1.0, ground + drawing.below)
    return Block(labels, height, ((lambda: drawing.shapes, CONTENT, ground),))


def _says(setup: PageSetup, part: Priority, x: float, width: float) -> Block:
    says = first_sentence(part.says) if setup.room.is_terse else part.says
    return setup.setter.paragraph(says, x, width)


def first_sentence(text: str) -> str:
    """Return a text up to its first full stop."""
    start, stop, _ = text.partition(". ")
    return f"{start}." if stop else text


def _with_start(setup: PageSetup, part: Priority, block: Block, x: float, width: float) -> Block:
    text = part.start(setup.room.n_causes)
    return block.below(setup.setter.paragraph(text, x, width), 1.8) if text else block


def cue(setup: PageSetup, text: str, x: float, width: float) -> Block:
    """Return the cue in large type; its opening quote mark hangs outside the column."""
    if not text:
        return EMPTY
    setter, words = setup.setter, setup.words
    quoted = f"{text}{words.close_quote}"
    lines = setter.wrapped(quoted, width, LARGE, bold=True)
    size = setup.room.cue if len(lines) <= 4 else SMALL_CUE
    pitch = LARGE_LINE * size / LARGE
    block = setter.paragraph(quoted, x, width, size, True, pitch)
    mark = setter.width(words.open_quote, size, bold=True)
    hung = setter.label(words.open_quote, (x - mark, DROP * size / TEXT), size, bold=True)
    return block.with_shapes(hung)
