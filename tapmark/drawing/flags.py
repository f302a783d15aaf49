"""Names hung on leaders below a line, so that no leader runs through a name.

Each name would rather stand right of its leader in the first row. Where that cannot be, it
stands left of it, ends at the margin below its leader, or goes to a lower row; the fewest rows
win. Names without a leader wait at the margin.
"""

from dataclasses import dataclass
from typing import Final

MOST_ROWS: Final = 6


@dataclass(frozen=True)
class Name:
    """A name to hang: leader is the x of its leader, or None for a name that waits."""

    key: str
    text: str
    width: float
    leader: float | None


@dataclass(frozen=True)
class Flag:
    """Where a name hangs.

    left, right:  ends of the text.
    row:          0 is the first row below the line.
    passes:       whether the leader runs down beside the name, not only to its top.
    """

    name: Name
    left: float
    right: float
    row: int
    passes: bool

    @property
    def rows_passed(self) -> range:
        """Rows in which the leader would cut a name."""
        return range(self.row + 1) if self.passes else range(self.row)


def hung(names: list[Name], width: float, gap: float) -> list[Flag]:
    """Return a flag for every name within 0…width, with the fewest rows.

    gap: room between a leader and its name, and between two names.
    """
    for n_rows in range(1, MOST_ROWS + 1):
        found = _search(names, [], n_rows, width, gap)
        if found is not None:
            return found
    return [_at_margin(name, i, width) for i, name in enumerate(names)]


def _search(
    names: list[Name], placed: list[Flag], n_rows: int, width: float, gap: float
) -> list[Flag] | None:
    if len(placed) == len(names):
        return placed
    for flag in _options(names[len(placed)], n_rows, width, gap):
        if not any(_clash(flag, other, gap) for other in placed):
            found = _search(names, [*placed, flag], n_rows, width, gap)
            if found is not None:
                return found
    return None


def _options(name: Name, n_rows: int, width: float, gap: float) -> list[Flag]:
    options = []
    for row in range(n_rows):
        if name.leader is None:
            options.append(_at_margin(name, row, width))
            continue
        left = name.leader + gap
        if left + name.width <= width:
            options.append(Flag(name, left, left + name.width, row, True))
        else:
            options.append(_at_margin(name, row, width))
        if name.leader - gap - name.width >= 0:
            options.append(Flag(name, name.leader - gap - name.width, name.leader - gap, row, True))
    return options


def _at_margin(name: Name, row: int, width: float) -> Flag:
    return Flag(name, width - name.width, width, row, False)


def _clash(a: Flag, b: Flag, gap: float) -> bool:
    touch = a.row == b.row and a.left < b.right + gap and b.left < a.right + gap
    return touch or _cuts(a, b, gap) or _cuts(b, a, gap)


def _cuts(leading: Flag, text: Flag, gap: float) -> bool:
    x = leading.name.leader
    pad = 0.5 * gap
    return (
        x is not None and text.row in leading.rows_passed and text.left - pad < x < text.right + pad
    )
