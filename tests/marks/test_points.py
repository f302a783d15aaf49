"""The taps that are asked for, and how many."""

import pytest

from tapmark.marks.points import (
    BACK_EVENTS,
    DEEPER,
    EVENTS,
    ONLY_DRAWN,
    SECOND_LOOK,
    SIDE_EVENTS,
    STANDARD,
    VIEWS,
    prompts,
)


def test_the_standard_set_has_32_taps_and_contact_only_13() -> None:
    assert sum(map(len, prompts("side").values())) == 32
    contact = prompts("side", "contact only")
    assert list(contact) == ["touchdown", "opposite touchdown"]
    assert sum(map(len, contact.values())) == 13


def test_a_deep_look_adds_each_point_once() -> None:
    for event, points in prompts("side", "deep look").items():
        assert len(points) == len(set(points))
        assert set(points) == set(STANDARD[event]) | set(DEEPER)
        assert points[: len(STANDARD[event])] == STANDARD[event]


def test_the_neck_base_stands_in_the_shoulders_place() -> None:
    for event, points in prompts("side", neck_base=True).items():
        assert points.index("neck base") == STANDARD[event].index("shoulder")
        assert "shoulder" not in points


@pytest.mark.parametrize("view", ["rear", "front"])
def test_rear_and_front_view_ask_for_the_shoe(view: str) -> None:
    assert prompts(view) == dict.fromkeys(BACK_EVENTS, ("heel centre", "forefoot centre"))


def test_the_far_hip_is_never_tapped() -> None:
    asked = {point for points in prompts("side", "deep look").values() for point in points}

    assert "far hip" not in asked


def test_second_look_and_skippable_points_are_ones_that_are_asked_for() -> None:
    assert sum(map(len, SECOND_LOOK.values())) == 10
    for table in (SECOND_LOOK, ONLY_DRAWN):
        for event, points in table.items():
            assert set(points) <= set(STANDARD[event])


def test_every_view_has_its_key_frames() -> None:
    assert VIEWS == ("side", "rear", "front")
    assert EVENTS["side"] == SIDE_EVENTS
    assert set(STANDARD) == set(SIDE_EVENTS)
