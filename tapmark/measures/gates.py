"""Which rows may be shown but not judged, and which may be fine but never seen."""

from collections.abc import Iterator

from tapmark.marks.run import Run
from tapmark.measures.catalogue import Row
from tapmark.measures.posture import Posture
from tapmark.measures.requirements import used_points

NEAR_AGAINST_FAR = ("knee_separation", "separation_ahead", "separation_behind")
_FOR_FAST_CAMERAS = (
    *NEAR_AGAINST_FAR,
    "swing_thigh",
    "front_leg_return",
    "arm_leg_lag",
    "lag_elbow",
    "lag_hand",
)
_OFF_WHILE_ACCELERATING = ("contact", "posture", "push")
# Common practice, no source: the two rates and the angle.
_LEAST_HZ, _LEAST_HZ_FOR_SEPARATION = 60.0, 120.0
_MOST_OFF_SQUARE_DEG = 10.0
_LIMBS_OF = {
    "arm_leg_lag": {"elbow back", "hand forward"},
    "lag_elbow": {"elbow back"},
    "lag_hand": {"hand forward"},
}
# Single lags of up to 70 ms are ordinary (Hamner & Delp 2013, 10.1016/j.jbiomech.2012.11.024, our
# arithmetic); the other arm turns about a step time, 220 ms or more, away. Limit: ours.
LARGEST_LAG_S = 0.150
_FEW_IN_A_STEP = "How fast it was filmed is not known, and few frames show the step"
_ALMOST = 0.98  # phones that say 120 run at 119.88: from memory


def not_graded(row: Row, leg: str, run: Run, posture: Posture) -> str:
    """Return why a row is shown without a verdict, in words for the coach, or ""."""
    return (
        _unanswered(run)
        or _by_context(row, run)
        or _by_rate(row, posture)
        or _by_camera(row, leg, run, posture)
        or _by_partner(row, posture)
    )


def other_arm(posture: Posture) -> Iterator[tuple[str, float]]:
    """Yield a limb of the arms and its lag in s where it turns so far from its thigh that the
    other arm was probably looked at: that one turns there half a stride earlier or later."""
    for limb, thigh in (("elbow back", "lead thigh"), ("hand forward", "rear thigh")):
        if (limb, "turning") in posture.column and (thigh, "turning") in posture.column:
            lag_s = posture.value(limb, "turning")[0] - posture.value(thigh, "turning")[0]
            if abs(lag_s) > LARGEST_LAG_S:
                yield limb, float(lag_s)


def capped(row: Row, leg: str, posture: Posture) -> str:
    """Return why a row may be fine but never seen, or ""."""
    for event, point, certainty in _certainties(row, leg, posture):
        if certainty == "behind":
            return f"The {point} at {event} is behind the near knee: fine may be said, seen not."
    return ""


def is_about(row: Row, leg: str, posture: Posture) -> bool:
    """Return whether a value prints with ≈: a guess, a point behind, or cm without a scale.

    The far hip does so too; see estimate.
    """
    if row.unit == "cm" and not posture.setting.px_per_m:
        return True
    return any(how in ("guess", "behind") for *_, how in _certainties(row, leg, posture))


def _certainties(row: Row, leg: str, posture: Posture) -> Iterator[tuple[str, str, str]]:
    """Yield key frame, point and certainty of every tap that a row was read from."""
    for event, point in used_points(row, leg, posture):
        frame = posture.step.key_frame(event)
        tap = frame.tap(point) if frame else None
        if tap:
            yield event, point, tap.certainty


def nothing_graded(run: Run, hz: float | None) -> str:
    """Return why no row of a clip can be judged, whatever is tapped; "" where some can.

    hz: true frames per second; None when not known: then only the step tells.
    """
    if run.view != "side":
        return ""
    return _on_the_bend(run) or (_too_slow(hz) if hz else "")


def _unanswered(run: Run) -> str:
    """Without the way the runner goes no angle has its sign, without the kind of run no band."""
    for name, asked in (
        ("direction", "Which way does the runner go?"),
        ("context", "What was filmed?"),
    ):
        if name in run.set_up.unanswered:
            return f"“{asked}” is not answered on Film, so nothing is judged."
    return ""


def _on_the_bend(run: Run) -> str:
    is_there = run.set_up.context == "bend"
    return "Filmed on the bend: side-view rows are shown, not judged." if is_there else ""


def _too_slow(hz: float) -> str:
    if hz >= _LEAST_HZ * _ALMOST:
        return ""
    return f"About {hz:.0f} frames per second: below 60 nothing is judged."


def _by_context(row: Row, run: Run) -> str:
    if row.view != "side":
        return ""
    if _on_the_bend(run):
        return _on_the_bend(run)
    if run.set_up.context == "acceleration" and row.family in _OFF_WHILE_ACCELERATING:
        return "Still accelerating: posture, contact and push are shown, not judged."
    return ""


def _by_rate(row: Row, posture: Posture) -> str:
    hz = posture.setting.effective_hz
    if hz is None:
        return "How far apart the frames are is not known, so nothing is judged."
    is_known = posture.setting.rate_hz is not None
    if _too_slow(hz):
        return _too_slow(hz) if is_known else f"{_FEW_IN_A_STEP}: below 60 a second none is judged."
    if row.key in _FOR_FAST_CAMERAS and hz < _LEAST_HZ_FOR_SEPARATION * _ALMOST:
        have = f"About {hz:.0f} frames per second" if is_known else _FEW_IN_A_STEP
        return f"{have}: this one needs 120 a second."
    return ""


def _by_partner(row: Row, posture: Posture) -> str:
    if any(limb in _LIMBS_OF.get(row.key, ()) for limb, _ in other_arm(posture)):
        return "The arm turns far from its thigh, so it is not judged: was it the other elbow?"
    return ""


def _by_camera(row: Row, leg: str, run: Run, posture: Posture) -> str:
    if row.key not in NEAR_AGAINST_FAR:
        return ""
    if "camera" in run.set_up.unanswered:
        return "“How did the camera stand?” is not answered: near against far is not judged."
    if not run.set_up.is_static:
        return "The camera moved: near against far is shown, not judged."
    off_deg = posture.setting.off_square_deg(row.needs_of(leg))
    if off_deg > _MOST_OFF_SQUARE_DEG:
        return f"The step is {off_deg:.0f}° off square: near against far is not judged beyond 10°."
    return ""
