"""What each page shows and asks: one value a page, made anew for another run or squad."""

from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from PIL import Image

from tapmark.app.state.frames_shown import Gallery
from tapmark.app.state.frames_wanted import LongClip
from tapmark.app.state.proposal import Proposal
from tapmark.app.state.roster_lines import ARCHIVED, Notice, Row
from tapmark.app.state.viewport import Point
from tapmark.marks.run import Run
from tapmark.services.season import Season
from tapmark.services.true_rate import StopwatchReading
from tapmark.services.visits import VisitReading
from tapmark.store.shot_list import ShotList
from tapmark.store.squad import RunAt

if TYPE_CHECKING:
    from contextlib import ExitStack

    from tapmark.measures.result import MarkingCheck
    from tapmark.report.pages.content import CompareContent, GroupContent
    from tapmark.services.film import MadeFilm

PAGES = ("squad", "film", "frames", "taps", "review", "sheet")
ASIDE = ("proposal", "season", "group", "compare", "naming", "drawing")
"""Pages that are reached from Squad and lead back to it."""


@dataclass(eq=False, repr=False)
class SquadPage:
    """The list of athletes and what stands above it.

    rows:          every athlete in the list, archived ones too, as read last.
    notices:       what to say above it. told: what the opening of the squad had to say.
    with_archived: show the archived ones as well.
    wants_find:    put the keyboard into the field to find an athlete.
    form:          the form that is open beside the list, "" for none.
    """

    rows: tuple[Row, ...] = ()
    notices: tuple[Notice, ...] = ()
    told: tuple[str, ...] = ()
    with_archived: bool = False
    wants_find: bool = False
    form: str = ""

    def found(self, wanted: str) -> tuple[Row, ...]:
        """Return the rows whose code or event holds the wanted letters."""
        wanted = wanted.strip().lower()
        return tuple(
            row
            for row in self.rows
            if wanted in f"{row.code} {row.event}".lower()
            and (self.with_archived or row.group != ARCHIVED)
        )


@dataclass(eq=False, repr=False)
class ProposalPage:
    """What is about to be done, the choices made for its lines, and what was typed."""

    proposal: Proposal | None = None
    choices: dict[str, str] = field(default_factory=dict)
    typed: str = ""


@dataclass(frozen=True)
class Shown:
    """An athlete's season as it was read.

    measures: (key, side) of everything that was measured at least once.
    """

    season: Season
    readings: tuple[VisitReading, ...]
    measures: tuple[tuple[str, str], ...]

    def name(self, i: int) -> str:
        """Return what a measure is called, with its foot."""
        key, side = self.measures[i]
        words = self.readings[-1].criteria.words
        return f"{words.row(key)}{words.in_brackets(side)}"


@dataclass(eq=False, repr=False)
class SeasonPage:
    """The season shown, and which measure and visit of it are looked at.

    shows_sides: left against right in place of the measure itself.
    wants_ticks: put the keyboard into the field for the boxes.
    """

    shown: Shown | None = None
    i_measure: int = 0
    i_visit: int = -1
    shows_sides: bool = False
    wants_ticks: bool = False


@dataclass(eq=False, repr=False)
class GroupPage:
    """The squad at a glance; cell: (line, item) that is read out."""

    content: "GroupContent | None" = None
    troubles: tuple[str, ...] = ()
    cell: tuple[int, int] = (0, 0)


@dataclass(frozen=True)
class Glance:
    """What is seen of a clip: its first frame, where a slate would be, and a few more."""

    first: Image.Image
    strip: tuple[Image.Image, ...]


@dataclass(eq=False, repr=False)
class NamingPage:
    """The clips being named and the one at hand.

    glances: fingerprint -> what is seen of a clip; looking: the one being fetched.
    """

    shots: ShotList | None = None
    i_shot: int = 0
    glances: dict[str, Glance | None] = field(default_factory=dict)
    looking: str = ""


@dataclass(eq=False, repr=False)
class AroundSquad:
    """The squad's side of the window: one value a page. Made anew when a squad is opened."""

    squad: SquadPage = field(default_factory=SquadPage)
    proposal: ProposalPage = field(default_factory=ProposalPage)
    season: SeasonPage = field(default_factory=SeasonPage)
    group: GroupPage = field(default_factory=GroupPage)
    naming: NamingPage = field(default_factory=NamingPage)


