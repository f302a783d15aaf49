"""What can be drawn over the frames: lines, angles, notes, paths; and the film of the step."""

import math
from contextlib import ExitStack
from dataclasses import replace
from functools import partial
from pathlib import Path

from tapmark.app.jobs import Task
from tapmark.app.shell.comparing import PAGE
from tapmark.app.shell.context import Action, Context
from tapmark.app.shell.stepping import go_to_picture
from tapmark.app.shell.why_disabled import needs_clip, needs_taps, unless, waiting_for
from tapmark.app.state.pages import Drawing
from tapmark.app.state.session import AppState
from tapmark.app.state.viewport import Point
from tapmark.errors import FrameNotThere, NoConsent, NothingToDraw
from tapmark.marks.edits import draw, follow, leave_path, redraw, refuse_outside, rub_out
from tapmark.marks.run import ANGLE, LINE, N_PLACES, NOTE, FreeMark, Place
from tapmark.services.film import MadeFilm, give_out, make_film
from tapmark.services.places import visit_at

PATH = "path"
STEPS = (1, 2, 4)
HINTS = {
    LINE: "Line: press both ends. Drag an end to move it; Shift keeps it upright or level.",
    ANGLE: "Angle: press the joint, then the end of each arm.",
    NOTE: "Note: press the place, then type the words and Return.",
    PATH: "Path: press the point; the clip moves on by itself. Delete takes a place away.",
}


def take(context: Context, tool: str) -> None:
    """Take a tool, or lay it down."""
    state = context.state
    now = state.review.drawing
    tool = "" if now.tool == tool else tool
    state.review.drawing = replace(now, tool=tool, pressed=(), chosen=None)
    state.status = HINTS.get(tool, "")
    _aim(state)
    state.notify()


def press(context: Context, at: Point) -> None:
    """Press on the frame: an end, a joint, a place; without a tool, choose the mark there."""
    state, drawing = context.state, context.state.review.drawing
    why = waiting_for(state)
    if why:
        raise FrameNotThere(why)
    if drawing.tool == PATH:
        _follow(state, at)
        return
    if not drawing.tool:
        state.review.drawing = replace(drawing, chosen=None)
        return
    refuse_outside(state.the_run, f"the {drawing.tool}", at)
    pressed = (*drawing.pressed, at)
    if len(pressed) < N_PLACES[drawing.tool] or drawing.tool == NOTE:
        state.review.drawing = replace(drawing, pressed=pressed[-N_PLACES[drawing.tool] :])
        return
    state.review.drawing = replace(drawing, pressed=())
    _draw(state, pressed)


def _draw(state: AppState, places: tuple[Point, ...], words: str = "") -> None:
    """Keep a mark of the tool at hand in the frame shown, and lay the tool down."""
    run, i, drawing = state.the_run, state.marking.picture, state.review.drawing
    mark = FreeMark(drawing.tool, i, places, words, time_s=state.the_pictures.time_s(i))
    chosen = len(run.free_marks)
    changed = draw(run, mark)
    state.review.drawing = replace(drawing, tool="", pressed=(), chosen=chosen)
    state.record(mark.kind, changed)


def _follow(state: AppState, at: Point) -> None:
    """Put a place on the path and go on to where the next one is waited for."""
    drawing, picture = state.review.drawing, state.marking.picture
    place = Place(picture, at, state.the_pictures.time_s(picture))
    state.record(f"path of {drawing.point}", follow(state.the_run, drawing.point, place))
    go_to_picture(state, picture + drawing.by)
    _aim(state)
    if state.marking.picture == picture:
        state.status = "That was the last frame."


def _aim(state: AppState) -> None:
    """Let the cross-hair wait where the followed point should be."""
    drawing = state.review.drawing
    state.marking.aim = None
    if drawing.tool == PATH:
        picture = state.marking.picture
        time_s = state.pictures.time_s(picture) if state.pictures else None
        state.marking.aim = state.the_run.path(drawing.point).expected_px(picture, time_s)


def press_aim(context: Context) -> None:
    """Put a place where the cross-hair waits."""
    if context.state.marking.aim:
        press(context, context.state.marking.aim)


