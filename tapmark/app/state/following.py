"""Where the runner is in each frame, and the view that stays with the runner.

The zoom is found once, or set by hand, and kept as a factor and a shift against the runner; nothing
of it is measured: it only says what part of a frame is looked at.
"""

import math
from bisect import bisect_left
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from itertools import pairwise
from statistics import median

from tapmark.app.state.viewport import Point, Viewport
from tapmark.marks.points import TOUCHDOWN
from tapmark.marks.run import KeyFrame, Run
from tapmark.report.drawing.body import STAND_IN, Build, points_of

FILLS = 0.92  # of the height of the pane, by the runner from head to shoes
MOST_PX_PER_PX = 2.0  # found by itself; by hand it may be more
HIP_UP = 0.53  # of the body height, above the soles
OTHERWISE = 0.15  # a body height or a hip so much off what is looked at is found again
USUAL_SPEED = 3.5  # body heights a second of a runner of whom one place is known
NEAR = 0.12  # body heights around a point that is asked for; in view with it where it is zoomed
MOST_MARGIN = 0.45  # of the pane
_BUILD = Build()
SEGMENTS = {
    ("shoulder", "hip"): _BUILD.trunk,
    ("hip", "near knee"): _BUILD.thigh,
    ("hip", "far knee"): _BUILD.thigh,
    ("near knee", "near ankle"): _BUILD.shank,
    ("far knee", "far ankle"): _BUILD.shank,
}
ARM = ("shoulder", "elbow"), _BUILD.upper_arm
TimeOf = Callable[[int], float | None]


@dataclass(frozen=True)
class Spot:
    """The hip in a frame, px; tall_px: the body height where it is known.

    wide_px: of the box from head to shoes that was drawn, None for a click on the hip.
    """

    at: Point
    tall_px: float | None = None
    wide_px: float | None = None

    @property
    def corners(self) -> tuple[Point, ...]:
        """Upper left, upper right, lower right and lower left of the box, () without one."""
        if self.wide_px is None or self.tall_px is None:
            return ()
        left, right = self.at[0] - self.wide_px / 2, self.at[0] + self.wide_px / 2
        bottom = self.at[1] + HIP_UP * self.tall_px
        top = bottom - self.tall_px
        return (left, top), (right, top), (right, bottom), (left, bottom)


def boxed(start: Point, end: Point) -> Spot:
    """Return the spot that a box with these opposite corners tells."""
    (left, right), (top, bottom) = sorted((start[0], end[0])), sorted((start[1], end[1]))
    tall = bottom - top
    return Spot(((left + right) / 2, bottom - HIP_UP * tall), tall, right - left)


@dataclass(frozen=True)
class Runner:
    """How tall the runner is, px, at which height the hip runs, and where it is in some frames.

    hips:    frame -> x of the hip, px; times: its seconds, or its number.
    time_of: the same for any frame, None where nobody knows.
    pace:    px a second (or a frame) before the first and after the last of them.
    """

    tall_px: float
    hip_y: float
    hips: Mapping[int, float]
    times: Mapping[int, float]
    time_of: TimeOf
    pace: tuple[float, float]

    @property
    def middle_y(self) -> float:
        """Half way between head and soles, px."""
        return self.hip_y - (0.5 - (1 - HIP_UP)) * self.tall_px

    def x(self, picture: int) -> float:
        """Return where the hip is in a frame: straight in time, at the same speed beyond."""
        known = sorted(self.hips)
        t, times = self.time_of(picture), [self.times[i] for i in known]
        if t is None:
            return self.hips[min(known, key=lambda i: abs(i - picture))]
        i = bisect_left(times, t)
        if i == 0:
            return self.hips[known[0]] + self.pace[0] * (t - times[0])
        if i == len(times):
            return self.hips[known[-1]] + self.pace[1] * (t - times[-1])
        share = (t - times[i - 1]) / (times[i] - times[i - 1])
        return self.hips[known[i - 1]] * (1 - share) + self.hips[known[i]] * share


def runner_of(run: Run, spots: Mapping[int, Spot], time_of: TimeOf) -> Runner | None:
    """Return where the runner is as far as taps and spots tell, None while nothing is known.

    time_of: seconds of a frame on the file's clock; where one is not known frames are counted.
    """
    frames = [frame for step in run.steps for frame in step.key_frames if _anchor(frame)]
    hips = {i: spot.at for i, spot in spots.items()}
    hips |= {frame.picture: at for frame in frames if (at := _anchor(frame))}
    heights = [tall for frame in frames if (tall := body_px(frame))]
    heights = heights or [spot.tall_px for spot in spots.values() if spot.tall_px]
    if not heights or not hips:
        return None
    tall = median(heights)
    own_hips = [at[1] for frame in frames if (at := frame.at("hip"))]
    above = [at[1] + _BUILD.trunk * tall for at in hips.values()] if frames else []
    hip_y = median(own_hips or [spot.at[1] for spot in spots.values()] or above)
    timed = {i: t for i in hips if (t := time_of(i)) is not None}
    is_timed = len(timed) == len(hips)
    times = timed if is_timed else {i: float(i) for i in hips}
    xs = {i: at[0] for i, at in hips.items()}
    factor, known, pace = run.set_up.slow_factor, sorted(xs), (0.0, 0.0)
    if run.set_up.camera and not run.set_up.is_static:
        pass  # the camera goes along: the nearest place is the best guess
    elif len(known) > 1:
        speeds = [(xs[b] - xs[a]) / (times[b] - times[a]) for a, b in pairwise(known)]
        pace = speeds[0], speeds[-1]
    elif is_timed and factor and run.view == "side":
        pace = (USUAL_SPEED * tall * run.travel_sign / factor,) * 2
    return Runner(tall, hip_y, xs, times, time_of if is_timed else float, pace)


