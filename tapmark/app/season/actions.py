"""What can be done on the Season page: look at one measure, type ticks back in, print."""

import re
from functools import partial

from tapmark.app.jobs import Task
from tapmark.app.shell.comparing import choose_other, open_compare
from tapmark.app.shell.context import Action, Context
from tapmark.app.shell.squads import of_athlete, open_visit
from tapmark.app.shell.why_disabled import needs_athlete, needs_taps, unless
from tapmark.app.state.form import FieldTrouble
from tapmark.app.state.pages import SeasonPage, Shown
from tapmark.errors import NotThere
from tapmark.kinds import is_day
from tapmark.marks.days import long_day, several
from tapmark.services.changes import since_lines
from tapmark.services.pictures import sides_png, trend_png
from tapmark.services.season import (
    SeasonMeasure,
    WorkedOn,
    measures_to_show,
    over_season,
    season_and_readings,
    type_back,
)
from tapmark.store.squad import open_squad

PAGE = "season"


def open_season(context: Context) -> None:
    """Show the season of the athlete chosen; it is measured in a job."""
    context.state.back, context.state.around.season = "squad", SeasonPage()
    read_season(context)
    context.go(PAGE)


def read_season(context: Context) -> None:
    """Read the season again, in a job."""
    state, now = context.state, context.today()
    folder, code = state.the_squad.folder, state.the_athlete.code

    def work(task: Task) -> Shown:
        """Measure it; what is worked on comes first, then what has a band, then the rest."""
        season, readings = season_and_readings(open_squad(folder, []), code, now)
        if not readings:
            return Shown(season, readings, ())
        last = readings[-1].assessment
        own = {row.result.key for slot in last.slots for row in slot.item.rows}
        graded = {row.result.key for row in last.rows if row.band}
        shown = list(measures_to_show(readings))
        shown.sort(key=lambda each: (each[0] not in own, each[0] not in graded))
        return Shown(season, readings, tuple(shown))

    def done(shown: Shown) -> None:
        state.around.season.shown = shown
        state.notify()

    context.jobs.run("season", work, done, context.failed, by="athlete")


def measure_of(page: SeasonPage) -> SeasonMeasure | None:
    """Return the measure that is looked at, over the season; None while there is none."""
    shown = page.shown
    if shown is None or not shown.measures:
        return None
    return over_season(shown.readings, *shown.measures[page.i_measure % len(shown.measures)])


def other_measure(context: Context, by: int) -> None:
    """Look at the next or the previous measure."""
    page = context.state.around.season
    if page.shown and page.shown.measures:
        page.i_measure = (page.i_measure + by) % len(page.shown.measures)


def sides(context: Context) -> None:
    """Show left against right, or the measure itself again."""
    page = context.state.around.season
    page.shows_sides = not page.shows_sides


def visit_of(page: SeasonPage) -> WorkedOn | None:
    """Return the visit chosen in the list, the newest by default."""
    visits = page.shown.season.visits if page.shown else ()
    return visits[page.i_visit] if visits else None


def became_of(visit: WorkedOn) -> tuple[str, str]:
    """Return what the next visit showed of the first priority: the change's word and a note."""
    lines = since_lines(visit.became)
    return (lines[0].word, lines[0].note) if lines else ("", "")


def keep_ticks(context: Context, text: str, coach_saw: str) -> None:
    """Write the typed boxes into their visit; raise FieldTrouble for unknown text."""
    state, now = context.state, context.today()
    visit = visit_of(state.around.season)
    if visit is None:
        return
    ticked = ticks_from(text, visit.dated, now.isoformat())
    type_back(state.the_squad, state.the_athlete.code, visit.dated, ticked, coach_saw, now)
    context.saver.note_saved()
    state.status = (
        f"{several(len(ticked), 'box', 'boxes')} kept with the sheet of {long_day(visit.dated)}."
    )
    read_season(context)
    state.notify()


def type_ticks(context: Context) -> None:
    """Put the keyboard into the field for the boxes."""
    context.state.around.season.wants_ticks = True


def picture_out(context: Context, *, prints: bool) -> None:
    """Write the plot that is shown as a picture into the athlete's folder; print or open it."""
    page, now = context.state.around.season, context.today()
    squad, code, measure = context.state.the_squad, context.state.the_athlete.code, measure_of(page)
    if measure is None:
        return
    folder = squad.athlete_folder(code)
    if page.shows_sides:
        path = sides_png(squad, code, measure.key, folder, now)
    else:
        path = trend_png(squad, code, measure.key, measure.side, folder, now)
    context.hand_out(path, f"Picture: {path}", prints=prints)


def open_chosen_visit(context: Context) -> None:
    """Open the visit chosen in the list."""
    visit = visit_of(context.state.around.season)
    if visit:
        open_visit(context, visit.dated)


