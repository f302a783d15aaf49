"""Which foot is shown, true times, and finding one's way in a run."""

import pytest

from tapmark.marks.run import KeyFrame, Run, SetUp, Step, Tap, TurningMark


@pytest.mark.parametrize(
    ("direction", "is_mirrored", "near", "far"),
    [
        ("left to right", False, "right", "left"),
        ("right to left", False, "left", "right"),
        ("left to right", True, "left", "right"),
        ("right to left", True, "right", "left"),
    ],
)
def test_the_side_shown_follows_from_direction_and_mirror(
    direction: str, is_mirrored: bool, near: str, far: str
) -> None:
    run = Run(set_up=SetUp(direction=direction, is_mirrored=is_mirrored))

    assert (run.near_side, run.far_side) == (near, far)


def test_true_time_is_the_files_time_over_the_slow_motion_factor() -> None:
    run = Run(set_up=SetUp(slow_factor=8.0))

    assert run.true_time_s(4.0) == 0.5
    assert run.true_time_s(None) is None
    assert Run().true_time_s(4.0) is None


@pytest.mark.parametrize(
    ("camera", "is_static"),
    [("tripod, levelled", True), ("tripod", True), ("hand-held", False), ("panned", False)],
)
def test_a_camera_in_the_hand_or_following_is_not_static(camera: str, is_static: bool) -> None:
    assert SetUp(camera=camera).is_static is is_static


def test_taps_are_told_with_their_step_and_key_frame() -> None:
    hip, knee = Tap("hip", (1.0, 2.0)), Tap("near knee", None, "hidden")
    first = Step((KeyFrame("touchdown", 1, taps=(hip,)),))
    second = Step((KeyFrame("toe-off", 9, taps=(knee,)),))

    told = [(i, frame.event, tap) for i, frame, tap in Run(steps=(first, second)).taps()]

    assert told == [(0, "touchdown", hip), (1, "toe-off", knee)]


def test_what_is_not_there_is_none() -> None:
    step = Step((KeyFrame("touchdown", 1),), (TurningMark("rear thigh", 3, 4),))

    assert step.key_frame("toe-off") is None
    assert step.turning_mark("elbow back") is None
    assert step.turning_mark("rear thigh") == TurningMark("rear thigh", 3, 4)
    frame = step.key_frame("touchdown")
    assert frame is not None
    assert (frame.tap("hip"), frame.at("hip")) == (None, None)
