"""The squad on one page, for the coach only: what it says, and how it stands on paper.

Items are rows by moment, athletes are columns, in the order of their codes. Whom nothing was
measured of has no column, what was measured of nobody has no row: both are told in words.
"""

from collections.abc import Iterable, Iterator
from typing import Final

from PIL import Image

from tapmark.checklist.verdict import (
    CANT_TELL,
    FINE,
    LIKELY,
    NEAR_THE_LINE,
    NOT_MEASURED,
    SEEN,
    SHOWN,
)
from tapmark.report.drawing.painter import Fonts
from tapmark.report.drawing.palette import BLACK
from tapmark.report.drawing.shapes import Area, Line, Shapes, moved
from tapmark.report.drawing.signs import HEIGHT, strength_tick, table_sign
from tapmark.report.pages.content import GroupContent, GroupLine
from tapmark.report.pages.html import page_html
from tapmark.report.pages.layout import (
    CONTENT,
    DROP,
    LARGE,
    LINE,
    MARGIN,
    PAPERS,
    PX_PER_MM,
    RULE,
    SMALL,
    TEXT,
    Block,
    Setter,
    n_fitting,
    painted,
    rule,
    spread,
    stacked,
)
from tapmark.report.pages.parts import Cell, Entries, Entry, Matrix, MatrixRow, Page, Section
from tapmark.report.pages.words import page_words

MOMENTS: Final = (
    ("touchdown", (1, 2, 3, 9, 10)),
    ("mid_stance", (8, 11)),
    ("toe_off", (5, 6, 7)),
    ("in_the_air", (4, 12, 15)),
    ("from_behind", (16, 17, 18)),
)
"""When each item is seen; 13 and 14 follow from the others and stand nowhere."""
MOST_COLUMNS: Final = 15
COLUMNS: Final = (10.2, 8.0)  # pitch of the athletes' columns: up to 12 of them, more
MOST_WIDE: Final = 12
APART: Final = 1.6  # between two codes or dates, else they are set in 9 pt
ROWS: Final = (4.3, 9.2)  # least and most pitch of the items' rows
COUNT: Final = 11.0  # room of the last column
BAND: Final = "#F0F0F0"  # decoration: a copier may lose it
GAP: Final = 2.6
HEADS: Final = 6.2  # room of the codes
UNTOLD: Final = (NOT_MEASURED, SHOWN)  # of such words alone no row is made
SIGNED: Final = (SEEN, LIKELY, NEAR_THE_LINE, FINE, CANT_TELL, NOT_MEASURED)


