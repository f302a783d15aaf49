"""What can be done on the Squad page: open a squad, add and change athletes, open a visit."""

from dataclasses import dataclass, replace
from pathlib import Path

from tapmark.app.action import Action
from tapmark.app.desk import Desk
from tapmark.app.run_deeds import open_run, start_run
from tapmark.errors import StoreError, TapmarkError
from tapmark.marks.people import CONSENTS, Athlete, Length
from tapmark.store.gates import give, may_import, withdraw
from tapmark.store.squad import make_squad, open_squad


def needs_squad(desk: Desk) -> str:
    """Why nothing can be done with athletes."""
    return "" if desk.state.squad else "Open or make a squad first."


def needs_athlete(desk: Desk) -> str:
    """Why nothing can be done with one athlete."""
    return needs_squad(desk) or ("" if desk.state.athlete else "Choose an athlete first.")


def today(desk: Desk) -> str:
    """Return today's date, ISO."""
    return desk.now().date().isoformat()


def use_squad(desk: Desk, folder: Path) -> None:
    """Open the squad in a folder; files that cannot be read are told, the rest is there."""
    state, troubles = desk.state, list[StoreError]()
    state.squad = open_squad(folder, troubles)
    state.athlete = state.history = state.gallery = None
    state.run_name = ""
    refresh_roster(desk, troubles)
    desk.remember(desk.settings.with_recent(str(folder)))
    desk.go("squad")
    if troubles:
        raise troubles[0]


def refresh_roster(desk: Desk, troubles: list[StoreError] | None = None) -> None:
    """Read all athletes again."""
    state = desk.state
    state.roster = state.squad.athletes(troubles) if state.squad else ()


def ask_open_squad(desk: Desk) -> None:
    """Ask for the folder of a squad and open it."""
    folder = desk.ask.folder("Open a squad: choose its folder")
    if folder:
        use_squad(desk, folder)


def ask_make_squad(desk: Desk) -> None:
    """Ask for a new folder and make a squad in it."""
    folder = desk.ask.folder("Make a squad: choose a new or an empty folder")
    if folder:
        make_squad(folder, folder.name)
        use_squad(desk, folder)


def choose_athlete(desk: Desk, code: str) -> None:
    """Show an athlete beside the list."""
    state = desk.state
    if state.squad and (state.athlete is None or state.athlete.code != code):
        state.athlete = state.squad.athlete(code)
        state.history = state.gallery = None
        state.run_name = ""
    state.tell()


@dataclass(frozen=True)
class Entry:
    """What the form for an athlete holds, as typed; consents are the ticked uses."""

    code: str = ""
    birth_year: str = ""
    group: str = ""
    leg_cm: str = ""
    height_cm: str = ""
    consents: frozenset[str] = frozenset()
    by: str = ""
    until: str = ""


class FieldTrouble(TapmarkError):
    """A field of a form holds something that cannot be used; field says which."""

    def __init__(self, field: str, words: str) -> None:
        super().__init__(words)
        self.field = field


def entry_of(athlete: Athlete | None) -> Entry:
    """Return the form filled with what is known."""
    if athlete is None:
        return Entry()
    lengths = {length.what: f"{length.cm:g}" for length in athlete.lengths}
    given = {use: athlete.consent(use) for use in CONSENTS}
    film = given["film"]
    return Entry(
        athlete.code,
        str(athlete.birth_year or ""),
        athlete.group,
        lengths.get("leg", ""),
        lengths.get("height", ""),
        frozenset(use for use, c in given.items() if c and c.is_given and not c.withdrawn),
        film.by if film else "",
        film.expires if film else "",
    )


def save_entry(desk: Desk, entry: Entry, old: Athlete | None) -> None:
    """Write an athlete from the form; raises FieldTrouble for what cannot be used."""
    state = desk.state
    if not state.squad:
        return
    code = entry.code.strip()
    if not code:
        raise FieldTrouble("code", "Give the athlete a code or initials, e.g. K07.")
    if old is None and code in state.squad.codes():
        raise FieldTrouble("code", f"There is an athlete “{code}” already. Take another code.")
    athlete = replace(
        old or Athlete(code),
        birth_year=_year(entry.birth_year, desk.now().year),
        group=entry.group.strip(),
    )
    athlete = _with_length(athlete, "leg", "leg_cm", entry.leg_cm, (50, 130), today(desk))
    athlete = _with_length(athlete, "height", "height_cm", entry.height_cm, (100, 230), today(desk))
    state.squad.save_athlete(_with_consents(athlete, entry, today(desk)))
    refresh_roster(desk)
    state.athlete = None
    choose_athlete(desk, code)
    desk.note_saved()


