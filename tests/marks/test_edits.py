"""Run in, run out: each edit changes what it should and nothing else, or refuses in plain words."""

from dataclasses import replace

import pytest

from tapmark.errors import KeyFramesOutOfOrder, NothingToMark, TapOutside
from tapmark.marks.edits import (
    add_step,
    change_frame,
    change_set_up,
    clear_key_frame,
    clear_turning_mark,
    look_again,
    place_tap,
    remove_step,
    remove_tap,
    set_far_toe_off,
    set_key_frame,
    set_turning_mark,
    tick,
    untick,
)
from tapmark.marks.points import SIDE_EVENTS
from tapmark.marks.run import KeyFrame, Run, Source, Step, Tap, TurningMark

EMPTY = Run(source=Source("clip", "a.mp4", (1280, 720)))
HIP = Tap("hip", (640.0, 360.0))


def frames(**pictures: int) -> Run:
    """Return a run with these key frames; _ stands for the space and the hyphen of an event."""
    run = EMPTY
    events = {event.replace(" ", "_").replace("-", "_"): event for event in SIDE_EVENTS}
    for name, picture in pictures.items():
        run = set_key_frame(run, 0, events[name], picture)
    return run


TOUCHDOWN = frames(touchdown=10)


def test_an_edit_leaves_the_old_value_as_it_was() -> None:
    place_tap(TOUCHDOWN, 0, "touchdown", HIP)

    assert TOUCHDOWN.steps[0].key_frames[0].taps == ()


def test_key_frames_stand_in_the_order_of_the_step_whatever_came_first() -> None:
    run = frames(opposite_touchdown=60, touchdown=10, toe_off=35)

    assert [frame.event for frame in run.steps[0].key_frames] == [
        "touchdown",
        "toe-off",
        "opposite touchdown",
    ]


def test_a_key_frame_keeps_time_and_interval() -> None:
    frame = set_key_frame(EMPTY, 0, "touchdown", 7, 0.25, 1 / 240).steps[0].key_frames[0]

    assert frame == KeyFrame("touchdown", 7, 0.25, 1 / 240)


def test_another_picture_asks_for_its_taps_again() -> None:
    """A task of a coach's first month."""
    run = look_again(place_tap(TOUCHDOWN, 0, "touchdown", HIP), 0, "touchdown", HIP)

    later = set_key_frame(run, 0, "touchdown", 11)

    assert later.steps[0].key_frames[0].taps == ()
    assert later.steps[0].second_look == ()


def test_the_same_picture_again_keeps_its_taps_and_learns_its_time() -> None:
    run = place_tap(TOUCHDOWN, 0, "touchdown", HIP)

    again = set_key_frame(run, 0, "touchdown", 10, 0.5)

    assert again.steps[0].key_frames[0].taps == (HIP,)
    assert again.steps[0].key_frames[0].time_s == 0.5


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("touchdown", "mid_stance"),
        ("mid_stance", "toe_off"),
        ("toe_off", "opposite_touchdown"),
        ("mid_stance", "peak_knee_lift"),
        ("peak_knee_lift", "opposite_touchdown"),
        ("touchdown", "toe_off"),
        ("touchdown", "peak_knee_lift"),
        ("touchdown", "opposite_touchdown"),
        ("mid_stance", "opposite_touchdown"),
    ],
)
@pytest.mark.parametrize("apart", [0, -1])
def test_an_impossible_order_is_refused_with_both_pictures(
    first: str, second: str, apart: int
) -> None:
    with pytest.raises(KeyFramesOutOfOrder, match=rf"frame 21.*frame {21 + apart}\)"):
        frames(**{first: 20, second: 20 + apart})


def test_toe_off_and_peak_knee_lift_may_share_a_picture_or_come_either_way() -> None:
    for peak in (19, 20, 21):
        assert len(frames(toe_off=20, peak_knee_lift=peak).steps[0].key_frames) == 2


def test_a_refused_order_leaves_the_run_as_it_was() -> None:
    run = frames(touchdown=10, toe_off=30)

    with pytest.raises(KeyFramesOutOfOrder):
        set_key_frame(run, 0, "toe-off", 5)

    assert [frame.picture for frame in run.steps[0].key_frames] == [10, 30]


