"""Own lines, angles, notes and paths with real events: drawn, dragged, named, undone, deleted."""

import shutil
import threading
from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import product
from pathlib import Path
from typing import Any

import av
import pytest

from tapmark.app.review import drawing_actions
from tapmark.app.shell.runs import open_run
from tapmark.app.shell.squads import use_squad
from tapmark.app.shell.view_actions import fit
from tapmark.app.state.measure_lines import lines_of
from tapmark.errors import CannotWrite
from tapmark.report.drawing.shapes import Label
from tapmark.report.pages import film
from tapmark.services.film import _ask as ask_consent
from tapmark.store.consent import withdraw
from tapmark.store.pictures import way_to
from tapmark.store.squad import open_squad
from tests.app.driving import SAMPLES, Driver, OpenWindow, same_again
from tests.store.made import consenting

DAY = "2026-05-14"


@pytest.fixture
def app(
    open_app: OpenWindow, marked_squad: Callable[[], Path], monkeypatch: pytest.MonkeyPatch
) -> Driver:
    """The window on the marked run of P02, the drawing page in front at touchdown."""
    monkeypatch.setattr("tapmark.app.review.view.keep", lambda context: None)
    driver = open_app(marked_squad())
    open_run(driver.context, "P02", DAY, "run-1")
    driver.wait_for_clip()
    driver.go("review")
    driver.press("Key-b", "Key-1")
    driver.pump(lambda: driver.state.page == "drawing", "the drawing page")
    driver.keyboard_on(driver.bench.pane.canvas)
    return driver


def test_the_pointer_over_the_drawing_page_without_a_run_does_nothing(app: Driver) -> None:
    app.context.attempt(lambda: use_squad(app.context, app.state.folder))
    app.context.go("drawing")
    app.pump()
    canvas(app).event_generate("<Motion>", x=152, y=256)  # an error in a callback fails the test
    app.pump()
    assert app.state.run is None and str(canvas(app).cget("cursor")) == ""


def test_a_press_ends_on_the_page_it_began_on(app: Driver) -> None:
    pages = ("review", "drawing", "taps", "frames", "film")
    for first, then in product(pages, repeat=2):
        app.context.go(first)
        fit(app.context)
        app.pump()
        run = app.state.run
        canvas(app).event_generate("<ButtonPress-1>", x=330, y=210)
        canvas(app).event_generate("<B1-Motion>", x=360, y=240)
        app.context.go(then)
        app.pump()
        canvas(app).event_generate("<B1-Motion>", x=380, y=250)
        canvas(app).event_generate("<ButtonRelease-1>", x=380, y=250)  # what raises fails the test
        app.pump()
        assert first == then or app.state.run == run, (first, then)


def canvas(app: Driver) -> Any:
    return app.bench.pane.canvas


def at(app: Driver, place: tuple[float, float]) -> tuple[int, int]:
    """Return where a place of the frame lies on the canvas, whose edge is 2 px wide."""
    x, y = app.state.viewport().to_canvas(place)
    return round(x + 2), round(y + 2)


def tap(app: Driver, place: tuple[float, float]) -> None:
    app.click(canvas(app), *at(app, place))


def drag(
    app: Driver, start: tuple[float, float], end: tuple[float, float], *, shift: bool = False
) -> None:
    (x0, y0), (x1, y1) = at(app, start), at(app, end)
    held = {"state": 0x0101 if shift else 0x0100}
    canvas(app).event_generate("<ButtonPress-1>", x=x0, y=y0)
    for i in range(1, 5):
        x, y = x0 + (x1 - x0) * i // 4, y0 + (y1 - y0) * i // 4
        canvas(app).event_generate("<B1-Motion>", x=x, y=y, **held)
    canvas(app).event_generate("<ButtonRelease-1>", x=x1, y=y1, **held)
    app.pump()


def joint(app: Driver, point: str) -> tuple[float, float]:
    return app.state.step.key_frame("touchdown").at(point)


def marks(app: Driver) -> tuple[Any, ...]:
    return app.state.run.free_marks


def on_disk(app: Driver) -> Any:
    return app.state.squad.load_run("P02", DAY, "run-1")


