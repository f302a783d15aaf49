"""What is open, how its run is shown and marked, and who is told of changes; no tkinter."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from operator import is_
from pathlib import Path
from typing import TypeVar

from tapmark.app.jobs import Whose
from tapmark.app.state.following import Following, Runner, Spot, runner_of, with_point
from tapmark.app.state.frames_shown import Gallery
from tapmark.app.state.pages import (
    AroundSquad,
    CompareState,
    FilmPage,
    ReviewPage,
    SheetPage,
)
from tapmark.app.state.playback import Playing
from tapmark.app.state.prompts import Look, Prompt, changed_at, first_open_in, next_open
from tapmark.app.state.viewport import Point, Size, Tone, Viewport
from tapmark.checklist.criteria import Criteria, load
from tapmark.clip.frames import Pictures
from tapmark.errors import NotThere
from tapmark.marks.history import History
from tapmark.marks.people import Athlete, Visit
from tapmark.marks.run import KeyFrame, Run, Step
from tapmark.services.places import criteria_of
from tapmark.store.pictures import Still
from tapmark.store.squad import RunAt, Squad


@dataclass(frozen=True)
class Work:
    """What undo takes back: a run and the visit it belongs to."""

    visit: Visit
    run: Run


@dataclass(eq=False, repr=False)
class Marking:
    """The open run as it is shown and marked. Another run gets a new one.

    picture:   number of the frame shown, i_step: of the step worked on, both from 0.
    event:     the key frame at hand, prompt: the point asked for, None when all are answered.
    aim:       the cross-hair, px of the full frame; None = not shown.
    certainty: of the next tap, "sure" or "guess".
    look:      the later look that is being taken, None for the first taps.
    following: what part of the frames is looked at; spots: frame -> the runner's hip as it was
        shown by a click or a box before anything is tapped.
    kept:      still -> frame of the stills kept since the run was opened.
    left_out:  stills that are not tried again.
    playing:   how the frames are played, and whether they are.
    dragged:   the point that is being dragged, and where it was, px of the frame.
    sure:      (key frame, frame) that was taken once and takes taps away when taken again.
    """

    gallery: Gallery | None = None
    picture: int = 0
    i_step: int = 0
    event: str = ""
    prompt: Prompt | None = None
    aim: Point | None = None
    certainty: str = "sure"
    look: Look | None = None
    following: Following = field(default_factory=Following)
    spots: dict[int, Spot] = field(default_factory=dict)
    kept: dict[Still, int] = field(default_factory=dict)
    left_out: set[Still] = field(default_factory=set)
    playing: Playing = field(default_factory=Playing)
    dragged: tuple[Prompt, Point] | None = None
    sure: tuple[str, int] | None = None


@dataclass(eq=False, repr=False)
class Session:
    """What is open: squad, athlete, run with its history. roster: all athletes of the squad.

    save:     writes a change; the third is True while a tap is still being moved.
    refuse:   raises where nothing may be changed.
    saved_at: when it was saved last, "" before, and while something is not.
    unsaved:  why the last marks are only in this window, "" when they are not.
    runner:   where the runner is, and what that was found from: a tap asks for it five times.
    """

    squad: Squad | None = None
    athlete: Athlete | None = None
    run_name: str = ""
    history: History[Work] | None = None
    roster: tuple[Athlete, ...] = ()
    saved_at: str = ""
    unsaved: str = ""
    save: Callable[[Work, Work, bool], None] = lambda old, new, is_moving: None
    refuse: Callable[[], None] = lambda: None
    runner: tuple[tuple[object, ...], Runner | None] | None = None

    def criteria(self) -> Criteria:
        """Return bands and words of the squad that is open."""
        return criteria_of(self.squad) if self.squad else load()


NO_RUN = "No run is open. Choose an athlete on Squad and start a visit first."
T = TypeVar("T")
Listener = Callable[[], None]


def _there(value: T | None, why_not: str) -> T:
    if value is None:
        raise NotThere(why_not)
    return value


@dataclass(eq=False, repr=False)
class AppState:
    """The state of the window: what is open, one value a page, and who wants to know of changes.

    canvas: size of the place where the frame is shown, px. back: where Escape goes from a page
    around Squad. status: what to do now; error: what went wrong, "" when all is well.
    """

    session: Session = field(default_factory=Session)
    marking: Marking = field(default_factory=Marking)
    film: FilmPage = field(default_factory=FilmPage)
    review: ReviewPage = field(default_factory=ReviewPage)
    sheet: SheetPage = field(default_factory=SheetPage)
    compare: CompareState = field(default_factory=CompareState)
    around: AroundSquad = field(default_factory=AroundSquad)
    page: str = "squad"
    page_before: str = "squad"
    back: str = "squad"
    tone: Tone = field(default_factory=Tone)
    canvas: Size = (1, 1)
    status: str = ""
    error: str = ""
    _listeners: list[Listener] = field(default_factory=list)

    @property
    def squad(self) -> Squad | None:
        return self.session.squad

    @property
    def athlete(self) -> Athlete | None:
        return self.session.athlete

    @property
    def run_name(self) -> str:
        """The name of the run that is open, "" for none."""
        return self.session.run_name

    @property
    def history(self) -> History[Work] | None:
        """What was done to the run that is open."""
        return self.session.history

    @property
    def work(self) -> Work | None:
        """The visit and run that are open."""
        return self.history.value if self.history else None

    @property
    def visit(self) -> Visit | None:
        return self.history.value.visit if self.history else None

    @property
    def run(self) -> Run | None:
        return self.history.value.run if self.history else None

    @property
    def where(self) -> RunAt:
        """Code, date and name of the run at hand, "" for what is not open."""
        visit = self.visit
        return (visit.code, visit.dated, self.run_name) if visit else ("", "", "")

    @property
    def the_squad(self) -> Squad:
        """The squad that is open, for what can only be done with one. Raises NotThere."""
        return _there(self.squad, "No squad is open. Open or make one on Squad first.")

    @property
    def the_athlete(self) -> Athlete:
        """The athlete who is chosen. Raises NotThere."""
        return _there(self.athlete, "No athlete is chosen. Choose one on Squad first.")

    @property
    def the_run(self) -> Run:
        """The run that is open. Raises NotThere."""
        return _there(self.run, NO_RUN)

    @property
    def the_visit_folder(self) -> Path:
        """The folder of the visit that is open. Raises NotThere."""
        visit = _there(self.visit, NO_RUN)
        return self.the_squad.visit_folder(visit.code, visit.dated)

    @property
    def pictures(self) -> Pictures | None:
        """The clip or stills of the run, None before they are open."""
        return self.marking.gallery.pictures if self.marking.gallery else None

    @property
    def the_pictures(self) -> Pictures:
        """The clip or stills of the run. Raises NotThere."""
        return _there(self.pictures, "No clip is open. Open a clip or stills on Film first.")

    @property
    def folder(self) -> Path | None:
        """Folder of the squad that is open."""
        return self.squad.folder if self.squad else None

    @property
    def paper(self) -> str:
        return self.squad.choices.paper if self.squad else "a4"

    def at_hand(self) -> Whose:
        """Return what is open now: squad, athlete, visit and run."""
        code, dated, _ = self.where
        code = self.athlete.code if self.athlete else code
        return Whose(str(self.folder or ""), code, dated, self.run_name)

    def show_nothing(self) -> None:
        """Begin anew with everything read, set or shown for one run, except its clip."""
        playing = replace(self.marking.playing, is_on=False)
        self.marking = Marking(gallery=self.marking.gallery, playing=playing)
        self.film, self.review, self.sheet = FilmPage(), ReviewPage(), SheetPage()

    def close_pictures(self) -> None:
        """Close the clip or stills of the run, and forget what was kept of their frames."""
        if self.marking.gallery:
            self.marking.gallery.close()
        self.marking.gallery = self.session.runner = None

    def listen(self, listener: Listener) -> None:
        """Call the listener after every change."""
        self._listeners.append(listener)

    def notify(self) -> None:
        """Say that something changed."""
        marking = self.marking
        following = marking.following.found(self.runner(), marking.event, marking.picture)
        marking.following = following
        for listener in self._listeners:
            listener()

    def record(
        self, label: str, run: Run | None = None, *, visit: Visit | None = None, amend: bool = False
    ) -> None:
        """Keep a changed run or visit, save it and tell everybody."""
        if self.history:
            self.session.refuse()
            old = self.history.value
            new = Work(visit or old.visit, run or old.run)
            if self.history.record(label, new, amend=amend):
                self.session.save(old, new, amend)
            self.notify()

    def amend(self, run: Run) -> None:
        """Put facts about the frames into the run without a step of its own to undo."""
        history = self.history
        if history and run != history.value.run:
            old, new = history.value, replace(history.value, run=run)
            if history.undo_label:
                history.record(history.undo_label, new, amend=True)
            else:
                self.session.history = History(new)
            self.session.save(old, new, False)

    def travel(self, *, back: bool) -> None:
        """Undo or redo; the place that changes is shown."""
        if not self.history:
            return
        self.session.refuse()
        old = self.history.value
        new = self.history.undo() if back else self.history.redo()
        if new != old:
            self.session.save(old, new, False)
            place = changed_at(old.run, new.run)
            self.marking.i_step = min(self.marking.i_step, len(new.run.steps) - 1)
            if place is None:
                self.settle()
            else:
                self.marking.i_step, event, point = place
                self.go_to(event, Prompt(event, point) if point else None)
        self.notify()

    @property
    def step(self) -> Step:
        """The step worked on; an empty one when no run is open."""
        run = self.run
        return run.steps[min(self.marking.i_step, len(run.steps) - 1)] if run else Step()

    @property
    def frame(self) -> KeyFrame | None:
        """The key frame at hand, None when it is not chosen."""
        return self.step.key_frame(self.marking.event)

    def go_to(self, event: str, prompt: Prompt | None = None) -> None:
        """Show a key frame of the step and ask for a point of it (its first open one by default).

        The frame shown stays when the key frame is not chosen yet.
        """
        marking, run = self.marking, self.run
        marking.event, marking.aim, marking.certainty, marking.prompt = event, None, "sure", prompt
        if run and not prompt:
            marking.prompt = first_open_in(run, marking.i_step, event, again=marking.look)
        if self.frame:
            marking.picture = self.frame.picture + (marking.prompt.by if marking.prompt else 0)

    def settle(self) -> None:
        """Go to the first open prompt of the step; keep the place when there is none."""
        run, marking = self.run, self.marking
        found = next_open(run, marking.i_step, again=marking.look) if run else None
        if found:
            self.go_to(found.event, found)
        else:
            self.marking.prompt = None

    @property
    def is_pausing(self) -> bool:
        """Say whether the finished figure still stands there while the next frame is asked for."""
        prompt, event = self.marking.prompt, self.marking.event
        return self.page == "taps" and prompt is not None and prompt.event != event

    def runner(self) -> Runner | None:
        """Return where the runner is, as far as anybody knows."""
        pictures, run = self.pictures, self.run
        if pictures is None or run is None:
            return None

        spots, n = self.marking.spots, len(pictures)
        known = self.session.runner
        if known and n == known[0][0] and all(map(is_, (run, spots, pictures), known[0][1:])):
            return known[1]

        def time_s(i: int) -> float | None:
            return pictures.time_s(i) if 0 <= i < n else None

        found = runner_of(run, spots, time_s)
        self.session.runner = (n, run, spots, pictures), found
        return found

    def viewport(self, picture: int | None = None) -> Viewport:
        """Return what is seen of the frame at hand, or of another one.

        A point that is asked for is never out of view, whatever was zoomed to.
        """
        marking, runner = self.marking, self.runner()
        size = self.pictures.size_px if self.pictures is not None else (1, 1)
        i = marking.picture if picture is None else picture
        view = marking.following.view(Viewport(size, self.canvas), runner, i)
        prompt, frame = marking.prompt, self.frame
        is_asked = self.page == "taps" and prompt and frame and prompt.event == frame.event
        if runner and self.run and is_asked and frame and prompt and frame.picture + prompt.by == i:
            sign, following = self.run.travel_sign, marking.following
            view = with_point(view, following, runner, sign, frame, prompt.point)
        return view

    def look_through(self, view: Viewport) -> None:
        """Look at another part of the frames, by hand."""
        marking = self.marking
        following = marking.following
        marking.following = following.looked_through(view, self.runner(), marking.picture)
        self.notify()

    def see_runner(self, spot: Spot, *, is_box: bool = False) -> None:
        """Keep where the runner's hip is in the frame shown; the view goes there.

        What was zoomed to by hand is kept, unless the runner is as tall as was not known before.
        """
        marking = self.marking
        marking.spots = {**marking.spots, marking.picture: spot}
        following = replace(marking.following, here=None, is_whole=False)
        marking.following = following if following.tall_px and not is_box else Following()
        self.notify()
