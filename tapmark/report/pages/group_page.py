"""The squad on one page, for the coach only, as PDF and as HTML."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape
from typing import Final

from PIL import Image

from tapmark.checklist.verdict import CANT_TELL, FINE, LIKELY, NEAR_THE_LINE, NOT_MEASURED, SEEN
from tapmark.report.drawing.painter import Fonts
from tapmark.report.drawing.palette import BLACK, WHITE
from tapmark.report.drawing.shapes import Line, Ring, Shapes, moved
from tapmark.report.drawing.signs import HEIGHT, verdict_sign
from tapmark.report.drawing.svg import svg
from tapmark.report.pages.content import GroupContent, GroupLine
from tapmark.report.pages.html import document, element, section
from tapmark.report.pages.layout import (
    CONTENT,
    DROP,
    LARGE,
    LINE,
    LIST_LINE,
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

N_ITEMS: Final = 18
PITCH: Final = 5.35  # of the items' columns
SIGNS_AT: Final = 45.0  # middle of the first one
SIGN: Final = 2.7
ROWS: Final = (5.6, 5.0, 4.6)  # pitch of the athletes' rows, the widest that fits
SIGNED: Final = (SEEN, LIKELY, NEAR_THE_LINE, FINE, CANT_TELL, NOT_MEASURED)


def group_pages(content: GroupContent, fonts: Fonts | None = None) -> tuple[Image.Image, ...]:
    """Paint the group sheet in grey at 300 dpi: one page, more for a very large squad."""
    fonts = fonts or Fonts(PX_PER_MM)
    return tuple(painted(each, content.paper, fonts) for each in group_shapes(content, fonts))


def group_shapes(content: GroupContent, fonts: Fonts) -> tuple[Shapes, ...]:
    """Return the pages as shapes in mm."""
    table = _Table(content, Setter(fonts), page_words(content.words))
    return tuple(spread(page, [0.0, *([3.4] * (len(page) - 1))], MARGIN) for page in table.pages())


@dataclass(frozen=True)
class _Table:
    content: GroupContent
    setter: Setter
    words: PageWords

    def pages(self) -> Iterator[list[Block]]:
        """Yield the blocks of each page; the last one ends with the lists."""
        lists = _lists(self.content, self.words)
        foot = [self._legend(), *(self._list(heading, lines) for heading, lines in lists)]
        free = PAPERS[self.content.paper].free
        last = free - self._strip().height - sum(block.height + 3.4 for block in foot) - 3.4
        lines = list(self.content.lines)
        pitch = next((p for p in ROWS if (len(lines) + 1) * p <= last), ROWS[-1])
        fits = max(1, int(last / pitch) - 1)
        while len(lines) > fits:
            n = min(len(lines), int((free - self._strip().height - 3.4) / pitch) - 1)
            yield [self._strip(), self._rows(lines[:n], pitch)]
            lines = lines[n:]
        yield [self._strip(), self._rows(lines, pitch), *foot]

    def _strip(self) -> Block:
        paper, content = PAPERS[self.content.paper], self.content
        wide = paper.full - self.setter.width(self.words.coach_only) - 6.0
        name = self.setter.shortened(content.name, wide, LARGE, bold=True)
        right = paper.right
        day = self.words.iso_date(content.dated)
        shapes = (
            self.setter.title(name),
            self.setter.label(day, (right, DROP), bold=True, anchor="e"),
            self.setter.label(self.words.coach_only, (right, DROP + LINE), anchor="e"),
            rule(MARGIN, 11.7, paper.full, RULE),
        )
        return Block(shapes, 12.0)

    def _rows(self, lines: Sequence[GroupLine], pitch: float) -> Block:
        shapes = self._heads()
        for i, line in enumerate(lines, 1):
            shapes += moved(self._row(line), 0.0, i * pitch)
        return Block(shapes, (len(lines) + 1) * pitch)

    def _heads(self) -> Shapes:
        label = self.setter.label
        is_wide = self.setter.width("18", bold=True) > PITCH - 0.6
        size = SMALL if is_wide else TEXT  # the coach's numerals may be smaller
        numbers = tuple(
            label(str(n + 1), (SIGNS_AT + n * PITCH, DROP), size, bold=True, anchor="c")
            for n in range(N_ITEMS)
        )
        room = PAPERS[self.content.paper].right - self.date_at
        last = self.setter.shortened(self.words.last_filmed, room, bold=True)
        return (*numbers, label(last, (self.date_at, DROP), bold=True))

    @property
    def date_at(self) -> float:
        """Left edge of the last column."""
        return SIGNS_AT + N_ITEMS * PITCH + 0.3

    def _row(self, line: GroupLine) -> Shapes:
        setter, right = self.setter, PAPERS[self.content.paper].right
        code = setter.shortened(line.code, SIGNS_AT - MARGIN - 4.0, bold=line.is_due)
        shapes: Shapes = (setter.label(code, (MARGIN, DROP), bold=line.is_due),)
        for n, word in enumerate(line.words):
            at = (SIGNS_AT + n * PITCH, DROP - 1.35)
            shapes += _sign(word, at)
            if n + 1 in line.works_on:
                shapes += (_bar(at),)
        text = setter.shortened(_last(line, self.words), right - self.date_at)
        return (*shapes, setter.label(text, (self.date_at, DROP)))

    def _legend(self) -> Block:
        """What the signs mean, and the names of the items in three columns."""
        signs = self._signs()
        setter, words = self.setter, self.content.words
        third = PAPERS[self.content.paper].full / 3
        shapes: Shapes = ()
        for n in range(N_ITEMS):
            left, y = MARGIN + n // 6 * third, DROP + n % 6 * LIST_LINE
            name = setter.shortened(words.item(n + 1), third - 9.0)
            shapes += (setter.label(str(n + 1), (left + 5.6, y), bold=True, anchor="e"),)
            shapes += (setter.label(name, (left + 7.2, y)),)
        return signs.below(Block(shapes, 6 * LIST_LINE), 0.8)

    def _signs(self) -> Block:
        """The signs and their words, on as many lines as they take."""
        words, right = self.content.words, PAPERS[self.content.paper].right
        told = [(_sign(word, (0.0, 0.0)), words.verdict(word)) for word in SIGNED]
        told.append(((*_sign(SEEN, (0.0, 0.0)), _bar((0.0, 0.0))), self.words.works_on))
        x, y = MARGIN + 2.6, DROP
        shapes: Shapes = ()
        for sign, text in told:
            wide = self.setter.width(text)
            if x + 3.4 + wide > right and x > MARGIN + 3.0:
                x, y = MARGIN + 2.6, y + LINE
            shapes += moved(sign, x, y - 1.35)
            shapes += (self.setter.label(text, (x + 3.4, y)),)
            x += wide + 9.6
        return Block(shapes, y - DROP + LINE)

    def _list(self, heading: str, lines: list[str]) -> Block:
        width = PAPERS[self.content.paper].content
        said = stacked(self.setter.paragraph(line, CONTENT, width) for line in lines)
        return self.setter.heading(heading).compare(said)


def _last(line: GroupLine, words: PageWords) -> str:
    """Return when an athlete was last filmed, and what is in the way or due."""
    day = words.short_date(line.dated) if line.dated else words.never
    note = line.note or (words.due if line.is_due else "")
    return ", ".join(part for part in (day, note) if part)


def _lists(content: GroupContent, words: PageWords) -> Iterator[tuple[str, list[str]]]:
    """Yield heading and lines of each list under the table, none that is empty."""
    item = content.words.item
    lists = (
        (words.common_root, [", ".join(map(item, content.common))] if content.common else []),
        (words.share_root, [f"{item(n)}: {', '.join(codes)}" for n, codes in content.groups]),
        (
            words.due_head,
            [
                f"{words.evening.format(n=n)}: {', '.join(codes)}"
                for n, codes in enumerate(content.evenings, 1)
            ],
        ),
        (words.film_again, [", ".join(content.again)] if content.again else []),
    )
    return ((heading, lines) for heading, lines in lists if lines)


def _sign(word: str, at: tuple[float, float]) -> Shapes:
    """A verdict in the matrix: what is fine and what was not filmed stays small."""
    if word == FINE:
        return (Ring(at, 0.55, WHITE, BLACK, 0.3),)
    if word == NOT_MEASURED:
        return (Line(((at[0] - 0.6, at[1]), (at[0] + 0.6, at[1])), BLACK, 0.3),)
    return verdict_sign(word, at, SIGN)


def _bar(at: tuple[float, float]) -> Line:
    x, y = at
    return Line(((x - 2.0, y + 2.0), (x + 2.0, y + 2.0)), BLACK, 0.8)


def group_html(content: GroupContent) -> str:
    """Return the group sheet as an HTML document."""
    words = page_words(content.words)
    day = words.iso_date(content.dated)
    head = f"<b>{escape(day)}</b><br>{escape(words.coach_only)}"
    body = f"<header>{element('h1', content.name)}<p>{head}</p></header><main>"
    body += section(words.checklist, _matrix(content, words), "wide")
    for heading, lines in _lists(content, words):
        items = "".join(element("li", line) for line in lines)
        body += section(heading, f"<ul>{items}</ul>")
    body += "</main>"
    return document(f"{content.name}, {day}", body, words, content.paper)


def _matrix(content: GroupContent, words: PageWords) -> str:
    names = [content.words.item(n) for n in range(1, N_ITEMS + 1)]
    heads = "".join(
        f'<th scope="col"><abbr title="{escape(name)}">{n}</abbr></th>'
        for n, name in enumerate(names, 1)
    )
    rows = "".join(_row(content, words, line) for line in content.lines)
    head = f'<th scope="col">{escape(words.code_head)}</th>{heads}'
    head += f'<th scope="col">{escape(words.last_filmed)}</th>'
    table = f'<table class="matrix"><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>'
    return table + "<ol>" + "".join(element("li", name) for name in names) + "</ol>"


def _row(content: GroupContent, words: PageWords, line: GroupLine) -> str:
    cells = ""
    for number in range(1, N_ITEMS + 1):
        word = line.words[number - 1] if number <= len(line.words) else ""
        if not word:
            cells += "<td></td>"
            continue
        said = content.words.verdict(word)
        if number in line.works_on:
            said = f"{said}, {words.works_on}"
        kind = ' class="works"' if number in line.works_on else ""
        sign = svg(verdict_sign(word, (3.2, 2.0), HEIGHT), (6.4, 4.0), said)
        cells += f"<td{kind}>{sign}</td>"
    last = _last(line, words)
    return f'<tr><th scope="row">{escape(line.code)}</th>{cells}<td>{escape(last)}</td></tr>'
