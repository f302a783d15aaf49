"""How a window begins: on the squad that was named, else where it was left."""

from pathlib import Path

from tapmark import disk
from tapmark.app.desk import Desk
from tapmark.app.squad_deeds import use_squad
from tapmark.errors import StoreError
from tapmark.leftovers import remove_temporary

PARTS = 6  # code, date, run, page, key frame, point


def begin(desk: Desk, folder: Path | None) -> None:
    """Open the squad in the folder, or the last one used, and go on where the coach left off."""
    remove_temporary()
    place = desk.settings.place
    last = Path(desk.settings.recent[0]) if desk.settings.recent else None
    if folder is None and (last is None or not is_there(last)):
        return
    wanted = folder or last
    if wanted is None or not desk.attempt(lambda: use_squad(desk, wanted)):
        return
    is_same = last is not None and (wanted == last or disk.resolved(wanted) == disk.resolved(last))
    if is_same and place:
        desk.attempt(lambda: _go_on(desk, place))


def is_there(folder: Path) -> bool:
    """Say whether a folder of the last time can be looked into; a stick may be out."""
    try:
        return disk.is_folder(folder)
    except StoreError:
        return False


def _go_on(desk: Desk, place: str) -> None:
    """Open the run that was open; a run that is gone is no reason to say anything."""
    from tapmark.app.run_deeds import open_run  # not needed where no run was open

    parts = place.split("/")
    squad = desk.state.squad
    if len(parts) != PARTS or not squad:
        return
    code, dated, name, *where = parts
    if code in squad.codes() and name in squad.run_names(code, dated):
        open_run(desk, code, dated, name, tuple(where))
