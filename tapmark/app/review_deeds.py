"""What can be done on the Review page: read the visit, choose what to work on, look again."""

from dataclasses import replace

from tapmark.app.action import Action
from tapmark.app.desk import Desk
from tapmark.app.jobs import Task
from tapmark.app.mark_deeds import ask_for
from tapmark.app.prompting import Look, Prompt, asked, next_open
from tapmark.errands.places import visit_at
from tapmark.errands.visits import VisitReading, card_of, read_visit, with_next_taps
from tapmark.marks.people import Slot
from tapmark.marks.points import SECOND_LOOK
from tapmark.marks.run import Run
from tapmark.measures.compute import measure_run
from tapmark.measures.result import MarkingCheck

CHECK_MS = 180  # slips are looked for when the hand pauses, so that no tap waits for it


def needs_taps(desk: Desk) -> str:
    """Why there is nothing to read."""
    state = desk.state
    if not state.run or not state.run_name:
        return "Mark a run first."
    return "" if next(state.run.taps(), None) else "Tap some points first."


def read_again(desk: Desk) -> None:
    """Measure and judge the visit as it lies on disk, beside the window; nothing new, no work."""
    state = desk.state
    if needs_taps(desk) or not state.squad or not state.visit:
        state.reading = state.read_of = None
        return
    if state.read_of is state.work:
        return
    if desk.is_unsaved:  # what lies on the disk is not what is marked
        state.reading = state.read_of = None
        return
    work, today = state.work, desk.now().date()
    folder = state.squad.visit_folder(state.visit.code, state.visit.dated)
    state.read_of = work
    name = state.run_name

    def read(task: Task) -> VisitReading:
        place = visit_at(folder)
        found = read_visit(place, today)
        card = card_of(place.squad, [run for _, run in found.runs])
        return with_next_taps(found, name, card)

    def done(reading: VisitReading) -> None:
        state.reading = reading
        state.tell()

    desk.jobs.run(
        "reading",
        read,
        done,
        desk.failed,
        by="run",
    )


def choose_slot(desk: Desk, i_slot: int, item: int | None) -> None:
    """Put an item into the first or second slot; None empties it, 0 gives it back to the rule."""
    state = desk.state
    if not state.visit or not state.reading:
        return
    if item == 0:
        state.record_visit("choice by rule", replace(state.visit, slots=None, reason=""))
        return
    slots: list[int | None] = [chosen.item.number for chosen in state.reading.assessment.slots]
    slots = [*slots, None, None][:2]
    slots[i_slot] = item
    kept = {slot.item: slot for slot in state.visit.slots or ()}
    new = tuple(kept.get(number, Slot(number)) for number in dict.fromkeys(slots) if number)
    state.record_visit("choice", replace(state.visit, slots=new))


def change_cue(desk: Desk, cue: str) -> None:
    """Keep other words for the cue of the first slot."""
    state = desk.state
    if not state.visit or not state.reading or not state.reading.assessment.slots:
        return
    chosen = state.reading.assessment.slots
    if cue.strip() == chosen[0].phrase.cue:
        return
    old = state.visit.slots or tuple(Slot(c.item.number, since=c.since) for c in chosen)
    slots = (replace(old[0], cue=cue.strip()), *old[1:]) if old else ()
    state.record_visit("cue", replace(state.visit, slots=slots))


def change_reason(desk: Desk, reason: str) -> None:
    """Keep why the coach chose otherwise than the rule."""
    state = desk.state
    if state.visit and reason.strip() != state.visit.reason:
        state.record_visit("reason", replace(state.visit, reason=reason.strip()))


def check_again(desk: Desk) -> None:
    """Look for slips in the run at hand, beside the window; nothing new, no work."""
    state = desk.state
    run = state.run
    if run is None or run is state.checked:
        return
    state.checked = run
    desk.later(CHECK_MS, lambda: _check(desk, run))


def _check(desk: Desk, run: Run) -> None:
    """Measure the run if it is still the one at hand."""
    state = desk.state
    if run is not state.run:
        return

    def done(checks: tuple[MarkingCheck, ...]) -> None:
        if checks != state.checks:
            state.checks = checks
            state.tell()

    desk.jobs.run("checks", lambda task: measure_run(run).checks, done, desk.failed, by="run")


def look_at_check(desk: Desk) -> None:
    """Go to the place of the marking check that comes next in the run."""
    named = _with_place(desk)
    if not named:
        desk.state.said = "No marking check names a place."
        return
    here = [i for i, check in enumerate(named) if _is_here(desk, check)]
    to_check(desk, named[(here[0] + 1) % len(named) if here else 0])


