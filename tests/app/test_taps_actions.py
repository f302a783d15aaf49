"""Tapping, changing one's mind, and coming back: on the real store, without a screen."""

from pathlib import Path

import pytest

from tapmark.app.mark.taps_actions import drag, nearest_tap, tap_at
from tapmark.app.shell.context import Context
from tapmark.app.state.prompts import Prompt, asked
from tapmark.marks.run import Tap
from tests.app.made import PICTURES, context_with_run, reopened, show_drawn


@pytest.fixture
def context(tmp_path: Path, squad_folder: Path) -> Context:
    return context_with_run(tmp_path, squad_folder)


def test_a_restart_after_each_tap_resumes_at_the_same_prompt(
    context: Context, tmp_path: Path
) -> None:
    """Power lost in any frame, open again at the same click."""
    for i in range(32):
        tap_at(context, (100.5 + i, 200.5))
        prompt, run = context.state.marking.prompt, context.state.run
        context.saver.held.close()  # the lid is closed, the power goes
        context = reopened(tmp_path)
        show_drawn(context, is_new=False)
        assert (prompt, run) == (context.state.marking.prompt, context.state.run)
        assert context.state.page == "taps"
    assert prompt is None


def test_a_jump_back_is_where_the_next_start_resumes(context: Context, tmp_path: Path) -> None:
    for _ in range(9):
        tap_at(context, (50.0, 50.0))
    context.perform("last point")
    context.perform("last point")
    place = context.state.marking.prompt
    context.saver.held.close()
    assert place == reopened(tmp_path).state.marking.prompt


def test_each_tap_is_on_the_disk_before_the_next_prompt(context: Context) -> None:
    tap_at(context, (640.25, 360.75))
    squad, visit = context.state.squad, context.state.visit
    on_disk = squad.load_run(visit.code, visit.dated, context.state.run_name)
    assert on_disk.steps[0].key_frame("touchdown").at("shoulder") == (640.25, 360.75)


def test_the_key_frame_advances_with_its_last_point(context: Context) -> None:
    for _ in range(6):
        tap_at(context, (9.0, 9.0))
    assert ("mid-stance", PICTURES["mid-stance"]) == (
        context.state.marking.event,
        context.state.marking.picture,
    )


def test_a_tap_outside_says_so_and_asks_again(context: Context) -> None:
    before = context.state.run
    assert not context.attempt(lambda: tap_at(context, (1281.0, 5.0)))
    assert "shoulder" in context.state.error and "1280 × 720" in context.state.error
    assert (before, "shoulder") == (context.state.run, context.state.marking.prompt.point)
    context.attempt(lambda: tap_at(context, (5.0, 5.0)))
    assert context.state.error == ""


def test_guess_marks_the_next_tap_and_is_over_after_it(context: Context) -> None:
    context.perform("guess")
    tap_at(context, (5.0, 5.0))
    tap_at(context, (6.0, 6.0))
    taps = context.state.step.key_frame("touchdown").taps
    assert [tap.certainty for tap in taps] == ["guess", "sure"]


def test_guess_changes_a_tap_that_is_there_and_back(context: Context) -> None:
    tap_at(context, (5.0, 5.0))
    context.perform("last point")
    context.perform("guess")
    assert context.state.step.key_frame("touchdown").tap("shoulder").certainty == "guess"
    context.perform("guess")
    assert context.state.step.key_frame("touchdown").tap("shoulder").certainty == "sure"


def test_hidden_and_behind_answer_without_a_place(context: Context) -> None:
    context.perform("hidden")
    context.perform("behind")
    assert "far knee" in context.state.status, "behind is refused for the elbow, in words"
    for _ in range(4):
        tap_at(context, (5.0, 5.0))
    context.perform("behind")
    frame = context.state.step.key_frame("touchdown")
    assert Tap("shoulder", None, "hidden") == frame.tap("shoulder")
    assert Tap("far knee", None, "behind") == frame.tap("far knee")


def test_undo_takes_every_kind_of_deed_back_and_redo_brings_it_again(context: Context) -> None:
    start = context.state.run
    actions = [
        lambda: tap_at(context, (5.0, 5.0)),
        lambda: context.perform("hidden"),
        lambda: context.perform("blurred"),
        lambda: context.perform("last point"),
        lambda: context.perform("remove tap"),
        lambda: context.perform("another step"),
        lambda: context.perform("drop step"),
    ]
    seen = [start]
    for action in actions:
        action()
        if context.state.run != seen[-1]:
            seen.append(context.state.run)
    assert len(seen) == 7, "every action but going back changes the run"
    for run in reversed(seen[:-1]):
        context.perform("undo")
        assert run == context.state.run
    assert start == context.state.run
    for run in seen[1:]:
        context.perform("redo")
        assert run == context.state.run


