"""Opening and beginning runs, and bringing their clips and stills in."""

import re
from dataclasses import replace
from functools import partial
from pathlib import Path

from tapmark.app.jobs import Task
from tapmark.app.shell.context import Context
from tapmark.app.shell.proposals import propose
from tapmark.app.shell.run_lock import let_go
from tapmark.app.shell.watching import Watch, with_factor
from tapmark.app.state.form import FieldTrouble, number
from tapmark.app.state.frames_shown import Gallery, KeptStills
from tapmark.app.state.frames_wanted import LongClip, Wish
from tapmark.app.state.prompts import Prompt, next_open
from tapmark.app.state.proposal import Proposal
from tapmark.app.state.session import Work
from tapmark.clip.cache import Cache
from tapmark.clip.frames import Clip, Pictures, read_header
from tapmark.clip.strip import key_strip
from tapmark.errors import OtherPictures, TapmarkError
from tapmark.marks.days import run_words
from tapmark.marks.history import History
from tapmark.marks.people import Athlete, Visit
from tapmark.marks.points import EVENTS
from tapmark.marks.run import QUESTIONS, KeyFrame, Run, SetUp, Source
from tapmark.services.consent import let_in
from tapmark.store import pictures as stored
from tapmark.store.pictures import fingerprint

STOPPED = "Stopped. Nothing of the run was lost; open the clip again when you like."
TYPED_RATE = "typed in, {:g} a second"


def own_pictures(context: Context, run: Run, run_path: Path) -> None:
    """Open the frames that a run was marked on; without them, the stills that were kept."""
    load_pictures(context, wish_of(run, run_path))


def wish_of(run: Run, run_path: Path) -> Wish:
    """Return the wish for the frames that a run was marked on, and no others."""
    path, source = stored.clip_path(run.source, run_path), run.source
    names = source.fingerprint.split("\n") if source.kind == "stills" else []
    stills = tuple(path / name for name in names if name)
    return Wish(path, stills, False, typed_rate(run), source.part_s, source)


def typed_rate(run: Run) -> float | None:
    """Return the frames per second that were typed in for stills, or None."""
    found = re.fullmatch(r"typed in, ([\d.e+]+) a second", run.set_up.rate_source)
    return float(found[1]) if found and run.source.kind == "stills" else None


def load_pictures(context: Context, wish: Wish) -> None:
    """Open frames beside the window."""
    state = context.state
    if wish.is_new and state.squad and state.athlete:
        let_in(state.squad, state.athlete.code, context.today())
    context.work_on(
        "pictures",
        f"Opening “{wish.path.name}” …",
        lambda task: wish.opened(context.cache_folder, task),
        lambda pictures: _use(context, pictures, wish),
        lambda trouble: _without(context, wish, trouble),
        stopped=STOPPED,
        by="run",
        late=lambda pictures: pictures.close(),
    )


def _without(context: Context, wish: Wish, trouble: TapmarkError) -> None:
    """Tell why the frames cannot be had; show the kept stills of a run, if there are any."""
    state = context.state
    if not wish.is_new and state.squad and state.visit and state.run:
        kept = KeptStills(state.run, state.squad.stills_folder(*state.where))
        if not kept.is_empty:
            state.close_pictures()
            state.marking.gallery = Gallery(kept, context.jobs)
            if state.frame:
                state.marking.picture = state.frame.picture
    context.failed(trouble)
    if isinstance(trouble, OtherPictures):
        _offer_to_find(context, trouble)


def _offer_to_find(context: Context, trouble: OtherPictures) -> None:
    """Show what lies there, and the ways to the right frames."""
    back = context.state.page

    def find(context: Context) -> None:
        context.perform("find clips")

    def choose(context: Context) -> None:
        context.go("film")
        context.perform("open clip")

    proposal = Proposal(
        "Other frames under the old name",
        (str(trouble), "The right ones may have been moved or renamed: look for them in a folder."),
        more=(("Find moved clips again…", find), ("Choose the clip…", choose)),
        back=back,
    )
    propose(context, proposal)


def _use(context: Context, pictures: Pictures, wish: Wish) -> None:
    """Show the frames; those of a new run make its file."""
    state = context.state
    said = _leave_marked(context, pictures, wish)
    state.close_pictures()
    state.marking.gallery, state.status = Gallery(pictures, context.jobs), said
    if wish.is_new:
        _take_source(context, pictures, wish)
    elif wish.rate_hz is not None and state.run and typed_rate(state.run) != wish.rate_hz:
        _take_times(context, pictures, wish.rate_hz)
    if state.frame:
        state.marking.picture = state.frame.picture
    if isinstance(pictures, Clip):
        Watch(
            context,
            pictures,
            wish.is_new,
            lambda trouble: _gone(context, wish, trouble),
            partial(wish.refuse_others, pictures),
        ).look()


def _gone(context: Context, wish: Wish, trouble: TapmarkError) -> None:
    """Tell that a clip came to nothing while it was read; the run and its marks stay."""
    context.state.close_pictures()
    _without(context, replace(wish, is_new=False), trouble)


