"""Everything a page is made of, as one frozen value; built by the window or the command line."""

from dataclasses import dataclass
from datetime import date
from typing import Final

from tapmark.checklist.verdict import Assessment
from tapmark.checklist.words import Words
from tapmark.marks.people import Athlete, Visit
from tapmark.marks.run import Run
from tapmark.measures.result import Results
from tapmark.sheet.photo import Photo

PAPERS: Final = ("a4", "letter")
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

    @property
    def day(self) -> date:
        """The day of filming."""
        return date.fromisoformat(self.visit.dated)

    @property
    def quality(self) -> str:
        """How much the pictures can carry: "good", "fair" or "only"."""
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
