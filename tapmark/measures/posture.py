"""A step as arrays: every point as tapped, and again with each source of doubt moved."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from tapmark.geometry.planar import Array, length
from tapmark.geometry.runner_axes import to_runner
from tapmark.geometry.scale import leg_from_segments
from tapmark.geometry.uncertainty import stacked
from tapmark.marks.points import TOE_OFF
from tapmark.marks.run import Run, Step
from tapmark.measures.card import Card
from tapmark.measures.doubts import (
    AIM,
    BODY,
    DEPTH_M,
    OFF_AXIS,
    Doubt,
    Name,
    askew_m,
    depth_name,
    doubts_of,
)
from tapmark.measures.setting import Setting, setting_of

_AXES = ("x", "y")


@dataclass(frozen=True)
class Posture:
    """One step on N rows: row 0 as marked, then two rows for each doubt.

    points:    (key frame, point) → shape (N, 2), px in runner axes, X forward, Y up.
    column:    name of a doubt → its place in doubts.
    rows:      what the doubts were in each row, shape (N, S).
    """

    step: Step
    setting: Setting
    doubts: tuple[Doubt, ...]
    column: Mapping[Name, int]
    rows: Array
    points: Mapping[tuple[str, str], Array]

    def at(self, event: str, point: str) -> Array:
        """Return a point, shape (N, 2)."""
        return self.points[event, point]

    def hip(self, event: str, leg: str) -> Array:
        """Return a leg's own hip; the far one is where the near one was tapped, with more doubt."""
        near = self.at(event, "hip")
        if leg == "near":
            return near
        return near + np.stack([self.value("far hip", axis) for axis in _AXES], axis=-1)

    def knee(self, event: str, leg: str) -> Array:
        """Return a knee, shape (N, 2)."""
        return self.at(event, f"{leg} knee")

    def ankle(self, event: str, leg: str) -> Array:
        """Return an ankle, shape (N, 2)."""
        return self.at(event, f"{leg} ankle")

    def trunk_top(self, event: str) -> Array:
        """Return the neck base, else the middle of the shoulders, else the near shoulder."""
        if (event, "neck base") in self.points:
            return self.at(event, "neck base")
        near = self.at(event, "shoulder")
        if (event, "far shoulder") in self.points:
            return (near + self.at(event, "far shoulder")) / 2.0
        height = near[:, 1] - self.at(event, "hip")[:, 1]
        turn = np.zeros_like(near)
        when = event if event == TOE_OFF else "at both landings"
        turn[:, 0] = self.value("shoulder turn", when) * height
        return near + turn

    def has(self, event: str, point: str) -> bool:
        """Return whether that point can be used."""
        return (event, point) in self.points

    def value(self, *name: str) -> Array:
        """Return what a doubt was in each row, shape (N,)."""
        return np.asarray(self.rows[:, self.column[name]])

    def time_s(self, event: str) -> Array:
        """Return the true time of a key frame in each row, in s."""
        return self.value(event, "time")

    @cached_property
    def leg(self) -> Array:
        """Leg length in px in each row: by tape and scale, else from near thigh and shank."""
        if self.setting.leg_source in ("tape", "height"):
            return np.asarray(self.value("leg cm") / 100.0 * self.value("px per m"))
        ankles = [event for event, point in self.points if point == "near ankle"]
        events = [e for e in ankles if self.has(e, "hip") and self.has(e, "near knee")]
        thighs = [length(self.hip(e, "near"), self.knee(e, "near")) for e in events]
        shanks = [length(self.knee(e, "near"), self.ankle(e, "near")) for e in events]
        return leg_from_segments(np.array(thighs), np.array(shanks))

    @cached_property
    def px_per_cm(self) -> Array:
        """Picture scale in each row, by the scale marks, else by the athlete's leg length."""
        if self.setting.px_per_m:
            return np.asarray(self.value("px per m") / 100.0)
        return np.asarray(self.leg / self.value("leg cm"))


def posture_of(run: Run, step: Step, card: Card) -> Posture:
    """Lay out one side-view step with every source of doubt."""
    setting = setting_of(run, step)
    doubts = doubts_of(run, step, card, setting)
    column = {doubt.name: i for i, doubt in enumerate(doubts)}
    rows = stacked(
        np.array([doubt.value for doubt in doubts]), np.array([doubt.sd for doubt in doubts])
    )
    points = _points(run, step, setting, column, rows)
    return Posture(step, setting, doubts, column, rows, points)


def _points(
    run: Run, step: Step, setting: Setting, column: Mapping[Name, int], rows: Array
) -> dict[tuple[str, str], Array]:
    tapped = [(f.event, t.point) for f in step.key_frames for t in f.taps if t.at_px is not None]
    if not tapped:
        return {}
    columns = [[column[event, point, axis] for axis in _AXES] for event, point in tapped]
    roll = rows[:, column["roll",], None]
    laid = to_runner(rows[:, columns], roll, run.travel_sign)
    laid[:, :, 0] += _shifts(tapped, setting, column, rows)
    points = {name: laid[:, i] for i, name in enumerate(tapped)}
    for frame in step.key_frames:  # far knees behind the near leg: there, with their own doubt
        near = points.get((frame.event, "near knee"))
        i = column.get((frame.event, "far knee", "behind x"))
        if near is not None and i is not None:
            points[frame.event, "far knee"] = near + rows[:, [i, i + 1]]
    return points


def _shifts(
    tapped: list[tuple[str, str]], setting: Setting, column: Mapping[Name, int], rows: Array
) -> Array:
    """Return how far each point seems moved along X because it is not in the hip's plane.

    What lies behind that plane seems to stand nearer to the camera's axis.
    """
    moved = np.zeros((len(rows), len(tapped)))
    for i, (event, point) in enumerate(tapped):
        name = depth_name(point)
        if name:
            behind_m = rows[:, column[BODY, OFF_AXIS]] * DEPTH_M.get(point, 0.0)
            behind_m = behind_m + rows[:, column[name, OFF_AXIS]]
            aim = rows[:, column[name, AIM]] * askew_m(point) * setting.aim_tan
            moved[:, i] = setting.px(100.0) * (aim - behind_m * setting.tan_off.get(event, 0.0))
    return moved
