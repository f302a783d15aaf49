"""What every group of a page needs to be set, and how much room it is given."""

from collections.abc import Callable
from dataclasses import dataclass, field

from tapmark.sheet.content import SheetContent
from tapmark.sheet.layout import (
    DROP,
    HEADING_WIDTH,
    MARGIN,
    NAME,
    PAPERS,
    TEXT,
    Block,
    Paper,
    Setter,
)
from tapmark.sheet.page_words import PageWords
from tapmark.sheet.room import Room


@dataclass(frozen=True)
class Desk:
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