def test_a_cleared_key_frame_takes_its_taps_and_second_look_along() -> None:
    run = look_again(place_tap(TOUCHDOWN, 0, "touchdown", HIP), 0, "touchdown", HIP)

    assert clear_key_frame(run, 0, "touchdown").steps[0] == Step()
    assert clear_key_frame(run, 0, "toe-off") == run


def test_a_tap_takes_the_place_of_the_last_one_of_its_point() -> None:
    run = place_tap(
        place_tap(TOUCHDOWN, 0, "touchdown", HIP), 0, "touchdown", Tap("shoulder", (1, 2))
    )

    moved = place_tap(run, 0, "touchdown", Tap("hip", (5.0, 6.0), "guess"))

    assert moved.steps[0].key_frames[0].taps == (
        Tap("shoulder", (1, 2)),
        Tap("hip", (5.0, 6.0), "guess"),
    )


@pytest.mark.parametrize("at_px", [(0.0, 0.0), (1280.0, 720.0)])
def test_a_tap_on_the_edge_is_inside(at_px: tuple[float, float]) -> None:
    run = place_tap(TOUCHDOWN, 0, "touchdown", Tap("hip", at_px))

    assert run.steps[0].key_frames[0].at("hip") == at_px


@pytest.mark.parametrize("at_px", [(-0.1, 5.0), (5.0, -0.1), (1280.1, 5.0), (5.0, 720.1)])
def test_a_tap_outside_the_picture_is_refused_with_its_place(at_px: tuple[float, float]) -> None:
    with pytest.raises(TapOutside, match=r"hip.*outside the frame \(1280 × 720\)"):
        place_tap(TOUCHDOWN, 0, "touchdown", Tap("hip", at_px))
    with pytest.raises(TapOutside):
        look_again(TOUCHDOWN, 0, "touchdown", Tap("hip", at_px))


def test_a_hidden_point_needs_no_place() -> None:
    run = place_tap(TOUCHDOWN, 0, "touchdown", Tap("far knee", None, "behind"))

    assert run.steps[0].key_frames[0].at("far knee") is None
    assert run.steps[0].key_frames[0].tap("far knee") == Tap("far knee", None, "behind")


@pytest.mark.parametrize(
    "edit",
    [
        lambda run: place_tap(run, 0, "toe-off", HIP),
        lambda run: remove_tap(run, 0, "toe-off", "hip"),
        lambda run: change_frame(run, 0, "toe-off", unsure_by=1),
        lambda run: look_again(run, 0, "toe-off", HIP),
    ],
)
def test_a_key_frame_must_be_chosen_before_it_is_marked(edit) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(NothingToMark, match="Choose the frame for toe-off first"):
        edit(TOUCHDOWN)


def test_a_tap_can_be_taken_away_and_taking_none_away_changes_nothing() -> None:
    run = place_tap(TOUCHDOWN, 0, "touchdown", HIP)

    assert remove_tap(run, 0, "touchdown", "hip") == TOUCHDOWN
    assert remove_tap(run, 0, "touchdown", "far knee") == run


def test_unsure_and_blurred_are_set_one_by_one() -> None:
    unsure = change_frame(TOUCHDOWN, 0, "touchdown", unsure_by=1)
    both = change_frame(unsure, 0, "touchdown", is_blurred=True)
    frame = both.steps[0].key_frames[0]

    assert (frame.is_unsure, frame.is_blurred) == (True, True)
    sure = change_frame(both, 0, "touchdown", unsure_by=0).steps[0].key_frames[0]
    assert (sure.is_unsure, sure.is_blurred) == (False, True)
    by_two = change_frame(unsure, 0, "touchdown", unsure_by=2).steps[0].key_frames[0]
    assert (by_two.unsure_by, by_two.is_unsure, by_two.is_unsure_by_two) == (2, True, True)


