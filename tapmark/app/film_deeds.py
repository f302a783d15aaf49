"""What can be done on the Film page: bring pictures in and answer the questions about filming."""

from dataclasses import replace
from functools import partial

from tapmark.app.action import Action
from tapmark.app.desk import Desk
from tapmark.app.holding import take_over
from tapmark.app.part_deeds import ask_clip, ask_folder, ask_stills
from tapmark.app.picture_deeds import stop_reading
from tapmark.app.run_deeds import start_run
from tapmark.app.viewport import Point
from tapmark.clip.frames import Clip
from tapmark.marks.edits import change_set_up, refuse_outside
from tapmark.marks.run import SetUp, Step

POLE, SCALE = "pole", "scale"

REMEMBERED = (
    "context",
    "camera",
    "camera_distance_m",
    "scale_m",
    "zone",
    "surface",
    "direction",
    "is_mirrored",
)
"""Answers offered again for the next athlete."""


def needs_visit(desk: Desk) -> str:
    """Why no pictures can be brought in."""
    return "" if desk.state.run else "Choose an athlete on Squad and start a visit first."


def needs_pictures(desk: Desk) -> str:
    """Why nothing can be marked in the picture."""
    return needs_visit(desk) or ("" if desk.state.gallery else "Open a clip or stills first.")


def answer(desk: Desk, label: str, **answers: object) -> None:
    """Keep answers of the set-up, and offer the lasting ones for the next run."""
    state = desk.state
    if not state.run:
        return
    state.record(label, change_set_up(state.run, **answers))
    lasting = {key: value for key, value in answers.items() if key in REMEMBERED}
    if lasting and state.squad:
        choices = state.squad.choices
        usual = replace(choices.set_up, **lasting)  # type: ignore[arg-type]
        if usual != choices.set_up:
            state.squad.save_choices(replace(choices, set_up=usual))


def pick(desk: Desk, what: str) -> None:
    """Begin to mark the pole or the scale with two presses on the picture; again: stop."""
    state = desk.state
    state.picking, state.picked = ("" if state.picking == what else what), ()
    state.said = PICK_WORDS[state.picking][0] if state.picking else ""
    state.tell()


PICK_WORDS = {
    POLE: ("Press the bottom of a vertical pole.", "Now press its top."),
    SCALE: ("Press one scale mark on the running line.", "Now press the other one."),
}


def press(desk: Desk, at: Point) -> None:
    """Take a press on the picture for the pole or the scale."""
    state = desk.state
    if not state.picking or not state.run:
        return
    refuse_outside(state.run, state.picking, at)
    state.picked = (*state.picked, at)
    if len(state.picked) < 2:
        state.said = PICK_WORDS[state.picking][1]
        state.tell()
        return
    first, second = state.picked
    what, state.picking, state.picked, state.said = state.picking, "", (), ""
    if what == POLE:
        answer(desk, "pole", upright_px=_bottom_first(first, second))
    else:
        metres = state.run.set_up.scale_m or 2.0
        answer(desk, "scale", scale_px=(first, second), scale_m=metres)


def _bottom_first(a: Point, b: Point) -> tuple[Point, Point]:
    return (a, b) if a[1] >= b[1] else (b, a)


def clear_pole(desk: Desk) -> None:
    """Forget the pole."""
    answer(desk, "no pole", upright_px=None)


def clear_scale(desk: Desk) -> None:
    """Forget the scale."""
    answer(desk, "no scale", scale_px=None)


def another_pass(desk: Desk) -> None:
    """Begin another run of the same visit with the same answers."""
    state = desk.state
    if state.visit:
        start_run(desk, state.visit.code, state.visit.dated)
        desk.go("film")


def change_view(desk: Desk, view: str) -> None:
    """Say from where the run was filmed; key frames of another view go, undo brings them back."""
    state = desk.state
    if state.run and view != state.run.view:
        state.record(f"seen from the {view}", replace(state.run, view=view, steps=(Step(),)))
        state.event, state.prompt = "", None


def choose_top(desk: Desk, top: str) -> None:
    """Tap the neck base or the shoulder, in this run and in the squad's runs from now on."""
    state = desk.state
    uses = top == "neck base"
    answer(desk, f"trunk up to the {top}", uses_neck_base=uses)
    if state.squad:
        choices = replace(state.squad.choices, neck_base="yes" if uses else "no")
        if choices != state.squad.choices:
            state.squad.save_choices(choices)


def reading_hindrance(desk: Desk) -> str:
    """Why there is nothing to stop."""
    pictures = desk.state.gallery.pictures if desk.state.gallery else None
    is_reading = isinstance(pictures, Clip) and not pictures.is_done
    is_busy = is_reading or desk.jobs.is_busy("pictures")
    return "" if is_busy else "Nothing is being read."


def held_hindrance(desk: Desk) -> str:
    """Why there is nothing to take over."""
    return "" if desk.is_read_only else "This run is yours already."


def side_words(set_up: SetUp, near_side: str) -> str:
    """Return which side the camera sees, in a sentence."""
    mirrored = ", because the picture is mirrored" if set_up.is_mirrored else ""
    return f"You see the {near_side} side{mirrored}."


_FILM = ("film",)

ACTIONS = (
    Action("open clip", "Open a clip…", ask_clip, ("Mod+O",), _FILM, "Film", needs_visit),
    Action(
        "open folder",
        "Open a folder of stills…",
        ask_folder,
        ("Mod+D",),
        _FILM,
        "Film",
        needs_visit,
    ),
    Action("open stills", "Open loose stills…", ask_stills, ("Mod+L",), _FILM, "Film", needs_visit),
    Action(
        "mark pole",
        "Mark a vertical pole",
        partial(pick, what=POLE),
        ("P",),
        _FILM,
        "Film",
        needs_pictures,
    ),
    Action(
        "mark scale",
        "Mark the scale on the ground",
        partial(pick, what=SCALE),
        ("M",),
        _FILM,
        "Film",
        needs_pictures,
    ),
    Action("clear pole", "Forget the pole", clear_pole, (), _FILM, "Film", needs_pictures),
    Action("clear scale", "Forget the scale", clear_scale, (), _FILM, "Film", needs_pictures),
    Action(
        "another pass",
        "Mark another pass",
        another_pass,
        (),
        ("review", "sheet", "film"),
        "Film",
        needs_visit,
    ),
    Action(
        "stop reading",
        "Stop reading the clip",
        stop_reading,
        ("Mod+Period",),
        _FILM,
        "Film",
        reading_hindrance,
    ),
    Action(
        "take over",
        "Take this run over from another window",
        take_over,
        (),
        ("film", "frames", "taps", "review"),
        "Film",
        held_hindrance,
    ),
)
