"""See the page as it will print, write it, hand it over; pictures for a phone."""

from dataclasses import replace
from functools import partial
from pathlib import Path

from PIL import Image

from tapmark.app.jobs import Whose
from tapmark.app.shell.comparing import places
from tapmark.app.shell.context import Action, Context
from tapmark.app.shell.why_disabled import needs_taps, unless
from tapmark.app.state.session import AppState, Work
from tapmark.errors import SheetError, TapmarkError
from tapmark.marks.history import History
from tapmark.services.pages import Printed, content_of, note_printed, pages_of, print_sheet
from tapmark.services.pictures import RunPlace, step_png, still_png, two_stills_png
from tapmark.services.places import VisitPlace, visit_at
from tapmark.store.squad import Squad


def preview(context: Context) -> None:
    """Set the page beside the window, when anything in it changed."""
    state, sheet = context.state, context.state.sheet
    today, paper, copy = context.today(), state.paper, sheet.copy
    wanted = (state.work, paper, copy)
    if state.work and sheet.page_of == wanted:
        return
    if needs_taps(context) or context.saver.is_unsaved:  # the disk does not hold what is marked
        sheet.pages, sheet.page_of = (), ()
        return
    sheet.page_of, folder = wanted, state.the_visit_folder

    def done(pages: list[Image.Image]) -> None:
        state.sheet.pages = tuple(pages)
        state.sheet.i_page = min(state.sheet.i_page, len(pages) - 1)
        state.notify()

    context.jobs.run(
        "page",
        lambda task: pages_of(content_of(visit_at(folder), paper, today, copy), copy),
        done,
        context.failed,
        by="run",
    )


def make_sheet(context: Context) -> None:
    """Write the page as PDF and HTML beside the visit, whatever is open when it is done."""
    state, squad, folder = context.state, context.state.the_squad, context.state.the_visit_folder
    today, paper, copy = context.today(), state.paper, state.sheet.copy
    context.saver.refuse_unsaved()
    whose, asked = state.at_hand(), (state.work, paper, copy)

    def failed(trouble: TapmarkError) -> None:
        if state.at_hand() == whose:
            context.failed(trouble)
        else:
            context.failed(SheetError(f"The sheet of {whose.code} is not written. {trouble}"))

    context.work_on(
        "sheet",
        "Writing the sheet …",
        lambda task: print_sheet(visit_at(folder), paper, copy, today),
        partial(_written, context, squad, whose, asked),
        failed,
        by="window",
    )


def _written(
    context: Context, squad: Squad, whose: Whose, asked: tuple[object, ...], printed: Printed
) -> None:
    """Note the sheet in its visit, open or not, and say where it lies.

    asked: what was shown when it was asked for. It can be printed and opened while that is shown.
    """
    state, today = context.state, context.today()
    is_open = state.work is not None and state.at_hand()[:3] == whose[:3]
    context.saver.flush()
    here = state.squad if is_open and state.squad else squad
    known = state.visit if is_open and state.visit else here.visit(printed.code, printed.dated)
    was = state.work
    visit = note_printed(here, printed, known, today)
    if is_open and was and visit != known:
        state.session.history = History(Work(visit, was.run))
    if state.at_hand() == whose:
        state.sheet.written, state.sheet.written_of = printed.path, asked
        if was == asked[0]:  # number and priorities are new, the page is the same
            state.sheet.written_of = (state.work, *asked[1:])
            if state.sheet.page_of == asked:
                state.sheet.page_of = state.sheet.written_of
    state.status = f"Sheet saved: {printed.path}"
    context.saver.note_saved()


def choose_paper(state: AppState, paper: str) -> None:
    """Take A4 or Letter, for this squad from now on."""
    squad = state.squad
    if squad and squad.choices.paper != paper:
        squad.save_choices(replace(squad.choices, paper=paper))
        state.sheet.pages = ()


def choose_copy(state: AppState, copy: str) -> None:
    """Show the athlete's page, or the coach's with the numbers."""
    sheet = state.sheet
    if sheet.copy != copy:
        sheet.copy, sheet.pages, sheet.i_page = copy, (), 0


