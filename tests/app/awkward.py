"""The window in awkward states: nothing there, too much there, refused, cut, seen from behind.

Each state is named and stands on the screen when it is yielded; `look_at` takes pictures of them
and `test_looks` reads every widget.
"""

import shutil
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from tapmark.marks.people import Athlete
from tapmark.marks.run import Run, Step, Tap
from tapmark.store.consent import give, withdraw
from tapmark.store.squad import Squad, make_squad, open_squad
from tests.app.driving import SAMPLES, Driver
from tests.app.made import put_marked_run
from tests.app.seasons import with_season
from tests.store.made import consenting

TODAY = "2026-05-14"
GROUPS = ("400 and 800 m hurdles", "sprint", "middle distance, 800 to 1500 m", "")
NOTE = "jumps off the left; comes by bus and may be late; two pairs of spikes, the older one narrow"


def full_squad(folder: Path, truth: dict[str, Any]) -> Squad:
    """A squad of 25: long codes, seasons, people who may not be filmed, one marked clip."""
    squad = make_squad(folder, "Thursday evening group of the long-named athletics club")
    first = date(2025, 10, 3)
    days = tuple((first + timedelta(weeks=4 * i)).isoformat() for i in range(7))
    with_season(squad, "K07", days)
    with_season(squad, "MID-800-JM2")
    squad.save_athlete(
        replace(squad.athlete("K07"), group=GROUPS[0], notes=NOTE, goal_race="2026-05-20")
    )
    p02 = Athlete("P02", 1998, GROUPS[2])
    for use in ("film", "keep stills"):
        p02 = give(p02, use, "K. M.", "2026-05-01", "2026-12-31")
    squad.save_athlete(p02)
    put_marked_run(folder, truth)
    for i in range(18):
        squad.save_athlete(replace(consenting(f"T{i:02}-SP-MID"), group=GROUPS[i % 4]))
    squad.save_athlete(Athlete("N1", 2011, "sprint"))
    squad.save_athlete(give(Athlete("N2"), "film", "K", "2025-01-01", "2025-12-31"))
    squad.save_athlete(withdraw(consenting("N3"), "film", "parent", "2026-05-10"))
    return squad


def states(app: Driver, place: Path, squad: Squad) -> Iterator[str]:
    """Yield the name of each state once it stands. The window has the squad open."""
    for part in (_squad(app), _aside(app, place), _work(app), _work_from_behind(app)):
        for name in part:
            app.pump()
            yield name


def _to_squad(app: Driver) -> None:
    while app.state.page != "squad" or app.state.around.squad.form:
        app.press("Escape")
        if app.state.page not in ("proposal", "season", "group", "naming", "compare"):
            app.context.go("squad")
            app.pump()
    app.keyboard_on(app.view.list)


def _choose(app: Driver, code: str) -> None:
    _to_squad(app)
    app.pick(code)


FORMS = (
    ("Control-Key-e", "change"),
    ("Control-Shift-Key-C", "consent"),
    ("Control-Key-comma", "squad"),
)


def _squad(app: Driver) -> Iterator[str]:
    for code in ("K07", "N3", "T00-SP-MID"):
        _choose(app, code)
        yield f"squad-{code}"
    app.write(app.view.find, "zz")
    yield "squad-nobody-found"
    app.press("BackSpace", "BackSpace")
    _choose(app, "K07")
    app.press("Control-Shift-Key-A")
    app.write(app.view.form.fields["code"], "Nonesuch")
    app.press("Return")
    yield "form-athlete-refused"
    app.press("Escape")
    for key, name in FORMS:
        _choose(app, "K07")
        app.press(key)
        yield f"form-{name}"


def _aside(app: Driver, place: Path) -> Iterator[str]:
    _choose(app, "K07")
    app.press("Control-Key-t")
    app.pump(lambda: app.state.around.season.shown, "the season")
    yield "season"
    app.press("l")
    yield "season-sides"
    app.press("t")
    app.write(app.view.ticks.field, "7.4 e, 9.4 x")
    app.press("Return")
    yield "season-box-refused"
    app.view.ticks.field.delete(0, "end")  # or nothing else may be done before it is mended
    app.keyboard_on(app.view.list)
    app.press("b")
    app.pump(lambda: app.state.compare.content, "side by side")
    yield "beside-two-dates"
    _to_squad(app)
    app.press("Control-Key-g")
    app.pump(lambda: app.state.around.group.content, "the group")
    yield "group"
    _to_squad(app)
    yield from _proposals(app, place)
    yield from _naming(app, place)


def _proposals(app: Driver, place: Path) -> Iterator[str]:
    (place / "list.csv").write_text(
        f"code,born,event,leg,notes\nZ1,2010,{GROUPS[0]},86,{NOTE}\nK07,2010,,,\nZ2,19,,,\n",
        "utf-8",
    )
    shutil.copytree(app.state.folder, place / "other")
    theirs = open_squad(place / "other")
    theirs.save_athlete(replace(theirs.athlete("K07"), notes="theirs"))
    theirs.save_athlete(consenting("NEW-ONE"))
    squad = app.state.squad
    squad.save_choices(replace(squad.choices, season_ends="2026-04-30", backed_up="2026-04-01"))
    app.asked.ready += [place / "list.csv", place / "other"]
    names = ("import list", "merge", "delete athlete", "export", "ask for the season")
    for name in (*names, "check squad"):
        if name == "check squad":
            (squad.athlete_folder("T03-SP-MID") / "athlete.json").write_text("{", "utf-8")
        app.context.perform(name)
        app.pump(lambda: app.state.page == "proposal" or app.state.error, name)
        yield name.replace(" ", "-")
        _choose(app, "K07")


