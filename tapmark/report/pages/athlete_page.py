"""The athlete's page: one side of paper, in the order a runner reads it.

With a task: strip, what you do well, your one thing with you and the idea across the page, the
cue, what to do with boxes to tick, since last time, step line, foot. Without one: what you do
well, drawn large. Where the text needs more room, the page gives up in a fixed order, the pair
last. Text and boxes never shrink.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Final, TypeVar

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
    CUE,
    CUE_SIZES,
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
    Piece,
    Setter,
    painted,
    rule,
    ruled,
    ruled_off,
    spread,
    stacked,
)
from tapmark.report.pages.photo import PHOTO, paste, photo_frame
from tapmark.report.pages.sections import (
    N_TICK_ROWS,
    Drills,
    Entries,
    Entry,
    Figure,
    Notes,
    OwnWord,
    Paragraph,
    Priority,
    Sections,
    athlete_sections,
    foot,
    head,
)
from tapmark.report.pages.words import PageWords, page_words

P = TypeVar("P")


@dataclass(frozen=True)
class Room:
    """Room of one try, in mm.

    pair, figure:  one body height in the pair and in the step line; a pair of 0 is left out.
    praise:        one body height where the strengths are drawn large.
    gap:           between groups.
    pitch:         of the rows to tick.
    line:          of the drills, from baseline to baseline.
    n_notes:       lines to write on.
    cue:           largest letters of the cue.
    is_terse:      one sentence for the first thing, the cue alone for the second, headings of two
                   lines at most.
    """

    pair: float = 72.0
    figure: float = 25.0
    praise: float = 72.0
    gap: float = 4.6
    pitch: float = 6.6
    line: float = LINE
    n_notes: int = 2
    has_list: bool = True
    cue: float = CUE
    n_drills: int = 2
    n_strengths: int = 3
    is_terse: bool = False


ONE_PAIR: Final = {"a4": (72.0, 79.0), "letter": (60.0, 60.0)}  # adults, under 18
TWO_PAIRS: Final = {"a4": 46.0, "letter": 40.0}
PITCH: Final = {"a4": 6.6, "letter": 6.0}
Changes = tuple[dict[str, Any], ...]
GIVE_UP: Final[Changes] = (
    {"gap": 4.0},
    {"figure": 23.5, "gap": 3.4},
    {"n_notes": 1},
    {"figure": 22.0, "gap": 3.0},
    {"line": LIST_LINE, "gap": 2.6},
    {"pitch": 6.0, "gap": 2.2},
    {"gap": 1.8},
)
SHRINK: Final[Changes] = (
    {"pair": 0.94},
    {"pair": 0.9},
    {"figure": 19.0, "gap": 1.6},
    *({"pair": share} for share in (0.85, 0.76, 0.67, 0.58)),
)
FOR_THE_LIST: Final[Changes] = (
    {"pair": 0.48},
    {"figure": 17.0, "gap": 1.8},
    {"pair": 0.4, "n_notes": 0},
)
SHORTEN: Final[Changes] = (
    {"figure": 17.0, "gap": 1.8},
    {"cue": SMALL_CUE},
    {"pair": 0.48, "n_notes": 0},
    {"n_strengths": 2, "is_terse": True},
    {"pair": 0.38, "gap": 1.4},
    {"pair": 0.0},
    {"gap": 1.0, "n_strengths": 1, "pitch": 5.6},
    {"figure": 11.0, "gap": 0.5, "pitch": 5.4},
)


def rooms(content: SheetContent, has_list: bool) -> Iterator[Room]:
    """Yield rooms from the most generous to the most frugal.

    has_list: the page starts with the long list, which goes when nothing else helps.
    """
    paper, slots = content.paper, content.assessment.slots
    one = ONE_PAIR[paper][content.assessment.is_youth]
    full = TWO_PAIRS[paper] if len(slots) > 1 else one
    room = Room(pair=full, pitch=PITCH[paper], has_list=has_list)
    if not slots:
        yield from _quiet(room)
        return
    if has_list:
        yield from _changed(room, (*GIVE_UP, {"n_drills": 1}, *SHRINK, *FOR_THE_LIST))
    room = replace(room, has_list=False)
    few = SHRINK if len(slots) > 1 else ({"pair": 0.97}, {"pair": 0.94})  # each has its own drill
    yield from _changed(room, (*GIVE_UP, *few))
    yield from _changed(replace(room, n_drills=1), (*GIVE_UP, *SHRINK, *SHORTEN))


def _changed(room: Room, changes: Changes) -> Iterator[Room]:
    """Yield a room and what is left of it by and by; a pair is told in shares of the first one."""
    full = room.pair
    yield room
    for change in changes:
        pair = {"pair": change["pair"] * full} if "pair" in change else {}
        room = replace(room, **(change | pair))
        yield room


def _quiet(room: Room) -> Iterator[Room]:
    """Without a task there is no pair: strengths and step are drawn larger."""
    for praise, figure, gap in ((72, 38, 7), (66, 34, 5), (58, 30, 4), (50, 26, 3), (40, 22, 2)):
        room = replace(room, praise=float(praise), figure=float(figure), gap=float(gap))
        yield room
        if room.has_list:
            room = replace(room, n_notes=1)
            yield room
    room = replace(room, has_list=False)
    yield from _changed(room, ({"n_notes": 0}, {"praise": 28.0, "is_terse": True}, {"praise": 0.0}))


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
        if not self.room.is_terse or len(lines) <= 2:
            return self.setter.heading(text)
        second = self.setter.shortened(" ".join(lines[1:]), HEADING_WIDTH, bold=True)
        told = (
            self.setter.paragraph(t, MARGIN, HEADING_WIDTH, bold=True) for t in (lines[0], second)
        )
        return stacked(told)

    def wide_heading(self, text: str) -> Block:
        """Return a heading over the full width."""
        return self.setter.paragraph(text, MARGIN, self.paper.full, bold=True)

    def only(self, name: str, kind: type[P]) -> P:
        """Return the one part of that kind in a section."""
        (part,) = (part for part in self.sections[name].parts if isinstance(part, kind))
        return part

    @property
    def paper(self) -> Paper:
        """The sheet of paper."""
        return PAPERS[self.content.paper]


def lowered(heading: Block) -> Block:
    """Put a heading on the baseline of a name in larger type beside it."""
    return heading.shifted(0.0, DROP * (NAME / TEXT - 1))


WIDEST_GAP: Final = 9.0


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
    """Return the whole page as shapes in mm, top left corner of the paper at (0, 0).

    The gaps between the groups widen into what is left, none beyond WIDEST_GAP; the foot stands on
    the lower margin. Raises SheetTooFull where the words do not fit.
    """
    words = page_words(content.words)
    sections = athlete_sections(content, words)
    setup = PageSetup(content, sections, Setter(fonts), words, Room())
    slack = 0.0
    for room in rooms(content, "items" in sections):
        blocks = _groups(replace(setup, room=room))
        inner = len(blocks) - 2
        slack = setup.paper.free - sum(block.height for block in blocks) - room.gap * (inner + 0.6)
        if slack >= 0:
            share = min(slack / (inner + 1), max(0.0, WIDEST_GAP - room.gap))
            last = 0.6 * room.gap + slack - share * inner
            return spread(blocks, [0.0, *[room.gap + share] * inner, last], MARGIN)
    raise SheetTooFull(
        f"The page of {content.athlete.code} does not hold its words: {-slack:.0f} mm "
        "too many. Shorten the notes or the phrases, or choose one priority."
    )


def _groups(setup: PageSetup) -> list[Block]:
    """Return the groups from top to bottom; the last one is the foot."""
    room = setup.room

    def kept(group: Callable[[PageSetup], Block], *given: object) -> Block:
        """Set a group once for all layouts that give it the same room."""
        return setup.once((group.__name__, room.is_terse, *given), lambda: group(setup))

    groups = [kept(strip), kept(strengths, room.n_strengths, room.praise)]
    groups += [_task(setup), _drills(setup), kept(since)]
    groups += [kept(items)] if room.has_list else []
    groups += [kept(step, room.figure)]
    groups += [] if setup.content.assessment.slots else [notes(setup)]
    return [*(block for block in groups if block.height), kept(bottom, room.has_list)]


def _task(setup: PageSetup) -> Block:
    section = setup.sections["task"]
    paragraphs = [part for part in section.parts if isinstance(part, Paragraph)]
    priorities = [part for part in section.parts if isinstance(part, Priority)]
    if paragraphs:
        return instead(setup, section.heading, paragraphs)
    if len(priorities) == 1:
        return priority(setup, priorities[0], section.heading)
    return two_priorities(setup, priorities, section.heading)


THIRD: Final = 48.0  # pitch of three short things side by side
TICK: Final = 5.0  # room of a strength's tick


def strip(setup: PageSetup) -> Block:
    """Return code, date, run and clip quality over the one rule of the page."""
    paper, setter, told = setup.paper, setup.setter, head(setup.content, setup.words)
    is_short = setter.width(told.code, LARGE, bold=True) <= LEFT_WIDTH + 4
    x, width = (CONTENT, paper.content) if is_short else (MARGIN, paper.full)
    labels: Shapes = (setter.label(told.day, (x, DROP), bold=True),)
    if told.number:
        at = x + setter.width(told.day, bold=True) + 3.5
        labels += (setter.label(told.number, (at, DROP)),)
    facts = Block(labels, LINE).below(setter.paragraph(told.facts, x, width))
    if is_short:
        block = Block((setter.title(told.code),), TITLE_LINE).compare(facts)
    else:  # a long code takes a line of its own
        lines = setter.paragraph(told.code, MARGIN, paper.full, LARGE, True, LARGE_LINE)
        block = lines.below(facts, 0.6)
    return ruled_off(block, paper.full)


def strengths(setup: PageSetup) -> Block:
    """Return what is done well: ticks in a row, or drawn large where there is no task."""
    setter, section = setup.setter, setup.sections.get("strengths")
    if not section:
        return EMPTY
    part = setup.only("strengths", Entries)
    entries = part.entries[: setup.room.n_strengths]
    if part.is_large:
        return _praised(setup, section.heading, entries)
    fits = all(setter.width(each.name) <= THIRD - TICK - 2 for each in entries)
    shapes: Shapes = ()
    for i, each in enumerate(entries):
        x, y = (CONTENT + i * THIRD, 0.0) if fits else (CONTENT, i * LINE)
        text = setter.shortened(each.name, setup.paper.right - x - TICK)
        shapes += strength_tick((x, y + DROP + 0.3), HEIGHT)
        shapes += (setter.label(text, (x + TICK, y + DROP)),)
    height = LINE if fits else LINE * len(entries)
    return setup.heading(section.heading).compare(Block(shapes, height))


def _praised(setup: PageSetup, heading: str, entries: Sequence[Entry]) -> Block:
    """Return the strengths side by side, each in large letters under its own figure."""
    setter, wide = setup.setter, setup.paper.full / max(2, len(entries))
    tall = setup.room.praise
    drawn = [entry.draw(wide, tall) if entry.draw and tall else None for entry in entries]
    above = max((each.above for each in drawn if each), default=0.0)
    pieces: list[Piece] = []
    row = EMPTY
    for i, (entry, each) in enumerate(zip(entries, drawn, strict=True)):
        left = MARGIN + (setup.paper.full - len(entries) * wide) / 2 + i * wide
        if each:
            pieces.append((each.draw, left, above))
        said = setter.paragraph(entry.name, left + 7.5, wide - 9.0, NAME, True, 6.4)
        row = row.compare(said.with_shapes(*strength_tick((left + 1.0, 5.6), 1.4 * HEIGHT)))
    if above:  # after the figures, whose white edge would cut it
        pieces.append(((rule(MARGIN, above + THIN / 2, setup.paper.full),), 0.0, 0.0))
    figures = Block((), above + (2.0 if above else 0.0), tuple(pieces))
    return setup.wide_heading(heading).below(figures, 1.0).below(row, 1.5)


def instead(setup: PageSetup, heading: str, told: Sequence[Paragraph]) -> Block:
    """Return what stands where there is no task: keep this, or why there is none."""
    setter, wide = setup.setter, setup.paper.content
    if setup.sections["task"].is_care:
        text = " ".join(part.text for part in told)
        large = setter.paragraph(text, MARGIN, setup.paper.full, LARGE, True, 1.08 * LARGE_LINE)
        return setup.wide_heading(heading).below(large, 1.0)
    blocks = [
        setter.paragraph(part.text, CONTENT, wide, NAME, True, 6.2)
        if part.style == "title"
        else setter.paragraph(part.text, CONTENT, wide)
        for part in told
    ]
    title = setup.heading(heading)
    return (lowered(title) if told[0].style else title).compare(stacked(blocks, 0.6))


def since(setup: PageSetup) -> Block:
    """Return at most three names with the sign and the word of what became of them."""
    section, setter = setup.sections.get("since"), setup.setter
    if not section:
        return EMPTY
    block = setup.heading(section.heading)
    (part,) = section.parts
    if isinstance(part, Paragraph):
        return block.compare(setter.paragraph(part.text, CONTENT, setup.paper.content))
    entries = part.entries if isinstance(part, Entries) else ()
    lines, wide = [], THIRD if len(entries) > 2 else 1.5 * THIRD
    for i, entry in enumerate(entries):
        x = CONTENT + i * wide
        if setup.room.is_terse or len(entries) == 1:  # columns would take more height
            text = f"{entry.name}: {entry.said}{'. ' if entry.note else ''}{entry.note}"
            room = setup.paper.right - CONTENT - 11.0
            label = setter.label(setter.shortened(text, room), (CONTENT + 11.0, DROP))
            sign = change_sign(entry.sign, (CONTENT, DROP - 1.35), HEIGHT)
            lines.append(Block((label, *sign), LINE))
            continue
        name = setter.paragraph(entry.name, x, wide - 2)
        sign = change_sign(entry.sign, (x, name.height + DROP - 1.35), HEIGHT)
        word = setter.paragraph(entry.said, x + 11.0, wide - 14.0, bold=True)
        told = name.with_shapes(*sign).below(word)
        if entry.note:
            told = told.below(setter.paragraph(entry.note, x, wide - 2))
        block = block.compare(told)
    return block.compare(stacked(lines))


def step(setup: PageSetup) -> Block:
    """Return the step line over the full width."""
    part = setup.only("step", Figure)
    drawn = part.draw(setup.paper.full, setup.room.figure, setup.setter.width)
    return Block((), drawn.height, ((drawn.draw, MARGIN, drawn.above),))


def notes(setup: PageSetup) -> Block:
    """Return the coach's notes, lines to write on and the re-test week, where there is no task."""
    room, told = setup.room, setup.only("notes", Notes)
    typed = _typed(setup, told.typed)
    more = NOTES_IN_CARE if setup.sections["task"].is_care and room.n_notes else 0
    n = max(0, room.n_notes + more - round(typed.height / LINE))
    lines = typed.below(ruled(CONTENT, setup.paper.content, n, room.pitch + 1.0))
    retest = _retest(setup, CONTENT, setup.paper.content)
    return setup.heading(setup.sections["notes"].heading).compare(lines.below(retest, 1.0))