def draw_line(app: Driver) -> None:
    app.press("Key-l")
    tap(app, joint(app, "near knee"))
    tap(app, joint(app, "near ankle"))


def test_two_presses_are_a_line_that_is_on_the_disk_with_its_values_beside(app: Driver) -> None:
    draw_line(app)

    (line,) = marks(app)
    assert line.kind == "line" and line.picture == app.state.marking.picture
    for pressed, point in zip(line.at_px, ("near knee", "near ankle"), strict=True):
        assert pressed == pytest.approx(joint(app, point), abs=1.0)
    assert on_disk(app).free_marks == (line,)
    rows = [app.view.table.item(i, "text").strip() for i in app.view.table.get_children()]
    assert rows[:3] == ["line", "from the vertical", "from the horizontal"]
    values = [app.view.table.set(i, "value") for i in app.view.table.get_children()]
    assert "±" in values[1] and values[1].endswith("°")
    assert app.state.review.drawing.tool == ""


def test_what_the_taps_measure_at_a_key_frame_stands_there_too_and_is_shown(app: Driver) -> None:
    """Between two key frames there is no value, and the list says so."""
    app.pump(lambda: app.state.review.reading, "the reading")
    app.pump(lambda: app.view.table.exists("measured"), "the measures")
    table, listed = app.view.table, app.view.table.get_children
    told = {table.item(i, "text").strip(): table.set(i, "value") for i in listed()}
    line = next(line for line in lines_of(app.state.review.reading) if line.key == "reach")
    assert told["Shin angle (reach)"] == line.printed
    assert "Thigh at toe-off" not in told, "measured at another key frame"

    reach = next(i for i in listed() if table.item(i, "text").strip() == "Shin angle (reach)")
    table.selection_set(reach)
    app.pump()
    shapes = app.view.overlay(app.state, app.bench.pane.view)
    assert line.short in {shape.text for shape in shapes if isinstance(shape, Label)}
    assert app.state.status.startswith(f"{line.name}: {line.printed}.")

    wide = [each.winfo_width() for each in (app.view.name, *app.view.tools.values())]
    app.keyboard_on(app.bench.pane.canvas)
    app.press("Right")
    app.pump(lambda: not table.exists("measured"), "another frame")
    now = [each.winfo_width() for each in (app.view.name, *app.view.tools.values())]
    assert now == wide, "the list's bar moves nothing but the list"
    assert [table.item(i, "text") for i in listed()] == ["no values between key frames"]


def test_three_presses_are_an_angle_and_a_press_with_words_is_a_note(app: Driver) -> None:
    app.press("Key-v")
    for point in ("near knee", "hip", "near ankle"):
        tap(app, joint(app, point))
    app.press("Key-n")
    tap(app, joint(app, "elbow"))
    app.write(app.view.name, "late")
    app.press("Return")

    angle, note = marks(app)
    assert (angle.kind, len(angle.at_px)) == ("angle", 3)
    assert (note.kind, note.words) == ("note", "late")
    assert on_disk(app).free_marks == (angle, note)


def test_a_note_without_words_is_told_and_nothing_is_kept(app: Driver) -> None:
    app.press("Key-n")
    tap(app, joint(app, "elbow"))
    app.press("Return")

    assert marks(app) == () and "no words" in app.state.error
    app.press("Escape")
    assert app.state.review.drawing.tool == "" and app.state.page == "drawing"


def test_an_end_is_dragged_and_one_undo_puts_it_back(app: Driver) -> None:
    draw_line(app)
    before = marks(app)[0]
    knee, ankle = before.at_px

    drag(app, ankle, (ankle[0] + 60, ankle[1] - 30))
    (moved,) = marks(app)
    assert moved.at_px[0] == knee
    assert moved.at_px[1] == pytest.approx((ankle[0] + 60, ankle[1] - 30), abs=1.5)
    app.press("Control-Key-z")
    assert marks(app) == (before,)
    app.press("Control-Key-z")
    assert marks(app) == ()


def test_shift_keeps_a_line_upright_or_level(app: Driver) -> None:
    draw_line(app)
    knee, ankle = marks(app)[0].at_px

    drag(app, ankle, (knee[0] + 12, knee[1] + 90), shift=True)
    assert marks(app)[0].at_px[1][0] == knee[0]
    drag(app, marks(app)[0].at_px[1], (knee[0] + 90, knee[1] + 12), shift=True)
    assert marks(app)[0].at_px[1][1] == knee[1]


