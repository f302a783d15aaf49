"""Pictures for showing on a phone: the step as drawn, and marked stills, faces covered."""

from collections.abc import Callable
from pathlib import Path

from tapmark.app.action import Action
from tapmark.app.desk import Desk
from tapmark.app.review_deeds import needs_taps
from tapmark.errands.beside import RunPlace
from tapmark.errands.gate import hand_over
from tapmark.errands.pictures_out import step_png, still_png, stills_beside_png
from tapmark.errands.places import VisitPlace


def step_out(desk: Desk) -> None:
    """Write the step line as a picture beside the visit, drawn, and open it."""
    _write(desk, lambda place, folder: step_png(place, folder, desk.now().date()))


def still_out(desk: Desk) -> None:
    """Write the still of the key frame at hand with its marks, where a photo may leave; open it."""
    state = desk.state

    def write(place: VisitPlace, folder: Path) -> Path:
        at = RunPlace(place, state.run_name, state.i_step)
        return still_png(at, state.event, folder, desk.now().date())

    _write(desk, write)


def _write(desk: Desk, write: Callable[[VisitPlace, Path], Path]) -> None:
    state = desk.state
    if not state.squad or not state.visit:
        return
    desk.refuse_unsaved()
    place = VisitPlace(state.squad, state.visit.code, state.visit.dated)
    folder = state.squad.visit_folder(state.visit.code, state.visit.dated)
    _open(desk, write(place, folder))


def _open(desk: Desk, path: Path) -> None:
    if desk.state.squad:
        desk.open_file(hand_over(desk.state.squad, path, desk.now().date()))
    desk.state.said = f"Picture: {path}"
    desk.state.tell()


def stills_out(desk: Desk) -> None:
    """Write the stills of the key frame shown of both runs side by side; open the file."""
    state = desk.state
    other = state.beside.where
    if not state.squad or not state.visit or not other:
        return
    desk.refuse_unsaved()
    here = (state.visit.code, state.visit.dated)
    mine = RunPlace(VisitPlace(state.squad, *here), state.run_name, state.i_step)
    theirs = RunPlace(VisitPlace(state.squad, *other[:2]), other[2])
    is_own = other[0] == here[0]
    folder = state.squad.athlete_folder(here[0]) if is_own else state.squad.folder
    today = desk.now().date()
    _open(desk, stills_beside_png(theirs, mine, event_shown(desk), folder, today))


def event_shown(desk: Desk) -> str:
    """Return the key frame that the page with two runs shows of this run; "" between two."""
    at = desk.state.beside.picture
    return next((f.event for f in desk.state.step.key_frames if f.picture == at), "")


def needs_event(desk: Desk) -> str:
    """Why there are no two stills to put beside each other yet."""
    if not desk.state.beside.where:
        return "Choose the other run first."
    return "" if event_shown(desk) else "Go to a key frame first, with 1 to 5."


_PAGES = ("review", "sheet")

ACTIONS = (
    Action(
        "step picture",
        "The step as a picture",
        step_out,
        ("Mod+L",),
        _PAGES,
        "Sheet",
        needs_taps,
    ),
    Action(
        "still picture",
        "This key frame as a picture, face covered",
        still_out,
        ("Mod+K",),
        _PAGES,
        "Sheet",
        needs_taps,
    ),
    Action(
        "stills beside",
        "This key frame of both runs as a picture, faces covered",
        stills_out,
        ("Mod+K",),
        ("beside",),
        "Review",
        needs_event,
    ),
)
