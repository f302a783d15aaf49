"""The formulas, one function for each catalogue row, on the rows of a posture.

Each takes the posture and the leg of the catalogue and gives shape (N,) in the row's unit. What a
leg means: for rows at contact the leg that lands, for the others see the row. Formula and source
stand in the catalogue.
"""

from collections.abc import Callable

import numpy as np

from tapmark.geometry.planar import (
    Array,
    hang_deg,
    hip_deg,
    joint_deg,
    lean_deg,
    length,
    turned_deg,
)
from tapmark.marks.points import (
    MID_STANCE,
    OPPOSITE_TOUCHDOWN,
    PEAK_KNEE_LIFT,
    TOE_OFF,
    TOUCHDOWN,
)
from tapmark.measures.posture import Posture

MS = 1000.0
Joint = tuple[str, str]


def thigh(p: Posture, event: str, leg: str) -> Array:
    """Return a thigh's angle from straight down, knee in front +, in degrees."""
    return hang_deg(p.hip(event, leg), p.knee(event, leg))


def shank(p: Posture, event: str, leg: str) -> Array:
    """Return a shank's angle from straight down, ankle ahead of the knee +, in degrees."""
    return hang_deg(p.knee(event, leg), p.ankle(event, leg))


def knee(p: Posture, event: str, leg: str) -> Array:
    """Return a knee's angle, 180 straight, signed, in degrees."""
    return joint_deg(thigh(p, event, leg), shank(p, event, leg))


def trunk(p: Posture, event: str) -> Array:
    """Return the lean of the trunk, forward +, in degrees."""
    return lean_deg(p.at(event, "hip"), p.trunk_top(event))


def contact_s(p: Posture) -> Array:
    """Return the near foot's contact time in s: first to last picture touching and one interval."""
    return p.time_s(TOE_OFF) - p.time_s(TOUCHDOWN) + _interval(p, TOE_OFF)


def step_s(p: Posture) -> Array:
    """Return the step time in s."""
    return p.time_s(OPPOSITE_TOUCHDOWN) - p.time_s(TOUCHDOWN)


def thigh_turn(p: Posture) -> Array:
    """Return how far the near thigh turns back from mid-stance to toe-off, in degrees."""
    return turned_deg(thigh(p, TOE_OFF, "near"), thigh(p, MID_STANCE, "near"))


def knee_opening(p: Posture) -> Array:
    """Return how far the near knee opens from mid-stance to toe-off, in degrees."""
    return knee(p, TOE_OFF, "near") - knee(p, MID_STANCE, "near")


def _landing(leg: str) -> str:
    return TOUCHDOWN if leg == "near" else OPPOSITE_TOUCHDOWN


def _other(leg: str) -> str:
    return "far" if leg == "near" else "near"


def _forward(p: Posture, leg: str, start: Joint, end: Joint) -> Array:
    """Return how far end lies ahead of start as a leg lands, in % of leg.

    start, end: ("hip", "knee" or "ankle", whose leg's).
    """
    event = _landing(leg)
    behind, ahead = (getattr(p, joint)(event, whose) for joint, whose in (start, end))
    return np.asarray(100.0 * (ahead - behind)[:, 0] / p.leg)


def _interval(p: Posture, event: str) -> float:
    frame = p.step.far_toe_off if event == "far toe-off" else p.step.key_frame(event)
    if frame is None:
        raise ValueError(f"no key frame {event}")
    return p.setting.interval_s(frame)


def _ankle_knee_cm(p: Posture, leg: str) -> Array:
    event = _landing(leg)
    return np.asarray((p.ankle(event, leg) - p.knee(event, leg))[:, 0] / p.px_per_cm)


def _leg_stack(p: Posture, leg: str) -> Array:
    hip, mid, ankle = (place(MID_STANCE, leg) for place in (p.hip, p.knee, p.ankle))
    return 100.0 * length(hip, ankle) / (length(hip, mid) + length(mid, ankle))


def _hip_drop(p: Posture, leg: str) -> Array:
    before, after = (p.hip(e, leg)[:, 1] - p.ankle(e, leg)[:, 1] for e in (TOUCHDOWN, MID_STANCE))
    return 100.0 * (before - after) / p.leg


def _hip_share(p: Posture, leg: str) -> Array:
    """A knee that closes gives nothing: 100 %, in doubt as if it had just begun to open."""
    turn, opening = thigh_turn(p), knee_opening(p)
    return np.asarray(100.0 * turn / (turn + opening - min(0.0, float(opening[0]))))


def _front_leg_return(p: Posture, leg: str) -> Array:
    return turned_deg(thigh(p, OPPOSITE_TOUCHDOWN, leg), thigh(p, PEAK_KNEE_LIFT, leg))


def _lag(p: Posture, limb: str, thigh: str) -> Array:
    return MS * (p.value(limb, "turning") - p.value(thigh, "turning"))


