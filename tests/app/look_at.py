"""Pictures of every page of the window, for human eyes and for README.

    xvfb-run python -m tests.app.look_at FOLDER [DOTS]

Opens the sample squad of `tapmark demo` in a window of 1366 × 700 below its menus and saves one
small picture a page; with DOTS an inch, all is larger by DOTS ÷ 96, and so the screen must be. Look
at them after every change of looks; README shows those in tests/pictures.
"""

import json
import sys
import tempfile
import tkinter as tk
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path

from PIL import Image

from tapmark.app.main import assemble, begin
from tapmark.marks.points import STANDARD
from tapmark.marks.run import Run
from tapmark.services.demo import make_demo
from tapmark.store.squad import open_squad
from tests.app.driving import SAMPLES, Asked, Driver
from tests.app.looks import on_screen

SIZE = (1366, 700)
WIDE, COLOURS = 1000, 256
ROUNDS = 4  # of choosing the colours again, or the grounds of two pages differ
TAPPED = 12  # of 32: the Taps page is half way and has something to ask


def main(folder: Path, dots: int = 96) -> None:
    """Save a picture of each page into a folder, as on a screen with so many dots an inch."""
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as place:
        home = Path(place)
        for _ in make_demo(home / "demo", date(2026, 5, 14)):
            pass
        app = opened(home, home / "demo" / "squad", dots)
        for page in pages(app):
            grab(app).save(folder / f"window-{page}.png", optimize=True)
        app.close()


def opened(home: Path, folder: Path | None, dots: int = 96) -> Driver:
    """Return the window on a squad, as on a screen with so many dots an inch."""
    root, asked = tk.Tk(), Asked()
    root.tk.call("tk", "scaling", dots / 72)
    environment = {"HOME": str(home), "XDG_CACHE_HOME": str(home / "cache")}
    now = datetime(2026, 5, 14, 21, 14, 8)
    context = assemble(root, environment, "linux", lambda: now, asked)
    root.geometry("{}x{}+0+0".format(*(px * dots // 96 for px in SIZE)))
    begin(context, folder)
    return Driver(root, context, asked)


def pages(app: Driver):  # type: ignore[no-untyped-def]
    """Bring each page to the front and yield its name when it stands."""
    app.pump(lambda: app.state.athlete, "the athletes")
    choose(app, "P02")
    settle(app)
    yield "squad"
    app.open_last_run()
    for page in ("film", "frames"):
        app.go(page)
        leave_buttons(app)
        yield page
    yield from taps(app)
    app.press("F6")
    app.pump(lambda: app.state.review.reading, "the reading")
    app.keyboard_on(app.bench.pane.canvas)
    app.press("Down")
    settle(app)
    yield "review"
    app.press("F7")
    app.pump(lambda: app.state.sheet.pages, "the page")
    settle(app)
    yield "sheet"


def taps(app: Driver):  # type: ignore[no-untyped-def]
    """Take the taps after the twelfth away and point at the place of the next one."""
    app.state.record("near knee", only_first(app.state.run, TAPPED))
    app.press("F5", "Key-2")
    app.pump(
        lambda: app.state.marking.gallery.has_full(app.state.marking.picture), "the full picture"
    )
    truth = json.loads((SAMPLES / "P02" / "truth.json").read_text("utf-8"))
    pane, asked_for = app.bench.pane, app.state.marking.prompt
    assert asked_for and asked_for.event == "mid-stance"
    x, y = pane.view.to_canvas(truth["stills"]["mid-stance"]["points"][asked_for.point])
    pane.canvas.event_generate("<Motion>", x=round(x + 2), y=round(y + 2))
    settle(app)
    yield "taps"
    app.press("Control-Key-z")


def only_first(run: Run, count: int) -> Run:
    """Return a marked run with the first taps of its first step, in the order they are asked."""
    step, frames = run.steps[0], []
    for frame in step.key_frames:
        asked = [point for point in STANDARD[frame.event] if frame.at(point)][:count]
        frames.append(replace(frame, taps=tuple(t for t in frame.taps if t.point in asked)))
        count -= len(asked)
    return replace(run, steps=(replace(step, key_frames=tuple(frames)),))


def choose(app: Driver, code: str) -> None:
    """Show an athlete beside the list."""
    from tapmark.app.shell.squads import choose_athlete

    assert code in open_squad(app.state.folder).codes()
    app.context.attempt(lambda: choose_athlete(app.context, code))


def leave_buttons(app: Driver) -> None:
    """Take the pointer away from the buttons that were pressed, and let everything be drawn."""
    for button, _ in app.window.top._steps.values():  # noqa: SLF001
        button.event_generate("<Leave>")
    settle(app)


def settle(app: Driver) -> None:
    """Wait until what is drawn a moment later has been drawn."""
    rested: list[bool] = []
    app.root.after(500, lambda: rested.append(True))
    app.pump(lambda: rested and app.context.painter.is_idle and app.context.jobs.is_idle, "a rest")


def grab(app: Driver) -> Image.Image:
    """Return the window as a small picture with few colours."""
    tall = app.root.winfo_rooty() + app.root.winfo_height()  # the menu bar comes on top
    wide = app.root.winfo_width()
    small = on_screen((0, 0, wide, tall)).resize(
        (WIDE, round(WIDE * tall / wide)), Image.Resampling.LANCZOS
    )
    return small.quantize(COLOURS, Image.Quantize.MAXCOVERAGE, kmeans=ROUNDS)


if __name__ == "__main__":
    main(Path(sys.argv[1]), *map(int, sys.argv[2:]))
