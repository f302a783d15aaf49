"""Walking through the frames of a run: by steps, by playing, to a point, to what may be a slip."""

import math
from dataclasses import replace
from functools import partial

from tapmark.app.shell.context import Action, Context
from tapmark.app.shell.why_disabled import needs_clip
from tapmark.app.state.following import Spot, boxed
from tapmark.app.state.playback import SPEEDS, Playing
from tapmark.app.state.prompts import Prompt, asked, tap_of
from tapmark.app.state.session import AppState
from tapmark.app.state.viewport import Point
from tapmark.marks.run import Run, Tap
from tapmark.measures.compute import measure_run
from tapmark.measures.result import MarkingCheck


def go_to_picture(state: AppState, picture: int) -> None:
    """Show a frame; beyond either end the first or last one."""
    if state.pictures is not None:
        state.marking.picture = min(max(0, picture), max(0, len(state.pictures) - 1))
        state.marking.aim = state.marking.sure = None
        state.status = ""
        state.notify()


def walk(context: Context, by: int) -> None:
    """Step on or back by so many frames."""
    go_to_picture(context.state, context.state.marking.picture + by)


def to_end(context: Context, *, last: bool) -> None:
    """Show the first or the last frame."""
    go_to_picture(context.state, len(context.state.the_pictures) - 1 if last else 0)


def change_playing(state: AppState, playing: Playing) -> None:
    """Play, hold, or play otherwise."""
    state.marking.playing, state.status = playing, ""
    state.notify()


def play(context: Context) -> None:
    """Play from the frame shown, or hold."""
    playing = context.state.marking.playing
    context.state.marking.aim = None
    change_playing(context.state, replace(playing, is_on=not playing.is_on))


def faster(context: Context, by: int) -> None:
    """Play faster or slower."""
    playing = context.state.marking.playing
    i = min(max(0, playing.i_speed + by), len(SPEEDS) - 1)
    change_playing(context.state, replace(playing, i_speed=i))


def loop(context: Context) -> None:
    """Play the step again and again, or the clip once."""
    playing = context.state.marking.playing
    change_playing(context.state, replace(playing, loops=not playing.loops))


def hold(context: Context) -> None:
    """Pause at each key frame while playing, or play through."""
    state, playing = context.state, context.state.marking.playing
    change_playing(state, replace(playing, holds=not playing.holds))
    state.status = "Playing pauses at each key frame." if not playing.holds else "It plays through."


def see_runner(state: AppState, at: Point) -> None:
    """Keep a click on the runner's hip: from then on the picture stays with the runner."""
    set_up, tall = state.the_run.set_up, GUESSED_SHARE * state.the_run.source.size_px[1]
    if set_up.scale_px and set_up.scale_m:
        tall = USUAL_M * math.dist(*set_up.scale_px) / set_up.scale_m
    state.see_runner(Spot(at, tall))
    state.status = "The picture stays with the runner. Z: the whole picture and back."


def box_runner(state: AppState, start: Point, end: Point) -> None:
    """Keep a box drawn from the runner's head to the shoes."""
    if abs(end[1] - start[1]) >= LEAST_BOX_PX:
        state.see_runner(boxed(start, end), is_box=True)
        state.status = "Drag a corner to mend the box. Z: the whole picture and back."


def corner_near(state: AppState, at: Point, reach: float) -> tuple[Point, Point] | None:
    """Return the corner of the box within reach of a place, px, and the one opposite to it."""
    corners = box_corners(state)
    near = [i for i, corner in enumerate(corners) if math.dist(corner, at) <= reach]
    if not near:
        return None
    i = min(near, key=lambda i: math.dist(corners[i], at))
    return corners[i], corners[(i + 2) % 4]


def box_corners(state: AppState) -> tuple[Point, ...]:
    """Return the corners of the box in the frame shown, () where none was drawn or is needed."""
    spot, run = state.marking.spots.get(state.marking.picture), state.run
    is_tapped = run and any(frame.taps for step in run.steps for frame in step.key_frames)
    return () if spot is None or is_tapped else spot.corners


def drag_corner(state: AppState, opposite: Point, at: Point) -> None:
    """Move a corner of the box; the view stands still until it is let go."""
    if abs(at[1] - opposite[1]) >= LEAST_BOX_PX:
        marking = state.marking
        marking.spots = {**marking.spots, marking.picture: boxed(opposite, at)}
        state.notify()


def drop_corner(state: AppState) -> None:
    """Let the view go to the box that was mended."""
    state.see_runner(state.marking.spots[state.marking.picture], is_box=True)


def placed(state: AppState) -> Tap | None:
    """Return the tap that answers the prompt at hand, if there is one."""
    if not state.marking.prompt or not state.run:
        return None
    return tap_of(state.step, state.marking.prompt, again=state.marking.look)