def test_a_line_is_moved_as_a_whole_by_its_middle(app: Driver) -> None:
    draw_line(app)
    (x0, y0), (x1, y1) = marks(app)[0].at_px
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)

    drag(app, middle, (middle[0] - 50, middle[1] + 20))

    for (x, y), (u, v) in zip(marks(app)[0].at_px, ((x0, y0), (x1, y1)), strict=True):
        assert (x - u, y - v) == pytest.approx((-50, 20), abs=1.5)


def test_delete_takes_the_chosen_mark_away_and_names_can_be_changed(app: Driver) -> None:
    draw_line(app)
    app.write(app.view.name, "shin")
    app.press("Return")
    assert marks(app)[0].words == "shin"

    app.keyboard_on(canvas(app))
    app.press("Delete")
    assert marks(app) == ()
    app.press("Delete")
    assert "Click a line" in app.state.error


def test_a_path_moves_on_and_waits_where_the_point_goes_on_as_before(app: Driver) -> None:
    start = app.state.marking.picture
    app.press("Key-f")
    x, y = joint(app, "hip")
    for i in range(3):
        assert app.state.marking.picture == start + 4 * i
        tap(app, (x - 30 * i, y + 4 * i))

    path = app.state.run.path("hip")
    assert [place.picture for place in path.places] == [start, start + 4, start + 8]
    assert all(place.time_s is not None for place in path.places)
    (xa, ya), (xb, yb) = path.places[-2].at_px, path.places[-1].at_px
    assert app.state.marking.aim == pytest.approx((2 * xb - xa, 2 * yb - ya))
    app.press("Return")
    assert app.state.run.path("hip").at(start + 12) == pytest.approx((2 * xb - xa, 2 * yb - ya))
    app.press("Left", "Left", "Left", "Left", "Delete")
    assert app.state.run.path("hip").at(start + 12) is None
    app.press("Control-Key-z")
    assert on_disk(app).path("hip") == app.state.run.path("hip")
    assert len(app.state.run.path("hip").places) == 4


def test_another_point_and_another_pace_can_be_followed(app: Driver) -> None:
    start = app.state.marking.picture
    app.choose(app.view.point, "near ankle")
    app.choose(app.view.by, "1")
    app.press("Key-f")
    tap(app, joint(app, "near ankle"))

    assert app.state.marking.picture == start + 1
    assert [path.point for path in app.state.run.paths] == ["near ankle"]


def test_marks_are_seen_on_their_own_frame_only_and_a_line_in_the_list_goes_there(
    app: Driver,
) -> None:
    draw_line(app)
    picture = app.state.marking.picture
    state, view = app.state, app.view

    def drawn() -> int:
        return len(view.in_motion(state, state.viewport(), state.marking.picture))

    assert drawn() > 0
    app.press("Right")
    assert drawn() == 0
    app.view.table.selection_set("m 0")
    app.pump(lambda: app.state.marking.picture == picture, "the frame of the line")


@pytest.fixture
def made_film(
    worked_out: dict[str, dict[Any, Any]], monkeypatch: pytest.MonkeyPatch
) -> threading.Event:
    """One short film of each kind stands for those of all tests that ask what becomes of it.

    Consent is asked before, as ever. While the event is not set, the film is not done.
    """
    monkeypatch.setattr(film, "HELD", 3)  # how long it stands is held by tests of the film
    monkeypatch.setattr(film, "CUE_HELD", 3)
    monkeypatch.setattr(film, "SLOWED", 2.0)
    made = same_again(drawing_actions.make_film, lambda *asked: asked[2], worked_out["film"])
    is_done = threading.Event()
    is_done.set()

    def make(places: Any, today: Any, kind: str, progress: Any) -> Any:
        ask_consent(places, kind, today)
        found = made(places, today, kind, progress)
        progress.report(1, 2)
        assert is_done.wait(60)
        return replace(found, places=places)

    monkeypatch.setattr(drawing_actions, "make_film", make)
    return is_done


