"""Marking checks of one step: words beside the picture, never an error, never blocking."""

from tapmark.marks.run import Run
from tapmark.measures.card import DEFAULT_CARD, Card
from tapmark.measures.checks_of_points import (
    knee_not_behind,
    knees_swapped,
    lengths_off,
    looks_apart,
    over_straight_knees,
    still_accelerating,
    taps_outside,
)
from tapmark.measures.checks_of_times import (
    arm_of_the_other_side,
    contact_and_rate,
    late_most_turned,
    share_of_the_step,
    upright_doubtful,
)
from tapmark.measures.posture import Posture
from tapmark.measures.result import MarkingCheck


def marking_checks(
    run: Run, i_step: int, posture: Posture, card: Card = DEFAULT_CARD
) -> tuple[MarkingCheck, ...]:
    """Return what may be a slip in the marking of one step, the most telling first.

    A swap explains odd lengths and angles on the same picture, so those are not told again.
    """
    general = (*contact_and_rate(run, i_step, posture), *taps_outside(run, i_step))
    if run.view != "side":
        return (*general, *late_most_turned(run, i_step))
    swaps = tuple(knees_swapped(i_step, posture))
    told = {check.event for check in swaps}
    doubtful = (
        *knee_not_behind(run, i_step, posture),
        *over_straight_knees(i_step, posture),
        *lengths_off(i_step, posture),
        *looks_apart(i_step, posture, card),
    )
    return (
        *general,
        *swaps,
        *(check for check in doubtful if check.event not in told),
        *share_of_the_step(run, i_step),
        *arm_of_the_other_side(i_step, posture),
        *still_accelerating(run, i_step, posture),
        *upright_doubtful(run, i_step),
    )
