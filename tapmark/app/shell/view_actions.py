"""Zoom, pan, tone, text size, hand, pages, help, closing."""

import platform
from dataclasses import replace
from functools import partial

from tapmark import __version__
from tapmark.app.shell.context import Action, Context
from tapmark.app.state.pages import ASIDE, PAGES
from tapmark.app.state.session import AppState
from tapmark.app.state.viewport import Tone
from tapmark.marks.edits import place_tap

ZOOM = 1.5
PAN = 0.2
TONE = 1.15
TEXT_SIZES = (0.9, 1.0, 1.25, 1.5)


def zoom(context: Context, factor: float) -> None:
    """Zoom about the cross-hair where there is one, else about the runner or the middle."""
    state = context.state
    view, aim, following = state.viewport(), state.marking.aim, state.marking.following
    if aim is None and following.tall_px and not following.is_whole and not view.fits:
        state.look_through(view.zoomed(factor))
        shift, changed = following.shift, state.marking.following
        state.marking.following = replace(
            changed, shift=changed.shift if changed.is_whole else shift
        )
        state.notify()
        return
    state.look_through(view.zoomed(factor, view.to_canvas(aim) if aim else None))


def fit(context: Context) -> None:
    """Show the whole frame."""
    marking = context.state.marking
    marking.following = marking.following.whole()
    context.state.notify()


def runner_or_whole(context: Context) -> None:
    """Look at the runner where the whole frame is seen, and the other way round."""
    state = context.state
    if not state.marking.following.tall_px:
        state.status = "Click the runner's hip on Frames first, or tap two points."
        return
    state.marking.following = state.marking.following.turned()
    state.notify()


def pan(context: Context, dx: float, dy: float) -> None:
    """Move the frame by a share of the canvas."""
    view = context.state.viewport()
    context.state.look_through(view.panned(dx * view.canvas[0], dy * view.canvas[1]))


def tone(context: Context, brightness: float = 1, contrast: float = 1) -> None:
    """Change brightness and contrast on the screen; nothing is changed in the file."""
    old = context.state.tone
    context.state.tone = Tone(
        min(4.0, max(0.25, old.brightness * brightness)),
        min(4.0, max(0.25, old.contrast * contrast)),
    )
    context.state.notify()


def plain_tone(context: Context) -> None:
    """Show the frame as it was filmed."""
    context.state.tone = Tone()
    context.state.notify()


def text_size(context: Context, by: int) -> None:
    """Make all text larger or smaller."""
    settings = context.settings.value
    now = min(range(len(TEXT_SIZES)), key=lambda i: abs(TEXT_SIZES[i] - settings.text_size))
    size = TEXT_SIZES[min(max(0, now + by), len(TEXT_SIZES) - 1)]
    context.settings.change(replace(settings, text_size=size))
    if context.places:
        context.places.lay_out_again()


def other_hand(context: Context) -> None:
    """Put the column of words on the other side of the frame."""
    settings = context.settings.value
    context.settings.change(replace(settings, left_handed=not settings.left_handed))
    if context.places:
        context.places.lay_out_again()


def next_pane(context: Context) -> None:
    """Move the keyboard to the next part of the page."""
    if context.places:
        context.places.next_pane()


def close(context: Context) -> None:
    """Close the window, once everything is saved."""
    if context.places:
        context.places.close()


def show_help(context: Context) -> None:
    """Show the help page, or go back from it."""
    state = context.state
    if state.page == "help":
        context.go(state.page_before)
    else:
        state.page_before = state.page
        context.go("help")


def about(context: Context) -> None:
    """Say which version this is, on the help page."""
    if context.state.page != "help":
        show_help(context)
    context.state.status = (
        f"Tapmark {__version__}, MIT licence, on Python {platform.python_version()}. You tap, it "
        "measures; nothing leaves this computer."
    )


def leave(context: Context) -> None:
    """Leave what is half done: a pick, a question, a form, a page aside, the second look."""
    state = context.state
    if state.page == "help":
        show_help(context)
    elif not _leave_question(context):
        _leave_place(context)
    state.error = ""


