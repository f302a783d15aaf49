"""The idea mends one thing only, and mends it into the fine band of the data file."""

import math
from dataclasses import replace

import pytest
from PIL import Image

from tapmark.checklist.criteria import load
from tapmark.marks.points import (
    MID_STANCE,
    OPPOSITE_TOUCHDOWN,
    PEAK_KNEE_LIFT,
    TOE_OFF,
    TOUCHDOWN,
)
from tapmark.report.drawing.body import CONTACT, STAND_IN, Leg, Pose, on_ground, points_of, sole
from tapmark.report.drawing.idea import pair_of
from tapmark.report.drawing.painter import Fonts, paint
from tapmark.report.drawing.pair import DISC, Caption, PairLook, pair_drawing
from tapmark.report.drawing.palette import BLACK, WHITE
from tapmark.report.drawing.shapes import Area, Label, Line, Ring, moved

BANDS = load().bands
SIDE_ITEMS = range(1, 16)
LOOK = PairLook(0.43, 3.9, 5.3, lambda text, size, *_: 0.5 * size * len(text))


def _fine(key, context="sprint"):
    band = BANDS[key, context]
    low = band.fine_low if band.fine_low is not None else float("-inf")
    high = band.fine_high if band.fine_high is not None else float("inf")
    return low, high


def _poor() -> dict[str, Pose]:
    """Every fault at once, far past its limit."""
    landing = replace(
        STAND_IN[TOUCHDOWN], near_leg=Leg(22, 20), far_leg=Leg(-33, -120, -140), trunk=22
    )
    other = replace(
        STAND_IN[OPPOSITE_TOUCHDOWN], far_leg=Leg(48, 22), near_leg=Leg(-36, -120, -140), trunk=22
    )
    poor = {
        TOUCHDOWN: landing,
        MID_STANCE: replace(STAND_IN[MID_STANCE], near_leg=Leg(34, -34), far_leg=Leg(10, -70, -90)),
        TOE_OFF: replace(STAND_IN[TOE_OFF], near_leg=Leg(-46, -56, -60)),
        PEAK_KNEE_LIFT: replace(STAND_IN[PEAK_KNEE_LIFT], far_leg=Leg(44, -40, -50)),
        OPPOSITE_TOUCHDOWN: other,
    }
    return {e: on_ground(p, CONTACT[e]) if e in CONTACT else p for e, p in poor.items()}


POOR = _poor()
LEAVES_EARLY = {TOE_OFF: on_ground(replace(STAND_IN[TOE_OFF], near_leg=Leg(-8, -30, -40)), "near")}
LEANS_BACK = {TOUCHDOWN: replace(POOR[TOUCHDOWN], trunk=-6)}
HANGS = POOR | {TOUCHDOWN: on_ground(replace(POOR[TOUCHDOWN], near_leg=Leg(48, 22)), "near")}
OWN = {6: LEAVES_EARLY, 10: LEANS_BACK, 12: HANGS}


def paired(item):
    """The pair of an item for a runner who has it: some items are the opposite of others."""
    return pair_of(item, OWN.get(item, POOR))


@pytest.mark.parametrize("is_far", [False, True])
def test_reach_is_mended_into_its_fine_band(is_far):
    pair = pair_of(1, POOR, is_far)
    side = "far" if is_far else "near"
    low, high = _fine("reach")
    assert pair.event == (OPPOSITE_TOUCHDOWN if is_far else TOUCHDOWN)
    assert pair.you.leg(side).shank > BANDS["reach", "sprint"].limit_high
    assert low <= pair.idea.leg(side).shank <= high
    assert pair.idea.leg(side).knee <= _fine("knee_touchdown")[1]


def test_a_straight_leg_is_bent_into_its_fine_band():
    assert pair_of(2, POOR).idea.near_leg.knee <= _fine("knee_touchdown")[1]


def test_knees_apart_are_brought_together_into_the_fine_band():
    pair = pair_of(3, POOR)
    points = points_of(pair.idea)
    apart = 100 * (points["near knee"][0] - points["far knee"][0]) / 0.530
    assert apart <= _fine("knee_separation")[1]


def test_a_late_rear_leg_comes_through():
    pair = pair_of(4, POOR)
    points = points_of(pair.idea)
    behind = -100 * points["near knee"][0] / 0.530
    assert behind <= _fine("separation_behind")[1]


@pytest.mark.parametrize("item", [5, 6, 7])
def test_the_push_ends_inside_the_fine_band_of_the_thigh(item):
    low, high = _fine("thigh_toe_off")
    assert low <= paired(item).idea.near_leg.thigh <= high


