"""A season of one athlete: what was worked on, how it went, races and growth."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from tapmark.marks.days import long_day, several
from tapmark.marks.people import Athlete, Length, Visit
from tapmark.store.retention import is_minor, months_later

QUIET_DAYS = 14  # before a goal race no new priority; common practice, no source
TERM_MONTHS = 4  # a minor's height is asked each term; common practice, no source
GREW_CM = 1.0  # below that two tapes differ by themselves; common practice, no source


@dataclass(frozen=True)
class Spell:
    """One item that was worked on from one visit to another (ISO dates), without a break."""

    item: int
    first: str
    last: str
    n_visits: int


@dataclass(frozen=True)
class Growth:
    """Two lengths of the same kind, and the difference in cm."""

    before: Length
    after: Length

    @property
    def cm(self) -> float:
        """How much was added."""
        return self.after.cm - self.before.cm


def spells(chosen: Iterable[tuple[str, tuple[int, ...]]]) -> tuple[Spell, ...]:
    """Return the priority history from (date, items of the filled slots) of each visit in order."""
    open_spells: dict[int, Spell] = {}
    done: list[Spell] = []
    for dated, items in chosen:
        for item in [item for item in open_spells if item not in items]:
            done.append(open_spells.pop(item))
        for item in items:
            old = open_spells.get(item, Spell(item, dated, dated, 0))
            open_spells[item] = Spell(item, old.first, dated, old.n_visits + 1)
    return tuple(sorted([*done, *open_spells.values()], key=lambda s: (s.first, s.item)))


def adherence(visit: Visit) -> tuple[int, int]:
    """Return (sessions with the drill done, sessions ticked) from the boxes typed back in."""
    return sum(did for _, did, _ in visit.ticked), len(visit.ticked)


def quiet_period(athlete: Athlete, today: str) -> str:
    """Return why no new priority should be given now, "" when none speaks against it."""
    if not athlete.goal_race:
        return ""
    n_days = (date.fromisoformat(athlete.goal_race) - date.fromisoformat(today)).days
    if not 0 <= n_days <= QUIET_DAYS:
        return ""
    when = "today" if n_days == 0 else f"in {several(n_days, 'day')}"
    return f"Goal race {when} ({long_day(athlete.goal_race)}): keep what there is, nothing new now."


def length_on(athlete: Athlete, what: str, day: str) -> Length | None:
    """Return the latest "leg" or "height" measured by that day, or None."""
    known = [length for length in athlete.lengths if length.what == what and length.dated <= day]
    return max(known, key=lambda length: length.dated, default=None)


def growth(athlete: Athlete, since: str, until: str, what: str = "leg") -> Growth | None:
    """Return how much somebody grew between two dates; None when a tape may err as much.

    Lengths are taken as they were known on either date.
    """
    before, after = length_on(athlete, what, since), length_on(athlete, what, until)
    if before is None or after is None or after.cm - before.cm < GREW_CM:
        return None
    return Growth(before, after)


def length_asked(athlete: Athlete, today: str) -> str:
    """Return why a length should be measured now, "" when there is no need."""
    last = length_on(athlete, "leg", today) or length_on(athlete, "height", today)
    if last is None:
        return "No leg length or height yet: lengths in % come from the frames alone."
    if is_minor(athlete, today) and months_later(last.dated or today, TERM_MONTHS) < today:
        return f"Last measured on {long_day(last.dated)}; under 18 it is asked each term."
    return ""
