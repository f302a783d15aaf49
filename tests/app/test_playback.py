"""Playing, without a screen: the frame shown is the one of that time, however slow the machine."""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapmark.app.state.playback import (
    HOLD_S,
    MOST_HZ,
    SPEEDS,
    Due,
    Playback,
    Playing,
    Reel,
    begun,
    reel_of,
    stretch_of,
)
from tapmark.marks.run import KeyFrame, Step
from tests.examples import examples

HZ = 240.0
EVEN = Reel(tuple(i / HZ for i in range(101)), 1.0, True)
STEP = Step((KeyFrame("touchdown", 20), KeyFrame("opposite touchdown", 70)))


class Clip:
    """Frames with the given times."""

    def __init__(self, *times: float | None) -> None:
        self.times = times

    def __len__(self) -> int:
        return len(self.times)

    def time_s(self, i: int) -> float | None:
        return self.times[i]


def shown(play: Playback, until_s: float, cost_s: float = 0.0) -> list[Due]:
    """Return what is shown up to a moment by a machine that needs so long for each frame."""
    now, due, found = play.began_s, play.begin(), []
    while due.at_s <= until_s:
        now = max(now, due.at_s)
        found.append(replace(due, at_s=now))
        now += cost_s
        following = play.next(due, now)
        if following is None:
            break
        due = following
    return found


def test_an_eighth_of_240_shows_every_frame_30_a_second() -> None:
    play = Playback(EVEN, 0, 100, 0, 5.0, 1 / 8)
    found = shown(play, 6.0)
    assert [due.picture for due in found] == list(range(31))
    assert found[-1].at_s == pytest.approx(6.0)


def test_true_time_of_a_clip_stored_slow_goes_eight_times_as_fast_as_the_file() -> None:
    stored = reel_of(Clip(*(i / 30 for i in range(240))), 8.0)  # type: ignore[arg-type]
    assert (stored.per_s, stored.is_true) == (8.0, True)
    found = shown(Playback(stored, 0, 239, 0, 0.0, 1.0), 0.5)
    assert found[-1].picture == pytest.approx(120, abs=8), "half a second is 120 frames of 240"


def test_an_unknown_rate_is_the_files_own_time_and_frames_without_times_come_30_a_second() -> None:
    unknown = reel_of(Clip(0.0, 0.1, 0.2), None)  # type: ignore[arg-type]
    assert (unknown.times, unknown.per_s, unknown.is_true) == ((0.0, 0.1, 0.2), 1.0, False)
    stills = reel_of(Clip(None, None, None), 8.0)  # type: ignore[arg-type]
    assert stills.times == pytest.approx((0.0, 1 / 30, 2 / 30)) and not stills.is_true


@settings(max_examples=examples(60))
@given(
    st.lists(st.floats(0.001, 0.3), min_size=3, max_size=80),
    st.sampled_from(SPEEDS),
    st.floats(0.0, 0.2),
    st.booleans(),
)
def test_late_frames_are_left_out_and_time_is_kept(
    gaps: list[float], speed: float, cost_s: float, loops: bool
) -> None:
    """Whatever a frame costs, the one shown is the one of its moment, and it is not long past."""
    times = [0.0]
    for gap in gaps:
        times.append(times[-1] + gap)
    reel, last = Reel(tuple(times), 1.0, True), len(times) - 1
    play = Playback(reel, 0, last, 0, 0.0, speed, loops)
    lap = times[-1] + reel.gap_s
    for due in shown(play, 2.0, cost_s)[1:]:
        asked_for = (due.run_s + 1e-7) % lap if loops else due.run_s
        i = due.picture
        assert times[i] <= asked_for + 1e-6
        assert i == last or asked_for < times[i + 1] + 1e-6
        assert due.at_s >= due.run_s / speed - 1e-6, "never too early"
        assert due.at_s <= due.run_s / speed + max(cost_s, 1 / MOST_HZ) + 1e-6, "and not later"


def test_it_ends_with_the_last_frame_or_begins_again() -> None:
    once = shown(Playback(EVEN, 90, 100, 95, 0.0, 1 / 8), 9.0)
    assert (once[-1].picture, once[-1].is_last) == (100, True)
    again = shown(Playback(EVEN, 90, 100, 95, 0.0, 1 / 8, loops=True), 1.0)
    assert [due.picture for due in again][:8] == [95, 96, 97, 98, 99, 100, 90, 91]


def test_at_a_key_frame_it_waits_a_second_however_late_the_machine_is() -> None:
    for cost_s in (0.0, 0.15):
        found = shown(Playback(EVEN, 0, 100, 0, 0.0, 1.0, holds=(20, 70)), 5.0, cost_s)
        held = [due for due in found if due.is_held]
        assert [due.picture for due in held] == [20, 70]
        following = found[found.index(held[0]) + 1]
        assert following.at_s >= held[0].at_s + HOLD_S - 1e-6 - cost_s
        assert found[-1].picture == 100


def test_a_loop_goes_from_ten_frames_before_the_step_to_ten_after_it() -> None:
    assert stretch_of(STEP, 101, loops=True) == (10, 80)
    assert stretch_of(STEP, 75, loops=True) == (10, 74)
    assert stretch_of(STEP, 101, loops=False) == (0, 100)
    assert stretch_of(Step(), 101, loops=True) == (0, 100), "no step yet: the whole clip"


@pytest.mark.parametrize(("at", "start"), [(30, 30), (5, 10), (80, 10), (99, 10)])
def test_a_loop_begun_outside_the_step_begins_at_its_beginning(at: int, start: int) -> None:
    assert begun(EVEN, STEP, at, Playing(loops=True), 0.0).start == start


def test_what_is_held_are_the_key_frames_and_only_if_wished() -> None:
    assert begun(EVEN, STEP, 0, Playing(holds=True), 0.0).holds == (20, 70)
    assert begun(EVEN, STEP, 0, Playing(), 0.0).holds == ()


def test_one_frame_alone_is_shown_and_that_is_the_end() -> None:
    alone: Any = Clip(0.0)
    play = begun(reel_of(alone, None), Step(), 0, Playing(), 0.0)
    following = play.next(play.begin())
    assert following is not None and following.is_last
