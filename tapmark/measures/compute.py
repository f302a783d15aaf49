"""Runs in, results out: every row of the catalogue with its ±, or the reason why there is none."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from statistics import median

import numpy as np

from tapmark.geometry.uncertainty import Z90
from tapmark.marks.run import Run
from tapmark.measures.card import DEFAULT_CARD, Card
from tapmark.measures.catalogue import ROWS, Row
from tapmark.measures.checks import marking_checks
from tapmark.measures.estimate import FOOT_TURN, Estimate, estimate, foot_turn, pooled, typed_speed
from tapmark.measures.gates import capped, is_about, not_graded
from tapmark.measures.posture import Posture, posture_of
from tapmark.measures.requirements import missing
from tapmark.measures.result import Key, MarkingCheck, Measured, NotMeasured, Result, Results
from tapmark.measures.setting import TYPICAL_STEP_S

# Who counts as fast at race pace: common practice, no source.
LEAST_FAST_MPS = 6.0
LEAST_SPRINT_MPS = 8.0  # sprint bands rest on people who run 9.5 m/s and more; limit ours
# Where no speed is known: sprinters touch for 95 to 116 ms, distance runners at 5 m/s for 200
# (Dorn 2012, 10.1242/jeb.064527; Hamner & Delp 2013, 10.1016/j.jbiomech.2012.11.024). Without a
# capture rate the same contact, as a share of two usual sprint steps. Common practice, no source.
LONGEST_SPRINT_CONTACT_MS = 130.0
LARGEST_SPRINT_DUTY_PCT = 100.0 * LONGEST_SPRINT_CONTACT_MS / (2000.0 * TYPICAL_STEP_S["sprint"])
LEAST_FAST_STEPS_PER_S, LONGEST_FAST_CONTACT_MS = 3.2, 190.0

Tried = Estimate | NotMeasured


@dataclass(frozen=True)
class Reading:
    """One step as read: every row tried, before steps are pooled."""

    run: Run
    posture: Posture
    tried: dict[Key, Tried]
    checks: tuple[MarkingCheck, ...]
    looks_for_slips: bool = True


def measure_run(run: Run, card: Card = DEFAULT_CARD, with_checks: bool = True) -> Results:
    """Measure every row of a run; several steps of it are pooled.

    run:   marked as far as anybody likes; what is missing becomes NotMeasured with its reason.
    card:  the coach's own tap error.
    with_checks: also look for slips in the marking; no row depends on them.
    """
    return gathered(readings(run, card, with_checks))


def measure_visit(runs: Sequence[Run], card: Card = DEFAULT_CARD) -> Results:
    """Measure the runs of a visit.

    Passes with the same view, set-up and foot near are pooled. The results are those of the side
    view with most steps; the rest stand in `others`: the other foot, another set-up, and rear and
    front views, whose near side is the foot that was marked. An empty visit gives empty results.
    """
    same: dict[tuple[object, ...], list[Reading]] = {}
    for run in runs:
        same.setdefault(_set_up_key(run), []).extend(readings(run, card))
    groups = [gathered(steps) for steps in same.values()]
    groups.sort(key=lambda group: (group.view != "side", -group.n_steps))
    if not groups:
        return Results({}, n_steps=0)
    first, *others = groups
    return replace(first, others=tuple(others))


def same_set_up(runs: Sequence[Run], run: Run) -> list[Run]:
    """Return those of some runs that are one sample with a run."""
    return [each for each in runs if _set_up_key(each) == _set_up_key(run)]


def readings(run: Run, card: Card, with_checks: bool = True) -> list[Reading]:
    """Return one reading for each step of a run."""
    return [_read(run, i_step, card, with_checks) for i_step in range(len(run.steps))]


def gathered(steps: Sequence[Reading]) -> Results:
    """Pool readings of one set-up into results, in catalogue order.

    steps: at least one; all with the same view and the same foot near.
    """
    first = steps[0].run
    rows: dict[Key, Result] = {}
    for key, tried in steps[0].tried.items():
        found = [each for step in steps if isinstance(each := step.tried[key], Estimate)]
        rows[key] = pooled(found) if found or isinstance(tried, Estimate) else tried
    slow = _why_no_sprint(first, rows)
    checks = tuple(check for step in steps for check in step.checks)
    is_begun = any(isinstance(each, Measured) for each in rows.values())
    if slow and is_begun and any(step.looks_for_slips for step in steps):
        checks += (MarkingCheck("no sprint", slow),)
    worst: dict[str, int] = {}
    for name, level in (tick for step in steps for tick in step.posture.step.ticks):
        worst[name] = max(level, worst.get(name, 0))
    return Results(
        rows=rows,
        checks=checks,
        context=first.set_up.context,
        view=first.view,
        near_side=first.near_side,
        rate_hz=_middle([step.posture.setting.rate_hz for step in steps]),
        effective_hz=_middle([step.posture.setting.effective_hz for step in steps]),
        is_fast=_is_fast(first, rows),
        is_sprint=not slow,
        ticks=worst,
        guesses=tuple(
            f"{tap.point} at {frame.event} ({tap.certainty})"
            for step in steps
            for frame in step.posture.step.key_frames
            for tap in frame.taps
            if tap.certainty in ("guess", "behind")
        ),
        n_steps=len(steps),
        leg_source=next((s.posture.setting.leg_source for s in steps), ""),
    )


def _read(run: Run, i_step: int, card: Card, with_checks: bool) -> Reading:
    step = run.steps[i_step]
    posture = posture_of(run, step, card)
    tried: dict[Key, Tried] = {}
    if run.view == "side":
        for row in ROWS:
            if row.view == "side":
                tried |= {(row.key, leg): _try(row, leg, run, posture) for leg in row.legs}
    else:
        tried[FOOT_TURN.key, ""] = foot_turn(run, step)
    checks = marking_checks(run, i_step, posture, card) if with_checks else ()
    return Reading(run, posture, tried, checks, with_checks)


def _try(row: Row, leg: str, run: Run, posture: Posture) -> Tried:
    typed = typed_speed(row, run)
    reason = "" if typed else missing(row, leg, run, posture)
    if reason:
        return NotMeasured(row.key, leg, reason)
    value, shares = typed or estimate(row, leg, posture)
    if not np.isfinite([value, *(share.sd for share in shares)]).all() or not shares:
        return NotMeasured(row.key, leg, "The taps do not make a figure here; look at them again.")
    uses_far_hip = any(share.name[0] == "far hip" for share in shares)
    return Estimate(
        row,
        leg,
        value,
        shares,
        is_about(row, leg, posture) or uses_far_hip,
        not_graded(row, leg, run, posture),
        capped(row, leg, posture),
    )


def _is_fast(run: Run, rows: dict[Key, Result]) -> bool:
    """Return whether race-pace rows that need speed may be judged."""
    if run.set_up.context not in ("race pace", "sprint"):
        return True
    speed = rows.get(("speed", ""))
    if isinstance(speed, Measured):
        return speed.value >= LEAST_FAST_MPS
    rate, contact = rows.get(("step_rate", "")), rows.get(("contact_time", "near"))
    if not (isinstance(rate, Measured) and isinstance(contact, Measured)):
        return False
    is_quick = rate.value >= LEAST_FAST_STEPS_PER_S
    return is_quick and contact.value + Z90 * contact.u <= LONGEST_FAST_CONTACT_MS


def _why_no_sprint(run: Run, rows: dict[Key, Result]) -> str:
    """Return why a run called a sprint takes race-pace bands, in words for the coach, or ""."""
    if run.set_up.context != "sprint" or run.view != "side":
        return ""
    speed, contact, duty = (
        rows.get(key) for key in (("speed", ""), ("contact_time", "near"), ("duty_factor", "near"))
    )
    if isinstance(speed, Measured):
        if speed.value >= LEAST_SPRINT_MPS:
            return ""
        return f"Called a sprint at {speed.value:.1f} m/s: below 8 the race-pace bands count."
    if isinstance(contact, Measured):
        if contact.value <= LONGEST_SPRINT_CONTACT_MS:
            return ""
        return (
            f"Called a sprint with {contact.value:.0f} ms on the ground: above 130, and with no "
            "speed known, the race-pace bands count."
        )
    if isinstance(duty, Measured):
        if duty.value <= LARGEST_SPRINT_DUTY_PCT:
            return ""
        return (
            f"Called a sprint with {duty.value:.0f} % of the stride on one foot: above 29, and "
            "with no speed known, the race-pace bands count."
        )
    return "Called a sprint, but neither speed nor contact is known: the race-pace bands count."


def _middle(rates: Sequence[float | None]) -> float | None:
    known = [rate for rate in rates if rate is not None]
    return median(known) if known else None


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
