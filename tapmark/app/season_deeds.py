"""What can be done on the Season page: look at one measure, type ticks back in, print."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from tapmark.app.action import Action
from tapmark.app.beside_deeds import choose_other, open_beside
from tapmark.app.desk import Desk
from tapmark.app.review_deeds import needs_taps
from tapmark.app.squad_deeds import needs_athlete, open_visit, today
from tapmark.app.ticks import ticks_from
from tapmark.errands.changes import since_lines
from tapmark.errands.gate import hand_over
from tapmark.errands.one_measure import (
    SeasonMeasure,
    measures_to_show,
    over_season,
    sides_over_season,
)
from tapmark.errands.pictures_out import sides_png, trend_png
from tapmark.errands.season import Season, WorkedOn, season_and_readings, type_back
from tapmark.errands.visits import VisitReading
from tapmark.errors import NotThere
from tapmark.marks.days import long_day
from tapmark.store.squad import open_squad

PAGE = "season"


@dataclass(frozen=True)
class Shown:
    """An athlete's season as it was read.

    measures: (key, side) of everything that was measured at least once.
    """

    season: Season
    readings: tuple[VisitReading, ...]
    measures: tuple[tuple[str, str], ...]

    def name(self, i: int) -> str:
        """Return what a measure is called, with its foot."""
        key, side = self.measures[i]
        words = self.readings[-1].criteria.words
        return f"{words.row(key)}{words.in_brackets(side)}"


def open_season(desk: Desk) -> None:
    """Show the season of the athlete chosen; it is measured beside the window."""
    state = desk.state
    if not state.squad or not state.athlete:
        return
    side = state.side
    side.back, side.season, side.i_measure, side.i_visit = "squad", None, 0, -1
    side.shows_sides = False
    read_season(desk)
    desk.go(PAGE)


def read_season(desk: Desk) -> None:
    """Read the season again, beside the window."""
    state = desk.state
    if not state.squad or not state.athlete:
        return
    folder, code, now = state.squad.folder, state.athlete.code, desk.now().date()

    def work() -> Shown:
        squad = open_squad(folder, [])
        season, readings = season_and_readings(squad, code, now)
        return Shown(season, readings, measures_to_show(readings) if readings else ())

    def done(shown: Shown) -> None:
        state.side.season = shown
        state.tell()

    desk.jobs.run("season", lambda task: work(), done, desk.failed, by="athlete")


def measure_of(desk: Desk) -> SeasonMeasure | None:
    """Return the measure that is looked at, over the season; None while there is none."""
    side = desk.state.side
    shown = side.season
    if shown is None or not shown.measures:
        return None
    return over_season(shown.readings, *shown.measures[side.i_measure % len(shown.measures)])


def left_minus_right(shown: Shown, key: str) -> Iterator[tuple[str, float, float, str]]:
    """Yield (ISO date, left − right, its ±, why it cannot be told) of one measure."""
    for visit in sides_over_season(shown.readings):
        for row in visit.rows:
            if row.key == key:
                yield visit.dated, row.difference, row.plus_minus, row.why


def other_measure(desk: Desk, by: int) -> None:
    """Look at the next or the previous measure."""
    side = desk.state.side
    if side.season and side.season.measures:
        side.i_measure = (side.i_measure + by) % len(side.season.measures)
    desk.state.tell()


def sides(desk: Desk) -> None:
    """Show left against right, or the measure itself again."""
    desk.state.side.shows_sides = not desk.state.side.shows_sides
    desk.state.tell()


def visit_of(desk: Desk) -> WorkedOn | None:
    """Return the visit chosen in the list, the newest by default."""
    side = desk.state.side
    visits = side.season.season.visits if side.season else ()
    return visits[side.i_visit] if visits else None


def became_of(visit: WorkedOn) -> tuple[str, str]:
    """Return what the next visit showed of the first priority: the change's word and a note."""
    lines = since_lines(visit.became)
    return (lines[0].word, lines[0].note) if lines else ("", "")


