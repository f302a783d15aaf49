"""Two runs play together: one clock, the other follows by time or key frame by key frame."""

import gc
import weakref
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import ImageTk

from tapmark.app.review.compare_actions import Placing, other_picture, sights
from tapmark.app.shell.comparing import choose_other
from tapmark.app.shell.runs import open_run
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
    driver.keyboard_on(driver.view.canvases[0])
    return driver


def halves(app: Driver) -> list[Any]:
    photos = app.view._photos  # noqa: SLF001
    return [np.asarray(ImageTk.getimage(photo).convert("L"), int) for photo in photos]


def test_space_plays_both_and_holds_both(app: Driver) -> None:
    app.press("Key-1")
    before, start = halves(app), app.state.compare.picture

    app.press("space")
    app.pump(lambda: app.view.player.n_shown >= 5, "five frames")
    assert app.view.player.is_on and app.state.compare.picture != start
    for was, now in zip(before, halves(app), strict=True):
        assert was.shape == now.shape and np.abs(was - now).mean() > 0.5
    app.press("space")
    held = app.state.compare.picture
    assert not app.view.player.is_on
    app.pump()
    assert app.state.compare.picture == held


def test_a_frame_that_was_due_when_it_was_held_moves_nothing(app: Driver) -> None:
    app.press("space")
    app.pump(lambda: app.view.player.n_shown >= 2, "two frames")
    player, compared = app.view.player, app.state.compare
    app.pump(lambda: player._queue and player._queue[0].picture in player._ready, "the next one")  # noqa: SLF001
    compared.playing, compared.picture = replace(compared.playing, is_on=False), 3
    player._tick()  # noqa: SLF001 - its turn comes before the page is drawn anew

    assert compared.picture == 3 and not player.is_on


def test_a_key_frame_stops_playing_and_both_stand_there(app: Driver) -> None:
    app.press("space")
    app.pump(lambda: app.view.player.n_shown >= 2, "two frames")
    app.press("Key-3")

    assert not app.state.compare.playing.is_on and not app.view.player.is_on
    assert app.state.compare.picture == app.state.step.key_frames[2].picture


def test_the_other_run_follows_by_time_or_by_key_frame(app: Driver) -> None:
    """By time it stays 6 frames ahead; by key frame it stands at its own touchdown and toe-off."""
    first, *_, toe_off = (app.state.step.key_frames[i].picture for i in (0, 1, 2))
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
    app.pump(lambda: app.view.player.n_shown >= 2, "two frames")
    player = app.view.player

    app.press("Escape")
    app.pump(lambda: not player.is_on, "the end")

    assert app.state.page == "review"


def test_a_joint_between_key_frames_is_seen_only_where_it_was_tapped(app: Driver) -> None:
    view, state = app.view, app.state

    _, other = sights(state)
    assert other
    tapped = state.compare.run.path("hip").places[0].picture

    def over(picture: int) -> int:
        place = Placing(other.box(picture, (400, 400)), (400, 400), False)
        return len(view._over(other, picture, place))  # noqa: SLF001

    assert (over(tapped), over(tapped + 1)) == (1, 0)


def test_a_run_that_was_left_holds_no_frames_whatever_was_played_of_it(app: Driver) -> None:
    """Players, workers and pages remember whose frames they showed last; a run's take 150 MB."""
    app.press("space")
    app.pump(lambda: app.view.player.n_shown >= 3, "three pairs")
    app.press("space", "Escape")
    app.go("frames")
    app.keyboard_on(app.bench.pane.canvas)
    before = app.bench.player.n_shown
    app.press("space")
    app.pump(lambda: app.bench.player.n_shown > before + 3, "three frames")
    app.press("space")
    app.go("taps")
    app.pump(lambda: app.state.marking.gallery.has_full(app.state.marking.picture), "full size")
    app.context.settings.change(replace(app.context.settings.value, text_size=1.1))
    app.window.lay_out_again()
    app.pump()
    galleries = app.state.marking.gallery, app.state.compare.gallery
    left = [weakref.ref(gallery) for gallery in galleries]
    clips = [weakref.ref(gallery.pictures) for gallery in galleries]
    del galleries

    open_run(app.context, "P02", DAY, "run-2")
    app.wait_for_clip()
    app.pump(lambda: app.context.jobs.is_idle and app.context.painter.is_idle, "the workers")
    gc.collect()

    assert [each() for each in (*left, *clips)] == [None] * 4
