"""What is open and what is shown: one object of the main thread, without tkinter.

What a person did is a `Work` value in a history, so everything can be undone; what is merely
shown (picture, zoom, prompt at hand) is plain attributes and is never saved with the work.
"""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from PIL import Image

from tapmark.app.jobs import Whose
from tapmark.app.prompting import Look, Prompt, changed_at, first_open_in, next_open
from tapmark.app.squad_side import SquadSide
from tapmark.app.tone import Tone
from tapmark.app.two_runs import Beside
from tapmark.app.viewport import Point, Size, Viewport
from tapmark.marks.history import History
from tapmark.marks.people import Athlete, Visit
from tapmark.marks.run import KeyFrame, Run, Step
from tapmark.store.squad import Squad

PAGES = ("squad", "film", "frames", "taps", "review", "sheet")
ASIDE = ("proposal", "season", "group", "beside", "naming")
"""Pages that are reached from Squad and lead back to it."""

if TYPE_CHECKING:  # what is open later is read later: the window stands sooner
    from tapmark.app.gallery import Gallery
    from tapmark.app.part_deeds import LongClip
    from tapmark.app.stopwatch_deeds import Stopwatch
    from tapmark.errands.visits import VisitReading
    from tapmark.measures.result import MarkingCheck
    from tapmark.store.pictures import Still

Listener = Callable[[], None]


@dataclass(frozen=True)
class Work:
    """What undo takes back: a run and the visit it belongs to."""

    visit: Visit
    run: Run


