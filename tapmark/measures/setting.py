"""What the set-up and the pictures of one step say about size, rate and camera."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import pairwise
from math import atan, degrees, hypot, radians, tan
from statistics import median

import numpy as np

from tapmark.errors import ScaleUnusable
from tapmark.geometry.runner_axes import roll_rad
from tapmark.geometry.scale import LEG_PER_THIGH_AND_SHANK, px_per_m
from tapmark.marks.points import OPPOSITE_TOUCHDOWN, TOE_OFF, TOUCHDOWN
from tapmark.marks.run import KeyFrame, Point, Run, Step

# How far a camera leans (SD): common practice, no source.
ROLL_SD_DEG = {"tripod, levelled": 0.7, "hand-held": 2.0}
ROLL_SD_BY_REFERENCE_DEG = 0.3
ROLL_SD_OTHERWISE_DEG = 1.5
# 0.2255 s at 9.8 m/s (Haralabidis 2021, one sprinter, released files), 0.230 s at 9.5 m/s (Dorn
# 2012, 10.1242/jeb.064527). The slower step, both usual contacts and their ends are from memory.
TYPICAL_STEP_S = {"sprint": 0.225, "acceleration": 0.225}
TYPICAL_STEP_SLOWER_S = 0.29
USUAL_CONTACT_S = {"sprint": 0.110}
USUAL_SLOWER_CONTACT_S = 0.160
_SHORTEST_CONTACT_S, _LONGEST_CONTACT_S = 0.06, 0.28
AIM_DEG = 2.0  # a camera squared by eye or tape: common practice, no source
UNKNOWN_DISTANCE_DEG = 5.0  # common practice, no source
NEAREST_M = 8.0  # where no distance is known: a step fits the picture from there on; ours
# 0.53 × 1.74 m, a usual height from memory; it only turns a few centimetres of doubt into px.
_USUAL_LEG_M = 0.92
_SLOWEST_HZ = 30.0  # slower than any camera for motion: from memory
_SHORTEST_UPRIGHT_PX = 5.0  # below it a tap of one pixel turns it by 11°: ours
_ROUGH_LEG = (  # (upper, lower, leg ÷ length), body ratios as in geometry.scale
    ("hip", "near knee", 2.16),
    ("near knee", "near ankle", 2.16),
    ("hip", "far knee", 2.16),
    ("far knee", "far ankle", 2.16),
    ("shoulder", "hip", 1.84),
    ("neck base", "hip", 1.84),
)


@dataclass(frozen=True)
class Setting:
    """Size, rate and camera of one step.

    leg_px:        leg length in px, from the picture or by tape and scale; rough where the near
                   leg was not tapped; None where no two taps tell the size.
    leg_source:    "tape", "height", "picture" or "" (rough or unknown).
    px_per_m:      None without a usable scale; scale_trouble then says why, if marks exist.
    leg_m:         the athlete's leg length in metres, or a usual one for small corrections.
    rate_hz:       true pictures per second; None when not known.
    effective_hz:  the same, or pictures per step ÷ typical step time; None when neither is known.
    tan_off:       key frame → tangent of the angle at which the runner stands off the camera axis,
                   signed along X, as seen from NEAREST_M when the distance is not known; empty
                   where the camera moved.
    knows_place:   whether that angle is known well enough to be a bias and not only a doubt.
    aim_tan:       SD of the tangent of the camera's own error of aim.
    slow_factor:   file's time ÷ true time; None when not known.
    contact_s:     contact time in s, by its pictures, or a usual one: tells how fast limbs turn.
    reads_contact: whether it is by its pictures.
    """

    leg_px: float | None
    leg_source: str
    px_per_m: float | None
    scale_trouble: str
    leg_m: float
    rate_hz: float | None
    effective_hz: float | None
    roll_sd_deg: float
    tan_off: Mapping[str, float]
    aim_tan: float
    slow_factor: float | None
    contact_s: float
    knows_place: bool = True
    reads_contact: bool = True

    def px(self, cm: float) -> float:
        """Return a small length on the runner in px."""
        return cm / 100.0 / self.leg_m * (self.leg_px or 0.0)

    def interval_s(self, frame: KeyFrame) -> float:
        """Return the true time between pictures around a key frame, in s."""
        if frame.interval_s is not None and self.slow_factor:
            return frame.interval_s / self.slow_factor
        return 1.0 / (self.effective_hz or _SLOWEST_HZ)

    def off_square_deg(self, events: Iterable[str]) -> float:
        """Return the largest known angle off the camera axis at these key frames, in degrees."""
        tangents = [abs(self.tan_off[event]) for event in events if event in self.tan_off]
        return degrees(atan(max(tangents, default=0.0)))


def setting_of(run: Run, step: Step) -> Setting:
    """Read the setting of one step of a run; nothing is raised, what is missing is None."""
    scale, trouble = _scale(run)
    leg_px, leg_source = _leg(run, step, scale)
    leg_m = leg_px / scale if leg_px and scale else _USUAL_LEG_M
    if run.set_up.leg_cm:
        leg_m = run.set_up.leg_cm / 100.0
    knows_distance = bool(run.set_up.is_static and run.set_up.camera_distance_m)
    rate_hz = rate_of(run, step)
    effective_hz = rate_hz or _pictures_per_step(run, step)
    contact_s, reads_contact = _contact_s(run, step, effective_hz)
    return Setting(
        leg_px=leg_px,
        leg_source=leg_source,
        px_per_m=scale,
        scale_trouble=trouble,
        leg_m=leg_m,
        rate_hz=rate_hz,
        effective_hz=effective_hz,
        roll_sd_deg=(
            ROLL_SD_BY_REFERENCE_DEG
            if upright_of(run)
            else ROLL_SD_DEG.get(run.set_up.camera, ROLL_SD_OTHERWISE_DEG)
        ),
        tan_off=_tan_off(run, step, leg_px / leg_m if leg_px else None),
        aim_tan=tan(radians(AIM_DEG if knows_distance else UNKNOWN_DISTANCE_DEG)),
        slow_factor=run.set_up.slow_factor,
        contact_s=contact_s,
        knows_place=knows_distance,
        reads_contact=reads_contact,
    )


def upright_of(run: Run) -> tuple[Point, Point] | None:
    """Return the vertical reference, lower end first; None where it is missing or has no length."""
    if run.set_up.upright_px is None:
        return None
    (x0, y0), (x1, y1) = run.set_up.upright_px
    if hypot(x1 - x0, y1 - y0) < _SHORTEST_UPRIGHT_PX:
        return None
    return ((x0, y0), (x1, y1)) if y0 >= y1 else ((x1, y1), (x0, y0))


def roll_of(run: Run) -> float:
    """Return how far the camera leans by the vertical reference, in radians; 0 without one."""
    upright = upright_of(run)
    return float(roll_rad(np.array(upright[0]), np.array(upright[1]))) if upright else 0.0


def rate_of(run: Run, step: Step) -> float | None:
    """Return true pictures per second around the key frames, or None when not known."""
    if run.set_up.slow_factor is None:
        return None
    gaps = [frame.interval_s for frame in step.key_frames if frame.interval_s]
    timed = sorted((f.picture, f.time_s) for f in step.key_frames if f.time_s is not None)
    gaps = gaps or [
        (time_s - time_before_s) / (picture - before)
        for (before, time_before_s), (picture, time_s) in pairwise(timed)
        if picture > before and time_s > time_before_s
    ]
    return run.set_up.slow_factor / median(gaps) if gaps else None


def _pictures_per_step(run: Run, step: Step) -> float | None:
    first, last = step.key_frame(TOUCHDOWN), step.key_frame(OPPOSITE_TOUCHDOWN)
    if first is None or last is None or last.picture <= first.picture:
        return None
    typical_s = TYPICAL_STEP_S.get(run.set_up.context, TYPICAL_STEP_SLOWER_S)
    return (last.picture - first.picture) / typical_s


def _contact_s(run: Run, step: Step, hz: float | None) -> tuple[float, bool]:
    """Return the contact in s, and whether it is read from the pictures."""
    first, last = step.key_frame(TOUCHDOWN), step.key_frame(TOE_OFF)
    if hz is None or first is None or last is None or last.picture <= first.picture:
        return USUAL_CONTACT_S.get(run.set_up.context, USUAL_SLOWER_CONTACT_S), False
    began, ended = run.true_time_s(first.time_s), run.true_time_s(last.time_s)
    if began is None or ended is None:
        lasted_s = (last.picture - first.picture) / hz
    else:  # loose stills: their numbers tell nothing about time
        lasted_s = ended - began
    read_s = lasted_s + 1 / hz
    contact_s = min(max(read_s, _SHORTEST_CONTACT_S), _LONGEST_CONTACT_S)
    return contact_s, contact_s == read_s


def _scale(run: Run) -> tuple[float | None, str]:
    ends, distance_m = run.set_up.scale_px, run.set_up.scale_m
    if ends is None or distance_m is None:
        return None, ""
    try:
        return px_per_m(ends, distance_m), ""
    except ScaleUnusable as trouble:
        return None, str(trouble)


def _leg(run: Run, step: Step, scale: float | None) -> tuple[float | None, str]:
    if run.set_up.leg_cm and scale:
        return run.set_up.leg_cm / 100.0 * scale, run.set_up.leg_source or "tape"
    tapped = [
        thigh + shank
        for frame in step.key_frames
        if (thigh := _apart(frame, "hip", "near knee"))
        and (shank := _apart(frame, "near knee", "near ankle"))
    ]
    if tapped:
        return LEG_PER_THIGH_AND_SHANK * sum(tapped) / len(tapped), "picture"
    rough = [
        each * factor
        for frame in step.key_frames
        for upper, lower, factor in _ROUGH_LEG
        if (each := _apart(frame, upper, lower))
    ]
    return (median(rough), "") if rough else (None, "")


def _apart(frame: KeyFrame, first: str, second: str) -> float | None:
    a, b = frame.at(first), frame.at(second)
    return hypot(a[0] - b[0], a[1] - b[1]) if a and b else None


def _tan_off(run: Run, step: Step, scale: float | None) -> dict[str, float]:
    distance_m = run.set_up.camera_distance_m or NEAREST_M
    if not run.set_up.is_static or not scale:
        return {}
    middle_px = run.source.size_px[0] / 2.0
    off = {}
    for frame in step.key_frames:
        at_px = frame.at("hip") or frame.at("near knee")
        if at_px and middle_px:
            off[frame.event] = run.travel_sign * (at_px[0] - middle_px) / scale / distance_m
    return off
