"""Two runs as one picture: hips held level, legs of one length, one direction, one clock."""

import math
import statistics
from collections import deque
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from time import perf_counter
from typing import Any

from PIL import Image

from tapmark.app.jobs import Jobs
from tapmark.app.shell.comparing import left_and_right
from tapmark.app.state.frames_shown import CUT_BYTES, Gallery, Shown
from tapmark.app.state.session import AppState
from tapmark.app.state.viewport import Box, Point, Size, Tone, Viewport
from tapmark.clip.frames import Pictures
from tapmark.marks.points import SIDE_EVENTS, TOUCHDOWN
from tapmark.marks.run import KeyFrame, Path, Run
from tapmark.report.drawing import palette
from tapmark.store.squad import RunAt

LEGS_UP, LEGS_DOWN = 1.05, 1.2  # what is seen above and below the hip, in lengths of hip to ankle
LIMBS = (("hip", "near knee", "near ankle"), ("hip", "far knee", "far ankle"))
GAP = 2  # px between the two runs
LEAST_HZ = 24.0  # shown frames per second, else both are cut at half the size and enlarged
COSTS = 6  # cuts whose median is looked at
NEAREST = Image.Resampling.NEAREST


@dataclass(frozen=True)
class Sight:
    """Where to look in each frame of one step.

    frames:  its key frames with a hip, in the order of time.
    paths:   points that were followed, to be seen between key frames.
    leg_px:  hip to ankle along the bones, the middle one of all key frames.
    """

    frames: tuple[KeyFrame, ...]
    leg_px: float
    goes_right: bool
    slow_factor: float | None
    paths: tuple[Path, ...] = ()

    @property
    def start(self) -> KeyFrame:
        """The key frame that both runs start from."""
        return next((f for f in self.frames if f.event == TOUCHDOWN), self.frames[0])

    def hip(self, picture: int) -> Point:
        """Return where the hip is, or would be, in a frame."""
        spots = [(frame.picture, frame.at("hip")) for frame in self.frames]
        placed = [(at, spot) for at, spot in spots if spot is not None]
        for (a, p), (b, q) in pairwise(placed):
            if a <= picture <= b:
                share = (picture - a) / (b - a) if b > a else 0.0
                return p[0] + (q[0] - p[0]) * share, p[1] + (q[1] - p[1]) * share
        return placed[0][1] if picture < placed[0][0] else placed[-1][1]

    def box(self, picture: int, size: Size) -> Box:
        """Return the part of the frame that fills a canvas of that size, frame px."""
        x, y = self.hip(picture)
        tall = (LEGS_UP + LEGS_DOWN) * self.leg_px
        wide = tall * size[0] / max(1, size[1])
        top = y - LEGS_UP * self.leg_px
        return x - wide / 2, top, x + wide / 2, top + tall

    def picture_at(self, pictures: Pictures, after_s: float) -> int:
        """Return the frame nearest to so many true seconds after touchdown."""
        times = [pictures.time_s(i) for i in range(len(pictures))]
        if not times:  # nothing of the clip is read yet
            return self.start.picture
        start = times[min(self.start.picture, len(times) - 1)] or 0.0
        wanted = start + after_s * (self.slow_factor or 1.0)
        known = [(abs(t - wanted), i) for i, t in enumerate(times) if t is not None]
        return min(known)[1] if known else self.start.picture

    def seconds_at(self, pictures: Pictures, picture: int) -> float | None:
        """Return true seconds after touchdown of a frame; None when they are not known.

        Nor are they while the clip is still being read and has not come to both frames.
        """
        if max(picture, self.start.picture) >= len(pictures):
            return None
        at, zero = pictures.time_s(picture), pictures.time_s(self.start.picture)
        if at is None or zero is None or self.slow_factor is None:
            return None
        return (at - zero) / self.slow_factor


def sight_of(run: Run, i_step: int) -> Sight | None:
    """Return where to look in a step; None without a hip and a leg on any key frame."""
    step = run.steps[min(i_step, len(run.steps) - 1)]
    found = [f for f in step.key_frames if f.event in SIDE_EVENTS and f.at("hip")]
    frames = tuple(sorted(found, key=lambda frame: frame.picture))
    legs = [[at for point in limb if (at := f.at(point))] for f in frames for limb in LIMBS]
    lengths = [sum(math.dist(a, b) for a, b in pairwise(leg)) for leg in legs if len(leg) == 3]
    if not lengths:
        return None
    rate = run.set_up.slow_factor
    return Sight(frames, statistics.median(lengths), run.travel_sign > 0, rate, run.paths)