def _arm_range(p: Posture, leg: str) -> Array:
    events = [e for e, point in p.points if point == "elbow" and p.has(e, "shoulder")]
    angles = np.array([hang_deg(p.at(e, "shoulder"), p.at(e, "elbow")) for e in events])
    return np.asarray(np.max(angles, axis=0) - np.min(angles, axis=0))


def _step_length(p: Posture, leg: str) -> Array:
    way_px = (p.ankle(OPPOSITE_TOUCHDOWN, "far") - p.ankle(TOUCHDOWN, "near"))[:, 0]
    return np.asarray(way_px / p.value("px per m"))


def _speed(p: Posture, leg: str) -> Array:
    way_px = (p.at(OPPOSITE_TOUCHDOWN, "hip") - p.at(TOUCHDOWN, "hip"))[:, 0]
    lasting_s = step_s(p)[0]  # a later picture finds the hip farther on: both errors cancel
    return np.asarray(way_px / p.value("px per m") / lasting_s)


def _contact_length(p: Posture, leg: str) -> Array:
    ahead, behind = ((p.ankle(e, leg) - p.hip(e, leg))[:, 0] for e in (TOUCHDOWN, TOE_OFF))
    return np.asarray((ahead - behind) / p.value("px per m"))


FORMULAS: dict[str, Callable[[Posture, str], Array]] = {
    "reach": lambda p, leg: shank(p, _landing(leg), leg),
    "ankle_knee": lambda p, leg: _forward(p, leg, ("knee", leg), ("ankle", leg)),
    "ankle_knee_cm": _ankle_knee_cm,
    "ankle_hip": lambda p, leg: _forward(p, leg, ("hip", leg), ("ankle", leg)),
    "knee_touchdown": lambda p, leg: knee(p, _landing(leg), leg),
    "thigh_touchdown": lambda p, leg: thigh(p, _landing(leg), leg),
    "knee_separation": lambda p, leg: _forward(p, leg, ("knee", _other(leg)), ("knee", leg)),
    "separation_ahead": lambda p, leg: _forward(p, leg, ("hip", leg), ("knee", leg)),
    "separation_behind": lambda p, leg: _forward(
        p, leg, ("knee", _other(leg)), ("hip", _other(leg))
    ),
    "swing_thigh": lambda p, leg: thigh(p, _landing(leg), _other(leg)),
    "trunk_lean": lambda p, leg: (trunk(p, TOUCHDOWN) + trunk(p, OPPOSITE_TOUCHDOWN)) / 2.0,
    "leg_stack": _leg_stack,
    "knee_mid_stance": lambda p, leg: knee(p, MID_STANCE, leg),
    "knee_bend": lambda p, leg: knee(p, TOUCHDOWN, leg) - knee(p, MID_STANCE, leg),
    "hip_drop": _hip_drop,
    "fold": lambda p, leg: knee(p, MID_STANCE, leg),
    "thigh_toe_off": lambda p, leg: thigh(p, TOE_OFF, leg),
    "knee_toe_off": lambda p, leg: knee(p, TOE_OFF, leg),
    "hip_toe_off": lambda p, leg: hip_deg(thigh(p, TOE_OFF, leg), trunk(p, TOE_OFF)),
    "hip_share": _hip_share,
    "drive_angle": lambda p, leg: lean_deg(p.at(TOE_OFF, "near toe"), p.hip(TOE_OFF, leg)),
    "peak_thigh": lambda p, leg: thigh(p, PEAK_KNEE_LIFT, leg),
    "front_leg_return": _front_leg_return,
    "return_rate": lambda p, leg: (
        _front_leg_return(p, leg) / (p.time_s(OPPOSITE_TOUCHDOWN) - p.time_s(PEAK_KNEE_LIFT))
    ),
    "contact_time": lambda p, leg: MS * contact_s(p),
    "flight_time": lambda p, leg: (
        MS * (p.time_s(OPPOSITE_TOUCHDOWN) - p.time_s(TOE_OFF) - _interval(p, TOE_OFF))
    ),
    "step_time": lambda p, leg: MS * step_s(p),
    "step_rate": lambda p, leg: 1.0 / step_s(p),
    "duty_factor": lambda p, leg: 50.0 * contact_s(p) / step_s(p),
    "far_contact_time": lambda p, leg: (
        MS * (p.time_s("far toe-off") - p.time_s(OPPOSITE_TOUCHDOWN) + _interval(p, "far toe-off"))
    ),
    "turn_delay": lambda p, leg: MS * (p.value("rear thigh", "turning") - p.time_s(TOE_OFF)),
    "lag_elbow": lambda p, leg: _lag(p, "elbow back", "lead thigh"),
    "lag_hand": lambda p, leg: _lag(p, "hand forward", "rear thigh"),
    "arm_leg_lag": lambda p, leg: (
        (_lag(p, "elbow back", "lead thigh") + _lag(p, "hand forward", "rear thigh")) / 2.0
    ),
    "arm_range": _arm_range,
    "step_length": _step_length,
    "speed": _speed,
    "contact_length": _contact_length,
}
