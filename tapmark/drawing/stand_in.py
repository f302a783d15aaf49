"""Stand-in poses of the five key frames: the same for everybody, they only say which moment.

Angles are those of an ordinary fast step (common practice, no source), not a model to copy.
"""

from typing import Final

from tapmark.drawing.body import Arm, Leg, Pose, Side, on_ground
from tapmark.marks.points import (
    MID_STANCE,
    OPPOSITE_TOUCHDOWN,
    PEAK_KNEE_LIFT,
    TOE_OFF,
    TOUCHDOWN,
)

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
