"""Everything a page is made of, as frozen values."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from tapmark.checklist.verdict import Assessment, Band
from tapmark.checklist.words import Words
from tapmark.marks.people import Athlete, Visit
from tapmark.marks.run import Run
from tapmark.measures.result import Measured, Results
from tapmark.report.drawing.body import Pose
from tapmark.report.pages.photo import Photo

GOOD_HZ, FAIR_HZ = 117.6, 58.8  # phones that say 120 run at 119.88; as the measures' gates have it


@dataclass(frozen=True)
class SinceLine:
    """What became of one priority: word is one of drawing.signs.CHANGES; note says why not."""

    name: str
    word: str
    note: str = ""


@dataclass(frozen=True)
class SheetContent:
    """One visit of one athlete, ready to be set.

    run, i_step:  the step that is drawn; runs are all passes of the visit.
    since:        at most three lines; empty on a first sheet.
    paper:        "a4" or "letter".
    words:        the language.
    photo:        stands in the place of the first thing's *you*, where somebody asked for it.
    drawn:        what the coach's own lines and paths measure, as sentences for the coach's copy.
    has_list:     adults get the 18 items as well: a choice of the squad.
    """

    athlete: Athlete
    visit: Visit
    run: Run
    results: Results
    assessment: Assessment
    words: Words
    i_step: int = 0
    runs: tuple[Run, ...] = ()
    since: tuple[SinceLine, ...] = ()
    paper: str = "a4"
    photo: Photo | None = None
    has_list: bool = False
    drawn: tuple[str, ...] = ()

    @property
    def day(self) -> date:
        """The day of filming."""
        return date.fromisoformat(self.visit.dated)

    @property
    def quality(self) -> str:
        """How much the clip can carry: "good", "fair" or "only"."""
        rate = self.results.rate_hz or self.results.effective_hz or 0.0
        steady = self.run.set_up.is_static and self.run.set_up.upright_px is not None
        if rate >= GOOD_HZ and steady:
            return "good"
        return "fair" if rate >= FAIR_HZ else "only"

    @property
    def sides(self) -> str:
        """Which sides were filmed: "right", "left" or "both"."""
        runs = self.runs or (self.run,)
        seen = {run.near_side for run in runs if run.view == "side"} or {self.run.near_side}
        return "both" if len(seen) > 1 else seen.pop()


@dataclass(frozen=True)
class GroupLine:
    """One athlete at the last visit that was marked.

    group:     event group, as the coach typed it.
    dated:     ISO date of that visit, "" when there is none.
    words:     the verdicts of items 1 to 18 in order; empty when there is no visit to read.
    works_on:  items that are priorities; empty where care forbids priorities.
    root:      the item that the chain of the first priority probably starts with, or None.
    again:     items that can't be told: film again.
    is_due:    not filmed for longer than the squad's weeks, or never.
    note:      what to do first, in a few words, "" when nothing is in the way.
    """

    code: str
    group: str = ""
    dated: str = ""
    words: tuple[str, ...] = ()
    works_on: tuple[int, ...] = ()
    root: int | None = None
    again: tuple[int, ...] = ()
    is_due: bool = False
    note: str = ""


@dataclass(frozen=True)
class GroupContent:
    """A squad on one day, ready to be set; "coach only, do not pin up".

    name:      of the squad.
    dated:     ISO date of the day it is made.
    common:    the item that is most often the root now; several when they come alike.
    groups:    (item, codes) of those who share a root, two or more, and may do its drills.
    evenings:  codes of those who are due and may be filmed, spread over evenings.
    again:     codes of those who have a graded item that can't be told.
    drills:    item -> names of its drills, for those who share it as a root.
    left_out:  sentences about those who are not on the page, to be told beside it, never on it.
    """

    name: str
    dated: str
    lines: tuple[GroupLine, ...]
    words: Words
    common: tuple[int, ...] = ()
    groups: tuple[tuple[int, tuple[str, ...]], ...] = ()
    evenings: tuple[tuple[str, ...], ...] = ()
    again: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()
    drills: Mapping[int, tuple[str, ...]] = field(default_factory=dict)
    paper: str = "a4"


@dataclass(frozen=True)
class Half:
    """One of the two runs.

    poses:     key frame -> pose: running to the right, in the scale of the runner's own legs, so
               that figures laid on one hip may be looked at together.
    side:      the side near the camera, "right" or "left".
    facts:     what may make it different: kind of running, effort, shoes, surface.
    """

    code: str
    dated: str
    poses: Mapping[str, Pose]
    side: str
    facts: tuple[str, ...] = ()


@dataclass(frozen=True)
class CompareRow:
    """One measure of both halves, printed with its ±; "–" where it was not measured.

    word: "moved", "same" or "can't tell", only for a current priority; "" for every other row.
    foot: left or right where it is not the near leg's. key, leg: of the catalogue. band: of the
    later half. both: what was measured in each.
    """

    name: str
    first: str
    second: str
    unit: str
    word: str = ""
    key: str = ""
    leg: str = ""
    band: Band | None = None
    both: tuple[Measured | None, Measured | None] = (None, None)
    foot: str = ""


@dataclass(frozen=True)
class CompareContent:
    """Two runs, ready to be drawn.

    events:   key frames that both have, in order of time.
    is_same:  one athlete on two dates; False for two athletes, who are different, not better.
    refused:  why the numbers cannot be compared; the figures may be looked at all the same.
    labels:   what differs and is compared all the same.
    since:    what became of the priorities of the first date; empty for two athletes or passes.
    """

    first: Half
    second: Half
    events: tuple[str, ...]
    rows: tuple[CompareRow, ...]
    words: Words
    is_same: bool = True
    refused: tuple[str, ...] = ()
    labels: tuple[str, ...] = ()
    since: tuple[SinceLine, ...] = ()
