"""A film of one step, picture by picture: drawn figures or the clip itself, one runner or two.

The step is slowed and stops at each key frame with its line, one value and its word; the cue stands
at the end. In the drawn film the figures move from marked pose to marked pose on their ground line.
In the filmed one the picture is cut to the runner and the face is covered in every frame, along the
way of hip and shoulder from key frame to key frame.
"""

from abc import ABC, abstractmethod
from bisect import bisect_right
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from statistics import fmean
from typing import Final

import numpy as np
from PIL import Image, ImageOps

from tapmark.errors import NoConsent, NotThere
from tapmark.geometry.runner_axes import to_runner
from tapmark.marks.points import SIDE_EVENTS, TOE_OFF
from tapmark.marks.run import FreeMark, KeyFrame, Run, Tap
from tapmark.measures.setting import TYPICAL_STEP_S, TYPICAL_STEP_SLOWER_S, roll_of, setting_of
from tapmark.report.drawing.body import Pose, Side, on_ground, points_of
from tapmark.report.drawing.figure import FigureLook, figure_shapes
from tapmark.report.drawing.overlay import (
    angle_shapes,
    mark_shapes,
    shown_points,
    tap_shapes,
    trail_dot,
)
from tapmark.report.drawing.painter import Fonts, paint
from tapmark.report.drawing.palette import ACCENT, CONTROL_EDGE, INK, MUTED, WHITE
from tapmark.report.drawing.pose import between, step_poses
from tapmark.report.drawing.shapes import Label, Line, Point, Shape, Shapes
from tapmark.report.drawing.signs import verdict_sign
from tapmark.report.pages.pictures import FaceDisc, covered, face_disc, leg_px

SIZE_PX: Final = (1280, 720)
HELD: Final = 45  # frames at a key frame: 1.5 s
CUE_HELD: Final = 75
SLOWED: Final = 8.0
RATE: Final = 30.0
SHARE_OF_PANEL: Final = 0.76  # of a panel's height, a body
THIGH_AND_SHANK: Final = 0.491  # of a body height
SWERVE_MPS2: Final = 25.0  # how hard a head is pushed about in a step: common practice, no source
HEAD_M: Final = 0.11
MORE_COVER: Final = 1.12  # than on a still: of so many frames, the worst pair of taps counts
LEG_M: Final = 0.85  # hip to ankle of a small adult: a short one makes more px of a metre
Still = Callable[[int], Image.Image]


@dataclass(frozen=True)
class Moment:
    """What stands beside a key frame: its name, one measure with its value, and the word.

    row, leg: of the measure whose line is drawn. word: a verdict, for its sign; said: as printed.
    """

    name: str
    measure: str = ""
    value: str = ""
    word: str = ""
    said: str = ""
    row: str = ""
    leg: str = ""


@dataclass(frozen=True)
class FilmRunner:
    """One runner of a film. label: a code and a date.

    still: picture number → full-size picture of the clip; None in a drawn film.
    labels: own line or angle → its value as it is printed.
    """

    label: str
    run: Run
    i_step: int
    moments: Mapping[str, Moment]
    still: Still | None = None
    labels: Mapping[FreeMark, str] = field(default_factory=dict)


@dataclass(frozen=True)
class FilmContent:
    """One or two runners, the cue for the end ("" for none), and what the film says of itself."""

    runners: tuple[FilmRunner, ...]
    cue: str
    note: str


@dataclass(frozen=True)
class At:
    """A moment of the film: after key frame i, by a share of the way to the next one."""

    i: int
    share: float = 0.0

    @classmethod
    def of(cls, numbers: Sequence[int], number: int) -> "At":
        """Return the moment of a picture among those of the key frames."""
        i = max(0, min(bisect_right(numbers, number), len(numbers) - 1) - 1)
        apart = numbers[i + 1] - numbers[i]
        return cls(i, (number - numbers[i]) / apart if apart else 0.0)