def describe_group(content: GroupContent) -> Page:
    """Return what stands on the group sheet."""
    words, item = page_words(content.words), content.words.item
    lines = [line for line in content.lines if line.words]
    n_pages = max(1, -(-len(lines) // MOST_COLUMNS))
    each = -(-len(lines) // n_pages)  # pages of about the same number of athletes
    shown = {n for line in lines for n, w in enumerate(line.words, 1) if w not in UNTOLD}
    moments = [(words.heading(name), [n for n in items if n in shown]) for name, items in MOMENTS]

    def cell(line: GroupLine, number: int) -> Cell:
        word = line.words[number - 1]
        return Cell(word, content.words.verdict(word), number in line.works_on)

    def row(number: int, here: Iterable[GroupLine]) -> MatrixRow:
        n_seen = sum(line.words[number - 1] == SEEN for line in lines)
        return MatrixRow(item(number), tuple(cell(line, number) for line in here), n_seen)

    def matrix(here: tuple[GroupLine, ...]) -> Matrix:
        rows = ((title, tuple(row(n, here) for n in items)) for title, items in moments if items)
        return Matrix(here, tuple(rows))

    parts = tuple(matrix(tuple(lines[i * each : (i + 1) * each])) for i in range(n_pages))
    lists = {
        heading: Section(heading, (Entries("lines", tuple(map(Entry, told))),))
        for heading, told in _lists(content, shown)
        if any(told)
    }
    return Page(
        title=content.name,
        sections={"matrix": Section(words.checklist, parts), **lists},
        dated=content.dated,
        day=words.iso_date(content.dated),
        facts=words.coach_only,
    )


def _lists(content: GroupContent, shown: set[int]) -> Iterator[tuple[str, list[str]]]:
    """Yield heading and lines of each list under the table; shown: items that have a row."""
    words, item = page_words(content.words), content.words.item
    yield words.common_root, [", ".join(map(item, content.common))]
    shared = []
    for number, codes in content.groups:  # who shares a root may do its drills together
        said = f"{item(number)}: {', '.join(codes)}"
        drills = ", ".join(content.drills.get(number, ()))
        shared.append(f"{said}. {drills}" if drills else said)
    yield words.share_root, shared
    evenings = enumerate(content.evenings, 1)
    due = [f"{words.evening.format(n=n)}: {', '.join(codes)}" for n, codes in evenings]
    yield words.due_head, due
    yield words.film_again, [", ".join(content.again)]
    notes: dict[str, list[str]] = {}
    for line in content.lines:
        if line.note or not line.words:
            notes.setdefault(line.note or words.never, []).append(line.code)
    yield words.waiting_head, [f"{note}: {', '.join(codes)}" for note, codes in notes.items()]
    missing = (item(n) for _, items in MOMENTS for n in items if n not in shown)
    yield words.of_nobody, [", ".join(missing)]


def group_html(content: GroupContent) -> str:
    """Return the group sheet as an HTML document."""
    return page_html(describe_group(content), page_words(content.words), content.paper)


def group_pages(content: GroupContent) -> tuple[Image.Image, ...]:
    """Paint the group sheet in grey at 300 dpi: one page for each 15 athletes."""
    fonts = Fonts(PX_PER_MM)
    return tuple(painted(each, content.paper, fonts) for each in group_shapes(content, fonts))


def group_shapes(content: GroupContent, fonts: Fonts) -> tuple[Shapes, ...]:
    """Return the pages as shapes in mm; the lists stand on the last one that has room."""
    return tuple(_GroupPages(content, fonts).pages())


class _GroupPages(Setter):
    """Sets the table and the lists of a squad on paper."""

    def __init__(self, content: GroupContent, fonts: Fonts) -> None:
        super().__init__(fonts, PAPERS[content.paper])
        self.verdict, self.words = content.words.verdict, page_words(content.words)
        self.page = describe_group(content)

    def pages(self) -> Iterator[Shapes]:
        """Yield a page for each part of the table; lists that have no room stand on their own."""
        table, *sections = self.page.sections.values()
        top, legend, lists = self._strip(), self._legend(), [*map(self._list, sections)]
        parts = [part for part in table.parts if isinstance(part, Matrix)]
        rest = lists
        for part in parts:
            foot = self._foot(part)
            n_rows = max(1, sum(1 + len(rows) for _, rows in part.moments))
            for below in ([legend, *(lists if part is parts[-1] else [])], [legend]):
                used = top.height + sum(block.height + GAP for block in below) + GAP
                pitch = min(ROWS[1], (self.paper.free - used - HEADS - foot.height) / n_rows)
                if pitch >= ROWS[0]:
                    break
            rest = [] if len(below) > 1 else lists
            yield spread([top, self._table(part, pitch).below(foot), *below], GAP)
        while rest:
            n = n_fitting(rest, self.paper.free - top.height, GAP)
            yield spread([top, *rest[:n]], GAP)
            rest = rest[n:]

    def _strip(self) -> Block:
        paper, page = self.paper, self.page
        wide = paper.full - self.width(page.facts) - 6.0
        shapes = (
            self.title(self.shortened(page.title, wide, LARGE, bold=True)),
            self.label(page.day, (paper.right, DROP), bold=True, anchor="e"),
            self.label(page.facts, (paper.right, DROP + LINE), anchor="e"),
            rule(MARGIN, 11.7, paper.full, RULE),
        )
        return Block(shapes, 12.0)

    def _middles(self, part: Matrix) -> tuple[list[float], float]:
        """Return the middles of the athletes' columns, up to that of counts, and their pitch."""
        n = len(part.athletes)
        pitch = COLUMNS[n > MOST_WIDE]
        return [self.paper.right - COUNT - pitch * (n - i - 0.5) for i in range(n)], pitch

    def _table(self, part: Matrix, pitch: float) -> Block:
        """Codes over their columns, then a row an item under its moment."""
        at, column = self._middles(part)
        names, right = at[0] - column / 2 - MARGIN if at else self.paper.full, self.paper.right
        shapes: Shapes = ()
        for line, x in zip(part.athletes, at, strict=True):
            # in full size or, the coach's may be, in 9 pt
            size = TEXT if self.width(line.code, bold=True) <= column - APART else SMALL
            code = self.label(line.code, (x, DROP), size, True, anchor="c", within=column - 0.6)
            shapes += (code,)
        seen = self.words.seen_head
        shapes += (self.label(seen, (right, DROP), anchor="e", within=COUNT - 1.0),)
        y, is_pale = HEADS, True
        for title, rows in part.moments:
            at_title = MARGIN, y + pitch - 1.5
            shapes += (self.label(title, at_title, bold=True, within=self.paper.full),)
            y += pitch
            for row in rows:
                middle = y + pitch / 2
                if is_pale:
                    corners = ((MARGIN, y), (right, y), (right, y + pitch), (MARGIN, y + pitch))
                    shapes += (Area(corners, BAND),)
                name_at = MARGIN + 3.0, middle + 1.35
                shapes += (self.label(row.name, name_at, within=names - 4.0),)
                for cell, x in zip(row.cells, at, strict=True):
                    shapes += table_sign(cell.word, (x, middle))
                    if cell.works:
                        shapes += (_bar((x, min(y + pitch, middle + 3.2)), column),)
                if row.n_seen:
                    place = right - 2.0, middle + 1.35
                    shapes += (self.label(str(row.n_seen), place, bold=True, anchor="e"),)
                y, is_pale = y + pitch, not is_pale
        return Block(shapes, y)

    def _foot(self, part: Matrix) -> Block:
        """Under each column: when the athlete was filmed, and a tick for who is due."""
        at, column = self._middles(part)
        wide = column - 0.6
        room = (at[0] - wide / 2 if at else self.paper.right) - MARGIN - 1.0
        shapes: Shapes = (rule(MARGIN, 0.6, self.paper.full, RULE),)
        heads = (self.words.last_filmed_head, self.words.film_this_week)
        for text, y in zip(heads, (1.6, 1.6 + 2 * LINE), strict=True):
            shapes += (self.label(text, (MARGIN, y + DROP), bold=True, within=room),)
        for line, x in zip(part.athletes, at, strict=True):
            day, _, month = self.words.short_date(line.dated).partition(" ")
            size = TEXT if self.width(month) <= column - APART else SMALL
            for text, y in ((day, 1.6), (month, 1.6 + LINE)):
                shapes += (self.label(text, (x, y + DROP), size, anchor="c", within=wide),)
            if line.is_due:
                shapes += strength_tick((x - 1.6, 1.6 + 2 * LINE + DROP + 0.2), 0.9 * HEIGHT)
        return Block(shapes, 2.6 + 3 * LINE)

    def _legend(self) -> Block:
        """The signs and their words, on as many lines as they take."""
        told = [(table_sign(word, (0.0, 0.0)), self.verdict(word)) for word in SIGNED]
        told.append(((_bar((0.0, 1.2), 7.0),), self.words.works_on))
        x, y = MARGIN + 2.6, DROP
        shapes: Shapes = ()
        for sign, text in told:
            wide = self.width(text)
            if x + 4.4 + wide > self.paper.right and x > MARGIN + 3.0:
                x, y = MARGIN + 2.6, y + LINE + 0.4
            shapes += (*moved(sign, x, y - 1.35), self.label(text, (x + 4.4, y)))
            x += wide + 10.4
        return Block(shapes, y - DROP + LINE)

    def _list(self, section: Section) -> Block:
        lines, wide = section.only(Entries).entries, self.paper.content
        told = stacked(self.paragraph(line.name, CONTENT, wide) for line in lines)
        return self.heading(section.heading).beside(told)


def _bar(at: tuple[float, float], wide: float) -> Line:
    """What an athlete works on stands on a floor."""
    x, y = at
    half = wide / 2 - 1.4
    return Line(((x - half, y - 0.55), (x + half, y - 0.55)), BLACK, 1.0)
