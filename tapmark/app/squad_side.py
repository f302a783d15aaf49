"""What the pages around Squad show: list, notices, what is about to be done. Never saved."""

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from tapmark.app.proposal import Proposal
from tapmark.store.shot_list import ShotList

if TYPE_CHECKING:
    from tapmark.app.naming_deeds import Glance
    from tapmark.app.season_deeds import Shown
    from tapmark.sheet.group_content import GroupContent

NOW, LATER, NOT_NOW, ARCHIVED = "Film this week", "Later", "Not now", "Archived"
GROUPS = (NOW, LATER, NOT_NOW, ARCHIVED)


@dataclass(frozen=True)
class Row:
    """One athlete in the list, all as text.

    evening: which of how many evenings the name is planned for, "" when one is enough.
    """

    group: str
    code: str
    event: str
    last: str
    thing: str
    again: str
    consent: str
    evening: str = ""


@dataclass(frozen=True)
class Notice:
    """Something the coach should know, said above the list; never a dialog.

    action: the name of the action behind its button, "" where nothing can be done here.
    """

    label: str
    words: str
    action: str = ""
    button: str = ""


@dataclass(eq=False, repr=False)
class SquadSide:
    """The squad's side of the window.

    rows:          every athlete in the list, archived ones too, as read last.
    notices:       what to say above it. told: what the opening of the squad had to say.
    with_archived: show the archived ones as well.
    wants_find:    put the keyboard into the field to find somebody.
    proposal:      what is about to be done; choices for its lines, typed: into its field.
    season:        the season shown; i_measure, i_visit: what is looked at of it.
    shows_sides:   left against right in place of the measure itself.
    wants_ticks:   put the keyboard into the field for the boxes.
    group:         the group page; cell: (line, item) that is read out.
    shots:         the clips being named; i_shot: the one at hand. glances: fingerprint ->
                   what is seen of a clip; looking: the one being fetched.
    back:          the page that Escape goes to from a page around Squad.
    """

    rows: tuple[Row, ...] = ()
    notices: tuple[Notice, ...] = ()
    told: tuple[str, ...] = ()
    with_archived: bool = False
    wants_find: bool = False
    proposal: Proposal | None = None
    choices: dict[str, str] = field(default_factory=dict)
    typed: str = ""
    back: str = "squad"
    season: "Shown | None" = None
    i_measure: int = 0
    i_visit: int = -1
    shows_sides: bool = False
    wants_ticks: bool = False
    group: "GroupContent | None" = None
    group_troubles: tuple[str, ...] = ()
    cell: tuple[int, int] = (0, 0)
    shots: ShotList | None = None
    i_shot: int = 0
    glances: "dict[str, Glance | None]" = field(default_factory=dict)
    looking: str = ""

    def found(self, wanted: str) -> tuple[Row, ...]:
        """Return the rows whose code or event holds the wanted letters."""
        wanted = wanted.strip().lower()
        return tuple(
            row
            for row in self.rows
            if wanted in f"{row.code} {row.event}".lower()
            and (self.with_archived or row.group != ARCHIVED)
        )
