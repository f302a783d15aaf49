"""How much room the page gives its groups, and in which order it gives it up.

Text and boxes never shrink and no caution is ever dropped. What goes first is white space and
the size of figures; then the long list moves to the coach's copy; at last words are shortened.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, Final

from tapmark.sheet.layout import LARGE, SMALL_CUE


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
