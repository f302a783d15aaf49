"""See the page as it will print, write it, hand it over; pictures for a phone."""

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path

from PIL import Image

from tapmark.app.jobs import Whose
from tapmark.app.shell.context import Action, Context
from tapmark.app.shell.why_disabled import needs_taps
from tapmark.app.state.session import Work
from tapmark.errors import SheetError, TapmarkError
from tapmark.marks.history import History
from tapmark.services.consent import hand_over
from tapmark.services.pages import Printed, content_of, note_printed, pages_of, print_sheet
from tapmark.services.pictures import RunPlace, step_png, still_png, two_stills_png
from tapmark.services.places import VisitPlace, visit_at
from tapmark.store.squad import Squad


def preview(context: Context) -> None:
    """Set the page beside the window, when anything in it changed."""
    state = context.state
    if needs_taps(context) or not state.squad or not state.visit:
        state.sheet.pages, state.sheet.page_of = (), ()
        return
    wanted = (state.work, context.state.paper, state.sheet.copy)
    if state.sheet.page_of == wanted:
        return
    if context.saver.is_unsaved:  # what lies on the disk is not what is marked
        state.sheet.pages, state.sheet.page_of = (), ()
        return
    state.sheet.page_of = wanted
    folder = state.squad.visit_folder(state.visit.code, state.visit.dated)
    today, paper, copy = context.today(), context.state.paper, state.sheet.copy

    def set_pages() -> list[Image.Image]:
        return pages_of(content_of(visit_at(folder), paper, today, copy), copy)

    def done(pages: list[Image.Image]) -> None:
        state.sheet.pages = tuple(pages)
        state.sheet.i_page = min(state.sheet.i_page, len(pages) - 1)
        state.notify()

    context.jobs.run("page", lambda task: set_pages(), done, context.failed, by="run")


