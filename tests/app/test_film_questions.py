"""The five questions of Film: open until answered, carried over by nobody, answered by any hand."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tapmark.app.film.questions import FIVE, answer_of, cost_words, limits, open_questions
from tapmark.app.shell.squads import choose_athlete
from tapmark.marks.people import Athlete
from tapmark.marks.run import QUESTIONS
from tapmark.measures.compute import measure_run
from tapmark.measures.result import Measured
from tapmark.store.consent import give, withdraw
from tapmark.store.squad import open_squad
from tests.app.clipping import clipped, mapped
from tests.app.driving import SAMPLES, Driver, OpenWindow
from tests.clip import made

DAY = "2026-05-14"
CLIP = SAMPLES / "P02" / "clip.mp4"


@pytest.fixture
def app(open_app: OpenWindow, squad_folder: Path) -> Driver:
    """Film of the first athlete of a new squad, with a clip that says how fast it was filmed."""
    squad = open_squad(squad_folder)
    other = give(Athlete("P03", 1997), "film", "K. M.", "2026-05-01", "2026-12-31")
    squad.add_athlete(other)
    driver = open_app(squad_folder)
    bring_in(driver, "P02", CLIP)
    return driver


def bring_in(app: Driver, code: str, clip: Path) -> None:
    app.context.go("squad")
    app.context.attempt(lambda: choose_athlete(app.context, code))
    app.pump()
    app.context.perform("new visit")
    app.pump(lambda: app.state.page == "film", "Film")
    app.asked.ready.append(clip)
    app.press("Control-Key-o")
    app.wait_for_clip()


def answers(app: Driver) -> dict[str, str]:
    return {each.field: answer_of(app.state, each.field) for each in FIVE}


def shows_open(app: Driver, field: str) -> bool:
    """Say whether a question looks unanswered: words, no chosen button, the dashed frame."""
    asked = app.view.five.asked[field]
    chosen = [button for button in asked.buttons.values() if button.instate(["selected"])]
    edge = asked._edge  # noqa: SLF001 - what is painted
    dashed = any(edge.itemcget(i, "dash") for i in edge.find_all())
    found = {"not answered" in asked.state.cget("text"), not chosen, dashed}
    assert len(found) == 1, f"{field} looks half answered"
    return found.pop()


def test_nothing_is_answered_but_what_the_file_says(app: Driver) -> None:
    assert answers(app) == {**dict.fromkeys(QUESTIONS, ""), "rate": "240"}
    assert [field for field in QUESTIONS if not shows_open(app, field)] == ["rate"]
    assert app.bench.column.count.cget("text") == "1 of 5"
    assert str(app.bench.column.onward.cget("state")) != "disabled", "it works at any time"
    assert app.view.hint() == "Direction is open: nothing is judged."


def test_each_answer_is_one_click_and_an_undo_takes_it_back(app: Driver) -> None:
    for question in FIVE:
        for value in question.choices:
            if value == "other":
                continue
            app.answer(question.field, value)
            assert answers(app)[question.field] == value
            assert not shows_open(app, question.field)
    assert (cost_words(app.state), app.bench.column.count.cget("text")) == ("", "5 of 5")
    app.answer("pain", "no")
    before = app.state.run.set_up
    app.answer("camera", "hand-held")
    app.press("Control-Key-z")
    assert app.state.run.set_up == before


def test_another_rate_is_typed_among_the_other_questions(app: Driver) -> None:
    app.answer("rate", "other")
    rate = app.view.more.rate
    app.pump(lambda: app.root.focus_get() is rate, "the field")
    for letter in "480":
        rate.event_generate("<Key>", keysym=letter)
    app.press("Return")
    app.press("Escape")
    assert answers(app)["rate"] == "other"
    assert "480, as answered." in [str(w.cget("text")) for w in labels(app)]


def labels(app: Driver) -> list[Any]:
    return [w for w in mapped(app.root) if w.winfo_class() == "TLabel"]


def test_the_keyboard_alone_answers_all_five(app: Driver) -> None:
    app.keyboard_on(app.bench.pane.canvas)
    frame = app.state.marking.picture
    reached: list[str] = []
    for _ in range(40):
        app.press("Tab")
        here = app.root.focus_get()
        for field, asked in app.view.five.asked.items():
            if here in asked.buttons.values() and field not in reached:
                reached.append(field)
                app.press("Right", "space")
    assert reached == list(QUESTIONS)
    assert open_questions(app.state) == ()
    assert answers(app)["context"] == "race pace", "the second one, by the arrow"
    assert app.state.marking.picture == frame, "and no frame was changed"


def test_what_was_answered_last_is_shown_for_the_next_athlete_and_taken_by_one_key(
    app: Driver,
) -> None:
    for field, value in (("direction", "right to left"), ("camera", "panned"), ("pain", "no")):
        app.answer(field, value)
    app.write(app.ask_more().entries["camera_distance_m"], "12")
    bring_in(app, "P03", CLIP)
    assert answers(app) == {**dict.fromkeys(QUESTIONS, ""), "rate": "240"}
    assert app.state.run.set_up.camera_distance_m is None, "nothing comes by itself"
    words = [str(w.cget("text")) for w in labels(app)]
    assert "As last time: right to left" in words
    assert "As last time: panned" in words
    app.keyboard_on(app.bench.pane.canvas)
    app.press("t")
    found = answers(app)
    assert (found["direction"], found["camera"]) == ("right to left", "panned")
    assert (found["context"], found["pain"]) == ("", ""), "never answered, and never pain"
    assert app.state.run.set_up.camera_distance_m == 12.0
    app.context.perform("as last time")
    assert app.state.status == "Nothing is left to answer as last time."
    app.press("Control-Key-z")
    assert answers(app)["direction"] == ""


def test_another_pass_keeps_the_pain_of_the_day_and_offers_the_direction(app: Driver) -> None:
    given = {"direction": "left to right", "context": "sprint", "camera": "tripod", "pain": "no"}
    for field, value in given.items():
        app.answer(field, value)
    button = app.view.pass_
    assert button.winfo_ismapped() and "Another pass" in button.cget("text")
    app.click(button)
    app.pump(lambda: app.state.run_name == "", "the next pass")
    assert answers(app) == {**given, "direction": "", "rate": ""}
    assert shows_open(app, "direction")
    assert "As last time: left to right" in [str(w.cget("text")) for w in labels(app)]
    app.keyboard_on(app.root)
    app.press("t")
    assert answers(app)["direction"] == "left to right"
    why = app.context.why_disabled("another pass")
    assert why == "Open the clip of the first pass.", "none is begun before this one has frames"


def test_an_answer_of_today_is_not_overwritten_by_last_time(app: Driver) -> None:
    app.answer("direction", "right to left")
    app.answer("context", "race pace")
    bring_in(app, "P03", CLIP)
    app.answer("direction", "left to right")
    app.keyboard_on(app.bench.pane.canvas)
    app.press("t")
    assert (answers(app)["direction"], answers(app)["context"]) == ("left to right", "race pace")


@pytest.mark.parametrize("field", ["direction", "context", "camera"])
def test_an_open_question_costs_what_the_status_line_says(
    field: str, marked_squad: Callable[[], Path]
) -> None:
    run = open_squad(marked_squad()).load_run("P02", DAY, "run-1")
    full = measure_run(run)
    left = measure_run(replace(run, set_up=replace(run.set_up, unanswered=(field,))))

    def graded(results: Any) -> set[tuple[str, str]]:
        found = results.rows.items()
        return {k for k, v in found if isinstance(v, Measured) and not v.not_graded}

    lost = {key for key, _ in graded(full) - graded(left)}
    if field == "camera":
        assert {"knee_separation", "separation_behind"} <= lost and "reach" not in lost
    else:
        assert {key for key, _ in graded(full)} == lost


def test_what_the_clip_cannot_give_is_said_before_any_tap(
    open_app: OpenWindow, squad_folder: Path, tmp_path: Path
) -> None:
    pictures = [made.draw(1, walker=(k // 2) / 30) for k in range(60)]
    path = tmp_path / "doubled.mp4"
    made.write_clip(path, pictures, made.steady(60, 60, 90_000), 90_000)
    app = open_app(squad_folder)
    bring_in(app, "P02", path)
    app.pump(lambda: app.state.marking.gallery.n_repeats, "the comparison")
    assert limits(app.state) == ("Filmed at an unknown rate: no times.", "30 of 60 frames repeat.")
    app.answer("rate", "60")
    assert limits(app.state)[0].startswith("60 frames per second: angles can be judged;")
    drawn = app.view.still(app.state, app.bench.pane.view)
    assert "30 of 60 frames repeat." in [label.text for label in drawn]
    app.answer("rate", "30")
    assert "About 30 frames per second: below 60 nothing is judged." in limits(app.state)


def test_a_background_that_moves_is_asked_about_and_answers_nothing(
    open_app: OpenWindow, squad_folder: Path, tmp_path: Path
) -> None:
    path = tmp_path / "panned.mp4"
    wide = made.draw(5, (480, 272))
    pictures = [wide.crop((4 * k, 0, 4 * k + 240, 136)) for k in range(50)]
    made.write_clip(path, pictures, made.steady(50, 30, 90_000), 90_000)
    app = open_app(squad_folder)
    bring_in(app, "P02", path)
    app.pump(lambda: app.state.marking.gallery.moves is not None, "the comparison")
    assert app.state.marking.gallery.moves is True
    assert answers(app)["camera"] == "", "asked, not assumed"
    note = app.view.five.asked["camera"].note
    assert note.cget("text") == "The background moves: did the camera?"
    assert str(note.cget("style")) == "Bold.TLabel"
    app.answer("camera", "tripod")
    assert note.cget("text") == "The background moves: did the camera?", "and it stays said"
    app.answer("camera", "panned")
    assert note.cget("text") == "No metres; left and right are not compared."


def test_consent_is_asked_before_a_clip_is_chosen(open_app: OpenWindow, squad_folder: Path) -> None:
    app = open_app(squad_folder)
    app.context.attempt(lambda: choose_athlete(app.context, "P02"))
    app.context.perform("new visit")
    app.pump(lambda: app.state.page == "film", "Film")
    squad = open_squad(squad_folder)
    old = squad.athlete("P02")
    squad.save_athlete(withdraw(old, "film", "K. M.", DAY), old)
    app.state.session.athlete = squad.athlete("P02")
    app.state.notify()
    app.pump()
    assert "withdrawn" in app.view.empty_words.cget("text")
    assert [str(o.cget("state")) for o in app.view.openers] == ["disabled"] * 3
    app.press("Control-Key-o")
    assert app.asked.boxes == [], "no file is asked for in vain"
    app.click(app.view.consent)
    assert (app.state.page, app.state.around.squad.form) == ("squad", "consent")


@pytest.mark.parametrize(
    ("size", "text"),
    [
        ("1024x568", 1.0),
        ("1366x736", 1.5),
        ("1920x1040", 1.5),
        pytest.param("1024x568", 1.5, marks=pytest.mark.long),
        pytest.param("1366x736", 1.0, marks=pytest.mark.long),
        pytest.param("1920x1040", 1.0, marks=pytest.mark.long),
    ],
)
def test_an_answer_moves_nothing_and_cuts_nothing(app: Driver, text: float, size: str) -> None:
    app.root.geometry(f"{size}+0+0")
    app.context.settings.change(replace(app.context.settings.value, text_size=text))
    app.window.lay_out_again()
    app.pump()

    def places() -> list[tuple[int, ...]]:
        five = app.view.five
        widgets = [b for asked in five.asked.values() for b in asked.buttons.values()]
        widgets += [app.button("more about film"), app.bench.column.onward, app.bench.pane.canvas]
        return [
            (w.winfo_rootx(), w.winfo_rooty(), w.winfo_width(), w.winfo_height()) for w in widgets
        ]

    before = places()
    for question in FIVE:
        app.answer(question.field, question.choices[0])
        assert places() == before, question.field
    ours = [line for line in clipped(app.view.five.frame) if "TCombobox" not in line]
    assert ours == []
    app.ask_more()
    assert clipped(app.view.more.frame) == []
