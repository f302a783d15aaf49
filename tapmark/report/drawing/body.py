"""A runner as a handful of angles: lengths, points, the shoe, and stand-in poses."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from types import MappingProxyType
from typing import Final, Literal

from tapmark.marks.points import MID_STANCE, OPPOSITE_TOUCHDOWN, PEAK_KNEE_LIFT, TOE_OFF, TOUCHDOWN

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


@lru_cache(maxsize=256)
def points_of(pose: Pose) -> Points:
    """Return the named points of a pose: hip, neck, shoulder, head, both legs, both arms.

    A page asks for those of a few poses some hundred times.
    """
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
        knee = along(hip, leg.thigh, build.thigh)
        ankle = along(knee, leg.shank, build.shank)
        elbow = along(shoulder, arm.upper, build.upper_arm)
        points |= {
            f"{side} knee": knee,
            f"{side} ankle": ankle,
            f"{side} heel": turned(ankle, HEEL[0], HEEL[1] - ANKLE_UP, leg.foot),
            f"{side} toe": turned(ankle, TOE[0], TOE[1] - ANKLE_UP, leg.foot),
            f"{side} elbow": elbow,
            f"{side} wrist": along(elbow, arm.fore, build.forearm),
        }
    return MappingProxyType(points)


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


_SOLE: Final = (  # right half of a sole, heel first
    *((0.0, -4.2), (0.95, -3.9), (1.5, -2.8), (1.4, -1.2), (1.25, 0.2)),
    *((1.65, 1.6), (1.8, 2.6), (1.3, 3.7), (0.0, 4.2)),
)


def sole_outline() -> list[Point]:
    """Return the outline around (0, 0), heel at y = −4.2 and toe at 4.2, rounded (Catmull-Rom)."""
    ring = [*_SOLE, *((-x, y) for x, y in reversed(_SOLE[1:-1]))]
    outline = []
    for i in range(len(ring)):
        four = [ring[(i + k) % len(ring)] for k in (-1, 0, 1, 2)]
        for t in (step / 5 for step in range(5)):
            weights = (
                (-t + 2 * t**2 - t**3) / 2,
                (2 - 5 * t**2 + 3 * t**3) / 2,
                (t + 4 * t**2 - 3 * t**3) / 2,
                (-(t**2) + t**3) / 2,
            )
            pairs = [(w * x, w * y) for w, (x, y) in zip(weights, four, strict=True)]
            outline.append((sum(x for x, _ in pairs), sum(y for _, y in pairs)))
    return outline


CONTACT: Final[dict[str, Side]] = {
    TOUCHDOWN: "near",
    MID_STANCE: "near",
    TOE_OFF: "near",
    OPPOSITE_TOUCHDOWN: "far",
}
LEADING: Final[dict[str, Side]] = {**CONTACT, PEAK_KNEE_LIFT: "far"}
STAND_IN: Final = {
    TOUCHDOWN: on_ground(
        Pose(7, Leg(26, 2), Leg(-4, -106, -128), Arm(-38, 40), Arm(36, 118)), "near"
    ),
    MID_STANCE: on_ground(
        Pose(8, Leg(16, -17), Leg(28, -92, -112), Arm(-6, 74), Arm(8, 96)), "near"
    ),
    TOE_OFF: on_ground(
        Pose(8, Leg(-27, -47, -56), Leg(58, -30, -38), Arm(44, 126), Arm(-54, 24)), "near"
    ),
    PEAK_KNEE_LIFT: Pose(
        7, Leg(-22, -78, -104), Leg(66, -12, -18), Arm(48, 132), Arm(-58, 18), hip_up=0.555
    ),
    OPPOSITE_TOUCHDOWN: on_ground(
        Pose(7, Leg(-4, -106, -128), Leg(26, 2), Arm(34, 118), Arm(-38, 40)), "far"
    ),
}
