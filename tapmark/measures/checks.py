"""Marking checks."""

from tapmark.marks.run import Run
from tapmark.measures.posture import Posture
from tapmark.measures.result import MarkingCheck


def marking_checks(run: Run, i_step: int, posture: Posture) -> tuple[MarkingCheck, ...]:
    """Return what may be a slip in the marking of one step, the most telling first."""
    return ()
