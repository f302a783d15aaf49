"""What was worked on and when, as bars on one time line: the priority history of a season."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from tapmark.drawing import palette
from tapmark.drawing.shapes import Label, Line, Ring, Shape, Shapes
from tapmark.drawing.step_line import TextWidth
from tapmark.marks.days import short_day
from tapmark.store.season import Spell

ROW: Final = 1.75  # em from bar to bar
MOST: Final = 7


@dataclass(frozen=True)
class Bars:
    """Shapes in px with their top left corner at (0, 0), and how tall they stand."""

    shapes: Shapes
    height: float


def spell_bars(
    spells: Sequence[tuple[str, Spell]],
    days: Sequence[str],
    today: str,
    width: float,
    em: float,
    text_width: TextWidth,
) -> Bars:
    """Return a bar for each priority from its first to its last sheet, on one time line.

    spells: (name, spell). days: ISO dates of all visits, marked on the line below the bars.
    """
    shown = spells[-MOST:]
    if not days:
        return Bars((), 0.0)
    left = max((text_width(name, em, False) for name, _ in shown), default=0.0) + 2.2 * em
    scale = _Scale(_number(days[0]), _number(max(today, days[-1])), left, width - em)
    shapes: list[Shape] = []
    for i, (name, spell) in enumerate(shown):
        y = (i + 0.5) * ROW * em
        shapes.append(Label((left - em, y + 0.36 * em), name, em, palette.INK, anchor="e"))
        shapes += _bar(scale, spell, y, em)
    floor = (len(shown) + 0.3) * ROW * em
    shapes += _line(scale, days, floor, em, text_width)
    return Bars(tuple(shapes), floor + 2.2 * em)


@dataclass(frozen=True)
class _Scale:
    first: float
    last: float
    left: float
    right: float

    def x(self, dated: str) -> float:
        span = max(1.0, self.last - self.first)
        return self.left + (self.right - self.left) * (_number(dated) - self.first) / span


def _bar(scale: _Scale, spell: Spell, y: float, em: float) -> Shapes:
    """A bar between the sheets it stood on; a single sheet is a ring."""
    a, b = scale.x(spell.first), scale.x(spell.last)
    if b - a < 0.8 * em:
        return (Ring((a, y), 0.4 * em, palette.WHITE, palette.INK, 0.18 * em),)
    ends = (Ring((x, y), 0.28 * em, palette.INK) for x in (a, b))
    return (Line(((a, y), (b, y)), palette.INK, 0.42 * em), *ends)


def _line(scale: _Scale, days: Sequence[str], y: float, em: float, text_width: TextWidth) -> Shapes:
    shapes: list[Shape] = [Line(((scale.left, y), (scale.right, y)), palette.CONTROL_EDGE, 1.0)]
    end = float("-inf")
    for dated in days:
        x, label = scale.x(dated), short_day(dated, with_year=False)
        shapes.append(Line(((x, y), (x, y + 0.5 * em)), palette.CONTROL_EDGE, 1.0))
        half = text_width(label, em, False) / 2
        if x - half > end + 0.5 * em:
            shapes.append(Label((x, y + 1.7 * em), label, em, palette.MUTED, anchor="c"))
            end = x + half
    return tuple(shapes)


def _number(dated: str) -> float:
    return float(date.fromisoformat(dated).toordinal())
