"""What the coach's own lines and angles measure, with their ±; they are never graded.

Every end is one press, with the scatter of any other tap; camera roll, leg length and scale are in
doubt as in the rows of the catalogue. A line is measured as it lies in the picture: what a limb
does towards the camera is not in its ±.
"""

from collections.abc import Callable

import numpy as np

from tapmark.geometry.planar import Array, lean_deg, length, turned_deg
from tapmark.geometry.runner_axes import to_runner
from tapmark.geometry.uncertainty import shares, stacked
from tapmark.marks.run import ANGLE, LINE, FreeMark, Run, Step
from tapmark.measures.card import FREE_END, Card
from tapmark.measures.doubts import CAMERA_ROLL
from tapmark.measures.posture import Posture, posture_of
from tapmark.measures.result import Measured, NotMeasured, Result
from tapmark.measures.setting import Setting, roll_of

NOT_GRADED = "the coach's own line: shown, never graded"
END_TAPS = "the taps of its ends"
NO_SIZE = (
    "How sure it is depends on the runner's size. Tap hip, near knee and near ankle on a key "
    "frame first."
)
NO_LEG = "Tap hip, near knee and near ankle on a key frame, then it is told in % of the leg."
NO_SCALE = "Set the scale, or the athlete's leg length, then it is told in cm."
TOO_SHORT = "Too short for an angle: its ends are in doubt by as much. Draw it longer."
_SHORTEST_IN_SD = 6.0  # below that the ± of an angle is no longer even on both sides: calc
LINE_VERTICAL, LINE_HORIZONTAL = "line_vertical", "line_horizontal"
LINE_PCT, LINE_CM, ANGLE_DEG = "line_pct_leg", "line_cm", "angle"
WHAT = {
    LINE_VERTICAL: "from the vertical",
    LINE_HORIZONTAL: "from the horizontal",
    LINE_PCT: "length",
    LINE_CM: "length",
    ANGLE_DEG: "angle",
}
"""What each value is, in words."""

Ends = Array
"""The places of a mark in runner axes, shape (N, places, 2), px."""


def values_of(run: Run, mark: FreeMark, card: Card) -> tuple[Result, ...]:
    """Return what a mark measures, the most telling first; nothing for a note.

    A line: its angle from the vertical (+ = upper end further forward; to the right in a rear or
    front view) and from the horizontal (+ = front end higher), its length in % of leg and in cm.
    An angle: between its arms, 0 to 180°. All are Measured or NotMeasured with the reason.
    """
    if mark.kind not in (LINE, ANGLE):
        return ()
    posture = posture_of(run, step_at(run, mark.picture), card)
    return tuple(_read(key, run, mark, posture, card) for key in _KEYS[mark.kind])


def shown(result: Result) -> str:
    """Return a value as it stands beside a mark or in a list, "12 ± 3 cm"; "–" without one."""
    return result.with_unit if isinstance(result, Measured) else "–"


def label_of(results: tuple[Result, ...]) -> str:
    """Return what stands beside a mark: a length in cm, else in % leg; an angle; "" for neither."""
    by_key = {each.key: each for each in results if isinstance(each, Measured)}
    told = by_key.get(LINE_CM) or by_key.get(LINE_PCT) or next(iter(by_key.values()), None)
    return shown(told) if told else ""


def step_at(run: Run, picture: int) -> Step:
    """Return the step whose key frames lie nearest to a picture; the first of equally near."""

    def apart(step: Step) -> float:
        numbers = [frame.picture for frame in step.key_frames]
        if not numbers:
            return float("inf")
        return max(min(numbers) - picture, picture - max(numbers), 0)

    return min(run.steps, key=apart)


def axes_sign(run: Run) -> int:
    """Return the sign of X in the picture: along the run from the side, to the right otherwise."""
    return run.travel_sign if run.view == "side" else 1


def combined(
    key: str,
    unit: str,
    value: float,
    digits: int,
    parts: dict[str, float],
    not_graded: str = NOT_GRADED,
) -> Measured:
    """Return an ungraded value; parts: words → independent SD in the same unit."""
    ordered = sorted(parts.items(), key=lambda part: -part[1])
    u = float(np.hypot.reduce(list(parts.values())))
    return Measured(key, "", value, u, unit, tuple(ordered), digits, not_graded=not_graded)