def test_the_film_button_writes_a_film_that_plays(
    app: Driver, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(film, "HELD", 3)
    monkeypatch.setattr(film, "SLOWED", 4.0)
    app.click(app.button("film"))
    app.pump(lambda: app.opened, "the film")

    (path,) = app.opened
    assert path.name == f"P02-step-film-{DAY}.mp4" and path.parent == app.state.squad.visit_folder(
        "P02", DAY
    )
    with av.open(str(path)) as read:
        assert read.streams.video[0].frames > 100


def test_a_film_that_is_stopped_leaves_nothing(app: Driver) -> None:
    app.press("Key-m")
    app.pump(lambda: "Making the film" in app.state.status, "the first frames")
    app.press("Escape")
    app.pump(lambda: not app.context.jobs.is_busy("film"), "the end")

    assert not list(app.state.squad.folder.rglob("*film*"))
    assert app.state.page == "drawing"


@pytest.mark.usefixtures("made_film")
def test_a_film_with_photos_is_shown_first_and_written_when_every_face_is_covered(
    app: Driver,
) -> None:
    squad, folder = app.state.squad, app.state.squad.visit_folder("P02", DAY)
    squad.save_athlete(replace(consenting("P02"), birth_year=1998))
    app.press("Shift-Key-M")
    assert app.opened == [] and not list(folder.glob("photo-*"))

    app.context.perform("film photo")
    app.pump(lambda: app.opened, "the film to look through")
    (shown,) = app.opened
    assert shown.exists() and folder not in shown.parents
    assert not list(folder.glob("photo-*")), "nothing is written before the look"
    app.press("Shift-Key-M")

    assert (folder / f"photo-P02-step-film-{DAY}.mp4").is_file()
    assert not shown.exists()


def test_a_film_with_photos_of_a_minor_is_refused_in_words(app: Driver) -> None:
    squad = app.state.squad
    squad.save_athlete(replace(consenting("P02"), birth_year=2012))

    app.context.perform("film photo")
    app.pump(lambda: app.state.error, "the reason")

    assert "under 18" in app.state.error and app.opened == []


def grown_up(app: Driver) -> Any:
    """Give P02 every consent of a grown-up and return the squad."""
    squad = app.state.squad
    squad.save_athlete(replace(consenting("P02"), birth_year=1998))
    return squad


def film_files(app: Driver) -> list[Path]:
    return [*app.state.squad.folder.rglob("*film*.mp4")]


def withdraw_elsewhere(app: Driver, use: str) -> None:
    """Withdraw a consent on the disk, as another window or computer does."""
    other = open_squad(app.state.squad.folder)
    other.save_athlete(withdraw(other.athlete("P02"), use, "K", DAY))


@pytest.mark.parametrize("use", ["film", "print photo"])
def test_a_consent_withdrawn_while_a_film_is_made_keeps_it_from_the_look(
    app: Driver, made_film: threading.Event, use: str
) -> None:
    grown_up(app)
    made_film.clear()
    app.context.perform("film photo")
    app.pump(lambda: "Making the film" in app.state.status, "the first frames")
    withdraw_elsewhere(app, use)
    made_film.set()
    app.pump(lambda: not app.context.jobs.is_busy("film"), "the end")

    assert app.opened == [] and film_files(app) == []
    assert "withdrawn" in app.state.error and app.state.review.to_look is None


@pytest.mark.usefixtures("made_film")
def test_a_consent_withdrawn_during_the_look_keeps_the_film_from_being_written(app: Driver) -> None:
    grown_up(app)
    app.context.perform("film photo")
    app.pump(lambda: app.opened, "the film to look through")
    (shown,) = app.opened
    withdraw_elsewhere(app, "print photo")
    app.press("Shift-Key-M")

    assert film_files(app) == [] and not shown.exists()
    assert "withdrawn" in app.state.error
    app.press("Shift-Key-M")
    assert film_files(app) == [], "the film is gone for good"


def test_a_consent_withdrawn_while_a_drawn_film_is_made_keeps_it_from_being_written(
    app: Driver, made_film: threading.Event
) -> None:
    made_film.clear()
    app.press("Key-m")
    app.pump(lambda: "Making the film" in app.state.status, "the first frames")
    withdraw_elsewhere(app, "film")
    made_film.set()
    app.pump(lambda: not app.context.jobs.is_busy("film"), "the end")

    assert app.opened == [] and film_files(app) == []
    assert "withdrawn" in app.state.error


def test_a_film_with_photos_of_a_clip_that_is_gone_is_told(app: Driver, tmp_path: Path) -> None:
    squad = grown_up(app)
    clip = tmp_path / "moved" / "clip.mp4"
    clip.parent.mkdir()
    shutil.copy(SAMPLES / "P02" / "clip.mp4", clip)
    path = way_to(clip, squad.run_path("P02", DAY, "run-1"))
    app.state.record(
        "moved", replace(app.state.run, source=replace(app.state.run.source, path=path))
    )
    open_run(app.context, "P02", DAY, "run-1")
    app.wait_for_clip()
    clip.unlink()
    app.context.go("review")
    app.press("Key-b", "Key-1")
    app.context.perform("film photo")
    app.pump(lambda: app.state.error, "the reason")

    assert "clip" in app.state.error
    assert app.opened == [] and film_files(app) == []
    app.keyboard_on(canvas(app))
    draw_line(app)
    assert len(on_disk(app).free_marks) == 1, "what was read before can still be drawn on"


@pytest.mark.usefixtures("made_film")
@pytest.mark.parametrize("way", ["another film", "another run", "the window closes"])
def test_a_film_with_photos_that_nobody_judged_leaves_no_file(app: Driver, way: str) -> None:
    grown_up(app)
    app.context.perform("film photo")
    app.pump(lambda: app.opened, "the film to look through")
    (shown,) = app.opened
    if way == "another film":
        app.press("Key-m")
    elif way == "another run":
        open_run(app.context, "P02", DAY, "run-1")
    else:
        app.context.perform("close")
    assert not shown.exists() and not shown.parent.exists()
    app.context.jobs.cancel("film")


@pytest.mark.usefixtures("made_film")
def test_a_full_disk_keeps_the_film_that_was_looked_through_and_takes_it_later(
    app: Driver, monkeypatch: pytest.MonkeyPatch
) -> None:
    grown_up(app)
    app.context.perform("film photo")
    app.pump(lambda: app.opened, "the film to look through")

    def full(*args: object, **kwargs: object) -> Path:
        raise CannotWrite("The film cannot be written: the disk is full. Make room, then again.")

    with monkeypatch.context() as broken:
        broken.setattr("tapmark.services.film.write_out", full)
        app.press("Shift-Key-M")
    assert "disk is full" in app.state.error and film_files(app) == []
    app.press("Shift-Key-M")
    assert [path.name for path in film_files(app)] == [f"photo-P02-step-film-{DAY}.mp4"]
    assert app.state.error == ""


def test_a_full_disk_leaves_no_half_film_and_the_page_goes_on(
    app: Driver, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*args: object, **kwargs: object) -> Iterator[None]:
        yield
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("tapmark.clip.film_file.imageio_ffmpeg.write_frames", broken)
    before = sorted(app.state.squad.folder.rglob("*"))
    app.press("Key-m")
    app.pump(lambda: app.state.error, "the reason")

    assert "disk is full" in app.state.error and app.opened == []
    assert sorted(app.state.squad.folder.rglob("*")) == before
    assert app.state.page == "drawing"


def test_a_line_that_the_disk_refuses_stays_in_the_window_and_is_saved_later(
    app: Driver, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*args: object, **kwargs: object) -> None:
        raise CannotWrite("“run-1.json” cannot be written: the disk is full.")

    with monkeypatch.context() as broken:
        broken.setattr("tapmark.store.open_run.OpenRun.save", full)
        draw_line(app)
        assert len(marks(app)) == 1 and on_disk(app).free_marks == ()
        assert "disk is full" in app.state.error
    app.pump(lambda: len(on_disk(app).free_marks) == 1, "the line on the disk")
    app.pump(lambda: not app.state.error, "no trouble any more")


def test_escape_leads_back_to_review(app: Driver) -> None:
    app.press("Key-l", "Escape", "Escape")

    assert app.state.page == "review"
