"""What is about to be done, as a value: shown first, done only when the coach says so.

Imports, merging, restoring, deleting and the yearly round of questions all look alike: sentences,
lines that may each carry a choice, and one button. Nothing is touched before it is pressed.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

Choices = Mapping[str, str]
"""Key of a line -> what was chosen for it."""
PAGE = "proposal"


@dataclass(frozen=True)
class Line:
    """One line of a proposal.

    group:   heading above it, "" for none; lines of a group stand together.
    choices: what can be chosen for it, the first one chosen.
    about:   sentences shown beside the list when the line is selected.
    table:   rows shown there as well, headings first.
    """

    key: str
    cells: tuple[str, ...]
    group: str = ""
    choices: tuple[str, ...] = ()
    about: str = ""
    table: tuple[tuple[str, ...], ...] = ()


@dataclass(frozen=True)
class Proposal:
    """A page of what would be done.

    headings: of the cells.
    confirm:  label of the button that does it.
    action:   does it; gets what was chosen for each line that has choices. None: nothing to do.
    typed:    letters to type before it can be done, "" for none.
    more:     (label, action) of further buttons.
    back:     the page that Escape goes to.
    """

    title: str
    about: tuple[str, ...]
    headings: tuple[str, ...] = ()
    lines: tuple[Line, ...] = ()
    confirm: str = ""
    action: "Callable[[Any, Choices], None] | None" = None
    typed: str = ""
    more: "tuple[tuple[str, Callable[[Any], None]], ...]" = ()
    back: str = "squad"

    def choices(self) -> dict[str, str]:
        """Return what is chosen at first."""
        return {line.key: line.choices[0] for line in self.lines if line.choices}

    def line(self, key: str) -> Line | None:
        """Return the line of that key."""
        return next((line for line in self.lines if line.key == key), None)


def next_choice(line: Line, now: str) -> str:
    """Return the choice after the present one, the first after the last."""
    return line.choices[(line.choices.index(now) + 1) % len(line.choices)]