def _typed(setup: PageSetup, text: str) -> Block:
    """What the coach typed, at most three lines; the coach's copy has the rest."""
    width = setup.paper.content
    lines = setup.setter.wrapped(text, width)
    if len(lines) > MOST_TYPED:
        rest = " ".join(lines[MOST_TYPED - 1 :])
        lines[MOST_TYPED - 1 :] = [setup.setter.shortened(rest, width)]
    return stacked(setup.setter.paragraph(line, CONTENT, width) for line in lines)


MOST_TYPED: Final = 3
NOTES_IN_CARE: Final = 4  # more lines where a page has nothing but care on it


def bottom(setup: PageSetup) -> Block:
    """Return cautions and privacy, over the full width; the doubt too where no list tells it."""
    return stacked(
        setup.setter.paragraph(
            part.text, MARGIN, setup.paper.full, bold=bool(part.style), line=LINE - 0.2
        )
        for part in foot(setup.content, setup.words, setup.room.has_list)
    )


SIGN: Final = 7.6  # room of a sign before its word


def items(setup: PageSetup) -> Block:
    """Return the list in the content column, or over the full width where it is too wide."""
    setter, paper, part = setup.setter, setup.paper, setup.only("items", Entries)
    heading = setup.heading(setup.sections["items"].heading)
    word = max((setter.width(each.said) for each in part.entries if each.sign), default=0.0)
    widths = (
        setter.width(f"{each.name}  {each.said}", italic=True)
        if each.is_result
        else setter.width(each.name) + SIGN + 0.4 + word
        for each in part.entries
    )
    if max(widths, default=0.0) <= paper.half:
        doubt = setter.paragraph(part.doubt, MARGIN, LEFT_WIDTH, line=LIST_LINE)
        rows = _columns(setter, part.entries, (CONTENT, paper.second), paper.half, word)
        return heading.below(doubt).compare(rows)
    half = (paper.full - GUTTER) / 2
    rows = _columns(setter, part.entries, (MARGIN, MARGIN + half + GUTTER), half, word)
    over = setter.paragraph(part.doubt, CONTENT, paper.content)
    return heading.compare(over).below(rows, 0.6)