def _year(text: str, this_year: int) -> int | None:
    text = text.strip()
    if not text:
        return None
    if not text.isdecimal() or not this_year - 100 <= int(text) <= this_year - 4:
        raise FieldTrouble("birth_year", f"“{text}” is no year of birth. Write four digits.")
    return int(text)


def number(text: str, field: str, what: str, low: float, high: float) -> float | None:
    """Return a typed number, comma or point; None for an empty field; raise FieldTrouble."""
    text = text.strip().replace(",", ".")
    if not text:
        return None
    try:
        value = float(text)
    except ValueError:
        raise FieldTrouble(field, f"“{text}” is no number for {what}.") from None
    if not low <= value <= high:
        raise FieldTrouble(field, f"{value:g} for {what} is not between {low:g} and {high:g}.")
    return value


def _with_length(
    athlete: Athlete, what: str, field: str, text: str, span: tuple[float, float], dated: str
) -> Athlete:
    cm = number(text, field, f"the {what} length in cm" if what == "leg" else "height in cm", *span)
    old = next((length for length in reversed(athlete.lengths) if length.what == what), None)
    if cm is None or (old and old.cm == cm):
        return athlete
    return replace(athlete, lengths=(*athlete.lengths, Length(what, cm, dated)))


def _with_consents(athlete: Athlete, entry: Entry, dated: str) -> Athlete:
    """Give what was ticked, withdraw what was unticked; earlier answers stay on record."""
    before = entry_of(athlete)
    renewed = (entry.by, entry.until) != (before.by, before.until)
    for use in CONSENTS:
        if use in entry.consents and (use not in before.consents or renewed):
            athlete = give(athlete, use, entry.by.strip(), dated, entry.until.strip())
        elif use in before.consents and use not in entry.consents:
            athlete = withdraw(athlete, use, entry.by.strip(), dated)
    return athlete


def new_visit(desk: Desk) -> None:
    """Begin today's visit of the athlete, or another run of it."""
    state = desk.state
    if state.squad and state.athlete:
        may_import(state.athlete, today(desk))
        start_run(desk, state.athlete.code, today(desk))
        desk.go("film")


def open_last(desk: Desk) -> None:
    """Open the newest run of the athlete's newest visit."""
    state = desk.state
    if state.squad and state.athlete:
        dates = state.squad.visit_dates(state.athlete.code)
        if not dates:
            state.said = "No visit yet. Start one."
            return
        open_visit(desk, dates[-1])


def open_visit(desk: Desk, dated: str) -> None:
    """Open a visit at its last run, or at Film when it has none."""
    state = desk.state
    if state.squad and state.athlete:
        names = state.squad.run_names(state.athlete.code, dated)
        if names:
            open_run(desk, state.athlete.code, dated, names[-1])
        else:
            start_run(desk, state.athlete.code, dated)
            desk.go("film")


def archive(desk: Desk) -> None:
    """Put the athlete among those not trained now, or take them back."""
    state = desk.state
    if state.squad and state.athlete:
        changed = replace(state.athlete, is_archived=not state.athlete.is_archived)
        state.squad.save_athlete(changed)
        refresh_roster(desk)
        state.athlete = changed
        state.said = f"{changed.code} is {'archived' if changed.is_archived else 'back'}."


def _add(desk: Desk) -> None:
    desk.state.form = "new athlete"


def _edit(desk: Desk) -> None:
    desk.state.form = "athlete"


_SQUAD = ("squad",)

ACTIONS = (
    Action("open squad", "Open a squad…", ask_open_squad, ("Mod+O",), _SQUAD, "Squad"),
    Action("make squad", "Make a squad…", ask_make_squad, ("Mod+N",), _SQUAD, "Squad"),
    Action("add athlete", "Add athlete", _add, ("A",), _SQUAD, "Squad", needs_squad),
    Action(
        "edit athlete", "Change athlete and consent", _edit, ("E",), _SQUAD, "Squad", needs_athlete
    ),
    Action("new visit", "New visit", new_visit, ("N",), _SQUAD, "Squad", needs_athlete),
    Action(
        "open last", "Open the last visit", open_last, ("Return",), _SQUAD, "Squad", needs_athlete
    ),
    Action("archive", "Archive, or take back", archive, (), _SQUAD, "Squad", needs_athlete),
)
