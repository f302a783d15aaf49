"""The step line: true spacing, ground, scale, names, missing key frames."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapmark.marks.points import (
    MID_STANCE,
    OPPOSITE_TOUCHDOWN,
    PEAK_KNEE_LIFT,
    SIDE_EVENTS,
    TOE_OFF,
    TOUCHDOWN,
)
from tapmark.marks.run import KeyFrame, Run, SetUp, Step
from tapmark.report.drawing.palette import CONTROL_EDGE
from tapmark.report.drawing.shapes import Area, Label, Line
from tapmark.report.drawing.step_line import StepLook, StepWords, step_line
from tests.drawn_runner.athletes import OVERSTRIDES
from tests.examples import examples
from tests.report.drawing_made import FONTS, good_run, lines, poor_run, texts, untapped, without

LOOK = StepLook(figure=25.0, text=3.88, thin=0.43, heavy=1.15, leader=0.43, min_outline=0.43)
WIDTH = 180.0


def line_of(run, look=LOOK, **more):
    return step_line(run, 0, WIDTH, look, FONTS.width, **more)


def _run(times_ms, factor=8.0):
    """Key frames without taps at true times in ms, filmed at 240 and slowed down by the factor."""
    frames = tuple(
        KeyFrame(event, round(ms * 0.24), ms / 1000 * factor, factor / 240)
        for event, ms in sorted(times_ms.items(), key=lambda pair: SIDE_EVENTS.index(pair[0]))
    )
    return Run(set_up=SetUp(slow_factor=factor), steps=(Step(frames),))


TIMES = dict(zip(SIDE_EVENTS, (0.0, 42.0, 108.0, 142.0, 229.0), strict=True))


def test_hips_stand_at_their_true_time():
    at = line_of(_run(TIMES)).figures
    per = (at[OPPOSITE_TOUCHDOWN] - at[TOUCHDOWN]) / 229.0
    for event, ms in TIMES.items():
        assert at[event] == pytest.approx(at[TOUCHDOWN] + per * ms)


def test_the_heavy_ground_is_contact_with_the_one_interval_added():
    drawn = line_of(_run(TIMES))
    heavy = [line for line in lines(drawn.shapes) if line.width == LOOK.heavy]
    per = (drawn.figures[OPPOSITE_TOUCHDOWN] - drawn.figures[TOUCHDOWN]) / 229.0
    (start, _), (end, _) = heavy[0].points
    assert start == pytest.approx(drawn.figures[TOUCHDOWN])
    assert (end - start) / per == pytest.approx(108.0 + 1000 / 240)
    assert heavy[1].points[1][0] == pytest.approx(WIDTH), "the other foot stays down to the margin"


def test_the_step_fills_the_width_whatever_its_pace():
    quick = line_of(_run(TIMES)).figures
    slow = line_of(_run({event: 1.4 * ms for event, ms in TIMES.items()})).figures
    assert slow == pytest.approx(quick)


def test_ticks_stand_every_10_ms_and_numerals_every_50_with_one_unit():
    drawn = line_of(_run(TIMES))
    ticks = [
        line
        for line in lines(drawn.shapes)
        if line.points[0][0] == line.points[1][0] and line.points[1][1] < 1.5 * LOOK.text
    ]
    assert len(ticks) == 23
    numerals = [text for text in texts(drawn.shapes) if text.split()[0].isdigit()]
    assert numerals == ["0", "50", "100", "150", "200 ms"]


def test_without_a_known_rate_there_is_no_scale_but_the_same_order():
    run = _run(TIMES)
    unknown = replace(run, set_up=replace(run.set_up, slow_factor=None))
    drawn = line_of(unknown)
    assert not [text for text in texts(drawn.shapes) if text.split()[0].isdigit()]
    assert sorted(drawn.figures.values()) == [drawn.figures[event] for event in SIDE_EVENTS]


def test_the_same_picture_is_one_figure_with_both_names():
    both = line_of(_run({**TIMES, PEAK_KNEE_LIFT: 108.0}))
    apart = line_of(_run(TIMES))
    assert len(both.shapes) < 0.85 * len(apart.shapes)
    assert {"toe-off", "peak knee lift"} <= set(texts(both.shapes))


def test_a_close_figure_shows_its_lifted_leg_only():
    near = line_of(_run({**TIMES, PEAK_KNEE_LIFT: 116.0}))
    far = line_of(_run(TIMES))
    gap = near.figures[PEAK_KNEE_LIFT] - near.figures[TOE_OFF]
    assert 0 < gap < 0.5 * LOOK.figure
    assert len(near.shapes) < len(far.shapes)


def test_peak_knee_lift_may_come_before_toe_off():
    drawn = line_of(_run({**TIMES, PEAK_KNEE_LIFT: 100.0}))
    assert drawn.figures[PEAK_KNEE_LIFT] < drawn.figures[TOE_OFF]


def test_a_key_frame_without_taps_shows_a_grey_stand_in():
    drawn = line_of(untapped(good_run(), MID_STANCE))
    greys = {shape.fill for shape in drawn.shapes if hasattr(shape, "fill")}
    assert CONTROL_EDGE in greys
    assert CONTROL_EDGE not in {
        shape.fill for shape in line_of(good_run()).shapes if hasattr(shape, "fill")
    }


def test_a_key_frame_that_is_not_set_waits_at_the_right_end():
    drawn = line_of(without(good_run(), MID_STANCE, OPPOSITE_TOUCHDOWN))
    waiting = next(s for s in drawn.shapes if isinstance(s, Label) and "not set" in s.text)
    assert waiting.text == "mid-stance, opposite touchdown: not set"
    right = waiting.point[0] + FONTS.width(waiting.text, LOOK.text)
    assert right == pytest.approx(WIDTH)
    assert MID_STANCE not in drawn.figures


def test_below_the_picture_only_the_current_one_of_those_not_set_waits():
    look = replace(LOOK, current=MID_STANCE, lists_unset=False)
    drawn = line_of(without(good_run(), MID_STANCE, OPPOSITE_TOUCHDOWN), look)
    assert [text for text in texts(drawn.shapes) if "not set" in text] == ["mid-stance: not set"]


def test_before_anything_is_set_the_bare_ground_waits_with_all_names():
    drawn = line_of(Run())
    assert drawn.figures == {}
    assert [line.width for line in lines(drawn.shapes)] == [LOOK.thin]
    assert texts(drawn.shapes) == [f"{', '.join(SIDE_EVENTS)}: not set"]


def test_the_current_key_frame_is_bold_and_in_accent():
    look = replace(LOOK, current=TOE_OFF, accent="#0B5CAD")
    drawn = line_of(good_run(), look, notes={TOE_OFF: "3 of 6"})
    name = next(s for s in drawn.shapes if isinstance(s, Label) and "toe-off" in s.text)
    assert name.text == "toe-off  3 of 6"
    assert name.is_bold
    assert name.colour == "#0B5CAD"


def test_another_language_replaces_every_word():
    names = {event: event.upper() for event in SIDE_EVENTS}
    words = StepWords(names, "UNTEN", "OBEN", "MS", "FEHLT")
    written = texts(line_of(without(good_run(), MID_STANCE), words=words).shapes)
    assert not [text for text in written if any(c.islower() for c in text)]


@settings(max_examples=examples(40))
@given(
    st.floats(15, 60),
    st.floats(80, 220),
    st.floats(-20, 60),
    st.floats(40, 200),
)
def test_no_leader_runs_through_a_name_and_no_two_names_touch(middle, contact, peak, flight):
    times = {
        TOUCHDOWN: 0.0,
        MID_STANCE: min(middle, contact - 5),
        TOE_OFF: contact,
        PEAK_KNEE_LIFT: max(contact + peak, middle + 5),
        OPPOSITE_TOUCHDOWN: contact + max(flight, peak + 8),
    }
    drawn = line_of(_run(times))
    names = [s for s in drawn.shapes if isinstance(s, Label) and not s.is_italic]
    boxes = [_box(name) for name in names]
    for i, a in enumerate(boxes):
        for b in boxes[i + 1 :]:
            assert not (a[0] < b[1] and b[0] < a[1] and a[2] < b[3] and b[2] < a[3])
    leaders = [s for s in drawn.shapes if isinstance(s, Line) and s.points[1][1] > 1.5 * LOOK.text]
    assert len(leaders) == 5
    for leader in leaders:
        (x, top), (_, bottom) = leader.points
        for left, right, up, down in boxes:
            assert not (left < x < right and top < down and up < bottom)


def _box(label):
    (x, y), size = label.point, label.size
    return x, x + FONTS.width(label.text, size), y - 0.72 * size, y


def test_the_taller_flight_figure_is_counted_in_the_height():
    drawn = line_of(good_run())
    tops = [min(y for _, y in s.points) for s in drawn.shapes if hasattr(s, "points")]
    assert -min(tops) <= drawn.above + 1e-6
    assert drawn.below >= max(s.point[1] for s in drawn.shapes if isinstance(s, Label))


def test_a_real_step_of_a_drawn_runner_keeps_its_contact_time():
    """Contact ÷ step of the overstriding runner as he is drawn, read to one frame at 240 fps."""
    drawn = line_of(poor_run())
    heavy = next(line for line in lines(drawn.shapes) if line.width == LOOK.heavy)
    per = (drawn.figures[OPPOSITE_TOUCHDOWN] - drawn.figures[TOUCHDOWN]) / OVERSTRIDES.step_s
    contact = (heavy.points[1][0] - heavy.points[0][0]) / per
    assert contact == pytest.approx(OVERSTRIDES.contact_s, abs=2 / 240)


def test_a_lifted_leg_close_to_the_push_off_has_the_trunk_and_the_arm_that_were_tapped():
    """Shoulder, elbow and hip are tapped: no bare leg stands on the line."""
    run = good_run()

    def areas(points):
        """How many areas stand on the line with only these points at peak knee lift."""
        frames = tuple(
            replace(f, taps=tuple(t for t in f.taps if t.point in points))
            if f.event == PEAK_KNEE_LIFT
            else f
            for f in run.steps[0].key_frames
        )
        cut = replace(run, steps=(replace(run.steps[0], key_frames=frames),))
        return [s for s in line_of(cut).shapes if isinstance(s, Area)]

    leg = {"hip", "far knee", "far ankle", "near knee"}
    bare, trunk, whole = (
        len(areas(points)) for points in (leg, leg | {"shoulder"}, leg | {"shoulder", "elbow"})
    )
    assert bare < trunk < whole
