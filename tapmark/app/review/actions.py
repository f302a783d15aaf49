"""What can be done on the Review page: read the visit, choose priorities, begin a second look."""

import io
from dataclasses import replace
from functools import partial

from tapmark.app.jobs import Task
from tapmark.app.shell.context import Action, Context
from tapmark.app.shell.runs import open_run
from tapmark.app.shell.stepping import ask_for, look_at_check, with_place
from tapmark.app.shell.why_disabled import needs_taps, unless
from tapmark.app.state.checklist_lines import CheckLine, checklist_lines, counted_words, in_one_go
from tapmark.app.state.prompts import Look, Prompt, missing_events, next_open
from tapmark.app.state.session import AppState
from tapmark.checklist.next_tap import NextTap
from tapmark.clip.frames import Clip
from tapmark.errors import TapmarkError
from tapmark.marks.days import run_words
from tapmark.marks.people import Slot
from tapmark.marks.points import SECOND_LOOK
from tapmark.marks.run import Run
from tapmark.services.consent import keep_in
from tapmark.services.places import visit_at
from tapmark.services.visits import VisitReading, card_of, read_visit, with_next_taps
from tapmark.store.pictures import NEIGHBOURS, Still


def read_again(context: Context) -> None:
    """Measure and judge the visit as it lies on disk, beside the window; nothing new, no work."""
    state = context.state
    if state.review.read_of is state.work and state.review.read_of:
        return
    if needs_taps(context) or context.saver.is_unsaved:  # the disk does not hold what is marked
        state.review.reading = state.review.read_of = None
        return
    state.review.read_of = state.work
    folder, name, today = state.the_visit_folder, state.run_name, context.today()

    def read(task: Task) -> VisitReading:
        place = visit_at(folder)
        found = read_visit(place, today)
        card = card_of(place.squad, [run for _, run in found.runs])
        return with_next_taps(found, name, card)

    def done(reading: VisitReading) -> None:
        state.review.reading = reading
        state.notify()

    context.jobs.run("reading", read, done, context.failed, by="run")


def choose_slot(state: AppState, i_slot: int, item: int | None) -> None:
    """Make an item the first or second priority; None empties it, 0 leaves it to the rule."""
    if not state.visit or not state.review.reading:
        return
    if item == 0:
        state.record("choice by rule", visit=replace(state.visit, slots=None, reason=""))
        return
    chosen = state.review.reading.assessment.slots
    slots: list[int | None] = [*(each.item.number for each in chosen), None, None][:2]
    slots[i_slot] = item
    kept = {slot.item: slot for slot in state.visit.slots or ()}
    new = tuple(kept.get(number, Slot(number)) for number in dict.fromkeys(slots) if number)
    state.record("choice", visit=replace(state.visit, slots=new))


def show_leaf(context: Context, leaf: str) -> None:
    """Show the checklist (""), "measures", "why" or "signs" in the column; the same again: back."""
    review = context.state.review
    review.leaf = "" if review.leaf == leaf else leaf


def choose_line(context: Context, line: CheckLine) -> None:
    """Choose a line of the checklist; the picture goes to the key frame where it was read."""
    state = context.state
    state.review.line = line.key
    if line.event and state.step.key_frame(line.event):
        state.go_to(line.event)
    state.notify()


def next_line(context: Context, by: int) -> None:
    """Choose the next line of the checklist, or the one before."""
    review = context.state.review
    lines = checklist_lines(review.reading, review.opened) if review.reading else ()
    if not lines or review.leaf:
        return
    at = next((i for i, line in enumerate(lines) if line.key == review.line), None)
    i = (0 if by > 0 else len(lines) - 1) if at is None else at + by
    choose_line(context, lines[min(max(0, i), len(lines) - 1)])


def toggle_fold(context: Context, fold: str) -> None:
    """Open or close a group of quiet items."""
    review = context.state.review
    review.opened = review.opened ^ {fold}


def change_cue(state: AppState, cue: str) -> None:
    """Keep other words for the cue of the first priority."""
    chosen = state.review.reading.assessment.slots if state.review.reading else ()
    if not state.visit or not chosen or cue.strip() == chosen[0].phrase.cue:
        return
    old = state.visit.slots or tuple(Slot(c.item.number, since=c.since) for c in chosen)
    slots = (replace(old[0], cue=cue.strip()), *old[1:])
    state.record("cue", visit=replace(state.visit, slots=slots))


def change_reason(state: AppState, reason: str) -> None:
    """Keep why the coach chose otherwise than the rule."""
    if state.visit and reason.strip() != state.visit.reason:
        state.record("reason", visit=replace(state.visit, reason=reason.strip()))


def second_look(context: Context) -> None:
    """Begin the second look: some points once more, the first taps hidden."""
    state = context.state
    state.marking.look = Look()
    context.go("taps")
    found = next_open(state.the_run, state.marking.i_step, again=state.marking.look)
    if found is None:
        state.marking.look = None
        state.status = "The second look of this step is done."
        return
    ask_for(state, found)


def retap_words(state: AppState) -> str:
    """Return how many items can't be told and what to tap once more; "" for nothing to tap."""
    reading = state.review.reading
    if reading is None or not reading.next_taps:
        return ""
    first, n = _next_tap(state), reading.untold
    (name, _), told = _step_of(state, first), len(first.decides)
    where = f"one frame before and after {first.event}" if first.is_beside else "once more"
    at = "" if first.is_beside else f" at {first.event}"
    elsewhere = "" if name == state.run_name else f" of {run_words(name)}"
    decides = f"decides {counted_words(told)} of them" if told else "may decide one of them"
    if told == n:
        decides = "decides it" if n == 1 else "decides all of them"
    items = "One item" if n == 1 else f"{counted_words(n).capitalize()} items"
    points = in_one_go(first.points)
    return f"{items} can't be told. Tap {points}{at}{elsewhere} {where}: {decides}."


