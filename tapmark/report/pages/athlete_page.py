"""The athlete's page: one side of paper, in the order a runner reads it.

With a task: strip, what you do well, your one thing with you and the idea across the page, the
cue, what to do with boxes to tick, since last time, step line, foot. Without one: what you do
well, drawn large. Where the text needs more room, the page gives up in a fixed order, the pair
last. Text and boxes never shrink.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
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
    Piece,
    Setter,
    of_drawing,
    painted,
    rule,
    ruled,
    ruled_off,
    spread,
    stacked,
)
from tapmark.report.pages.parts import (
    N_TICK_ROWS,
    Drills,
    Entries,
    Entry,
    Figure,
    Notes,
    OwnWord,
    Paragraph,
    Priority,
    Section,
)
from tapmark.report.pages.photo import paste, photo_frame, photo_place
from tapmark.report.pages.sections import describe_athlete, foot
from tapmark.report.pages.words import page_words


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
    page, slack = _AthletePage(content, fonts), 0.0
    for room in rooms(content, "items" in page.sections):
        blocks = page.groups(room)
        inner = len(blocks) - 2
        slack = page.paper.free - sum(block.height for block in blocks) - room.gap * (inner + 0.6)
        if slack >= 0:
            share = min(slack / (inner + 1), max(0.0, WIDEST_GAP - room.gap))
            last = 0.6 * room.gap + slack - share * inner
            return spread(blocks, [*[room.gap + share] * inner, last])
    raise SheetTooFull(
        f"The page of {content.athlete.code} does not hold its words: {-slack:.0f} mm "
        "too many. Shorten the notes or the phrases, or choose one priority."
    )


WIDEST_GAP: Final = 9.0
THIRD: Final = 48.0  # pitch of three short things side by side
TICK: Final = 5.0  # room of a strength's tick
TWO_WIDE: Final = 0.56  # share of the width that a pair takes where there are two
MOST_TYPED: Final = 3
NOTES_IN_CARE: Final = 4  # more lines where a page has nothing but care on it
SIGN: Final = 7.6  # room of a sign before its word
LEAST_DATE: Final = 13.0  # room of the date and the gap behind it
HEAD_GAP: Final = 1.4


class _AthletePage(Setter):
    """Sets the groups of a page; what was drawn is kept for layouts that give it the same room."""

    def __init__(self, content: SheetContent, fonts: Fonts) -> None:
        super().__init__(fonts, PAPERS[content.paper])
        self.content, self.words = content, page_words(content.words)
        self.page = describe_athlete(content, self.words)
        self.sections = self.page.sections
        self.room = Room()
        self._kept: dict[tuple[object, ...], Block] = {}

    def groups(self, room: Room) -> list[Block]:
        """Return the groups from top to bottom; the last one is the foot."""
        self.room = room
        groups = [
            self._once(self._strip),
            self._once(self._strengths, room.n_strengths, room.praise),
            self._task(),
            self._drills(),
            self._once(self._since),
            self._once(self._items) if room.has_list else EMPTY,
            self._once(self._step, room.figure),
            EMPTY if self.content.assessment.slots else self._notes(),
        ]
        foot_block = self._once(self._foot, room.has_list)
        return [*(block for block in groups if block.height), foot_block]

    def _once(self, make: Callable[..., Block], *given: object) -> Block:
        key = (make.__name__, self.room.is_terse, *given)
        if key not in self._kept:
            self._kept[key] = make(*given)
        return self._kept[key]

    def heading(self, text: str) -> Block:
        """Return a heading in the left column; on a crowded page it takes two lines at most."""
        lines = self.wrapped(text, HEADING_WIDTH, bold=True)
        if not self.room.is_terse or len(lines) <= 2:
            return super().heading(text)
        second = self.shortened(" ".join(lines[1:]), HEADING_WIDTH, bold=True)
        return stacked(map(super().heading, (lines[0], second)))

    def _strip(self) -> Block:
        """Return code, date, run and clip quality over the one rule of the page."""
        paper, told = self.paper, self.page
        is_short = self.width(told.title, LARGE, bold=True) <= LEFT_WIDTH + 4
        x, width = (CONTENT, paper.content) if is_short else (MARGIN, paper.full)
        labels: Shapes = (self.label(told.day, (x, DROP), bold=True),)
        if told.number:
            labels += (self.label(told.number, (x + self.width(told.day, bold=True) + 3.5, DROP)),)
        facts = Block(labels, LINE).below(self.paragraph(told.facts, x, width))
        if is_short:
            block = Block((self.title(told.title),), TITLE_LINE).beside(facts)
        else:  # a long code takes a line of its own
            lines = self.paragraph(told.title, MARGIN, paper.full, LARGE, True, LARGE_LINE)
            block = lines.below(facts, 0.6)
        return ruled_off(block, paper.full)

    def _strengths(self, n: int, tall: float) -> Block:
        """Return what is done well: ticks in a row, or drawn large where there is no task."""
        section = self.sections.get("strengths")
        if not section:
            return EMPTY
        part = section.only(Entries)
        entries = part.entries[:n]
        if part.is_large:
            return self.wide_heading(section.heading).below(self._praised(entries, tall), 1.0)
        fits = all(self.width(each.name) <= THIRD - TICK - 2 for each in entries)
        shapes: Shapes = ()
        for i, each in enumerate(entries):
            x, y = (CONTENT + i * THIRD, 0.0) if fits else (CONTENT, i * LINE)
            room = self.paper.right - x - TICK
            shapes += strength_tick((x, y + DROP + 0.3), HEIGHT)
            shapes += (self.label(each.name, (x + TICK, y + DROP), within=room),)
        height = LINE if fits else LINE * len(entries)
        return self.heading(section.heading).beside(Block(shapes, height))

    def _praised(self, entries: Sequence[Entry], tall: float) -> Block:
        """Return the strengths side by side, each in large letters under its own figure."""
        wide = self.paper.full / max(2, len(entries))
        drawn = [entry.draw(wide, tall) if entry.draw and tall else None for entry in entries]
        above = max((each.above for each in drawn if each), default=0.0)
        pieces: list[Piece] = []
        row = EMPTY
        for i, (entry, each) in enumerate(zip(entries, drawn, strict=True)):
            left = MARGIN + (self.paper.full - len(entries) * wide) / 2 + i * wide
            if each:
                pieces.append((each.draw, left, above))
            said = self.paragraph(entry.name, left + 7.5, wide - 9.0, NAME, True, 6.4)
            row = row.beside(said.with_shapes(*strength_tick((left + 1.0, 5.6), 1.4 * HEIGHT)))
        if above:  # after the figures, whose white edge would cut it
            pieces.append(((rule(MARGIN, above + THIN / 2, self.paper.full),), 0.0, 0.0))
        return Block((), above + (2.0 if above else 0.0), tuple(pieces)).below(row, 1.5)

    def _task(self) -> Block:
        section = self.sections["task"]
        told = [part for part in section.parts if isinstance(part, Paragraph)]
        priorities = [part for part in section.parts if isinstance(part, Priority)]
        if told:
            return self._instead(section, told)
        return (self._one if len(priorities) == 1 else self._two)(section, priorities)

    def _instead(self, section: Section, told: Sequence[Paragraph]) -> Block:
        """Return what stands where there is no task: keep this, or why there is none."""
        if section.is_care:
            text = " ".join(part.text for part in told)
            line = 1.08 * LARGE_LINE
            large = self.paragraph(text, MARGIN, self.paper.full, LARGE, True, line)
            return self.wide_heading(section.heading).below(large, 1.0)
        texts = [
            self.paragraph(part.text, CONTENT, self.paper.content, NAME, True, 6.2)
            if part.style == "title"
            else self.paragraph(part.text, CONTENT, self.paper.content)
            for part in told
        ]
        title = self.heading(section.heading)
        return (_lowered(title) if told[0].style else title).beside(stacked(texts, 0.6))

    def _one(self, section: Section, parts: Sequence[Priority]) -> Block:
        """Return one thing: name, what we saw, you and the idea across the page, the cue."""
        (part,), paper, own = parts, self.paper, section.only(OwnWord)
        body = self._name_and_says(part, CONTENT, paper.content)
        block = _lowered(self.heading(section.heading)).beside(body)
        block = block.below(self._pair(part, paper.full), 1.6)
        block = block.below(self._cue(part.cue, CONTENT, paper.content, self.room.cue), 1.8)
        text = self.label(own.text, (CONTENT, DROP), bold=True, within=paper.content)
        line = Block((text if own.text else rule(CONTENT, DROP + 0.9, paper.half),), LINE)
        return block.below(self.paragraph(own.label, MARGIN, LEFT_WIDTH).beside(line), 1.0)

    def _two(self, section: Section, parts: Sequence[Priority]) -> Block:
        """Return two things under one another, each with its own pair beside its words."""
        paper = self.paper
        wide = TWO_WIDE * paper.full
        blocks = [self.wide_heading(section.heading)]
        for part in parts:
            pair = self._pair(part, wide)
            left, width = (MARGIN + wide + GUTTER, paper.full - wide - GUTTER)
            if not pair.height:
                left, width = CONTENT, paper.content
            has_says = part is parts[0] or not self.room.is_terse
            name = self._name_and_says(part, left, width, has_says)
            large = self._cue(part.cue, left, width, min(LARGE, self.room.cue))
            blocks.append(pair.beside(name.below(large, 1.4)))
        told = section.only(OwnWord)
        start = MARGIN + self.width(told.label) + 3.0
        line = rule(start, DROP + 0.9, paper.second + paper.half / 2 - start)
        own = Block((self.label(told.label, (MARGIN, DROP)), line), LINE)
        if told.text:
            text = self.shortened(f"{told.label}: {told.text}", paper.full)
            own = self.paragraph(text, MARGIN, paper.full)
        return stacked([*blocks, own], min(2.0, self.room.gap))

    def _name_and_says(
        self, part: Priority, x: float, width: float, has_says: bool = True
    ) -> Block:
        """The plain name in 15 pt, beside it the foot and moment meant, then what we saw."""
        name = self.paragraph(part.name, x, width, NAME, True, 6.2)
        at = x + self.width(part.name, NAME, bold=True) + 3.0
        if part.aside and (len(name.own) > 1 or at + self.width(part.aside) > x + width):
            name = name.below(self.paragraph(part.aside, x, width))
        elif part.aside:
            name = name.with_shapes(self.label(part.aside, (at, DROP * NAME / TEXT)))
        says = first_sentence(part.says) if self.room.is_terse else part.says
        return name.below(self.paragraph(says, x, width), 0.6) if has_says else name

    def _pair(self, part: Priority, wide: float) -> Block:
        """You and the idea, as large as the room allows."""
        figure, tall = part.pair, self.room.pair
        if figure is None or not tall:
            return EMPTY

        def pair(name: str, tall: float) -> Block:
            drawn, place = figure.draw(wide, tall, self.width), Block((), 0.0)
            if figure.photo:
                left, across = photo_place(wide, drawn.above)
                place = Block((photo_frame(MARGIN + left, across, drawn.above),), 0.0)
            return place.beside(of_drawing(drawn))

        return self._once(pair, part.name, tall)

    def _cue(self, text: str, x: float, width: float, largest: float) -> Block:
        """Return the cue as large as fits on one line; its opening quote mark hangs outside.

        From the largest size down to the smallest; what is wider still gets a second line.
        """
        if not text:
            return EMPTY
        quoted = f"{text}{self.words.close_quote}"
        sizes = [size for size in CUE_SIZES if size <= largest]
        fits = (size for size in sizes if self.width(quoted, size, bold=True) <= width)
        size = next(fits, SMALL_CUE)
        block = self.paragraph(quoted, x, width, size, True, LARGE_LINE * size / LARGE)
        mark = self.words.open_quote
        at = x - self.width(mark, size, bold=True), DROP * size / TEXT
        return block.with_shapes(self.label(mark, at, size, bold=True))

    def _drills(self) -> Block:
        """Return drills beside the boxes to tick; what hands write goes where there is room."""
        section = self.sections.get("drills")
        if not section:
            return EMPTY
        part, room, paper = section.only(Drills), self.room, self.paper
        width = paper.second - GUTTER - MARGIN
        pain = self.paragraph(part.pain, CONTENT, width + MARGIN - CONTENT, bold=True)
        top = self.heading(section.heading).beside(pain)
        if part.care:
            care = first_sentence(part.care) if room.is_terse else part.care
            top = top.below(self.paragraph(care, MARGIN, width))
        drills = (self._drill(drill, width) for drill in part.drills[: room.n_drills])
        between, under = min(1.4, 0.4 * room.gap), min(2.0, 0.7 * room.gap)
        left, right = stacked([top, *drills], between), self._tick_table(part)
        for piece in (self._coach_saw, self._retest, self._lines_for_notes):
            lefts = left.below(piece(MARGIN, width), under)
            rights = right.below(piece(paper.second, paper.half), under)
            if max(lefts.height, right.height) <= max(left.height, rights.height):
                left = lefts
            else:
                right = rights
        block, notes = left.beside(right), self.sections["notes"]
        typed = notes.only(Notes).typed
        if not typed:
            return block
        return block.below(self.heading(notes.heading).beside(self._typed(typed)), 1.6)

    def _drill(self, drill: Drill, width: float) -> Block:
        """Name and how much, how to do it, when to stop, and its caution."""
        line = self.room.line
        how = first_sentence(drill.how) if self.room.is_terse else drill.how
        name = self.paragraph(drill.name, MARGIN, width, bold=True)
        x = MARGIN + self.width(drill.name, bold=True) + 2.6
        if len(name.own) == 1 and x + self.width(drill.dose) <= MARGIN + width:
            name = name.with_shapes(self.label(drill.dose, (x, DROP)))
        else:
            name = name.below(self.paragraph(drill.dose, MARGIN, width, line=line))
        return stacked(
            [name, *(self.paragraph(t, MARGIN, width, line=line) for t in (how, drill.care))]
        )

    def _tick_table(self, part: Drills) -> Block:
        """Six rows: a date to write, did it, and how it felt."""
        paper, pitch = self.paper, self.room.pitch
        text = part.ticks_title
        if self.room.is_terse:
            text = self.shortened(text, paper.half, bold=True)
        title = self.paragraph(text, paper.second, paper.half, bold=True)
        date_head, *heads = part.heads
        centres, labels = self._tick_heads(heads)
        date_width = min(17.0, centres[0] - BOX / 2 - 3.0 - paper.second)
        date = self.label(date_head, (paper.second, DROP), within=date_width)
        rows: Shapes = ()
        for i in range(N_TICK_ROWS):
            rows += (rule(paper.second, i * pitch + BOX - THIN / 2, date_width),)
            for x in centres:
                rows += check_box((x - BOX / 2, i * pitch), BOX, width=THIN)
        boxes = Block(rows, (N_TICK_ROWS - 1) * pitch + BOX)
        return title.below(labels.with_shapes(date), 1.2).below(boxes, 0.8)

    def _tick_heads(self, heads: list[str]) -> tuple[list[float], Block]:
        """Return the middles of the four columns of boxes, and their heads over them.

        Heads too wide for one row stand on two by turns; the last column ends at the margin.
        """
        paper, room = self.paper, self.paper.half - LEAST_DATE
        widths = [max(self.width(text), BOX) for text in heads]
        in_one_row = sum(widths) + 3 * HEAD_GAP <= room
        if in_one_row:
            gap = min(2.6, (room - sum(widths)) / 3)
        else:
            heads = [self.shortened(text, (room - HEAD_GAP) / 2) for text in heads]
            widths, gap = [room / 4 - HEAD_GAP] * 4, HEAD_GAP
        ends = [paper.right - sum(widths[i + 1 :]) - gap * (3 - i) for i in range(4)]
        centres = [end - wide / 2 for end, wide in zip(ends, widths, strict=True)]
        labels: Shapes = ()
        for i, (text, centre) in enumerate(zip(heads, centres, strict=True)):
            y = DROP if in_one_row or i % 2 else DROP + LINE
            x = min(centre, paper.right - self.width(text) / 2)
            labels += (self.label(text, (x, y), anchor="c"),)
        return centres, Block(labels, LINE if in_one_row else 2 * LINE)

    def _coach_saw(self, left: float, width: float) -> Block:
        """The coach's boxes, on as many rows as they take."""
        part = self.sections["drills"].only(Drills)
        label = self.label(part.boxes_title, (left, DROP), within=width)
        shapes: Shapes = (label,)
        x, y = left + self.width(label.text) + 4.0, 0.0
        for text in part.boxes:
            text = self.shortened(text, width - BOX - 1.8)
            wide = BOX + 1.8 + self.width(text)
            if x + wide > left + width:
                x, y = left, y + BOX + 1.2
            shapes += check_box((x, y), BOX, width=THIN)
            shapes += (self.label(text, (x + BOX + 1.8, y + DROP)),)
            x += wide + 4.0
        return Block(shapes, y + BOX)

    def _retest(self, left: float, width: float) -> Block:
        """The week of the next filming, or a line for it beside its label."""
        told = self.sections["notes"].only(Notes)
        week = f"{told.week_label} {told.week}".strip()
        return self._to_fill(week, left, width, 0 if told.week else 1, LINE)

    def _lines_for_notes(self, left: float, width: float) -> Block:
        """Lines to write on, the first one beside its label; none where the coach has typed."""
        notes, pitch = self.sections["notes"], self.room.pitch + 0.6
        n = 0 if notes.only(Notes).typed else self.room.n_notes
        return self._to_fill(notes.heading, left, width, n, pitch) if n else EMPTY

    def _to_fill(self, text: str, left: float, width: float, n: int, pitch: float) -> Block:
        """A label with lines to write on: the first one beside it, further ones all along."""
        drop = pitch - LINE + DROP
        label = self.label(text, (left, drop), within=width - 8.0 if n else width)
        at = self.width(label.text) + 2.0
        lines = ruled(left, width, n - 1, pitch).shifted(pitch) if n > 1 else EMPTY
        first = (rule(left + at, drop + 0.9, width - at),) if n else ()
        return Block((label, *first), max(1, n) * pitch).beside(lines)

    def _since(self) -> Block:
        """Return at most three names with the sign and the word of what became of them."""
        section = self.sections.get("since")
        if not section:
            return EMPTY
        block = self.heading(section.heading)
        (part,) = section.parts
        if isinstance(part, Paragraph):
            return block.beside(self.paragraph(part.text, CONTENT, self.paper.content))
        entries = part.entries if isinstance(part, Entries) else ()
        lines, wide = [], THIRD if len(entries) > 2 else 1.5 * THIRD
        for i, entry in enumerate(entries):
            x = CONTENT + i * wide
            if self.room.is_terse or len(entries) == 1:  # columns would take more height
                text = f"{entry.name}: {entry.said}{'. ' if entry.note else ''}{entry.note}"
                room = self.paper.right - CONTENT - 11.0
                label = self.label(text, (CONTENT + 11.0, DROP), within=room)
                sign = change_sign(entry.sign, (CONTENT, DROP - 1.35), HEIGHT)
                lines.append(Block((label, *sign), LINE))
                continue
            name = self.paragraph(entry.name, x, wide - 2)
            sign = change_sign(entry.sign, (x, name.height + DROP - 1.35), HEIGHT)
            word = self.paragraph(entry.said, x + 11.0, wide - 14.0, bold=True)
            told = name.with_shapes(*sign).below(word)
            if entry.note:
                told = told.below(self.paragraph(entry.note, x, wide - 2))
            block = block.beside(told)
        return block.beside(stacked(lines))

    def _items(self) -> Block:
        return item_list(self, self.sections["items"])

    def _step(self, figure: float) -> Block:
        """Return the step line over the full width."""
        drawn = self.sections["step"].only(Figure).draw(self.paper.full, figure, self.width)
        return of_drawing(drawn)

    def _notes(self) -> Block:
        """Return notes, lines to write on and the re-test week, where there is no task."""
        room, section, wide = self.room, self.sections["notes"], self.paper.content
        typed = self._typed(section.only(Notes).typed)
        more = NOTES_IN_CARE if self.sections["task"].is_care and room.n_notes else 0
        n = max(0, room.n_notes + more - round(typed.height / LINE))
        lines = typed.below(ruled(CONTENT, wide, n, room.pitch + 1.0))
        retest = self._retest(CONTENT, wide)
        return self.heading(section.heading).beside(lines.below(retest, 1.0))

    def _typed(self, text: str) -> Block:
        """What the coach typed, at most three lines; the coach's copy has the rest."""
        width = self.paper.content
        lines = self.wrapped(text, width)
        if len(lines) > MOST_TYPED:
            rest = " ".join(lines[MOST_TYPED - 1 :])
            lines[MOST_TYPED - 1 :] = [self.shortened(rest, width)]
        return stacked(self.paragraph(line, CONTENT, width) for line in lines)

    def _foot(self, has_list: bool) -> Block:
        """Return cautions and privacy over the full width; the doubt where no list tells it."""
        wide, line = self.paper.full, LINE - 0.2
        return stacked(
            self.paragraph(part.text, MARGIN, wide, bold=bool(part.style), line=line)
            for part in foot(self.content, self.words, has_list)
        )