def _leave_question(context: Context) -> bool:
    """Take back what was asked and not answered; return whether there was anything."""
    state = context.state
    if state.marking.dragged or state.marking.sure:
        _put_back(state)
    elif _leave_film(state):
        pass
    elif state.around.squad.form:
        state.around.squad.form = ""
    elif state.page == "drawing" and state.review.drawing.tool:
        state.review.drawing = replace(state.review.drawing, tool="", pressed=())
        state.marking.aim, state.status = None, ""
    elif stopped := context.jobs.stop():
        state.status = stopped
    else:
        return False
    return True


def _leave_film(state: AppState) -> bool:
    """Leave what Film asks beside its five questions; return whether there was anything."""
    film = state.film
    if film.picking:
        film.picking, film.picked, state.status = "", (), ""
    elif film.long_clip:
        film.long_clip = None
    elif film.stopwatch:
        film.stopwatch = None
    elif film.more and state.page == "film":
        film.more = ""
    else:
        return False
    return True


def _put_back(state: AppState) -> None:
    """Put a mark that is being dragged back to where it was; take no frame that was asked about."""
    marking, frame = state.marking, state.frame
    prompt, at = marking.dragged or (None, None)
    marking.dragged = marking.sure = None
    state.status = ""
    tap = frame.tap(prompt.point) if frame and prompt else None
    if prompt and tap:
        run = place_tap(state.the_run, marking.i_step, prompt.event, replace(tap, at_px=at))
        state.record(f"move {tap.point}", run, amend=True)
        state.status = f"{tap.point.capitalize()} is back where it was."


def _leave_place(context: Context) -> None:
    state = context.state
    if state.page == "compare":
        context.go(state.compare.back)
    elif state.page == "drawing":
        context.go("review")
    elif state.page in ASIDE:
        context.go(state.back)
    elif state.page == "review" and state.review.leaf:
        state.review.leaf = ""
    elif state.marking.look:
        state.marking.look = None
        state.settle()
    elif state.marking.aim:
        state.marking.aim = None


_TONED = ("film", "frames", "taps", "review")
_seen = partial(Action, pages=(*_TONED, "drawing"), group="View")
_toned = partial(Action, pages=_TONED, group="View")
_view = partial(Action, group="View")
ACTIONS = (
    _seen("zoom in", "Zoom in", partial(zoom, factor=ZOOM), ("Plus", "=")),
    _seen("zoom out", "Zoom out", partial(zoom, factor=1 / ZOOM), ("Minus",)),
    _seen("runner", "The runner, or the whole frame", runner_or_whole, ("Z",)),
    _seen("fit", "Whole frame", fit, ("0",)),
    *(
        _seen(
            f"pan {where}",
            f"Move the frame {where}",
            partial(pan, dx=dx * PAN, dy=dy * PAN),
            (f"Alt+{where.capitalize()}",),
            in_menu=False,
        )
        for where, dx, dy in (("left", 1, 0), ("right", -1, 0), ("up", 0, 1), ("down", 0, -1))
    ),
    _toned("lighter", "Lighter frame", partial(tone, brightness=TONE), ("L",)),
    _toned("darker", "Darker frame", partial(tone, brightness=1 / TONE), ("D",)),
    _toned("harder", "More contrast", partial(tone, contrast=TONE), ("C",)),
    _toned("softer", "Less contrast", partial(tone, contrast=1 / TONE), ("X",)),
    _toned("plain tone", "As it was filmed", plain_tone, ("O",)),
    _view("larger text", "Larger text", partial(text_size, by=1), ("Mod+Plus", "Mod+=")),
    _view("smaller text", "Smaller text", partial(text_size, by=-1), ("Mod+Minus",)),
    _view("other hand", "Words left, frame right", other_hand),
    _view("next pane", "Next part of the page", next_pane, ("F9",), in_menu=False),
    *(
        Action(
            f"page {page}",
            page.capitalize(),
            partial(Context.go, page=page),
            (f"F{i}",),
            (),
            "Go to",
        )
        for i, page in enumerate(PAGES, start=2)
    ),
    Action("help", "Keys and help", show_help, ("F1", "?"), (), "Help"),
    Action("about", "About Tapmark", about, (), (), "Help"),
    Action("leave", "Leave what is half done", leave, ("Escape",), (), "Help", in_menu=False),
    Action("close", "Close the window", close, ("Mod+Q",), (), "Help"),
)
