"""The rate: asked when times are no runner's, read off a stopwatch, remembered for a phone."""

from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tapmark.app.film.actions import take_reading, use_rate
from tapmark.app.film.questions import answer_of, limits
from tapmark.app.mark.taps_actions import tap_at
from tapmark.app.shell.context import Context
from tapmark.app.shell.rates import answer_rate, offer_words, rate_choices, rate_words
from tapmark.app.shell.run_lock import let_go
from tapmark.app.shell.squads import choose_athlete, use_squad
from tapmark.app.shell.stepping import check_again
from tapmark.errors import StopwatchUnusable
from tapmark.store.squad import open_squad
from tests.app.clipping import mapped
from tests.app.driving import Driver, OpenWindow
from tests.app.made import Drawn, bare_context, context_with_run
from tests.clip import made


class SavedAt30(Drawn):
    """The same 120 pictures of 240 a second, in a file that plays 30."""

    kind = "clip"

    def time_s(self, i: int) -> float | None:
        return i / 30

    def interval_s(self, i: int) -> float | None:
        return 1 / 30

    def rate_hz(self) -> float | None:
        return 30.0


def context_at(tmp_path: Path, squad_folder: Path, factor: float | None) -> Context:
    """Return a context whose run has its key frames on a file of 30, at a stated factor."""
    context = context_with_run(tmp_path, squad_folder)
    pictures: Any = SavedAt30()
    context.state.marking.gallery.pictures = pictures
    tap_at(context, (300.0, 200.0))
    run = context.state.run
    frames = tuple(
        replace(frame, time_s=frame.picture / 30, interval_s=1 / 30)
        for frame in run.steps[0].key_frames
    )
    step = replace(run.steps[0], key_frames=frames)
    set_up = replace(run.set_up, slow_factor=factor)
    context.state.record("times", replace(run, steps=(step,), set_up=set_up))
    check_again(context)
    return context


def test_times_that_no_runner_makes_are_asked_about_and_the_fix_is_one_key(
    tmp_path: Path, squad_folder: Path
) -> None:
    context = context_at(tmp_path, squad_folder, 1.0)
    (check,) = (check for check in context.state.review.checks if check.name == "time")
    assert "Filmed at 240, saved at 30?" in check.words
    assert offer_words(context.state) == "Filmed at 240"

    context.perform("take rate")
    check_again(context)

    assert context.state.run.set_up.slow_factor == 8.0
    assert [check for check in context.state.review.checks if check.name == "time"] == []
    assert offer_words(context.state) == ""
    context.perform("undo")
    assert context.state.run.set_up.slow_factor == 1.0


@pytest.mark.parametrize("factor", [8.0, None])
def test_usual_times_and_an_unknown_rate_are_not_asked_about(
    tmp_path: Path, squad_folder: Path, factor: float | None
) -> None:
    context = context_at(tmp_path, squad_folder, factor)

    assert [check for check in context.state.review.checks if check.name == "time"] == []
    context.perform("take rate")
    assert context.state.status == "No other rate would explain the times."
    assert context.state.run.set_up.slow_factor == factor


def test_what_a_menu_calls_240_is_eight_times_29_97(tmp_path: Path, squad_folder: Path) -> None:
    context = context_at(tmp_path, squad_folder, None)
    context.state.marking.gallery.pictures.rate_hz = lambda: 29.97  # type: ignore[method-assign]
    answer_rate(context, "240")

    assert context.state.run.set_up.slow_factor == 8.0
    answer_rate(context, "234")
    assert context.state.run.set_up.slow_factor == pytest.approx(234 / 29.97)


def test_two_readings_give_the_rate_and_the_squad_remembers_the_phone(
    tmp_path: Path, squad_folder: Path
) -> None:
    """119 gaps of 1/30 s on the file's clock while the watch goes on by 4.98 s."""
    context = context_at(tmp_path, squad_folder, None)
    context.go("film")
    context.perform("stopwatch")
    context.state.marking.picture = 0
    take_reading(context.state, "1:07,42")
    context.state.marking.picture = 119
    take_reading(context.state, "1:12.40")
    use_rate(context, "  the black   phone ")

    factor = (119 / 30) / 4.98
    assert context.state.run.set_up.slow_factor == pytest.approx(factor)
    (phone,) = open_squad(squad_folder).choices.phones
    assert (phone.name, phone.dated) == ("the black phone", "2026-05-14")
    assert phone.rate_hz == pytest.approx(30 * factor, abs=0.001)
    assert rate_words(context.state) == f"{30 * factor:.1f} the black phone"
    assert context.state.film.stopwatch is None

    answer_rate(context, "not known")
    answer_rate(context, rate_choices(context.state)[2])
    assert context.state.run.set_up.slow_factor == pytest.approx(factor, abs=1e-4)
    assert context.state.run.set_up.rate_source == "stopwatch, the black phone"


