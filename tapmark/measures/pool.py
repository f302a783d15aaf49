"""A visit's runs in, one set of results out: passes of one set-up pooled, never right with left."""

from collections.abc import Sequence
from dataclasses import replace

from tapmark.marks.run import Run
from tapmark.measures.card import DEFAULT_CARD, Card
from tapmark.measures.compute import gathered, readings
from tapmark.measures.result import Results


def measure_visit(runs: Sequence[Run], card: Card = DEFAULT_CARD) -> Results:
    """Measure the runs of a visit.

    Passes with the same view, set-up and foot near are pooled. The results are those of the side
    view with most steps; the rest stand in `others`: the other foot, another set-up, and rear and
    front views, whose near side is the foot that was marked. An empty visit gives empty results.
    """
    groups = [_measured(group, card) for group in _groups(runs)]
    groups.sort(key=lambda group: (group.view != "side", -group.n_steps))
    if not groups:
        return Results({}, n_steps=0)
    first, *others = groups
    return replace(first, others=tuple(others))


def same_set_up(runs: Sequence[Run], run: Run) -> list[Run]:
    """Return those of some runs that are one sample with a run."""
    return [each for each in runs if _set_up_key(each) == _set_up_key(run)]


def _measured(runs: Sequence[Run], card: Card) -> Results:
    return gathered([reading for run in runs for reading in readings(run, card)])


def _groups(runs: Sequence[Run]) -> list[list[Run]]:
    groups: dict[tuple[object, ...], list[Run]] = {}
    for run in runs:
        groups.setdefault(_set_up_key(run), []).append(run)
    return list(groups.values())


def _set_up_key(run: Run) -> tuple[object, ...]:
    """Return what must agree before two passes are one sample."""
    set_up = run.set_up
    has_scale = bool(set_up.scale_px and set_up.scale_m)
    return (
        run.view,
        run.near_side,
        set_up.context,
        set_up.camera,
        set_up.uses_neck_base,
        set_up.slow_factor,
        set_up.upright_px is not None,
        has_scale and set_up.leg_cm is not None,
        set_up.leg_source,
        set_up.shoes,
    )
