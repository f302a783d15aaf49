"""From taps to poses: one per key frame, all in the scale and on the ground of their step.

Angles come from the taps, lengths from the athlete's own means, so that a limb does not grow
from one figure to the next. What was not tapped follows from rules: feet, hands and far arm
always, the rest from the nearest key frame that shows it, at last from the stand-in.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from statistics import fmean
from types import MappingProxyType
from typing import Final

import numpy as np

from tapmark.geometry.runner_axes import to_runner
from tapmark.marks.points import OPPOSITE_TOUCHDOWN, PEAK_KNEE_LIFT, SIDE_EVENTS, TOE_OFF, TOUCHDOWN
from tapmark.marks.run import KeyFrame, Run
from tapmark.measures.setting import roll_of
from tapmark.report.drawing.body import (
    ANKLE_UP,
    CONTACT,
    LEADING,
    STAND_IN,
    TOE,
    Arm,
    Build,
    Leg,
    Pose,
    Side,
    above_ground,
    on_ground,
)

OWN_RANGE: Final = 0.15  # a part longer or shorter than usual by more is a slip of a tap
TRAILS: Final = 58.0  # near knee bend after toe-off, where no ankle is tapped
HAND_BEHIND, HAND_AHEAD = 82.0, 86.0  # elbow bend of an arm behind or ahead of the trunk
Spots = Mapping[str, tuple[float, float]]


@lru_cache(maxsize=16)  # every part of a page and of the window that draws them asks
def step_poses(run: Run, i_step: int = 0) -> Mapping[str, Pose]:
    """Return key frame -> pose for the key frames whose leading leg is tapped.

    The leading leg is the one on the ground; at peak knee lift, the lifted one.
    """
    step = run.steps[i_step]
    spots = {frame.event: _spots(run, frame) for frame in step.key_frames}
    own = {
        event: spot
        for event, spot in spots.items()
        if {"hip", f"{LEADING.get(event)} knee", f"{LEADING.get(event)} ankle"} <= spot.keys()
    }
    if not own:
        return MappingProxyType({})
    scale = _Scale.of(own)
    raw = {event: _angles(event, spot, scale) for event, spot in own.items()}
    filled = {event: _filled(event, pose, spots[event], raw) for event, pose in raw.items()}
    return MappingProxyType(_standing(filled, own, scale, run.set_up.is_static))


def between(first: Pose, second: Pose, share: float, stands_on: Side | None) -> Pose:
    """Return the pose a share of the way from one to the next, every part by the shorter turn.

    stands_on: the foot that stays on the ground in between; None in flight.
    """

    def part(a: float, b: float) -> float:
        return a + share * ((b - a + 180.0) % 360.0 - 180.0)

    def leg(side: Side) -> Leg:
        a, b = first.leg(side), second.leg(side)
        return Leg(part(a.thigh, b.thigh), part(a.shank, b.shank), part(a.foot, b.foot))

    def arm(a: Arm, b: Arm) -> Arm:
        return Arm(part(a.upper, b.upper), part(a.fore, b.fore))

    pose = Pose(
        part(first.trunk, second.trunk),
        leg("near"),
        leg("far"),
        arm(first.near_arm, second.near_arm),
        arm(first.far_arm, second.far_arm),
        first.hip_up + share * (second.hip_up - first.hip_up),
        first.build,
    )
    return on_ground(pose, stands_on) if stands_on else above_ground(pose)


def _spots(run: Run, frame: KeyFrame) -> Spots:
    placed = {tap.point: tap.at_px for tap in frame.taps if tap.at_px is not None}
    if not placed:
        return {}
    turned = to_runner(np.array(list(placed.values()), dtype=float), roll_of(run), run.travel_sign)
    spots = {name: (float(x), float(y)) for name, (x, y) in zip(placed, turned, strict=True)}
    behind = frame.tap("far knee")
    if behind and behind.certainty == "behind" and "near knee" in spots:
        spots["far knee"] = spots["near knee"]
    return spots


@dataclass(frozen=True)
class _Scale:
    """Pixels of one body height, and the athlete's own proportions."""

    px: float
    build: Build

    @classmethod
    def of(cls, spots: Mapping[str, Spots]) -> "_Scale":
        pairs = [(s, f"{LEADING[event]}") for event, s in spots.items()]
        thigh = fmean(math.dist(s["hip"], s[f"{side} knee"]) for s, side in pairs)
        shank = fmean(math.dist(s[f"{side} knee"], s[f"{side} ankle"]) for s, side in pairs)
        usual = Build()
        px = max((thigh + shank) / (usual.thigh + usual.shank), 1e-6)

        def own(start: str, end: str, usual: float) -> float:
            pairs = [(s[start], s[end]) for s in spots.values() if {start, end} <= s.keys()]
            return _own(fmean(math.dist(*pair) for pair in pairs) / px, usual) if pairs else usual

        build = Build(
            thigh=_own(thigh / px, usual.thigh),
            shank=_own(shank / px, usual.shank),
            trunk=own("hip", "shoulder", usual.trunk),
            upper_arm=own("shoulder", "elbow", usual.upper_arm),
        )
        return cls(px, build)