def first_sentence(text: str) -> str:
    """Return a text up to its first full stop."""
    start, stop, _ = text.partition(". ")
    return f"{start}." if stop else text


def _lowered(heading: Block) -> Block:
    """Put a heading on the baseline of a name in larger type beside it."""
    return heading.shifted(DROP * (NAME / TEXT - 1))


def item_list(setter: Setter, section: Section) -> Block:
    """Return the 18 items in the content column, or over the full width where they are too wide."""
    paper, part = setter.paper, section.only(Entries)
    heading = setter.heading(section.heading)
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
        return heading.below(doubt).beside(rows)
    half = (paper.full - GUTTER) / 2
    rows = _columns(setter, part.entries, (MARGIN, MARGIN + half + GUTTER), half, word)
    over = setter.paragraph(part.doubt, CONTENT, paper.content)
    return heading.beside(over).below(rows, 0.6)


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
                setter.label(entry.name, (left, y), italic=True, within=room),
                setter.label(entry.said, (right, y), italic=True, anchor="e"),
            )
            continue
        word_at = right - word
        room = word_at - SIGN - left - 0.4
        sign = verdict_sign(entry.sign, (word_at - SIGN / 2 - 0.2, y - 1.35), HEIGHT)
        name = setter.label(entry.name, (left, y), within=room)
        shapes += (name, *sign, setter.label(entry.said, (word_at, y)))
    return Block(shapes, middle * LIST_LINE)
