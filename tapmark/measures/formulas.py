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


def _landing(leg: str) -> tuple[str, str]:
    """Return the key frame at which a leg lands, and the other leg."""
    return (TOUCHDOWN, "far") if leg == "near" else (OPPOSITE_TOUCHDOWN, "near")


def _forward(p: Posture, start: Array, end: Array) -> Array:
    """Return how far end lies ahead of start, in % of leg."""
    return 100.0 * (end[:, 0] - start[:, 0]) / p.leg


def _interval(p: Posture, event: str) -> float:
    frame = p.step.far_toe_off if event == "far toe-off" else p.step.key_frame(event)
    if frame is None:
        raise ValueError(f"no key frame {event}")
    return p.setting.interval_s(frame)


def _reach(p: Posture, leg: str) -> Array:
    return shank(p, _landing(leg)[0], leg)


def _ankle_knee(p: Posture, leg: str) -> Array:
    event, _ = _landing(leg)
    return _forward(p, p.knee(event, leg), p.ankle(event, leg))


def _ankle_knee_cm(p: Posture, leg: str) -> Array:
    event, _ = _landing(leg)
    return np.asarray((p.ankle(event, leg) - p.knee(event, leg))[:, 0] / p.px_per_cm)


def _ankle_hip(p: Posture, leg: str) -> Array:
    event, _ = _landing(leg)
    return _forward(p, p.hip(event, leg), p.ankle(event, leg))


def _knee_touchdown(p: Posture, leg: str) -> Array:
    return knee(p, _landing(leg)[0], leg)


def _thigh_touchdown(p: Posture, leg: str) -> Array:
    return thigh(p, _landing(leg)[0], leg)


def _knee_separation(p: Posture, leg: str) -> Array:
    event, other = _landing(leg)
    return _forward(p, p.knee(event, other), p.knee(event, leg))


def _separation_ahead(p: Posture, leg: str) -> Array:
    event, _ = _landing(leg)
    return _forward(p, p.hip(event, leg), p.knee(event, leg))


def _separation_behind(p: Posture, leg: str) -> Array:
    event, other = _landing(leg)
    return _forward(p, p.knee(event, other), p.hip(event, other))


def _swing_thigh(p: Posture, leg: str) -> Array:
    return thigh(p, *_landing(leg))


def _trunk_lean(p: Posture, leg: str) -> Array:
    return (trunk(p, TOUCHDOWN) + trunk(p, OPPOSITE_TOUCHDOWN)) / 2.0


def _leg_stack(p: Posture, leg: str) -> Array:
    hip, mid, ankle = (place(MID_STANCE, leg) for place in (p.hip, p.knee, p.ankle))
    return 100.0 * length(hip, ankle) / (length(hip, mid) + length(mid, ankle))


def _knee_bend(p: Posture, leg: str) -> Array:
    return knee(p, TOUCHDOWN, leg) - knee(p, MID_STANCE, leg)


def _hip_drop(p: Posture, leg: str) -> Array:
    before, after = (p.hip(e, leg)[:, 1] - p.ankle(e, leg)[:, 1] for e in (TOUCHDOWN, MID_STANCE))
    return 100.0 * (before - after) / p.leg


def thigh_turn(p: Posture) -> Array:
    """Return how far the near thigh turns back from mid-stance to toe-off, in degrees."""
    return turned_deg(thigh(p, TOE_OFF, "near"), thigh(p, MID_STANCE, "near"))


def knee_opening(p: Posture) -> Array:
    """Return how far the near knee opens from mid-stance to toe-off, in degrees."""
    return knee(p, TOE_OFF, "near") - knee(p, MID_STANCE, "near")


def _hip_share(p: Posture, leg: str) -> Array:
    """A knee that closes gives nothing: 100 %, in doubt as if it had just begun to open."""
    turn, opening = thigh_turn(p), knee_opening(p)
    return np.asarray(100.0 * turn / (turn + opening - min(0.0, float(opening[0]))))


def _hip_toe_off(p: Posture, leg: str) -> Array:
    return hip_deg(thigh(p, TOE_OFF, leg), trunk(p, TOE_OFF))


def _front_leg_return(p: Posture, leg: str) -> Array:
    return turned_deg(thigh(p, OPPOSITE_TOUCHDOWN, leg), thigh(p, PEAK_KNEE_LIFT, leg))


def _return_rate(p: Posture, leg: str) -> Array:
    lasting_s = p.time_s(OPPOSITE_TOUCHDOWN) - p.time_s(PEAK_KNEE_LIFT)
    return _front_leg_return(p, leg) / lasting_s


def _flight_time(p: Posture, leg: str) -> Array:
    airborne_s = p.time_s(OPPOSITE_TOUCHDOWN) - p.time_s(TOE_OFF) - _interval(p, TOE_OFF)
    return MS * airborne_s


def _far_contact_time(p: Posture, leg: str) -> Array:
    on_ground_s = p.time_s("far toe-off") - p.time_s(OPPOSITE_TOUCHDOWN)
    return MS * (on_ground_s + _interval(p, "far toe-off"))


def _turn_delay(p: Posture, leg: str) -> Array:
    return MS * (p.value("rear thigh", "turning") - p.time_s(TOE_OFF))


def _lag_elbow(p: Posture, leg: str) -> Array:
    return MS * (p.value("elbow back", "turning") - p.value("lead thigh", "turning"))


def _lag_hand(p: Posture, leg: str) -> Array:
    return MS * (p.value("hand forward", "turning") - p.value("rear thigh", "turning"))


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
    "reach": _reach,
    "ankle_knee": _ankle_knee,
    "ankle_knee_cm": _ankle_knee_cm,
    "ankle_hip": _ankle_hip,
    "knee_touchdown": _knee_touchdown,
    "thigh_touchdown": _thigh_touchdown,
    "knee_separation": _knee_separation,
    "separation_ahead": _separation_ahead,
    "separation_behind": _separation_behind,
    "swing_thigh": _swing_thigh,
    "trunk_lean": _trunk_lean,
    "leg_stack": _leg_stack,
    "knee_mid_stance": lambda p, leg: knee(p, MID_STANCE, leg),
    "knee_bend": _knee_bend,
    "hip_drop": _hip_drop,
    "fold": lambda p, leg: knee(p, MID_STANCE, leg),
    "thigh_toe_off": lambda p, leg: thigh(p, TOE_OFF, leg),
    "knee_toe_off": lambda p, leg: knee(p, TOE_OFF, leg),
    "hip_toe_off": _hip_toe_off,
    "hip_share": _hip_share,
    "drive_angle": lambda p, leg: lean_deg(p.at(TOE_OFF, "near toe"), p.hip(TOE_OFF, leg)),
    "peak_thigh": lambda p, leg: thigh(p, PEAK_KNEE_LIFT, leg),
    "front_leg_return": _front_leg_return,
    "return_rate": _return_rate,
    "contact_time": lambda p, leg: MS * contact_s(p),
    "flight_time": _flight_time,
    "step_time": lambda p, leg: MS * step_s(p),
    "step_rate": lambda p, leg: 1.0 / step_s(p),
    "duty_factor": lambda p, leg: 50.0 * contact_s(p) / step_s(p),
    "far_contact_time": _far_contact_time,
    "turn_delay": _turn_delay,
    "lag_elbow": _lag_elbow,
    "lag_hand": _lag_hand,
    "arm_leg_lag": lambda p, leg: (_lag_elbow(p, leg) + _lag_hand(p, leg)) / 2.0,
    "arm_range": _arm_range,
    "step_length": _step_length,
    "speed": _speed,
    "contact_length": _contact_length,
}
