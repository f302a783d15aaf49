"""One athlete over a season: what was worked on and what became of it, growth, the quiet weeks.

Nothing here is gated: it is for the coach's eyes. What leaves goes through exports or the gate.
"""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from tapmark.errands.changes import SinceItem, since
from tapmark.errands.own_bands import criteria_of
from tapmark.errands.places import VisitPlace
from tapmark.errands.visits import VisitReading, lost_runs, read_visit
from tapmark.errors import NotThere, StoreError
from tapmark.marks.days import long_day
from tapmark.marks.people import Athlete, Visit
from tapmark.store.names import check_day
from tapmark.store.season import (
    Growth,
    Spell,
    adherence,
    growth,
    length_asked,
    quiet_period,
    spells,
)
from tapmark.store.squad import Squad

FELT = ("", "easier", "same", "harder")
_WHAT = {"leg": "Leg length", "height": "Height"}


@dataclass(frozen=True)
class WorkedOn:
    """One visit and what followed from it.

    items:     (number, name) of the priorities on its sheet.
    done:      (sessions with the drill done, sessions ticked) on the sheet, typed back in.
    felt:      (word, how often) of the ticked sessions: "easier", "same", "harder".
    coach_saw: the coach's own box.
    became:    what the next visit showed of these priorities; empty until then.
    """

    dated: str
    sheet_number: int = 0
    items: tuple[tuple[int, str], ...] = ()
    done: tuple[int, int] = (0, 0)
    felt: tuple[tuple[str, int], ...] = ()
    coach_saw: str = ""
    became: tuple[SinceItem, ...] = ()


@dataclass(frozen=True)
class Season:
    """What the season page of one athlete shows.

    visits:   oldest first.
    spells:   (item's name, from when to when) of every priority without a break.
    quiet:    why nothing new is given now, "" when nothing speaks against it.
    growth:   between the first and the last visit, of leg and height, where a tape shows any.
    notices:  sentences: growth, a length to be measured, files that cannot be read.
    """

    athlete: Athlete
    visits: tuple[WorkedOn, ...]
    spells: tuple[tuple[str, Spell], ...]
    quiet: str = ""
    growth: tuple[Growth, ...] = ()
    notices: tuple[str, ...] = ()


def readings_of(
    squad: Squad, code: str, today: date, troubles: list[StoreError]
) -> tuple[VisitReading, ...]:
    """Read every visit of an athlete that has a marked run, oldest first.

    troubles: visits that cannot be read are left out and told there.
    """
    found = []
    for dated in squad.visit_dates(code):
        try:
            troubles.extend(lost_runs(squad, squad.visit(code, dated)))
            found.append(read_visit(VisitPlace(squad, code, dated), today))
        except NotThere:  # nothing marked on that day yet
            continue
        except StoreError as trouble:
            troubles.append(trouble)
    return tuple(found)


def season_and_readings(
    squad: Squad, code: str, today: date
) -> tuple[Season, tuple[VisitReading, ...]]:
    """Return an athlete's season and the visits it was read from, each measured once."""
    troubles: list[StoreError] = []
    athlete, visits = squad.athlete(code), squad.visits(code, troubles)
    readings = readings_of(squad, code, today, troubles)
    return _season(squad, athlete, visits, readings, troubles, today), readings


def _season(
    squad: Squad,
    athlete: Athlete,
    visits: Sequence[Visit],
    readings: Sequence[VisitReading],
    troubles: Sequence[StoreError],
    today: date,
) -> Season:
    names = criteria_of(squad).words
    became = _became(readings)
    grown = _growth(athlete, visits)
    chosen = [(visit.dated, _items(visit)) for visit in visits]
    return Season(
        athlete,
        tuple(_worked_on(visit, names.item, became.get(visit.dated, ())) for visit in visits),
        tuple((names.item(spell.item), spell) for spell in spells(chosen)),
        quiet_period(athlete, today.isoformat()),
        grown,
        tuple(_notices(athlete, grown, troubles, today)),
    )


def growth_words(grown: Growth) -> str:
    """Return growth in a sentence, with what it means for comparing."""
    was, now = (f"{each.cm:g} cm on {long_day(each.dated)}" for each in (grown.before, grown.after))
    return (
        f"{_WHAT[grown.after.what]} {was}, {now}: {grown.cm:g} cm more. Lengths are compared in % "
        "of leg length; while somebody grows fast, one thing at a time is enough."
    )


def type_back(
    squad: Squad,
    code: str,
    dated: str,
    ticked: Sequence[tuple[str, bool, str]],
    coach_saw: str,
    today: date,
) -> Visit:
    """Keep the ticks of a printed sheet, (ISO date, drill done, how it felt), and the coach's box.

    The date is "" where nobody wrote one on the paper.

    Raises NotThere for a visit that is not there, StoreError for a session that cannot have been:
    before the sheet or after today.
    """
    visit = squad.visit(code, dated)
    for session, _, felt in ticked:
        if session and not dated <= check_day(session) <= today.isoformat():
            raise StoreError(
                f"A session on {long_day(session)} does not fit the sheet of {long_day(dated)}: "
                f"write a day between then and today, {long_day(today.isoformat())}."
            )
        if felt not in FELT:
            raise StoreError(f"“{felt}” is not on the sheet. Choose easier, same or harder.")
    changed = replace(visit, ticked=tuple(sorted(ticked)), coach_saw=coach_saw)
    squad.save_visit(changed)
    return changed


def _became(readings: Sequence[VisitReading]) -> Mapping[str, tuple[SinceItem, ...]]:
    """Return date of a sheet -> what the next visit showed of its priorities."""
    became: dict[str, tuple[SinceItem, ...]] = {}
    before: VisitReading | None = None
    for reading in readings:
        if before and before.visit.dated not in became:
            became[before.visit.dated] = since(before, reading)
        if reading.visit.slots:
            before = reading
    return became


def _worked_on(visit: Visit, name: Callable[[int], str], became: tuple[SinceItem, ...]) -> WorkedOn:
    felt = Counter(felt for _, _, felt in visit.ticked if felt)
    return WorkedOn(
        dated=visit.dated,
        sheet_number=visit.sheet_number,
        items=tuple((number, name(number)) for number in _items(visit)),
        done=adherence(visit),
        felt=tuple((word, felt[word]) for word in FELT if felt[word]),
        coach_saw=visit.coach_saw,
        became=became,
    )


def _items(visit: Visit) -> tuple[int, ...]:
    return tuple(slot.item for slot in visit.slots or ())


def _growth(athlete: Athlete, visits: Sequence[Visit]) -> tuple[Growth, ...]:
    if not visits:
        return ()
    first, last = visits[0].dated, visits[-1].dated
    return tuple(filter(None, (growth(athlete, first, last, what) for what in _WHAT)))


def _notices(
    athlete: Athlete, grown: Sequence[Growth], troubles: Sequence[StoreError], today: date
) -> Iterator[str]:
    yield from map(str, dict.fromkeys(map(str, troubles)))
    yield from map(growth_words, grown)
    yield from filter(None, (length_asked(athlete, today.isoformat()),))
