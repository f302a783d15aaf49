"""What can be done about looking: zoom, pan, tone, text size, hand, pages, help, closing."""

from dataclasses import replace
from functools import partial

from tapmark.app.action import Action
from tapmark.app.desk import Desk
from tapmark.app.state import ASIDE, PAGES
from tapmark.app.tone import Tone

ZOOM = 1.5
PAN = 0.2
TONE = 1.15
TEXT_SIZES = (0.9, 1.0, 1.25, 1.5)


def zoom(desk: Desk, factor: float) -> None:
    """Zoom about the cross-hair where there is one, else about the middle."""
    state = desk.state
    view = state.viewport()
    about = view.to_canvas(state.aim) if state.aim else None
    state.look_through(view.zoomed(factor, about))


def fit(desk: Desk) -> None:
    """Show the whole picture."""
    desk.state.look_through(desk.state.viewport().fitted())


def pan(desk: Desk, dx: float, dy: float) -> None:
    """Move the picture by a share of the canvas."""
    view = desk.state.viewport()
    desk.state.look_through(view.panned(dx * view.canvas[0], dy * view.canvas[1]))


def tone(desk: Desk, brightness: float, contrast: float) -> None:
    """Make the picture on the screen lighter or harder; nothing is changed in the file."""
    old = desk.state.tone
    desk.state.tone = Tone(
        min(4.0, max(0.25, old.brightness * brightness)),
        min(4.0, max(0.25, old.contrast * contrast)),
    )
    desk.state.tell()


def plain_tone(desk: Desk) -> None:
    """Show the picture as it was filmed."""
    desk.state.tone = Tone()
    desk.state.tell()


def text_size(desk: Desk, by: int) -> None:
    """Make all text larger or smaller."""
    now = min(range(len(TEXT_SIZES)), key=lambda i: abs(TEXT_SIZES[i] - desk.settings.text_size))
    size = TEXT_SIZES[min(max(0, now + by), len(TEXT_SIZES) - 1)]
    desk.remember(replace(desk.settings, text_size=size))
    if desk.places:
        desk.places.lay_out_again()


def other_hand(desk: Desk) -> None:
    """Put the column of words on the other side of the picture."""
    desk.remember(replace(desk.settings, left_handed=not desk.settings.left_handed))
    if desk.places:
        desk.places.lay_out_again()


def next_pane(desk: Desk) -> None:
    """Move the keyboard to the next part of the page."""
    if desk.places:
        desk.places.next_pane()


def close(desk: Desk) -> None:
    """Close the window, once everything is saved."""
    if desk.places:
        desk.places.close()


def show_help(desk: Desk) -> None:
    """Show the help page, or go back from it."""
    state = desk.state
    if state.page == "help":
        desk.go(state.page_before)
    else:
        state.page_before = state.page
        desk.go("help")


def leave(desk: Desk) -> None:
    """Leave what is half done: a pick, a question, a form, a page aside, the second look."""
    state = desk.state
    if state.page == "help":
        show_help(desk)
    elif not _leave_question(desk):
        _leave_place(desk)
    state.trouble = ""


def _leave_question(desk: Desk) -> bool:
    """Take back what was asked and not answered; return whether there was anything."""
    state = desk.state
    if state.picking:
        state.picking, state.picked, state.said = "", (), ""
    elif state.long_clip:
        state.long_clip = None
    elif state.stopwatch:
        state.stopwatch = None
    elif state.form:
        state.form = ""
    elif stopped := desk.jobs.stop():
        state.said = stopped
    else:
        return False
    return True


def _leave_place(desk: Desk) -> None:
    state = desk.state
    if state.page == "beside":
        desk.go(state.beside.back)
    elif state.page in ASIDE:
        desk.go(state.side.back)
    elif state.look:
        state.look = None
        state.settle()
    elif state.aim:
        state.aim = None


_SEEN = ("film", "frames", "taps", "review")

ACTIONS = (
    Action("zoom in", "Zoom in", partial(zoom, factor=ZOOM), ("Plus", "="), _SEEN, "View"),
    Action("zoom out", "Zoom out", partial(zoom, factor=1 / ZOOM), ("Minus",), _SEEN, "View"),
    Action("fit", "Whole picture", fit, ("0",), _SEEN, "View"),
    *(
        Action(
            f"pan {where}",
            f"Move the picture {where}",
            partial(pan, dx=dx * PAN, dy=dy * PAN),
            (f"Alt+{where.capitalize()}",),
            _SEEN,
            "View",
            in_menu=False,
        )
        for where, dx, dy in (("left", 1, 0), ("right", -1, 0), ("up", 0, 1), ("down", 0, -1))
    ),
    Action(
        "lighter",
        "Lighter picture",
        partial(tone, brightness=TONE, contrast=1),
        ("L",),
        _SEEN,
        "View",
    ),
    Action(
        "darker",
        "Darker picture",
        partial(tone, brightness=1 / TONE, contrast=1),
        ("D",),
        _SEEN,
        "View",
    ),
    Action(
        "harder", "More contrast", partial(tone, brightness=1, contrast=TONE), ("C",), _SEEN, "View"
    ),
    Action(
        "softer",
        "Less contrast",
        partial(tone, brightness=1, contrast=1 / TONE),
        ("X",),
        _SEEN,
        "View",
    ),
    Action("plain tone", "As it was filmed", plain_tone, ("O",), _SEEN, "View"),
    Action(
        "larger text", "Larger text", partial(text_size, by=1), ("Mod+Plus", "Mod+="), (), "View"
    ),
    Action("smaller text", "Smaller text", partial(text_size, by=-1), ("Mod+Minus",), (), "View"),
    Action("other hand", "Words left, picture right", other_hand, (), (), "View"),
    Action("next pane", "Next part of the page", next_pane, ("F9",), (), "View", in_menu=False),
    *(
        Action(
            f"page {page}",
            f"{page.capitalize()}",
            partial(Desk.go, page=page),
            (f"F{i}",),
            (),
            "Go to",
        )
        for i, page in enumerate(PAGES, start=2)
    ),
    Action("help", "Keys and help", show_help, ("F1", "?"), (), "Help"),
    Action("leave", "Leave what is half done", leave, ("Escape",), (), "Help", in_menu=False),
    Action("close", "Close the window", close, ("Mod+Q",), (), "Help"),
)