def _with_place(desk: Desk) -> list[MarkingCheck]:
    """Return the checks that name a place: on Frames those of a key frame, elsewhere all."""
    on_frames = desk.state.page == "frames"
    return [c for c in desk.state.checks if c.event and not (on_frames and c.point)]


def _is_here(desk: Desk, check: MarkingCheck) -> bool:
    if desk.state.page == "frames":
        return desk.state.event == check.event
    prompt = desk.state.prompt
    return prompt is not None and (prompt.event, prompt.point) == (check.event, check.point)


def to_check(desk: Desk, check: MarkingCheck) -> None:
    """Go to the point that a marking check speaks of; on Frames, to its picture."""
    state = desk.state
    state.i_step = min(check.i_step, len(state.run.steps) - 1 if state.run else 0)
    if state.page == "frames":
        state.go_to(check.event)
        return
    desk.go("taps")
    point = check.point
    if not point and state.run:
        mine = [p for p in asked(state.run, state.i_step) if p.event == check.event]
        point = mine[0].point if mine else ""
    if point:
        ask_for(state, Prompt(check.event, point))
    else:
        state.go_to(check.event)


def second_look(desk: Desk) -> None:
    """Begin the second look: some points once more, the first taps hidden."""
    state = desk.state
    if not state.run:
        return
    state.look = Look()
    desk.go("taps")
    found = next_open(state.run, state.i_step, again=True)
    if found is None:
        state.look = None
        state.said = "The second look of this step is done."
        return
    ask_for(state, found)


def retap_words(desk: Desk) -> str:
    """Return how many items can't be told and what to tap once more; "" for nothing to tap."""
    reading = desk.state.reading
    if reading is None or not reading.next_taps:
        return ""
    first, n = reading.next_taps[0], reading.untold
    *most, last = first.points
    points = f"{', '.join(most)} and {last}" if most else last
    where = f"one picture before and after {first.event}" if first.is_beside else "once more"
    at = "" if first.is_beside else f" at {first.event}"
    told = len(first.decides)
    decides = f"decides {_counted(told)} of them" if told else "may decide one of them"
    if told == n:
        decides = "decides it" if n == 1 else "decides all of them"
    items = "One item" if n == 1 else f"{_counted(n).capitalize()} items"
    return f"{items} can't be told. Tap {points}{at} {where}: {decides}."


def _counted(n: int) -> str:
    return (
        str(n)
        if n > 9
        else ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"][n]
    )


def tap_once_more(desk: Desk) -> None:
    """Begin the look that tells most: its points once more, the first taps hidden."""
    state = desk.state
    if not state.run or not state.reading or not state.reading.next_taps:
        return
    first = state.reading.next_taps[0]
    state.i_step = min(first.i_reading, len(state.run.steps) - 1)
    pictures = state.gallery.pictures if state.gallery else ()
    frame = state.step.key_frame(first.event)
    has_both = frame is not None and 0 < frame.picture < len(pictures) - 1
    ways = (-1, 1) if first.is_beside and has_both else (0,)
    asked_for = tuple(Prompt(first.event, point, by) for by in ways for point in first.points)
    state.look = Look(2 + len(state.step.looks(first.event)), asked_for)
    desk.go("taps")
    state.go_to(first.event, asked_for[0])
    state.said = "Tap as if for the first time: the first taps are hidden."
    state.tell()


def _needs_retap(desk: Desk) -> str:
    if needs_taps(desk) or not desk.state.reading:
        return needs_taps(desk) or "Measuring …"
    return "" if desk.state.reading.next_taps else "No tap would tell more: film two more passes."


def _needs_contacts(desk: Desk) -> str:
    state = desk.state
    there = all(state.step.key_frame(event) for event in SECOND_LOOK)
    return needs_taps(desk) or ("" if there else "The second look needs both touchdowns.")


def _needs_check(desk: Desk) -> str:
    if not desk.state.checks:
        return "No marking check has anything to say."
    return "" if _with_place(desk) else "No marking check names a place here."


_REVIEW = ("review",)

ACTIONS = (
    Action(
        "look again",
        "Look again at a marking check",
        look_at_check,
        ("K",),
        ("frames", "taps", "review"),
        "Review",
        _needs_check,
    ),
    Action("tap more", "Tap once more", tap_once_more, ("T",), _REVIEW, "Review", _needs_retap),
    Action("second look", "Second look", second_look, ("S",), _REVIEW, "Review", _needs_contacts),
)
