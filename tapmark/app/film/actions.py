"""What can be done on the Film page: bring clips in, answer questions, read a stopwatch."""

from dataclasses import replace
from functools import partial

from tapmark.app.shell.context import Action, Context
from tapmark.app.shell.rates import BY_WATCH, answer
from tapmark.app.shell.run_lock import take_over
from tapmark.app.shell.runs import ask_clip, ask_folder, ask_stills, start_run, stop_reading
from tapmark.app.shell.why_disabled import needs_pictures, needs_visit, waiting_for
from tapmark.app.state.session import Stopwatch
from tapmark.app.state.viewport import Point
from tapmark.clip.frames import Clip, StopwatchRate
from tapmark.errors import StopwatchUnusable
from tapmark.marks.edits import refuse_outside
from tapmark.marks.run import SetUp, Step
from tapmark.services.true_rate import keep_phone, phone_rate_hz, rate_between, seconds_shown

POLE, SCALE = "pole", "scale"


def pick(context: Context, what: str) -> None:
    """Begin to mark the pole or the scale with two presses on the picture; again: stop."""
    state = context.state
    state.film.picking, state.film.picked = ("" if state.film.picking == what else what), ()
    state.status = PICK_WORDS[state.film.picking][0] if state.film.picking else ""
    state.notify()


PICK_WORDS = {
    POLE: ("Press the bottom of a vertical pole.", "Now press its top."),
    SCALE: ("Press one scale mark on the running line.", "Now press the other one."),
}


def press(context: Context, at: Point) -> None:
    """Take a press on the picture for the pole or the scale."""
    state = context.state
    if not state.film.picking or not state.run:
        return
    refuse_outside(state.run, state.film.picking, at)
    state.film.picked = (*state.film.picked, at)
    if len(state.film.picked) < 2:
        state.status = PICK_WORDS[state.film.picking][1]
        state.notify()
        return
    first, second = state.film.picked
    what, state.film.picking, state.film.picked, state.status = state.film.picking, "", (), ""
    if what == POLE:
        answer(context, "pole", upright_px=_bottom_first(first, second))
    else:
        metres = state.run.set_up.scale_m or 2.0
        answer(context, "scale", scale_px=(first, second), scale_m=metres)


def _bottom_first(a: Point, b: Point) -> tuple[Point, Point]:
    return (a, b) if a[1] >= b[1] else (b, a)


def clear_pole(context: Context) -> None:
    """Forget the pole."""
    answer(context, "no pole", upright_px=None)


def clear_scale(context: Context) -> None:
    """Forget the scale."""
    answer(context, "no scale", scale_px=None)


def another_pass(context: Context) -> None:
    """Begin another run of the same visit with the same answers."""
    state = context.state
    if state.visit:
        start_run(context, state.visit.code, state.visit.dated)
        context.go("film")


def change_view(context: Context, view: str) -> None:
    """Say from where the run was filmed; key frames of another view go, undo brings them back."""
    state = context.state
    if state.run and view != state.run.view:
        state.record(f"seen from the {view}", replace(state.run, view=view, steps=(Step(),)))
        state.marking.event, state.marking.prompt = "", None


def choose_top(context: Context, top: str) -> None:
    """Tap the neck base or the shoulder, in this run and in the squad's runs from now on."""
    state = context.state
    uses = top == "neck base"
    answer(context, f"trunk up to the {top}", uses_neck_base=uses)
    if state.squad:
        choices = replace(state.squad.choices, neck_base="yes" if uses else "no")
        if choices != state.squad.choices:
            state.squad.save_choices(choices)


def why_no_reading(context: Context) -> str:
    """Why there is nothing to stop."""
    pictures = context.state.marking.gallery.pictures if context.state.marking.gallery else None
    is_reading = isinstance(pictures, Clip) and not pictures.is_done
    is_busy = is_reading or context.jobs.is_busy("pictures")
    return "" if is_busy else "Nothing is being read."


def why_held(context: Context) -> str:
    """Why there is nothing to take over."""
    return "" if context.saver.is_read_only else "This run is yours already."


def side_words(set_up: SetUp, near_side: str) -> str:
    """Return which side the camera sees, in a sentence."""
    mirrored = ", because the picture is mirrored" if set_up.is_mirrored else ""
    return f"You see the {near_side} side{mirrored}."


_FILM = ("film",)


def ask_for_readings(context: Context) -> None:
    """Ask for two readings of a stopwatch, or stop asking."""
    state = context.state
    state.film.stopwatch = None if state.film.stopwatch else Stopwatch()


def take_reading(context: Context, text: str) -> None:
    """Keep what the stopwatch shows in the picture on the screen. Raises StopwatchUnusable."""
    state = context.state
    why = waiting_for(state)
    if why:
        raise StopwatchUnusable(why)
    shown_s = seconds_shown(text)
    taken = (state.film.stopwatch or Stopwatch()).read_at(state.marking.picture, shown_s)
    state.film.stopwatch = taken
    if taken.is_whole:
        found_rate(context)  # a pair that cannot be is told at once


def found_rate(context: Context) -> StopwatchRate | None:
    """Return what both readings say, None before. Raises StopwatchUnusable."""
    state = context.state
    if (
        state.marking.gallery is None
        or state.film.stopwatch is None
        or not state.film.stopwatch.is_whole
    ):
        return None
    return rate_between(state.marking.gallery.pictures, *state.film.stopwatch.readings)


def use_rate(context: Context, phone: str) -> None:
    """Answer the run's rate with what was found, and keep the phone for the next clips."""
    state = context.state
    found = found_rate(context)
    if found is None or state.marking.gallery is None or state.squad is None:
        return
    rate_hz = phone_rate_hz(found, state.marking.gallery.pictures)
    kept = keep_phone(state.squad, phone, rate_hz, context.now().date())
    source = BY_WATCH.format(kept.name)
    answer(context, f"filmed at {rate_hz:.1f}", slow_factor=found.slow_factor, rate_source=source)
    state.film.stopwatch = None
    state.status = f"{kept.name} films at {rate_hz:.1f} a second; the squad remembers it."


def _why_disabled(context: Context) -> str:
    gallery = context.state.marking.gallery
    is_clip = gallery is not None and gallery.pictures.kind == "clip"
    has_times = is_clip and gallery is not None and gallery.pictures.rate_hz() is not None
    return needs_pictures(context) or ("" if has_times else "A stopwatch is read off a clip.")


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
        why_no_reading,
    ),
    Action(
        "take over",
        "Take this run over from another window",
        take_over,
        (),
        ("film", "frames", "taps", "review"),
        "Film",
        why_held,
    ),
)
STOPWATCH_ACTIONS = (
    Action(
        "stopwatch",
        "Find the true rate by a stopwatch",
        ask_for_readings,
        ("W",),
        ("film",),
        "Film",
        _why_disabled,
    ),
)