def _columns(
    setter: Setter,
    entries: Sequence[Entry],
    lefts: tuple[float, float],
    width: float,
    word: float,
) -> Block:
    """Return names with their signs and words in two columns; word is the room of the words."""
    middle = (len(entries) + 1) // 2
    shapes: Shapes = ()
    for i, entry in enumerate(entries):
        left, y = lefts[i >= middle], DROP + i % middle * LIST_LINE
        right = left + width
        if entry.is_result:
            room = width - setter.width(entry.said, italic=True) - 2.0
            shapes += (
                setter.label(setter.shortened(entry.name, room), (left, y), italic=True),
                setter.label(entry.said, (right, y), italic=True, anchor="e"),
            )
            continue
        word_at = right - word
        name = setter.shortened(entry.name, word_at - SIGN - left - 0.4)
        sign = verdict_sign(entry.sign, (word_at - SIGN / 2 - 0.2, y - 1.35), HEIGHT)
        shapes += (setter.label(name, (left, y)), *sign, setter.label(entry.said, (word_at, y)))
    return Block(shapes, middle * LIST_LINE)


LEAST_DATE: Final = 13.0  # room of the date and the gap behind it
HEAD_GAP: Final = 1.4


def _drills(setup: PageSetup) -> Block:
    """Return drills beside the boxes to tick; what hands write goes where there is room."""
    section = setup.sections.get("drills")
    if not section:
        return EMPTY
    part, told, setter, paper = (
        setup.only("drills", Drills),
        setup.only("notes", Notes),
        setup.setter,
        setup.paper,
    )
    width = paper.second - GUTTER - MARGIN
    pain = setter.paragraph(part.pain, CONTENT, width + MARGIN - CONTENT, bold=True)
    top = setup.heading(section.heading).compare(pain)
    if part.care:
        care = first_sentence(part.care) if setup.room.is_terse else part.care
        top = top.below(setter.paragraph(care, MARGIN, width))
    drills = (_drill(setup, drill, width) for drill in part.drills[: setup.room.n_drills])
    between, under = min(1.4, 0.4 * setup.room.gap), min(2.0, 0.7 * setup.room.gap)
    left, right = stacked([top, *drills], between), _tick_table(setup, part)
    for piece in (_coach_saw, _retest, _lines_for_notes):
        lefts = left.below(piece(setup, MARGIN, width), under)
        rights = right.below(piece(setup, paper.second, paper.half), under)
        if max(lefts.height, right.height) <= max(left.height, rights.height):
            left = lefts
        else:
            right = rights
    block = left.compare(right)
    if not told.typed:
        return block
    heading = setup.heading(setup.sections["notes"].heading)
    return block.below(heading.compare(_typed(setup, told.typed)), 1.6)