def name_it(context: Context, text: str) -> None:
    """Keep the words: of a note that was just placed, else of the mark at hand."""
    state, drawing = context.state, context.state.review.drawing
    if drawing.tool == NOTE and drawing.pressed:
        _draw(state, drawing.pressed, text.strip())
    elif drawing.chosen is not None and drawing.chosen < len(state.the_run.free_marks):
        mark = state.the_run.free_marks[drawing.chosen]
        if text.strip() != mark.words:
            changed = redraw(state.the_run, drawing.chosen, replace(mark, words=text.strip()))
            state.record(f"name of {mark.kind}", changed)


def nearest(state: AppState, at: Point, reach: float) -> tuple[int, int] | None:
    """Return (mark, end) within reach on the frame shown, end −1 for a line itself; else None."""
    found: list[tuple[float, int, int]] = []
    for i, mark in enumerate(state.the_run.free_marks):
        if mark.picture != state.marking.picture:
            continue
        found += [(math.dist(at, end), i, j) for j, end in enumerate(mark.at_px)]
        joint, *ends = mark.at_px
        found += [(_beside(at, joint, end) + 0.5 * reach, i, -1) for end in ends]
    near = [each for each in found if each[0] <= reach]
    return min(near)[1:] if near else None


def _beside(at: Point, start: Point, end: Point) -> float:
    """Return how far a point lies beside a line between its ends; inf beyond them."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    long = math.hypot(dx, dy)
    along = ((at[0] - start[0]) * dx + (at[1] - start[1]) * dy) / long
    return (
        abs((at[0] - start[0]) * dy - (at[1] - start[1]) * dx) / long
        if 0 < along < long
        else math.inf
    )


def grab(state: AppState, at: Point, reach: float) -> bool:
    """Hold the mark or end at a place; return whether there is one. Nothing moves yet."""
    if state.run is None or state.review.drawing.pressed:
        return False
    found = nearest(state, at, reach)
    held = (*found, at) if found else None
    chosen = found[0] if found else state.review.drawing.chosen
    state.review.drawing = replace(state.review.drawing, held=held, chosen=chosen)
    return held is not None


def drag(state: AppState, at: Point, *, is_straight: bool, is_first: bool) -> None:
    """Move what is held; the whole drag is one step to undo.

    is_straight: keep a line upright or level, whichever is nearer.
    """
    held = state.review.drawing.held
    if held is None:
        return
    i, end, start = held
    mark = state.the_run.free_marks[i]
    if end < 0:
        by = at[0] - start[0], at[1] - start[1]
        places = tuple((x + by[0], y + by[1]) for x, y in mark.at_px)
        state.review.drawing = replace(state.review.drawing, held=(i, end, at))
    else:
        other = mark.at_px[0 if end else min(1, len(mark.at_px) - 1)]
        if is_straight and len(mark.at_px) > 1:
            dx, dy = at[0] - other[0], at[1] - other[1]
            at = (other[0], at[1]) if abs(dx) < abs(dy) else (at[0], other[1])
        places = (*mark.at_px[:end], at, *mark.at_px[end + 1 :])
    changed = redraw(state.the_run, i, replace(mark, at_px=places))
    state.record(f"move {mark.kind}", changed, amend=not is_first)


def drop(state: AppState) -> None:
    """Let go of what was dragged."""
    state.review.drawing = replace(state.review.drawing, held=None)
    state.notify()


def delete(context: Context) -> None:
    """Take away the mark at hand, or the path's place in this frame."""
    state, drawing = context.state, context.state.review.drawing
    run = state.the_run
    if drawing.tool == PATH:
        changed = leave_path(run, drawing.point, state.marking.picture)
        state.record(f"place of {drawing.point}", changed)
        _aim(state)
    elif drawing.chosen is not None and drawing.chosen < len(run.free_marks):
        kind = run.free_marks[drawing.chosen].kind
        state.review.drawing = replace(drawing, chosen=None)
        state.record(f"delete {kind}", rub_out(run, drawing.chosen))
    else:
        raise NothingToDraw("Click a line, an angle or a note first, then delete it.")


def clear_path(context: Context) -> None:
    """Take away the whole path of the point at hand."""
    state, point = context.state, context.state.review.drawing.point
    state.record(f"path of {point}", leave_path(state.the_run, point))
    _aim(state)


def choose_point(state: AppState, point: str, by: int) -> None:
    """Follow another point, or move on by so many frames."""
    state.review.drawing = replace(state.review.drawing, point=point, by=by)
    _aim(state)
    state.notify()


