"""Two runs on one scale: the hip in one place, legs of one length, one direction, one moment."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from tapmark.app.review.two_runs import (
    LEGS_DOWN,
    LEGS_UP,
    Placing,
    Sight,
    cut,
    share_of_step,
    sight_of,
)
from tapmark.errors import FrameNotThere
from tapmark.marks.edits import remove_tap
from tapmark.marks.run import KeyFrame, Run, Tap
from tests.drawn_runner.athletes import OVERSTRIDES, RUNS_WELL
from tests.drawn_runner.camera import View
from tests.drawn_runner.runs import drawn_run
from tests.examples import examples

CANVAS = (420, 520)


class Clock:
    """Pictures at a rate, so many of them read."""

    def __init__(self, rate_hz: float, slow: float = 1.0, n: int = 300) -> None:
        self.rate_hz, self.slow, self.n = rate_hz, slow, n

    def __len__(self) -> int:
        return self.n

    def time_s(self, i: int) -> float | None:
        if not 0 <= i < self.n:
            raise FrameNotThere(f"Frame {i + 1} is not there.")
        return 2.0 + i / self.rate_hz * self.slow


def seen(run: Run) -> Sight:
    found = sight_of(run, 0)
    assert found
    return found


@pytest.mark.parametrize("style", [RUNS_WELL, OVERSTRIDES], ids=["well", "overstrides"])
@pytest.mark.parametrize("px_per_m", [150.0, 320.0])
def test_hips_stand_in_one_place_and_legs_are_of_one_length(style: object, px_per_m: float) -> None:
    run = drawn_run(style, View(px_per_m=px_per_m))  # type: ignore[arg-type]
    sight = seen(run)
    for frame in sight.frames:
        place = Placing(sight.box(frame.picture, CANVAS), CANVAS, False)
        hip = place(frame.at("hip"))  # type: ignore[arg-type]
        assert hip == pytest.approx((CANVAS[0] / 2, CANVAS[1] * LEGS_UP / (LEGS_UP + LEGS_DOWN)))
    assert sight.leg_px == pytest.approx(px_per_m * leg_m(style), rel=0.03)


def leg_m(style: object) -> float:
    return (0.245 + 0.246) * style.height_m  # type: ignore[attr-defined]


@settings(max_examples=examples(100))
@given(st.integers(0, 120))
def test_between_two_taps_the_hip_goes_in_a_straight_line(picture: int) -> None:
    a = KeyFrame("touchdown", 10, taps=(Tap("hip", (100.0, 50.0)),))
    b = KeyFrame("opposite touchdown", 110, taps=(Tap("hip", (300.0, 90.0)),))
    sight = Sight((a, b), 100.0, True, 1.0)
    share = min(max((picture - 10) / 100, 0.0), 1.0)
    assert sight.hip(picture) == pytest.approx((100 + 200 * share, 50 + 40 * share))


def test_a_run_the_other_way_is_turned_round() -> None:
    right = seen(drawn_run(RUNS_WELL, View(direction=1)))
    left = seen(drawn_run(RUNS_WELL, View(direction=-1)))
    assert (right.goes_right, left.goes_right) == (True, False)
    one = Placing(right.box(right.start.picture, CANVAS), CANVAS, False)
    other = Placing(left.box(left.start.picture, CANVAS), CANVAS, True)
    for point in ("near knee", "near ankle", "far knee", "shoulder"):
        assert one(right.start.at(point)) == pytest.approx(other(left.start.at(point)), abs=0.5)  # type: ignore[arg-type]


def test_a_mirrored_cut_is_the_mirror_image() -> None:
    image = Image.linear_gradient("L").rotate(90).convert("RGB").resize((400, 200))
    box = (100.0, 0.0, 300.0, 200.0)
    plain = cut(image, (800, 400), box, (50, 50), mirrored=False)
    turned = cut(image, (800, 400), box, (50, 50), mirrored=True)
    assert plain.tobytes() == turned.transpose(Image.Transpose.FLIP_LEFT_RIGHT).tobytes()


def test_the_other_run_follows_by_true_time_whatever_its_rate() -> None:
    fast = seen(drawn_run(RUNS_WELL, rate_hz=240.0))
    slowed = replace(fast, slow_factor=8.0)
    clock, slow_clock = Clock(240.0), Clock(240.0, slow=8.0)
    for picture in (fast.start.picture, fast.start.picture + 30):
        seconds = fast.seconds_at(clock, picture)
        assert seconds == pytest.approx((picture - fast.start.picture) / 240)
        assert slowed.picture_at(slow_clock, seconds or 0.0) == picture


def test_a_clip_that_is_still_being_read_has_no_times_of_frames_to_come() -> None:
    run = seen(drawn_run(RUNS_WELL, rate_hz=240.0))
    first, last = run.start.picture, run.frames[-1].picture
    for n_read, at_touchdown in ((0, None), (1, None), (first, None), (first + 1, 0.0)):
        clock = Clock(240.0, n=n_read)
        assert run.seconds_at(clock, first) == at_touchdown
        assert run.seconds_at(clock, last) is None
        assert run.picture_at(clock, 0.1) in {first, *range(n_read)}


def test_without_times_the_other_run_follows_by_its_share_of_the_step() -> None:
    one = seen(drawn_run(RUNS_WELL, rate_hz=240.0))
    other = seen(drawn_run(RUNS_WELL, rate_hz=120.0))
    pictures = {frame.event: frame.picture for frame in other.frames}
    for frame in one.frames:
        if frame.event not in ("toe-off", "peak knee lift"):  # these two may share a picture
            assert share_of_step(one, other, frame.picture) == pictures[frame.event]


def test_a_step_without_a_hip_has_no_sight() -> None:
    run = drawn_run(RUNS_WELL)
    for frame in run.steps[0].key_frames:
        run = remove_tap(run, 0, frame.event, "hip")
    assert sight_of(run, 0) is None
