"""A film's pictures: the head of a drawn runner is gone from every frame, figures go on evenly.

The head is that of tests/drawn_runner (its outline and hair, without a tied tail), which shares no
code with the covering; taps and frames are off by a seeded coach's honest errors. Not simulated: a
runner who turns the head away, and a camera that moves, which is refused.
"""

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from PIL import Image, ImageDraw

from tapmark.errors import NoConsent, NotThere
from tapmark.marks.edits import draw, follow, remove_tap
from tapmark.marks.run import FreeMark, Place, Run
from tapmark.measures.setting import setting_of
from tapmark.report.drawing.body import points_of, sole
from tapmark.report.drawing.pose import between, step_poses
from tapmark.report.pages.film import (
    CUE_HELD,
    HELD,
    SIZE_PX,
    FaceTrack,
    Film,
    FilmContent,
    FilmRunner,
    Moment,
)
from tests.drawn_runner.athletes import OVERSTRIDES, RUNS_WELL
from tests.drawn_runner.camera import View
from tests.drawn_runner.drawn import centred, true_points
from tests.drawn_runner.head import head_outlines
from tests.drawn_runner.pose import Pose
from tests.drawn_runner.runs import LEAD_IN, drawn_run
from tests.drawn_runner.style import Style

pytestmark = pytest.mark.usefixtures("plain_limbs")

RUN = drawn_run(RUNS_WELL, seed=1)
FRAMES = RUN.steps[0].key_frames


def track_of(run: Run) -> FaceTrack:
    frames = sorted(run.steps[0].key_frames, key=lambda frame: frame.picture)
    return FaceTrack(run, frames, setting_of(run, run.steps[0]).effective_hz)


@cache
def head(style: Style, view: View, hz: float, number: int) -> tuple[np.ndarray, np.ndarray]:
    """Return rows and columns of the drawn head's pixels in a picture of a run of drawn_run."""
    at_s = (number - LEAD_IN + 0.5) / hz
    points = {name: xy[0] for name, xy in true_points(style, np.array([at_s]), view).items()}
    pose = Pose(points, style.height_m * view.px_per_m, view.direction, {})
    picture = Image.new("L", (view.width, view.height))
    for outline in head_outlines(pose):
        ImageDraw.Draw(picture).polygon([tuple(at) for at in outline], fill=255)
    rows, columns = np.nonzero(np.asarray(picture))
    return rows, columns


@pytest.mark.parametrize("hz", [60.0, 240.0])
@pytest.mark.parametrize(("style", "direction"), [(RUNS_WELL, 1), (OVERSTRIDES, -1)])
def test_the_head_is_covered_in_every_frame_between_the_taps(
    style: Style, direction: int, hz: float
) -> None:
    """Of every head at least 99.5 % of its pixels; six coaches a runner."""
    view = centred(style, View(direction=direction))
    for seed in range(6):
        run = drawn_run(style, View(direction=direction), seed=seed, rate_hz=hz)
        track, numbers = track_of(run), [f.picture for f in run.steps[0].key_frames]
        for number in range(min(numbers), max(numbers) + 1):
            (x, y), r = (disc := track.at(number)[1]).centre, disc.radius
            rows, columns = head(style, view, hz, number)
            inside = np.hypot(columns + 0.5 - x, rows + 0.5 - y) <= r
            assert len(rows) > 500
            assert inside.mean() >= 0.995, (seed, number)


def test_a_face_that_cannot_be_followed_is_refused_in_words() -> None:
    moving = replace(RUN, set_up=replace(RUN.set_up, camera="panned"))
    bare = remove_tap(RUN, 0, "toe-off", "shoulder")
    slow = replace(RUN, set_up=replace(RUN.set_up, slow_factor=0.1))

    for run, words in ((moving, "camera moved"), (bare, "also on toe-off"), (slow, "too long")):
        with pytest.raises(NoConsent, match=words):
            track_of(run)


def test_a_pose_half_way_is_half_way_in_every_part_and_turns_the_short_way() -> None:
    poses = step_poses(RUN)
    first, second = poses["peak knee lift"], poses["opposite touchdown"]

    half = between(first, second, 0.5, None)

    assert half.trunk == pytest.approx((first.trunk + second.trunk) / 2)
    assert half.near_leg.thigh == pytest.approx((first.near_leg.thigh + second.near_leg.thigh) / 2)
    assert between(first, second, 0.0, None).far_leg == first.far_leg
    wound = replace(second, near_leg=replace(second.near_leg, shank=second.near_leg.shank + 360.0))
    assert between(first, wound, 0.5, None).near_leg.shank == pytest.approx(half.near_leg.shank)


def film_of(*runs: Run, cue: str = "Run tall", still=None) -> Film:  # type: ignore[no-untyped-def]
    runners = tuple(
        FilmRunner(f"K0{i}", run, 0, {"toe-off": Moment("toe-off", "Drive", "24 ± 4°")}, still)
        for i, run in enumerate(runs)
    )
    return Film(FilmContent(runners, cue, "drawn between 5 marked frames"))


