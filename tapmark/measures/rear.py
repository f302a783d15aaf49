"""The shoe seen from behind or in front: how far the heel turns in as the foot leaves.

In these views `near_side` of a run is the foot that was marked, and `travel_sign` tells which way
the body's mid-line lies, mirrored or not.
"""

import numpy as np

from tapmark.geometry.planar import Array, lean_deg, length, turned_deg
from tapmark.geometry.uncertainty import shares, stacked
from tapmark.marks.points import LAST_CONTACT, MOST_TURNED
from tapmark.marks.run import KeyFrame, Point, Run, Step
from tapmark.measures.catalogue import row
from tapmark.measures.doubts import Doubt, shoe_sd_px
from tapmark.measures.estimate import Estimate, Share
from tapmark.measures.result import NotMeasured

FOOT_TURN = row("foot_turn")
_SHORTEST_LINE_PX = 3.0
_PLACES = tuple((event, point) for event, points in FOOT_TURN.needs.items() for point in points)


def foot_turn(run: Run, step: Step) -> Estimate | NotMeasured:
    """Return how far the heel turned toward the mid-line between the two key frames, in degrees."""
    reason = _missing(step)
    if reason:
        return NotMeasured(FOOT_TURN.key, "", reason)
    doubts = _doubts(step)
    rows = stacked(np.array([d.value for d in doubts]), np.array([d.sd for d in doubts]))
    results = _turn_deg(rows.reshape(len(rows), -1, 2), _toward_mid_line(run))
    told = tuple(
        Share(doubt.name, doubt.words, float(sd), is_shared=False)
        for doubt, sd in zip(doubts, shares(results), strict=True)
    )
    has_guess = any(tap.certainty == "guess" for frame in step.key_frames for tap in frame.taps)
    return Estimate(FOOT_TURN, "", float(results[0]), told, is_about=has_guess)


def _missing(step: Step) -> str:
    for event, point in _PLACES:
        frame = step.key_frame(event)
        if frame is None:
            return f"Needs the key frame {event}."
        if frame.at(point) is None:
            return f"Needs the {point} at {event}."
    for event in (LAST_CONTACT, MOST_TURNED):
        if _line_px(step, event) < _SHORTEST_LINE_PX:
            return (
                f"Heel centre and forefoot centre at {event} lie on the same spot; tap them again."
            )
    return ""


def _doubts(step: Step) -> list[Doubt]:
    line_px = (_line_px(step, LAST_CONTACT) + _line_px(step, MOST_TURNED)) / 2.0
    doubts = []
    for event, point in _PLACES:
        frame = step.key_frame(event)
        tap = frame.tap(point) if frame else None
        if frame and tap and tap.at_px:
            sd = _doubled(frame, tap.certainty) * shoe_sd_px(line_px)
            for axis, value in zip("xy", tap.at_px, strict=True):
                doubts.append(Doubt((event, point, axis), value, sd, f"the {point} tap"))
    return doubts


def _doubled(frame: KeyFrame, certainty: str) -> float:
    return (2.0 if certainty == "guess" else 1.0) * (2.0 if frame.is_blurred else 1.0)


def _turn_deg(points_px: Array, toward_mid_line: int) -> Array:
    """points_px: shape (N, 4, 2): heel and forefoot at last contact, then at most turned."""
    laid = points_px * np.array([toward_mid_line, -1.0])
    before = lean_deg(laid[:, 1], laid[:, 0])
    after = lean_deg(laid[:, 3], laid[:, 2])
    return turned_deg(before, after)


def _toward_mid_line(run: Run) -> int:
    """Return the sign of picture x that leads from the marked foot to the mid-line."""
    return -run.travel_sign if run.view == "rear" else run.travel_sign


def _line_px(step: Step, event: str) -> float:
    frame = step.key_frame(event)
    heel, forefoot = (_at(frame, point) for point in FOOT_TURN.needs[event])
    return float(length(np.array(heel), np.array(forefoot)))


def _at(frame: KeyFrame | None, point: str) -> Point:
    return (frame.at(point) if frame else None) or (0.0, 0.0)
