"""Pictures for showing on a phone: the step as drawn, and a still with its marks, face covered."""

from collections.abc import Callable
from pathlib import Path

from tapmark.app.action import Action
from tapmark.app.desk import Desk
from tapmark.app.review_deeds import needs_taps
from tapmark.errands.beside import RunPlace
from tapmark.errands.gate import hand_over
from tapmark.errands.pictures_out import step_png, still_png
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
    desk.flush()
    place = VisitPlace(state.squad, state.visit.code, state.visit.dated)
    folder = state.squad.visit_folder(state.visit.code, state.visit.dated)
    path = write(place, folder)
    desk.open_file(hand_over(state.squad, path, desk.now().date()))
    state.said = f"Picture: {path}"
    state.tell()


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
)