def test_a_turning_mark_is_put_the_right_way_round_and_replaced() -> None:
    backwards = TurningMark("rear thigh", 40, 36, 0.40, 0.36)

    run = set_turning_mark(EMPTY, 0, backwards)
    again = set_turning_mark(run, 0, TurningMark("rear thigh", 50, 52))

    assert run.steps[0].turning_marks == (TurningMark("rear thigh", 36, 40, 0.36, 0.40),)
    assert again.steps[0].turning_mark("rear thigh") == TurningMark("rear thigh", 50, 52)
    assert len(again.steps[0].turning_marks) == 1
    assert clear_turning_mark(again, 0, "rear thigh") == EMPTY


def test_a_far_toe_off_can_be_set_and_cleared() -> None:
    frame = KeyFrame("far toe-off", 90)

    run = set_far_toe_off(EMPTY, 0, frame)

    assert run.steps[0].far_toe_off == frame
    assert set_far_toe_off(run, 0, None) == EMPTY


def test_a_tick_takes_the_place_of_the_last_one() -> None:
    run = tick(
        tick(tick(EMPTY, 0, "hand crosses", 2), 0, "shoulders turn", 1), 0, "hand crosses", 0
    )

    assert run.steps[0].ticks == (("shoulders turn", 1), ("hand crosses", 0))


def test_an_answer_taken_back_is_no_answer_and_not_no() -> None:
    run = tick(tick(EMPTY, 0, "hand crosses", 2), 0, "foot path", 1)

    assert untick(run, 0, "hand crosses").steps[0].ticks == (("foot path", 1),)
    assert untick(run, 0, "form holds") == run


def test_a_second_look_stands_beside_the_first_and_knows_its_picture() -> None:
    run = place_tap(TOUCHDOWN, 0, "touchdown", HIP)

    again = look_again(run, 0, "touchdown", Tap("hip", (650.0, 361.0)))
    twice = look_again(again, 0, "touchdown", Tap("hip", (655.0, 361.0)))

    assert again.steps[0].key_frames == run.steps[0].key_frames
    (frame,) = twice.steps[0].second_look
    assert (frame.picture, frame.at("hip")) == (10, (655.0, 361.0))


def test_a_third_look_and_the_pictures_beside_stand_beside_the_second() -> None:
    run = place_tap(TOUCHDOWN, 0, "touchdown", HIP)
    taps = [Tap("hip", (650.0 + i, 361.0)) for i in range(4)]

    again = look_again(run, 0, "touchdown", taps[0])
    third = look_again(again, 0, "touchdown", taps[1], look=3)
    compare = look_again(third, 0, "touchdown", taps[2], by=-1)
    moved = look_again(compare, 0, "touchdown", taps[3], look=3)

    step = moved.steps[0]
    assert [frame.at("hip") for frame in step.looks("touchdown")] == [taps[0].at_px, taps[3].at_px]
    (earlier,) = step.looks("touchdown", -1)
    assert (earlier.picture, earlier.at("hip")) == (9, taps[2].at_px)
    assert step.key_frames == run.steps[0].key_frames


def test_steps_are_added_and_one_always_stays() -> None:
    two = add_step(TOUCHDOWN)

    assert two.steps == (TOUCHDOWN.steps[0], Step())
    assert remove_step(two, 1) == TOUCHDOWN
    assert remove_step(two, 0).steps == (Step(),)
    assert remove_step(TOUCHDOWN, 0).steps == (Step(),)


def test_an_edit_of_one_step_leaves_the_others() -> None:
    two = add_step(TOUCHDOWN)

    marked = set_key_frame(two, 1, "touchdown", 99)

    assert marked.steps[0] == TOUCHDOWN.steps[0]
    assert marked.steps[1].key_frames[0].picture == 99


def test_answers_are_changed_by_name_and_unknown_names_are_our_mistake() -> None:
    run = change_set_up(EMPTY, context="race pace", effort=9)

    assert (run.set_up.context, run.set_up.effort) == ("race pace", 9)
    assert replace(run, set_up=EMPTY.set_up) == EMPTY
    with pytest.raises(TypeError):
        change_set_up(EMPTY, colour="red")