def _coach_saw(setup: PageSetup, left: float, width: float) -> Block:
    """The coach's boxes, on as many rows as they take."""
    setter, part = setup.setter, setup.only("drills", Drills)
    label = setter.shortened(part.boxes_title, width)
    shapes: Shapes = (setter.label(label, (left, DROP)),)
    x, y = left + setter.width(label) + 4.0, 0.0
    for text in part.boxes:
        text = setter.shortened(text, width - BOX - 1.8)
        wide = BOX + 1.8 + setter.width(text)
        if x + wide > left + width:
            x, y = left, y + BOX + 1.2
        shapes += check_box((x, y), BOX, width=THIN)
        shapes += (setter.label(text, (x + BOX + 1.8, y + DROP)),)
        x += wide + 4.0
    return Block(shapes, y + BOX)


def _retest(setup: PageSetup, left: float, width: float) -> Block:
    """The week of the next filming, or a line for it beside its label."""
    told = setup.only("notes", Notes)
    week = f"{told.week_label} {told.week}".strip()
    return _to_fill(setup, week, left, width, 0 if told.week else 1, LINE)


def _lines_for_notes(setup: PageSetup, left: float, width: float) -> Block:
    """Lines to write on, the first one beside its label; none where the coach has typed."""
    n = 0 if setup.only("notes", Notes).typed else setup.room.n_notes
    label = setup.sections["notes"].heading
    return _to_fill(setup, label, left, width, n, setup.room.pitch + 0.6) if n else EMPTY


