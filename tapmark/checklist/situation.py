"""What else counts beside the numbers: age, pain, history, races. Frozen, worked out once."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from tapmark.checklist.criteria import Choice
from tapmark.marks.people import Athlete, Slot, Visit
from tapmark.marks.run import Run

NO_PAIN, PAIN, NOT_ANSWERED = "no", "yes", "not answered"
_WORST_FIRST = (PAIN, NOT_ANSWERED, NO_PAIN)


@dataclass(frozen=True)
class Situation:
    """One athlete on one day.

    pain:           "no", "yes" or "not answered".
    clearance:      "", "under treatment" or "cleared" (after an injury) by a licensed clinician.
    birth_year:     None when not known.
    slots:          what the coach chose by hand; None = the rule decides.
    accepted:       items that the coach accepts for an athlete under 16.
    kept:           priorities of earlier visits that may still run; since is filled in.
    moved:          items of the last choice that have moved nearer to fine.
    n_drills:       drills ticked since the last visit.
    """

    today: date
    birth_year: int | None = None
    pain: str = NOT_ANSWERED
    clearance: str = ""
    is_first_sheet: bool = True
    has_grown: bool = False
    goal_race: str = ""
    slots: tuple[Slot, ...] | None = None
    reason: str = ""
    accepted: frozenset[int] = frozenset()
    kept: tuple[Slot, ...] = ()
    moved: frozenset[int] = frozenset()
    n_drills: int = 0

    def is_under(self, top: int) -> bool:
        """Return whether this year − birth year is at most top; False when age is unknown."""
        return self.birth_year is not None and self.today.year - self.birth_year <= top

    def is_youth(self, choice: Choice) -> bool:
        """Return whether rules for under 18 hold; they do when the age is not known."""
        return self.birth_year is None or self.is_under(choice.under_18)

    def race_day(self) -> date | None:
        """Return the day of the goal race, None when there is none or it is no ISO date."""
        return _day(self.goal_race)

    def is_quiet(self, choice: Choice) -> bool:
        """Return whether the goal race is so near that nothing new is started."""
        race = self.race_day()
        return race is not None and timedelta() <= race - self.today <= _days(choice.quiet_days)


def situation_of(
    athlete: Athlete,
    visit: Visit,
    today: date,
    earlier: Sequence[Visit] = (),
    *,
    pain: str = NOT_ANSWERED,
    has_grown: bool = False,
    moved: Sequence[int] = (),
) -> Situation:
    """Return the situation of a visit; today is the day of the visit as far as care goes.

    earlier: the athlete's other visits in any order; later ones are left out.
    """
    before = sorted((v for v in earlier if v.dated < visit.dated), key=lambda v: v.dated)
    # The last choice counts, also when it was to drop everything.
    chose = next((each for each in reversed(before) if each.slots is not None), None)
    last = (chose.slots if chose else None) or ()
    # The boxes of the last sheet count; a visit that nobody marked has none.
    ticked = next(
        (each.ticked for each in reversed(before) if each.sheet_number or each.ticked), ()
    )
    return Situation(
        today=today,
        birth_year=athlete.birth_year,
        pain=pain,
        clearance=athlete.clearance,
        is_first_sheet=not any(each.sheet_number for each in before),
        has_grown=has_grown,
        goal_race=athlete.goal_race,
        slots=visit.slots,
        reason=visit.reason,
        accepted=frozenset((*visit.accepted, *(slot.item for slot in visit.slots or ()))),
        kept=tuple(replace(slot, since=slot.since or chose.dated) for slot in last if chose),
        moved=frozenset(moved),
        n_drills=sum(did for _, did, _ in ticked),
    )


def pain_of(runs: Sequence[Run]) -> str:
    """Return the most careful answer of a visit's runs; "not answered" when there is none."""
    answers = {run.set_up.pain for run in runs} or {NOT_ANSWERED}
    known = {each if each in _WORST_FIRST else NOT_ANSWERED for each in answers}
    return min(known, key=_WORST_FIRST.index)


def has_grown(runs: Sequence[Run]) -> bool:
    """Return whether any run of the visit notes a growth spurt."""
    return any(run.set_up.has_grown for run in runs)


def still_runs(slot: Slot, today: date, choice: Choice) -> bool:
    """Return whether a priority is still in its four to six weeks."""
    since = _day(slot.since)
    return since is not None and today - since <= _days(choice.keep_days)


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


def _days(number: int) -> timedelta:
    return timedelta(days=number)