def keep_ticks(desk: Desk, text: str, coach_saw: str) -> None:
    """Write the typed boxes into their visit; raise FieldTrouble for what is no box."""
    state, visit = desk.state, visit_of(desk)
    if not state.squad or not state.athlete or visit is None:
        return
    code, now = state.athlete.code, desk.now().date()
    ticked = ticks_from(text, visit.dated, today(desk))
    type_back(state.squad, code, visit.dated, ticked, coach_saw, now)
    desk.note_saved()
    state.said = f"{len(ticked)} boxes kept with the sheet of {long_day(visit.dated)}."
    read_season(desk)
    state.tell()


def type_ticks(desk: Desk) -> None:
    """Put the keyboard into the field for the boxes."""
    desk.state.side.wants_ticks = True
    desk.state.tell()


def picture_out(desk: Desk, hand: Callable[[Path], None]) -> None:
    """Write the plot that is shown as a picture beside the athlete and hand it over."""
    state, measure = desk.state, measure_of(desk)
    if not state.squad or not state.athlete or measure is None:
        return
    squad, code, now = state.squad, state.athlete.code, desk.now().date()
    folder = squad.athlete_folder(code)
    if state.side.shows_sides:
        path = sides_png(squad, code, measure.key, folder, now)
    else:
        path = trend_png(squad, code, measure.key, measure.side, folder, now)
    hand(hand_over(state.squad, path, now))
    state.said = f"Picture: {path}"
    state.tell()


def open_chosen_visit(desk: Desk) -> None:
    """Open the visit chosen in the list."""
    visit = visit_of(desk)
    if visit:
        open_visit(desk, visit.dated)


def two_dates(desk: Desk) -> None:
    """Set the visit chosen beside the one before it; Escape comes back here."""
    state, visit = desk.state, visit_of(desk)
    if not state.squad or not state.athlete or visit is None:
        return
    open_visit(desk, visit.dated)
    why = needs_taps(desk)
    if why:
        raise NotThere(
            f"The visit of {long_day(visit.dated)} has nothing to set beside another: {why}"
        )
    open_beside(desk)
    state.beside.back = PAGE
    earlier = [where for where in state.beside.others if where[1] < visit.dated]
    if earlier:
        choose_other(desk, earlier[0])
    else:
        state.said = "There is no earlier visit. Choose another run in the list."


def _needs_measure(desk: Desk) -> str:
    side = desk.state.side
    has = side.season is not None and bool(side.season.measures)
    return needs_athlete(desk) or ("" if has else "Nothing was measured yet.")


def _needs_visit(desk: Desk) -> str:
    return "" if visit_of(desk) else "There is no visit yet."


_SEASON = (PAGE,)

ACTIONS = (
    Action(
        "season", "Season of the athlete", open_season, ("S",), ("squad",), "Athlete", needs_athlete
    ),
    Action(
        "measure on",
        "Next measure",
        partial(other_measure, by=1),
        ("PageDown",),
        _SEASON,
        "Season",
        _needs_measure,
    ),
    Action(
        "measure back",
        "Previous measure",
        partial(other_measure, by=-1),
        ("PageUp",),
        _SEASON,
        "Season",
        _needs_measure,
    ),
    Action(
        "left right",
        "Left against right, and back",
        sides,
        ("L",),
        _SEASON,
        "Season",
        _needs_measure,
    ),
    Action(
        "type ticks",
        "Type in the boxes of a sheet",
        type_ticks,
        ("T",),
        _SEASON,
        "Season",
        _needs_visit,
    ),
    Action(
        "open that visit",
        "Open the visit chosen",
        open_chosen_visit,
        ("O",),
        _SEASON,
        "Season",
        _needs_visit,
    ),
    Action(
        "two dates",
        "This visit beside the one before",
        two_dates,
        ("B",),
        _SEASON,
        "Season",
        _needs_visit,
    ),
    Action(
        "show trend",
        "Open the plot as a picture",
        lambda desk: picture_out(desk, desk.open_file),
        ("Mod+E",),
        _SEASON,
        "Season",
        _needs_measure,
    ),
    Action(
        "print trend",
        "Print the plot",
        lambda desk: picture_out(desk, desk.print_file),
        ("Mod+P",),
        _SEASON,
        "Season",
        _needs_measure,
    ),
)