def _take_source(context: Context, pictures: Pictures, wish: Wish) -> None:
    state, squad, old = context.state, context.state.the_squad, context.state.the_run
    code, dated, name = state.where
    source = _source(pictures, wish, squad.run_path(code, dated, name or "run-1"))
    if name and _is_same(source, old.source):
        state.record("the clip is found", replace(old, source=source))
        return
    run = replace(_with_rate(old, pictures), source=source)
    if name:  # nothing is marked on the old ones
        state.amend(run)
        state.session.history = History(state.history.value) if state.history else None
        state.marking.event, state.marking.prompt, state.marking.picture = "", None, 0
        was = old.source.path.rpartition("/")[2]
        state.status = f"“{pictures.name}” takes the place of “{was}”, on which nothing was marked."
        return
    name = squad.new_run(code, dated, run)
    state.session.history = History(Work(squad.visit(code, dated), run))
    state.session.run_name = name
    context.saver.hold((code, dated, name))
    context.saver.note_saved()


def _leave_marked(context: Context, pictures: Pictures, wish: Wish) -> str:
    """Begin a new run for other frames than those that are marked; return what to say of it."""
    state = context.state
    if not (wish.is_new and state.squad and state.visit and state.run and state.run_name):
        return ""
    code, dated, name = state.where
    source = _source(pictures, wish, state.squad.run_path(*state.where))
    is_marked = any(step.key_frames for step in state.run.steps)
    if not is_marked or _is_same(source, state.run.source):
        return ""

    start_run(context, code, dated)
    return f"“{pictures.name}” is a new run; {run_words(name)} keeps its own frames and marks."


def _is_same(new: Source, old: Source) -> bool:
    """Say whether two sources are the same frames, wherever they lie."""

    def what(source: Source) -> tuple[object, ...]:
        return source.kind, source.fingerprint, source.size_bytes, source.size_px, source.part_s

    return bool(new.fingerprint) and what(new) == what(old)


def _with_rate(run: Run, pictures: Pictures) -> Run:
    factor, source = pictures.capture.slow_factor, pictures.capture.source
    if factor is None:
        return run
    return replace(run, set_up=with_factor(run.set_up, factor, source))


def _source(pictures: Pictures, wish: Wish, run_path: Path) -> Source:
    n = len(pictures)
    last = pictures.time_s(n - 1) if n else None
    source = Source(pictures.kind, "", pictures.size_px, n, duration_s=last, part_s=wish.part_s)
    if pictures.kind == "clip":
        return stored.clip_of(wish.path, run_path, source)
    names = "\n".join(path.name for path in wish.stills)
    return replace(source, path=stored.way_to(wish.path, run_path), fingerprint=names)


def reload_with_rate(context: Context, rate_hz: float) -> None:
    """Give stills their times from frames per second, and the key frames theirs."""
    run_path = context.state.the_squad.run_path(*context.state.where)
    load_pictures(context, replace(wish_of(context.state.the_run, run_path), rate_hz=rate_hz))


def _take_times(context: Context, pictures: Pictures, rate_hz: float) -> None:
    state, run = context.state, context.state.the_run

    def timed(frame: KeyFrame) -> KeyFrame:
        i = frame.picture
        return replace(frame, time_s=pictures.time_s(i), interval_s=pictures.interval_s(i))

    steps = tuple(
        replace(step, key_frames=tuple(map(timed, step.key_frames))) for step in run.steps
    )
    set_up = with_factor(run.set_up, 1.0, TYPED_RATE.format(rate_hz))
    state.record(f"filmed at {rate_hz:g}", replace(run, steps=steps, set_up=set_up))


def stop_reading(context: Context) -> None:
    """Stop bringing frames in; what was read so far is let go."""
    state = context.state
    context.jobs.cancel("pictures")
    state.close_pictures()
    state.status = STOPPED


MOST_SMALL = 20


def bring_in(context: Context, wish: Wish) -> None:
    """Open frames that the coach chose; of a long clip, ask for a part first."""
    if wish.stills or wish.path.is_dir():
        load_pictures(context, wish)
        return
    run = context.state.run
    known = run.source if run and run.source.part_s else Source()
    context.work_on(
        "pictures",
        f"Looking at “{wish.path.name}” …",
        lambda task: _looked_at(context, wish, known, task),
        partial(_ask_or_load, context),
        stopped=STOPPED,
        by="run",
    )


def _looked_at(context: Context, wish: Wish, known: Source, task: Task) -> LongClip | Wish:
    """Return what to ask about, or what to load: a clip found again keeps its part."""
    header = read_header(wish.path)
    if not header.is_long:
        return wish
    if fingerprint(wish.path) == known.fingerprint:
        return replace(wish, part_s=known.part_s)
    cache = Cache(context.cache_folder)
    strip = key_strip(header, cache, MOST_SMALL, task)
    found = LongClip(wish, header, tuple(strip[:MOST_SMALL]), 0.0, 0.0)
    return found.around(found.length_s / 2)


