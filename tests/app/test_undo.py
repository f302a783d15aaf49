"""Every deed that changes a run or a visit can be taken back, whatever it is."""

from pathlib import Path

import pytest

from tapmark.app.actions import TABLE
from tapmark.app.desk import Desk
from tapmark.app.mark_deeds import choose_tap_set, tap_at
from tapmark.app.seen_deeds import see
from tapmark.app.step_deeds import LIMB_KEYS
from tests.app.made import PICTURES, desk_with_run

WORK_PAGES = {"film", "frames", "taps", "review"}
APART = {"close", "undo", "redo", "make sheet", "another pass"}
"""Ends the window, undoes itself, or begins a file of its own."""


def half_marked(tmp_path: Path, squad_folder: Path) -> Desk:
    """Return a desk with something in every place: taps, marks, two steps, a pole and a scale."""
    desk = desk_with_run(tmp_path, squad_folder)
    for _ in range(8):
        tap_at(desk, (300.0, 200.0))
    desk.go("frames")
    for key in range(len(LIMB_KEYS)):
        desk.perform(f"plateau {['lead thigh', 'elbow back', 'rear thigh', 'hand forward'][key]}")
    desk.perform("another step")
    desk.perform("next step")
    from tapmark.app.film_deeds import answer

    answer(
        desk, "references", upright_px=((5.0, 9.0), (5.0, 1.0)), scale_px=((1.0, 1.0), (9.0, 1.0))
    )
    desk.state.event, desk.state.picture = "touchdown", PICTURES["touchdown"]
    return desk


NAMES = [
    (action.name, page)
    for action in TABLE
    if action.name not in APART
    for page in sorted(WORK_PAGES & set(action.pages))
]


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Desk:
    from tapmark.marks.people import Athlete
    from tapmark.store.gates import give
    from tapmark.store.squad import make_squad

    home = tmp_path_factory.mktemp("undo")
    squad = make_squad(home / "squad", "Undo")
    squad.save_athlete(give(Athlete("P02", 1998), "film", "K", "2026-05-01", "2026-12-31"))
    return half_marked(home, squad.folder)


CHANGED: set[str] = set()


@pytest.mark.parametrize(("name", "page"), NAMES)
def test_an_action_that_changes_the_work_can_be_undone_and_redone(
    desk: Desk, name: str, page: str
) -> None:
    desk.go(page)
    desk.state.i_step = 0
    desk.state.go_to("touchdown")
    if page != "taps":  # there the picture is always the key frame's own
        desk.state.picture += 2
    before = desk.state.work
    desk.perform(name)
    after = desk.state.work
    if after == before:
        return
    CHANGED.add(name)
    desk.perform("undo")
    assert desk.state.work == before
    desk.perform("redo")
    assert desk.state.work == after
    desk.perform("undo")


def test_many_kinds_of_deeds_were_really_tried() -> None:
    wanted = {
        "key frame 2",
        "unsure",
        "forget frame",
        "far toe-off",
        "plateau lead thigh",
        "forget plateaus",
        "another step",
        "drop step",
        "blurred",
        "remove tap",
        "clear pole",
        "clear scale",
    }
    assert wanted <= CHANGED, wanted - CHANGED


def test_answers_and_sets_of_points_are_undone_too(tmp_path: Path, squad_folder: Path) -> None:
    desk = desk_with_run(tmp_path, squad_folder)
    for deed in (
        lambda: choose_tap_set(desk, "deep look"),
        lambda: see(desk, "form holds", "clearly"),
    ):
        before = desk.state.work
        deed()
        assert desk.state.work != before
        desk.perform("undo")
        assert desk.state.work == before


def test_a_second_step_is_chosen_and_tapped_beside_the_first(
    tmp_path: Path, squad_folder: Path
) -> None:
    desk = desk_with_run(tmp_path, squad_folder)
    while desk.state.prompt:
        tap_at(desk, (300.0, 200.0))
    desk.go("frames")
    desk.perform("another step")
    for i in range(5):
        desk.state.picture = 60 + 10 * i
        desk.perform(f"key frame {i + 1}")
    desk.go("taps")
    assert (desk.state.i_step, desk.state.prompt.point) == (1, "shoulder")
    taps = 0
    while desk.state.prompt:
        tap_at(desk, (310.0, 210.0))
        taps += 1
    assert taps == 32
    assert [sum(len(f.taps) for f in step.key_frames) for step in desk.state.run.steps] == [32, 32]
    desk.perform("next step")
    assert desk.state.i_step == 0
