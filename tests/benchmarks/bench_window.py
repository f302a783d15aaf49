"""How long from a key or click to the painted picture, against a bare PhotoImage swap.

    python -m tests.benchmarks.bench_window [EVENTS]

Every event is sent to the real window and waited for until nothing is left to draw and the X
server has answered, in the same run as the bare swap of the same size. What the window puts off
until the hand pauses is not in it: writing to the disk (20 ms after a tap), smooth lines (120 ms),
the column (10 ms), the step line (120 ms); before each tap it has been done. The ratio is what
counts; the milliseconds are this machine's.

Playback is of a clip of 1920 × 1080 at 240, at an eighth of true speed, so that 30 frames a second
are due: what one shown frame costs the window, and how many are shown in a second, the first time
and again; then the same of two runs of that clip on the page with both.
"""

import json
import statistics
import sys
import tempfile
import tkinter as tk
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from time import perf_counter, thread_time

from PIL import Image, ImageTk

from tapmark.app.main import assemble, begin
from tapmark.app.shell.context import Context
from tapmark.app.shell.stepping import ask_for
from tapmark.app.state.prompts import Prompt
from tapmark.marks.edits import remove_tap
from tapmark.marks.people import Athlete
from tapmark.marks.points import STANDARD
from tapmark.store.consent import give
from tapmark.store.squad import make_squad
from tests.app.driving import SAMPLES, Asked, Driver
from tests.app.made import put_marked_run
from tests.clip import made

UNTIMED = 2 | 4 | 32  # do not wait; window and idle events; timers (saving, smoothing) come later
PAUSE_MS = 250
LARGE, PLAYED_S = (1920, 1080), 2.0
PLACE = ("frames", "touchdown", "")
AIMS = {"cached step": 1.5, "tap with redraw": 2.0, "cross-hair": 2.0, "hover with magnifier": 2.0}
AIMS["played frame"] = 2.0


def main(n_events: int = 500) -> None:
    """Print the table."""
    root = tk.Tk()
    with tempfile.TemporaryDirectory() as folder:
        context = open_marked(root, Path(folder))
        app = Driver(root, context, Asked())
        app.pump(
            lambda: (
                context.state.marking.gallery and context.state.marking.gallery.pictures.is_done
            ),
            "the clip",
        )
        times = measured(app, n_events)
        times["played frame"], rates = playback(app, Path(folder))
        rates |= both_played(app)
        app.close()
    report(times)
    for when, rate in rates.items():
        print(f"shown frames a second, {when}: {rate:.1f} of 30 due (aim ≥ 24)")


def open_marked(root: tk.Tk, folder: Path) -> Context:
    """Return the context of a window on a marked run."""
    truth = json.loads((SAMPLES / "P02" / "truth.json").read_text("utf-8"))
    squad = make_squad(folder / "squad", "Bench")
    squad.save_athlete(give(Athlete("P02", 1998), "film", "B", "2026-05-01", "2026-12-31"))
    name = put_marked_run(squad.folder, truth)
    environment = {"HOME": str(folder), "XDG_CACHE_HOME": str(folder / "cache")}
    context = assemble(root, environment, "linux", lambda: datetime(2026, 5, 14), Asked())
    root.geometry("1366x700+0+0")
    begin(context, squad.folder)
    from tapmark.app.shell.runs import open_run

    context.attempt(lambda: open_run(context, "P02", "2026-05-14", name, PLACE))
    return context


