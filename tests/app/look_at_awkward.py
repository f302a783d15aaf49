"""Pictures of the window in forty awkward states, for human eyes.

    xvfb-run -s "-screen 0 1366x768x24" python -m tests.app.look_at_awkward FOLDER [TEXT SIZE]

TEXT SIZE: 1 as the desktop has it, up to 1.5. Look at them after every change of looks, and ask of
each which one program somebody would name on seeing it: there must be none.
"""

import json
import sys
import tempfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from tapmark.app.shell.squads import use_squad
from tapmark.store.squad import make_squad
from tests.app import awkward
from tests.app.driving import SAMPLES, Driver
from tests.app.look_at import SIZE, opened, settle
from tests.app.looks import on_screen

EMPTY = ("squad", "film", "frames", "taps", "review", "sheet")


def main(folder: Path, text_size: float) -> None:
    """Save a picture of each state into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    truth = json.loads((SAMPLES / "P02" / "truth.json").read_text("utf-8"))
    with tempfile.TemporaryDirectory() as name:
        place = Path(name)
        squad = awkward.full_squad(place / "big", truth)
        app = opened(place, None)
        app.context.settings.change(replace(app.context.settings.value, text_size=text_size))
        app.window.lay_out_again()
        save = saver(app, folder)
        save("empty-no-squad")
        make_squad(place / "fresh", "Fresh")
        app.context.attempt(lambda: use_squad(app.context, place / "fresh"))
        for page in EMPTY:
            app.context.go(page)
            save(f"empty-{page}")
        app.context.attempt(lambda: use_squad(app.context, squad.folder))
        app.context.go("squad")
        for state in awkward.states(app, place, squad):
            save(state)
        look_only(app, place, save)
        app.close()


def saver(app: Driver, folder: Path) -> Callable[[str], None]:
    """Return a function that saves what the screen shows once everything is drawn."""

    def save(name: str) -> None:
        for button, _ in app.window.top._steps.values():  # noqa: SLF001 - the pointer leaves
            button.event_generate("<Leave>")
        settle(app)
        tall = app.root.winfo_rooty() + app.root.winfo_height()  # the menu bar comes on top
        on_screen((0, 0, SIZE[0], tall)).save(folder / f"{name}.png")

    return save


def look_only(app: Driver, place: Path, save: Callable[[str], None]) -> None:
    """Save the run that is open here as a second window sees it."""
    folder = app.state.folder
    app.root.withdraw()
    second = opened(place / "second", folder)
    second.pump(lambda: second.state.session.roster, "the athletes")
    second.pick("P02")
    second.keyboard_on(second.view.list)
    second.press("Return")
    second.pump(lambda: second.state.marking.gallery, "the clip")
    second.context.go("taps")
    save("look-only")
    second.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]), float(sys.argv[2]) if len(sys.argv) > 2 else 1.0)