class Film:
    """The pictures of a film; raises NotThere where a runner has fewer than two drawable frames.

    NoConsent where a face cannot be covered in every frame.
    """

    def __init__(self, content: FilmContent) -> None:
        self.content = content
        runners = content.runners
        poses = [step_poses(each.run, each.i_step) for each in runners]
        common = _events([each.run.steps[each.i_step].key_frames for each in runners])
        self.events = tuple(e for e in common if all(e in each for each in poses))
        if len(self.events) < 2:
            raise NotThere(
                "A film needs two key frames with hip, knee and ankle tapped. Tap them first."
            )
        self._fonts = Fonts(1.0)
        self._behind: Shapes = ()
        self._painted = Image.new("RGB", SIZE_PX, WHITE)
        panels = _PANELS[len(runners), runners[0].still is not None]
        self._scenes = [
            (_Filmed if runner.still else _Drawn)(runner, self.events, pose, panel)
            for runner, pose, panel in zip(runners, poses, panels, strict=True)
        ]

    @cached_property
    def _steps(self) -> tuple[tuple[At, int], ...]:
        """Moment and how many frames it stands, in order; the cue comes after them."""
        steps: list[tuple[At, int]] = []
        for i in range(len(self.events)):
            steps.append((At(i), HELD))
            if i + 1 < len(self.events):
                lasts = fmean(scene.lasts_s(i) for scene in self._scenes)
                n = round(RATE * SLOWED * lasts)
                steps += [(At(i, k / n), 1) for k in range(1, n)]
        return tuple(steps)

    @property
    def n_frames(self) -> int:
        """How many frames the film has."""
        return sum(n for _, n in self._steps) + (CUE_HELD if self.content.cue else 0)

    def frames(self) -> Iterator[tuple[Image.Image, int]]:
        """Yield each picture with the number of frames that it stands still."""
        picture = self._painted
        for at, n in self._steps:
            note = _text((40.0, 704.0), self.content.note, 20.0, MUTED)
            behind = (note, *(shape for scene in self._scenes for shape in scene.behind(at)))
            if behind != self._behind:  # painted anew only where it has changed
                self._behind, self._painted = behind, Image.new("RGB", SIZE_PX, WHITE)
                paint(self._painted, behind, self._fonts)
            picture = self._painted.copy()
            shapes = [s for scene in self._scenes for s in scene.onto(picture, at, self._fonts)]
            paint(picture, tuple(shapes), self._fonts)
            yield picture, n
        cue, (width, height) = self.content.cue, SIZE_PX
        if cue:
            picture = Image.blend(picture, Image.new("RGB", SIZE_PX, WHITE), 0.8)
            size = _fitting(
                range(64, 22, -2), width - 120, lambda em: self._fonts.width(cue, em, True)
            )
            label = _text((width / 2, height / 2), cue, size, INK, "c", is_bold=True)
            paint(picture, (label,), self._fonts)
            yield picture, CUE_HELD


def _fitting(sizes: range, room: float, wide: Callable[[float], float]) -> float:
    """Return the first size at which a text is no wider than its room, else the last one."""
    return float(next((size for size in sizes if wide(size) <= room), sizes[-1]))


@dataclass(frozen=True)
class _Panel:
    """The part of the picture that one runner has, and where the words stand."""

    left: float
    top: float
    width: float
    height: float
    words: Point
    wide: float


_PANELS: Final = {  # how many runners, whether they were filmed
    (1, True): (_Panel(0, 0, 680, 680, (720, 120), 520),),
    (1, False): (_Panel(40, 0, 1200, 720, (40, 76), 1200),),
    (2, True): tuple(_Panel(x, 0, 632, 560, (x + 16, 596), 600) for x in (0, 648)),
    (2, False): tuple(_Panel(40, y, 1200, 345, (40, y + 40), 420) for y in (0, 345)),
}


def _events(steps: Sequence[Sequence[KeyFrame]]) -> list[str]:
    """Return the key frames that all steps have, in the order of time; those out of it go."""
    in_time = (sorted(step, key=lambda frame: frame.picture) for step in steps)
    orders = [[frame.event for frame in step if frame.event in SIDE_EVENTS] for step in in_time]
    kept = [event for event in orders[0] if all(event in order for order in orders)]
    for other in orders[1:]:
        same = [event for event in other if event in kept]
        kept = [a for a, b in zip(kept, same, strict=True) if a == b]
    return kept


