"""Bringing pictures in: a clip, a folder of stills, loose stills; new ones, or those of a run."""

import re
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from tapmark.app.desk import Desk
from tapmark.app.gallery import Gallery
from tapmark.app.holding import hold
from tapmark.app.jobs import Task
from tapmark.app.kept import KeptStills
from tapmark.app.proposal import Proposal, propose
from tapmark.app.state import Work
from tapmark.app.watching import Watch
from tapmark.clip.frames import Clip, Pictures, begin_clip, open_stills, read_header
from tapmark.errands.gate import let_in
from tapmark.errors import OtherPictures, TapmarkError
from tapmark.marks.days import run_words
from tapmark.marks.history import History
from tapmark.marks.run import KeyFrame, Run, Source
from tapmark.store import pictures as stored

STOPPED = "Stopped. Nothing of the run was lost; open the clip again when you like."
TYPED_RATE = "typed in, {:g} a second"


@dataclass(frozen=True)
class Wish:
    """Which pictures to open.

    stills:  loose files in the folder `path`; () = the clip or the whole folder.
    is_new:  chosen by the coach now, not the pictures that a run has already.
    rate_hz: pictures a second of stills, as typed in.
    part_s:  from and to, seconds on the file's clock; None = the whole clip.
    marked:  what a run was marked on; other pictures under that name are refused.
    """

    path: Path
    stills: tuple[Path, ...] = ()
    is_new: bool = True
    rate_hz: float | None = None
    part_s: tuple[float, float] | None = None
    marked: Source | None = None

    def opened(self, cache_folder: Path, task: Task) -> Pictures:
        """Open them; a clip comes back with its first picture.

        Raises ClipError, OtherPictures, Cancelled.
        """
        pictures = self._opened(cache_folder, task)
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

    def _opened(self, cache_folder: Path, task: Task) -> Pictures:
        if self.stills or self.path.is_dir():
            return open_stills(self.stills or self.path, rate_hz=self.rate_hz)
        if self.marked and self.path.is_file():
            stored.refuse_other_clip(self.marked, self.path)
        header = read_header(self.path)
        return begin_clip(
            self.path,
            cache_folder,
            part=self.part_s,
            header=header,
            is_cancelled=task.is_cancelled,
        )


def own_pictures(desk: Desk, run: Run, run_path: Path) -> None:
    """Open the pictures that a run was marked on; without them, the stills that were kept."""
    load_pictures(desk, wish_of(run, run_path))


def wish_of(run: Run, run_path: Path) -> Wish:
    """Return the wish for the pictures that a run was marked on, and no others."""
    path, source = stored.clip_path(run.source, run_path), run.source
    names = source.fingerprint.split("\n") if source.kind == "stills" else []
    stills = tuple(path / name for name in names if name)
    return Wish(path, stills, False, typed_rate(run), source.part_s, source)


def typed_rate(run: Run) -> float | None:
    """Return the pictures a second that were typed in for stills, or None."""
    found = re.fullmatch(r"typed in, ([\d.e+]+) a second", run.set_up.rate_source)
    return float(found[1]) if found and run.source.kind == "stills" else None


def load_pictures(desk: Desk, wish: Wish) -> None:
    """Open pictures beside the window."""
    state = desk.state
    if wish.is_new and state.squad and state.athlete:
        let_in(state.squad, state.athlete.code, desk.now().date())
    state.said = f"Opening “{wish.path.name}” …"
    desk.jobs.run(
        "pictures",
        lambda task: wish.opened(desk.cache_folder, task),
        lambda pictures: desk.attempt(lambda: _use(desk, pictures, wish)),
        lambda trouble: _without(desk, wish, trouble),
        stopped=STOPPED,
        by="run",
        late=lambda pictures: pictures.close(),
    )
    state.tell()


def _without(desk: Desk, wish: Wish, trouble: TapmarkError) -> None:
    """Tell why the pictures cannot be had; show the kept stills of a run, if there are any."""
    state = desk.state
    if not wish.is_new and state.squad and state.visit and state.run:
        folder = state.squad.stills_folder(state.visit.code, state.visit.dated, state.run_name)
        kept = KeptStills(state.run, folder)
        if not kept.is_empty:
            state.gallery = Gallery(kept, desk.jobs)
            if state.frame:
                state.picture = state.frame.picture
    desk.failed(trouble)
    if isinstance(trouble, OtherPictures):
        _offer_to_find(desk, trouble)


def _offer_to_find(desk: Desk, trouble: OtherPictures) -> None:
    """Show what lies there, and the ways to the right pictures."""
    back = desk.state.page

    def find(desk: Desk) -> None:
        from tapmark.app.clip_deeds import find_again  # hardly ever needed

        find_again(desk)

    def choose(desk: Desk) -> None:
        desk.go("film")
        desk.perform("open clip")

    proposal = Proposal(
        "Other pictures under the old name",
        (str(trouble), "The right ones may have been moved or renamed: look for them in a folder."),
        more=(("Find moved clips again…", find), ("Choose the clip…", choose)),
        back=back,
    )
    propose(desk, proposal)


