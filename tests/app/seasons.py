"""A season of drawn runs: three visits filmed both ways, with what was worked on."""

from dataclasses import replace
from functools import cache

from tapmark.marks.people import Slot
from tapmark.marks.run import Run
from tapmark.store.squad import Squad
from tests.drawn_runner.athletes import OVERSTRIDES
from tests.drawn_runner.camera import View
from tests.drawn_runner.runs import drawn_run
from tests.store.made import consenting

DAYS = ("2026-02-20", "2026-03-27", "2026-05-01")


def with_season(squad: Squad, code: str, days: tuple[str, ...] = DAYS) -> None:
    """Give an athlete visits with two passes each way and one priority on each sheet."""
    squad.save_athlete(replace(consenting(code), birth_year=1998))
    for i, dated in enumerate(days):
        for j in range(4):
            squad.new_run(code, dated, _drawn(10 * i + j, 1 if j % 2 else -1))
        visit = squad.visit(code, dated)
        slots = (Slot(1, "Land under you", dated),)
        squad.save_visit(replace(visit, slots=slots, sheet_number=i + 1))


@cache
def _drawn(seed: int, direction: int) -> Run:
    return late(drawn_run(OVERSTRIDES, View(direction=direction), seed=seed))


def late(run: Run) -> Run:
    """Shift the pictures: a slip of one picture must not lead before the first one."""
    steps = tuple(
        replace(
            step,
            key_frames=tuple(replace(f, picture=f.picture + 10) for f in step.key_frames),
        )
        for step in run.steps
    )
    return replace(run, steps=steps)
