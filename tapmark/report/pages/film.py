"""A film of one step, picture by picture: drawn figures or the clip itself, one runner or two.

The step is slowed and stops at each key frame with its line, one value and its word; the cue stands
at the end. In the drawn film the figures move from marked pose to marked pose on their ground line.
In the filmed one the picture is cut to the runner and the face is covered in every frame, along the
way of hip and shoulder from key frame to key frame.
"""

from bisect import bisect_right
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise
from typing import Final

import numpy as np
from PIL import Image, ImageDraw, ImageOps

from tapmark.errors import NoConsent, NotThere
from tapmark.geometry.runner_axes import to_runner
from tapmark.marks.points import SIDE_EVENTS, TOE_OFF
from tapmark.marks.run import FreeMark, KeyFrame, Run, Tap
from tapmark.measures.free_marks import roll_of
from tapmark.measures.setting import TYPICAL_STEP_S, TYPICAL_STEP_SLOWER_S, setting_of
from tapmark.report.drawing.body import Pose, on_ground, points_of
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
from tapmark.report.pages.pictures import FaceDisc, face_disc, leg_px

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


class Film:
    """The pictures of a film; raises NotThere where a runner has fewer than two drawable frames.

    NoConsent where a face cannot be covered in every frame.
    """

    def __init__(self, content: FilmContent) -> None:
        self.content = content
        self.events = _events([each.run.steps[each.i_step].key_frames for each in content.runners])
        poses = [step_poses(each.run, each.i_step) for each in content.runners]
        self.events = tuple(e for e in self.events if all(e in each for each in poses))
        if len(self.events) < 2:
            raise NotThere(
                "A film needs two key frames with hip, knee and ankle tapped. Tap them first."
            )
        self._fonts = Fonts(1.0)
        self._behind: Shapes = ()
        self._painted = Image.new("RGB", SIZE_PX, WHITE)
        panels = _panels(len(content.runners), content.runners[0].still is not None)
        self._scenes: list[_Drawn | _Filmed] = []
        for runner, pose, panel in zip(content.runners, poses, panels, strict=True):
            scene = _Filmed if runner.still else _Drawn
            self._scenes.append(scene(runner, self.events, pose, panel))

    @cached_property
    def _steps(self) -> tuple[tuple[At, int], ...]:
        """Moment and how many frames it stands, in order; the cue comes after them."""
        steps: list[tuple[At, int]] = []
        for i in range(len(self.events)):
            steps.append((At(i), HELD))
            if i + 1 < len(self.events):
                lasts = [scene.lasts_s(i) for scene in self._scenes]
                n = round(RATE * SLOWED * sum(lasts) / len(lasts))
                steps += [(At(i, k / n), 1) for k in range(1, n)]
        return tuple(steps)

    @property
    def n_frames(self) -> int:
        """How many frames the film has."""
        return sum(n for _, n in self._steps) + (CUE_HELD if self.content.cue else 0)

    def frames(self) -> Iterator[tuple[Image.Image, int]]:
        """Yield each picture with the number of frames that it stands still."""
        picture = Image.new("RGB", SIZE_PX, WHITE)
        for at, n in self._steps:
            picture = self._picture(at)
            yield picture, n
        if self.content.cue:
            yield self._with_cue(picture), CUE_HELD

    def _picture(self, at: At) -> Image.Image:
        picture = self._stage(at).copy()
        shapes = [shape for scene in self._scenes for shape in scene.onto(picture, at, self._fonts)]
        paint(picture, tuple(shapes), self._fonts)
        return picture

    def _stage(self, at: At) -> Image.Image:
        """Return what stands behind the runners; it is painted anew only where it has changed."""
        note = _text((40.0, 704.0), self.content.note, 20.0, MUTED)
        behind = (note, *(shape for scene in self._scenes for shape in scene.behind(at)))
        if behind != self._behind:
            self._behind, self._painted = behind, Image.new("RGB", SIZE_PX, WHITE)
            paint(self._painted, behind, self._fonts)
        return self._painted

    def _with_cue(self, last: Image.Image) -> Image.Image:
        picture = Image.blend(last, Image.new("RGB", SIZE_PX, WHITE), 0.8)
        size = 64.0
        while self._fonts.width(self.content.cue, size, True) > SIZE_PX[0] - 120 and size > 24:
            size -= 2.0
        middle = SIZE_PX[0] / 2, SIZE_PX[1] / 2
        paint(picture, (Label(middle, self.content.cue, size, INK, True, False, "c"),), self._fonts)
        return picture