class _Scene(ABC):
    """What both kinds share: key frames, their times, own marks, and the words beside them."""

    def __init__(
        self, runner: FilmRunner, events: Sequence[str], poses: Mapping[str, Pose], panel: _Panel
    ) -> None:
        self.runner, self.run, self.panel = runner, runner.run, panel
        self.poses = [poses[event] for event in events]
        self.step = self.run.steps[runner.i_step]
        found = {frame.event: frame for frame in self.step.key_frames}
        self.frames = [found[event] for event in events]
        self.moments = [runner.moments.get(event) for event in events]
        self.setting = setting_of(self.run, self.step)
        self.leg_px = leg_px(self.run)
        self.set_out()

    @abstractmethod
    def set_out(self) -> None:
        """Work out, once, where the runner stands in the panel."""

    def behind(self, at: At) -> Shapes:
        """Return what stands behind the runner; the clip has its own ground."""
        return ()

    @abstractmethod
    def onto(self, picture: Image.Image, at: At, fonts: Fonts) -> Shapes:
        """Put the runner into the picture, or return it as shapes, with the words of a moment."""

    def lasts_s(self, i: int) -> float:
        """Return the true seconds from key frame i to the next; a usual step where unknown."""
        first, second = self.frames[i : i + 2]
        began, ended = (self.run.true_time_s(each.time_s) for each in (first, second))
        if began is not None and ended is not None:
            return ended - began
        typical = TYPICAL_STEP_S.get(self.run.set_up.context, TYPICAL_STEP_SLOWER_S)
        n_pictures = self.frames[-1].picture - self.frames[0].picture
        return (second.picture - first.picture) / (
            self.setting.effective_hz or n_pictures / typical
        )

    def picture_at(self, at: At) -> float:
        """Return the number of the picture at a moment, with its share."""
        first, *later = (frame.picture for frame in self.frames[at.i : at.i + 2])
        return first + at.share * (later[0] - first) if later else float(first)

    def words(self, at: At, fonts: Fonts) -> Shapes:
        """Return the label and, at a key frame, its name, value and word."""
        x, y = self.panel.words
        shapes: list[Shape] = [_text((x, y), self.runner.label, 24.0, MUTED)]
        moment = self.moments[at.i]
        if at.share or moment is None:
            return tuple(shapes)
        shapes.append(_text((x, y + 44), moment.name, 34.0, INK, is_bold=True))
        if moment.value:
            line = f"{moment.measure}: {moment.value}"
            size = _fitting(range(26, 15, -1), self.panel.wide, lambda em: fonts.width(line, em))
            shapes.append(_text((x, y + 84), line, size, INK))
            if moment.said:
                shapes += verdict_sign(moment.word, (x + 16, y + 112), 24.0, INK)
                shapes.append(_text((x + 42, y + 120), moment.said, 24.0, INK))
        return tuple(shapes)

    def marks_at(self, picture: int, to_place: Callable[[Point], Point]) -> Shapes:
        """Return the coach's own lines, angles and notes on a picture."""
        marks = [mark for mark in self.run.free_marks if mark.picture == picture]
        labels = self.runner.labels
        return tuple(s for m in marks for s in mark_shapes(m, to_place, text=labels.get(m, "")))


