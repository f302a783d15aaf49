"""Every action that changes a run or a visit can be taken back, whatever it is."""

from pathlib import Path

import pytest

from tapmark.app.actions import TABLE
from tapmark.app.mark.frames_actions import see
from tapmark.app.mark.taps_actions import choose_tap_set, tap_at
from tapmark.app.shell.context import Context
from tapmark.app.shell.stepping import LIMB_KEYS
from tests.app.made import PICTURES, context_with_run

WORK_PAGES = {"film", "frames", "taps", "review"}
APART = {"close", "undo", "redo", "make sheet", "another pass"}
"""Ends the window, undoes itself, or begins a file of its own."""


def half_marked(tmp_path: Path, squad_folder: Path) -> Context:
    """Return a context with all there is: taps, marks, two steps, a pole and a scale."""
    context = context_with_run(tmp_path, squad_folder)
    for _ in range(8):
        tap_at(context, (300.0, 200.0))
    context.go("frames")
    for key in range(len(LIMB_KEYS)):
        context.perform(
            f"plateau {['lead thigh', 'elbow back', 'rear thigh', 'hand forward'][key]}"
        )
    context.perform("another step")
    context.perform("next step")
    from tapmark.app.shell.rates import answer

    answer(
        context.state,
        "references",
        upright_px=((5.0, 9.0), (5.0, 1.0)),
        scale_px=((1.0, 1.0), (9.0, 1.0)),
    )
    context.state.marking.event, context.state.marking.picture = "touchdown", PICTURES["touchdown"]
    return context


NAMES = [
    (action.name, page)
    for action in TABLE
    if action.name not in APART
    for page in sorted(WORK_PAGES & set(action.pages))
]


@pytest.fixture
def context(tmp_path: Path, squad_folder: Path) -> Context:
    return half_marked(tmp_path, squad_folder)


def test_every_action_that_changes_the_work_can_be_undone_and_redone(context: Context) -> None:
    changed = set()
    for name, page in NAMES:
        context.go(page)
        context.state.marking.i_step = 0
        context.state.go_to("touchdown")
        if page != "taps":  # there the picture is always the key frame's own
            context.state.marking.picture += 2
        before = context.state.work
        context.perform(name)
        if context.state.marking.sure:  # it would take taps away, and asks first
            context.perform(name)
        after = context.state.work
        if after == before:
            continue
        changed.add(name)
        context.perform("undo")
        assert context.state.work == before, (name, page)
        context.perform("redo")
        assert context.state.work == after, (name, page)
        context.perform("undo")
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
    assert wanted <= changed, wanted - changed


def test_answers_and_sets_of_points_are_undone_too(tmp_path: Path, squad_folder: Path) -> None:
    context = context_with_run(tmp_path, squad_folder)
    for action in (
        lambda: choose_tap_set(context.state, "deep look"),
        lambda: see(context.state, "form holds", "clearly"),
    ):
        before = context.state.work
        action()
        assert context.state.work != before
        context.perform("undo")
        assert context.state.work == before


def test_a_second_step_is_chosen_and_tapped_beside_the_first(
    tmp_path: Path, squad_folder: Path
) -> None:
    context = context_with_run(tmp_path, squad_folder)
    while context.state.marking.prompt:
        tap_at(context, (300.0, 200.0))
    context.go("frames")
    context.perform("another step")
    for i in range(5):
        context.state.marking.picture = 60 + 10 * i
        context.perform(f"key frame {i + 1}")
    context.go("taps")
    assert (context.state.marking.i_step, context.state.marking.prompt.point) == (1, "shoulder")
    taps = 0
    while context.state.marking.prompt:
        tap_at(context, (310.0, 210.0))
        taps += 1
    assert taps == 32
    assert [sum(len(f.taps) for f in step.key_frames) for step in context.state.run.steps] == [
        32,
        32,
    ]
    context.perform("next step")
    assert context.state.marking.i_step == 0