def _to_fill(
    setup: PageSetup, label: str, left: float, width: float, n: int, pitch: float
) -> Block:
    """A label with lines to write on: the first one beside it, further ones all along."""
    setter = setup.setter
    label = setter.shortened(label, width - 8.0 if n else width)
    drop = pitch - LINE + DROP
    at = setter.width(label) + 2.0
    lines = ruled(left, width, n - 1, pitch).shifted(0.0, pitch) if n > 1 else EMPTY
    first = (rule(left + at, drop + 0.9, width - at),) if n else ()
    block = Block((setter.label(label, (left, drop)), *first), max(1, n) * pitch)
    return block.compare(lines)


def _drill(setup: PageSetup, drill: Drill, width: float) -> Block:
    """Name and how much, how to do it, when to stop, and its caution."""
    setter = setup.setter
    care = " ".join(text for text in (drill.stop, drill.caution) if text)
    how = first_sentence(drill.how) if setup.room.is_terse else drill.how
    name = setter.paragraph(drill.name, MARGIN, width, bold=True)
    x = MARGIN + setter.width(drill.name, bold=True) + 2.6
    if len(name.own) == 1 and x + setter.width(drill.dose) <= MARGIN + width:
        name = name.with_shapes(setter.label(drill.dose, (x, DROP)))
    else:
        name = name.below(setter.paragraph(drill.dose, MARGIN, width, line=setup.room.line))
    texts = (setter.paragraph(t, MARGIN, width, line=setup.room.line) for t in (how, care))
    return stacked([name, *texts])