def test_a_film_stands_at_each_key_frame_and_moves_in_between() -> None:
    """Slowed eight times at 30 frames a second: 240 frames for each true second of the step."""
    film = film_of(RUN)
    shown = list(film.frames())
    step_s = FRAMES[-1].time_s - FRAMES[0].time_s

    held = [n for _, n in shown if n > 1]
    assert held == [HELD] * 5 + [CUE_HELD]
    assert sum(n for _, n in shown) == film.n_frames
    assert sum(n == 1 for _, n in shown) == pytest.approx(240 * step_s, abs=5)
    assert {picture.size for picture, _ in shown} == {SIZE_PX}
    hips = [np.nonzero(np.asarray(p.convert("L"))[180:560] < 60)[1].mean() for p, _ in shown[:-1]]
    assert hips[-1] > hips[0] + 100  # left to right, and never far back
    assert min(np.diff(hips)) > -12


def test_the_foot_stays_where_it_is_while_it_is_on_the_ground() -> None:
    film = film_of(RUN)
    (scene,) = film._scenes  # noqa: SLF001 – where the drawn foot is shows in no picture
    toes = []
    for at, _ in film._steps:  # noqa: SLF001
        if at.i < film.events.index("toe-off"):
            pose = scene._pose(at)  # noqa: SLF001
            toes.append(scene._hip_x(at) + points_of(pose)["near toe"][0] * scene.height)  # noqa: SLF001

    assert max(toes) - min(toes) < 0.5


def test_a_knee_lifted_before_toe_off_leaves_the_foot_on_the_ground() -> None:
    """Slow runners lift the knee before they leave the ground."""
    swapped = {"toe-off": FRAMES[3].picture, "peak knee lift": FRAMES[2].picture}
    frames = tuple(replace(f, picture=swapped.get(f.event, f.picture)) for f in FRAMES)
    film = film_of(replace(RUN, steps=(replace(RUN.steps[0], key_frames=frames),)))
    (scene,) = film._scenes  # noqa: SLF001 – where the drawn foot is shows in no picture

    assert film.events.index("peak knee lift") < film.events.index("toe-off")
    for i, pose in enumerate(scene.poses):
        if i <= film.events.index("toe-off"):
            assert sole(pose, "near") == pytest.approx(0.0, abs=1e-9)


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """A step that is slowed less has fewer frames between its stops."""
    monkeypatch.setattr("tapmark.report.pages.film.SLOWED", 2.0)


def test_own_lines_and_paths_are_in_the_film(quick: None) -> None:
    hip, ankle = FRAMES[0].at("hip"), FRAMES[0].at("near ankle")
    drawn = draw(RUN, FreeMark("line", FRAMES[0].picture, (hip, ankle)))
    drawn = draw(drawn, FreeMark("note", FRAMES[0].picture, (hip,), "here"))
    for frame in FRAMES:
        drawn = follow(drawn, "hip", Place(frame.picture, frame.at("hip")))

    plain, marked = ([np.asarray(p) for p, _ in film_of(run).frames()] for run in (RUN, drawn))

    assert len(plain) == len(marked)
    assert (plain[0] != marked[0]).any(axis=2).sum() > 500
    assert (plain[-2] != marked[-2]).any(axis=2).sum() > 50  # the trail is still there


def test_two_runners_stand_at_their_key_frames_together(quick: None) -> None:
    other = drawn_run(OVERSTRIDES, View(direction=-1), seed=2)
    film = film_of(RUN, other, cue="")

    assert [n for _, n in film.frames() if n > 1] == [HELD] * 5
    assert film.events == tuple(frame.event for frame in FRAMES)


def test_a_filmed_runner_is_cut_out_and_the_face_is_gone() -> None:
    def still(number: int) -> Image.Image:
        return Image.new("RGB", RUN.source.size_px, (10, 200, 40))

    film = film_of(RUN, still=still)
    picture, n = next(film.frames())
    dark = (np.asarray(picture)[:680, :680] == (31, 41, 51)).all(axis=2)  # palette.INK

    assert n == HELD
    leg = math.dist(FRAMES[0].at("hip"), FRAMES[0].at("near ankle"))
    assert dark.sum() > leg**2 / 20


@pytest.mark.parametrize("n", [0, 1])
def test_a_step_with_fewer_than_two_drawable_frames_is_refused(n: int) -> None:
    few = replace(RUN, steps=(replace(RUN.steps[0], key_frames=FRAMES[:n]),))

    with pytest.raises(NotThere, match="needs two key frames"):
        film_of(few)


def test_key_frames_in_another_order_in_the_other_run_are_left_out() -> None:
    """Slow runners lift the knee before they leave the ground."""
    swapped = {"toe-off": FRAMES[3].picture, "peak knee lift": FRAMES[2].picture}
    frames = tuple(replace(f, picture=swapped.get(f.event, f.picture)) for f in FRAMES)
    other = replace(RUN, steps=(replace(RUN.steps[0], key_frames=frames),))

    assert film_of(RUN, other).events == ("touchdown", "mid-stance", "opposite touchdown")