def _naming(app: Driver, place: Path) -> Iterator[str]:
    (clips := place / "phone").mkdir()
    for name in ("VID_20260514_184502_slow_motion_240.MP4", "VID_20260514_184611.MP4"):
        shutil.copyfile(SAMPLES / "P02" / "clip.mp4", clips / name)
        with (clips / name).open("ab") as file:
            file.write(name.encode())
    (clips / "VID_20260514_184700.MP4").write_text("no clip", "utf-8")
    app.asked.ready.append(clips)
    app.press("Control-Key-k")
    app.pump(lambda: app.state.page == "naming" and app.state.around.naming.glances, "the naming")
    yield "naming"
    app.write(app.view.code, "ZZ9")
    app.press("Return")
    yield "naming-refused"
    app.view.code.delete(0, "end")
    app.press("Down", "Down")
    last = app.state.around.naming.shots.shots[-1].fingerprint
    app.pump(lambda: last in app.state.around.naming.glances, "the file that is no clip")
    yield "naming-no-clip"


def _work(app: Driver) -> Iterator[str]:
    _choose(app, "P02")
    app.press("Return")
    app.wait_for_clip()
    marked = app.state.run
    app.go("film")
    yield "film"
    app.press("w")
    yield "film-stopwatch"
    app.press("Escape")
    app.go("frames")
    app.keyboard_on(app.bench.pane.canvas)
    app.press("q", "Right", "Right", "q", "e", "Right", "e", "u")
    app.press("End", "Key-1", "Key-1")
    yield "frames-order-refused"
    app.state.record("nothing", replace(marked, steps=(Step(),)))
    app.press("Home")
    yield "frames-nothing-chosen"
    app.state.record("marked", marked)
    yield from _taps(app, marked)
    yield from _read(app, marked)


def _taps(app: Driver, marked: Run) -> Iterator[str]:
    app.state.record("hidden", with_taps(marked, lambda tap: Tap(tap.point, None, "hidden")))
    app.go("taps")
    app.press("Key-1", "Tab")
    yield "taps-all-hidden"
    app.state.record("swapped", swapped(marked))
    app.press("Key-2")
    app.pump(
        lambda: app.state.marking.gallery.has_full(app.state.marking.picture), "the full picture"
    )
    yield "taps-swapped-knees"
    app.state.record("deep", replace(marked, tap_set="deep look"))
    app.state.settle()
    app.press("plus", "plus", "Right", "Shift-Key-Right")
    yield "taps-deep-zoomed"
    app.state.record("marked", marked)
    app.press("0")


def _read(app: Driver, marked: Run) -> Iterator[str]:
    app.go("review")
    app.pump(lambda: app.state.review.reading, "the reading")
    app.keyboard_on(app.bench.pane.canvas)
    app.press("Down", "Down", "Down")
    yield "review"
    for key, name in (("w", "why"), ("n", "measures"), ("h", "signs")):
        app.press(key)
        yield f"review-{name}"
        app.press("Escape")
    app.press("s")
    yield "second-look"
    app.press("Escape")
    app.state.record("hidden", with_taps(marked, lambda tap: Tap(tap.point, None, "hidden")))
    app.go("review")
    yield "review-all-hidden"
    app.state.record("swapped", swapped(marked))
    yield "review-swapped-knees"
    pain = replace(marked, set_up=replace(marked.set_up, pain="yes"))
    app.state.record("pain", pain)
    app.go("sheet")
    app.pump(lambda: app.state.sheet.pages, "the page")
    yield "sheet-pain"
    app.context.perform("still picture")
    yield "sheet-photo-refused"
    app.state.record("marked", marked)
    app.press("F1")
    yield "help"
    app.press("F1")


def _work_from_behind(app: Driver) -> Iterator[str]:
    app.go("film")
    app.choose(app.ask_more().view, "rear")
    app.go("frames")
    yield "frames-from-behind"
    app.press("Key-1", *["Key-Right"] * 4, "Key-2")
    app.go("taps")
    yield "taps-from-behind"
    app.go("review")
    yield "review-from-behind"


def with_taps(run: Run, changed: Any) -> Run:
    """Return a run with every tap of its first step changed."""
    step = run.steps[0]
    frames = tuple(replace(f, taps=tuple(map(changed, f.taps))) for f in step.key_frames)
    return replace(run, steps=(replace(step, key_frames=frames),))


def swapped(run: Run) -> Run:
    """Return a run whose knees are swapped at mid-stance."""
    other = {"near knee": "far knee", "far knee": "near knee"}
    step = run.steps[0]
    frames = tuple(
        replace(f, taps=tuple(replace(t, point=other.get(t.point, t.point)) for t in f.taps))
        if f.event == "mid-stance"
        else f
        for f in step.key_frames
    )
    return replace(run, steps=(replace(step, key_frames=frames),))
