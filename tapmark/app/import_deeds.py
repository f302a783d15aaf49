"""Bringing in a list of athletes: a preview with the line of every problem, then the import."""

from pathlib import Path
from typing import TYPE_CHECKING

from tapmark.app.action import Action
from tapmark.app.desk import Desk
from tapmark.app.proposal import Line, Proposal, propose
from tapmark.app.squad_deeds import needs_squad, refresh_roster, today
from tapmark.app.titles import several
from tapmark.marks.people import Athlete
from tapmark.store.files import read_bytes

if TYPE_CHECKING:
    from tapmark.store.import_csv import Preview, Problem

DELIMITERS = {",": "commas", ";": "semicolons", "\t": "tabs"}
ENCODINGS = {"utf-8-sig": "UTF-8", "cp1252": "an old western alphabet", "utf-16": "UTF-16"}


def ask_list(desk: Desk) -> None:
    """Ask for a list and show what it would bring; nothing is added yet."""
    from tapmark.store.import_csv import LARGEST, preview_athletes

    path = desk.ask.list_file()
    if path and desk.state.squad:
        data = read_bytes(path, LARGEST)
        propose(desk, preview(path, preview_athletes(data, desk.state.squad.codes(), today(desk))))


def preview(path: Path, found: "Preview") -> Proposal:
    """Return what a list would bring, its problems first, each with its line."""
    n = len(found.athletes)
    return Proposal(
        f"Import “{path.name}”",
        _about(found),
        (("what", 8), ("code", 6), ("born", 4), ("event", 8), ("length", 7), ("note", 19)),
        (*map(_problem, found.problems), *(_athlete(i, a) for i, a in enumerate(found.athletes))),
        f"Add {several(n, 'athlete')}" if n else "",
        (lambda desk, choices: _add(desk, found)) if n else None,
    )


def _about(found: "Preview") -> tuple[str, ...]:
    n, bad = len(found.athletes), len(found.problems)
    counted = f"{several(n, 'athlete')} can be added" if n else "Nobody can be added"
    if bad:
        counted += f", {several(bad, 'line')} cannot be used and will be left out"
    read = f"{ENCODINGS.get(found.encoding, found.encoding)} with {DELIMITERS[found.delimiter]}"
    ignored = ", ".join(f"“{heading}”" for heading in found.ignored)
    return (
        f"{counted}. Read as {read}.",
        *([f"Columns that mean nothing here: {ignored}."] if ignored else []),
        "Nobody gets a consent from a list: enter it from the paper, athlete by athlete.",
    )


def _problem(problem: "Problem") -> Line:
    return Line(
        f"problem {problem.line}",
        (f"line {problem.line}: left out", "", "", "", "", problem.words),
        about=problem.words,
    )


def _athlete(i: int, athlete: Athlete) -> Line:
    lengths = ", ".join(f"{length.what} {length.cm:g} cm" for length in athlete.lengths)
    cells = (
        "added",
        athlete.code,
        str(athlete.birth_year or "–"),
        athlete.group,
        lengths,
        " ".join(athlete.notes.split()),
    )
    return Line(f"athlete {i}", cells)


def _add(desk: Desk, found: "Preview") -> None:
    from tapmark.store.import_csv import import_athletes

    state = desk.state
    if not state.squad:
        return
    n = import_athletes(state.squad, found)
    desk.note_saved()
    refresh_roster(desk)
    desk.go("squad")
    state.said = f"{several(n, 'athlete')} added. Ask each for consent before filming: C."
    state.tell()


ACTIONS = (
    Action("import list", "Import a list…", ask_list, ("I",), ("squad",), "Squad", needs_squad),
)