@dataclass(frozen=True)
class _Panel:
    """The part of the picture that one runner has, and where the words stand."""

    left: float
    top: float
    width: float
    height: float
    words: Point
    wide: float


def _panels(n: int, is_filmed: bool) -> tuple[_Panel, ...]:
    if n == 1 and is_filmed:
        return (_Panel(0, 0, 680, 680, (720, 120), 520),)
    if n == 1:
        return (_Panel(40, 0, 1200, 720, (40, 76), 1200),)
    if is_filmed:
        return tuple(_Panel(x, 0, 632, 560, (x + 16, 596), 600) for x in (0, 648))
    return tuple(_Panel(40, y, 1200, 345, (40, y + 40), 420) for y in (0, 345))


def _events(steps: Sequence[Sequence[KeyFrame]]) -> tuple[str, ...]:
    """Return the key frames that all steps have, in the order of time; those out of it go."""
    orders = [
        [
            frame.event
            for frame in sorted(step, key=lambda f: f.picture)
            if frame.event in SIDE_EVENTS
        ]
        for step in steps
    ]
    first, *others = orders
    kept = [event for event in first if all(event in other for other in others)]
    for other in others:
        same = [event for event in other if event in kept]
        kept = [a for a, b in zip(kept, same, strict=True) if a == b]
    return tuple(kept)


class _Scene:
    """What both kinds share: key frames, their times, and the words beside them."""

    def __init__(
        self,
        runner: FilmRunner,
        events: tuple[str, ...],
        poses: Mapping[str, Pose],
        panel: _Panel,
    ) -> None:
        self.runner, self.events, self.panel = runner, events, panel
        self.poses = [poses[event] for event in events]
        self.step = runner.run.steps[runner.i_step]
        found = {frame.event: frame for frame in self.step.key_frames}
        self.frames = [found[event] for event in events]
        self.setting = setting_of(runner.run, self.step)

    def lasts_s(self, i: int) -> float:
        """Return the true seconds from key frame i to the next; a usual step where unknown."""
        run, (first, second) = self.runner.run, self.frames[i : i + 2]
        began, ended = run.true_time_s(first.time_s), run.true_time_s(second.time_s)
        if began is not None and ended is not None:
            return ended - began
        typical = TYPICAL_STEP_S.get(run.set_up.context, TYPICAL_STEP_SLOWER_S)
        hz = self.setting.effective_hz or (
            (self.frames[-1].picture - self.frames[0].picture) / typical
        )
        return (second.picture - first.picture) / hz

    def picture_at(self, at: At) -> float:
        """Return the number of the picture at a moment, with its share."""
        first = self.frames[at.i].picture
        if at.i + 1 == len(self.frames):
            return float(first)
        return first + at.share * (self.frames[at.i + 1].picture - first)

    def moment_at(self, picture: int) -> At | None:
        """Return the moment of a picture, None before and after the film."""
        numbers = [frame.picture for frame in self.frames]
        if not numbers[0] <= picture <= numbers[-1]:
            return None
        i = min(bisect_right(numbers, picture), len(numbers) - 1) - 1
        apart = numbers[i + 1] - numbers[i]
        return At(i, (picture - numbers[i]) / apart if apart else 0.0)

    def words(self, at: At, fonts: Fonts) -> Shapes:
        """Return the label and, at a key frame, its name, value and word."""
        x, y = self.panel.words
        shapes: list[Shape] = [_text((x, y), self.runner.label, 24.0, MUTED)]
        moment = self.runner.moments.get(self.events[at.i])
        if at.share or moment is None:
            return tuple(shapes)
        shapes.append(_text((x, y + 44), moment.name, 34.0, INK, is_bold=True))
        if moment.value:
            line = f"{moment.measure}: {moment.value}"
            size = 26.0
            while fonts.width(line, size) > self.panel.wide and size > 16.0:
                size -= 1.0
            shapes.append(_text((x, y + 84), line, size, INK))
            if moment.said:
                shapes += verdict_sign(moment.word, (x + 16, y + 112), 24.0, INK)
                shapes.append(_text((x + 42, y + 120), moment.said, 24.0, INK))
        return tuple(shapes)

    def marks_at(self, picture: int, to_place: Callable[[Point], Point]) -> Shapes:
        """Return the coach's own lines, angles and notes on a picture."""
        marks = [mark for mark in self.runner.run.free_marks if mark.picture == picture]
        labels = self.runner.labels
        return tuple(
            shape
            for mark in marks
            for shape in mark_shapes(mark, to_place, text=labels.get(mark, ""))
        )


