"""What can be done on the Film page: bring clips in, answer questions, read a stopwatch."""

from collections.abc import Callable
from dataclasses import replace
from functools import partial

from tapmark.app.shell.context import Action, Context
from tapmark.app.shell.rates import BY_WATCH, answer
from tapmark.app.shell.run_lock import take_over
from tapmark.app.shell.runs import ask_clip, ask_folder, ask_stills, start_run, stop_reading
from tapmark.app.shell.squads import open_form
from tapmark.app.shell.why_disabled import needs_clip, needs_visit, unless, waiting_for
from tapmark.app.state.pages import Stopwatch
from tapmark.app.state.session import AppState
from tapmark.app.state.viewport import Point
from tapmark.clip.frames import Clip, StopwatchRate
from tapmark.errors import NoConsent, StopwatchUnusable
from tapmark.marks.edits import refuse_outside
from tapmark.marks.run import Step
from tapmark.services.consent import refuse_clips_of
from tapmark.services.true_rate import keep_phone, phone_rate_hz, rate_between, seconds_shown

POLE, SCALE = "pole", "scale"


PICK_WORDS = {
    POLE: ("Press the bottom of a vertical pole.", "Now press its top."),
    SCALE: ("Press one scale mark on the running line.", "Now press the other one."),
}


def pick(context: Context, what: str) -> None:
    """Start marking the pole or the scale by two presses on the frame; called again, stop."""
    film = context.state.film
    film.picking, film.picked = ("" if film.picking == what else what), ()
    context.state.status = PICK_WORDS[what][0] if film.picking else ""
    _look_at_whole(context.state, is_whole=bool(film.picking))


def _look_at_whole(state: AppState, *, is_whole: bool) -> None:
    """Show the whole frame while pole or scale are looked for, then the runner again."""
    state.marking.following = replace(state.marking.following.whole(), is_whole=is_whole)


def press(context: Context, at: Point) -> None:
    """Take a press on the frame for the pole or the scale."""
    state, what = context.state, context.state.film.picking
    if not what or not state.run:
        return
    refuse_outside(state.run, what, at)
    picked = (*state.film.picked, at)
    if len(picked) < 2:
        state.film.picked, state.status = picked, PICK_WORDS[what][1]
        return
    state.film.picking, state.film.picked, state.status = "", (), ""
    _look_at_whole(state, is_whole=False)
    if what == POLE:
        top, bottom = sorted(picked, key=lambda point: point[1])
        answer(context.state, "pole", upright_px=(bottom, top))
    else:
        answer(context.state, "scale", scale_px=picked, scale_m=state.run.set_up.scale_m or 2.0)


def show_more(context: Context) -> None:
    """Put the other questions about this film into the column, or take them away again."""
    film = context.state.film
    film.more = "" if film.more else "open"


def show_five(context: Context) -> None:
    """Put the five questions into the column again."""
    context.state.film.more = ""


def why_not_filmed(context: Context) -> str:
    """Why no clip of the athlete may be brought in; said before one is chosen."""
    athlete = context.state.athlete
    try:
        if athlete and context.state.run:
            refuse_clips_of(athlete, context.today())
    except NoConsent as trouble:
        return str(trouble)
    return ""


def may_bring_in(context: Context) -> str:
    """Why no clip can be opened now."""
    return needs_visit(context) or why_not_filmed(context)


def another_pass(context: Context) -> None:
    """Begin another run of the same visit with the same answers but for the direction."""
    start_run(context, *context.state.where[:2])
    context.go("film")


def change_view(context: Context, view: str) -> None:
    """Set the view; key frames of the old view are removed, undo brings them back."""
    state = context.state
    if state.run and view != state.run.view:
        state.record(f"seen from the {view}", replace(state.run, view=view, steps=(Step(),)))
        state.marking.event, state.marking.prompt = "", None


TOPS = ("shoulder", "base of neck")


def choose_top(context: Context, top: str) -> None:
    """Tap the base of the neck or the shoulder, in this run and in all later ones."""
    state = context.state
    uses = top == TOPS[1]
    answer(context.state, f"top of trunk: {top}", uses_neck_base=uses)
    if state.squad:
        choices = replace(state.squad.choices, neck_base="yes" if uses else "no")
        if choices != state.squad.choices:
            state.squad.save_choices(choices)


