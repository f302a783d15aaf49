"""A runner as a handful of angles: what a figure is drawn from, and where its points lie.

Lengths are in body heights H, runner coordinates: X forward, Y up, hip above X = 0, ground at 0.
Directions are in degrees from straight down, forward positive: a thigh of 30 has its knee ahead.
The lengths are the same for everybody unless the athlete's own taps say otherwise: thigh, shank
and upper arm are the classic fractions of height (Drillis & Contini 1964, as drawn by Winter),
the forearm is a little shorter, which reads better small.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final, Literal

Point = tuple[float, float]
Points = Mapping[str, Point]
Side = Literal["near", "far"]

ANKLE_UP: Final = 0.039
HEEL: Final = (-0.036, 0.0155)  # behind the ankle, and its radius
TOE: Final = (0.110, 0.0115)
HEAD_UP: Final = 0.101  # middle of the head above the neck base


@dataclass(frozen=True)
class Build:
    """Lengths of the drawn parts in body heights; trunk is hip to shoulder."""

    thigh: float = 0.245
    shank: float = 0.246
    trunk: float = 0.288
    upper_arm: float = 0.176
    forearm: float = 0.140


@dataclass(frozen=True)
class Leg:
    """Directions of thigh and shank, and the pitch of the foot: 0 flat, toe up positive."""

    thigh: float
    shank: float
    foot: float = 0.0

    @property
    def knee(self) -> float:
        """Signed knee angle: 180 straight, more = bent backwards."""
        return 180.0 - (self.thigh - self.shank)


@dataclass(frozen=True)
class Arm:
    """Directions of upper arm and forearm."""

    upper: float
    fore: float


@dataclass(frozen=True)
class Pose:
    """One moment of a runner.

    trunk:   lean from upright, forward positive.
    hip_up:  hip above the ground in H.
    """

    trunk: float
    near_leg: Leg
    far_leg: Leg
    near_arm: Arm
    far_arm: Arm
    hip_up: float = 0.5
    build: Build = Build()

    def leg(self, side: Side) -> Leg:
        """Return the near or the far leg."""
        return self.near_leg if side == "near" else self.far_leg

    def with_leg(self, side: Side, leg: Leg) -> "Pose":
        """Return the pose with one leg changed."""
        return replace(self, near_leg=leg) if side == "near" else replace(self, far_leg=leg)


def along(start: Point, direction: float, length: float) -> Point:
    """Return the point a length away; direction in degrees from straight down, forward +."""
    angle = math.radians(direction)
    return start[0] + length * math.sin(angle), start[1] - length * math.cos(angle)


def turned(start: Point, ahead: float, up: float, pitch: float) -> Point:
    """Return start + (ahead, up) turned by a pitch in degrees, toe up positive."""
    cos, sin = math.cos(math.radians(pitch)), math.sin(math.radians(pitch))
    return start[0] + ahead * cos - up * sin, start[1] + ahead * sin + up * cos


def points_of(pose: Pose) -> Points:
    """Return the named points of a pose: hip, neck, shoulder, head, both legs, both arms."""
    hip = (0.0, pose.hip_up)
    up = 180.0 - pose.trunk
    build = pose.build
    neck = along(hip, up, build.trunk * 0.306 / 0.288)
    shoulder = along(hip, up, build.trunk)
    points = {
        "hip": hip,
        "neck": neck,
        "shoulder": shoulder,
        "head": along(neck, 180.0 - 0.5 * pose.trunk - 6.0, HEAD_UP),
    }
    for side, leg, arm in (
        ("near", pose.near_leg, pose.near_arm),
        ("far", pose.far_leg, pose.far_arm),
    ):
        points |= {f"{side} {name}": point for name, point in _leg(hip, leg, build)}
        points |= {f"{side} {name}": point for name, point in _arm(shoulder, arm, build)}
    return points


def _leg(hip: Point, leg: Leg, build: Build) -> tuple[tuple[str, Point], ...]:
    knee = along(hip, leg.thigh, build.thigh)
    ankle = along(knee, leg.shank, build.shank)
    heel = turned(ankle, HEEL[0], HEEL[1] - ANKLE_UP, leg.foot)
    toe = turned(ankle, TOE[0], TOE[1] - ANKLE_UP, leg.foot)
    return ("knee", knee), ("ankle", ankle), ("heel", heel), ("toe", toe)


def _arm(shoulder: Point, arm: Arm, build: Build) -> tuple[tuple[str, Point], ...]:
    elbow = along(shoulder, arm.upper, build.upper_arm)
    return ("elbow", elbow), ("wrist", along(elbow, arm.fore, build.forearm))


def sole(pose: Pose, side: Side) -> float:
    """Return the height of the lowest point of a foot above the ground."""
    points = points_of(pose)
    return min(points[f"{side} heel"][1] - HEEL[1], points[f"{side} toe"][1] - TOE[1])


def on_ground(pose: Pose, side: Side) -> Pose:
    """Return the pose raised or lowered so that one foot just touches the ground."""
    return replace(pose, hip_up=pose.hip_up - sole(pose, side))


def above_ground(pose: Pose) -> Pose:
    """Return the pose, raised where a foot would reach below the ground."""
    lowest = min(sole(pose, "near"), sole(pose, "far"))
    return replace(pose, hip_up=pose.hip_up - min(0.0, lowest))