def measured(app: Driver, n: int) -> dict[str, list[float]]:
    """Return seconds by kind of event, the bare swap first."""
    app.go("frames")
    pane = app.bench.pane
    app.keyboard_on(pane.canvas)
    app.press("Home", *["Key-Right"] * 12)  # so that every picture is cut already
    times = {"bare swap": bare_swap(app, pane.size, n // 2)}
    times["cached step"] = [
        timed(app, lambda i=i: press(pane.canvas, "Left" if i // 10 % 2 else "Right"))  # type: ignore[misc]
        for i in range(n)
    ]
    app.go("taps")
    app.press("Key-1")
    app.pump(
        lambda: app.state.marking.gallery.has_full(app.state.marking.picture), "the full picture"
    )
    canvas = app.bench.pane.canvas
    times["cross-hair"] = [
        timed(app, lambda i=i: press(canvas, "Left" if i % 2 else "Right"))  # type: ignore[misc]
        for i in range(n)
    ]
    times["hover with magnifier"] = [
        timed(app, lambda i=i: canvas.event_generate("<Motion>", x=300 + i % 90, y=200 + i % 50))  # type: ignore[misc]
        for i in range(n)
    ]
    times["tap with redraw"] = taps(app, n)
    times["bare swap"] += bare_swap(app, pane.size, n - n // 2)  # half before, half after all
    return times


def playback(app: Driver, folder: Path) -> tuple[list[float], dict[str, float]]:
    """Return what each shown frame cost the window, s, and how many were shown in a second."""
    clip, n = folder / "1080p.mp4", 200
    pictures = [made.draw(i, LARGE, walker=i / n) for i in range(n)]
    made.write_clip(clip, pictures, made.steady(n, 240, 90_000), 90_000)
    app.go("film")
    app.context.perform("another pass")
    app.context.ask.ready.append(clip)
    app.context.perform("open clip")
    app.wait_for_clip()
    app.go("frames")
    app.keyboard_on(app.bench.pane.canvas)
    app.press("Home")
    rest(app)
    costs, show = list[float](), app.bench.player._show  # noqa: SLF001
    app.bench.player._show = lambda due: costs.append(timed(app, lambda: show(due)))  # noqa: SLF001
    rates = {}
    for when in ("first time", "again"):
        app.press("Home")
        before, start = app.bench.player.n_shown, perf_counter()
        app.press("space")
        app.pump(lambda start=start: perf_counter() - start > PLAYED_S, "playing")  # type: ignore[misc]
        rates[when] = (app.bench.player.n_shown - before) / (perf_counter() - start)
        app.press("space")
    return costs, rates


def both_played(app: Driver) -> dict[str, float]:
    """Return how many frames of two runs of the large clip were shown together in a second."""
    from tapmark.app.shell.comparing import choose_other
    from tapmark.app.shell.runs import open_run

    state = app.state
    squad, at = state.squad, (state.visit.code, state.visit.dated)
    steps = squad.load_run(*at, squad.run_names(*at)[0]).steps
    run = replace(state.run, steps=steps, set_up=replace(state.run.set_up, slow_factor=1.0))
    names = [squad.new_run(*at, run) for _ in range(2)]
    open_run(app.context, *at, names[1])
    app.wait_for_clip()
    app.context.go("review")
    app.context.perform("compare")
    choose_other(app.context, (*at, names[0]))
    app.pump(lambda: state.compare.gallery and state.compare.gallery.pictures.is_done, "run 1")
    app.keyboard_on(app.bench.pane.canvas)
    rates = {}
    for when in ("two runs, first time", "two runs, again"):
        app.press("Key-1")
        rest(app)
        before, start = app.bench.player.n_shown, perf_counter()
        app.press("space")
        app.pump(lambda start=start: perf_counter() - start > PLAYED_S, "playing")  # type: ignore[misc]
        rates[when] = (app.bench.player.n_shown - before) / (perf_counter() - start)
        app.press("space")
    pair, view, n = app.view.gallery(state), state.viewport(), len(state.the_pictures)
    print(f"size of the halves while two runs play: 1/{pair.shrink}")
    for shrink in (1, 2):
        costs, pair.shrink = list[float](), shrink
        for i in range(0, n, 5):
            cut, start = pair.later(i, view, state.tone), thread_time()
            cut()
            costs.append(1e3 * (thread_time() - start))
        middle = statistics.median(costs)
        print(f"CPU of both halves at 1/{shrink}: {middle:.1f} ms, {1e3 / middle:.0f} a second")
    return rates


def taps(app: Driver, n: int) -> list[float]:
    """Time a click that places a tap, saved to the disk each time; undo is not timed."""
    canvas, found = app.bench.pane.canvas, list[float]()
    app.press("Key-1")
    whole, points = app.state.run, STANDARD["touchdown"]
    for i in range(n):
        open_ones = points[i % 6], points[(i + 1) % 6]  # two, so that the picture stays
        less = whole
        for point in open_ones:
            less = remove_tap(less, 0, "touchdown", point)
        app.state.record(f"bench {i}", less)
        ask_for(app.state, Prompt("touchdown", open_ones[0]))
        app.pump()
        at = {"x": 320 + i % 40, "y": 180 + i % 60}
        canvas.event_generate("<Motion>", **at)
        rest(app)

        def click(at: dict[str, int] = at) -> None:
            canvas.event_generate("<ButtonPress-1>", **at)
            canvas.event_generate("<ButtonRelease-1>", **at)

        found.append(timed(app, click))
        assert len(app.state.step.key_frame("touchdown").taps) == 5, "the tap was placed"
    return found


def rest(app: Driver) -> None:
    """Let the hand pause, so that what was put off is done and not in the way."""
    rested: list[bool] = []
    app.root.after(PAUSE_MS, lambda: rested.append(True))
    app.pump(
        lambda: rested and app.bench.pane.is_at_rest and app.context.painter.is_idle, "a pause"
    )


def press(widget: tk.Misc, key: str) -> None:
    """Press a key."""
    widget.event_generate(f"<Key-{key}>")


def bare_swap(app: Driver, size: tuple[int, int], n: int) -> list[float]:
    """Time putting one of two pictures of that size on an otherwise empty canvas."""
    top = tk.Toplevel(app.root)
    canvas = tk.Canvas(top, width=size[0], height=size[1], highlightthickness=0)
    canvas.pack()
    images = [Image.effect_noise(size, 60).convert("RGB") for _ in range(2)]
    photo = ImageTk.PhotoImage(images[0], master=canvas)
    canvas.create_image(0, 0, anchor="nw", image=photo)
    app.pump()
    found = [timed(app, lambda i=i: photo.paste(images[i % 2])) for i in range(n)]  # type: ignore[misc]
    top.destroy()
    app.pump()
    return found


def timed(app: Driver, event: Callable[[], object]) -> float:
    """Return the seconds until an event is painted: queue empty, server has answered."""
    start = perf_counter()
    event()
    while app.root.tk.dooneevent(UNTIMED):
        pass
    app.root.winfo_pointerx()
    return perf_counter() - start


def report(times: dict[str, list[float]]) -> None:
    """Print median, 95th percentile and the ratio of medians to the bare swap."""
    bare = statistics.median(times["bare swap"])
    print(f"{'event':24}{'median ms':>10}{'p95 ms':>9}{'ratio':>8}{'aim':>7}")
    for kind, found in times.items():
        middle, late = statistics.median(found), statistics.quantiles(found, n=20)[-1]
        aim = f"≤ {AIMS[kind]:g}" if kind in AIMS else ""
        print(f"{kind:24}{middle * 1e3:10.2f}{late * 1e3:9.2f}{middle / bare:8.2f}{aim:>7}")


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:2]))
