"""What may leave the squad as plain files: the season as a table, raw taps, a note for a physio."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from tapmark.app.action import Action
from tapmark.app.desk import Desk
from tapmark.app.proposal import Choices, Line, Proposal, propose
from tapmark.app.squad_deeds import needs_athlete
from tapmark.app.titles import several
from tapmark.errands.exports import physio_note, season_csv, taps_csv
from tapmark.errands.gate import who_goes_out
from tapmark.errors import NotThere
from tapmark.store.squad import Squad, open_squad

NO, POINT, COMMA = "not now", "decimal points", "decimal commas"
DECIMAL = {POINT: ".", COMMA: ","}


@dataclass(frozen=True)
class Export:
    """One file that can be written; write gets the squad, the folder and the decimal sign."""

    key: str
    what: str
    whose: str
    about: str
    write: Callable[[Squad, Path, str], Path]


def ask_export(desk: Desk) -> None:
    """Show what can be written for the athlete and for the squad."""
    state = desk.state
    desk.refuse_unsaved()
    if state.squad and state.athlete:
        propose(desk, export_page(desk, state.athlete.code))


def export_page(desk: Desk, code: str) -> Proposal:
    """Return the page on which the files are chosen."""
    exports = tuple(exports_of(desk, code))
    return Proposal(
        "Write tables and notes",
        (
            "Plain files that any spreadsheet or text editor opens. Choose decimal "
            "commas where your spreadsheet writes them.",
            "Whoever gets a file can read it: keep it where you keep the consent forms.",
        ),
        (("what", 16), ("whose", 14)),
        tuple(
            Line(e.key, (e.what, e.whose), choices=(NO, POINT, COMMA), about=e.about)
            for e in exports
        ),
        "Write into a folder…",
        lambda d, choices: _write(d, exports, choices),
    )


def exports_of(desk: Desk, code: str) -> Iterator[Export]:
    """Yield every file that can be written."""
    squad, today = desk.state.squad, desk.now().date()
    if squad is None:
        return
    yield Export(
        "season",
        "Season as a table",
        code,
        "One row for each measure of each run, with its ±, band, verdict and how it was filmed.",
        lambda s, folder, decimal: season_csv(s, (code,), folder, today, decimal),
    )
    yield Export(
        "taps",
        "Raw taps as a table",
        code,
        "One row for each tap: picture, time, place in pixels, how sure.",
        lambda s, folder, decimal: taps_csv(s, (code,), folder, today, decimal),
    )
    dates = squad.visit_dates(code)
    if dates:
        yield Export(
            "physio",
            "Note for a physio",
            f"{code}, last visit",
            "Numbers with their ±, no opinions. Needs the consent to share with a physio.",
            lambda s, folder, decimal: physio_note(s, code, dates[-1], folder, today, decimal),
        )
    may, left_out = who_goes_out("csv", squad, today, [])
    codes = tuple(athlete.code for athlete in may)
    if codes:
        out = "".join(f"\n{words}" for words in left_out)
        yield Export(
            "squad",
            "Season as a table",
            f"all who agreed: {several(len(codes), 'athlete')}",
            f"One file for the squad.{out}",
            lambda s, folder, decimal: season_csv(s, codes, folder, today, decimal),
        )


def _write(desk: Desk, exports: tuple[Export, ...], choices: Choices) -> None:
    chosen = [(each, choices[each.key]) for each in exports if choices[each.key] != NO]
    home = desk.state.folder
    if not chosen or home is None:
        raise NotThere("Nothing is chosen. Space on a line chooses how it is written.")
    folder = desk.ask.folder("Write tables and notes: choose a folder")
    if folder is None:
        return

    def work() -> list[Path]:
        squad = open_squad(home, [])
        return [each.write(squad, folder, DECIMAL[how]) for each, how in chosen]

    def done(paths: list[Path]) -> None:
        if desk.state.page == "proposal":
            desk.go("squad")
        desk.state.said = f"Written into “{folder}”: {', '.join(p.name for p in paths)}"
        desk.state.tell()

    desk.state.said = "Writing …"
    desk.jobs.run("export", lambda task: work(), done, desk.failed, by="squad")
    desk.state.tell()


ACTIONS = (
    Action(
        "export",
        "Tables and notes to give away…",
        ask_export,
        ("T",),
        ("squad",),
        "Athlete",
        needs_athlete,
    ),
)