def turn(context: Context, by: int) -> None:
    """Show the next or previous page."""
    sheet = context.state.sheet
    sheet.i_page = min(max(0, sheet.i_page + by), max(0, len(sheet.pages) - 1))


def hand_written(context: Context, *, prints: bool) -> None:
    """Print the written sheet, or open it with the system's own program."""
    written = context.state.sheet.written
    if written:
        told = f"Sent to the printer: {written.name}" if prints else context.state.status
        context.hand_out(written, told, prints=prints)


def step_out(context: Context) -> None:
    """Write the step line as a picture beside the visit, drawn, and open it."""
    place, folder = _visit_here(context)
    _open(context, step_png(place, folder, context.today()))


def still_out(context: Context) -> None:
    """Write the still of the key frame at hand with its marks, where a photo may leave; open it."""
    state, (place, folder) = context.state, _visit_here(context)
    at = RunPlace(place, state.run_name, state.marking.i_step)
    _open(context, still_png(at, state.marking.event, folder, context.today()))


def _visit_here(context: Context) -> tuple[VisitPlace, Path]:
    """Return the visit that is open, saved, and its folder."""
    context.saver.refuse_unsaved()
    place = VisitPlace(context.state.the_squad, *context.state.where[:2])
    return place, place.folder


def _open(context: Context, path: Path) -> None:
    context.hand_out(path, f"Picture: {path}")


def stills_out(context: Context) -> None:
    """Write the stills of the key frame shown of both runs side by side; open the file."""
    state, squad, mine = context.state, context.state.the_squad, context.state.where
    other = state.compare.where
    if not other:
        return
    context.saver.refuse_unsaved()
    theirs, ours = places(squad, (other, mine), mine, state.marking.i_step)
    folder = squad.athlete_folder(mine[0]) if other[0] == mine[0] else squad.folder
    event = event_shown(state)
    _open(context, two_stills_png(theirs, ours, event, folder, context.today()))


def event_shown(state: AppState) -> str:
    """Return the key frame that the page with two runs shows of this run; "" between two."""
    at = state.marking.picture
    return next((f.event for f in state.step.key_frames if f.picture == at), "")


def _is_written(context: Context) -> bool:
    state = context.state
    return state.sheet.written_of == (state.work, state.paper, state.sheet.copy)


_needs_written = unless(
    "This page is not written yet: make the sheet first.",
    _is_written,
    unless("Make the sheet first.", lambda c: c.state.sheet.written),
)
_needs_event = unless(
    "Go to a key frame first, with 1 to 5.",
    lambda c: event_shown(c.state),
    unless("Choose the other run first.", lambda c: c.state.compare.where),
)
_on_sheet = partial(Action, pages=("sheet",), group="Sheet")
_on_both = partial(Action, pages=("review", "sheet"), group="Sheet", why_disabled=needs_taps)
_written_one = partial(_on_sheet, why_disabled=_needs_written)
_on_compare = partial(Action, pages=("compare",), group="Review", why_disabled=_needs_event)
_open_it, _print_it = (partial(hand_written, prints=prints) for prints in (False, True))
_both_stills = "This key frame of both runs as a picture, faces covered"
ACTIONS = (
    _on_both("make sheet", "Make the sheet", make_sheet, ("Mod+S",)),
    _written_one("show sheet", "Open the written sheet", _open_it, ("Mod+E",)),
    _written_one("print sheet", "Print the written sheet", _print_it, ("Mod+P",)),
    _on_sheet("page on", "Next page", partial(turn, by=1), ("PageDown",), in_menu=False),
    _on_sheet("page back", "Previous page", partial(turn, by=-1), ("PageUp",), in_menu=False),
)
PHONE_ACTIONS = (
    _on_both("step picture", "The step as a picture", step_out, ("Mod+L",)),
    _on_both("still picture", "This key frame as a picture, face covered", still_out, ("Mod+K",)),
    _on_compare("compare stills", _both_stills, stills_out, ("Mod+K",)),
)