class _Drawn(_Scene):
    """A figure that moves along its ground line."""

    def set_out(self) -> None:
        """Say how far along the hip is at each key frame, in body heights, and where it begins.

        In contact the toe stays where it is. In flight the hip goes on as the taps show, else as
        fast as in contact.
        """
        self._x, run = [0.0], self.run
        per_px = THIGH_AND_SHANK / self.leg_px if self.leg_px else 0.0
        speed = 1.0 / 0.11  # body heights a second before anything is known
        for i in range(len(self.poses) - 1):
            hips = self.frames[i].at("hip"), self.frames[i + 1].at("hip")
            if self._stands(i):
                # a knee lifted before toe-off: the foot is down yet
                self.poses[i + 1] = on_ground(self.poses[i + 1], "near")
                on = _toe_x(self.poses[i]) - _toe_x(self.poses[i + 1])
                speed = on / (self.lasts_s(i) or 1.0) if on > 0 else speed
            elif run.set_up.is_static and per_px and hips[0] and hips[1]:
                on = run.travel_sign * (hips[1][0] - hips[0][0]) * per_px
            else:
                on = speed * self.lasts_s(i)
            self._x.append(self._x[-1] + on)
        panel, reach = self.panel, max(self._x) - min(self._x) + 1.0
        self.height = min(0.56 * panel.height, panel.width / reach)
        spare = panel.width - reach * self.height
        self._left = panel.left + spare / 2 + self.height * (0.5 - min(self._x))
        self._ground = panel.top + panel.height * 0.84

    def behind(self, at: At) -> Shapes:
        """Return ground and trail at a moment."""
        ends = (self.panel.left, self._ground), (self.panel.left + self.panel.width, self._ground)
        shapes: list[Shape] = [Line(ends, INK, 2.0)]
        for i, way in enumerate(self._x):
            foot = self._left + way * self.height
            shapes.append(Line(((foot, self._ground), (foot, self._ground + 8)), CONTROL_EDGE, 2.0))
            if i == at.i:
                shapes.append(_text((foot, self._ground + 30), str(i + 1), 18.0, MUTED, "c"))
        numbers, now = [frame.picture for frame in self.frames], self.picture_at(at)
        for path in self.run.paths:
            for each in path.places:
                if numbers[0] <= each.picture <= min(now, numbers[-1]):
                    place = self._placed(At.of(numbers, each.picture))
                    shapes.append(trail_dot(place(each.at_px), path.point, is_past=True))
        return tuple(shapes)

    def onto(self, picture: Image.Image, at: At, fonts: Fonts) -> Shapes:
        """Return figure, own marks and words of a moment."""
        pose, x = self._pose(at), self._hip_x(at)
        look = FigureLook(min_outline=2.0)
        shapes = list(figure_shapes(pose, self.height, (x, self._ground), look))
        if not at.share:
            shapes += self._line(at, pose, x)
            shapes += self.marks_at(self.frames[at.i].picture, self._placed(at))
        return (*shapes, *self.words(at, fonts))

    def _pose(self, at: At) -> Pose:
        if not at.share:
            return self.poses[at.i]
        foot: Side | None = "near" if self._stands(at.i) else None
        return between(self.poses[at.i], self.poses[at.i + 1], at.share, foot)

    def _stands(self, i: int) -> bool:
        """Say whether the near foot is on the ground from key frame i to the next."""
        off = next((f.picture for f in self.step.key_frames if f.event == TOE_OFF), None)
        return off is not None and self.frames[i + 1].picture <= off

    def _hip_x(self, at: At) -> float:
        on = 0.0
        if at.share and self._stands(at.i):
            on = _toe_x(self.poses[at.i]) - _toe_x(self._pose(at))
        elif at.share:
            on = at.share * (self._x[at.i + 1] - self._x[at.i])
        return self._left + (self._x[at.i] + on) * self.height

    def _line(self, at: At, pose: Pose, x: float) -> Shapes:
        """Return limb and angle of the moment's measure over the drawn figure."""
        moment = self.moments[at.i]
        if moment is None or not moment.row:
            return ()
        taps = tuple(
            Tap(point, (x + px * self.height, self._ground - py * self.height))
            for point, (px, py) in points_of(pose).items()
        )
        frame = KeyFrame(self.frames[at.i].event, 0, taps=taps)
        level = Run(source=self.run.source)  # the drawn ground is level
        unit = self.height / 300
        vertex, end, start = shown_points(moment.row, moment.leg)
        joints = [frame.at(name) for name in (start, vertex, end)]
        limb = Line(tuple(at for at in joints if at), ACCENT, 5.0 * unit, (), WHITE, 9.0 * unit)
        angle = angle_shapes(level, frame, moment.row, moment.leg, "", lambda p: p, unit)
        return (*angle, limb)

    def _placed(self, at: At) -> Callable[[Point], Point]:
        """Return frame px → the drawing, by the hip as tapped at a key frame or on the way on."""
        run, leg, x = self.run, self.leg_px or 1.0, self._hip_x(at)
        first, *later = (frame.at("hip") for frame in self.frames[at.i : at.i + 2])
        hip = np.array(first or (0.0, 0.0))
        if later and later[0] is not None:
            hip = hip + at.share * (np.array(later[0]) - hip)
        up = self._pose(at).hip_up

        def place(at_px: Point) -> Point:
            off = to_runner(np.array(at_px) - hip, roll_of(run), run.travel_sign)
            forward, higher = (float(each) * THIGH_AND_SHANK / leg for each in off)
            return x + forward * self.height, self._ground - (up + higher) * self.height

        return place


def _toe_x(pose: Pose) -> float:
    return points_of(pose)["near toe"][0]


