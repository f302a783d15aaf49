"""The squad on one page, for the coach only, as PDF and as HTML.

Items are rows by moment, athletes are columns, in the order of their codes. Whom nothing was
measured of has no column, what was measured of nobody has no row: both are told in words.
"""

from collections.abc import Iterator, Sequence
from html import escape
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
from tapmark.report.drawing.palette import BLACK, WHITE
from tapmark.report.drawing.shapes import Area, Line, Ring, Shapes, moved
from tapmark.report.drawing.signs import HEIGHT, strength_tick, verdict_sign
from tapmark.report.drawing.svg import svg
from tapmark.report.pages.content import GroupContent, GroupLine
from tapmark.report.pages.html import document, element, section
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
    painted,
    rule,
    spread,
    stacked,
)
from tapmark.report.pages.words import PageWords, page_words

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
SIGN: Final = 3.0
ROWS: Final = (4.3, 9.2)  # least and most pitch of the items' rows
COUNT: Final = 11.0  # room of the last column
BAND: Final = "#F0F0F0"  # decoration: a copier may lose it
SIGNED: Final = (SEEN, LIKELY, NEAR_THE_LINE, FINE, CANT_TELL, NOT_MEASURED)


def group_pages(content: GroupContent, fonts: Fonts | None = None) -> tuple[Image.Image, ...]:
    """Paint the group sheet in grey at 300 dpi: one page for each 15 athletes."""
    fonts = fonts or Fonts(PX_PER_MM)
    return tuple(painted(each, content.paper, fonts) for each in group_shapes(content, fonts))


def group_shapes(content: GroupContent, fonts: Fonts) -> tuple[Shapes, ...]:
    """Return the pages as shapes in mm; the lists stand on the last one that has room."""
    sheet = _Sheet(content, Setter(fonts), page_words(content.words))
    return tuple(sheet.pages())


