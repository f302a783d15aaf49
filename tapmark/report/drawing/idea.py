"""You, and the idea: the athlete's own pose, and the same pose with one fault put right.

Poses only; pair draws them.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Final

from tapmark.marks.points import MID_STANCE, OPPOSITE_TOUCHDOWN, PEAK_KNEE_LIFT, TOE_OFF, TOUCHDOWN
from tapmark.report.drawing.body import (
    CONTACT,
    Arm,
    Leg,
    Pose,
    Side,
    above_ground,
    on_ground,
    points_of,
)

Poses = Mapping[str, Pose]
Change = Callable[[Pose, Side, Poses], Pose]
PLUMB, LEVEL, LEAN, BEND, THIGH = "plumb", "level", "lean", "bend", "thigh"
ANGLES: Final = (LEAN, BEND, THIGH)


@dataclass(frozen=True)
class Measure:
    """What the dotted line of a pair shows, and which row of the catalogue doubts it.

    kind:    "plumb": how far `end` lies ahead of a plumb line through `start`; "level": how high
             `start` is; "lean", "bend", "thigh": the angle at `start` from upright, from the
             line of the thigh, from straight down.
    row:     its doubt is that of this row; per_leg says that the row is in % of leg, not in °.
    beyond:  +1 where you have more than the idea, −1 where you have less.
    sign:    sign that your own value must have for the words beside it to be true.
    """

    kind: str
    start: str
    end: str = ""
    row: str = ""
    per_leg: bool = False
    beyond: int = 1
    sign: int = 1

    def value(self, pose: Pose) -> float:
        """Return what is shown of a pose, in body heights or degrees."""
        points = points_of(pose)
        if self.kind == PLUMB:
            return points[self.end][0] - points[self.start][0]
        if self.kind == LEVEL:
            return points[self.start][1]
        if self.kind == LEAN:
            return pose.trunk
        leg = self._leg(pose)
        return 180.0 - leg.knee if self.kind == BEND else leg.thigh

    def length(self, pose: Pose) -> float:
        """Return how far start and end are apart, in body heights."""
        points = points_of(pose)
        return math.dist(points[self.start], points[self.end])

    def direction(self, pose: Pose) -> float:
        """Return where the dotted line of an angle runs, in degrees from straight down."""
        return {LEAN: 180.0, THIGH: 0.0, BEND: self._leg(pose).thigh}[self.kind]

    def _leg(self, pose: Pose) -> Leg:
        return pose.leg("far" if "far" in f"{self.start} {self.end}" else "near")


@dataclass(frozen=True)
class Pair:
    """Two poses that differ in one thing only.

    solid:    what is drawn in ink in both.
    measure:  what the dotted line shows; None where there is none.
    targets:  joints marked with a small target.
    """

    event: str
    you: Pose
    idea: Pose
    solid: frozenset[str]
    measure: Measure | None = None
    targets: tuple[str, ...] = ()

    @property
    def away(self) -> float:
        """How far you are past the idea, in body heights or degrees; negative on its other side."""
        if self.measure is None:
            return 0.0
        return self.measure.beyond * (self.measure.value(self.you) - self.measure.value(self.idea))


@dataclass(frozen=True)
class _Rule:
    """How an item is put right.

    speaks_of:  "contact", "swing" or "near" leg, "trunk" or "arms".
    measure, targets: point names with "leg" for the leg spoken of and "other" for the other.
    """

    events: tuple[str, ...]
    speaks_of: str
    change: Change
    measure: Measure | None = None
    targets: tuple[str, ...] = ()


_SIDES: Final[tuple[Side, Side]] = ("near", "far")


def pair_of(item: int, poses: Poses, is_far: bool = False) -> Pair | None:
    """Return the pair for an item, or None.

    is_far: the item is worst at the far foot, so its contact is opposite touchdown.
    None where the athlete's own pose is missing, and where it already is as the idea has it: then
    the idea would show a step back. Items 16 to 18 are seen from behind or in front.
    """
    pair = _paired(_RULES.get(item), poses, is_far)
    return pair if pair and (pair.measure is None or pair.away > 0) else None


def _paired(rule: _Rule | None, poses: Poses, is_far: bool) -> Pair | None:
    order = rule.events[:: -1 if is_far else 1] if rule else ()
    event = next((each for each in order if each in poses), None)
    if rule is None or event is None:
        return None
    side, other = _SIDES if CONTACT.get(event, "near") == "near" else _SIDES[::-1]
    if rule.speaks_of == "swing":
        side, other = other, side
    you = poses[event]
    idea = rule.change(you, side, poses)
    idea = on_ground(idea, CONTACT[event]) if event in CONTACT else above_ground(idea)

    def named(point: str) -> str:
        return point.replace("leg ", f"{side} ").replace("other ", f"{other} ")

    measure = rule.measure
    if measure:
        measure = replace(measure, start=named(measure.start), end=named(measure.end))
    solid = {"trunk": "trunk", "arms": "near arm"}.get(rule.speaks_of, f"{side} leg")
    return Pair(event, you, idea, frozenset({solid}), measure, tuple(map(named, rule.targets)))


def _leg(put_right: Callable[[Leg], Leg]) -> Change:
    """Return the change of the leg that is spoken of alone."""
    return lambda pose, side, poses: pose.with_leg(side, put_right(pose.leg(side)))


def _from_hip(leg: Leg, thigh: float) -> Leg:
    """Turn a whole leg at the hip; knee and ankle keep their angles."""
    by = thigh - leg.thigh
    return Leg(thigh, leg.shank + by, leg.foot + by)


def _knee_beside(pose: Pose, side: Side, poses: Poses) -> Pose:
    leg, stance = pose.leg(side), pose.leg("far" if side == "near" else "near")
    return pose.with_leg(side, _from_hip(leg, max(leg.thigh, stance.thigh - 20.0)))


def _pushed_to(thigh: float, bend: float | None = None) -> Change:
    def push(leg: Leg) -> Leg:
        shank = thigh - (leg.thigh - leg.shank if bend is None else bend)
        return Leg(thigh, shank, leg.foot + 0.5 * (shank - leg.shank))

    return _leg(push)


def _standing(bend: float) -> Leg:
    """Return a standing leg bent by that much, the hip over the ankle."""
    return Leg(bend / 2, -bend / 2)


def _stiff(pose: Pose, side: Side, poses: Poses) -> Pose:
    landed = poses.get(TOUCHDOWN)
    bend = 180.0 - landed.leg(side).knee + 12.0 if landed else 34.0
    return pose.with_leg(side, _standing(min(bend, 180.0 - pose.leg(side).knee)))


def _lean(degrees: float) -> Change:
    return lambda pose, side, poses: replace(pose, trunk=degrees)


def _in_time(pose: Pose, side: Side, poses: Poses) -> Pose:
    return replace(pose, near_arm=Arm(46.0, 132.0), far_arm=Arm(-56.0, 22.0))


_UNDER: Final = _leg(lambda leg: replace(leg, shank=2.0))
_SOFT: Final = _leg(lambda leg: replace(leg, shank=leg.thigh - 27.0))
_THROUGH: Final = _leg(lambda leg: _from_hip(leg, max(leg.thigh, 4.0)))
_TALL: Final = _leg(lambda leg: _standing(34.0))
_DOWN: Final = _leg(lambda leg: replace(leg, thigh=min(leg.thigh, 31.0), shank=2.0))
_FOLDED: Final = _leg(lambda leg: Leg(leg.thigh, leg.thigh - 132.0, leg.thigh - 132.0 - 20.0))
_LIFTED: Final = _leg(lambda leg: _from_hip(leg, max(leg.thigh, 66.0)))
LANDING: Final = (TOUCHDOWN, OPPOSITE_TOUCHDOWN)
KNEE, ANKLE, OTHER = "leg knee", "leg ankle", "other knee"
REACH: Final = Measure(PLUMB, KNEE, ANKLE, "reach")
STRAIGHT: Final = Measure(BEND, KNEE, row="knee_touchdown", beyond=-1)
APART: Final = Measure(PLUMB, KNEE, OTHER, "knee_separation", per_leg=True)
BEHIND: Final = Measure(PLUMB, "hip", KNEE, "separation_behind", True, beyond=-1, sign=-1)
LONG: Final = Measure(PLUMB, "hip", "leg toe", "thigh_toe_off", beyond=-1, sign=-1)
LOW: Final = Measure(LEVEL, "hip", "", "leg_stack", True, -1)
FORWARD: Final = Measure(LEAN, "hip", row="trunk_lean")
SINKS: Final = Measure(BEND, KNEE, row="knee_bend")
HANGS: Final = Measure(THIGH, "hip", KNEE, "thigh_touchdown")
_RULES: Final = {
    1: _Rule(LANDING, "contact", _UNDER, REACH, (KNEE, ANKLE)),
    2: _Rule(LANDING, "contact", _SOFT, STRAIGHT, (KNEE,)),
    3: _Rule(LANDING, "swing", _knee_beside, APART, (KNEE, OTHER)),
    4: _Rule(LANDING[::-1], "swing", _THROUGH, BEHIND, ("hip", KNEE)),
    5: _Rule((TOE_OFF,), "near", _pushed_to(-31.0), LONG, ("hip",)),
    6: _Rule((TOE_OFF,), "near", _pushed_to(-27.0), replace(LONG, beyond=1), ("hip",)),
    7: _Rule((TOE_OFF,), "near", _pushed_to(-28.0, bend=28.0), targets=("hip", KNEE)),
    8: _Rule((MID_STANCE,), "near", _TALL, LOW, ("hip",)),
    9: _Rule(LANDING, "trunk", _lean(7.0), FORWARD),
    10: _Rule(LANDING, "trunk", _lean(6.0), replace(FORWARD, beyond=-1, sign=-1)),
    11: _Rule((MID_STANCE,), "near", _stiff, SINKS, (KNEE,)),
    12: _Rule(LANDING, "contact", _DOWN, HANGS, ("hip",)),
    13: _Rule((MID_STANCE,), "swing", _FOLDED, targets=(KNEE,)),
    14: _Rule((PEAK_KNEE_LIFT,), "swing", _LIFTED, targets=(KNEE,)),
    15: _Rule((PEAK_KNEE_LIFT, TOE_OFF), "arms", _in_time),
}
_SHOWS: Final = {  # strength -> the moment, the limb and the dotted line that show it
    "under_knee": _RULES[1],
    "pushing_contact": _RULES[1],
    "knees_meet": _RULES[3],
    "quick_through": _RULES[4],
    "hip_finishes": _RULES[7],
    "tall": replace(_RULES[8], measure=None),
    "steady_chest": replace(_RULES[9], measure=None),
    "springy": replace(_RULES[11], measure=None),
    "front_leg_down": _RULES[12],
    "compact": _RULES[13],
    "arms_and_legs": _RULES[15],
}


def strength_of(key: str, poses: Poses) -> Pair | None:
    """Return the athlete's own pose that shows a strength, as both poses of a pair; None without.

    What is seen from behind, or in several steps only, has no such pose.
    """
    rule = _SHOWS.get(key)
    return _paired(replace(rule, change=lambda pose, *_: pose), poses, False) if rule else None
