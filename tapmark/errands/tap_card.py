"""A coach's own tap card, from every second look in a squad."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from math import hypot
from pathlib import Path

from tapmark.marks.run import Run
from tapmark.measures.repeatability import (
    Pair,
    card_of,
    second_look_pairs,
    shift_in_words,
    steady_shifts,
)
from tapmark.store.choices import OwnError, SquadChoices
from tapmark.store.squad import Squad, open_squad
from tapmark.store.walk import all_runs

AS_TAPPED = {kind: f"near {kind}" for kind in ("knee", "ankle", "toe", "heel", "wrist")}
"""Kind of point -> the point it stands under in squad.json; others stand under their own name."""


def own_errors(folder: Path, marker: str, today: date) -> tuple[OwnError, ...]:
    """Return one row for each kind of point that somebody looked at twice.

    Damaged runs are left out: they can tell nothing.
    """
    squad = open_squad(folder, [])
    pairs = [pair for run in _runs_of(squad, marker) for pair in second_look_pairs(run)]
    return _rows(pairs, marker, today)


def _runs_of(squad: Squad, marker: str) -> Iterator[Run]:
    for _, _, _, run in all_runs(squad, []):
        if run.marked_by == marker:
            yield run


def _rows(pairs: list[Pair], marker: str, today: date) -> tuple[OwnError, ...]:
    if not pairs:
        return ()
    return tuple(
        OwnError(
            marker,
            AS_TAPPED.get(own.kind, own.kind),
            round(own.pct_leg, 3),
            own.n_pairs,
            today.isoformat(),
        )
        for own in card_of(pairs).own
    )


def with_card(choices: SquadChoices, marker: str, rows: tuple[OwnError, ...]) -> SquadChoices:
    """Return the squad's choices with one marker's rows replaced."""
    others = tuple(row for row in choices.tap_card if row.marker != marker)
    return replace(choices, tap_card=(*others, *rows))


def told(run: Run) -> str:
    """Return what one run's second look says, and what moved most; "" without one."""
    pairs = second_look_pairs(run)
    if not pairs:
        return ""
    sd = (sum(pair.apart_pct_leg**2 for pair in pairs) / (4 * len(pairs))) ** 0.5
    moved = [shift for shift in steady_shifts(pairs) if shift.is_steady]
    moved.sort(key=lambda shift: -hypot(shift.forward_pct_leg, shift.up_pct_leg))
    said = (
        f"Second look done: {len(pairs)} points, your tap is within about "
        f"± {1.96 * sd:.1f} % of the leg. A steady bias it cannot show."
    )
    return " ".join((said, *map(shift_in_words, moved[:1])))  # one line has room for one