def make_sheet(context: Context) -> None:
    """Write the page as PDF and HTML beside the visit, whatever is open when it is done."""
    state = context.state
    if not state.squad or not state.visit:
        return
    folder = state.squad.visit_folder(state.visit.code, state.visit.dated)
    today, paper, copy = context.today(), context.state.paper, state.sheet.copy
    context.saver.refuse_unsaved()
    state.status = "Writing the sheet …"
    squad, whose, asked = state.squad, state.at_hand(), (state.work, paper, copy)

    def done(printed: Printed) -> None:
        context.attempt(lambda: _written(context, squad, whose, asked, printed))

    def failed(trouble: TapmarkError) -> None:
        if state.at_hand() == whose:
            context.failed(trouble)
        else:
            context.failed(SheetError(f"The sheet of {whose.code} is not written. {trouble}"))

    context.jobs.run(
        "sheet",
        lambda task: print_sheet(visit_at(folder), paper, copy, today),
        done,
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


def choose_paper(context: Context, paper: str) -> None:
    """Take A4 or Letter, for this squad from now on."""
    squad = context.state.squad
    if squad and squad.choices.paper != paper:
        squad.save_choices(replace(squad.choices, paper=paper))
        context.state.sheet.pages = ()
    context.state.notify()


def choose_copy(context: Context, copy: str) -> None:
    """Show the athlete's page, or the coach's with the numbers."""
    if context.state.sheet.copy != copy:
        context.state.sheet.copy, context.state.sheet.pages, context.state.sheet.i_page = (
            copy,
            (),
            0,
        )
    context.state.notify()


def turn(context: Context, by: int) -> None:
    """Show the next or previous page."""
    state = context.state
    state.sheet.i_page = min(max(0, state.sheet.i_page + by), max(0, len(state.sheet.pages) - 1))
    state.notify()


def show_written(context: Context) -> None:
    """Open the written sheet with the system's own program."""
    state = context.state
    if state.squad and state.sheet.written:
        context.open_file(hand_over(state.squad, state.sheet.written, context.today()))


def print_written(context: Context) -> None:
    """Print the written sheet."""
    state = context.state
    if state.squad and state.sheet.written:
        context.print_file(hand_over(state.squad, state.sheet.written, context.today()))
        state.status = f"Sent to the printer: {state.sheet.written.name}"


def _needs_written(context: Context) -> str:
    """Why the page shown cannot be handed over: it is not the one that was written."""
    state = context.state
    if not state.sheet.written:
        return "Make the sheet first."
    is_it = state.sheet.written_of == (state.work, context.state.paper, state.sheet.copy)
    return "" if is_it else "This page is not written yet: make the sheet first."


_SHEET = ("sheet",)


def step_out(context: Context) -> None:
    """Write the step line as a picture beside the visit, drawn, and open it."""
    _write(context, lambda place, folder: step_png(place, folder, context.today()))


def still_out(context: Context) -> None:
    """Write the still of the key frame at hand with its marks, where a photo may leave; open it."""
    state = context.state

    def write(place: VisitPlace, folder: Path) -> Path:
        at = RunPlace(place, state.run_name, state.marking.i_step)
        return still_png(at, state.marking.event, folder, context.today())

    _write(context, write)


def _write(context: Context, write: Callable[[VisitPlace, Path], Path]) -> None:
    state = context.state
    if not state.squad or not state.visit:
        return
    context.saver.refuse_unsaved()
    place = VisitPlace(state.squad, state.visit.code, state.visit.dated)
    folder = state.squad.visit_folder(state.visit.code, state.visit.dated)
    _open(context, write(place, folder))


def _open(context: Context, path: Path) -> None:
    if context.state.squad:
        context.open_file(hand_over(context.state.squad, path, context.today()))
    context.state.status = f"Picture: {path}"
    context.state.notify()


def stills_out(context: Context) -> None:
    """Write the stills of the key frame shown of both runs side by side; open the file."""
    state = context.state
    other = state.compare.where
    if not state.squad or not state.visit or not other:
        return
    context.saver.refuse_unsaved()
    here = (state.visit.code, state.visit.dated)
    mine = RunPlace(VisitPlace(state.squad, *here), state.run_name, state.marking.i_step)
    theirs = RunPlace(VisitPlace(state.squad, *other[:2]), other[2])
    is_own = other[0] == here[0]
    folder = state.squad.athlete_folder(here[0]) if is_own else state.squad.folder
    today = context.today()
    _open(context, two_stills_png(theirs, mine, event_shown(context), folder, today))


def event_shown(context: Context) -> str:
    """Return the key frame that the page with two runs shows of this run; "" between two."""
    at = context.state.compare.picture
    return next((f.event for f in context.state.step.key_frames if f.picture == at), "")


def needs_event(context: Context) -> str:
    """Why there are no two stills to put beside each other yet."""
    if not context.state.compare.where:
        return "Choose the other run first."
    return "" if event_shown(context) else "Go to a key frame first, with 1 to 5."


_PAGES = ("review", "sheet")
ACTIONS = (
    Action(
        "make sheet",
        "Make the sheet",
        make_sheet,
        ("Mod+S",),
        ("review", "sheet"),
        "Sheet",
        needs_taps,
    ),
    Action(
        "show sheet",
        "Open the written sheet",
        show_written,
        ("Mod+E",),
        _SHEET,
        "Sheet",
        _needs_written,
    ),
    Action(
        "print sheet",
        "Print the written sheet",
        print_written,
        ("Mod+P",),
        _SHEET,
        "Sheet",
        _needs_written,
    ),
    Action(
        "page on", "Next page", partial(turn, by=1), ("PageDown",), _SHEET, "Sheet", in_menu=False
    ),
    Action(
        "page back",
        "Previous page",
        partial(turn, by=-1),
        ("PageUp",),
        _SHEET,
        "Sheet",
        in_menu=False,
    ),
)
PHONE_ACTIONS = (
    Action(
        "step picture",
        "The step as a picture",
        step_out,
        ("Mod+L",),
        _PAGES,
        "Sheet",
        needs_taps,
    ),
    Action(
        "still picture",
        "This key frame as a picture, face covered",
        still_out,
        ("Mod+K",),
        _PAGES,
        "Sheet",
        needs_taps,
    ),
    Action(
        "compare stills",
        "This key frame of both runs as a picture, faces covered",
        stills_out,
        ("Mod+K",),
        ("compare",),
        "Review",
        needs_event,
    ),
)
