"""What a row needs before it may be read, and the sentence that names what is missing."""

from collections.abc import Iterator
from itertools import pairwise

from tapmark.geometry.planar import Array, length
from tapmark.marks.run import Run, Step
from tapmark.measures.catalogue import TRUNK_TOP, Row
from tapmark.measures.formulas import thigh_turn
from tapmark.measures.posture import Posture

# Below these a share or a direction is mostly the doubt of the taps: ours, no source.
SMALLEST_THIGH_TURN_DEG = 20.0
_SAME_SPOT_PCT_LEG = 2.0

_TURNING_MARKS = {
    "turn_delay": ("rear thigh",),
    "lag_elbow": ("lead thigh", "elbow back"),
    "lag_hand": ("rear thigh", "hand forward"),
    "arm_leg_lag": ("lead thigh", "elbow back", "rear thigh", "hand forward"),
}
_SEGMENTS = (
    ("hip", "near knee"),
    ("hip", "far knee"),
    ("near knee", "near ankle"),
    ("far knee", "far ankle"),
    ("hip", TRUNK_TOP),
    ("hip", "near toe"),
    ("shoulder", "elbow"),
)
NO_RATE = "Needs the capture rate: without it there are no true times."
SHARE_TOLD = "The share of the step, which needs none, stands under Duty factor."
_TOLD_AS_SHARE = ("contact_time", "flight_time")
NO_TIMES = "Needs the time of each frame."


def missing(row: Row, leg: str, run: Run, posture: Posture) -> str:
    """Return why a side-view row cannot be had, as a sentence, or "" when it can."""
    return (
        _lacks_marks(row, leg, posture)
        or _lacks_times(row, run, posture)
        or _lacks_size(row, run, posture)
        or _is_degenerate(row, leg, posture)
    )


def _lacks_marks(row: Row, leg: str, posture: Posture) -> str:
    for event, points in row.needs_of(leg).items():
        frame = posture.step.key_frame(event)
        if frame is None:
            return f"Needs the key frame {event}."
        for point in points:
            top = ("neck base", "shoulder") if point == TRUNK_TOP else (point,)
            if not any(posture.has(event, each) for each in top):
                tap = frame.tap(point)
                if tap and tap.certainty == "behind":
                    return f"Needs the near knee at {event}: the {point} is marked as behind it."
                why = ", which is marked as hidden" if tap else ""
                return f"Needs the {point} at {event}{why}."
    for limb in _TURNING_MARKS.get(row.key, ()):
        if posture.step.turning_mark(limb) is None:
            return f"Needs the turning point “{limb}”."
    return _lacks_far_toe_off(posture.step) if row.key == "far_contact_time" else ""


def _lacks_far_toe_off(step: Step) -> str:
    landing = step.key_frame("opposite touchdown")
    if step.far_toe_off is None:
        return "Needs the key frame far toe-off."
    if landing and step.far_toe_off.picture <= landing.picture:
        return "Choose the far toe-off again: it comes after opposite touchdown."
    return ""


def _lacks_times(row: Row, run: Run, posture: Posture) -> str:
    if not row.is_timed and row.key != "duty_factor":
        return ""
    if row.is_timed and run.set_up.slow_factor is None:
        return f"{NO_RATE} {SHARE_TOLD}" if row.key in _TOLD_AS_SHARE else NO_RATE
    frames = [posture.step.key_frame(event) for event in row.needs]
    if row.key == "far_contact_time":
        frames.append(posture.step.far_toe_off)
    if any(frame is None or frame.time_s is None for frame in frames):
        return NO_TIMES
    limbs = _TURNING_MARKS.get(row.key, ())
    if any((limb, "turning") not in posture.column for limb in limbs):
        return NO_TIMES
    by_number = run.set_up.slow_factor is None  # a share of a step is then told by the pictures
    times = [frame.picture if by_number else frame.time_s or 0.0 for frame in frames if frame]
    if any(later <= earlier for earlier, later in pairwise(times)):
        return "The times of the frames do not run forward; choose the key frames again."
    return ""


def _lacks_size(row: Row, run: Run, posture: Posture) -> str:
    setting = posture.setting
    if row.is_metric and not run.set_up.is_static:
        return "Needs a camera that stands still on a tripod."
    if row.is_metric and not setting.px_per_m:
        return setting.scale_trouble or "Needs two scale marks on the running line."
    if row.unit == "cm" and not setting.px_per_m and not run.set_up.leg_cm:
        return setting.scale_trouble or "Needs the leg length or two scale marks."
    needs_leg = row.unit == "% leg" or (row.unit == "cm" and not setting.px_per_m)
    if needs_leg and not setting.leg_source:
        return "Needs hip, near knee and near ankle on one key frame: they give the leg length."
    return ""


def _is_degenerate(row: Row, leg: str, posture: Posture) -> str:
    limit_px = _SAME_SPOT_PCT_LEG / 100.0 * (posture.setting.leg_px or 0.0)
    for event, points in row.needs_of(leg).items():
        for first, second in _SEGMENTS:
            if first in points and second in points:
                apart = length(_place(posture, event, first), _place(posture, event, second))
                if not apart[0] > limit_px:
                    both = f"The {first} and the {second} at {event}"
                    return f"{both} lie on the same spot; tap them again."
    if row.unit != "ms" and not posture.setting.leg_px and any(row.needs.values()):
        return "Needs two joints of one limb on a key frame: they tell how large the runner is."
    if row.key == "hip_share" and thigh_turn(posture)[0] < SMALLEST_THIGH_TURN_DEG:
        return "The thigh turns less than 20° from mid-stance to toe-off, too little to share out."
    return ""


def _place(posture: Posture, event: str, point: str) -> Array:
    return posture.trunk_top(event) if point == TRUNK_TOP else posture.at(event, point)


def used_points(row: Row, leg: str, posture: Posture) -> Iterator[tuple[str, str]]:
    """Yield (key frame, point) of every tap that a row was read from."""
    for event, points in row.needs_of(leg).items():
        for point in points:
            if point != TRUNK_TOP:
                yield event, point
            else:
                yield from ((event, p) for p in ("neck base", "shoulder") if posture.has(event, p))
