"""Two copies of a squad merged, and the coach's word on which of two markings counts."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from tapmark.errors import NoConsent, StoreError
from tapmark.marks.run import Run
from tapmark.measures.repeatability import RowDifference, pairs_between, row_differences
from tapmark.services.visits import card_of
from tapmark.store import merge as merging
from tapmark.store.consent import may_import
from tapmark.store.files import json_bytes, keep_copy
from tapmark.store.merge import CONFLICT, NEW, Difference
from tapmark.store.schema import ATHLETE_FILE, VISIT_FILE
from tapmark.store.squad import RunAt, Squad, open_squad


def _closed(ours: Squad, theirs: Squad, today: date) -> Iterator[tuple[str, str]]:
    """Yield (code, why) of those whose visits may not be brought in, here or there."""
    here = {athlete.code: athlete for athlete in ours.athletes([])}
    for athlete in theirs.athletes([]):
        try:
            for known in filter(None, (here.get(athlete.code), athlete)):
                may_import(known, today.isoformat())
        except NoConsent as closed:
            yield athlete.code, str(closed)


OURS, THEIRS, LEAVE, TAKE = "ours counts", "theirs counts", "leave out", "take"


@dataclass(frozen=True)
class BothSides:
    """One run marked by two people, here and in the other copy.

    apart_pct_leg: mean distance of their taps in % of leg, None without a common picture.
    rows:          every row that both got, side by side.
    """

    ours: Run
    theirs: Run
    apart_pct_leg: float | None
    rows: tuple[RowDifference, ...]


@dataclass(frozen=True)
class MergePlan:
    """What putting together would do; nothing has been written.

    sides:    of the runs in conflict, by place.
    left_out: sentences about what is not taken, and files of theirs that cannot be read.
    deleted:  dates on which somebody was deleted here, who may be in the other copy.
    """

    differences: tuple[Difference, ...]
    sides: Mapping[RunAt, BothSides]
    left_out: tuple[str, ...] = ()
    deleted: tuple[str, ...] = ()


def place_of(difference: Difference) -> RunAt:
    """Return which run a difference is about; no name: the visit; no date either: the athlete."""
    return difference.code, difference.dated, difference.name


def plan(ours: Path, theirs: Path, today: date) -> MergePlan:
    """Compare two copies of a squad; raise StoreError when either is none, or both are one."""
    if ours.resolve() == theirs.resolve():
        raise StoreError("That is this very squad. Choose the folder of the other copy.")
    here, there = open_squad(ours), open_squad(theirs, [])
    closed, troubles = dict(_closed(here, there, today)), list[StoreError]()
    found = merging.plan_merge(here, there, today.isoformat(), frozenset(closed), troubles)
    places = (place_of(d) for d in found if d.kind == CONFLICT and d.name)
    return MergePlan(
        found,
        {place: both_sides(here, there, place) for place in places},
        (*closed.values(), *map(str, troubles)),
        here.choices.deleted_on,
    )


def both_sides(here: Squad, there: Squad, place: RunAt) -> BothSides:
    """Return one run as it was marked here and there."""
    ours, theirs = here.load_run(*place), there.load_run(*place)
    pairs = pairs_between(ours, theirs)
    apart = sum(pair.apart_pct_leg for pair in pairs) / len(pairs) if pairs else None
    rows = row_differences(ours, theirs, card_of(here, [ours]))
    return BothSides(ours, theirs, apart, rows)


def put_together(
    ours: Path, theirs: Path, today: date, choices: Mapping[RunAt, str]
) -> tuple[Difference, ...]:
    """Merge their copy into ours and put the choices into force; return what was done.

    Theirs is only read. Visits of athletes who did not agree here or there are not taken.
    choices: place -> LEAVE for a new athlete, THEIRS for a conflict; anything else keeps ours.
    Whatever does not count stays beside it. Raises CannotWrite; doing it again carries on.
    """
    here, there = open_squad(ours), open_squad(theirs, [])
    leave = frozenset(place[0] for place, choice in choices.items() if choice == LEAVE)
    closed = frozenset(code for code, _ in _closed(here, there, today))
    done = merging.merge(here, there, today.isoformat(), leave, [], without_visits=closed)
    for place in sorted(place for place, choice in choices.items() if choice == THEIRS):
        _let_theirs_count(here, there, *place)
    return done


def _let_theirs_count(here: Squad, there: Squad, code: str, dated: str, name: str) -> None:
    if name:
        # Let the visit count the run that came from them in place of ours of the same name.
        their = there.load_run(code, dated, name)
        came = next((n for n, run in here.runs(code, dated, []) if run == their), name)
        visit = here.visit(code, dated)
        if name in visit.runs:
            others = (each for each in visit.runs if each != came or came == name)
            here.save_visit(replace(visit, runs=tuple(came if n == name else n for n in others)))
        elif came not in visit.runs:
            here.save_visit(replace(visit, runs=(*visit.runs, came)))
    elif dated:
        ours = here.visit(code, dated)
        _keep(here.visit_folder(code, dated) / "visit.json", VISIT_FILE.write(ours))
        here.save_visit(replace(there.visit(code, dated), runs=ours.runs))
    else:
        mine = here.athlete(code)
        _keep(here.athlete_folder(code) / "athlete.json", ATHLETE_FILE.write(mine))
        here.save_athlete(replace(there.athlete(code), consents=mine.consents))


def _keep(path: Path, plain: dict[str, object]) -> None:
    if keep_copy(path, json_bytes(plain), "elsewhere") is None:
        raise StoreError(f"“{path.name}” cannot be kept beside theirs. Nothing of it was changed.")


def is_new_athlete(difference: Difference) -> bool:
    """Say whether a whole athlete is only in the other copy."""
    return difference.kind == NEW and not difference.dated
