"""Whose clip is which: an evening's clips one after the other, a code typed for each."""

from dataclasses import replace
from datetime import date, datetime
from functools import partial
from pathlib import Path

from tapmark.app.jobs import Task
from tapmark.app.shell.context import Action, Context
from tapmark.app.shell.runs import for_athlete
from tapmark.app.shell.squads import of_squad, refresh_roster
from tapmark.app.shell.why_disabled import unless
from tapmark.app.state.form import FieldTrouble
from tapmark.app.state.pages import Glance, NamingPage
from tapmark.clip.cache import Cache
from tapmark.clip.frames import begin_clip, read_header
from tapmark.clip.strip import key_strip
from tapmark.errors import NotThere
from tapmark.marks.days import several
from tapmark.services.clips import Looked, clip_at, log_order, look_at, offered
from tapmark.services.clips import make_runs as from_clips
from tapmark.services.pages import write_filming_card, write_shot_log
from tapmark.store.shot_list import ShotList
from tapmark.store.shots import clips_in, load_list, name_shot, new_list, save_list, skip_shot
from tapmark.store.squad import Squad, open_squad

PAGE = "naming"
GLANCE_S = 0.2
STRIP = 5


def ask_clips(context: Context) -> None:
    """Ask for a folder full of clips and begin to name them, or go on where it was left."""
    state, squad, now = context.state, context.state.the_squad, context.today()
    folder = context.ask.folder("Name clips: choose the folder from the phone")
    if folder is None:
        return
    clips = clips_in(folder)
    filmed = datetime.fromtimestamp(clips[0].stat().st_mtime).date()
    shots = _known_or_new(squad, min(filmed, now).isoformat(), clips, now)
    state.around.naming = NamingPage(shots, shots.next_unnamed() or 0)
    state.back = "squad"
    context.go(PAGE)


def _known_or_new(squad: Squad, dated: str, clips: tuple[Path, ...], now: date) -> ShotList:
    """Return the list of the evening; clips that came since stand at its end."""
    new = new_list(squad, dated, clips, offered(log_order(squad, now)))
    try:
        old = load_list(squad, dated)
    except NotThere:
        return new
    known = {shot.fingerprint for shot in old.shots}
    added = (replace(s, code="") for s in new.shots if s.fingerprint not in known)
    return replace(old, shots=(*old.shots, *added))


def name_it(context: Context, code: str, *, go_on: bool = True) -> None:
    """Name the clip at hand, and go on to the next; raise FieldTrouble for an unknown code."""
    page = context.state.around.naming
    if page.shots is None:
        return
    code = code.strip()
    known = {each.lower(): each for each in context.state.the_squad.codes()}
    if code.lower() not in known:
        near = [each for low, each in known.items() if code and low.startswith(code.lower()[:1])]
        has = ", ".join((near or list(known.values()))[:8])
        there = f"There is {has}." if has else ""
        raise FieldTrouble("code", f"The squad has no athlete “{code}”. {there}")
    _keep(context, name_shot(page.shots, page.i_shot, known[code.lower()]), go_on)


def skip(context: Context) -> None:
    """Leave the clip at hand out: it shows no run."""
    page = context.state.around.naming
    if page.shots:
        _keep(context, skip_shot(page.shots, page.i_shot))


def _keep(context: Context, shots: ShotList, go_on: bool = True) -> None:
    """Write the list, and go to the next clip without a name."""
    page = context.state.around.naming
    save_list(context.state.the_squad, shots)
    context.saver.note_saved()
    page.shots = shots
    if go_on:
        after = shots.next_unnamed(page.i_shot)
        after = shots.next_unnamed() if after is None else after
        page.i_shot = min(page.i_shot + 1, len(shots.shots) - 1) if after is None else after
    context.state.status = ""
    context.state.notify()


def to_shot(page: NamingPage, by: int) -> None:
    """Look at the next or the previous clip."""
    if page.shots:
        page.i_shot = min(max(0, page.i_shot + by), len(page.shots.shots) - 1)


def look(context: Context) -> None:
    """Fetch the first frames of the clip at hand, in a job."""
    page = context.state.around.naming
    if page.shots is None:
        return
    shot = page.shots.shots[page.i_shot]
    key = shot.fingerprint
    if key in page.glances or page.looking == key:
        return
    page.looking = key
    clip, cache = clip_at(context.state.the_squad, page.shots, shot), context.cache_folder

    def done(glance: Glance | None) -> None:
        page.glances[key], page.looking = glance, ""
        context.state.notify()

    def failed(trouble: object) -> None:
        context.state.status = str(trouble)
        done(None)

    context.jobs.run("glance", partial(glance_at, clip, cache), done, failed, by="squad")


def glance_at(clip: Path, cache_folder: Path, task: Task) -> Glance:
    """Return the first frame of a clip and a few others; raise ClipError, Cancelled."""
    header = read_header(clip)
    part = (0.0, GLANCE_S)
    begun = begin_clip(clip, cache_folder, part=part, header=header, progress=task)
    try:
        first = begun.preview(0).convert("RGB")
    finally:
        begun.close()
    found = key_strip(header, Cache(cache_folder), STRIP, task)
    return Glance(first, tuple(picture.convert("RGB") for _, picture in found[:STRIP]))


def make_runs(context: Context) -> None:
    """Make a run of each named clip; the clips stay as they are."""
    shots, now = context.state.around.naming.shots, context.today()
    folder = context.state.the_squad.folder
    if shots is None:
        return

    def make(looked: tuple[Looked, ...]) -> None:
        squad = context.state.the_squad
        taken = from_clips(squad, shots.dated, looked, for_athlete, context.today())
        refresh_roster(context)
        said = [f"{several(len(taken.runs), 'run')} made; Return on the Squad page opens them."]
        if taken.known:
            said.append(f"{several(taken.known, 'clip')} had a run already.")
        context.state.status = " ".join((*said, *taken.refused))

    said = "Making the runs …"
    context.work_on("copy", said, lambda task: look_at(open_squad(folder, []), shots, now), make)


def shot_log(context: Context) -> None:
    """Write the shot log of the next evening and open it."""
    squad, now = context.state.the_squad, context.today()
    path = write_shot_log(squad, log_order(squad, now), now, context.state.paper)
    context.hand_out(path, f"Written: {path}")


def filming_card(context: Context) -> None:
    """Write the card on how to film and open it."""
    path = write_filming_card(context.state.the_squad, context.today(), context.state.paper)
    context.hand_out(path, f"Written: {path}")


def _is_any_named(context: Context) -> bool:
    shots = context.state.around.naming.shots
    return shots is not None and any(shot.state == "named" for shot in shots.shots)


_needs_shots = unless(
    "Choose a folder of clips on the Squad page first.", lambda c: c.state.around.naming.shots
)
_needs_named = unless("Name a clip first.", _is_any_named, _needs_shots)
_of_shots = partial(Action, pages=(PAGE,), group="Clips", why_disabled=_needs_shots)
_of_named = partial(_of_shots, why_disabled=_needs_named)
ACTIONS = (
    of_squad("name clips", "Name a folder full of clips…", ask_clips, ("Mod+K",)),
    of_squad("shot log", "Shot log of the next evening, to print", shot_log, ("Mod+L",)),
    of_squad("filming card", "Filming card, to print", filming_card),
    _of_shots("skip clip", "Leave this clip out", skip, ("Mod+K",)),
    _of_named("make runs", "Make runs of the named clips", make_runs, ("Mod+Return",)),
)
