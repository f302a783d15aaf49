"""What is open and what is shown: objects of the main thread, without tkinter."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from operator import is_
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from PIL import Image

from tapmark.app.jobs import Task, Whose
from tapmark.app.state.following import Following, Runner, Spot, runner_of, with_point
from tapmark.app.state.frames_shown import Gallery
from tapmark.app.state.playback import Playing
from tapmark.app.state.prompts import Look, Prompt, changed_at, first_open_in, next_open
from tapmark.app.state.proposal import Proposal
from tapmark.app.state.viewport import Point, Size, Tone, Viewport
from tapmark.checklist.criteria import Criteria, load
from tapmark.clip.frames import Clip, Header, Pictures, begin_clip, open_stills, read_header
from tapmark.errors import NotThere, OtherPictures
from tapmark.marks.history import History
from tapmark.marks.people import Athlete, Visit
from tapmark.marks.run import KeyFrame, Run, Source, Step
from tapmark.services.places import criteria_of
from tapmark.services.season import Season
from tapmark.services.true_rate import StopwatchReading
from tapmark.services.visits import VisitReading
from tapmark.store import pictures as stored
from tapmark.store.shot_list import ShotList
from tapmark.store.squad import Squad

if TYPE_CHECKING:
    from contextlib import ExitStack

    from tapmark.measures.result import MarkingCheck
    from tapmark.report.pages.content import CompareContent, GroupContent
    from tapmark.services.film import MadeFilm
    from tapmark.store.pictures import Still


@dataclass(frozen=True)
class Wish:
    """Which frames to open.

    stills:  loose files in the folder `path`; () = the clip or the whole folder.
    is_new:  chosen by the coach now, not the frames that a run has already.
    rate_hz: frames per second of stills, as typed in.
    part_s:  from and to, seconds on the file's clock; None = the whole clip.
    marked:  what a run was marked on; other frames under that name are refused.
    """

    path: Path
    stills: tuple[Path, ...] = ()
    is_new: bool = True
    rate_hz: float | None = None
    part_s: tuple[float, float] | None = None
    marked: Source | None = None

    def opened(self, cache_folder: Path, task: Task) -> Pictures:
        """Open them; a clip comes back with its first frame.

        Raises ClipError, OtherPictures, Cancelled.
        """
        if self.stills or self.path.is_dir():
            pictures: Pictures = open_stills(self.stills or self.path, rate_hz=self.rate_hz)
        else:
            if self.marked and self.path.is_file():
                stored.refuse_other_clip(self.marked, self.path)
            header, stop = read_header(self.path), task.is_cancelled
            pictures = begin_clip(
                self.path, cache_folder, part=self.part_s, header=header, is_cancelled=stop
            )
        try:
            self.refuse_others(pictures)
        except OtherPictures:
            pictures.close()
            raise
        return pictures

    def refuse_others(self, pictures: Pictures) -> None:
        """Raise OtherPictures when they are not those that were marked; a clip once it is read."""
        if self.marked:
            n, is_whole = len(pictures), not isinstance(pictures, Clip) or pictures.is_done
            last_s = pictures.time_s(n - 1) if n and is_whole else None
            stored.refuse_other_pictures(self.marked, self.path.name, pictures.size_px, n, last_s)


USUAL_PICTURES = 1_200  # frames of a part that is offered: a few steps at 240 a second


@dataclass(frozen=True)
class LongClip:
    """A clip that was asked for, small frames of it, and the part that is offered (seconds).

    strip: (seconds on the file's clock, small frame), in order.
    """

    wish: Wish
    header: Header
    strip: tuple[tuple[float, Image.Image], ...]
    start_s: float
    end_s: float

    @property
    def length_s(self) -> float:
        """Length of the whole clip on its own clock."""
        return self.header.length_s or 0.0

    @property
    def words(self) -> str:
        """What the clip is like, in a sentence."""
        n = round(self.header.n_expected or 0, -2)
        return (
            f"“{self.header.name}” has about {n:,} frames ({self.length_s:.0f} s). "
            "Press the frame where the runner passes, or type from and to."
        )

    def around(self, at_s: float) -> "LongClip":
        """Return the same with a part around a moment."""
        wide = USUAL_PICTURES / (self.header.rate_hz or 240.0)
        start = min(max(0.0, at_s - wide / 2), max(0.0, self.length_s - wide))
        return replace(self, start_s=start, end_s=min(self.length_s, start + wide))


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


@dataclass(frozen=True)
class Glance:
    """What is seen of a clip: its first frame, where a slate would be, and a few more."""

    first: Image.Image
    strip: tuple[Image.Image, ...]


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


Where = tuple[str, str, str]
"""Code, date and name of a run."""


OVER = ("figure", "lines", "angles", "paths")


@dataclass(eq=False, repr=False)
class CompareState:
    """The other run and what is shown of both; it follows this run by time, or by its step.

    by_phase: by its share of the step although times are known: key frame stands by key frame.
    others:   the runs that can be chosen. back: the page that Escape goes to.
    over:     what is drawn over the frames, of OVER. is_above: one run above the other.
    row:      the row of the table that is looked at. pair: what was cut of both to be shown.
    """

    where: Where | None = None
    run: Run | None = None
    gallery: "Gallery | None" = None
    content: "CompareContent | None" = None
    others: tuple[Where, ...] = ()
    back: str = "review"
    by_phase: bool = False
    over: frozenset[str] = frozenset(OVER)
    is_above: bool = False
    row: int = -1
    pair: "Gallery | None" = None


NOW, LATER, NOT_NOW, ARCHIVED = "Film this week", "Later", "Not now", "Archived"
GROUPS = (NOW, LATER, NOT_NOW, ARCHIVED)


@dataclass(frozen=True)
class Row:
    """One athlete in the list, all as text.

    last:    day of the last visit; again: how long ago that is, or when the next one is due.
    thing:   what is worked on, or what stops filming; about: its cue, or what to do about that.
    evening: which of how many evenings the name is planned for, "" when one is enough.
    """

    group: str
    code: str
    event: str
    last: str
    again: str
    thing: str
    about: str
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


@dataclass(frozen=True)
class Work:
    """What undo takes back: a run and the visit it belongs to."""

    visit: Visit
    run: Run


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


@dataclass(eq=False, repr=False)
class SeasonPage:
    """The season shown, and which measure and visit of it are looked at.

    shows_sides: left against right in place of the measure itself.
    wants_ticks: put the keyboard into the field for the boxes.
    """

    shown: "Shown | None" = None
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


@dataclass(eq=False, repr=False)
class NamingPage:
    """The clips being named and the one at hand.

    glances: fingerprint -> what is seen of a clip; looking: the one being fetched.
    """

    shots: ShotList | None = None
    i_shot: int = 0
    glances: "dict[str, Glance | None]" = field(default_factory=dict)
    looking: str = ""


@dataclass(eq=False, repr=False)
class AroundSquad:
    """The squad's side of the window: one value a page. Made anew when a squad is opened."""

    squad: SquadPage = field(default_factory=SquadPage)
    proposal: ProposalPage = field(default_factory=ProposalPage)
    season: SeasonPage = field(default_factory=SeasonPage)
    group: GroupPage = field(default_factory=GroupPage)
    naming: NamingPage = field(default_factory=NamingPage)


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

    gallery: "Gallery | None" = None
    picture: int = 0
    i_step: int = 0
    event: str = ""
    prompt: Prompt | None = None
    aim: Point | None = None
    certainty: str = "sure"
    look: Look | None = None
    following: Following = field(default_factory=Following)
    spots: dict[int, Spot] = field(default_factory=dict)
    kept: "dict[Still, int]" = field(default_factory=dict)
    left_out: "set[Still]" = field(default_factory=set)
    playing: Playing = field(default_factory=Playing)
    dragged: tuple[Prompt, Point] | None = None
    sure: tuple[str, int] | None = None


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

    reading: of the work in read_of; row: the one looked at.
    checks:  what may be a slip in the run at hand, as of the run in checked.
    to_look: a film with photos that is not written yet, and what takes the shown file away.
    leaf:    what the column shows: "" the checklist, "measures", "why" or "signs".
    line:    the line of the checklist that is chosen; opened: the folds that are open.
    """

    reading: "VisitReading | None" = None
    read_of: Work | None = None
    row: int = 0
    checks: "tuple[MarkingCheck, ...]" = ()
    checked: Run | None = None
    drawing: Drawing = field(default_factory=Drawing)
    to_look: "tuple[MadeFilm, ExitStack] | None" = None
    leaf: str = ""
    line: str = ""
    opened: frozenset[str] = frozenset()


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
    _criteria: tuple[Squad | None, Criteria] | None = None
    runner: "tuple[tuple[object, ...], Runner | None] | None" = None

    def criteria(self) -> Criteria:
        """Return bands and words of the squad that is open, read once."""
        if self._criteria is None or self._criteria[0] is not self.squad:
            self._criteria = self.squad, criteria_of(self.squad) if self.squad else load()
        return self._criteria[1]


T = TypeVar("T")


def _there(value: T | None, why_not: str) -> T:
    if value is None:
        raise NotThere(why_not)
    return value


PAGES = ("squad", "film", "frames", "taps", "review", "sheet")
ASIDE = ("proposal", "season", "group", "compare", "naming", "drawing")
"""Pages that are reached from Squad and lead back to it."""
Listener = Callable[[], None]


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
    def paper(self) -> str:
        return self.squad.choices.paper if self.squad else "a4"

    @property
    def athlete(self) -> Athlete | None:
        return self.session.athlete

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
        why = "No run is open. Choose an athlete on Squad and start a visit first."
        return _there(self.run, why)

    @property
    def pictures(self) -> Pictures | None:
        """The clip or stills of the run, None before they are open."""
        return self.marking.gallery.pictures if self.marking.gallery else None

    @property
    def the_pictures(self) -> Pictures:
        """The clip or stills of the run. Raises NotThere."""
        return _there(self.pictures, "No clip is open. Open a clip or stills on Film first.")

    def close_pictures(self) -> None:
        """Close the clip or stills of the run, and forget what was kept of their frames."""
        if self.marking.gallery:
            self.marking.gallery.close()
        self.marking.gallery = self.session.runner = None

    def drop_film(self) -> None:
        """Forget a film with photos that waits for its look, and its file."""
        if self.review.to_look:
            self.review.to_look[1].close()
        self.review.to_look = None

    def close_compared(self) -> None:
        """Do the same with the frames of the run beside it, and with what was cut of both."""
        if self.compare.pair:
            self.compare.pair.close()
        self.compare.pair = None
        if self.compare.gallery:
            self.compare.gallery.close()
        self.compare.gallery = None

    @property
    def run_name(self) -> str:
        """The name of the run that is open, "" for none."""
        return self.session.run_name

    @property
    def history(self) -> History[Work] | None:
        """What was done to the run that is open."""
        return self.session.history

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

    def at_hand(self) -> Whose:
        """Return what is open now: squad, athlete, visit and run."""
        visit, athlete = self.visit, self.athlete
        code = athlete.code if athlete else visit.code if visit else ""
        return Whose(str(self.folder or ""), code, visit.dated if visit else "", self.run_name)

    def show_nothing(self) -> None:
        """Begin anew with everything read, set or shown for one run, except its clip."""
        playing = replace(self.marking.playing, is_on=False)
        self.marking = Marking(gallery=self.marking.gallery, playing=playing)
        self.film, self.review, self.sheet = FilmPage(), ReviewPage(), SheetPage()

    @property
    def work(self) -> Work | None:
        """The visit and run that are open."""
        return self.history.value if self.history else None

    @property
    def run(self) -> Run | None:
        return self.history.value.run if self.history else None

    @property
    def visit(self) -> Visit | None:
        return self.history.value.visit if self.history else None

    @property
    def step(self) -> Step:
        """The step worked on; an empty one when no run is open."""
        run = self.run
        return run.steps[min(self.marking.i_step, len(run.steps) - 1)] if run else Step()

    @property
    def frame(self) -> KeyFrame | None:
        """The key frame at hand, None when it is not chosen."""
        return self.step.key_frame(self.marking.event)

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

    @property
    def is_pausing(self) -> bool:
        """Say whether the finished figure still stands there while the next frame is asked for."""
        prompt, event = self.marking.prompt, self.marking.event
        return self.page == "taps" and prompt is not None and prompt.event != event

    def settle(self) -> None:
        """Go to the first open prompt of the step; keep the place when there is none."""
        run, marking = self.run, self.marking
        found = next_open(run, marking.i_step, again=marking.look) if run else None
        if found:
            self.go_to(found.event, found)
        else:
            self.marking.prompt = None

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

    @property
    def folder(self) -> Path | None:
        """Folder of the squad that is open."""
        return self.squad.folder if self.squad else None