def _own(length: float, usual: float) -> float:
    return min(max(length, usual * (1 - OWN_RANGE)), usual * (1 + OWN_RANGE))


def _angles(event: str, spots: Spots, scale: _Scale) -> Pose:
    """Return the pose with every angle that is tapped, the rest from the stand-in."""
    usual = STAND_IN[event]
    top = "neck base" if "neck base" in spots else "shoulder"
    pose = replace(
        usual,
        build=scale.build,
        trunk=_hang(spots, "hip", top, usual.trunk, up=1),
        near_leg=_leg(spots, "near", usual.near_leg),
        far_leg=_leg(spots, "far", usual.far_leg),
    )
    if not {"shoulder", "elbow"} <= spots.keys():
        return pose
    upper = _hang(spots, "shoulder", "elbow", usual.near_arm.upper)
    far_upper = _hang(spots, "far shoulder", "far elbow", -0.95 * upper)
    near, far = (each + (HAND_BEHIND if each < 0 else HAND_AHEAD) for each in (upper, far_upper))
    fore = _hang(spots, "elbow", "near wrist", near)
    return replace(pose, near_arm=Arm(upper, fore), far_arm=Arm(far_upper, far))


def _leg(spots: Spots, side: Side, usual: Leg) -> Leg:
    thigh = _hang(spots, "hip", f"{side} knee", usual.thigh)
    shank = _hang(spots, f"{side} knee", f"{side} ankle", thigh - (usual.thigh - usual.shank))
    if usual.foot == 0.0:
        return Leg(thigh, shank)
    foot = shank + usual.foot - usual.shank
    if {f"{side} ankle", f"{side} toe"} <= spots.keys():
        flat = math.degrees(math.atan2(TOE[0], ANKLE_UP - TOE[1]))
        foot = _hang(spots, f"{side} ankle", f"{side} toe", flat) - flat
    return Leg(thigh, shank, foot)


def _hang(spots: Spots, start: str, end: str, by_rule: float, up: int = -1) -> float:
    """Return the direction start -> end, forward +, −180 to 180; by_rule where none is tapped.

    From straight down; up = 1: from upright.
    """
    if not {start, end} <= spots.keys() or spots[start] == spots[end]:
        return by_rule
    (xa, ya), (xb, yb) = spots[start], spots[end]
    return math.degrees(math.atan2(xb - xa, up * (yb - ya)))


def _filled(event: str, pose: Pose, spots: Spots, raw: Mapping[str, Pose]) -> Pose:
    """Fill legs that a key frame does not show from the key frames that do."""
    if event == TOUCHDOWN and "far ankle" not in spots and OPPOSITE_TOUCHDOWN in raw:
        other = raw[OPPOSITE_TOUCHDOWN].near_leg  # the other leg in the same moment
        return _bent(pose, "far", other.thigh - other.shank)
    if event == TOE_OFF and "far knee" not in spots and PEAK_KNEE_LIFT in raw:
        lifted = raw[PEAK_KNEE_LIFT].far_leg
        return replace(pose, far_leg=Leg(lifted.thigh - 9, lifted.shank - 14, lifted.shank - 24))
    if event == PEAK_KNEE_LIFT and "near ankle" not in spots:
        return _bent(pose, "near", TRAILS)
    return pose


def _bent(pose: Pose, side: Side, bend: float) -> Pose:
    leg = pose.leg(side)
    shank = leg.thigh - bend
    return pose.with_leg(side, Leg(leg.thigh, shank, shank - 22.0))


def _standing(
    poses: dict[str, Pose], spots: Mapping[str, Spots], scale: _Scale, is_static: bool
) -> dict[str, Pose]:
    """Put every foot that is on the ground there, and hang the flight between them."""
    placed = {e: on_ground(pose, CONTACT[e]) for e, pose in poses.items() if e in CONTACT}
    floors = [spots[e]["hip"][1] - pose.hip_up * scale.px for e, pose in placed.items()]
    if PEAK_KNEE_LIFT in poses:
        pose = poses[PEAK_KNEE_LIFT]
        if is_static and floors:
            height = (spots[PEAK_KNEE_LIFT]["hip"][1] - fmean(floors)) / scale.px
            pose = replace(pose, hip_up=min(max(height, 0.35), 0.75))
        placed[PEAK_KNEE_LIFT] = above_ground(pose)
    return {event: placed[event] for event in SIDE_EVENTS if event in placed}
