"""The picture: same again, upright pole, tapes 2.00 m apart, joints inside the figure."""

from dataclasses import replace

import numpy as np
import pytest
from shapely import MultiPolygon, Polygon, box, union_all

from tests.drawn_runner import flesh, surroundings
from tests.drawn_runner import scene as painting
from tests.drawn_runner.athletes import OVERSTRIDES, RUNS_WELL
from tests.drawn_runner.body import BALL_AHEAD_OF_ANKLE, HEEL_BEHIND_ANKLE
from tests.drawn_runner.camera import View, project, rolled
from tests.drawn_runner.drawn import centred, key_times, true_points
from tests.drawn_runner.looks import PLUM_AND_GOLD, WHITE_AND_TEAL
from tests.drawn_runner.motion import motion_of
from tests.drawn_runner.scene import Scene, draw_step
from tests.drawn_runner.style import EVENTS
from tests.drawn_runner.surroundings import furniture

WELL = Scene(RUNS_WELL, WHITE_AND_TEAL, centred(RUNS_WELL, View()), seed=1, grain=0.0)
OVER = Scene(OVERSTRIDES, PLUM_AND_GOLD, centred(OVERSTRIDES, View(direction=-1)), 2, 0.0)
ELSEWHERE = replace(WELL, view=replace(WELL.view, centre_m=100.0))
"""The same place while the runner is far outside the picture."""


@pytest.fixture(scope="module")
def empty() -> np.ndarray:
    return np.asarray(draw_step(ELSEWHERE, 0.0), float)


def test_the_same_scene_gives_the_same_pixels() -> None:
    noisy = replace(WELL, grain=2.5)
    assert draw_step(noisy, 0.05).tobytes() == draw_step(noisy, 0.05).tobytes()


def test_another_instant_has_other_grain() -> None:
    a, b = (np.asarray(draw_step(replace(ELSEWHERE, grain=2.5), t), float) for t in (0.0, 0.01))
    assert 2.5 * np.sqrt(2) == pytest.approx(np.std(a - b), rel=0.1)


def test_a_picture_is_1280_by_720_in_colour() -> None:
    picture = draw_step(WELL, 0.0)
    assert (picture.size, picture.mode) == ((1280, 720), "RGB")


def test_the_pole_is_vertical_and_where_it_is_said_to_be(
    empty: np.ndarray, monkeypatch: pytest.MonkeyPatch
) -> None:
    place = furniture(WELL.view)
    (x, foot), (_, top) = place.pole_foot, place.pole_top
    monkeypatch.setattr(surroundings, "POLE_PLACE", -1.0)
    monkeypatch.setattr(painting, "surroundings", surroundings.surroundings.__wrapped__)
    without = np.asarray(draw_step(ELSEWHERE, 0.0), float)
    rows = slice(int(top) + 4, int(foot) - 4)
    redder = (empty - without)[rows, int(x) - 14 : int(x) + 15] @ [1, 0, -1]
    red = np.clip(redder[redder.max(1) > 100], 0, 60)
    assert len(red) > 0.3 * (foot - top)
    middle = int(x) - 14 + 0.5 + (red * np.arange(29)).sum(1) / red.sum(1)
    slope = np.polyfit(np.arange(len(redder))[redder.max(1) > 100], middle, 1)[0]
    assert np.degrees(np.arctan(slope)) == pytest.approx(0, abs=0.03)
    assert x == pytest.approx(np.mean(middle), abs=0.2)


def test_the_tapes_are_two_metres_apart(empty: np.ndarray) -> None:
    middles = []
    for x, y in furniture(WELL.view).marks:
        row = empty[int(y), int(x) - 12 : int(x) + 13].sum(1)
        dark = np.clip(row.max() - 200 - row, 0, None)
        middles.append(int(x) - 12 + 0.5 + (dark * np.arange(25)).sum() / dark.sum())
    assert (middles[1] - middles[0]) / WELL.view.px_per_m == pytest.approx(2.00, abs=0.002)
    assert furniture(WELL.view).marks[0][0] == pytest.approx(middles[0], abs=0.3)


def test_pole_and_tapes_turn_with_the_camera() -> None:
    level, turned = furniture(View()), furniture(View(roll=3))
    for a, b in zip((level.pole_foot, level.pole_top, *level.marks), all_of(turned), strict=True):
        assert b == pytest.approx(tuple(rolled(View(roll=3), np.array(a))))


def all_of(place) -> tuple:  # type: ignore[no-untyped-def, type-arg]
    return (place.pole_foot, place.pole_top, *place.marks)