def test_undo_shows_the_key_frame_that_changes(context: Context) -> None:
    tap_at(context, (5.0, 5.0))
    context.state.go_to("toe-off")
    context.perform("undo")
    assert ("touchdown", Prompt("touchdown", "shoulder")) == (
        context.state.marking.event,
        context.state.marking.prompt,
    )
    assert PICTURES["touchdown"] == context.state.marking.picture


def test_undo_is_saved_too(context: Context) -> None:
    tap_at(context, (5.0, 5.0))
    context.perform("undo")
    visit = context.state.visit
    on_disk = context.state.squad.load_run(visit.code, visit.dated, context.state.run_name)
    assert on_disk.steps[0].key_frame("touchdown").taps == ()


def test_a_drag_is_one_step_to_undo(context: Context) -> None:
    tap_at(context, (100.0, 100.0))
    held = nearest_tap(context.state, (104.0, 103.0), 8.0)
    assert Prompt("touchdown", "shoulder") == held
    for x in (110.0, 120.0, 130.0):
        drag(context, held, (x, 100.0))
    assert context.state.step.key_frame("touchdown").at("shoulder") == (130.0, 100.0)
    context.perform("undo")
    assert context.state.step.key_frame("touchdown").at("shoulder") == (100.0, 100.0)


def test_a_grab_too_far_away_is_none(context: Context) -> None:
    tap_at(context, (100.0, 100.0))
    assert nearest_tap(context.state, (112.0, 100.0), 8.0) is None


def test_arrows_nudge_a_tap_and_otherwise_move_the_cross_hair(context: Context) -> None:
    tap_at(context, (100.5, 100.5))
    context.perform("last point")
    context.perform("aim right")
    context.perform("aim down far")
    assert context.state.step.key_frame("touchdown").at("shoulder") == (101.5, 110.5)
    context.perform("next point")
    assert context.state.marking.prompt.point == "elbow"
    context.perform("aim left")
    assert context.state.step.key_frame("touchdown").tap("elbow") is None
    context.perform("tap")
    assert context.state.step.key_frame("touchdown").at("elbow") == (100.5, 110.5)


def test_the_cross_hair_stays_on_the_picture(context: Context) -> None:
    for _ in range(200):
        context.perform("aim left far")
        context.perform("aim up far")
    assert context.state.marking.aim == (0.0, 0.0)


def test_a_later_touchdown_drops_its_taps_says_so_and_asks_again(context: Context) -> None:
    for _ in range(8):
        tap_at(context, (5.0, 5.0))
    context.go("frames")
    context.state.marking.picture = PICTURES["touchdown"] + 1
    before = context.state.run
    context.perform("key frame 1")
    assert "6 taps" in context.state.status and context.state.run == before, "it asks first"
    context.perform("leave")
    context.perform("key frame 2")
    context.perform("leave")
    assert context.state.run == before
    context.perform("key frame 1")
    context.perform("key frame 1")
    assert "6 taps" in context.state.status
    context.go("taps")
    context.perform("key frame 1")
    assert Prompt("touchdown", "shoulder") == context.state.marking.prompt
    assert len(context.state.step.key_frame("mid-stance").taps) == 2
    context.perform("undo")
    assert len(context.state.step.key_frame("touchdown").taps) == 6


def test_contact_only_asks_thirteen_and_keeps_what_was_tapped(context: Context) -> None:
    from tapmark.app.mark.taps_actions import choose_tap_set

    for _ in range(6):
        tap_at(context, (5.0, 5.0))
    choose_tap_set(context.state, "contact only")
    assert len(asked(context.state.run, 0)) == 13
    assert context.state.marking.prompt.event == "opposite touchdown"
    choose_tap_set(context.state, "standard")
    assert len(context.state.step.key_frame("touchdown").taps) == 6


def test_nothing_is_lost_when_the_disk_refuses(
    context: Context, monkeypatch: pytest.MonkeyPatch
) -> None:
    from tapmark.errors import CannotWrite

    def refuse(run: object, patience_s: float) -> None:
        raise CannotWrite("“run-1.json” cannot be written: the disk is full.")

    with monkeypatch.context() as patched:
        patched.setattr(context.saver.held, "save", refuse)
        context.attempt(lambda: tap_at(context, (5.0, 5.0)))
        assert "disk is full" in context.state.error
        assert context.state.step.key_frame("touchdown").at("shoulder") == (5.0, 5.0)
    context.attempt(lambda: tap_at(context, (6.0, 6.0)))
    visit = context.state.visit
    on_disk = context.state.squad.load_run(visit.code, visit.dated, context.state.run_name)
    assert len(on_disk.steps[0].key_frame("touchdown").taps) == 2
