"""Nothing is marked on a picture that is not on the screen: the number would belong to another."""

from pathlib import Path
from typing import Any

import pytest

from tapmark.app.desk import Desk
from tapmark.app.mark_deeds import drag, tap_at
from tapmark.app.prompting import Prompt
from tests.app.made import PICTURES, Drawn, desk_with_run


class HalfRead(Drawn):
    """The same pictures, of which only some have been read so far."""

    def __init__(self, n_read: int) -> None:
        self.n_read = n_read

    def __len__(self) -> int:
        return self.n_read


@pytest.fixture
def desk(tmp_path: Path, squad_folder: Path) -> Desk:
    """A desk at the first prompt of opposite touchdown, one shoulder tapped at touchdown."""
    desk = desk_with_run(tmp_path, squad_folder)
    tap_at(desk, (100.5, 200.5))
    desk.state.go_to("opposite touchdown")
    return desk


def read_only(desk: Desk, n_read: int) -> HalfRead:
    assert desk.state.gallery
    pictures: Any = HalfRead(n_read)
    desk.state.gallery.pictures = pictures
    return pictures


DEEDS = ["tap", "hidden", "blurred"]


@pytest.mark.parametrize("deed", DEEDS)
def test_no_mark_is_kept_for_a_picture_that_is_not_read_yet(desk: Desk, deed: str) -> None:
    read_only(desk, PICTURES["opposite touchdown"])
    desk.state.aim = (300.5, 300.5)
    before = desk.state.run

    desk.perform(deed)

    assert before == desk.state.run
    assert f"Picture {PICTURES['opposite touchdown'] + 1}" in desk.state.trouble + desk.state.said


def test_a_click_on_an_empty_pane_marks_nothing(desk: Desk) -> None:
    read_only(desk, 1)
    before, prompt = desk.state.run, desk.state.prompt

    assert not desk.attempt(lambda: tap_at(desk, (300.5, 300.5)))

    assert (before, prompt) == (desk.state.run, desk.state.prompt)


def test_without_any_pictures_nothing_is_marked(desk: Desk) -> None:
    desk.state.gallery = None
    before = desk.state.run

    assert not desk.attempt(lambda: tap_at(desk, (300.5, 300.5)))

    assert before == desk.state.run


def test_the_picture_of_another_key_frame_takes_no_mark_for_this_one(desk: Desk) -> None:
    """A clip that was cut short leaves its last picture on the screen."""
    desk.state.picture = PICTURES["toe-off"]
    before = desk.state.run

    assert not desk.attempt(lambda: tap_at(desk, (300.5, 300.5)))

    assert before == desk.state.run


def test_a_placed_tap_is_not_dragged_on_a_picture_that_is_not_there(desk: Desk) -> None:
    desk.state.go_to("touchdown")
    read_only(desk, 1)
    before = desk.state.run

    assert not desk.attempt(lambda: drag(desk, Prompt("touchdown", "shoulder"), (50.0, 50.0)))

    assert before == desk.state.run


def test_the_mark_is_taken_as_soon_as_the_picture_is_there(desk: Desk) -> None:
    pictures = read_only(desk, 1)
    desk.attempt(lambda: tap_at(desk, (300.5, 300.5)))

    pictures.n_read = 120
    desk.attempt(lambda: tap_at(desk, (300.5, 300.5)))

    frame = desk.state.step.key_frame("opposite touchdown")
    assert frame and frame.at("shoulder") == (300.5, 300.5)
    assert desk.state.trouble == ""