@pytest.mark.parametrize("bend", [10.0, 20.0, 30.0])
def test_the_drive_angle_of_a_mended_long_push_is_fine(bend):
    long = on_ground(replace(POOR[TOE_OFF], near_leg=Leg(-46, -46 - bend, -60)), "near")
    points = points_of(pair_of(5, {TOE_OFF: long}).idea)
    forward = points["hip"][0] - points["near toe"][0]
    up = points["hip"][1] - points["near toe"][1]
    low, high = _fine("drive_angle")
    assert low <= math.degrees(math.atan2(forward, up)) <= high


def test_sitting_is_mended_to_a_tall_leg():
    points = points_of(pair_of(8, POOR).idea)
    hip, ankle = points["hip"], points["near ankle"]
    stack = 100 * ((hip[0] - ankle[0]) ** 2 + (hip[1] - ankle[1]) ** 2) ** 0.5 / (0.245 + 0.246)
    assert stack >= _fine("leg_stack")[0]
    assert hip[0] == pytest.approx(ankle[0], abs=0.02), "the hip stays over the ankle"


@pytest.mark.parametrize("item", [9, 10])
def test_the_trunk_is_mended_into_its_fine_band(item):
    low, high = _fine("trunk_lean")
    assert low <= paired(item).idea.trunk <= high


def test_sinking_is_mended_to_a_fine_bend():
    bend = pair_of(2, POOR).you.near_leg.knee - pair_of(11, POOR).idea.near_leg.knee
    assert bend <= _fine("knee_bend")[1]


@pytest.mark.parametrize(("is_far", "side"), [(True, "far"), (False, "near")])
def test_a_hanging_front_leg_is_sent_down_to_a_fine_thigh(is_far, side):
    pair = pair_of(12, HANGS, is_far=is_far)
    idea = pair.idea
    assert pair.you.leg(side).thigh > 41, "the foot that is meant lands in that moment"
    assert idea.leg(side).thigh <= _fine("thigh_touchdown")[1]


def test_a_loose_fold_is_folded_into_its_fine_band():
    assert pair_of(13, POOR).idea.far_leg.knee <= _fine("fold")[1]


@pytest.mark.parametrize("item", SIDE_ITEMS)
def test_nothing_but_the_fault_differs(item):
    pair = paired(item)
    changed = {
        name
        for name in ("trunk", "near_leg", "far_leg", "near_arm", "far_arm", "build")
        if getattr(pair.you, name) != getattr(pair.idea, name)
    }
    arms, trunk = {"near_arm", "far_arm"}, {"trunk"}
    allowed = arms if item == 15 else trunk if item in (9, 10) else {"near_leg"}
    if item in (3, 13, 14):
        allowed = {"far_leg"}
    assert changed
    assert changed <= allowed
    assert pair.you is OWN.get(item, POOR)[pair.event], "you are drawn from your own taps"


@pytest.mark.parametrize("item", SIDE_ITEMS)
def test_no_idea_has_a_foot_in_the_ground(item):
    pair = paired(item)
    assert min(sole(pair.idea, "near"), sole(pair.idea, "far")) >= -0.06
    if pair.event in CONTACT:
        assert sole(pair.idea, CONTACT[pair.event]) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("item", [16, 17, 18])
def test_items_seen_from_behind_have_no_side_view(item):
    assert pair_of(item, POOR) is None


def test_without_the_athlete_s_own_pose_there_is_no_pair():
    assert pair_of(8, {TOUCHDOWN: POOR[TOUCHDOWN]}) is None
    assert pair_of(1, {}) is None


def test_the_far_foot_falls_back_to_the_landing_that_is_marked():
    assert pair_of(1, {TOUCHDOWN: POOR[TOUCHDOWN]}, is_far=True).event == TOUCHDOWN


def test_the_pair_shows_the_gap_for_you_and_none_for_the_idea():
    drawn = pair_drawing(pair_of(1, POOR), Caption("you", "the idea"), 180.0, 72.0, LOOK)
    bars = [
        s for s in drawn.shapes if isinstance(s, Line) and s.points[0][1] == s.points[1][1] > 1.0
    ]
    assert len(bars) == 1
    assert bars[0].points[0][0] < 90.0
    points = points_of(pair_of(1, POOR).you)
    ahead = points["near ankle"][0] - points["near knee"][0]
    (xa, _), (xb, _) = bars[0].points
    assert xb - xa == pytest.approx(72.0 * ahead), "as long as it is drawn, never exaggerated"


@pytest.mark.parametrize("item", SIDE_ITEMS)
def test_a_pair_keeps_within_its_width(item):
    told = Caption("you", "the idea", "about", "123 cm", "behind the hip", "knee coming through")
    for width, height in ((180.0, 79.0), (84.0, 37.0)):
        drawn = pair_drawing(paired(item), told, width, height, LOOK)
        for shape in drawn.shapes:
            for x in _xs(shape):
                assert -0.6 <= x <= width + 0.6
        assert max(_ys(drawn.shapes)) <= drawn.below
        assert -min(_ys(drawn.shapes)) <= drawn.above + 0.6


