"""What can be done on the Sheet page: see the page as it will print, write it, hand it over."""

from dataclasses import replace
from functools import partial
from pathlib import Path

from PIL import Image

from tapmark.app.action import Action
from tapmark.app.desk import Desk
from tapmark.app.review_deeds import needs_taps
from tapmark.app.state import Work
from tapmark.errands.gate import hand_over
from tapmark.errands.places import visit_at
from tapmark.errands.sheets import content_of, pages_of, write_sheet
from tapmark.marks.history import History


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

    desk.jobs.run("page", lambda task: set_pages(), done, desk.failed)


def make_sheet(desk: Desk) -> None:
    """Write the page as PDF and HTML beside the visit."""
    state = desk.state
    if not state.squad or not state.visit:
        return
    folder = state.squad.visit_folder(state.visit.code, state.visit.dated)
    today, paper, copy = desk.now().date(), desk.paper, state.copy
    desk.refuse_unsaved()
    state.said = "Writing the sheet …"

    def done(path: Path) -> None:
        desk.attempt(lambda: _written(desk, path))

    desk.jobs.run(
        "sheet",
        lambda task: write_sheet(visit_at(folder), paper, copy, today),
        done,
        desk.failed,
    )


def _written(desk: Desk, path: Path) -> None:
    """Take in what the writing changed in the visit, and say where the sheet lies."""
    state = desk.state
    if state.squad and state.work:
        visit = state.squad.visit(state.work.visit.code, state.work.visit.dated)
        state.history = History(Work(visit, state.work.run))
    state.written = path
    state.said = f"Sheet saved: {path}"
    desk.note_saved()


def choose_paper(desk: Desk, paper: str) -> None:
    """Take A4 or Letter, for this squad from now on."""
    squad = desk.state.squad
    if squad and squad.choices.paper != paper:
        squad.save_choices(replace(squad.choices, paper=paper))
    desk.state.tell()


def choose_copy(desk: Desk, copy: str) -> None:
    """Show the athlete's page, or the coach's with the numbers."""
    desk.state.copy = copy
    desk.state.i_page = 0
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
    return "" if desk.state.written else "Make the sheet first."


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
