"""Tapping, changing one's mind, and coming back: on the real store, without a screen."""

from pathlib import Path

import pytest

from tapmark.app.desk import Desk
from tapmark.app.mark_deeds import drag, nearest_tap, tap_at
from tapmark.app.prompting import Prompt, asked
from tapmark.marks.run import Tap
from tests.app.made import PICTURES, desk_with_run, reopened, show_drawn


@pytest.fixture
def desk(tmp_path: Path, squad_folder: Path) -> Desk:
    return desk_with_run(tmp_path, squad_folder)


def test_a_restart_after_each_tap_resumes_at_the_same_prompt(desk: Desk, tmp_path: Path) -> None:
    """Power lost in any frame, open again at the same click."""
    for i in range(32):
        tap_at(desk, (100.5 + i, 200.5))
        prompt, run = desk.state.prompt, desk.state.run
        desk.held.close()  # the lid is closed, the power goes
        desk = reopened(tmp_path)
        show_drawn(desk, is_new=False)
        assert (prompt, run) == (desk.state.prompt, desk.state.run)
        assert desk.state.page == "taps"
    assert prompt is None


def test_a_jump_back_is_where_the_next_start_resumes(desk: Desk, tmp_path: Path) -> None:
    for _ in range(9):
        tap_at(desk, (50.0, 50.0))
    desk.perform("last point")
    desk.perform("last point")
    place = desk.state.prompt
    desk.held.close()
    assert place == reopened(tmp_path).state.prompt


def test_each_tap_is_on_the_disk_before_the_next_prompt(desk: Desk) -> None:
    tap_at(desk, (640.25, 360.75))
    squad, visit = desk.state.squad, desk.state.visit
    on_disk = squad.load_run(visit.code, visit.dated, desk.state.run_name)
    assert on_disk.steps[0].key_frame("touchdown").at("shoulder") == (640.25, 360.75)


def test_the_key_frame_advances_with_its_last_point(desk: Desk) -> None:
    for _ in range(6):
        tap_at(desk, (9.0, 9.0))
    assert ("mid-stance", PICTURES["mid-stance"]) == (desk.state.event, desk.state.picture)


def test_a_tap_outside_says_so_and_asks_again(desk: Desk) -> None:
    before = desk.state.run
    assert not desk.attempt(lambda: tap_at(desk, (1281.0, 5.0)))
    assert "shoulder" in desk.state.trouble and "1280 × 720" in desk.state.trouble
    assert (before, "shoulder") == (desk.state.run, desk.state.prompt.point)
    desk.attempt(lambda: tap_at(desk, (5.0, 5.0)))
    assert desk.state.trouble == ""


def test_guess_marks_the_next_tap_and_is_over_after_it(desk: Desk) -> None:
    desk.perform("guess")
    tap_at(desk, (5.0, 5.0))
    tap_at(desk, (6.0, 6.0))
    taps = desk.state.step.key_frame("touchdown").taps
    assert [tap.certainty for tap in taps] == ["guess", "sure"]


def test_guess_changes_a_tap_that_is_there_and_back(desk: Desk) -> None:
    tap_at(desk, (5.0, 5.0))
    desk.perform("last point")
    desk.perform("guess")
    assert desk.state.step.key_frame("touchdown").tap("shoulder").certainty == "guess"
    desk.perform("guess")
    assert desk.state.step.key_frame("touchdown").tap("shoulder").certainty == "sure"


def test_hidden_and_behind_answer_without_a_place(desk: Desk) -> None:
    desk.perform("hidden")
    desk.perform("behind")
    assert "far knee" in desk.state.said, "behind is refused for the elbow, in words"
    for _ in range(4):
        tap_at(desk, (5.0, 5.0))
    desk.perform("behind")
    frame = desk.state.step.key_frame("touchdown")
    assert Tap("shoulder", None, "hidden") == frame.tap("shoulder")
    assert Tap("far knee", None, "behind") == frame.tap("far knee")


def test_undo_takes_every_kind_of_deed_back_and_redo_brings_it_again(desk: Desk) -> None:
    start = desk.state.run
    deeds = [
        lambda: tap_at(desk, (5.0, 5.0)),
        lambda: desk.perform("hidden"),
        lambda: desk.perform("blurred"),
        lambda: desk.perform("last point"),
        lambda: desk.perform("remove tap"),
        lambda: desk.perform("another step"),
        lambda: desk.perform("drop step"),
    ]
    seen = [start]
    for deed in deeds:
        deed()
        if desk.state.run != seen[-1]:
            seen.append(desk.state.run)
    assert len(seen) == 7, "every deed but going back changes the run"
    for run in reversed(seen[:-1]):
        desk.perform("undo")
        assert run == desk.state.run
    assert start == desk.state.run
    for run in seen[1:]:
        desk.perform("redo")
        assert run == desk.state.run