@pytest.mark.parametrize("item", [5, 6, 9, 10, 12])
def test_where_you_are_better_than_the_idea_none_is_shown(item):
    """The idea of a push that is too long would be a step back for one that is short."""
    fine = {e: replace(STAND_IN[e], trunk=6.5) for e in STAND_IN}
    fine[TOE_OFF] = on_ground(replace(fine[TOE_OFF], near_leg=Leg(-29, -50, -56)), "near")
    others = {5: LEAVES_EARLY, 6: POOR, 9: LEANS_BACK, 10: POOR, 12: fine}
    assert pair_of(item, others[item]) is None
    assert paired(item).away > 0


@pytest.mark.parametrize("item", [1, 3, 4, 5, 6, 8])
def test_the_gap_of_a_pair_is_the_distance_between_its_own_joints(item):
    """Worked out once more from the joints, in body heights."""
    pair = paired(item)
    you, idea = points_of(pair.you), points_of(pair.idea)
    knees = you["near knee"][0] - you["far knee"][0]
    by_hand = {
        1: you["near ankle"][0] - you["near knee"][0],
        3: knees,
        4: you["near knee"][0] - you["hip"][0],  # opposite touchdown: the near leg swings
        5: you["near toe"][0] - you["hip"][0],
        6: you["near toe"][0] - you["hip"][0],
        8: you["hip"][1],
    }
    assert pair.measure.value(pair.you) == pytest.approx(by_hand[item])
    if item == 8:
        assert pair.away == pytest.approx(idea["hip"][1] - you["hip"][1])


def test_the_names_and_the_number_never_touch_however_long_the_words_are():
    for item in SIDE_ITEMS:
        for n in (1, 2, 4):
            words = Caption(
                "you " * n, "idea " * n, "about " * n, "42 cm", "x " * 9 * n, "y " * 8 * n
            )
            drawn = pair_drawing(paired(item), words, 100.0, 46.0, LOOK)
            spans = [
                (s.point[1], s.point[0] - (w / 2 if s.anchor == "c" else 0), w)
                for s in drawn.shapes
                if isinstance(s, Label)
                for w in [LOOK.width(s.text, s.size, s.is_bold)]
            ]
            for i, (y, x, wide) in enumerate(spans):
                for other, left, width in spans[i + 1 :]:
                    assert abs(y - other) > 3 or x + wide <= left or left + width <= x


def _xs(shape):
    if isinstance(shape, Ring):
        return [shape.centre[0] - shape.radius, shape.centre[0] + shape.radius]
    if isinstance(shape, Label):
        wide = LOOK.width(shape.text, shape.size)
        left = shape.point[0] - (wide / 2 if shape.anchor == "c" else 0.0)
        return [left, left + wide]
    return [x for x, _ in shape.points]


def _ys(shapes):
    for shape in shapes:
        if isinstance(shape, Ring):
            yield from (shape.centre[1] - shape.radius, shape.centre[1] + shape.radius)
        elif isinstance(shape, Label):
            yield shape.point[1]
        else:
            yield from (y for _, y in shape.points)


@pytest.mark.parametrize("item", [1, 2, 3, 4, 5, 9, 10, 11, 12])
def test_a_dot_of_a_dotted_line_is_never_of_the_colour_that_it_lies_on(item):
    """An arm before a solid trunk is white: dots on it are ink, beside it on the trunk white."""
    changes = {10: {"trunk": -12.0}, 12: {"near_leg": Leg(45, 10)}}.get(item, {})
    pair = pair_of(item, {event: replace(pose, **changes) for event, pose in POOR.items()})
    drawn = pair_drawing(pair, Caption("you", "the idea"), 180.0, 72.0, LOOK)
    dots = [s for s in drawn.shapes if isinstance(s, Ring) and s.radius == DISC and s.edge is None]
    rest = tuple(s for s in drawn.shapes if isinstance(s, Area))
    picture = Image.new("L", (1840, 900), 255)
    paint(picture, moved(rest, 2.0, 80.0), Fonts(10.0))
    clear = 0
    for dot in dots:
        x, y = round(10 * (dot.centre[0] + 2.0)), round(10 * (dot.centre[1] + 80.0))
        under = picture.crop((x - 3, y - 3, x + 4, y + 4)).getextrema()
        if under[1] < 60 or under[0] > 190:  # not on the edge of a limb
            assert dot.fill == (WHITE if under[1] < 60 else BLACK), (item, dot)
            clear += 1
    assert clear >= 4
