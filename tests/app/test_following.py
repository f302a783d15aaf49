"""Where the runner is looked for, by arithmetic: places drawn from a body of known build."""

from dataclasses import replace
from typing import Any

import pytest

from tapmark.app.state.following import (
    FILLS,
    MOST_PX_PER_PX,
    Following,
    Spot,
    body_px,
    expected,
    runner_of,
)
from tapmark.app.state.viewport import Viewport
from tapmark.marks.points import SIDE_EVENTS, STANDARD
from tapmark.marks.run import KeyFrame, Run, SetUp, Source, Step, Tap
from tapmark.report.drawing.body import STAND_IN, points_of

TALL, SIZE = 340.0, (1280, 720)
WHOLE = Viewport(SIZE, (926, 512))
FRAMES = dict(zip(SIDE_EVENTS, (10, 20, 40, 44, 70), strict=True))
SPEED = 5.0  # px a frame, to the left as the runner goes
SET_UP = SetUp(direction="right to left", camera="tripod, levelled", slow_factor=1.0)


def time_s(i: int) -> float:
    return i / 240


def at_px(event: str, point: str) -> tuple[float, float]:
    """Return where a point of the drawn body is in the frame of its event."""
    points = points_of(STAND_IN[event])
    x, y = points.get(point) or points[f"near {point}"]
    return 900.0 - SPEED * FRAMES[event] - x * TALL, 600.0 - y * TALL


def frame_of(event: str, *points: str) -> KeyFrame:
    taps = tuple(Tap(p, at_px(event, p)) for p in points or STANDARD[event])
    return KeyFrame(event, FRAMES[event], time_s(FRAMES[event]), 1 / 240, taps=taps)


def run_of(*frames: KeyFrame, **set_up: Any) -> Run:
    source, own = Source("clip", "", SIZE, 120), replace(SET_UP, **set_up)
    return Run(source=source, set_up=own, steps=(Step(frames),))


@pytest.mark.parametrize("event", SIDE_EVENTS)
def test_the_height_of_a_body_follows_from_its_parts(event: str) -> None:
    assert body_px(frame_of(event)) == pytest.approx(TALL, rel=1e-6)
    assert body_px(frame_of(event, "shoulder", "elbow")) == pytest.approx(TALL, rel=1e-6)
    assert body_px(frame_of(event, "hip")) is None


def test_between_two_places_straight_in_time_and_at_the_same_speed_beyond() -> None:
    run = run_of(frame_of("touchdown"), frame_of("toe-off"))
    runner = runner_of(run, {}, time_s)
    assert runner
    for i in (0, 10, 25, 40, 60, 90):
        assert runner.x(i) == pytest.approx(900 - SPEED * i)


def test_a_camera_that_goes_along_keeps_the_nearest_place() -> None:
    run = run_of(frame_of("touchdown"), frame_of("toe-off"), camera="panned")
    runner = runner_of(run, {}, time_s)
    assert runner
    assert runner.x(90) == pytest.approx(runner.x(40))
    assert runner.x(0) == pytest.approx(runner.x(10))


def test_frames_without_times_are_counted() -> None:
    runner = runner_of(run_of(frame_of("touchdown"), frame_of("toe-off")), {}, lambda i: None)
    assert runner and runner.x(25) == pytest.approx(900 - SPEED * 25)


def test_of_one_place_the_runner_goes_on_the_way_that_was_answered() -> None:
    left = runner_of(run_of(frame_of("touchdown")), {}, time_s)
    right = runner_of(run_of(frame_of("touchdown"), direction="left to right"), {}, time_s)
    unknown = runner_of(run_of(frame_of("touchdown"), slow_factor=None), {}, time_s)
    assert left and right and unknown
    assert left.x(40) < left.x(10) < left.x(0)
    assert right.x(40) > right.x(10)
    assert unknown.x(40) == unknown.x(10)


def test_nothing_known_is_the_whole_frame_and_a_box_is_enough() -> None:
    assert runner_of(run_of(), {}, time_s) is None
    assert Following().view(WHOLE, None, 5).fits
    runner = runner_of(run_of(), {5: Spot((640.0, 400.0), TALL)}, time_s)
    view = Following().found(runner, "", 5).view(WHOLE, runner, 5)
    assert view.scale * TALL == pytest.approx(FILLS * WHOLE.canvas[1])
    assert view.to_canvas((640.0, 0.0))[0] == pytest.approx(WHOLE.canvas[0] / 2)


def test_head_and_shoes_of_the_drawn_body_are_in_view_on_every_key_frame() -> None:
    run = run_of(*(frame_of(event) for event in SIDE_EVENTS))
    runner = runner_of(run, {}, time_s)
    following = Following().found(runner, "touchdown", 10)
    tops = set()
    for event in SIDE_EVENTS:
        view = following.view(WHOLE, runner, FRAMES[event])
        tops.add(round(view.seen[1], 6))
        for point, (_, up) in points_of(STAND_IN[event]).items():
            x, y = view.to_canvas((at_px(event, point)[0], 600.0 - up * TALL))
            assert 0 <= x <= view.canvas[0] and 0 <= y <= view.canvas[1], (event, point)
    assert len(tops) == 1, "the ground does not bounce"


def test_a_small_runner_is_enlarged_no_further_than_two_px_a_px() -> None:
    runner = runner_of(run_of(), {5: Spot((640.0, 400.0), 80.0)}, time_s)
    view = Following().found(runner, "", 5).view(WHOLE, runner, 5)
    assert view.scale == pytest.approx(MOST_PX_PER_PX)


def test_a_view_changed_by_hand_is_kept_against_the_runner() -> None:
    run = run_of(*(frame_of(event) for event in SIDE_EVENTS))
    runner = runner_of(run, {}, time_s)
    following = Following().found(runner, "touchdown", 10)
    changed = following.view(WHOLE, runner, 10).zoomed(1.5).panned(12.0, -7.0)
    following = following.looked_through(changed, runner, 10)
    assert following.view(WHOLE, runner, 10).seen == pytest.approx(changed.seen)
    later = following.view(WHOLE, runner, 40)
    assert later.scale == pytest.approx(changed.scale)
    moved = later.middle[0] - changed.middle[0]
    assert moved == pytest.approx(runner.x(40) - runner.x(10) if runner else 0.0)
    assert following.turned().view(WHOLE, runner, 10).fits
    again = following.turned().turned()
    assert (again.factor, again.shift) == (1.0, (0.0, 0.0))


def test_an_untapped_point_is_looked_for_where_the_drawn_body_has_it() -> None:
    run = run_of(frame_of("touchdown", "shoulder", "hip"))
    runner = runner_of(run, {}, time_s)
    assert runner
    for point in STANDARD["touchdown"]:
        found = expected(runner, -1, run.steps[0].key_frames[0], point)
        assert found == pytest.approx(at_px("touchdown", point), abs=1e-6), point
