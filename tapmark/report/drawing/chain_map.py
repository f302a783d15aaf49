"""The chain as a small map: items as stations, arrows to what probably follows from them.

Only items that matter and their direct causes are on it, never all 18. A heavy line joins items
that are not fine, a light one leaves a fine item. The chosen item wears a ring and bold type.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from tapmark.checklist.verdict import FINE, PAST, TOLD, Assessment
from tapmark.report.drawing.palette import BLACK, WHITE
from tapmark.report.drawing.shapes import Label, Line, Point, Ring, Shape, Shapes, TextWidth
from tapmark.report.drawing.signs import arrow, verdict_sign

MOST_COLUMNS: Final = 4
MOST_STATIONS: Final = 9
Edge = tuple[int, int]


@dataclass(frozen=True)
class MapLook:
    """Sizes in the unit of the place.

    text: em. sign: height of a sign. row: distance of two rows of stations.
    light, heavy: widths of lines.
    """

    text: float
    sign: float
    row: float
    light: float
    heavy: float
    ink: str = BLACK
    paper: str = WHITE
    accent: str = BLACK


@dataclass(frozen=True)
class ChainMap:
    """Shapes with the top left corner at (0, 0), their height and the items on it."""

    shapes: Shapes
    height: float
    items: tuple[int, ...]


def chain_map(
    assessment: Assessment, width: float, look: MapLook, text_width: TextWidth
) -> ChainMap:
    """Return the map for an assessment; empty where nothing is seen, likely or near the line."""
    chosen = {slot.item.number for slot in assessment.slots}
    stations = _stations(assessment, chosen)
    edges = [edge for edge in assessment.edges if set(edge) <= stations]
    # where a longer way says the same, the edge is left out
    edges = [(u, d) for u, d in edges if not _has_way(u, d, [e for e in edges if e != (u, d)])]
    columns = _columns(stations, edges)
    stations = {n for n in stations if columns[n] < MOST_COLUMNS}
    edges = [edge for edge in edges if set(edge) <= stations]
    joined = {n for edge in edges for n in edge} | (chosen & stations)
    rows = _rows(joined, edges, columns)
    drawer = _Drawer(assessment, chosen, edges, columns, rows, width, look, text_width)
    shapes = [shape for edge in edges for shape in drawer.edge(*edge)]
    shapes += [shape for number in rows for shape in drawer.station(number)]
    height = drawer.row_ends[-1] if joined else 0.0
    return ChainMap(tuple(shapes), height, tuple(sorted(joined)))


def _stations(assessment: Assessment, chosen: set[int]) -> set[int]:
    """Chosen items, their direct causes, and what is seen, likely or near the line below them."""
    core = chosen or {item.number for item in assessment.items if item.word in PAST}
    matters = {i.number for i in assessment.items if i.word in TOLD} | core
    causes = [up for up, down in assessment.edges if down in core]
    order = [*sorted(core), *sorted(causes, key=lambda n: n not in matters)]
    reached = set(core)
    for _ in range(MOST_COLUMNS):
        below = sorted(d for u, d in assessment.edges if u in reached and d in matters)
        below = [n for n in below if not assessment.item(n).is_result]
        order += below
        reached |= set(below)
    return set(list(dict.fromkeys(order))[:MOST_STATIONS])


def _has_way(start: int, end: int, edges: Sequence[Edge]) -> bool:
    return any(u == start and (d == end or _has_way(d, end, edges)) for u, d in edges)


def _columns(stations: set[int], edges: Sequence[Edge]) -> dict[int, int]:
    columns = dict.fromkeys(stations, 0)
    for _ in stations:
        for up, down in edges:
            columns[down] = max(columns[down], columns[up] + 1)
    for up in stations:  # a cause stands just before the first thing it leads to
        below = [columns[d] for u, d in edges if u == up]
        if below and not any(d == up for _, d in edges):
            columns[up] = min(below) - 1
    return columns


def _rows(stations: set[int], edges: Sequence[Edge], columns: Mapping[int, int]) -> dict[int, int]:
    """Stations of a column stand under one another, near what leads to them."""
    rows: dict[int, int] = {}
    for column in range(MOST_COLUMNS):
        here = [n for n in sorted(stations) if columns[n] == column]

        def wish(number: int) -> float:
            above = [rows[u] for u, d in edges if d == number and u in rows]
            return sum(above) / len(above) if above else 9.0

        taken: set[int] = set()
        for number in sorted(here, key=wish):
            start = round(min(wish(number), 8.0)) if wish(number) < 9 else 0
            row = next(r for r in (*range(start, 9), *range(start)) if r not in taken)
            rows[number] = row
            taken.add(row)
    return rows


@dataclass(frozen=True)
class _Drawer:
    assessment: Assessment
    chosen: set[int]
    edges: Sequence[Edge]
    columns: Mapping[int, int]
    rows: Mapping[int, int]
    width: float
    look: MapLook
    text_width: TextWidth

    @property
    def pitch(self) -> float:
        return self.width / MOST_COLUMNS

    @property
    def row_ends(self) -> list[float]:
        """Lower edge of every row; a row is taller where a name takes two lines."""
        ends: list[float] = []
        for row in range(max(self.rows.values(), default=-1) + 1):
            lines = [len(self._lines(n)) for n, at in self.rows.items() if at == row]
            extra = (max(lines, default=1) - 1) * 1.12 * self.look.text
            ends.append((ends[-1] if ends else 0.0) + self.look.row + extra)
        return ends

    def _at(self, number: int) -> Point:
        x = 1.2 * self.look.sign + self.columns[number] * self.pitch
        return x, self.row_ends[self.rows[number]] - 0.38 * self.look.row

    def _room(self, number: int) -> float:
        return (1.4 if number in self.chosen else 1.0) * self.look.sign

    def edge(self, up: int, down: int) -> Shapes:
        """Draw an arrow along the row of one station and in the column of the other."""
        look = self.look
        (xa, ya), (xb, yb) = self._at(up), self._at(down)
        width = look.light if self.assessment.item(up).word == FINE else look.heavy
        head = max(5.2 * look.light, 2.6 * width)
        start, end = xa + self._room(up), xb - self._room(down)
        if ya == yb:
            return arrow((start, ya), (end, yb), look.ink, width, head)
        way = 1.0 if yb > ya else -1.0
        columns, row = (self.columns[up], self.columns[down]), self.rows[up]
        if not any(  # nothing stands on the upper one's row as far as the lower one's column
            self.rows[n] == row and columns[0] < self.columns[n] <= columns[1]
            for n in self.rows
            if n != up
        ):
            path = ((start, ya), (xb, ya), (xb, yb - way * (self._room(down) * 0.8 + head)))
            tip = (xb, yb - way * self._room(down) * 0.8)
        else:
            path = ((xa, ya + way * self._room(up) * 0.8), (xa, yb), (end - head, yb))
            tip = (end, yb)
        return (Line(path, look.ink, width), *arrow(path[-1], tip, look.ink, width, head))

    def _lines(self, number: int) -> list[str]:
        """Break a name into two lines that end before the next station, more where it must be."""
        name, is_bold = self.assessment.item(number).name, number in self.chosen
        room = self.pitch - self._room(number) - 1.3 * self.look.sign
        words = name.split()
        if self.text_width(name, self.look.text, is_bold) <= room or len(words) < 2:
            return [name]
        cuts = [(" ".join(words[:i]), " ".join(words[i:])) for i in range(1, len(words))]
        best = min(cuts, key=lambda cut: max(self._wide(line, is_bold) for line in cut))
        if max(self._wide(line, is_bold) for line in best) <= room:
            return list(best)
        lines = words[:1]
        for word in words[1:]:
            longer = f"{lines[-1]} {word}"
            lines[-1:] = [longer] if self._wide(longer, is_bold) <= room else [lines[-1], word]
        return lines

    def _wide(self, text: str, is_bold: bool) -> float:
        return self.text_width(text, self.look.text, is_bold)

    def station(self, number: int) -> Iterator[Shape]:
        """Return ring, sign and name of an item."""
        look, at, item = self.look, self._at(number), self.assessment.item(number)
        is_chosen = number in self.chosen
        if is_chosen:
            yield Ring(at, 1.2 * look.sign, look.paper, look.accent, look.heavy)
        yield from verdict_sign(item.word, at, look.sign, look.ink, look.paper)
        ink = look.accent if is_chosen else look.ink
        lines = self._lines(number)
        x = at[0] + self._room(number) + 0.1 * look.sign
        leaves = any(up == number for up, _ in self.edges)
        last = at[1] - 0.42 * look.text if leaves else at[1] + (0.56 * len(lines) - 0.2) * look.text
        for i, line in enumerate(reversed(lines)):
            y = last - i * 1.12 * look.text
            yield Label((x, y), line, look.text, ink, is_bold=is_chosen)
