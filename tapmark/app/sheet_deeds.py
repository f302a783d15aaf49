"""What can be done on the Sheet page: see the page as it will print, write it, hand it over."""

from dataclasses import replace
from functools import partial

from PIL import Image

from tapmark.app.action import Action
from tapmark.app.desk import Desk
from tapmark.app.jobs import Whose
from tapmark.app.review_deeds import needs_taps
from tapmark.app.state import Work
from tapmark.errands.gate import hand_over
from tapmark.errands.places import visit_at
from tapmark.errands.sheets import Printed, content_of, note_printed, pages_of, print_sheet
from tapmark.errors import SheetError, TapmarkError
from tapmark.marks.history import History
from tapmark.store.squad import Squad


def preview(desk: Desk) -> None:
    """Set the page beside the window, when anything in it changed."""
    state = desk.state
    if needs_taps(desk) or not state.squad or not state.visit:
        state.pages, state.page_of = (), ()
        return
    wanted = (state.work, desk.paper, state.copy)
    if state.page_of == wanted:
        return
    if desk.is_unsaved:  # what lies on the disk is not what is marked
        state.pages, state.page_of = (), ()
        return
    state.page_of = wanted
    folder = state.squad.visit_folder(state.visit.code, state.visit.dated)
    today, paper, copy = desk.now().date(), desk.paper, state.copy

    def set_pages() -> list[Image.Image]:
        return pages_of(content_of(visit_at(folder), paper, today, copy), copy)

    def done(pages: list[Image.Image]) -> None:
        state.pages = tuple(pages)
        state.i_page = min(state.i_page, len(pages) - 1)
        state.tell()

    desk.jobs.run("page", lambda task: set_pages(), done, desk.failed, by="run")


def make_sheet(desk: Desk) -> None:
    """Write the page as PDF and HTML beside the visit, whatever is open when it is done."""
    state = desk.state
    if not state.squad or not state.visit:
        return
    folder = state.squad.visit_folder(state.visit.code, state.visit.dated)
    today, paper, copy = desk.now().date(), desk.paper, state.copy
    desk.refuse_unsaved()
    state.said = "Writing the sheet …"
    squad, whose, asked = state.squad, state.at_hand(), (state.work, paper, copy)

    def done(printed: Printed) -> None:
        desk.attempt(lambda: _written(desk, squad, whose, asked, printed))

    def failed(trouble: TapmarkError) -> None:
        if state.at_hand() == whose:
            desk.failed(trouble)
        else:
            desk.failed(SheetError(f"The sheet of {whose.code} is not written. {trouble}"))

    desk.jobs.run(
        "sheet",
        lambda task: print_sheet(visit_at(folder), paper, copy, today),
        done,
        failed,
        by="window",
    )


def _written(
    desk: Desk, squad: Squad, whose: Whose, asked: tuple[object, ...], printed: Printed
) -> None:
    """Note the sheet in its visit, open or not, and say where it lies.

    asked: what was shown when it was asked for. It can be printed and opened while that is shown.
    """
    state, today = desk.state, desk.now().date()
    is_open = state.work is not None and state.at_hand()[:3] == whose[:3]
    desk.flush()
    here = state.squad if is_open and state.squad else squad
    known = state.visit if is_open and state.visit else here.visit(printed.code, printed.dated)
    was = state.work
    visit = note_printed(here, printed, known, today)
    if is_open and was and visit != known:
        state.history = History(Work(visit, was.run))
    if state.at_hand() == whose:
        state.written, state.written_of = printed.path, asked
        if was == asked[0]:  # number and priorities are new, the page is the same
            state.written_of = (state.work, *asked[1:])
            if state.page_of == asked:
                state.page_of = state.written_of
    state.said = f"Sheet saved: {printed.path}"
    desk.note_saved()


def choose_paper(desk: Desk, paper: str) -> None:
    """Take A4 or Letter, for this squad from now on."""
    squad = desk.state.squad
    if squad and squad.choices.paper != paper:
        squad.save_choices(replace(squad.choices, paper=paper))
        desk.state.pages = ()
    desk.state.tell()


def choose_copy(desk: Desk, copy: str) -> None:
    """Show the athlete's page, or the coach's with the numbers."""
    if desk.state.copy != copy:
        desk.state.copy, desk.state.pages, desk.state.i_page = copy, (), 0
    desk.state.tell()


def turn(desk: Desk, by: int) -> None:
    """Show the next or previous page."""
    state = desk.state
    state.i_page = min(max(0, state.i_page + by), max(0, len(state.pages) - 1))
    state.tell()


def show_written(desk: Desk) -> None:
    """Open the written sheet with the system's own program."""
    state = desk.state
    if state.squad and state.written:
        desk.open_file(hand_over(state.squad, state.written, desk.now().date()))


def print_written(desk: Desk) -> None:
    """Print the written sheet."""
    state = desk.state
    if state.squad and state.written:
        desk.print_file(hand_over(state.squad, state.written, desk.now().date()))
        state.said = f"Sent to the printer: {state.written.name}"


def _needs_written(desk: Desk) -> str:
    """Why the page shown cannot be handed over: it is not the one that was written."""
    state = desk.state
    if not state.written:
        return "Make the sheet first."
    is_it = state.written_of == (state.work, desk.paper, state.copy)
    return "" if is_it else "This page is not written yet: make the sheet first."


_SHEET = ("sheet",)

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