def size_parts(posture: Posture, per_size: Array) -> dict[str, float]:
    """Return words → SD of a value by what leg length and scale are in doubt.

    per_size: the value in each row of the posture, shape (N,).
    """
    found: dict[str, float] = {}
    for doubt, sd in zip(posture.doubts, shares(per_size), strict=True):
        if abs(sd) > 0.0:
            found[doubt.words] = float(np.hypot(found.get(doubt.words, 0.0), sd))
    return found


def knows_leg(setting: Setting) -> bool:
    """Say whether lengths may be told in % of leg: a rough guess of the leg is not enough."""
    return bool(setting.leg_px and setting.leg_source)


def knows_cm(run: Run, setting: Setting) -> bool:
    """Say whether lengths may be told in cm: by scale marks, else by the athlete's leg length."""
    return bool(setting.px_per_m or (run.set_up.leg_cm and knows_leg(setting)))


def _read(key: str, run: Run, mark: FreeMark, posture: Posture, card: Card) -> Result:
    setting, (unit, digits, formula) = posture.setting, _FORMULAS[key]
    why = _why_not(key, run, setting)
    if why:
        return NotMeasured(key, "", why)
    sd_px = card.sd_pct_leg(FREE_END) / 100.0 * (setting.leg_px or 0.0)
    first, *ends = np.array(mark.at_px, float)
    shortest_px = min(float(length(first, end)) for end in ends)
    if unit == "°" and shortest_px < _SHORTEST_IN_SD * sd_px:
        return NotMeasured(key, "", TOO_SHORT)
    flat = np.array(mark.at_px, float).ravel()
    moved = stacked(flat, np.full(len(flat), sd_px)).reshape(-1, len(mark.at_px), 2)
    size = _size(key, posture)
    laid = to_runner(moved, roll_of(run), axes_sign(run))
    results = formula(laid, size[:1])
    parts = {END_TAPS: float(np.hypot.reduce(shares(results)))}
    if unit != "°":
        parts |= size_parts(posture, formula(laid[:1], size))
    elif key != ANGLE_DEG:
        parts[CAMERA_ROLL] = setting.roll_sd_deg
    return combined(key, unit, float(results[0]), digits, parts)


def _why_not(key: str, run: Run, setting: Setting) -> str:
    if not setting.leg_px:
        return NO_SIZE
    if key == LINE_PCT and not knows_leg(setting):
        return NO_LEG
    if key == LINE_CM and not knows_cm(run, setting):
        return NO_SCALE
    return ""


def _size(key: str, posture: Posture) -> Array:
    if key == LINE_PCT:
        return posture.leg
    return posture.px_per_cm if key == LINE_CM else np.ones(1)


def _lean(ends: Ends, i: int = 1) -> Array:
    """Return the lean of the first place → place i in every row, without a jump at ±180°."""
    lean = lean_deg(ends[:, 0], ends[:, i])
    return np.asarray(lean[0] + turned_deg(lean[:1], lean))


def _from_vertical(ends: Ends, size: Array) -> Array:
    lean = _lean(ends)
    if abs(lean[0]) > 90.0:  # told from the lower end to the upper one
        lean = lean - np.copysign(180.0, lean[0])
    return lean


def _from_horizontal(ends: Ends, size: Array) -> Array:
    lean = _lean(ends)
    return np.asarray(90.0 - lean if lean[0] >= 0.0 else -90.0 - lean)  # from the rear end


def _between(ends: Ends, size: Array) -> Array:
    turned = _lean(ends, 2) - _lean(ends, 1)
    turned = turned - 360.0 * np.round(turned[0] / 360.0)
    return np.asarray(turned if turned[0] >= 0 else -turned)


_KEYS = {LINE: (LINE_VERTICAL, LINE_HORIZONTAL, LINE_CM, LINE_PCT), ANGLE: (ANGLE_DEG,)}
_FORMULAS: dict[str, tuple[str, int, Callable[[Ends, Array], Array]]] = {
    LINE_VERTICAL: ("°", 0, _from_vertical),
    LINE_HORIZONTAL: ("°", 0, _from_horizontal),
    LINE_PCT: ("% leg", 0, lambda ends, leg: 100.0 * length(ends[:, 0], ends[:, 1]) / leg),
    LINE_CM: ("cm", 0, lambda ends, px_per_cm: length(ends[:, 0], ends[:, 1]) / px_per_cm),
    ANGLE_DEG: ("°", 0, _between),
}