def test_undo_shows_the_key_frame_that_changes(desk: Desk) -> None:
    tap_at(desk, (5.0, 5.0))
    desk.state.go_to("toe-off")
    desk.perform("undo")
    assert ("touchdown", Prompt("touchdown", "shoulder")) == (desk.state.event, desk.state.prompt)
    assert PICTURES["touchdown"] == desk.state.picture


def test_undo_is_saved_too(desk: Desk) -> None:
    tap_at(desk, (5.0, 5.0))
    desk.perform("undo")
    visit = desk.state.visit
    on_disk = desk.state.squad.load_run(visit.code, visit.dated, desk.state.run_name)
    assert on_disk.steps[0].key_frame("touchdown").taps == ()


def test_a_drag_is_one_step_to_undo(desk: Desk) -> None:
    tap_at(desk, (100.0, 100.0))
    held = nearest_tap(desk.state, (104.0, 103.0), 8.0)
    assert Prompt("touchdown", "shoulder") == held
    for x in (110.0, 120.0, 130.0):
        drag(desk, held, (x, 100.0))
    assert desk.state.step.key_frame("touchdown").at("shoulder") == (130.0, 100.0)
    desk.perform("undo")
    assert desk.state.step.key_frame("touchdown").at("shoulder") == (100.0, 100.0)


def test_a_grab_too_far_away_is_none(desk: Desk) -> None:
    tap_at(desk, (100.0, 100.0))
    assert nearest_tap(desk.state, (112.0, 100.0), 8.0) is None


def test_arrows_nudge_a_tap_and_otherwise_move_the_cross_hair(desk: Desk) -> None:
    tap_at(desk, (100.5, 100.5))
    desk.perform("last point")
    desk.perform("aim right")
    desk.perform("aim down far")
    assert desk.state.step.key_frame("touchdown").at("shoulder") == (101.5, 110.5)
    desk.perform("next point")
    assert desk.state.prompt.point == "elbow"
    desk.perform("aim left")
    assert desk.state.step.key_frame("touchdown").tap("elbow") is None
    desk.perform("tap")
    assert desk.state.step.key_frame("touchdown").at("elbow") == (100.5, 110.5)


def test_the_cross_hair_stays_on_the_picture(desk: Desk) -> None:
    for _ in range(200):
        desk.perform("aim left far")
        desk.perform("aim up far")
    assert desk.state.aim == (0.0, 0.0)


def test_a_later_touchdown_drops_its_taps_says_so_and_asks_again(desk: Desk) -> None:
    for _ in range(8):
        tap_at(desk, (5.0, 5.0))
    desk.go("frames")
    desk.state.picture = PICTURES["touchdown"] + 1
    desk.perform("key frame 1")
    assert "6 taps" in desk.state.said
    desk.go("taps")
    desk.perform("key frame 1")
    assert Prompt("touchdown", "shoulder") == desk.state.prompt
    assert len(desk.state.step.key_frame("mid-stance").taps) == 2
    desk.perform("undo")
    assert len(desk.state.step.key_frame("touchdown").taps) == 6


def test_contact_only_asks_thirteen_and_keeps_what_was_tapped(desk: Desk) -> None:
    from tapmark.app.mark_deeds import choose_tap_set

    for _ in range(6):
        tap_at(desk, (5.0, 5.0))
    choose_tap_set(desk, "contact only")
    assert len(asked(desk.state.run, 0)) == 13
    assert desk.state.prompt.event == "opposite touchdown"
    choose_tap_set(desk, "standard")
    assert len(desk.state.step.key_frame("touchdown").taps) == 6


def test_nothing_is_lost_when_the_disk_refuses(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    from tapmark.errors import CannotWrite

    def refuse(run: object, patience_s: float) -> None:
        raise CannotWrite("“run-1.json” cannot be written: the disk is full.")

    with monkeypatch.context() as patched:
        patched.setattr(desk.held, "save", refuse)
        desk.attempt(lambda: tap_at(desk, (5.0, 5.0)))
        assert "disk is full" in desk.state.trouble
        assert desk.state.step.key_frame("touchdown").at("shoulder") == (5.0, 5.0)
    desk.attempt(lambda: tap_at(desk, (6.0, 6.0)))
    visit = desk.state.visit
    on_disk = desk.state.squad.load_run(visit.code, visit.dated, desk.state.run_name)
    assert len(on_disk.steps[0].key_frame("touchdown").taps) == 2
