"""What every group of a page needs to be set, how much space it gets, and who gives up first."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from typing import Any, Final

from tapmark.report.pages.content import SheetContent
from tapmark.report.pages.layout import (
    DROP,
    HEADING_WIDTH,
    LARGE,
    MARGIN,
    NAME,
    PAPERS,
    SMALL_CUE,
    TEXT,
    Block,
    Paper,
    Setter,
)
from tapmark.report.pages.words import PageWords


@dataclass(frozen=True)
class Room:
    """Room of one try, in mm.

    pair, figure:  one body height in the pair and in the step line; a pair of 0 is left out.
    gap:           between groups.
    ruled:         pitch of the lines to write on; n_notes says how many.
    cue:           em of the cue.
    n_causes:      how many names "probably starts with" may list.
    is_terse:      one sentence for the first thing, the cue alone for the second, headings of two
                   lines at most.
    """

    pair: float = 40.0
    figure: float = 25.0
    gap: float = 4.6
    ruled: float = 6.5
    n_notes: int = 3
    has_list: bool = True
    has_second_pair: bool = True
    cue: float = LARGE
    n_causes: int = 2
    n_drills: int = 2
    n_strengths: int = 3
    is_terse: bool = False


Changes = tuple[dict[str, Any], ...]
GIVE_UP: Final[Changes] = (
    {"pair": 34.0},
    {"figure": 22.0},
    {"gap": 3.6},
    {"ruled": 6.0},
    {"pair": 28.0},
    {"gap": 3.0},
    {"n_notes": 2},
    {"pair": 24.0, "gap": 2.6},
)
KEEP_THE_LIST: Final[Changes] = ({"cue": SMALL_CUE}, {"n_causes": 1})
SHORTEN: Final[Changes] = (
    {"cue": SMALL_CUE},
    {"n_causes": 1},
    {"n_causes": 0},
    {"n_drills": 1},
    {"pair": 0.0},
    {"n_notes": 1, "n_strengths": 2},
    {"figure": 17.0, "gap": 2.0},
    {"is_terse": True},
    {"gap": 1.5},
)


def rooms(has_list: bool, is_quiet: bool) -> Iterator[Room]:
    """Yield rooms from the most generous to the most frugal.

    has_list: the page starts with the long list; without it the figures may be larger.
    is_quiet: nothing to do on this page, so that the figures may be larger still.
    """
    if is_quiet:
        yield from (Room(figure=tall, has_list=has_list) for tall in (38.0, 34.0))
    if has_list:
        yield from _changed(Room(), GIVE_UP + KEEP_THE_LIST)
    room = Room(has_list=False)
    if not has_list:
        yield replace(room, figure=30.0)
    yield from _changed(room, GIVE_UP)
    one_pair = replace(room, has_second_pair=False)
    yield from _changed(one_pair, GIVE_UP + SHORTEN)


def _changed(room: Room, changes: Changes) -> Iterator[Room]:
    yield room
    for change in changes:
        room = replace(room, **change)
        yield room


@dataclass(frozen=True)
class PageSetup:
    """What every group needs to be set; kept holds what was drawn already."""

    content: SheetContent
    setter: Setter
    words: PageWords
    room: Room
    kept: dict[tuple[object, ...], Block] = field(default_factory=dict, compare=False)

    def once(self, key: tuple[object, ...], make: Callable[[], Block]) -> Block:
        """Return a drawn group; it is drawn once for all layouts that give it the same room."""
        if key not in self.kept:
            self.kept[key] = make()
        return self.kept[key]

    def heading(self, text: str) -> Block:
        """Return a heading in the left column; on a crowded page it takes two lines at most."""
        lines = self.setter.wrapped(text, HEADING_WIDTH, bold=True)
        if self.room.is_terse and len(lines) > 2:
            second = self.setter.shortened(" ".join(lines[1:]), HEADING_WIDTH, bold=True)
            first = self.setter.paragraph(lines[0], MARGIN, HEADING_WIDTH, bold=True)
            return first.below(self.setter.paragraph(second, MARGIN, HEADING_WIDTH, bold=True))
        return self.setter.heading(text)

    @property
    def paper(self) -> Paper:
        """The sheet of paper."""
        return PAPERS[self.content.paper]


def lowered(heading: Block) -> Block:
    """Put a heading on the baseline of a name in larger type beside it."""
    return heading.shifted(0.0, DROP * (NAME / TEXT - 1))