def _step_of(state: AppState, tap: NextTap) -> tuple[str, int]:
    """Return the name of the run and the number of the step in which a suggestion lies."""
    steps = state.review.reading.steps if state.review.reading else ()
    return steps[tap.i_reading] if tap.i_reading < len(steps) else (state.run_name, 0)


def tap_once_more(context: Context) -> None:
    """Begin the look that tells most: its points once more, the first taps hidden."""
    state = context.state
    if not state.run or not state.review.reading or not state.review.reading.next_taps:
        return
    first = _next_tap(state)
    name, i_step = _step_of(state, first)
    if name != state.run_name:
        open_run(context, *state.where[:2], name, ("taps",))
    state.marking.i_step = min(i_step, len(state.run.steps) - 1)
    n_frames = 0 if state.pictures is None else len(state.pictures)
    frame = state.step.key_frame(first.event)
    has_both = frame is not None and 0 < frame.picture < n_frames - 1
    ways = (-1, 1) if first.is_beside and has_both else (0,)
    asked_for = tuple(Prompt(first.event, point, by) for by in ways for point in first.points)
    state.marking.look = Look(2 + len(state.step.looks(first.event)), asked_for)
    context.go("taps")
    state.go_to(first.event, asked_for[0])
    state.status = "Tap as if for the first time: the first taps are hidden."
    state.notify()


def _next_tap(state: AppState) -> NextTap:
    """Return the suggestion whose line is chosen, else the best one."""
    taps = state.review.reading.next_taps if state.review.reading else ()
    chosen = (tap for i, tap in enumerate(taps) if state.review.line == f"tap {i}")
    return next(chosen, taps[0])


_needs_reading = unless("Measuring …", lambda c: c.state.review.reading, needs_taps)
_needs_retap = unless(
    "No tap would tell more: film two more passes.",
    lambda c: c.state.review.reading and c.state.review.reading.next_taps,
    _needs_reading,
)
_needs_contacts = unless(
    "The second look needs both touchdowns.",
    lambda c: all(c.state.step.key_frame(event) for event in SECOND_LOOK),
    needs_taps,
)
_needs_check = unless(
    "No marking check names a place here.",
    lambda c: with_place(c.state),
    unless("No marking check has anything to say.", lambda c: c.state.review.checks),
)


QUALITY = 88


def wanted_stills(run: Run, n_pictures: int) -> dict[Still, int]:
    """Return still -> frame of all to keep: key frames first, then their neighbours that exist."""
    found: dict[Still, int] = {
        (i_step, frame.event, offset): frame.picture + offset
        for offset in sorted(range(-NEIGHBOURS, NEIGHBOURS + 1), key=abs)
        for i_step, step in enumerate(run.steps)
        for frame in step.key_frames
        if 0 <= frame.picture + offset < n_pictures
    }
    return found


def keep(context: Context) -> None:
    """Keep the next still that is not kept yet, and so on until all are.

    One that cannot be kept is told once and not tried again while the run is open: where the disk
    or the consent says no, that is every one that is left.
    """
    state, marking = context.state, context.state.marking
    run, pictures = state.run, state.pictures
    if run is None or not isinstance(pictures, Clip) or missing_events(run, marking.i_step):
        return
    if context.jobs.is_busy("stills") or context.saver.is_read_only:
        return
    left = {
        still: picture
        for still, picture in wanted_stills(run, len(pictures)).items()
        if still not in marking.left_out and marking.kept.get(still) != picture
    }
    if not left:
        return
    still, picture = next(iter(left.items()))

    def work(task: Task) -> bytes:
        out = io.BytesIO()  # a JPEG with nothing beside its pixels
        pictures.full(picture, task).save(out, "JPEG", quality=QUALITY)
        return out.getvalue()

    def put_away(jpeg: bytes) -> None:
        if state.run_name:
            keep_in(state.the_squad, state.where, {still: jpeg}, context.today())
            marking.kept[still] = picture

    def done(jpeg: bytes) -> None:
        if context.attempt(lambda: put_away(jpeg)):
            keep(context)
        else:
            marking.left_out.update(left)

    def failed(trouble: TapmarkError) -> None:  # the clip itself has told its trouble already
        marking.left_out.add(still)
        keep(context)

    context.jobs.run("stills", work, done, failed, by="run")


_marked = partial(Action, pages=("frames", "taps", "review"), group="Review")
_on_review = partial(Action, pages=("review",), group="Review")
_why, _measures, _signs = (partial(show_leaf, leaf=leaf) for leaf in ("why", "measures", "signs"))
_on, _back = (partial(next_line, by=by) for by in (1, -1))
_look_again = "Look again at a marking check"
ACTIONS = (
    _marked("look again", _look_again, look_at_check, ("K",), why_disabled=_needs_check),
    _on_review("tap more", "Tap once more", tap_once_more, ("T",), why_disabled=_needs_retap),
    _on_review("why this one", "Why this one", _why, ("W",), why_disabled=_needs_reading),
    _on_review("line on", "Next line", _on, ("Down",), in_menu=False),
    _on_review("line back", "Line before", _back, ("Up",), in_menu=False),
    _on_review("measures", "All measures", _measures, ("N",)),
    _on_review("signs", "What the signs mean", _signs, ("H",)),
    _on_review("second look", "Second look", second_look, ("S",), why_disabled=_needs_contacts),
)