def to_mark(state: AppState, i: int) -> None:
    """Choose a mark and show its frame."""
    mark = state.the_run.free_marks[i]
    state.review.drawing = Drawing("", (), i, state.review.drawing.point, state.review.drawing.by)
    go_to_picture(state, mark.picture)


def film_it(context: Context, kind: str = "drawn") -> None:
    """Make a film of this visit's step, beside the other visit on the page for two.

    The drawn film is written into the visit's folder and opened. One with photos is only shown:
    the coach looks through it, and "film covered" writes it.
    """
    state = context.state
    context.saver.refuse_unsaved()
    state.review.drop_film()
    folders, today = [state.the_visit_folder], context.today()
    if state.page == PAGE and state.compare.where:
        folders.insert(0, state.the_squad.visit_folder(*state.compare.where[:2]))

    def work(task: Task) -> MadeFilm | Path:
        places = tuple(visit_at(folder) for folder in dict.fromkeys(folders))
        made = make_film(places, today, kind, task)
        return made if kind == "photo" else give_out(made, folders[-1], today)

    def done(found: MadeFilm | Path) -> None:
        if isinstance(found, MadeFilm):
            _show(context, found)
        else:
            _hand_out(context, found)

    def going(so_far: int, of: int | None) -> None:
        state.status = f"Making the film: {so_far} of {of} frames. Escape stops."
        state.notify()

    stopped = "The film was stopped; nothing was written."
    context.work_on("film", "", work, done, progress=going, stopped=stopped, by="run")


def _hand_out(context: Context, path: Path) -> None:
    context.hand_out(path, f"Written: “{path.name}” in {path.parent}")


def _show(context: Context, made: MadeFilm) -> None:
    """Show a film with photos once, before it is given out."""
    review, look = context.state.review, ExitStack()
    path = look.enter_context(made.shown(context.today()))
    review.to_look = made, look
    context.open_file(path)
    context.state.status = (
        "Look through it once. Is every face covered? Shift+M writes it; M or another run drops it."
    )
    context.state.notify()


def film_covered(context: Context) -> None:
    """Write the film that was looked through."""
    review, today = context.state.review, context.today()
    if review.to_look:
        made, _ = review.to_look
        try:
            path = give_out(made, made.places[-1].folder, today)
        except NoConsent:
            context.state.review.drop_film()
            raise
        context.state.review.drop_film()  # not where the disk refused it: it may be tried again
        _hand_out(context, path)


def _needs_path(context: Context) -> str:
    point = context.state.review.drawing.point
    why = needs_clip(context)
    has = not why and context.state.the_run.path(point).places
    return why or ("" if has else f"There is no path of the {point} yet.")


_page = partial(Action, pages=("review",), group="Review", why_disabled=needs_clip)
_drawn = partial(Action, pages=("drawing",), group="Drawing", why_disabled=needs_clip)
_film = partial(
    Action, pages=("review", "drawing", "sheet", PAGE), group="Sheet", why_disabled=needs_taps
)
_needs_a_look = unless(
    "Make a film with photos first, then look through it.", lambda c: c.state.review.to_look
)
_photo = partial(film_it, kind="photo")
ACTIONS = (
    _page("page drawing", "Draw on the frames", partial(Context.go, page="drawing"), ("B",)),
    _drawn("draw line", "Line", partial(take, tool=LINE), ("L", "I")),
    _drawn("draw angle", "Angle", partial(take, tool=ANGLE), ("V",)),
    _drawn("draw note", "Note", partial(take, tool=NOTE), ("N",)),
    _drawn("draw path", "Path", partial(take, tool=PATH), ("F",)),
    _drawn("place at cross-hair", "Put the place at the cross-hair", press_aim, ("Return",)),
    _drawn("delete mark", "Delete the mark", delete, ("Delete",)),
    _drawn("clear path", "Clear this path", clear_path, why_disabled=_needs_path),
    _film("film", "Write a film of the step", film_it, ("M",)),
    _film("film photo", "Make a film with photos, faces covered…", _photo),
    _film(
        "film covered",
        "Every face is covered: write that film",
        film_covered,
        ("Shift+M",),
        why_disabled=_needs_a_look,
    ),
)
