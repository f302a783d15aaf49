"""What is asked next: every point once, in order, and never one that was answered."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapmark.app.state.prompts import (
    Look,
    Prompt,
    aside,
    asked,
    changed_at,
    counted,
    may_be_behind,
    missing_events,
    neighbour,
    next_open,
    where,
)
from tapmark.marks.edits import change_set_up, look_again, place_tap, set_key_frame
from tapmark.marks.points import DEEPER, SIDE_EVENTS, STANDARD
from tapmark.marks.run import RIGHT_TO_LEFT, Run, SetUp, Source, Tap
from tests.examples import examples


def framed(tap_set: str = "standard") -> Run:
    run = Run(source=Source("clip", size_px=(1280, 720)), tap_set=tap_set)
    for i, event in enumerate(SIDE_EVENTS):
        run = set_key_frame(run, 0, event, 10 * i)
    return run


def test_a_run_is_asked_through_in_the_order_of_the_table() -> None:
    run, order = framed(), list[Prompt]()
    while prompt := next_open(run, 0):
        order.append(prompt)
        run = place_tap(run, 0, prompt.event, Tap(prompt.point, (5.0, 5.0)))
    assert [Prompt(event, point) for event in SIDE_EVENTS for point in STANDARD[event]] == order
    assert counted(run, 0) == (32, 32)


@pytest.mark.parametrize(("tap_set", "taps"), [("standard", 32), ("contact only", 13)])
def test_each_set_asks_for_its_number_of_taps(tap_set: str, taps: int) -> None:
    assert (0, taps) == counted(framed(tap_set), 0)


def test_a_frame_that_is_not_chosen_is_not_asked_for_but_counted() -> None:
    run = set_key_frame(Run(source=Source("clip", size_px=(9, 9))), 0, "touchdown", 3)
    assert {"touchdown"} == {prompt.event for prompt in asked(run, 0)}
    assert counted(run, 0) == (0, 32)
    assert SIDE_EVENTS[1:] == missing_events(run, 0)


@settings(max_examples=examples(100))
@given(st.lists(st.sampled_from(asked(framed(), 0)), unique=True), st.integers(0, 31))
def test_the_next_prompt_is_open_and_goes_round(done: list[Prompt], i: int) -> None:
    run = framed()
    for prompt in done:
        run = place_tap(run, 0, prompt.event, Tap(prompt.point, None, "hidden"))
    found = next_open(run, 0, asked(run, 0)[i])
    assert (found is None) == (len(done) == 32)
    assert found not in done


def test_neighbours_go_round_both_ways() -> None:
    run = framed()
    every = asked(run, 0)
    assert every[-1] == neighbour(run, 0, every[0], -1)
    assert every[0] == neighbour(run, 0, every[-1], 1)
    assert every[0] == neighbour(run, 0, None, 1)


def test_the_neck_base_takes_the_place_of_the_shoulder() -> None:
    points = {prompt.point for prompt in asked(change_set_up(framed(), uses_neck_base=True), 0)}
    assert "neck base" in points and "shoulder" not in points


def test_the_second_look_asks_its_own_ten_and_leaves_the_first_alone() -> None:
    run = framed()
    again = asked(run, 0, again=Look())
    assert len(again) == 10
    looked = look_again(run, 0, again[0].event, Tap(again[0].point, (1.0, 1.0)))
    assert again[1] == next_open(looked, 0, again=Look())
    assert counted(looked, 0) == (0, 32)


def test_a_change_is_found_where_it_was_made() -> None:
    old = framed()
    new = place_tap(old, 0, "toe-off", Tap("hip", (5.0, 5.0)))
    assert changed_at(old, new) == (0, "toe-off", "hip")
    assert changed_at(new, old) == (0, "toe-off", "hip")
    assert changed_at(old, old) is None
    assert changed_at(old, replace(old, set_up=SetUp(context="bend"))) is None


def test_a_change_of_an_earlier_look_is_found_too() -> None:
    once = look_again(framed(), 0, "touchdown", Tap("hip", (5.0, 5.0)))
    twice = look_again(once, 0, "touchdown", Tap("hip", (6.0, 6.0)), look=3)
    moved = look_again(twice, 0, "touchdown", Tap("hip", (7.0, 7.0)))

    for old, new in ((once, twice), (twice, once), (twice, moved), (moved, twice)):
        assert changed_at(old, new) == (0, "touchdown", "hip")


def test_the_side_named_follows_the_direction() -> None:
    knee = Prompt("touchdown", "near knee")
    assert "right leg" in aside(framed(), knee)
    assert "left leg" in aside(change_set_up(framed(), direction=RIGHT_TO_LEFT), knee)
    assert "right leg" in aside(
        change_set_up(framed(), direction=RIGHT_TO_LEFT, is_mirrored=True), knee
    )


def test_a_point_that_is_only_drawn_says_that_it_may_be_left_out() -> None:
    assert "Hidden" in aside(framed(), Prompt("mid-stance", "elbow"))


def test_every_point_has_words_of_its_own_and_only_the_far_knee_may_be_behind() -> None:
    points = {point for points in STANDARD.values() for point in points} | set(DEEPER)
    assert all(where(point).endswith(".") for point in points)
    assert [point for point in sorted(points) if may_be_behind(point)] == ["far knee"]