@pytest.mark.parametrize(
    ("scene", "roll", "events"),
    [
        pytest.param(WELL, 0, EVENTS[:1], id="P01 level, as it lands"),
        pytest.param(OVER, 4, EVENTS, id="P02 rolled", marks=pytest.mark.long),
        pytest.param(WELL, 0, EVENTS, id="P01 level", marks=pytest.mark.long),
        pytest.param(WELL, 4, EVENTS, id="P01 rolled", marks=pytest.mark.long),
        pytest.param(OVER, 0, EVENTS, id="P02 level", marks=pytest.mark.long),
    ],
)
def test_true_joints_lie_on_the_painted_runner(
    scene: Scene, roll: float, events: tuple[str, ...]
) -> None:
    """A quarter of the 7 × 7 pixels around a joint at least; of a shoe's tip, what fills them."""
    scene = replace(scene, view=replace(scene.view, roll=roll))
    nobody = replace(scene, view=replace(scene.view, centre_m=100.0))
    bare = np.asarray(draw_step(nobody, 0.0), float)
    times = key_times(scene.style)
    for t in (times[event] for event in events):
        painted = np.abs(np.asarray(draw_step(scene, t), float) - bare).sum(2) > 18
        for name, (x, y) in true_points(scene.style, t, scene.view).items():
            left, top = int(x) - 3, int(y) - 3
            spot = painted[top : top + 7, left : left + 7]
            if name.endswith("toe"):
                inside = half_filled(shoe_outline(scene, t, name.split()[0]), left, top)
                assert inside.sum() >= 4, (name, t)  # or nothing would be asked
                assert spot[inside].all(), (name, t)
            else:
                assert spot.mean() > 0.25, (name, t)


def shoe_outline(scene: Scene, t: float, side: str) -> MultiPolygon | Polygon:
    """Return the shoe in px, laid by hand: behind the ball along heel and ball, ahead to the toe.

    The corners are those it is drawn from, joined by straight lines.
    """
    joints = motion_of(scene.style).joints(np.asarray(t, float))
    heel, ball, toe = (
        project(scene.view, joints[f"{side} {name}"]) for name in ("heel", "ball", "toe")
    )
    px_per_height = np.hypot(*(ball - heel)) / (BALL_AHEAD_OF_ANKLE + HEEL_BEHIND_ANKLE)
    parts = []
    for corners in (flesh.SHOE_UPPER, flesh.SHOE_SOLE):
        placed = []
        for ahead, high in corners:
            way = toe - ball if ahead > BALL_AHEAD_OF_ANKLE else ball - heel
            way = way / np.hypot(*way)
            up = np.array([way[1], -way[0]]) * scene.view.direction
            placed.append(ball + px_per_height * ((ahead - BALL_AHEAD_OF_ANKLE) * way + high * up))
        parts.append(Polygon(placed).buffer(0))
    return union_all(parts)


def half_filled(outline: MultiPolygon | Polygon, left: int, top: int) -> np.ndarray:
    """Return which of 7 × 7 pixels the outline fills by half or more."""
    pixels = (
        [box(left + i, top + j, left + i + 1, top + j + 1) for i in range(7)] for j in range(7)
    )
    return np.array([[outline.intersection(each).area >= 0.5 for each in row] for row in pixels])


@pytest.mark.parametrize("scene", [WELL, pytest.param(OVER, marks=pytest.mark.long)])
def test_far_limbs_are_clearly_darker_than_near_ones(scene: Scene) -> None:
    t = key_times(scene.style)["peak knee lift"]
    picture = np.asarray(draw_step(scene, t), float).mean(2)
    points = true_points(scene.style, t, scene.view)
    near, far = (
        brightness(picture, points[f"{side} knee"], points[f"{side} ankle"])
        for side in ("near", "far")
    )
    assert 0.4 < far / near < 0.82


def brightness(picture: np.ndarray, a: np.ndarray, b: np.ndarray) -> float:
    """Mean along the middle of a limb."""
    places = [a + s * (b - a) for s in np.linspace(0.15, 0.6, 12)]
    return float(np.mean([picture[int(y), int(x)] for x, y in places]))


def test_the_runner_looks_where_the_run_goes() -> None:
    # Mirrored runners lean on the same pixels, mirrored, in silhouette.
    there = draw_step(WELL, 0.05)
    back = draw_step(replace(WELL, view=replace(WELL.view, direction=-1)), 0.05)
    bare = np.asarray(draw_step(ELSEWHERE, 0.05), float)
    shapes = [np.abs(np.asarray(p, float) - bare).sum(2) > 40 for p in (there, back)]
    above = slice(100, 560)  # above the shadow, which always falls to the left
    agree = shapes[0][above] == shapes[1][above, ::-1]
    assert agree.mean() > 0.99
