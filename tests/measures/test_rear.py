"""The shoe from behind or in front: sign by foot, view and mirror."""

from dataclasses import replace
from math import cos, radians, sin

import pytest

from tapmark.marks.run import KeyFrame, Run, SetUp, Source, Step, Tap
from tapmark.measures.compute import measure_run
from tapmark.measures.result import NotMeasured
from tests.measures.made import number, reason, with_frame

LINE_PX = 60.0


def rear_run(
    turn_deg: float, view: str = "rear", foot: str = "right", later_s: float = 0.05
) -> Run:
    """Return a run whose heel turns by so much toward the mid-line, seen from behind.

    Seen from behind the right foot's mid-line lies to the left in the picture, seen from the
    front to the right.
    """
    toward = -1 if (foot == "right") == (view == "rear") else 1
    frames = []
    for event, heel_deg, time_s in (
        ("last contact", 3.0, 1.0),
        ("most turned", 3.0 + turn_deg, 1.0 + later_s),
    ):
        rad = radians(heel_deg)
        heel = (500.0 + toward * LINE_PX * sin(rad), 400.0 - LINE_PX * cos(rad))
        taps = (Tap("heel centre", heel), Tap("forefoot centre", (500.0, 400.0)))
        frames.append(KeyFrame(event, int(240 * time_s), time_s, 1 / 240, taps=taps))
    direction = "left to right" if foot == "right" else "right to left"
    return Run(
        view=view,
        source=Source("clip", "", (1000, 800)),
        set_up=SetUp(direction=direction, slow_factor=1.0),
        steps=(Step(tuple(frames)),),
    )


@pytest.mark.parametrize("view", ["rear", "front"])
@pytest.mark.parametrize("foot", ["right", "left"])
def test_a_heel_that_turns_in_is_positive_for_either_foot_and_view(view: str, foot: str) -> None:
    results = measure_run(rear_run(12.0, view, foot))

    assert results.near_side == foot
    assert number(results, "foot_turn").value == pytest.approx(12.0)


def test_only_the_foot_turn_is_tried_in_a_rear_view() -> None:
    assert list(measure_run(rear_run(5.0)).rows) == [("foot_turn", "")]


def test_the_doubt_is_that_of_two_lines_of_two_taps() -> None:
    # 7 % of a line at each end and coordinate: √2 · 0.07 rad a line, two lines.
    row = number(measure_run(rear_run(5.0)), "foot_turn")

    assert row.u == pytest.approx(57.29578 * 2 * 0.07, rel=0.02)


def test_guess_and_blur_double_each() -> None:
    run = rear_run(5.0)
    blurred = run
    for event in ("last contact", "most turned"):
        blurred = with_frame(blurred, event, lambda frame: replace(frame, is_blurred=True))
    guessed = with_frame(
        run,
        "most turned",
        lambda frame: replace(frame, taps=tuple(replace(t, certainty="guess") for t in frame.taps)),
    )

    usual = number(measure_run(run), "foot_turn")
    assert number(measure_run(blurred), "foot_turn").u == pytest.approx(2 * usual.u, rel=0.05)
    assert number(measure_run(guessed), "foot_turn").u == pytest.approx(
        usual.u * 2.5**0.5, rel=0.05
    )
    assert number(measure_run(guessed), "foot_turn").is_about


def test_what_is_missing_is_named() -> None:
    run = rear_run(5.0)
    no_frame = with_frame(run, "most turned", lambda frame: None)
    no_tap = with_frame(run, "most turned", lambda frame: replace(frame, taps=frame.taps[:1]))
    one_spot = with_frame(
        run,
        "last contact",
        lambda f: replace(f, taps=tuple(replace(t, at_px=(9.0, 9.0)) for t in f.taps)),
    )

    assert reason(measure_run(no_frame), "foot_turn") == "Needs the key frame most turned."
    assert reason(measure_run(no_tap), "foot_turn") == "Needs the forefoot centre at most turned."
    assert "same spot" in reason(measure_run(one_spot), "foot_turn")


def test_a_picture_taken_too_late_is_told() -> None:
    checks = measure_run(rear_run(5.0, later_s=0.2)).checks

    assert [check.name for check in checks] == ["key frames"]
    assert "200 ms after last contact" in checks[0].words
    assert measure_run(rear_run(5.0)).checks == ()


def test_side_rows_of_a_rear_view_are_simply_not_there() -> None:
    assert isinstance(measure_run(rear_run(5.0)).row("reach", "near"), NotMeasured)


def test_two_steps_seen_from_behind_share_no_doubt() -> None:
    one = rear_run(5.0)
    twice = replace(one, steps=(*one.steps, *one.steps))
    alone, both = (number(measure_run(run), "foot_turn") for run in (one, twice))

    assert (both.n_steps, both.u_set_up) == (2, 0.0)
    assert both.u == pytest.approx(alone.u / 2**0.5)
