"""Two runs play together: one clock, the other follows by time or key frame by key frame."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tapmark.app.shell.comparing import choose_other
from tapmark.app.shell.runs import open_run
from tapmark.app.state.playback import AROUND
from tapmark.app.state.session import AppState
from tapmark.marks.edits import follow
from tapmark.marks.run import Place
from tests.app.driving import Driver, OpenWindow

DAY = "2026-05-14"


@pytest.fixture
def app(
    open_app: OpenWindow, marked_squad: Callable[[], Path], monkeypatch: pytest.MonkeyPatch
) -> Driver:
    """The run of P02 beside a second marking of the same clip, its touchdown 6 frames later."""
    monkeypatch.setattr("tapmark.app.review.view.keep", lambda context: None)
    driver = open_app(marked_squad())
    squad = driver.state.squad
    run = squad.load_run("P02", DAY, "run-1")
    frames = run.steps[0].key_frames
    first = frames[0]
    later = replace(first, picture=first.picture + 6, time_s=first.time_s + 6 / 240)
    run = follow(run, "hip", Place(frames[1].picture + 3, frames[1].at("hip")))
    squad.new_run(
        "P02", DAY, replace(run, steps=(replace(run.steps[0], key_frames=(later, *frames[1:])),))
    )
    open_run(driver.context, "P02", DAY, "run-1")
    driver.wait_for_clip()
    driver.context.go("review")
    driver.context.perform("compare")
    choose_other(driver.context, ("P02", DAY, "run-2"))
    driver.pump(lambda: driver.state.compare.gallery and driver.state.compare.content, "run 2")
    driver.pump(lambda: driver.state.compare.gallery.pictures.is_done, "its clip")
    driver.keyboard_on(driver.bench.pane.canvas)
    return driver


def shown(app: Driver) -> Any:
    return np.asarray(app.bench.pane._shown.image.convert("L"), int)  # noqa: SLF001


def test_space_plays_both_and_holds_both(app: Driver) -> None:
    app.press("Key-1")
    before, start, player = shown(app), app.state.marking.picture, app.bench.player
    app.state.marking.playing = replace(app.state.marking.playing, loops=True)

    app.press("space")
    app.pump(lambda: player.n_shown >= 5, "five frames")
    assert player.is_on and app.state.marking.picture != start
    now, middle = shown(app), before.shape[1] // 2
    assert now.shape == before.shape
    for half in (np.s_[:, :middle], np.s_[:, middle:]):
        assert np.abs(before[half] - now[half]).mean() > 0.5
    app.press("space")
    held = app.state.marking.picture
    assert not player.is_on
    app.pump()
    assert app.state.marking.picture == held


def test_a_key_frame_stops_playing_and_both_stand_there(app: Driver) -> None:
    app.press("space")
    app.pump(lambda: app.bench.player.n_shown >= 2, "two frames")
    app.press("Key-3")

    assert not app.state.marking.playing.is_on and not app.bench.player.is_on
    assert app.state.marking.picture == app.state.step.key_frames[2].picture


def test_the_loop_of_the_step_is_switched_on_and_off_with_its_button(app: Driver) -> None:
    """Without it playing ends with the clip; with it the step comes again, on both runs."""
    loop, frames = app.bench.transport.loop, app.state.step.key_frames
    assert not app.state.marking.playing.loops
    app.click(loop)
    assert app.state.marking.playing.loops
    app.keyboard_on(app.bench.pane.canvas)
    app.state.marking.picture = last = frames[-1].picture + AROUND - 1
    app.press("space")
    app.pump(lambda: app.state.marking.picture < frames[-1].picture, "the step again")
    assert app.bench.player.is_on and last > app.state.marking.picture
    app.press("space")
    app.click(loop)
    assert not app.state.marking.playing.loops


def test_halves_that_come_too_slowly_are_cut_at_half_the_size_and_shown_as_large(
    app: Driver, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tapmark.app.review.two_runs.LEAST_HZ", 1e6)
    app.press("Key-1")
    size = shown(app).shape
    app.state.marking.playing = replace(app.state.marking.playing, loops=True)
    app.press("space")
    app.pump(lambda: app.view.gallery(app.state).shrink == 2, "half the size")
    n = app.bench.player.n_shown
    app.pump(lambda: app.bench.player.n_shown >= n + 8, "eight more")
    small = shown(app)
    assert small.shape == size
    assert (small[10:60:2, 10:60:2] == small[11:61:2, 11:61:2]).mean() > 0.9, "enlarged"


def test_the_other_run_follows_by_time_or_by_key_frame(app: Driver) -> None:
    """By time it stays 6 frames ahead; by key frame it stands at its own touchdown and toe-off."""
    first, *_, toe_off = (app.state.step.key_frames[i].picture for i in (0, 1, 2))

    def other_picture(state: AppState, picture: int) -> int:
        (half,) = (h for h in app.view.halves(state, picture) if not h.one.is_mine)
        return half.picture

    for picture in (first, first + 8, toe_off):
        assert other_picture(app.state, picture) == picture + 6

    app.press("Key-p")
    assert app.state.compare.by_phase
    assert other_picture(app.state, first) == first + 6
    assert other_picture(app.state, toe_off) == toe_off
    app.press("Key-p")
    assert not app.state.compare.by_phase


def test_leaving_the_page_ends_playing(app: Driver) -> None:
    app.press("space")
    app.pump(lambda: app.bench.player.n_shown >= 2, "two frames")

    app.press("Escape")
    app.pump(lambda: not app.bench.player.is_on, "the end")

    assert app.state.page == "review"
    assert app.state.compare.pair is None, "what was cut of both is let go"


def test_a_joint_between_key_frames_is_seen_only_where_it_was_tapped(app: Driver) -> None:
    view, state = app.view, app.state

    tapped = state.compare.run.path("hip").places[0].picture
    half = view.halves(state, state.marking.picture)[-1]
    assert half.one.run is state.compare.run

    def over(picture: int) -> int:
        return len(view.over(state, replace(half, picture=picture)))

    assert (over(tapped), over(tapped + 1)) == (1, 0)