def share_of_step(mine: Sight, other: Sight, picture: int) -> int:
    """Return the frame at the same share of the way between two key frames, without times."""
    events = [f.event for f in mine.frames if any(g.event == f.event for g in other.frames)]
    at = {f.event: f.picture for f in mine.frames}
    to = {f.event: f.picture for f in other.frames}
    for a, b in pairwise(events):
        if at[a] <= picture <= at[b] and at[b] > at[a]:
            share = (picture - at[a]) / (at[b] - at[a])
            return round(to[a] + share * (to[b] - to[a]))
    nearest = min(events, key=lambda event: abs(at[event] - picture), default="")
    return to.get(nearest, other.start.picture)


@dataclass(frozen=True)
class OneOfTwo:
    """One of the two runs as it can be shown; is_mine: the one that is open.

    i_place: 0 for the left or upper one.
    """

    where: RunAt
    run: Run
    gallery: Gallery
    sight: Sight
    is_mine: bool
    i_place: int

    def seconds_at(self, picture: int) -> float | None:
        """Return true seconds after touchdown of a frame; None when they are not known."""
        return self.sight.seconds_at(self.gallery.pictures, picture)

    def following(self, mine: "OneOfTwo", picture: int, *, by_phase: bool) -> int:
        """Return the frame that belongs to one of my run: by true time, or by share of the step."""
        seconds = None if by_phase else mine.seconds_at(picture)
        if seconds is None or self.sight.slow_factor is None:
            return share_of_step(mine.sight, self.sight, picture)
        return self.sight.picture_at(self.gallery.pictures, seconds)


def both_runs(state: AppState) -> list[OneOfTwo]:
    """Return the runs of which frames and a hip are there, the left or upper one first."""
    compared, marking, found = state.compare, state.marking, list[OneOfTwo]()
    is_mine_first = left_and_right(state)[0] == state.where
    for is_mine, where, run, i_step, gallery in (
        (True, state.where, state.run, marking.i_step, marking.gallery),
        (False, compared.where, compared.run, 0, compared.gallery),
    ):
        sight = sight_of(run, i_step) if run else None
        if where and run and sight and gallery:
            i_place = int(is_mine != is_mine_first)
            found.append(OneOfTwo(where, run, gallery, sight, is_mine, i_place))
    return sorted(found, key=lambda one: one.i_place)


def cut(image: Image.Image, full: Size, box: Box, size: Size, *, mirrored: bool) -> Image.Image:
    """Return a part of a frame at canvas size; what lies outside is paper."""
    fx, fy = image.width / full[0], image.height / full[1]
    left, top, right, bottom = box[0] * fx, box[1] * fy, box[2] * fx, box[3] * fy
    px, py = size[0] / (right - left), size[1] / (bottom - top)
    inside = max(0.0, left), max(0.0, top), min(right, image.width), min(bottom, image.height)
    shown = Image.new("RGB", size, palette.HAIRLINE)
    at = round((inside[0] - left) * px), round((inside[1] - top) * py)
    to = round((inside[2] - left) * px), round((inside[3] - top) * py)
    if at[0] < to[0] and at[1] < to[1]:
        how = Image.Resampling.BOX if px < 1.0 else Image.Resampling.BILINEAR
        part = image.resize((to[0] - at[0], to[1] - at[1]), how, box=inside, reducing_gap=2.0)
        shown.paste(part, at)
    return shown.transpose(Image.Transpose.FLIP_LEFT_RIGHT) if mirrored else shown


@dataclass(frozen=True)
class Placing:
    """From frame px to canvas px, for the part of a frame that `cut` returns.

    left_top: where that part lies on the canvas.
    """

    box: Box
    size: Size
    mirrored: bool
    left_top: Point = (0.0, 0.0)

    def __call__(self, at: Point) -> Point:
        """Return where a point of the frame lies on the canvas."""
        left, top, right, bottom = self.box
        x = (at[0] - left) / (right - left) * self.size[0]
        y = (at[1] - top) / (bottom - top) * self.size[1]
        x = self.size[0] - x if self.mirrored else x
        return self.left_top[0] + x, self.left_top[1] + y


