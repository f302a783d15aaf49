"""Two runs side by side: choose the other one, hold the hips still, step through both."""

import math
from dataclasses import dataclass
from functools import partial
from itertools import pairwise
from statistics import median

from PIL import Image

from tapmark.app.shell.comparing import (
    PAGE,
    choose_other,
    here,
    left_and_right,
    open_compare,
    others_of,
    places,
)
from tapmark.app.shell.context import Action, Context
from tapmark.app.shell.why_disabled import needs_taps, unless
from tapmark.app.state.session import AppState
from tapmark.app.state.viewport import Box, Point, Size
from tapmark.clip.frames import Pictures
from tapmark.marks.points import SIDE_EVENTS, TOUCHDOWN
from tapmark.marks.run import KeyFrame, Path, Run
from tapmark.report.drawing import palette
from tapmark.report.pages.pictures import png_bytes
from tapmark.report.pages.plots import compare_picture
from tapmark.services.pictures import compare_out

LEGS_UP, LEGS_DOWN = 1.05, 1.2  # what is seen above and below the hip, in lengths of hip to ankle
LIMBS = (("hip", "near knee", "near ankle"), ("hip", "far knee", "far ankle"))


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
    return Sight(frames, median(lengths), run.travel_sign > 0, rate, run.paths)


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


def choose_athlete_to_compare(context: Context, code: str) -> None:
    """List the runs of another athlete."""
    state = context.state
    state.compare.others = others_of(state.the_squad, code, here(state))
    if state.compare.others:
        choose_other(context, state.compare.others[0])
    else:
        state.status = f"{code} has no other run."


def sights(state: AppState) -> tuple[Sight | None, Sight | None]:
    """Return where to look in this run and in the other one."""
    mine = sight_of(state.run, state.marking.i_step) if state.run else None
    other = sight_of(state.compare.run, 0) if state.compare.run else None
    return mine, other


def other_picture(state: AppState, picture: int) -> int:
    """Return the frame of the other run that belongs to one of this run."""
    compared, (mine, other) = state.compare, sights(state)
    if not mine or not other or state.pictures is None or not compared.gallery:
        return 0
    seconds = mine.seconds_at(state.pictures, picture)
    if compared.by_phase:
        seconds = None
    if seconds is not None and other.slow_factor is not None:
        return other.picture_at(compared.gallery.pictures, seconds)
    return share_of_step(mine, other, picture)


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


def picture_out(context: Context) -> None:
    """Write both runs as drawn figures in one picture, where both athletes agreed, and open it."""
    state, content = context.state, context.state.compare.content
    squad, where = state.squad, state.compare.where
    if not squad or not where or content is None:
        return
    today, mine = context.today(), here(state)
    first, second = places(squad, left_and_right(state), mine, state.marking.i_step)
    folder = squad.athlete_folder(mine[0]) if content.is_same else squad.folder
    picture = png_bytes(compare_picture(content))
    path = compare_out(content, first, second, folder, picture, today)
    context.hand_out(path, f"Picture: {path}")


def by_phase(context: Context) -> None:
    """Let the other run follow key frame by key frame, or by true time again."""
    compared = context.state.compare
    compared.by_phase = not compared.by_phase
    by_frame = "Both stand at the same key frame; between two they go on by the same share."
    by_time = "Both go on from touchdown in true time."
    context.state.status = by_frame if compared.by_phase else by_time


def above(context: Context) -> None:
    """Put one run above the other, or beside it again."""
    context.state.compare.is_above = not context.state.compare.is_above


def lay_over(context: Context, what: str) -> None:
    """Draw something over the frames (one of OVER), or leave it out."""
    context.state.compare.over ^= {what}


_reviewed = partial(
    Action, pages=("review", "drawing", "sheet"), group="Review", why_disabled=needs_taps
)
_on_compare = partial(Action, pages=(PAGE,), group="Review")
_drawn = unless("Choose a run whose figures can be drawn first.", lambda c: c.state.compare.content)
_as_picture = "Open both runs as a picture of drawn figures"
ACTIONS = (
    _reviewed("compare", "Side by side with another run", open_compare, ("Mod+B",)),
    _on_compare("compare picture", _as_picture, picture_out, ("Mod+E",), why_disabled=_drawn),
    _on_compare("compare by phase", "By key frame, or by time", by_phase, ("P",)),
    _on_compare("compare above", "Above each other, or side by side", above, ("A",)),
)