@pytest.mark.parametrize(
    ("readings", "words"),
    [
        (("3.41", "3.40"), "It must go on by 2 s or more"),
        (("x", ""), "“x” is no reading"),
        (("0", "500"), "no phone films"),
    ],
)
def test_readings_that_cannot_be_are_told_and_change_nothing(
    readings: tuple[str, str], words: str, tmp_path: Path, squad_folder: Path
) -> None:
    context = context_at(tmp_path, squad_folder, None)
    before = context.state.run
    context.state.marking.picture = 0
    with pytest.raises(StopwatchUnusable, match=words):
        for picture, text in zip((0, 119), readings, strict=True):
            context.state.marking.picture = picture
            take_reading(context.state, text)
    with suppress(StopwatchUnusable):
        use_rate(context, "phone")

    assert before == context.state.run
    assert open_squad(squad_folder).choices.phones == ()


def test_stills_have_no_stopwatch_to_read(tmp_path: Path, squad_folder: Path) -> None:
    context = context_with_run(tmp_path, squad_folder)
    context.go("film")
    context.perform("stopwatch")

    assert context.state.film.stopwatch is None
    assert context.state.status == "A stopwatch is read off a clip."


@pytest.fixture
def filming(open_app: OpenWindow, squad_folder: Path, tmp_path: Path) -> Driver:
    """The Film page with 72 pictures of 30 a second, said nowhere how fast they were filmed."""
    path = made.write_steady(tmp_path / "watch.mp4", range(72), rate=30)
    driver = open_app(squad_folder)
    driver.keyboard_on(driver.view.list)
    driver.press("Control-Key-n")
    driver.asked.ready.append(path)
    driver.context.perform("open clip")
    driver.wait_for_clip()
    return driver


def seen_texts(app: Driver) -> list[str]:
    """Return the words of every label on the screen."""
    return [str(w.cget("text")) for w in mapped(app.root) if w.winfo_class() == "TLabel"]


def test_a_coach_reads_a_stopwatch_in_the_window(filming: Driver, squad_folder: Path) -> None:
    app, panel = filming, filming.view.stopwatch
    assert app.state.run.set_up.slow_factor is None
    assert answer_of(app.state, "rate") == "", "that it plays 30 is no answer"
    assert "The file plays 30 and does not say." in seen_texts(app)
    app.ask_more()
    app.click(app.button("stopwatch"))
    assert panel.frame.winfo_ismapped() and not app.view.more.frame.winfo_ismapped()
    app.write(panel.shown, "2.5")
    app.click(panel.take)
    assert "Frame 1 shows 2.50 s." in panel.taken.cget("text")
    app.keyboard_on(app.bench.pane.canvas)
    app.press("Key-End")
    app.write(panel.shown, "4.0")
    app.click(panel.take)
    assert "It must go on by 2 s" in panel.trouble.cget("text")
    app.write(panel.shown, "0")
    panel.shown.delete(0, "end")
    app.write(panel.shown, "4.8667")
    app.click(panel.take)
    assert panel.trouble.cget("text") == ""
    assert "Filmed at 30.0 ± 0.2 frames per second" in panel.taken.cget("text")
    app.write(panel.phone, "black")
    app.click(panel.use)

    assert [phone.name for phone in open_squad(squad_folder).choices.phones] == ["black"]
    assert app.view.more.rate.get() == "30.0 black"
    app.click(app.view.back)
    note = app.view.five.asked["rate"].note
    assert (note.cget("text"), str(note.cget("style"))) == (
        "Times and angles cannot be judged.",
        "Bold.TLabel",
    )
    assert "About 30 frames per second: below 60 nothing is judged." in limits(app.state)
    assert app.state.run.set_up.slow_factor == pytest.approx(1.0, abs=0.001)


def test_escape_leaves_the_stopwatch(filming: Driver) -> None:
    filming.keyboard_on(filming.bench.pane.canvas)
    filming.press("w")
    assert filming.state.film.stopwatch is not None
    filming.keyboard_on(filming.bench.pane.canvas)
    filming.press("Escape")

    assert filming.state.film.stopwatch is None
    assert filming.view.five.frame.winfo_ismapped()


def test_a_phone_of_the_squad_is_offered_at_the_next_start(
    tmp_path: Path, squad_folder: Path
) -> None:
    context = context_at(tmp_path, squad_folder, None)
    for picture, shown in ((0, "0"), (119, "5")):
        context.state.marking.picture = picture
        take_reading(context.state, shown)
    use_rate(context, "black")
    let_go(context)
    again = bare_context(tmp_path)
    use_squad(again, squad_folder)
    choose_athlete(again, "P02")

    assert "23.8 black" in rate_choices(again.state)