@dataclass(frozen=True)
class HalfView:
    """One run at a moment: its frame, where it is cut and where that lies on the canvas."""

    one: OneOfTwo
    picture: int
    place: Placing

    @property
    def key(self) -> tuple[object, ...]:
        """What makes another cut of it."""
        gallery = self.one.gallery
        return id(gallery), self.picture, self.place, gallery.has_full(self.picture)

    @property
    def frame(self) -> KeyFrame | None:
        """The key frame that is shown, None between two."""
        return next((f for f in self.one.sight.frames if f.picture == self.picture), None)

    def cut(self, image: Image.Image, shrink: int) -> Image.Image:
        """Return its part of the canvas, from a frame; shrink: made so many times smaller first."""
        size, full = self.place.size, self.one.gallery.pictures.size_px
        small = max(1, size[0] // shrink), max(1, size[1] // shrink)
        made = cut(image, full, self.place.box, small, mirrored=self.place.mirrored)
        return made if small == size else made.resize(size, NEAREST)


class PairGallery(Gallery):
    """Both runs at one moment as one picture of the canvas, for the pane and the player.

    What is seen is not the view's: each run is cut to its own runner. shrink: how many times
    smaller the halves are made while they play; 2 where full ones would come too slowly.
    """

    def __init__(self, state: AppState, mine: Gallery, jobs: Jobs) -> None:
        super().__init__(mine.pictures, jobs)
        self._state, self.mine, self.other = state, mine, state.compare.gallery
        self.most_bytes = CUT_BYTES // 2
        self.shrink = 1
        self._how: tuple[object, ...] = ()
        self._run: Run | None = None
        self._runs: list[OneOfTwo] = []
        self._made: dict[int, tuple[HalfView, ...]] = {}
        self._costs = deque[float](maxlen=COSTS)

    def halves(self, i: int, size: Size) -> tuple[HalfView, ...]:
        """Return both runs at a frame of this one, the left or upper one first; made once."""
        state, compared = self._state, self._state.compare
        n_read = len(self.pictures), len(self.other.pictures) if self.other else 0
        how = (state.marking.i_step, compared.by_phase, compared.is_above, size, n_read)
        if how != self._how or state.run is not self._run:
            self._how, self._run, self._made = how, state.run, {}
            self._runs = both_runs(state)
        if i not in self._made:
            self._made[i] = tuple(self._halves(i, size))
        return self._made[i]

    def _halves(self, i: int, size: Size) -> Iterator[HalfView]:
        runs, (wide, tall), compared = self._runs, size, self._state.compare
        mine, is_above = next((one for one in runs if one.is_mine), None), compared.is_above
        part = (wide, (tall - GAP) // 2) if is_above else ((wide - GAP) // 2, tall)
        part = max(1, part[0]), max(1, part[1])
        turned = len({one.sight.goes_right for one in runs}) > 1
        for one in runs:
            picture = i
            if not one.is_mine:
                picture = one.following(mine, i, by_phase=compared.by_phase) if mine else 0
            if picture < len(one.gallery.pictures):
                by = float(one.i_place * (part[int(is_above)] + GAP))
                at = (0.0, by) if is_above else (by, 0.0)
                box = one.sight.box(picture, part)
                place = Placing(box, part, turned and not one.is_mine, at)
                yield HalfView(one, picture, place)

    def want_full(self, i: int, then: Callable[[], None]) -> None:
        for half in self.halves(i, self._state.canvas):
            half.one.gallery.want_full(half.picture, then)

    def cut(self, i: int, view: Viewport, tone: Tone) -> Shown:
        halves = self.halves(i, view.canvas)
        key = (*(half.key for half in halves), view.canvas, 1)
        if key not in self._kept:
            cuts = [(h.place, h.cut(h.one.gallery.best(h.picture), 1)) for h in halves]
            self.keep(Shown(_joined(cuts, view.canvas), (0, 0), key))
        return self._used(key)

    def later(self, i: int, view: Viewport, tone: Tone) -> Callable[[], Shown]:
        halves, shrink, key = self.halves(i, view.canvas), self.shrink, self._moving(i, view)

        def work() -> Shown:
            start = perf_counter()
            cuts = [
                (h.place, h.cut(h.one.gallery.pictures.preview(h.picture), shrink)) for h in halves
            ]
            image = _joined(cuts, view.canvas)
            self._costs.append(perf_counter() - start)
            return Shown(image, (0, 0), key)

        return work

    def _moving(self, i: int, view: Viewport) -> tuple[Any, ...]:
        return (*(half.key[:3] for half in self.halves(i, view.canvas)), view.canvas, "moving")

    def is_kept(self, i: int, view: Viewport, tone: Tone) -> bool:
        return self._moving(i, view) in self._kept

    def kept(self, i: int, view: Viewport, tone: Tone) -> Shown:
        if len(self._costs) == COSTS and statistics.median(self._costs) > 1 / LEAST_HZ:
            self.shrink = 2
        return self._used(self._moving(i, view))

    def close(self) -> None:
        """Forget what was cut; both runs keep their frames."""
        self._kept.clear()
        self._n_bytes = 0


def _joined(cuts: list[tuple[Placing, Image.Image]], size: Size) -> Image.Image:
    whole = Image.new("RGB", size, palette.WHITE)
    for place, image in cuts:
        whole.paste(image, (round(place.left_top[0]), round(place.left_top[1])))
    return whole