@dataclass(eq=False, repr=False)
class AppState:
    """The state of the window; whoever wants to know of changes listens.

    picture:   number of the picture shown, i_step: of the step worked on, both from 0.
    event:     the key frame at hand, prompt: the point asked for, None when all are answered.
    aim:       the cross-hair, px of the full picture; None = not shown.
    certainty: of the next tap, "sure" or "guess".
    look:      the later look that is being taken, None for the first taps.
    views:     zoom and centre by (page, picture); while stepping through pictures it is shared.
    canvas:    size of the place where the picture is shown, px. roster: all athletes.
    checks:    what may be a slip in the run at hand, as of the run in checked.
    kept:      still -> picture of the stills kept since the run was opened.
    reading:   what was measured and judged last, from read_of; row: the one looked at.
    pages:     the set pages of the sheet, from page_of; i_page: the one shown; copy: whose.
    written:   the sheet written last, written_of: what stands on it, as in page_of.
    left_out:  stills that are not tried again; see stills_deeds.
    side:      what the pages around Squad show.
    beside:    what the page with two runs shows.
    long_clip: the clip of which a part is to be chosen.
    stopwatch: readings of a stopwatch that are being taken, None when nobody asked.
    form:      the form that is open on the Squad page, "" for none.
    picking:   what the next presses on the Film page set, "pole" or "scale"; picked: so far.
    save:      writes a change; the third is True while a tap is still being moved.
    refuse:    raises where nothing may be changed.
    said:      what to do now; trouble: what went wrong, "" when all is well.
    saved_at:  when it was saved last, "" before, and while something is not.
    unsaved:   why the last marks are only in this window, "" when they are not.
    """

    squad: Squad | None = None
    athlete: Athlete | None = None
    run_name: str = ""
    history: History[Work] | None = None
    gallery: "Gallery | None" = None
    page: str = "squad"
    page_before: str = "squad"
    picture: int = 0
    i_step: int = 0
    event: str = ""
    prompt: Prompt | None = None
    aim: Point | None = None
    certainty: str = "sure"
    look: Look | None = None
    tone: Tone = field(default_factory=Tone)
    views: dict[tuple[str, int], tuple[float, Point | None]] = field(default_factory=dict)
    canvas: Size = (1, 1)
    roster: tuple[Athlete, ...] = ()
    reading: "VisitReading | None" = None
    read_of: Work | None = None
    checks: "tuple[MarkingCheck, ...]" = ()
    checked: Run | None = None
    kept: "dict[Still, int]" = field(default_factory=dict)
    row: int = 0
    pages: tuple[Image.Image, ...] = ()
    page_of: tuple[object, ...] = ()
    i_page: int = 0
    copy: str = "athlete"
    written: Path | None = None
    written_of: tuple[object, ...] = ()
    left_out: "set[Still]" = field(default_factory=set)
    side: SquadSide = field(default_factory=SquadSide)
    beside: Beside = field(default_factory=Beside)
    form: str = ""
    long_clip: "LongClip | None" = None
    stopwatch: "Stopwatch | None" = None
    picking: str = ""
    picked: tuple[Point, ...] = ()
    said: str = ""
    trouble: str = ""
    saved_at: str = ""
    unsaved: str = ""
    save: Callable[[Work, Work, bool], None] = lambda old, new, is_moving: None
    refuse: Callable[[], None] = lambda: None
    _listeners: list[Listener] = field(default_factory=list)

    def listen(self, listener: Listener) -> None:
        """Call the listener after every change."""
        self._listeners.append(listener)

    def tell(self) -> None:
        """Say that something changed."""
        for listener in self._listeners:
            listener()

    def at_hand(self) -> Whose:
        """Return what is open now: for whom whatever is asked is asked."""
        visit, athlete = self.visit, self.athlete
        code = athlete.code if athlete else visit.code if visit else ""
        return Whose(str(self.folder or ""), code, visit.dated if visit else "", self.run_name)

    def show_nothing(self) -> None:
        """Let go of everything that was read, set or looked at for one run."""
        self.picture, self.aim, self.look, self.views = 0, None, None, {}
        self.picking, self.picked, self.long_clip, self.stopwatch = "", (), None, None
        self.reading = self.read_of = self.checked = None
        self.checks, self.row = (), 0
        self.pages, self.page_of, self.i_page, self.copy = (), (), 0, "athlete"
        self.written, self.written_of = None, ()
        self.kept, self.left_out = {}, set()

    @property
    def work(self) -> Work | None:
        """The visit and run that are open."""
        return self.history.value if self.history else None

    @property
    def run(self) -> Run | None:
        """The run that is open."""
        return self.history.value.run if self.history else None

    @property
    def visit(self) -> Visit | None:
        """The visit that is open."""
        return self.history.value.visit if self.history else None

    @property
    def step(self) -> Step:
        """The step worked on; an empty one when no run is open."""
        run = self.run
        return run.steps[min(self.i_step, len(run.steps) - 1)] if run else Step()

    @property
    def frame(self) -> KeyFrame | None:
        """The key frame at hand, None when it is not chosen."""
        return self.step.key_frame(self.event)

    def record(self, label: str, run: Run, *, amend: bool = False) -> None:
        """Keep a changed run, save it and tell everybody."""
        if self.history:
            self._record(label, replace(self.history.value, run=run), amend)

    def record_visit(self, label: str, visit: Visit, *, amend: bool = False) -> None:
        """Keep a changed visit, save it and tell everybody."""
        if self.history:
            self._record(label, replace(self.history.value, visit=visit), amend)

    def _record(self, label: str, new: Work, amend: bool) -> None:
        assert self.history
        self.refuse()
        old = self.history.value
        if self.history.record(label, new, amend=amend):
            self.save(old, new, amend)
        self.tell()

    def amend(self, run: Run) -> None:
        """Put facts about the pictures into the run without a step of its own to undo."""
        if self.history and run != self.history.value.run:
            old = self.history.value
            new = replace(old, run=run)
            if self.history.undo_label:
                self.history.record(self.history.undo_label, new, amend=True)
            else:
                self.history = History(new)
            self.save(old, new, False)

    def travel(self, *, back: bool) -> None:
        """Undo or redo; the place that changes is shown."""
        if not self.history:
            return
        self.refuse()
        old = self.history.value
        new = self.history.undo() if back else self.history.redo()
        if new != old:
            self.save(old, new, False)
            self._show_change(old.run, new.run)
        self.tell()

    def _show_change(self, old: Run, new: Run) -> None:
        self.i_step = min(self.i_step, len(new.steps) - 1)
        place = changed_at(old, new)
        if place is None:
            self.settle()
            return
        self.i_step, event, point = place
        self.go_to(event, Prompt(event, point) if point else None)

    def go_to(self, event: str, prompt: Prompt | None = None) -> None:
        """Show a key frame of the step and ask for a point of it (its first open one by default).

        The picture stays where it is when the key frame is not chosen yet.
        """
        self.event, self.aim, self.certainty = event, None, "sure"
        frame = self.frame
        self.prompt = prompt or self._first_of(event)
        if frame:
            self.picture = frame.picture + (self.prompt.by if self.prompt else 0)

    def _first_of(self, event: str) -> Prompt | None:
        run = self.run
        return first_open_in(run, self.i_step, event, again=self.look) if run else None

    def settle(self) -> None:
        """Go to the first open prompt of the step; keep the place when there is none."""
        run = self.run
        found = next_open(run, self.i_step, again=self.look) if run else None
        if found:
            self.go_to(found.event, found)
        else:
            self.prompt = None

    def _view_key(self) -> tuple[str, int]:
        return (self.page, -1 if self.page in ("film", "frames") else self.picture)

    def viewport(self) -> Viewport:
        """Return what part of the picture is seen on the page at hand."""
        size = self.gallery.pictures.size_px if self.gallery else (1, 1)
        zoom, centre = self.views.get(self._view_key(), (1.0, None))
        return Viewport(size, self.canvas, zoom, centre)

    def look_through(self, view: Viewport) -> None:
        """Remember another zoom or place for the picture at hand."""
        self.views[self._view_key()] = (view.zoom, view.centre)
        self.tell()

    @property
    def folder(self) -> Path | None:
        """Folder of the squad that is open."""
        return self.squad.folder if self.squad else None