def _anchor(frame: KeyFrame) -> Point | None:
    return frame.at("hip") or frame.at("shoulder")


def body_px(frame: KeyFrame) -> float | None:
    """Return the body height that the tapped parts of a frame tell, px; None below two points."""
    known = {tap.point: tap.at_px for tap in frame.taps if tap.at_px}
    parts = [
        (math.dist(known[a], known[b]), share)
        for (a, b), share in SEGMENTS.items()
        if a in known and b in known
    ]
    (a, b), share = ARM
    if not parts and a in known and b in known:
        parts = [(math.dist(known[a], known[b]), share)]
    total = sum(length for length, _ in parts)
    return total / sum(share for _, share in parts) if total > 0 else None


@dataclass(frozen=True)
class Following:
    """What part of the frames is looked at.

    tall_px, middle_y: of the runner as it was found, px; 0 = not found yet.
    here:           (key frame, frame, x of the hip) found when this frame came: while it is looked
        at nothing moves, whatever is tapped in it.
    factor, shift:  set by hand against the runner. shift: px of the frame.
    is_whole:       the whole picture is wanted, zoom and centre then say what of it.
    """

    tall_px: float = 0.0
    middle_y: float = 0.0
    here: tuple[str, int, float] | None = None
    factor: float = 1.0
    shift: Point = (0.0, 0.0)
    is_whole: bool = False
    zoom: float = 1.0
    centre: Point | None = None

    def found(self, runner: Runner | None, event: str, picture: int) -> "Following":
        """Return the same with the runner found: once, and again where another frame tells better.

        Within a frame the picture stands still, whatever is tapped.
        """
        if runner is None:
            return replace(self, tall_px=0.0, here=None)
        if self.tall_px and self.here and self.here[:2] == (event, picture):
            return self
        here = event, picture, runner.x(picture)
        is_new = not self.here or self.here[0] != event
        off = abs(runner.tall_px - self.tall_px), abs(runner.middle_y - self.middle_y)
        if self.tall_px and not (is_new and max(off) > OTHERWISE * self.tall_px):
            return replace(self, here=here)
        return replace(self, tall_px=runner.tall_px, middle_y=runner.middle_y, here=here)

    def is_with(self, runner: Runner | None) -> bool:
        """Say whether the view stays with the runner."""
        return runner is not None and self.tall_px > 0 and not self.is_whole

    def view(self, whole: Viewport, runner: Runner | None, picture: int) -> Viewport:
        """Return what is seen of a frame; whole: the view of all of it."""
        if runner is None or not self.is_with(runner):
            return replace(whole, zoom=self.zoom, centre=self.centre)
        x, y = self._middle(runner, picture)
        scale = self._scale(whole) * self.factor
        centre = x + self.shift[0], y + self.shift[1]
        return replace(whole, zoom=max(1.0, scale / whole.fit), centre=centre)

    def _scale(self, whole: Viewport) -> float:
        return max(whole.fit, min(FILLS * whole.canvas[1] / self.tall_px, MOST_PX_PER_PX))

    def _middle(self, runner: Runner, picture: int) -> Point:
        is_here = self.here is not None and self.here[1] == picture
        x = self.here[2] if is_here and self.here else runner.x(picture)
        return x, self.middle_y

    def looked_through(self, new: Viewport, runner: Runner | None, picture: int) -> "Following":
        """Return the same after the view of a frame was changed by hand."""
        if runner is None or not self.is_with(runner):
            return replace(self, zoom=new.zoom, centre=new.centre)
        if new.fits:
            return self.whole()
        (x, y), (seen_x, seen_y) = self._middle(runner, picture), new.middle
        whole = replace(new, zoom=1.0, centre=None)
        factor = new.scale / self._scale(whole)
        return replace(self, factor=factor, shift=(seen_x - x, seen_y - y))

    def turned(self) -> "Following":
        """Return the runner where the whole picture is seen, and the other way round."""
        return Following(self.tall_px, self.middle_y, self.here, is_whole=not self.is_whole)

    def whole(self) -> "Following":
        """Return the same with the whole picture in sight."""
        return Following(self.tall_px, self.middle_y, self.here, is_whole=True)


def with_point(
    view: Viewport, following: Following, runner: Runner, sign: int, frame: KeyFrame, point: str
) -> Viewport:
    """Return a view changed by hand moved so far that a point asked for is in it.

    sign: +1 for a runner who goes right. A view found by itself has all of the runner in it.
    """
    if following.factor == 1.0 and following.shift == (0.0, 0.0):
        return view
    room = NEAR * runner.tall_px * view.scale / min(view.canvas)
    return view.showing(expected(runner, sign, frame, point), min(MOST_MARGIN, room))


def expected(runner: Runner, sign: int, frame: KeyFrame, point: str) -> Point:
    """Return about where a point of a frame is, px: where it was tapped, or where it usually is."""
    own = frame.at(point)
    if own:
        return own
    x, y = frame.at("hip") or (runner.x(frame.picture), runner.hip_y)
    usual = points_of(STAND_IN.get(frame.event, STAND_IN[TOUCHDOWN]))
    hip = usual["hip"]
    names = (
        point,
        f"near {point}",
        "shoulder" if "shoulder" in point or "neck" in point else "hip",
    )
    ahead, up = next(usual[name] for name in names if name in usual)
    return x + sign * (ahead - hip[0]) * runner.tall_px, y - (up - hip[1]) * runner.tall_px
