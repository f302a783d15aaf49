"""What leads to what among the 18 items: a hypothesis, printed as "probably starts with".

Edges are (upstream, downstream) pairs of item numbers; there is never a loop.
"""

from collections.abc import Collection, Sequence

from tapmark.checklist.verdict import CANT_TELL, FINE, TOLD, ItemVerdict, RowVerdict

Edge = tuple[int, int]
Edges = tuple[Edge, ...]

_KNEES_APART, _FOOT_AHEAD = 3, 1
_TURNS: Edge = (_KNEES_APART, _FOOT_AHEAD)


def downstream(edges: Edges, item: int, around: Collection[int] = ()) -> frozenset[int]:
    """Return everything that an item may lead to, on paths that avoid the items in around."""
    found: set[int] = set()
    waiting = [item]
    while waiting:
        at = waiting.pop()
        new = {b for a, b in edges if a == at} - found
        found |= new
        waiting += new - set(around)
    return frozenset(found)


def upstream(edges: Edges, item: int, around: Collection[int] = ()) -> frozenset[int]:
    """Return everything that may lead to an item, on paths that avoid the items in around."""
    return downstream(tuple((b, a) for a, b in edges), item, around)


def height(edges: Edges, item: int) -> int:
    """Return the number of edges on the longest path from an item to an end of the chain."""
    return max((1 + height(edges, b) for a, b in edges if a == item), default=0)


def loop_in(edges: Edges) -> int | None:
    """Return an item that leads back to itself, or None."""
    return next((item for item, _ in edges if item in downstream(edges, item)), None)


def are_related(edges: Edges, one: int, other: int, items: Sequence[ItemVerdict]) -> bool:
    """Return whether one item leads to the other along a path without a fine item."""
    fine = {item.number for item in items if item.word == FINE}
    return other in downstream(edges, one, fine) or one in downstream(edges, other, fine)


def starts_with(edges: Edges, item: int, items: Sequence[ItemVerdict]) -> tuple[int, ...]:
    """Return what an item probably starts with: upstream, not fine between, earliest first."""
    return _upstream_with(TOLD, edges, item, items)


def may_start_with(edges: Edges, item: int, items: Sequence[ItemVerdict]) -> tuple[int, ...]:
    """Return what else an item may start with: can't tell, upstream, earliest first."""
    return _upstream_with((CANT_TELL,), edges, item, items)


def _upstream_with(
    words: Sequence[str], edges: Edges, item: int, items: Sequence[ItemVerdict]
) -> tuple[int, ...]:
    fine = {each.number for each in items if each.word == FINE}
    told = {each.number for each in items if each.word in words and not each.is_result}
    found = upstream(edges, item, fine) & told
    return tuple(sorted(found, key=lambda number: (-height(edges, number), number)))


def edges_in_use(
    edges: Edges, items: Sequence[ItemVerdict], rows: Sequence[RowVerdict]
) -> tuple[Edges, bool]:
    """Return the edges for this athlete, and whether reach drives the gap between the knees.

    Knees apart usually leads to foot ahead. Where the part of the gap behind the hip is fine,
    the rest lies ahead of the hip: then reach probably drives it and the edge turns round.
    """
    if not _reach_drives(items, rows):
        return edges, False
    turned = tuple((_FOOT_AHEAD, _KNEES_APART) if edge == _TURNS else edge for edge in edges)
    return (turned, True) if loop_in(turned) is None else (edges, False)


def _reach_drives(items: Sequence[ItemVerdict], rows: Sequence[RowVerdict]) -> bool:
    told = {item.number for item in items if item.word in TOLD}
    if not {_KNEES_APART, _FOOT_AHEAD} <= told:
        return False
    apart = {row.foot for row in items[_KNEES_APART - 1].rows if row.high in TOLD}
    behind = [row for row in rows if row.result.key == "separation_behind" and row.foot in apart]
    return bool(behind) and all(row.high == FINE for row in behind)
