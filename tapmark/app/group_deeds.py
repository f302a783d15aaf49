"""What can be done on the Group page: look at the squad's signs, go to somebody, print."""

from functools import partial
from pathlib import Path

from tapmark.app.action import Action
from tapmark.app.desk import Desk
from tapmark.app.group_drawing import N_ITEMS
from tapmark.app.squad_deeds import choose_athlete, needs_squad
from tapmark.errands.gate import hand_over
from tapmark.errands.group import group_of, write_group
from tapmark.errors import StoreError
from tapmark.sheet.group_content import GroupContent
from tapmark.store.squad import open_squad

PAGE = "group"
ROWS_A_PAGE = 15


def open_group(desk: Desk) -> None:
    """Show the squad's signs; they are measured beside the window."""
    state = desk.state
    if not state.squad:
        return
    folder, now, paper = state.squad.folder, desk.now().date(), desk.paper
    troubles: list[StoreError] = []

    def done(content: GroupContent) -> None:
        state.side.group = content
        state.side.cell = (0, 0)
        state.side.group_troubles = tuple(dict.fromkeys(map(str, troubles)))
        state.tell()

    state.side.back, state.side.group = "squad", None
    desk.jobs.run(
        "group",
        lambda task: group_of(open_squad(folder, []), now, paper, troubles),
        done,
        desk.failed,
        by="squad",
    )
    desk.go(PAGE)


def move(desk: Desk, rows: int, items: int) -> None:
    """Read out another cell."""
    side = desk.state.side
    if side.group and side.group.lines:
        i_line = min(max(0, side.cell[0] + rows), len(side.group.lines) - 1)
        side.cell = (i_line, min(max(0, side.cell[1] + items), N_ITEMS - 1))
    desk.state.tell()


def words_of_cell(desk: Desk) -> str:
    """Return the cell in words: whose, which item, which verdict, whether it is worked on."""
    side = desk.state.side
    if side.group is None or not side.group.lines:
        return ""
    line, number = side.group.lines[side.cell[0]], side.cell[1] + 1
    name = side.group.words.item(number)
    if not line.words:
        return f"{line.code}: no visit to read yet."
    word = side.group.words.verdict(line.words[number - 1])
    works = ", works on it" if number in line.works_on else ""
    note = f" {line.note[:1].upper()}{line.note[1:]}." if line.note else ""
    return f"{line.code}, {name}: {word}{works}.{note}"


def to_athlete(desk: Desk) -> None:
    """Go to the athlete of the cell."""
    side = desk.state.side
    if side.group and side.group.lines:
        choose_athlete(desk, side.group.lines[side.cell[0]].code)
        desk.go("squad")


def make_sheet(desk: Desk, *, prints: bool) -> None:
    """Write the group sheet into the squad and hand it over."""
    state = desk.state
    if not state.squad:
        return
    squad, now, paper = open_squad(state.squad.folder, []), desk.now().date(), desk.paper
    state.said = "Setting the group sheet …"

    def done(written: tuple[Path, tuple[str, ...]]) -> None:
        desk.attempt(lambda: _hand_over(desk, written[0], prints=prints))

    desk.jobs.run(
        "group sheet", lambda task: write_group(squad, now, paper), done, desk.failed, by="squad"
    )
    state.tell()


def _hand_over(desk: Desk, path: Path, *, prints: bool) -> None:
    squad = desk.state.squad
    if squad is None:
        return
    (desk.print_file if prints else desk.open_file)(hand_over(squad, path, desk.now().date()))
    desk.state.said = f"Group sheet: {path}. For the coach's eyes: do not pin it up."
    desk.state.tell()


def _needs_lines(desk: Desk) -> str:
    group = desk.state.side.group
    return "" if group and group.lines else "Nobody can be on it yet: marks and consent come first."


_GROUP = (PAGE,)
_MOVES = (
    ("up", "Up", -1, 0),
    ("down", "Down", 1, 0),
    ("left", "Left", 0, -1),
    ("right", "Right", 0, 1),
    ("a page up", "PageUp", -ROWS_A_PAGE, 0),
    ("a page down", "PageDown", ROWS_A_PAGE, 0),
)

ACTIONS = (
    Action("group", "Group overview", open_group, ("G",), ("squad",), "Squad", needs_squad),
    *(
        Action(
            f"cell {where}",
            f"Read the sign {where}",
            partial(move, rows=rows, items=items),
            (key,),
            _GROUP,
            "Group",
            in_menu=False,
        )
        for where, key, rows, items in _MOVES
    ),
    Action(
        "to athlete", "Go to that athlete", to_athlete, ("Return",), _GROUP, "Group", _needs_lines
    ),
    Action(
        "show group sheet",
        "Open the group sheet",
        partial(make_sheet, prints=False),
        ("Mod+E",),
        _GROUP,
        "Group",
        _needs_lines,
    ),
    Action(
        "print group sheet",
        "Print the group sheet",
        partial(make_sheet, prints=True),
        ("Mod+P",),
        _GROUP,
        "Group",
        _needs_lines,
    ),
)
