"""The small body: the target on the asked point, mirrored with the athlete."""

import numpy as np
import pytest

from tapmark.marks.points import DEEPER, SHOE, SIDE_EVENTS, STANDARD
from tapmark.report.drawing.body_prompt import body_prompt, rule_drawing
from tapmark.report.drawing.palette import ACCENT
from tapmark.report.drawing.shapes import Ring
from tests.report.drawing_made import pixels

SIZE = (124.0, 212.0)
ASKED = [(e, point) for e in SIDE_EVENTS for point in (*STANDARD[e], *DEEPER, "neck base")]


def _target(shapes):
    return next(s for s in shapes if isinstance(s, Ring) and s.edge == ACCENT)


@pytest.mark.parametrize(("event", "point"), ASKED)
def test_every_point_that_can_be_asked_for_has_a_target_inside_the_drawing(event, point):
    target = _target(body_prompt(event, point, SIZE))
    x, y = target.centre
    assert target.radius < x < SIZE[0] - target.radius
    assert target.radius < y < SIZE[1] - target.radius


@pytest.mark.parametrize("event", SIDE_EVENTS)
def test_no_two_points_of_a_moment_share_a_target(event):
    centres = {_target(body_prompt(event, point, SIZE)).centre for point in STANDARD[event]}
    assert len(centres) == len(STANDARD[event])


def test_an_athlete_who_runs_left_is_drawn_running_left():
    right = _target(body_prompt("touchdown", "near knee", SIZE, 1)).centre
    left = _target(body_prompt("touchdown", "near knee", SIZE, -1)).centre
    assert left == pytest.approx((SIZE[0] - right[0], right[1]))


@pytest.mark.parametrize("point", SHOE)
def test_the_shoe_from_behind_tells_heel_from_forefoot(point):
    y = _target(body_prompt("last contact", point, SIZE)).centre[1]
    assert (y > SIZE[1] / 2) == (point == SHOE[0])


@pytest.mark.parametrize("event", SIDE_EVENTS)
def test_each_key_frame_has_its_own_rule_drawing_inside_its_size(event):
    painted = pixels(rule_drawing(event, (124.0, 160.0)), (124, 160))
    assert (painted < 250).sum() > 800
    rest = [other for other in SIDE_EVENTS if other != event]
    others = [pixels(rule_drawing(other, (124.0, 160.0)), (124, 160)) for other in rest]
    assert all((np.abs(painted.astype(int) - o) > 60).sum() > 60 for o in others)
