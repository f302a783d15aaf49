"""What the athlete does well: read from rows that are fine by a margin, never invented."""

import math
from collections.abc import Collection, Mapping, Sequence

from tapmark.checklist.criteria import Criteria, StrengthRule
from tapmark.checklist.items import FEET
from tapmark.checklist.judge import Z90, gap
from tapmark.checklist.verdict import FINE, NOT_MEASURED, SHOWN, RowVerdict, Strength
from tapmark.measures.result import Measured

CLEARLY = 2  # level of a tick


def strengths_of(
    rows: Sequence[RowVerdict],
    ticks: Mapping[str, int],
    criteria: Criteria,
    moved: Collection[int] = (),
) -> tuple[Strength, ...]:
    """Return the strengths to print, surest first, one of a group, two or three in all.

    moved: items that were asked for last time and have moved nearer to fine.
    """
    first_of_group: dict[str, Strength] = {}
    for rule in criteria.strengths:
        found = _found(rule, rows, ticks, criteria, moved)
        if found:
            first_of_group.setdefault(rule.group, found)
    best = sorted(first_of_group.values(), key=lambda strength: -strength.margin)
    return tuple(best[: criteria.choice.strengths])


def process_praise(criteria: Criteria, n_drills: int) -> tuple[Strength, ...]:
    """Return praise for what was done, where no row is fine: drills ticked, not being filmed."""
    said = Strength("process drills", criteria.words.say("process.drills"))
    return (said,) if n_drills else ()


def _found(
    rule: StrengthRule,
    rows: Sequence[RowVerdict],
    ticks: Mapping[str, int],
    criteria: Criteria,
    moved: Collection[int],
) -> Strength | None:
    margin = {
        "fine": lambda: _margin_of_all(rule, rows),
        "both alike": lambda: _alike(rule, rows),
        "tick": lambda: math.inf if _is_ticked(rule, ticks) else 0.0,
        "moved": lambda: math.inf if moved else 0.0,
    }[rule.rule]()
    if margin <= 1:
        return None
    return Strength(rule.key, criteria.words.strength(rule.key), margin)


def _is_ticked(rule: StrengthRule, ticks: Mapping[str, int]) -> bool:
    return all(ticks.get(name, 0) >= CLEARLY for name in rule.ticks)


def _margin_of_all(rule: StrengthRule, rows: Sequence[RowVerdict]) -> float:
    """Return the smallest margin in u, 0 when a row is missing or not fine on a filmed foot."""
    margins = []
    for key in rule.rows:
        judged = [row for row in rows if row.result.key == key and row.word != NOT_MEASURED]
        if not judged or any(row.word != FINE for row in judged):
            return 0.0
        margins += [row.margin for row in judged]
    return min(margins)


def _alike(rule: StrengthRule, rows: Sequence[RowVerdict]) -> float:
    """Return a margin above 1 when right and left are surely alike, both filmed as near leg.

    Alike by the rule for "same": the difference and 1.64 times its doubt fit into the gap from
    fine to limit. Every row that was filmed both ways must fit, and at least one must be there.
    """
    pairs = [pair for key in rule.rows if (pair := _both_near(key, rows))]
    if not pairs:
        return 0.0
    return min(_alike_margin(*pair) for pair in pairs)


def _both_near(key: str, rows: Sequence[RowVerdict]) -> tuple[RowVerdict, RowVerdict] | None:
    near = {row.foot: row for row in rows if row.result.key == key and row.result.leg == "near"}
    pair = [near[foot] for foot in FEET if foot in near]
    is_whole = len(pair) == len(FEET) and all(row.word not in (NOT_MEASURED, SHOWN) for row in pair)
    return (pair[0], pair[1]) if is_whole else None


def _alike_margin(right: RowVerdict, left: RowVerdict) -> float:
    a, b = right.result, left.result
    assert isinstance(a, Measured) and isinstance(b, Measured) and right.band is not None
    sides = [side for side in ("low", "high") if getattr(right, side)]
    room = min(gap(right.band, side) for side in sides)
    doubt = math.hypot(a.u, b.u)
    return 1 + (room - abs(a.value - b.value) - Z90 * doubt) / doubt