def _tick_table(setup: PageSetup, part: Drills) -> Block:
    """Six rows: a date to write, did it, and how it felt."""
    setter, paper, pitch = setup.setter, setup.paper, setup.room.pitch
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
        rows += (rule(paper.second, i * pitch + BOX - THIN / 2, date_width),)
        for x in centres:
            rows += check_box((x - BOX / 2, i * pitch), BOX, width=THIN)
    boxes = Block(rows, (N_TICK_ROWS - 1) * pitch + BOX)
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


def priority(setup: PageSetup, part: Priority, heading: str) -> Block:
    """Return one thing: its name, what we saw, you and the idea across the page, the cue."""
    body = _name_and_says(setup, part, CONTENT, setup.paper.content)
    block = lowered(setup.heading(heading)).compare(body)
    pair = _pair(setup, part, setup.paper.full)
    return block.below(pair, 1.6).below(_cue_and_own_word(setup, part), 1.8)


def _cue_and_own_word(setup: PageSetup, part: Priority) -> Block:
    """The cue in the largest letters of the page, and a place for the athlete's own word."""
    setter, own, width = setup.setter, setup.only("task", OwnWord), setup.paper.content
    large = cue(setup, part.cue, CONTENT, width, setup.room.cue)
    label = setter.paragraph(own.label, MARGIN, LEFT_WIDTH)
    text = setter.label(setter.shortened(own.text, width, bold=True), (CONTENT, DROP), bold=True)
    line = text if own.text else rule(CONTENT, DROP + 0.9, setup.paper.half)
    return large.below(label.compare(Block((line,), LINE)), 1.0)