class _Drawn(_Scene):
    """A figure that moves along its ground line."""

    def __init__(
        self,
        runner: FilmRunner,
        events: tuple[str, ...],
        poses: Mapping[str, Pose],
        panel: _Panel,
    ) -> None:
        super().__init__(runner, events, poses, panel)
        for i in range(len(self.poses) - 1):  # a knee lifted before toe-off: the foot is down yet
            if self._stands(i):
                self.poses[i + 1] = on_ground(self.poses[i + 1], "near")
        self._x = self._ways()
        reach = max(self._x) - min(self._x) + 1.0
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
        return (*shapes, *self._trail(self.picture_at(at)))

    def onto(self, picture: Image.Image, at: At, fonts: Fonts) -> Shapes:
        """Return figure, own marks and words of a moment."""
        pose, x = self._pose(at), self._hip_x(at)
        look = FigureLook(min_outline=2.0)
        shapes = list(figure_shapes(pose, self.height, (x, self._ground), look))
        if not at.share:
            shapes += self._line(at, pose, x)
            shapes += self.marks_at(self.frames[at.i].picture, self._placed(at.i, x))
        return (*shapes, *self.words(at, fonts))

    def _pose(self, at: At) -> Pose:
        if not at.share:
            return self.poses[at.i]
        foot = "near" if self._stands(at.i) else None
        return between(self.poses[at.i], self.poses[at.i + 1], at.share, foot)  # type: ignore[arg-type]

    def _stands(self, i: int) -> bool:
        """Say whether the near foot is on the ground from key frame i to the next."""
        off = next((f.picture for f in self.step.key_frames if f.event == TOE_OFF), None)
        return off is not None and self.frames[i + 1].picture <= off

    def _toe_x(self, pose: Pose) -> float:
        return points_of(pose)["near toe"][0]

    def _ways(self) -> list[float]:
        """Return how far along the hip is at each key frame, in body heights.

        In contact the toe stays where it is. In flight the hip goes on as the taps show, else as
        fast as in contact.
        """
        ways = [0.0]
        run, leg = self.runner.run, leg_px(self.runner.run)
        per_px = THIGH_AND_SHANK / leg if leg else 0.0
        speed = 1.0 / 0.11  # body heights a second before anything is known
        for i, (first, second) in enumerate(pairwise(self.poses)):
            hips = self.frames[i].at("hip"), self.frames[i + 1].at("hip")
            if self._stands(i):
                on = self._toe_x(first) - self._toe_x(second)
                speed = on / (self.lasts_s(i) or 1.0) if on > 0 else speed
            elif run.set_up.is_static and per_px and hips[0] and hips[1]:
                on = run.travel_sign * (hips[1][0] - hips[0][0]) * per_px
            else:
                on = speed * self.lasts_s(i)
            ways.append(ways[-1] + on)
        return ways

    def _hip_x(self, at: At) -> float:
        if not at.share:
            return self._left + self._x[at.i] * self.height
        if self._stands(at.i):
            on = self._toe_x(self.poses[at.i]) - self._toe_x(self._pose(at))
        else:
            on = at.share * (self._x[at.i + 1] - self._x[at.i])
        return self._left + (self._x[at.i] + on) * self.height

    def _line(self, at: At, pose: Pose, x: float) -> Shapes:
        moment = self.runner.moments.get(self.events[at.i])
        if moment is None or not moment.row:
            return ()
        taps = tuple(
            Tap(point, (x + px * self.height, self._ground - py * self.height))
            for point, (px, py) in points_of(pose).items()
        )
        frame = KeyFrame(self.events[at.i], 0, taps=taps)
        level = Run(source=self.runner.run.source)  # the drawn ground is level
        unit = self.height / 300
        vertex, end, start = shown_points(moment.row, moment.leg)
        joints = [frame.at(name) for name in (start, vertex, end)]
        limb = Line(tuple(at for at in joints if at), ACCENT, 5.0 * unit, (), WHITE, 9.0 * unit)
        angle = angle_shapes(level, frame, moment.row, moment.leg, "", lambda p: p, unit)
        return (*angle, limb)

    def _placed(self, i: int, x: float, share: float = 0.0) -> Callable[[Point], Point]:
        """Return frame px → the drawing, by the hip as tapped at key frame i or on the way on."""
        run, leg = self.runner.run, leg_px(self.runner.run) or 1.0
        first, second = (self.frames[min(j, len(self.frames) - 1)].at("hip") for j in (i, i + 1))
        hip = np.array(first or (0.0, 0.0))
        if second is not None:
            hip = hip + share * (np.array(second) - hip)
        up = self._pose(At(i, share)).hip_up

        def place(at_px: Point) -> Point:
            off = to_runner(np.array(at_px) - hip, roll_of(run), run.travel_sign)
            forward, higher = (float(each) * THIGH_AND_SHANK / leg for each in off)
            return x + forward * self.height, self._ground - (up + higher) * self.height

        return place

    def _trail(self, now: float) -> Shapes:
        shapes: list[Shape] = []
        for path in self.runner.run.paths:
            for each in path.places:
                at = self.moment_at(each.picture)
                if at is not None and each.picture <= now:
                    place = self._placed(at.i, self._hip_x(at), at.share)
                    shapes.append(trail_dot(place(each.at_px), path.point, is_past=True))
        return tuple(shapes)


