"""You, and the idea: the athlete's own pose beside itself with one fault put right, by rule.

Never another person: same lengths, same moment, same arms and head; only the angles that the
item speaks of are set inside its fine band. Angles of the rules are common practice, no source,
and lie where the bands are fine.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Final

from tapmark.drawing.body import Arm, Leg, Pose, Side, above_ground, on_ground
from tapmark.drawing.stand_in import CONTACT
from tapmark.marks.points import (
    MID_STANCE,
    OPPOSITE_TOUCHDOWN,
    PEAK_KNEE_LIFT,
    TOE_OFF,
    TOUCHDOWN,
)

Poses = Mapping[str, Pose]
Change = Callable[[Pose, Side, Poses], Pose]


@dataclass(frozen=True)
class Pair:
    """Two poses that differ in one thing only.

    solid:   what is drawn in ink in both.
    plumbs:  points from which a plumb line drops through the ground; between two of them, or one
             and gap_to, a short gap is shown below the ground.
    targets: joints marked with a small target.
    """

    event: str
    you: Pose
    idea: Pose
    solid: frozenset[str]
    plumbs: tuple[str, ...] = ()
    gap_to: str = ""
    targets: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Rule:
    """How an item is put right.

    speaks_of:  "contact", "swing" or "near" leg, "trunk" or "arms".
    plumbs, gap_to, targets: point names with "leg" for the leg spoken of and "other" for the other.
    """

    events: tuple[str, ...]
    speaks_of: str
    change: Change
    plumbs: tuple[str, ...] = ()
    gap_to: str = ""
    targets: tuple[str, ...] = ()


def pair_of(item: int, poses: Poses, is_far: bool = False) -> Pair | None:
    """Return the pair for an item, or None where the athlete's own pose is missing.

    is_far: the item is worst at the far foot, so its contact is opposite touchdown.
    Items 16 to 18 are seen from behind or in front and have no side view.
    """
    rule = _RULES.get(item)
    if rule is None:
        return None
    order = rule.events[::-1] if is_far else rule.events
    event = next((each for each in order if each in poses), None)
    if event is None:
        return None
    you = poses[event]
    side = _side(rule, event)
    idea = _grounded(rule.change(you, side, poses), event)
    other = "far" if side == "near" else "near"

    def named(point: str) -> str:
        return point.replace("leg ", f"{side} ").replace("other ", f"{other} ")

    return Pair(
        event,
        you,
        idea,
        _solid(rule, side),
        tuple(map(named, rule.plumbs)),
        named(rule.gap_to),
        tuple(map(named, rule.targets)),
    )


def _side(rule: _Rule, event: str) -> Side:
    contact = CONTACT.get(event, "near")
    if rule.speaks_of == "swing":
        return "far" if contact == "near" else "near"
    return contact


def _solid(rule: _Rule, side: Side) -> frozenset[str]:
    if rule.speaks_of == "trunk":
        return frozenset({"trunk"})
    if rule.speaks_of == "arms":
        return frozenset({"near arm"})
    return frozenset({f"{side} leg"})


def _grounded(pose: Pose, event: str) -> Pose:
    return on_ground(pose, CONTACT[event]) if event in CONTACT else above_ground(pose)


def _shank_under(pose: Pose, side: Side, poses: Poses) -> Pose:
    return pose.with_leg(side, replace(pose.leg(side), shank=2.0))


def _soft_knee(pose: Pose, side: Side, poses: Poses) -> Pose:
    leg = pose.leg(side)
    return pose.with_leg(side, replace(leg, shank=leg.thigh - 27.0))


def _knee_beside(pose: Pose, side: Side, poses: Poses) -> Pose:
    stance = pose.leg("far" if side == "near" else "near")
    return _turned_thigh(pose, side, max(pose.leg(side).thigh, stance.thigh - 20.0))


def _came_through(pose: Pose, side: Side, poses: Poses) -> Pose:
    return _turned_thigh(pose, side, max(pose.leg(side).thigh, 4.0))


def _turned_thigh(pose: Pose, side: Side, thigh: float) -> Pose:
    """Turn a whole leg at the hip; knee and ankle keep their angles."""
    leg = pose.leg(side)
    by = thigh - leg.thigh
    return pose.with_leg(side, Leg(thigh, leg.shank + by, leg.foot + by))


def _pushed_to(thigh: float, bend: float | None = None) -> Change:
    def change(pose: Pose, side: Side, poses: Poses) -> Pose:
        leg = pose.leg(side)
        shank = thigh - (leg.thigh - leg.shank if bend is None else bend)
        return pose.with_leg(side, Leg(thigh, shank, leg.foot + 0.5 * (shank - leg.shank)))

    return change


def _tall(pose: Pose, side: Side, poses: Poses) -> Pose:
    return _stance(pose, side, 34.0)


def _stiff(pose: Pose, side: Side, poses: Poses) -> Pose:
    landed = poses.get(TOUCHDOWN)
    bend = 180.0 - landed.leg(side).knee + 12.0 if landed else 34.0
    return _stance(pose, side, min(bend, 180.0 - pose.leg(side).knee))


def _stance(pose: Pose, side: Side, bend: float) -> Pose:
    """Bend the standing leg by that much with the hip over the ankle."""
    return pose.with_leg(side, Leg(bend / 2, -bend / 2))


def _lean(degrees: float) -> Change:
    return lambda pose, side, poses: replace(pose, trunk=degrees)


def _straight_down(pose: Pose, side: Side, poses: Poses) -> Pose:
    thigh = min(pose.leg(side).thigh, 31.0)
    return pose.with_leg(side, replace(pose.leg(side), thigh=thigh, shank=2.0))


def _folded(pose: Pose, side: Side, poses: Poses) -> Pose:
    leg = pose.leg(side)
    shank = leg.thigh - 132.0
    return pose.with_leg(side, Leg(leg.thigh, shank, shank - 20.0))


def _lifted(pose: Pose, side: Side, poses: Poses) -> Pose:
    return _turned_thigh(pose, "far", max(pose.far_leg.thigh, 66.0))


def _in_time(pose: Pose, side: Side, poses: Poses) -> Pose:
    return replace(pose, near_arm=Arm(46.0, 132.0), far_arm=Arm(-56.0, 22.0))


_LANDING: Final = (TOUCHDOWN, OPPOSITE_TOUCHDOWN)
_RULES: Final = {
    1: _Rule(
        _LANDING, "contact", _shank_under, ("leg knee",), "leg ankle", ("leg knee", "leg ankle")
    ),
    2: _Rule(_LANDING, "contact", _soft_knee, targets=("leg knee",)),
    3: _Rule(
        _LANDING, "swing", _knee_beside, ("leg knee", "other knee"), "", ("leg knee", "other knee")
    ),
    4: _Rule((OPPOSITE_TOUCHDOWN, TOUCHDOWN), "swing", _came_through, targets=("leg knee",)),
    5: _Rule((TOE_OFF,), "near", _pushed_to(-31.0), ("hip",), "leg toe"),
    6: _Rule((TOE_OFF,), "near", _pushed_to(-27.0), ("hip",), "leg toe"),
    7: _Rule((TOE_OFF,), "near", _pushed_to(-28.0, bend=28.0), targets=("leg knee",)),
    8: _Rule((MID_STANCE,), "near", _tall, targets=("leg knee",)),
    9: _Rule(_LANDING, "trunk", _lean(7.0)),
    10: _Rule(_LANDING, "trunk", _lean(6.0)),
    11: _Rule((MID_STANCE,), "near", _stiff, targets=("leg knee",)),
    12: _Rule(
        (OPPOSITE_TOUCHDOWN, TOUCHDOWN),
        "contact",
        _straight_down,
        ("leg knee",),
        "leg ankle",
        ("leg ankle",),
    ),
    13: _Rule((MID_STANCE,), "swing", _folded, targets=("leg knee",)),
    14: _Rule((PEAK_KNEE_LIFT,), "swing", _lifted, targets=("far knee",)),
    15: _Rule((PEAK_KNEE_LIFT, TOE_OFF), "arms", _in_time),
}
