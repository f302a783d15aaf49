"""When the moments of a step happen, and where that is on a line of a given width."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from tapmark.drawing.body import Pose
from tapmark.drawing.figure import extent
from tapmark.drawing.pose import step_poses
from tapmark.drawing.stand_in import STAND_IN
from tapmark.marks.points import (
    MID_STANCE,
    OPPOSITE_TOUCHDOWN,
    PEAK_KNEE_LIFT,
    SIDE_EVENTS,
    TOE_OFF,
    TOUCHDOWN,
)
from tapmark.marks.run import KeyFrame, Run

USUAL_MS: Final = {
    TOUCHDOWN: 0.0,
    MID_STANCE: 45.0,
    TOE_OFF: 108.0,
    PEAK_KNEE_LIFT: 145.0,
    OPPOSITE_TOUCHDOWN: 225.0,
}


@dataclass(frozen=True)
class Moment:
    """A figure on the line.

    at:      ms where known, else seconds of the file or pictures.
    is_own:  the pose was tapped, and is no stand-in.
    parts:   what of the pose was tapped besides its legs: trunk, head and arms.
    """

    event: str
    at: float
    pose: Pose
    is_own: bool
    parts: tuple[str, ...] = ()


@dataclass(frozen=True)
class Ruler:
    """Where a moment stands: x = left + (at − first) · per_ms."""

    moments: tuple[Moment, ...]
    left: float
    per: float
    width: float
    is_timed: bool
    interval: float

    @classmethod
    def of(cls, run: Run, i_step: int, width: float, figure: float) -> "Ruler":
        moments, is_timed, interval = _moments(run, i_step)
        if not moments:
            return cls((), 0.0, 1.0, width, False, 0.0)
        reach = {m.event: extent(m.pose) for m in moments}
        first, last = moments[0], moments[-1]
        left = reach[first.event][0] * figure
        right = reach[last.event][1] * figure
        usual = USUAL_MS[last.event] - USUAL_MS[first.event]
        span = (last.at - first.at) * (USUAL_MS[OPPOSITE_TOUCHDOWN] / usual if usual > 0 else 1.0)
        per = (width - left - right) / span if span > 0 else 0.0
        before = per * (last.at - first.at) / usual if usual > 0 else 0.0
        left += before * USUAL_MS[first.event]
        return cls(moments, left, per, width, is_timed, interval)

    def x(self, at: float) -> float:
        return self.left + (at - self.moments[0].at) * self.per

    def moment(self, event: str) -> Moment | None:
        return next((m for m in self.moments if m.event == event), None)

    def contacts(self) -> list[tuple[float, float]]:
        """Return from where to where a foot is on the ground, as far as the key frames tell."""
        down, up = self.moment(TOUCHDOWN), self.moment(TOE_OFF)
        spans = []
        if down and up:
            spans.append((self.x(down.at), self.x(up.at + self.interval)))
        other = self.moment(OPPOSITE_TOUCHDOWN)
        if other:
            spans.append((self.x(other.at), self.width))
        return spans


def _moments(run: Run, i_step: int) -> tuple[tuple[Moment, ...], bool, float]:
    """Return the moments in order of time, whether they are in ms, and one interval likewise."""
    frames = [f for f in run.steps[i_step].key_frames if f.event in SIDE_EVENTS]
    own = step_poses(run, i_step)
    times = {f.event: run.true_time_s(f.time_s) for f in frames}
    is_timed = bool(times) and all(each is not None for each in times.values())
    if is_timed:
        gaps = [run.true_time_s(f.interval_s) or 0.0 for f in frames]
        at = {event: 1000.0 * (s or 0.0) for event, s in times.items()}
        interval = 1000.0 * max(gaps)
    else:
        at, interval = {f.event: float(f.picture) for f in frames}, 1.0
    parts = {f.event: tuple(_tapped_parts(f)) for f in frames}
    moments = [Moment(e, at[e], own.get(e, STAND_IN[e]), e in own, parts[e]) for e in at]
    return tuple(sorted(moments, key=lambda moment: moment.at)), is_timed, interval


def _tapped_parts(frame: KeyFrame) -> Iterator[str]:
    """Yield the parts of a figure above the legs that the taps of a key frame show."""
    tapped = {tap.point for tap in frame.taps if tap.at_px is not None}
    if "hip" in tapped and tapped & {"shoulder", "neck base"}:
        yield from ("trunk", "head")
    if {"shoulder", "elbow"} <= tapped:
        yield "near arm"