TWO_WIDE: Final = 0.56  # share of the width that a pair takes where there are two


def two_priorities(setup: PageSetup, parts: Sequence[Priority], heading: str) -> Block:
    """Return two things under one another, each with its own pair beside its words."""
    paper, setter = setup.paper, setup.setter
    blocks = [setup.wide_heading(heading)]
    for part in parts:
        wide = TWO_WIDE * paper.full
        pair = _pair(setup, part, wide)
        left, width = (MARGIN + wide + GUTTER, paper.full - wide - GUTTER)
        if not pair.height:
            left, width = CONTENT, paper.content
        has_says = part is parts[0] or not setup.room.is_terse
        name = _name_and_says(setup, part, left, width, has_says)
        large = cue(setup, part.cue, left, width, min(LARGE, setup.room.cue))
        blocks.append(pair.compare(name.below(large, 1.4)))
    told = setup.only("task", OwnWord)
    start = MARGIN + setter.width(told.label) + 3.0
    line = rule(start, DROP + 0.9, paper.second + paper.half / 2 - start)
    own = Block((setter.label(told.label, (MARGIN, DROP)), line), LINE)
    if told.text:
        text = setter.shortened(f"{told.label}: {told.text}", paper.full)
        own = setter.paragraph(text, MARGIN, paper.full)
    return stacked([*blocks, own], min(2.0, setup.room.gap))


def _name_and_says(
    setup: PageSetup, part: Priority, x: float, width: float, has_says: bool = True
) -> Block:
    """The plain name in 15 pt, beside it the foot and moment that are meant, then what we saw."""
    setter, aside = setup.setter, part.aside
    name = setter.paragraph(part.name, x, width, NAME, True, 6.2)
    at = x + setter.width(part.name, NAME, bold=True) + 3.0
    if aside and (len(name.own) > 1 or at + setter.width(aside) > x + width):
        name = name.below(setter.paragraph(aside, x, width))
    elif aside:
        name = name.with_shapes(setter.label(aside, (at, DROP * NAME / TEXT)))
    says = first_sentence(part.says) if setup.room.is_terse else part.says
    return name.below(setter.paragraph(says, x, width), 0.6) if has_says else name


def _pair(setup: PageSetup, part: Priority, wide: float) -> Block:
    """You and the idea, drawn once for all layouts that give the pair the same room."""
    figure, tall = part.pair, setup.room.pair
    if figure is None or not tall:
        return EMPTY

    def drawn() -> Block:
        pair = figure.draw(wide, tall, setup.setter.width)
        place: Shapes = ()
        if figure.photo:
            across = min(wide / 2 - 4.0, PHOTO * pair.above)
            place = (photo_frame(MARGIN + wide / 4 - across / 2, 0.0, across, pair.above),)
        return Block(place, pair.height, ((pair.draw, MARGIN, pair.above),))

    return setup.once(("pair", part.name, tall), drawn)


def first_sentence(text: str) -> str:
    """Return a text up to its first full stop."""
    start, stop, _ = text.partition(". ")
    return f"{start}." if stop else text


def cue(setup: PageSetup, text: str, x: float, width: float, largest: float) -> Block:
    """Return the cue as large as fits on one line; its opening quote mark hangs outside.

    From the largest size down to the smallest; what is wider still gets a second line.
    """
    if not text:
        return EMPTY
    setter, words = setup.setter, setup.words
    quoted = f"{text}{words.close_quote}"
    sizes = [size for size in CUE_SIZES if size <= largest]
    fits = (size for size in sizes if setter.width(quoted, size, bold=True) <= width)
    size = next(fits, SMALL_CUE)
    block = setter.paragraph(quoted, x, width, size, True, LARGE_LINE * size / LARGE)
    mark = setter.width(words.open_quote, size, bold=True)
    hung = setter.label(words.open_quote, (x - mark, DROP * size / TEXT), size, bold=True)
    return block.with_shapes(hung)