class _Filmed(_Scene):
    """The clip itself, cut to the runner, the face covered."""

    def __init__(
        self,
        runner: FilmRunner,
        events: tuple[str, ...],
        poses: Mapping[str, Pose],
        panel: _Panel,
    ) -> None:
        super().__init__(runner, events, poses, panel)
        self._track = FaceTrack(runner.run, self.frames, self.setting.effective_hz)
        leg = leg_px(runner.run)
        if leg is None:
            raise NotThere(f"{runner.label}: tap hip, knee and ankle, so that the cut is known.")
        self._scale = SHARE_OF_PANEL * panel.height * THIGH_AND_SHANK / leg
        self._flips = runner.run.travel_sign < 0

    def behind(self, at: At) -> Shapes:
        """Return nothing: the clip has its own ground."""
        return ()

    def onto(self, picture: Image.Image, at: At, fonts: Fonts) -> Shapes:
        """Paste the runner's cut, face covered, and return what is drawn over it and beside it."""
        assert self.runner.still is not None
        number = round(self.picture_at(at))
        hip, disc = self._track.at(number)
        width, height = round(self.panel.width), round(self.panel.height)
        left = hip[0] - width / 2 / self._scale
        top = hip[1] - 0.52 * height / self._scale
        box = (left, top, left + width / self._scale, top + height / self._scale)
        still = self.runner.still(number).convert("RGB")
        (x, y), r = disc.centre, disc.radius
        ImageDraw.Draw(still).ellipse((x - r, y - r, x + r, y + r), fill=INK)
        cut = still.transform(
            (width, height), Image.Transform.EXTENT, box, Image.Resampling.BILINEAR
        )
        cut = ImageOps.mirror(cut) if self._flips else cut
        corner = round(self.panel.left), round(self.panel.top)

        def place(at_px: Point) -> Point:
            across, down = (at_px[0] - left) * self._scale, (at_px[1] - top) * self._scale
            return width - across if self._flips else across, down

        own: list[Shape] = []
        if not at.share:
            frame, moment = self.frames[at.i], self.runner.moments.get(self.events[at.i])
            own += tap_shapes(frame, place)
            if moment and moment.row:
                own += angle_shapes(
                    self.runner.run, frame, moment.row, moment.leg, moment.value, place
                )
        own += [
            trail_dot(place(each.at_px), path.point, is_past=each.picture <= number)
            for path in self.runner.run.paths
            for each in path.places
        ] * self.runner.run.set_up.is_static
        own += self.marks_at(number, place)
        paint(cut, tuple(own), fonts)
        picture.paste(cut, corner)
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
        numbers = self._numbers
        i = max(0, min(bisect_right(numbers, number), len(numbers) - 1) - 1)
        apart = numbers[i + 1] - numbers[i]
        share = (number - numbers[i]) / apart if apart else 0.0
        hip = (1 - share) * self._hips[i] + share * self._hips[i + 1]
        x, y, r = (1 - share) * self._faces[i] + share * self._faces[i + 1]
        r += 4.0 * share * (1.0 - share) * self._swerves[i]
        return (float(hip[0]), float(hip[1])), FaceDisc((float(x), float(y)), float(r))


def _text(
    at: Point, text: str, size: float, ink: str, anchor: str = "w", is_bold: bool = False
) -> Label:
    return Label(at, text, size, ink, is_bold, False, anchor)
