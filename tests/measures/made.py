"""Runs made by hand: angles in, marked run out, by a small forward kinematics of this file.

A pose is given by trunk lean, thigh and shank of either leg, upper arm and the hip's place, all in
degrees and in parts of standing height; the body ratios are those of the reference postures
(trunk 0.288, thigh 0.245, shank 0.246). Places are turned into px here, not by the measures.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import cos, radians, sin

from tapmark.marks.points import STANDARD
from tapmark.marks.run import KeyFrame, Point, Run, SetUp, Source, Step, Tap, TurningMark
from tapmark.measures.result import Measured, NotMeasured, Result, Results

TRUNK, THIGH, SHANK, UPPER_ARM, FOOT = 0.288, 0.245, 0.246, 0.186, 0.112
PX = 600.0  # px per standing height
SIZE = (3000, 1200)
MIDDLE = (1500.0, 700.0)


@dataclass(frozen=True)
class Pose:
    """One posture; angles as in geometry.planar. hip: X, Y in standing heights."""

    lean: float
    near: tuple[float, float]
    far: tuple[float, float]
    hip: tuple[float, float] = (0.0, 0.0)
    arm: float = 0.0


# A sprinter's step: knee 154 at touchdown, 140 at mid-stance, thigh −30 at toe-off.
POSES = {
    "touchdown": Pose(8.0, (30.0, 4.0), (-10.0, -110.0), (-0.55, 0.0), -50.0),
    "mid-stance": Pose(7.0, (18.0, -22.0), (25.0, -115.0), (-0.42, -0.02), -10.0),
    "toe-off": Pose(6.0, (-30.0, -46.0), (65.0, -25.0), (0.0, 0.0), 40.0),
    "peak knee lift": Pose(6.0, (-34.0, -60.0), (68.0, -20.0), (0.05, 0.01), 42.0),
    "opposite touchdown": Pose(8.0, (-8.0, -112.0), (29.0, 3.0), (0.60, 0.0), 45.0),
}
PICTURES = {
    "touchdown": 100,
    "mid-stance": 109,
    "toe-off": 125,
    "peak knee lift": 127,
    "opposite touchdown": 154,
}
SET_UP = SetUp(
    slow_factor=1.0, rate_source="typed", camera="tripod, levelled", camera_distance_m=12.0
)


def below(start: Point, length: float, hang_deg: float) -> Point:
    """Return the end of a part hanging at an angle from straight down, X forward, Y up."""
    rad = radians(hang_deg)
    return start[0] + length * sin(rad), start[1] - length * cos(rad)


def places(pose: Pose) -> dict[str, Point]:
    """Return every standard point of a pose, and toe, neck base and heel, in heights."""
    hip = pose.hip
    shoulder = below(hip, TRUNK, 180.0 - pose.lean)
    found = {"hip": hip, "shoulder": shoulder, "neck base": shoulder}
    found["elbow"] = below(shoulder, UPPER_ARM, pose.arm)
    for side, (thigh, shank) in (("near", pose.near), ("far", pose.far)):
        knee = below(hip, THIGH, thigh)
        ankle = below(knee, SHANK, shank)
        found |= {f"{side} knee": knee, f"{side} ankle": ankle}
        found[f"{side} toe"] = below(ankle, FOOT, shank + 60.0)
    return found


def px(
    place: Point, *, sign: int = 1, roll_deg: float = 0.0, zoom: float = 1.0, shift: Point = (0, 0)
) -> Point:
    """Return a place in px: mirrored by sign, turned by the camera's roll about the middle."""
    x, y = sign * place[0] * PX * zoom, -place[1] * PX * zoom
    c, s = cos(radians(roll_deg)), sin(radians(roll_deg))
    return MIDDLE[0] + x * c - y * s + shift[0], MIDDLE[1] + x * s + y * c + shift[1]


def run_of(
    poses: Mapping[str, Pose] = POSES,
    *,
    points: Mapping[str, tuple[str, ...]] = STANDARD,
    pictures: Mapping[str, int] = PICTURES,
    hz: float = 240.0,
    sign: int = 1,
    roll_deg: float = 0.0,
    zoom: float = 1.0,
    shift: Point = (0.0, 0.0),
    set_up: SetUp = SET_UP,
) -> Run:
    """Return a marked run; a mirrored one runs right to left."""
    frames = []
    for event, pose in poses.items():
        at = places(pose)
        taps = tuple(
            Tap(point, px(at[point], sign=sign, roll_deg=roll_deg, zoom=zoom, shift=shift))
            for point in points[event]
        )
        picture = pictures[event]
        frames.append(KeyFrame(event, picture, picture / hz, 1 / hz, taps=taps))
    direction = "left to right" if sign > 0 else "right to left"
    return Run(
        source=Source("clip", "made.mp4", SIZE),
        set_up=replace(set_up, direction=direction),
        steps=(Step(tuple(frames)),),
    )


def with_set_up(run: Run, **answers: object) -> Run:
    """Return a run with other answers to the filming questions."""
    return replace(run, set_up=replace(run.set_up, **answers))  # type: ignore[arg-type]


def with_tap(run: Run, event: str, tap: Tap) -> Run:
    """Return a run with a tap in the place of the one of that point."""
    return with_frame(
        run,
        event,
        lambda frame: replace(
            frame, taps=(*(old for old in frame.taps if old.point != tap.point), tap)
        ),
    )


def without(run: Run, event: str, point: str) -> Run:
    """Return a run in which that point was never tapped."""
    return with_frame(
        run,
        event,
        lambda frame: replace(frame, taps=tuple(t for t in frame.taps if t.point != point)),
    )


def with_frame(run: Run, event: str, change) -> Run:  # type: ignore[no-untyped-def]
    """Return a run whose key frame of an event went through a function; None drops it."""
    step = run.steps[0]
    frames = (change(f) if f.event == event else f for f in step.key_frames)
    kept = tuple(frame for frame in frames if frame is not None)
    return replace(run, steps=(replace(step, key_frames=kept), *run.steps[1:]))


def with_turns(run: Run, **marks: tuple[float, float]) -> Run:
    """Return a run with turning marks, first and last second each; names with _ for spaces."""
    turns = tuple(
        TurningMark(limb.replace("_", " "), int(240 * first), int(240 * last), first, last)
        for limb, (first, last) in marks.items()
    )
    return replace(run, steps=(replace(run.steps[0], turning_marks=turns), *run.steps[1:]))


def at(run: Run, event: str, point: str) -> Point:
    """Return where a point was tapped, px."""
    frame = run.steps[0].key_frame(event)
    place = frame.at(point) if frame else None
    assert place is not None
    return place


def moved(run: Run, event: str, point: str, dx: float, dy: float, certainty: str = "sure") -> Run:
    """Return a run with one tap moved by so many px."""
    x, y = at(run, event, point)
    return with_tap(run, event, Tap(point, (x + dx, y + dy), certainty))


def number(results: Results, key: str, leg: str = "") -> Measured:
    """Return a row that must have been measured."""
    row = results.row(key, leg)
    assert isinstance(row, Measured), row
    return row


def reason(results: Results, key: str, leg: str = "") -> str:
    """Return why a row was not measured."""
    row: Result = results.row(key, leg)
    assert isinstance(row, NotMeasured), row
    return row.reason
