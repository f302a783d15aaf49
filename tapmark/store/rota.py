"""Who is due to be filmed, and how a squad is spread over evenings."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import islice

from tapmark.marks.people import Athlete
from tapmark.store.consent import FILM, consent_state
from tapmark.store.squad import Squad, Troubles, collected


@dataclass(frozen=True)
class RotaLine:
    """One athlete's place in the rota.

    last:      ISO date of the last visit that has a run, "" when never filmed.
    weeks:     whole weeks since then; None when never, or when the date lies after today.
    is_due:    never filmed, or longer ago than the squad's rota_weeks.
    consent:   state of the consent to film, see consent.STATES.
    """

    code: str
    group: str
    last: str
    weeks: int | None
    is_due: bool
    consent: str

    @property
    def can_be_filmed(self) -> bool:
        """True when nobody has to be asked first."""
        return self.consent == "given"


def rota(squad: Squad, today: str, troubles: Troubles | None = None) -> tuple[RotaLine, ...]:
    """Return every athlete who is not archived, those who wait longest first.

    troubles: athletes who cannot be read, or whose visits cannot, are left out and told there.
    """

    def line(athlete: Athlete) -> RotaLine:
        code, state = athlete.code, consent_state(athlete, FILM, today)
        days = reversed(squad.visit_dates(code))
        last = next((day for day in days if squad.run_names(code, day)), "")
        n_days = (date.fromisoformat(today) - date.fromisoformat(last)).days if last else None
        weeks = n_days // 7 if n_days is not None and n_days >= 0 else None
        is_due = n_days is None or n_days > 7 * squad.choices.rota_weeks
        return RotaLine(code, athlete.group, last, weeks, is_due, state)

    here = (each for each in squad.athletes(troubles) if not each.is_archived)
    lines = collected(here, line, troubles)
    return tuple(sorted(lines, key=lambda line: (line.last, line.code)))


def due(lines: Sequence[RotaLine]) -> tuple[RotaLine, ...]:
    """Return those who are due and may be filmed."""
    return tuple(line for line in lines if line.is_due and line.can_be_filmed)


def evenings(lines: Sequence[RotaLine], per_evening: int = 8) -> tuple[tuple[RotaLine, ...], ...]:
    """Spread names evenly over as few evenings as hold at most per_evening each.

    25 names make four evenings of 7, 6, 6 and 6; the longest waiting come first.
    """
    n_evenings = -(-len(lines) // per_evening)
    sizes = [len(lines) // n_evenings + (i < len(lines) % n_evenings) for i in range(n_evenings)]
    waiting = iter(lines)
    return tuple(tuple(islice(waiting, size)) for size in sizes)


def drill_groups(roots: Mapping[str, int]) -> tuple[tuple[int, tuple[str, ...]], ...]:
    """Return (item, codes) of those who share the root of their chain, largest group first.

    roots: code -> number of the item that the chain of the last visit starts with.
    """
    codes: dict[int, list[str]] = {}
    for code in sorted(roots):
        codes.setdefault(roots[code], []).append(code)
    groups = ((item, tuple(codes[item])) for item in codes)
    return tuple(sorted(groups, key=lambda group: (-len(group[1]), group[0])))