def two_dates(context: Context) -> None:
    """Compare the visit chosen with the one before it; Escape comes back here."""
    state, visit = context.state, visit_of(context.state.around.season)
    if visit is None:
        return
    open_visit(context, visit.dated)
    why = needs_taps(context)
    if why:
        raise NotThere(f"The visit of {long_day(visit.dated)} has nothing to compare: {why}")
    open_compare(context)
    state.compare.back = PAGE
    earlier = [where for where in state.compare.others if where[1] < visit.dated]
    if earlier:
        choose_other(context, earlier[0])
    else:
        state.status = "There is no earlier visit. Choose another run in the list."


Tick = tuple[str, bool, str]
"""ISO date or "", drill done, how it felt."""
LETTERS = {"d": (True, ""), "e": (True, "easier"), "s": (True, "same"), "h": (True, "harder")}
LETTERS |= {"n": (False, "")}
SAW = ("", "not yet", "sometimes", "mostly")
HELP = "e did it, easier · s same · h harder · d did it · n not done; with the date: 7.4 e"
_TICK = re.compile(r"(?:(\d{1,2})[./](\d{1,2})\.?\s*)?([a-z])[\s,;]*", re.IGNORECASE)


def ticks_from(text: str, sheet: str, today: str) -> tuple[Tick, ...]:
    """Return the sessions typed for the sheet of a date; raise FieldTrouble for unknown text.

    A day and month lie between the sheet and today; the year follows from that.
    """
    at, found, text = 0, list[Tick](), re.sub(r"^[\s,;]+", "", text)
    while at < len(text):
        match = _TICK.match(text, at)
        letter = match[3].lower() if match else ""
        if match is None or letter not in LETTERS:
            raise FieldTrouble("ticks", f"“{text[at:][:12]}” is no box. Write {HELP}.")
        dated = _date(match[1], match[2], sheet, today) if match[1] else ""
        found.append((dated, *LETTERS[letter]))
        at = match.end()
    return tuple(found)


def _date(day_text: str, month_text: str, sheet: str, today: str) -> str:
    for year in range(int(sheet[:4]), int(today[:4]) + 1):
        found = f"{year}-{int(month_text):02}-{int(day_text):02}"
        if is_day(found) and sheet <= found <= today:
            return found
    raise FieldTrouble(
        "ticks",
        f"{day_text}.{month_text} does not lie between the sheet of {long_day(sheet)} and today.",
    )


def ticks_text(ticked: tuple[Tick, ...]) -> str:
    """Return sessions as they are typed."""
    letters = {meaning: letter for letter, meaning in LETTERS.items()}
    days = (f"{int(dated[8:])}.{int(dated[5:7])}" if dated else "" for dated, _, _ in ticked)
    boxes = (letters[(did, felt if did else "")] for _, did, felt in ticked)
    return ", ".join(f"{day} {box}".strip() for day, box in zip(days, boxes, strict=True))


def ticks_words(ticked: tuple[Tick, ...]) -> str:
    """Return sessions in words, a line each, to check what was typed."""
    lines = []
    for i, (dated, did, felt) in enumerate(ticked, start=1):
        done = ", ".join(filter(None, ("did it" if did else "not done", felt if did else "")))
        lines.append(f"{i}.  {long_day(dated, with_year=False) or 'no date'}: {done}")
    return "\n".join(lines)


_on_season = partial(Action, pages=(PAGE,), group="Season")
_of_measure = partial(
    _on_season,
    why_disabled=unless(
        "Nothing was measured yet.",
        lambda c: c.state.around.season.shown and c.state.around.season.shown.measures,
        needs_athlete,
    ),
)
_needs_visit = unless("There is no visit yet.", lambda c: visit_of(c.state.around.season))
_of_visit = partial(_on_season, why_disabled=_needs_visit)
_show, _print = (partial(picture_out, prints=prints) for prints in (False, True))
ACTIONS = (
    of_athlete("season", "Season and trend of the athlete", open_season, ("Mod+T",)),
    _of_measure("measure on", "Next measure", partial(other_measure, by=1), ("PageDown",)),
    _of_measure("measure back", "Previous measure", partial(other_measure, by=-1), ("PageUp",)),
    _of_measure("left right", "Left against right, and back", sides, ("L",)),
    _of_visit("type ticks", "Type in the boxes of a sheet", type_ticks, ("T",)),
    _of_visit("open that visit", "Open the visit chosen", open_chosen_visit, ("O",)),
    _of_visit("two dates", "Compare this visit with the one before", two_dates, ("B",)),
    _of_measure("show trend", "Open the plot as a picture", _show, ("Mod+E",)),
    _of_measure("print trend", "Print the plot", _print, ("Mod+P",)),
)