class _Filmed(_Scene):
    """The clip itself, cut to the runner, the face covered."""

    def set_out(self) -> None:
        """Follow the face and say how large the cut is; raise NotThere without a leg."""
        self._track = FaceTrack(self.run, self.frames, self.setting.effective_hz)
        if self.leg_px is None:
            raise NotThere(
                f"{self.runner.label}: tap hip, knee and ankle, so that the cut is known."
            )
        self._scale = SHARE_OF_PANEL * self.panel.height * THIGH_AND_SHANK / self.leg_px

    def onto(self, picture: Image.Image, at: At, fonts: Fonts) -> Shapes:
        """Paste the runner's cut, face covered, and return what is drawn over it and beside it."""
        assert self.runner.still is not None
        number, flips = round(self.picture_at(at)), self.run.travel_sign < 0
        hip, disc = self._track.at(number)
        width, height = round(self.panel.width), round(self.panel.height)
        left = hip[0] - width / 2 / self._scale
        top = hip[1] - 0.52 * height / self._scale
        box = (left, top, left + width / self._scale, top + height / self._scale)
        still = covered(self.runner.still(number), disc)
        cut = still.transform(
            (width, height), Image.Transform.EXTENT, box, Image.Resampling.BILINEAR
        )
        cut = ImageOps.mirror(cut) if flips else cut

        def place(at_px: Point) -> Point:
            across, down = (at_px[0] - left) * self._scale, (at_px[1] - top) * self._scale
            return width - across if flips else across, down

        own: list[Shape] = []
        if not at.share:
            frame, moment = self.frames[at.i], self.moments[at.i]
            own += tap_shapes(frame, place)
            if moment and moment.row:
                row, leg = moment.row, moment.leg
                own += angle_shapes(self.run, frame, row, leg, moment.value, place)
        if self.run.set_up.is_static:
            own += [
                trail_dot(place(each.at_px), path.point, is_past=each.picture <= number)
                for path in self.run.paths
                for each in path.places
            ]
        own += self.marks_at(number, place)
        paint(cut, tuple(own), fonts)
        picture.paste(cut, (round(self.panel.left), round(self.panel.top)))
        return self.words(at, fonts)


class FaceTrack:
    """Where hip and face are in each picture of a step: straight from key frame to key frame.

    The disc grows between two key frames by as much as a head may swerve from the straight way in
    the time between them. Raises NoConsent where hip and shoulder are not tapped on all of them,
    where the camera moved, and where the swerve may be more than a head.
    """

    def __init__(self, run: Run, frames: Sequence[KeyFrame], hz: float | None) -> None:
        if not run.set_up.is_static:
            raise NoConsent(
                "The camera moved, so the face cannot be followed between the key frames. Make "
                "the drawn film instead."
            )
        discs, hips = [face_disc(frame) for frame in frames], [frame.at("hip") for frame in frames]
        leg = leg_px(run)
        if None in discs or None in hips or leg is None or not hz:
            missing = next((f.event for f, disc in zip(frames, discs, strict=True) if not disc), "")
            raise NoConsent(
                "The face cannot be covered in every frame: hip and shoulder must be tapped on "
                f"every key frame{f', also on {missing}' if missing else ''}. Tap them, or make "
                "the drawn film."
            )
        self._numbers = [frame.picture for frame in frames]
        self._hips = np.array([hip for hip in hips if hip], float)
        radius = MORE_COVER * max(disc.radius for disc in discs if disc)
        self._faces = np.array([(*disc.centre, radius) for disc in discs if disc], float)
        px_per_m = leg / LEG_M
        gaps_s = np.diff(self._numbers) / hz
        self._swerves = SWERVE_MPS2 * gaps_s**2 / 8.0 * px_per_m
        if max(self._swerves) > HEAD_M * px_per_m:
            raise NoConsent(
                f"Between two key frames {1000 * max(gaps_s):.0f} ms go by, too long to know where "
                "the face is. Make the drawn film instead."
            )

    def at(self, number: int) -> tuple[Point, FaceDisc]:
        """Return hip and disc in a picture between the first key frame and the last."""
        at = At.of(self._numbers, number)
        i, share = at.i, at.share
        hip = (1 - share) * self._hips[i] + share * self._hips[i + 1]
        x, y, r = (1 - share) * self._faces[i] + share * self._faces[i + 1]
        r += 4.0 * share * (1.0 - share) * self._swerves[i]
        return (float(hip[0]), float(hip[1])), FaceDisc((float(x), float(y)), float(r))


def _text(
    at: Point, text: str, size: float, ink: str, anchor: str = "w", is_bold: bool = False
) -> Label:
    return Label(at, text, size, ink, is_bold, False, anchor)
