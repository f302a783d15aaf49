"""What the pages around Squad show: list, notices, what is about to be done. Never saved."""

from dataclasses import dataclass, field

from tapmark.app.proposal import Proposal

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


@dataclass
class SquadSide:
    """The squad's side of the window.

    rows:          every athlete in the list, archived ones too, as read last.
    notices:       what to say above it. told: what the opening of the squad had to say.
    with_archived: show the archived ones as well.
    wants_find:    put the keyboard into the field to find somebody.
    proposal:      what is about to be done; choices for its lines, typed: into its field.
    back:          the page that Escape goes to from a page around Squad.
    """

    rows: tuple[Row, ...] = ()
    notices: tuple[Notice, ...] = ()
    told: tuple[str, ...] = ()
    n_troubles: int = 0
    with_archived: bool = False
    wants_find: bool = False
    proposal: Proposal | None = None
    choices: dict[str, str] = field(default_factory=dict)
    typed: str = ""
    back: str = "squad"

    def found(self, wanted: str) -> tuple[Row, ...]:
        """Return the rows whose code or event holds the wanted letters."""
        wanted = wanted.strip().lower()
        return tuple(
            row
            for row in self.rows
            if wanted in f"{row.code} {row.event}".lower()
            and (self.with_archived or row.group != ARCHIVED)
        )
