"""What every group of a page needs to be set, and how much room it is given."""

from dataclasses import dataclass

from tapmark.drawing.shapes import moved
from tapmark.sheet.content import SheetContent
from tapmark.sheet.layout import DROP, NAME, PAPERS, TEXT, Block, Paper, Setter
from tapmark.sheet.page_words import PageWords


@dataclass(frozen=True)
class Room:
    """How much room the page gives its groups, in mm; `athlete_page` gives it up in order.

    pair, figure:  one body height in the pair and in the step line.
    gap:           between groups.
    ruled:         pitch of the lines to write on; n_notes says how many.
    """

    pair: float = 40.0
    figure: float = 25.0
    gap: float = 4.6
    ruled: float = 6.5
    n_notes: int = 3
    has_list: bool = True
    has_second_pair: bool = True


@dataclass(frozen=True)
class Desk:
    """What every group needs to be set."""

    content: SheetContent
    setter: Setter
    words: PageWords
    room: Room

    @property
    def paper(self) -> Paper:
        """The sheet of paper."""
        return PAPERS[self.content.paper]


def lowered(heading: Block) -> Block:
    """Put a heading on the baseline of a name in larger type beside it."""
    return Block(moved(heading.shapes, 0.0, DROP * (NAME / TEXT - 1)), heading.height)
