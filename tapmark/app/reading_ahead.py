"""The window stands before all of Tapmark is read: the rest comes in the idle turns after it.

What the first page needs is read at once. A page or a deed that is asked for early is read there
and then; otherwise one module is read a turn, so that a hand never waits for more than one.
"""

import sys
from collections.abc import Callable, Iterator, Mapping
from importlib import import_module

from tapmark.app import import_deeds, squad_deeds, view_deeds
from tapmark.app.action import Action
from tapmark.app.window import View

FIRST_PAUSE_MS = 120  # from the window drawn to the first module
PAUSE_MS = 15  # between two modules: time for what the hand did meanwhile
TABLE = "tapmark.app.actions"
VIEWS = {
    "squad": "SquadView",
    "film": "FilmView",
    "frames": "FramesView",
    "taps": "TapView",
    "review": "ReviewView",
    "sheet": "SheetView",
    "proposal": "ProposalView",
    "naming": "NamingView",
    "season": "SeasonView",
    "group": "GroupView",
    "beside": "BesideView",
    "help": "HelpView",
}
MODULE_OF = {page: f"tapmark.app.{name[:-4].lower()}_view" for page, name in VIEWS.items()}
FIRST = (
    *squad_deeds.ACTIONS,
    *import_deeds.ACTIONS,
    *view_deeds.ACTIONS,
)
AHEAD = (
    "tapmark.clip.frames",  # the way to the first tap comes first, in pieces of equal size
    "tapmark.measures.compute",
    "tapmark.checklist.assess",
    "tapmark.app.run_deeds",
    "tapmark.app.last_step",
    "tapmark.errands.visits",
    MODULE_OF["film"],
    "tapmark.app.clip_deeds",
    MODULE_OF["frames"],
    MODULE_OF["taps"],
    "tapmark.errands.two_coaches",
    "tapmark.app.agreement_deeds",
    "tapmark.errands.changes",
    "tapmark.sheet.athlete_page",
    "tapmark.sheet.coach_page",
    "tapmark.errands.sheets",
    "tapmark.app.beside_deeds",
    "tapmark.store.import_csv",
    "imageio",
    "tapmark.practice.coach",
    "tapmark.practice.make_samples",
    "tapmark.practice.drill",
    "tapmark.app.practice_deeds",
    TABLE,
    *(MODULE_OF[page] for page in VIEWS if page not in ("film", "frames", "taps")),
)


class Actions(Mapping[str, Action]):
    """Name -> action, in the order of the table, which is read when more than FIRST is wanted."""

    def __init__(self) -> None:
        self._first = {action.name: action for action in FIRST}

    @property
    def is_whole(self) -> bool:
        """Say whether the whole table has been read already."""
        return TABLE in sys.modules

    def __getitem__(self, name: str) -> Action:
        return self._first.get(name) or self._whole()[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._whole())

    def __len__(self) -> int:
        return len(self._whole())

    def _whole(self) -> Mapping[str, Action]:
        from tapmark.app.actions import by_name

        return by_name()


class Views(Mapping[str, View]):
    """Page -> the object that shows it, made when the page is first asked for."""

    def __init__(self) -> None:
        self._made: dict[str, View] = {}

    def __getitem__(self, page: str) -> View:
        if page not in self._made:
            self._made[page] = getattr(import_module(MODULE_OF[page]), VIEWS[page])()
        return self._made[page]

    def __iter__(self) -> Iterator[str]:
        return iter(VIEWS)

    def __len__(self) -> int:
        return len(VIEWS)


def read_ahead(
    after: Callable[[int, Callable[[], None]], object], done: Callable[[], None]
) -> None:
    """Read one module of AHEAD a turn of the loop, then say that all are there."""
    left = iter([name for name in AHEAD if name not in sys.modules])

    def one() -> None:
        name = next(left, None)
        if name is None:
            done()
            return
        import_module(name)
        after(PAUSE_MS, one)

    after(FIRST_PAUSE_MS, one)


def read_all() -> None:
    """Read everything at once."""
    for name in AHEAD:
        import_module(name)
