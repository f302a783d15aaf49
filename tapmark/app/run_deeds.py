"""Opening and beginning runs: which file, who holds it, where we were."""

from dataclasses import replace

from tapmark.app.desk import Desk
from tapmark.app.holding import hold, let_go
from tapmark.app.picture_deeds import own_pictures
from tapmark.app.prompting import Prompt, next_open
from tapmark.app.state import Work
from tapmark.marks.history import History
from tapmark.marks.people import Athlete, Visit
from tapmark.marks.points import EVENTS
from tapmark.marks.run import Run, SetUp


def start_run(desk: Desk, code: str, dated: str) -> None:
    """Begin a run of a visit; it gets its name and file with its pictures."""
    state = desk.state
    if not state.squad or not state.athlete:
        return
    desk.refuse_unsaved()
    visit = state.squad.new_visit(code, dated)
    choices = state.squad.choices
    set_up = for_athlete(choices.set_up, state.athlete)
    if visit.runs:
        set_up = for_next_pass(state.squad.load_run(code, dated, visit.runs[-1]).set_up)
    set_up = replace(
        set_up,
        uses_neck_base=choices.neck_base == "yes",
        slow_factor=None,  # the next clip says itself how fast it was filmed, or is asked
        rate_source="not known",
    )
    _put(desk, visit, Run(set_up=set_up, marked_by=choices.marker), "")


def for_next_pass(set_up: SetUp) -> SetUp:
    """Return the answers for another pass of the same day.

    Pole and scale hold once for each place of the camera: they are kept on a tripod, and shown.
    """
    return set_up if set_up.is_static else replace(set_up, upright_px=None, scale_px=None)


def for_athlete(usual: SetUp, athlete: Athlete) -> SetUp:
    """Return the squad's usual answers with what belongs to this athlete and to today."""
    lengths = {length.what: length.cm for length in athlete.lengths}
    leg, height = lengths.get("leg"), lengths.get("height")
    return replace(
        usual,
        leg_cm=leg or (0.53 * height if height else None),
        leg_source="tape" if leg else "height" if height else "",
        pain="not answered",
        effort=None,
        speed_mps=None,
        upright_px=None,
        scale_px=None,
    )


def _put(desk: Desk, visit: Visit, run: Run, name: str) -> None:
    state = desk.state
    let_go(desk)
    state.history, state.run_name = History(Work(visit, run)), name
    state.show_nothing()
    state.i_step, state.event, state.prompt, state.said = 0, EVENTS[run.view][0], None, ""


def open_run(desk: Desk, code: str, dated: str, name: str, place: tuple[str, ...] = ()) -> None:
    """Open a run where it was left: its pictures, its key frame, its prompt."""
    state = desk.state
    if not state.squad:
        return
    desk.refuse_unsaved()
    visit, run = state.squad.visit(code, dated), state.squad.load_run(code, dated, name)
    if state.athlete is None or state.athlete.code != code:
        state.athlete = state.squad.athlete(code)
    _put(desk, visit, run, name)
    hold(desk, code, dated, name)
    desk.go(place[0] if place else page_for(run))
    state.settle()
    if len(place) > 2 and place[2]:
        state.go_to(place[1], Prompt(place[1], place[2]))
    elif len(place) > 1:
        state.event = place[1]
    if run.source.kind:
        own_pictures(desk, run, state.squad.run_path(code, dated, name))


def page_for(run: Run) -> str:
    """Return the page on which a run is to be gone on with."""
    if not run.source.kind:
        return "film"
    if not run.steps[0].key_frames:
        return "film" if run.set_up.pain == "not answered" else "frames"
    return "taps" if next_open(run, 0) else "review"
