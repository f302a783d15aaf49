"""Nothing is marked on a picture that is not on the screen: the number would belong to another."""

from pathlib import Path
from typing import Any

import pytest

from tapmark.app.mark.taps_actions import drag, tap_at
from tapmark.app.shell.context import Context
from tapmark.app.state.prompts import Prompt
from tests.app.made import PICTURES, Drawn, context_with_run


class HalfRead(Drawn):
    """The same pictures, of which only some have been read so far."""

    def __init__(self, n_read: int) -> None:
        self.n_read = n_read

    def __len__(self) -> int:
        return self.n_read


@pytest.fixture
def context(tmp_path: Path, squad_folder: Path) -> Context:
    """A context at the first prompt of opposite touchdown, one shoulder tapped at touchdown."""
    context = context_with_run(tmp_path, squad_folder)
    tap_at(context, (100.5, 200.5))
    context.state.go_to("opposite touchdown")
    return context


def read_only(context: Context, n_read: int) -> HalfRead:
    assert context.state.marking.gallery
    pictures: Any = HalfRead(n_read)
    context.state.marking.gallery.pictures = pictures
    return pictures


DEEDS = ["tap", "hidden", "blurred"]


@pytest.mark.parametrize("action", DEEDS)
def test_no_mark_is_kept_for_a_picture_that_is_not_read_yet(context: Context, action: str) -> None:
    read_only(context, PICTURES["opposite touchdown"])
    context.state.marking.aim = (300.5, 300.5)
    before = context.state.run

    context.perform(action)

    assert before == context.state.run
    assert (
        f"Frame {PICTURES['opposite touchdown'] + 1}" in context.state.error + context.state.status
    )


def test_a_click_on_an_empty_pane_marks_nothing(context: Context) -> None:
    read_only(context, 1)
    before, prompt = context.state.run, context.state.marking.prompt

    assert not context.attempt(lambda: tap_at(context, (300.5, 300.5)))

    assert (before, prompt) == (context.state.run, context.state.marking.prompt)


def test_without_any_pictures_nothing_is_marked(context: Context) -> None:
    context.state.marking.gallery = None
    before = context.state.run

    assert not context.attempt(lambda: tap_at(context, (300.5, 300.5)))

    assert before == context.state.run


def test_a_tap_on_another_frame_brings_the_key_frame_back_and_marks_nothing(
    context: Context,
) -> None:
    """After playing or stepping another frame stands there: it takes no mark for this one."""
    context.state.marking.picture = PICTURES["toe-off"]
    before, prompt = context.state.run, context.state.marking.prompt

    context.attempt(lambda: tap_at(context, (300.5, 300.5)))

    assert (before, prompt) == (context.state.run, context.state.marking.prompt)
    assert context.state.marking.picture == PICTURES["opposite touchdown"]
    assert f"frame {PICTURES['opposite touchdown'] + 1}" in context.state.status


def test_a_placed_tap_is_not_dragged_on_a_picture_that_is_not_there(context: Context) -> None:
    context.state.go_to("touchdown")
    read_only(context, 1)
    before = context.state.run

    assert not context.attempt(lambda: drag(context, Prompt("touchdown", "shoulder"), (50.0, 50.0)))

    assert before == context.state.run


def test_the_mark_is_taken_as_soon_as_the_picture_is_there(context: Context) -> None:
    pictures = read_only(context, 1)
    context.attempt(lambda: tap_at(context, (300.5, 300.5)))

    pictures.n_read = 120
    context.attempt(lambda: tap_at(context, (300.5, 300.5)))

    frame = context.state.step.key_frame("opposite touchdown")
    assert frame and frame.at("shoulder") == (300.5, 300.5)
    assert context.state.error == ""