@dataclass(frozen=True)
class Stopwatch:
    """The readings taken so far; at most two, in the order in which they were taken."""

    readings: tuple[StopwatchReading, ...] = ()

    @property
    def is_whole(self) -> bool:
        """Say whether both readings are there."""
        return len(self.readings) == 2

    def read_at(self, picture: int, shown_s: float) -> "Stopwatch":
        """Return the same with a reading; another of the same frame, or a third, replaces."""
        others = tuple(reading for reading in self.readings if reading.picture != picture)
        return Stopwatch((*others, StopwatchReading(picture, shown_s))[-2:])


@dataclass(eq=False, repr=False)
class FilmPage:
    """What the Film page is asking.

    long_clip: the clip of which a part is to be chosen.
    stopwatch: readings of a stopwatch that are being taken, None when it was not asked for.
    picking:   what the next presses set, "pole" or "scale"; picked: the points so far.
    more:      "open" while the other questions stand in the column, "rate" to begin with the rate.
    """

    long_clip: LongClip | None = None
    stopwatch: Stopwatch | None = None
    picking: str = ""
    picked: tuple[Point, ...] = ()
    more: str = ""


@dataclass(frozen=True)
class Drawing:
    """What is being drawn over the frames.

    tool:    "line", "angle", "note" or "path", "" for none: then a press chooses a mark.
    pressed: where was pressed so far, px of the frame; chosen: number of the mark at hand.
    point, by: which point is followed, and by how many frames the clip moves on after a press.
    held:    (mark, its end or −1 for all of it) and where it was grabbed, while it is dragged.
    """

    tool: str = ""
    pressed: tuple[Point, ...] = ()
    chosen: int | None = None
    point: str = "hip"
    by: int = 4
    held: tuple[int, int, Point] | None = None


@dataclass(eq=False, repr=False)
class ReviewPage:
    """What was measured and judged last, and what may be a slip.

    reading: of the run and visit in read_of; row: the one looked at.
    checks:  what may be a slip in the run at hand, as of the run in checked.
    to_look: a film with photos that is not written yet, and what takes the shown file away.
    leaf:    what the column shows: "" the checklist, "measures", "why" or "signs".
    line:    the line of the checklist that is chosen; opened: the folds that are open.
    """

    reading: VisitReading | None = None
    read_of: object = None
    row: int = 0
    checks: "tuple[MarkingCheck, ...]" = ()
    checked: Run | None = None
    drawing: Drawing = field(default_factory=Drawing)
    to_look: "tuple[MadeFilm, ExitStack] | None" = None
    leaf: str = ""
    line: str = ""
    opened: frozenset[str] = frozenset()

    def drop_film(self) -> None:
        """Forget a film with photos that waits for its look, and its file."""
        if self.to_look:
            self.to_look[1].close()
        self.to_look = None


OVER = ("figure", "lines", "angles", "paths")


@dataclass(eq=False, repr=False)
class CompareState:
    """The other run and what is shown of both; it follows this run by time, or by its step.

    by_phase: by its share of the step although times are known: key frame stands by key frame.
    others:   the runs that can be chosen. back: the page that Escape goes to.
    over:     what is drawn over the frames, of OVER. is_above: one run above the other.
    row:      the row of the table that is looked at. pair: what was cut of both to be shown.
    """

    where: RunAt | None = None
    run: Run | None = None
    gallery: Gallery | None = None
    content: "CompareContent | None" = None
    others: tuple[RunAt, ...] = ()
    back: str = "review"
    by_phase: bool = False
    over: frozenset[str] = frozenset(OVER)
    is_above: bool = False
    row: int = -1
    pair: Gallery | None = None

    def close(self) -> None:
        """Close the frames of the other run, and forget what was cut of both."""
        for gallery in filter(None, (self.pair, self.gallery)):
            gallery.close()
        self.pair = self.gallery = None


@dataclass(eq=False, repr=False)
class SheetPage:
    """The set pages of what is in page_of; i_page: the one shown; copy: whose.

    written: the file written last; written_of: what stands on it, as in page_of.
    """

    pages: tuple[Image.Image, ...] = ()
    page_of: tuple[object, ...] = ()
    i_page: int = 0
    copy: str = "athlete"
    written: Path | None = None
    written_of: tuple[object, ...] = ()