def _use(desk: Desk, pictures: Pictures, wish: Wish) -> None:
    """Show the pictures; those of a new run make its file."""
    state = desk.state
    said = _leave_marked(desk, pictures, wish)
    if state.gallery:
        state.gallery.pictures.close()
    state.gallery, state.said = Gallery(pictures, desk.jobs), said
    if wish.is_new:
        _take_source(desk, pictures, wish)
    elif wish.rate_hz is not None and state.run and typed_rate(state.run) != wish.rate_hz:
        _take_times(desk, pictures, wish.rate_hz)
    if state.frame:
        state.picture = state.frame.picture
    if isinstance(pictures, Clip):
        Watch(
            desk,
            pictures,
            wish.is_new,
            lambda trouble: _gone(desk, wish, trouble),
            partial(wish.refuse_others, pictures),
        ).look()


def _gone(desk: Desk, wish: Wish, trouble: TapmarkError) -> None:
    """Tell that a clip came to nothing while it was read; the run and its marks stay."""
    if desk.state.gallery:
        desk.state.gallery.pictures.close()
    desk.state.gallery = None
    _without(desk, replace(wish, is_new=False), trouble)


def _take_source(desk: Desk, pictures: Pictures, wish: Wish) -> None:
    state = desk.state
    if not state.squad or not state.work:
        return
    work, squad = state.work, state.squad
    code, dated = work.visit.code, work.visit.dated
    run_path = squad.run_path(code, dated, state.run_name or "run-1")
    source = _source(pictures, wish, run_path)
    if state.run_name and _is_same(source, work.run.source):
        state.record("the clip is found", replace(work.run, source=source))
        return
    run = replace(_with_rate(work.run, pictures), source=source)
    if state.run_name:  # nothing is marked on the old ones
        state.amend(run)
        state.history = History(state.history.value) if state.history else None
        state.event, state.prompt, state.picture = "", None, 0
        old = work.run.source.path.rpartition("/")[2]
        state.said = f"“{pictures.name}” takes the place of “{old}”, on which nothing was marked."
        return
    name = squad.new_run(code, dated, run)
    state.history, state.run_name = History(Work(squad.visit(code, dated), run)), name
    hold(desk, code, dated, name)
    desk.note_saved()


def _leave_marked(desk: Desk, pictures: Pictures, wish: Wish) -> str:
    """Begin a new run for other pictures than those that are marked; return what to say of it."""
    state = desk.state
    if not (wish.is_new and state.squad and state.visit and state.run and state.run_name):
        return ""
    code, dated, name = state.visit.code, state.visit.dated, state.run_name
    source = _source(pictures, wish, state.squad.run_path(code, dated, name))
    is_marked = any(step.key_frames for step in state.run.steps)
    if not is_marked or _is_same(source, state.run.source):
        return ""
    from tapmark.app.run_deeds import start_run  # which needs this module

    start_run(desk, code, dated)
    return f"“{pictures.name}” is a new run; {run_words(name)} keeps its own pictures and marks."


def _is_same(new: Source, old: Source) -> bool:
    """Say whether two sources are the same pictures, wherever they lie."""
    what = (new.kind, new.fingerprint, new.size_bytes, new.size_px, new.part_s)
    return bool(new.fingerprint) and what == (
        old.kind,
        old.fingerprint,
        old.size_bytes,
        old.size_px,
        old.part_s,
    )


def _with_rate(run: Run, pictures: Pictures) -> Run:
    factor, source = pictures.capture.slow_factor, pictures.capture.source
    if factor is None:
        return run
    set_up = replace(run.set_up, slow_factor=factor, rate_source=source[:200])
    return replace(run, set_up=set_up)


def _source(pictures: Pictures, wish: Wish, run_path: Path) -> Source:
    n = len(pictures)
    last = pictures.time_s(n - 1) if n else None
    source = Source(pictures.kind, "", pictures.size_px, n, duration_s=last, part_s=wish.part_s)
    if pictures.kind == "clip":
        return stored.clip_of(wish.path, run_path, source)
    names = "\n".join(path.name for path in wish.stills)
    return replace(source, path=stored.way_to(wish.path, run_path), fingerprint=names)


def reload_with_rate(desk: Desk, rate_hz: float) -> None:
    """Give stills their times from pictures a second, and the key frames theirs."""
    state = desk.state
    if state.squad and state.visit and state.run:
        run_path = state.squad.run_path(state.visit.code, state.visit.dated, state.run_name)
        path = stored.clip_path(state.run.source, run_path)
        stills = tuple(path / name for name in state.run.source.fingerprint.split("\n") if name)
        wish = Wish(path, stills, is_new=False, rate_hz=rate_hz, marked=state.run.source)
        load_pictures(desk, wish)


def _take_times(desk: Desk, pictures: Pictures, rate_hz: float) -> None:
    state = desk.state
    if not state.run:
        return

    def timed(frame: KeyFrame) -> KeyFrame:
        i = frame.picture
        return replace(frame, time_s=pictures.time_s(i), interval_s=pictures.interval_s(i))

    steps = tuple(
        replace(step, key_frames=tuple(map(timed, step.key_frames))) for step in state.run.steps
    )
    set_up = replace(state.run.set_up, slow_factor=1.0, rate_source=TYPED_RATE.format(rate_hz))
    state.record(f"filmed at {rate_hz:g}", replace(state.run, steps=steps, set_up=set_up))


def stop_reading(desk: Desk) -> None:
    """Stop bringing pictures in; what was read so far is let go."""
    state = desk.state
    desk.jobs.cancel("pictures")
    if state.gallery:
        state.gallery.pictures.close()
        state.gallery = None
    state.said = STOPPED