def columns_of(content: GroupContent) -> list[tuple[GroupLine, ...]]:
    """Return the athletes who have a column, in parts of about the same size for each page."""
    lines = [line for line in content.lines if line.words]
    n_pages = max(1, -(-len(lines) // MOST_COLUMNS))
    each = -(-len(lines) // n_pages) if lines else 0
    return [tuple(lines[i * each : (i + 1) * each]) for i in range(n_pages)]


def rows_of(content: GroupContent) -> list[tuple[str, tuple[int, ...]]]:
    """Return the moments with the items that were measured of anybody."""
    told = [line.words for line in content.lines if line.words]
    kept = (
        (name, tuple(n for n in items if {each[n - 1] for each in told} - {NOT_MEASURED, SHOWN}))
        for name, items in MOMENTS
    )
    return [(name, items) for name, items in kept if items]


class _Sheet:
    """Sets the table and the lists of a squad on paper."""

    def __init__(self, content: GroupContent, setter: Setter, words: PageWords) -> None:
        self.content, self.setter, self.words = content, setter, words
        self.paper, self.rows = PAPERS[content.paper], rows_of(content)

    def pages(self) -> Iterator[Shapes]:
        """Yield a page for each part of the table; lists that have no room stand on their own."""
        parts, top, legend = columns_of(self.content), self._strip(), self._legend()
        lists = [self._list(heading, lines) for heading, lines in _lists(self.content, self.words)]
        n_rows = max(1, sum(len(items) for _, items in self.rows) + len(self.rows))
        rest = lists
        for i, lines in enumerate(parts):
            foot = self._foot(lines)
            for below in ([legend, *(lists if i == len(parts) - 1 else [])], [legend]):
                used = top.height + sum(block.height + GAP for block in below) + GAP
                pitch = min(ROWS[1], (self.paper.free - used - HEADS - foot.height) / n_rows)
                if pitch >= ROWS[0]:
                    break
            rest = [] if len(below) > 1 else lists
            yield self._placed([top, self._table(lines, pitch).below(foot), *below])
        while rest:
            free, n = self.paper.free - top.height, 0
            while n < len(rest) and (free := free - rest[n].height - GAP) >= 0:
                n += 1
            yield self._placed([top, *rest[: max(1, n)]])
            rest = rest[max(1, n) :]

    def _placed(self, blocks: list[Block]) -> Shapes:
        return spread(blocks, [0.0, *([GAP] * (len(blocks) - 1))], MARGIN)

    def _strip(self) -> Block:
        paper, setter, words = self.paper, self.setter, self.words
        wide = paper.full - setter.width(words.coach_only) - 6.0
        name = setter.shortened(self.content.name, wide, LARGE, bold=True)
        day, right = words.iso_date(self.content.dated), paper.right
        shapes = (
            setter.title(name),
            setter.label(day, (right, DROP), bold=True, anchor="e"),
            setter.label(words.coach_only, (right, DROP + LINE), anchor="e"),
            rule(MARGIN, 11.7, paper.full, RULE),
        )
        return Block(shapes, 12.0)

    def _middles(self, n: int) -> tuple[list[float], float]:
        """Return the middles of n columns, up to the column of counts, and their pitch."""
        pitch = COLUMNS[n > MOST_WIDE]
        right = self.paper.right - COUNT
        return [right - pitch * (n - i - 0.5) for i in range(n)], pitch

    def _table(self, lines: Sequence[GroupLine], pitch: float) -> Block:
        """Codes over their columns, then a row an item under its moment."""
        setter, (at, column) = self.setter, self._middles(len(lines))
        names = at[0] - column / 2 - MARGIN if at else self.paper.full
        shapes: Shapes = ()
        for line, x in zip(lines, at, strict=True):  # in full size or, the coach's may be, in 9 pt
            wide = column - 0.6
            size = TEXT if setter.width(line.code, bold=True) <= column - APART else SMALL
            code = setter.shortened(line.code, wide, size, bold=True)
            shapes += (setter.label(code, (x, DROP), size, True, anchor="c"),)
        right, y, is_pale = self.paper.right, HEADS, True
        seen = setter.shortened(self.words.seen_head, COUNT - 1.0)
        shapes += (setter.label(seen, (right, DROP), anchor="e"),)
        for moment, items in self.rows:
            title = setter.shortened(self.words.heading(moment), self.paper.full, bold=True)
            shapes += (setter.label(title, (MARGIN, y + pitch - 1.5), bold=True),)
            y += pitch
            for number in items:
                middle = y + pitch / 2
                if is_pale:
                    corners = ((MARGIN, y), (right, y), (right, y + pitch), (MARGIN, y + pitch))
                    shapes += (Area(corners, BAND),)
                name = setter.shortened(self.content.words.item(number), names - 4.0)
                shapes += (setter.label(name, (MARGIN + 3.0, middle + 1.35)),)
                for line, x in zip(lines, at, strict=True):
                    shapes += _sign(line.words[number - 1], (x, middle))
                    if number in line.works_on:
                        shapes += (_bar((x, min(y + pitch, middle + 3.2)), column),)
                told = (line.words for line in self.content.lines if line.words)
                n_seen = sum(words[number - 1] == SEEN for words in told)
                if n_seen:
                    place = right - 2.0, middle + 1.35
                    shapes += (setter.label(str(n_seen), place, bold=True, anchor="e"),)
                y, is_pale = y + pitch, not is_pale
        return Block(shapes, y)

    def _foot(self, lines: Sequence[GroupLine]) -> Block:
        """Under each column: when the athlete was filmed, and a tick for who is due."""
        setter, (at, column) = self.setter, self._middles(len(lines))
        wide = column - 0.6
        top = rule(MARGIN, 0.6, self.paper.full, RULE)
        room = (at[0] - wide / 2 if at else self.paper.right) - MARGIN - 1.0
        shapes: Shapes = (top,)
        heads = (self.words.last_filmed_head, self.words.film_this_week)
        for text, y in zip(heads, (1.6, 1.6 + 2 * LINE), strict=True):
            label = setter.shortened(text, room, bold=True)
            shapes += (setter.label(label, (MARGIN, y + DROP), bold=True),)
        for line, x in zip(lines, at, strict=True):
            day, _, month = self.words.short_date(line.dated).partition(" ")
            size = TEXT if setter.width(month) <= column - APART else SMALL
            for text, y in ((day, 1.6), (month, 1.6 + LINE)):
                text = setter.shortened(text, wide, size)
                shapes += (setter.label(text, (x, y + DROP), size, anchor="c"),)
            if line.is_due:
                tick = strength_tick((x - 1.6, 1.6 + 2 * LINE + DROP + 0.2), 0.9 * HEIGHT)
                shapes += tick
        return Block(shapes, 2.6 + 3 * LINE)

    def _legend(self) -> Block:
        """The signs and their words, on as many lines as they take."""
        words, right = self.content.words, self.paper.right
        told = [(_sign(word, (0.0, 0.0)), words.verdict(word)) for word in SIGNED]
        told.append(((_bar((0.0, 1.2), 7.0),), self.words.works_on))
        x, y = MARGIN + 2.6, DROP
        shapes: Shapes = ()
        for sign, text in told:
            wide = self.setter.width(text)
            if x + 4.4 + wide > right and x > MARGIN + 3.0:
                x, y = MARGIN + 2.6, y + LINE + 0.4
            shapes += moved(sign, x, y - 1.35)
            shapes += (self.setter.label(text, (x + 4.4, y)),)
            x += wide + 10.4
        return Block(shapes, y - DROP + LINE)

    def _list(self, heading: str, lines: list[str]) -> Block:
        width = self.paper.content
        said = stacked(self.setter.paragraph(line, CONTENT, width) for line in lines)
        return self.setter.heading(heading).compare(said)


GAP: Final = 2.6
HEADS: Final = 6.2  # room of the codes


def _lists(content: GroupContent, words: PageWords) -> Iterator[tuple[str, list[str]]]:
    """Yield heading and lines of each list under the table, none that is empty."""
    item = content.words.item
    notes: dict[str, list[str]] = {}
    for line in content.lines:
        if line.note or not line.words:
            notes.setdefault(line.note or words.never, []).append(line.code)
    known = {number for _, items in rows_of(content) for number in items}
    missing = [item(n) for _, items in MOMENTS for n in items if n not in known]
    shared = []
    for number, codes in content.groups:  # who shares a root may do its drills together
        drills = ", ".join(content.drills.get(number, ()))
        said = f"{item(number)}: {', '.join(codes)}"
        shared.append(f"{said}. {drills}" if drills else said)
    evenings = (words.evening.format(n=n) for n in range(1, len(content.evenings) + 1))
    due = [f"{name}: {', '.join(c)}" for name, c in zip(evenings, content.evenings, strict=True)]
    lists = (
        (words.common_root, [", ".join(map(item, content.common))]),
        (words.share_root, shared),
        (words.due_head, due),
        (words.film_again, [", ".join(content.again)]),
        (words.waiting_head, [f"{note}: {', '.join(codes)}" for note, codes in notes.items()]),
        (words.of_nobody, [", ".join(missing)]),
    )
    return ((heading, lines) for heading, lines in lists if any(lines))


def _sign(word: str, at: tuple[float, float]) -> Shapes:
    """A verdict in the table: what is fine and what was not measured stays small."""
    if word == FINE:
        return (Ring(at, 0.8, WHITE, BLACK, 0.34),)
    if word == NOT_MEASURED:
        return (Line(((at[0] - 0.9, at[1]), (at[0] + 0.9, at[1])), BLACK, 0.5),)
    return verdict_sign(word, at, SIGN)


def _bar(at: tuple[float, float], wide: float) -> Line:
    """What an athlete works on stands on a floor."""
    x, y = at
    half = wide / 2 - 1.4
    return Line(((x - half, y - 0.55), (x + half, y - 0.55)), BLACK, 1.0)


def group_html(content: GroupContent) -> str:
    """Return the group sheet as an HTML document."""
    words = page_words(content.words)
    day = words.iso_date(content.dated)
    head = f"<b>{escape(day)}</b><br>{escape(words.coach_only)}"
    body = f"<header>{element('h1', content.name)}<p>{head}</p></header><main>"
    tables = "".join(_matrix(content, words, lines) for lines in columns_of(content) if lines)
    body += section(words.checklist, tables, "wide")
    for heading, lines in _lists(content, words):
        items = "".join(element("li", line) for line in lines)
        body += section(heading, f"<ul>{items}</ul>")
    return document(f"{content.name}, {day}", f"{body}</main>", words, content.paper)


def _matrix(content: GroupContent, words: PageWords, lines: Sequence[GroupLine]) -> str:
    """Return codes, items by moment and the last day of filming as one table."""
    codes = "".join(f'<th scope="col"><b>{escape(line.code)}</b></th>' for line in lines)
    wide, rows = len(lines) + 1, ""
    for moment, items in rows_of(content):
        title = escape(words.heading(moment))
        rows += f'<tr class="moment"><th scope="rowgroup" colspan="{wide}">{title}</th></tr>'
        for number in items:
            rows += f'<tr><th scope="row">{escape(content.words.item(number))}</th>'
            for line in lines:
                word, works = line.words[number - 1], number in line.works_on
                said = content.words.verdict(word) + (f", {words.works_on}" if works else "")
                sign = svg(moved(_sign(word, (0.0, 0.0)), 3.2, 2.0), (6.4, 4.0), said)
                kind = ' class="works"' if works else ""
                rows += f"<td{kind}>{sign}</td>"
            rows += "</tr>"
    rows += f'<tr class="days"><th scope="row">{escape(words.last_filmed_head)}</th>'
    for line in lines:
        day = words.short_date(line.dated) + (f", {words.due}" if line.is_due else "")
        rows += f"<td><b>{escape(day)}</b></td>"
    head = f'<tr><th scope="col">{escape(words.item_head)}</th>{codes}</tr>'
    return f'<table class="matrix"><thead>{head}</thead><tbody>{rows}</tr></tbody></table>'
