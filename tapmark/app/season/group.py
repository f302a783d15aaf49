"""What the Group page does: measure the squad, read a sign out, go to its athlete, the sheet."""

from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import Final

from tapmark.app.jobs import Task
from tapmark.app.shell.context import Action, Context
from tapmark.app.shell.squads import choose_athlete, of_squad
from tapmark.app.shell.why_disabled import unless
from tapmark.app.state.pages import GroupPage
from tapmark.errors import StoreError
from tapmark.report.pages.content import GroupContent, GroupLine
from tapmark.services.group import group_of, write_group
from tapmark.store.squad import open_squad

PAGE = "group"
ROWS_A_PAGE = 15
N_ITEMS: Final = 18


def open_group(context: Context) -> None:
    """Show the signs of the whole squad; they are measured in a job."""
    state, folder = context.state, context.state.the_squad.folder
    now, paper = context.today(), context.state.paper
    troubles: list[StoreError] = []

    def work(task: Task) -> GroupContent:
        return group_of(open_squad(folder, []), now, paper, troubles)

    def done(content: GroupContent) -> None:
        state.around.group = GroupPage(content, tuple(dict.fromkeys(map(str, troubles))))
        state.notify()

    state.back, state.around.group = "squad", GroupPage()
    context.jobs.run("group", work, done, context.failed, by="squad")
    context.go(PAGE)


def lines_of(page: GroupPage) -> tuple[GroupLine, ...]:
    """Return the athletes on the page, none while they are measured."""
    return page.content.lines if page.content else ()


def move(context: Context, rows: int = 0, items: int = 0) -> None:
    """Read out another cell."""
    page = context.state.around.group
    if lines := lines_of(page):
        i_line = min(max(0, page.cell[0] + rows), len(lines) - 1)
        page.cell = (i_line, min(max(0, page.cell[1] + items), N_ITEMS - 1))


def words_of_cell(page: GroupPage) -> str:
    """Return the cell in words: whose, which item, which verdict, whether it is worked on."""
    if page.content is None or not page.content.lines:
        return ""
    line, number, words = page.content.lines[page.cell[0]], page.cell[1] + 1, page.content.words
    if not line.words:
        return f"{line.code}: no visit to read yet."
    works = ", works on it" if number in line.works_on else ""
    note = f" {line.note[:1].upper()}{line.note[1:]}." if line.note else ""
    verdict = words.verdict(line.words[number - 1])
    return f"{line.code}, {words.item(number)}: {verdict}{works}.{note}"


def to_athlete(context: Context) -> None:
    """Go to the athlete of the cell."""
    page = context.state.around.group
    if lines := lines_of(page):
        choose_athlete(context, lines[page.cell[0]].code)
        context.go("squad")


def make_sheet(context: Context, *, prints: bool) -> None:
    """Write the group sheet into the squad and hand it over."""
    squad = open_squad(context.state.the_squad.folder, [])
    now, paper = context.today(), context.state.paper

    def hand(written: Sequence[Path]) -> None:
        told = f"Group sheet: {written[0]}. For the coach only: do not pin it up."
        context.hand_out(written[0], told, prints=prints)

    said = "Setting the group sheet …"
    context.work_on("group sheet", said, lambda task: write_group(squad, now, paper), hand)


_MOVES = (
    ("up", "Up", partial(move, rows=-1)),
    ("down", "Down", partial(move, rows=1)),
    ("left", "Left", partial(move, items=-1)),
    ("right", "Right", partial(move, items=1)),
    ("a page up", "PageUp", partial(move, rows=-ROWS_A_PAGE)),
    ("a page down", "PageDown", partial(move, rows=ROWS_A_PAGE)),
)
_on_group = partial(Action, pages=(PAGE,), group="Group")
_of_lines = partial(
    _on_group,
    why_disabled=unless(
        "No athlete can be on it yet: marks and consent come first.",
        lambda c: lines_of(c.state.around.group),
    ),
)
_show, _print = (partial(make_sheet, prints=prints) for prints in (False, True))
ACTIONS = (
    of_squad("group", "Group overview", open_group, ("Mod+G",)),
    *(
        _on_group(f"cell {where}", f"Read the sign {where}", read, (key,), in_menu=False)
        for where, key, read in _MOVES
    ),
    _of_lines("to athlete", "Go to that athlete", to_athlete, ("Return",)),
    _of_lines("show group sheet", "Open the group sheet", _show, ("Mod+E",)),
    _of_lines("print group sheet", "Print the group sheet", _print, ("Mod+P",)),
)