def _ask_or_load(context: Context, found: LongClip | Wish) -> None:
    state = context.state
    state.status = ""
    if isinstance(found, Wish):
        state.film.long_clip = None
        load_pictures(context, found)
    else:
        state.film.long_clip = found


def around(context: Context, at_s: float) -> None:
    """Offer the part around a moment."""
    film = context.state.film
    if film.long_clip:
        film.long_clip = film.long_clip.around(at_s)


def read_part(context: Context, start: str, end: str) -> None:
    """Read from one typed second to the other; raises FieldTrouble for what cannot be used."""
    long_clip = context.state.film.long_clip
    if long_clip is None:
        return
    last = long_clip.length_s
    start_s = number(start, "start", "the beginning in seconds", 0, last) or 0.0
    end_s = number(end, "end", "the end in seconds", 0, last + 1)
    end_s = last if end_s is None else min(end_s, last)
    if end_s <= start_s:
        raise FieldTrouble("end", f"The part must end after it begins, {start_s:g} s.")
    context.state.film.long_clip = None
    load_pictures(context, replace(long_clip.wish, part_s=(start_s, end_s)))


def read_all(context: Context) -> None:
    """Read the whole clip all the same."""
    long_clip, context.state.film.long_clip = context.state.film.long_clip, None
    if long_clip:
        load_pictures(context, long_clip.wish)


def ask_clip(context: Context) -> None:
    """Ask for a clip and open it as the frames of this run."""
    path = context.ask.clip()
    if path:
        bring_in(context, Wish(path))


def ask_folder(context: Context) -> None:
    """Ask for a folder of stills."""
    path = context.ask.folder("Open a folder of stills")
    if path:
        bring_in(context, Wish(path))


def ask_stills(context: Context) -> None:
    """Ask for loose stills."""
    paths = context.ask.stills()
    if paths:
        bring_in(context, Wish(paths[0].parent, paths))


def start_run(context: Context, code: str, dated: str) -> None:
    """Begin a run of a visit; it gets its name and file with its frames."""
    squad, athlete = context.state.the_squad, context.state.the_athlete
    context.saver.refuse_unsaved()
    visit, set_up = squad.new_visit(code, dated), for_athlete(athlete)
    if visit.runs:
        set_up = for_next_pass(squad.load_run(code, dated, visit.runs[-1]).set_up)
    set_up = replace(set_up, uses_neck_base=squad.choices.neck_base == "yes")
    _put(context, visit, Run(set_up=set_up, marked_by=squad.choices.marker), "")


def for_next_pass(set_up: SetUp) -> SetUp:
    """Return the answers for another pass of the same day: pain was asked, and stays.

    The direction is asked anew, with the last one offered: passes go both ways. Pole and scale hold
    once for each place of the camera: they are kept on a tripod, and shown.
    """
    kept = set_up if set_up.is_static else replace(set_up, upright_px=None, scale_px=None)
    kept = replace(kept, unanswered=tuple({**dict.fromkeys(kept.unanswered), "direction": None}))
    return with_factor(kept, None, "not known")  # the next clip says it itself, or is asked


def for_athlete(athlete: Athlete) -> SetUp:
    """Return the answers that an athlete's first pass of a day begins with: none but the leg."""
    lengths = {length.what: length.cm for length in athlete.lengths}
    leg, height = lengths.get("leg"), lengths.get("height")
    return SetUp(
        leg_cm=leg or (0.53 * height if height else None),
        leg_source="tape" if leg else "height" if height else "",
        unanswered=QUESTIONS,
    )


def _put(context: Context, visit: Visit, run: Run, name: str) -> None:
    state = context.state
    let_go(context)
    state.session.history, state.session.run_name = History(Work(visit, run)), name
    state.show_nothing()
    state.marking.event, state.status = EVENTS[run.view][0], ""


def open_run(
    context: Context, code: str, dated: str, name: str, place: tuple[str, ...] = ()
) -> None:
    """Open a run where it was left: its frames, its key frame, its prompt."""
    state, squad = context.state, context.state.the_squad
    context.saver.refuse_unsaved()
    visit, run = squad.visit(code, dated), squad.load_run(code, dated, name)
    if state.athlete is None or state.athlete.code != code:
        state.session.athlete = squad.athlete(code)
    _put(context, visit, run, name)
    context.saver.hold((code, dated, name))
    context.go(place[0] if place else page_for(run))
    state.settle()
    if len(place) > 2 and place[2]:
        state.go_to(place[1], Prompt(place[1], place[2]))
    elif len(place) > 1:
        state.marking.event = place[1]
    if run.source.kind:
        own_pictures(context, run, squad.run_path(code, dated, name))


def page_for(run: Run) -> str:
    """Return the page on which a run is to be gone on with."""
    if not run.source.kind:
        return "film"
    if not run.steps[0].key_frames:
        return "film" if run.set_up.pain == "not answered" else "frames"
    return "taps" if next_open(run, 0) else "review"