def _is_reading(context: Context) -> bool:
    gallery = context.state.marking.gallery
    is_half_read = gallery and isinstance(gallery.pictures, Clip) and not gallery.pictures.is_done
    return bool(is_half_read) or context.jobs.is_busy("pictures")


def ask_for_readings(context: Context) -> None:
    """Ask for two readings of a stopwatch, or stop asking."""
    film = context.state.film
    film.stopwatch = None if film.stopwatch else Stopwatch()


def take_reading(state: AppState, text: str) -> None:
    """Keep what the stopwatch shows in the frame on the screen. Raises StopwatchUnusable."""
    why = waiting_for(state)
    if why:
        raise StopwatchUnusable(why)
    watch = state.film.stopwatch or Stopwatch()
    state.film.stopwatch = watch.read_at(state.marking.picture, seconds_shown(text))
    found_rate(state)  # readings that contradict each other are refused at once


def found_rate(state: AppState) -> StopwatchRate | None:
    """Return what both readings say, None before. Raises StopwatchUnusable."""
    gallery, watch = state.marking.gallery, state.film.stopwatch
    if gallery is None or watch is None or not watch.is_whole:
        return None
    return rate_between(gallery.pictures, *watch.readings)


def use_rate(context: Context, phone: str) -> None:
    """Answer the run's rate with what was found, and keep the phone for the next clips."""
    state = context.state
    found, gallery = found_rate(state), state.marking.gallery
    if found is None or gallery is None:
        return
    rate_hz = phone_rate_hz(found, gallery.pictures)
    kept = keep_phone(state.the_squad, phone, rate_hz, context.now().date())
    source = BY_WATCH.format(kept.name)
    answer(
        context.state, f"filmed at {rate_hz:.1f}", slow_factor=found.slow_factor, rate_source=source
    )
    state.film.stopwatch = None
    state.status = f"{kept.name} films at {rate_hz:.1f} fps; the squad remembers it."


def _has_times(context: Context) -> bool:
    pictures = context.state.pictures
    return pictures is not None and pictures.kind == "clip" and bool(pictures.rate_hz())


_film = partial(Action, pages=("film",), group="Film")
_of_visit = partial(_film, why_disabled=needs_visit)
_of_allowed = partial(_film, why_disabled=may_bring_in)
_of_pictures = partial(_film, why_disabled=needs_clip)


def _forget(what: str, field: str) -> Callable[[Context], None]:
    return lambda context: answer(context.state, f"no {what}", **{field: None})


ACTIONS = (
    _of_allowed("open clip", "Open a clip…", ask_clip, ("Mod+O",)),
    _of_allowed("open folder", "Open a folder of stills…", ask_folder, ("Mod+D",)),
    _of_allowed("open stills", "Open loose stills…", ask_stills, ("Mod+L",)),
    _of_visit("enter consent", "Enter the consent", partial(open_form, name="consent")),
    _of_visit("more about film", "More about this film", show_more, ("E",)),
    _of_visit("film questions", "The five questions", show_five),
    _of_pictures("mark pole", "Mark a vertical pole", partial(pick, what=POLE), ("P",)),
    _of_pictures("mark scale", "Mark the scale on the ground", partial(pick, what=SCALE), ("M",)),
    _of_pictures("clear pole", "Forget the pole", _forget("pole", "upright_px")),
    _of_pictures("clear scale", "Forget the scale", _forget("scale", "scale_px")),
    _film(
        "another pass",
        "Mark another pass",
        another_pass,
        ("A",),
        pages=("review", "sheet", "film"),
        why_disabled=unless(
            "Open the clip of the first pass.", lambda c: c.state.run_name, needs_visit
        ),
    ),
    _film(
        "stop reading",
        "Stop reading the clip",
        stop_reading,
        ("Mod+Period",),
        why_disabled=unless("Nothing is being read.", _is_reading),
    ),
    _film(
        "take over",
        "Take this run over from another window",
        take_over,
        pages=("film", "frames", "taps", "review"),
        why_disabled=unless("This run is yours already.", lambda c: c.saver.is_read_only),
    ),
)
STOPWATCH_ACTIONS = (
    _film(
        "stopwatch",
        "Find the true rate with a stopwatch",
        ask_for_readings,
        ("W",),
        why_disabled=unless("A stopwatch is read off a clip.", _has_times, needs_clip),
    ),
)