def ask_for(state: AppState, prompt: Prompt) -> None:
    """Ask for a point; the cross-hair goes to its tap if it has one."""
    by = state.marking.prompt.by if state.marking.prompt else 0
    if (prompt.event, prompt.by) == (state.marking.event, by):
        state.marking.prompt = prompt
    else:
        state.go_to(prompt.event, prompt)
    tap = placed(state)
    state.marking.aim = tap.at_px if tap else None
    keep_in_sight(state)
    state.status = ""
    state.notify()


def keep_in_sight(state: AppState) -> None:
    """Move a zoomed frame just enough that the cross-hair is seen."""
    if state.marking.aim:
        view = state.viewport()
        shown = view.showing(state.marking.aim)
        if shown != view:
            state.look_through(shown)


LIMB_KEYS = "QWER"
GUESSED_SHARE, USUAL_M, LEAST_BOX_PX = 0.5, 1.75, 20.0
"""Height of a runner of whom nothing is known: share of the frame's, or m; and least of a box."""
CHECK_MS = 180  # slips are looked for when the hand pauses, so that no tap waits for it


def check_again(context: Context) -> None:
    """Look for slips in the run at hand, beside the window; nothing new, no work."""
    state = context.state
    run = state.run
    if run is None or run is state.review.checked:
        return
    state.review.checked = run
    context.later(CHECK_MS, lambda: _check(context, run))


def _check(context: Context, run: Run) -> None:
    """Measure the run if it is still the one at hand."""
    state = context.state
    if run is not state.run:
        return

    def done(checks: tuple[MarkingCheck, ...]) -> None:
        if checks != state.review.checks:
            state.review.checks = checks
            state.notify()

    context.jobs.run("checks", lambda task: measure_run(run).checks, done, context.failed, by="run")


def look_at_check(context: Context) -> None:
    """Go to the place of the marking check that comes next in the run."""
    state = context.state
    named = with_place(state)
    if not named:
        state.status = "No marking check names a place."
        return
    here = [i for i, check in enumerate(named) if _is_here(state, check)]
    to_check(context, named[(here[0] + 1) % len(named) if here else 0])


def with_place(state: AppState) -> list[MarkingCheck]:
    """Return the checks that name a place: on Frames those of a key frame, elsewhere all."""
    on_frames = state.page == "frames"
    return [c for c in state.review.checks if c.event and not (on_frames and c.point)]


def _is_here(state: AppState, check: MarkingCheck) -> bool:
    prompt = state.marking.prompt
    if state.page == "frames":
        return state.marking.event == check.event
    return prompt is not None and (prompt.event, prompt.point) == (check.event, check.point)


def to_check(context: Context, check: MarkingCheck) -> None:
    """Go to the point that a marking check speaks of; on Frames, to its frame."""
    state, run = context.state, context.state.the_run
    i_step = state.marking.i_step = min(check.i_step, len(run.steps) - 1)
    if state.page == "frames":
        state.go_to(check.event)
        return
    context.go("taps")
    points = [p.point for p in asked(run, i_step) if p.event == check.event]
    point = check.point or next(iter(points), "")
    if point:
        ask_for(state, Prompt(check.event, point))
    else:
        state.go_to(check.event)


BENCH = ("film", "frames", "taps", "review", "drawing", "compare")
_played = partial(Action, pages=BENCH, group="Play", why_disabled=needs_clip)
_walked = partial(Action, group="Play", why_disabled=needs_clip)
_ARROWS, _TAPS = ("film", "frames", "review", "drawing", "compare"), ("taps",)
ACTIONS = (
    _played("play", "Play or hold", play, ("Space",)),
    _played("slower", "Slower", partial(faster, by=-1), ("Mod+Down",)),
    _played("faster", "Faster", partial(faster, by=1), ("Mod+Up",)),
    _played("loop", "Loop of the step", loop, ("Mod+J",)),
    _played("hold at key frames", "Pause at each key frame", hold),
    _walked("picture on", "Next frame", partial(walk, by=1), ("Right", "Period"), _ARROWS),
    _walked("picture back", "Previous frame", partial(walk, by=-1), ("Left", "Comma"), _ARROWS),
    _walked("ten on", "Ten frames on", partial(walk, by=10), ("Shift+Right",), _ARROWS),
    _walked("ten back", "Ten frames back", partial(walk, by=-10), ("Shift+Left",), _ARROWS),
    *(
        _walked(f"tapping: {name}", label, partial(walk, by=by), (key,), _TAPS, in_menu=False)
        for name, label, by, key in (
            ("picture on", "Next frame (while tapping)", 1, "Period"),
            ("picture back", "Previous frame (while tapping)", -1, "Comma"),
            ("ten on", "Ten frames on (while tapping)", 10, "PageDown"),
            ("ten back", "Ten frames back (while tapping)", -10, "PageUp"),
        )
    ),
    _walked("first picture", "First frame", partial(to_end, last=False), ("Home",), _ARROWS),
    _walked("last picture", "Last frame", partial(to_end, last=True), ("End",), _ARROWS),
)
