"""Whose clip is which: an evening's clips one after the other, a code typed for each."""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from functools import partial
from pathlib import Path

from tapmark.app.jobs import Task
from tapmark.app.shell.context import Action, Context
from tapmark.app.shell.runs import for_athlete
from tapmark.app.shell.squads import refresh_roster
from tapmark.app.shell.why_disabled import needs_squad, today
from tapmark.app.state.form import FieldTrouble
from tapmark.app.state.session import Glance
from tapmark.app.state.titles import several
from tapmark.clip.cache import Cache
from tapmark.clip.frames import begin_clip, read_header
from tapmark.clip.strip import key_strip
from tapmark.errors import NotThere
from tapmark.services.clips import Looked, clip_at, log_order, look_at, offered
from tapmark.services.clips import make_runs as from_clips
from tapmark.services.consent import hand_over
from tapmark.services.pages import write_filming_card, write_shot_log
from tapmark.store.shot_list import ShotList
from tapmark.store.shots import clips_in, load_list, name_shot, new_list, save_list, skip_shot
from tapmark.store.squad import Squad, open_squad

PAGE = "naming"
GLANCE_S = 0.2
STRIP = 5


def ask_clips(context: Context) -> None:
    """Ask for a folder full of clips and begin to name them, or go on where it was left."""
    squad = context.state.squad
    folder = context.ask.folder("Name clips: choose the folder from the phone") if squad else None
    if folder is None or squad is None:
        return
    clips = clips_in(folder)
    dated = min(_filmed(clips[0]), today(context))
    shots = _known_or_new(squad, dated, clips, context)
    naming_page = context.state.around.naming
    naming_page.shots, context.state.back, naming_page.glances, naming_page.looking = (
        shots,
        "squad",
        {},
        "",
    )
    first = shots.next_unnamed()
    naming_page.i_shot = 0 if first is None else first
    context.go(PAGE)


def _filmed(clip: Path) -> str:
    return datetime.fromtimestamp(clip.stat().st_mtime).date().isoformat()


def _known_or_new(squad: Squad, dated: str, clips: tuple[Path, ...], context: Context) -> ShotList:
    """Return the list of the evening; clips that came since stand at its end."""
    order = offered(log_order(squad, context.now().date()))
    new = new_list(squad, dated, clips, order)
    try:
        old = load_list(squad, dated)
    except NotThere:
        return new
    known = {shot.fingerprint for shot in old.shots}
    added = (replace(s, code="") for s in new.shots if s.fingerprint not in known)
    return replace(old, shots=(*old.shots, *added))


def name_it(context: Context, code: str) -> None:
    """Name the clip at hand and go on to the next; raise FieldTrouble for an unknown code."""
    naming_page = context.state.around.naming
    squad = context.state.squad
    if naming_page.shots is None or squad is None:
        return
    code = code.strip()
    known = {each.lower(): each for each in squad.codes()}
    if code.lower() not in known:
        raise FieldTrouble("code", f"The squad has no athlete “{code}”. {_near(code, known)}")
    _keep(context, name_shot(naming_page.shots, naming_page.i_shot, known[code.lower()]))


def name_here(context: Context, code: str) -> None:
    """Name the clip at hand and stay at it; raise FieldTrouble for an unknown code."""
    naming_page = context.state.around.naming
    here = naming_page.i_shot
    name_it(context, code)
    naming_page.i_shot = here


def _near(code: str, known: dict[str, str]) -> str:
    near = [each for low, each in known.items() if code and low.startswith(code.lower()[:1])]
    return f"There is {', '.join((near or list(known.values()))[:8])}." if known else ""


def skip(context: Context) -> None:
    """Leave the clip at hand out: it was no run."""
    naming_page = context.state.around.naming
    if naming_page.shots:
        _keep(context, skip_shot(naming_page.shots, naming_page.i_shot))


def _keep(context: Context, shots: ShotList) -> None:
    """Write the list and go to the next clip without a name."""
    naming_page = context.state.around.naming
    squad = context.state.squad
    if squad is None:
        return
    save_list(squad, shots)
    context.saver.note_saved()
    naming_page.shots = shots
    following = shots.next_unnamed(naming_page.i_shot)
    following = shots.next_unnamed() if following is None else following
    naming_page.i_shot = (
        min(naming_page.i_shot + 1, len(shots.shots) - 1) if following is None else following
    )
    context.state.status = ""
    context.state.notify()


def to_shot(context: Context, by: int) -> None:
    """Look at the next or the previous clip."""
    naming_page = context.state.around.naming
    if naming_page.shots:
        naming_page.i_shot = min(max(0, naming_page.i_shot + by), len(naming_page.shots.shots) - 1)
    context.state.notify()


def look(context: Context) -> None:
    """Fetch what is to be seen of the clip at hand, beside the window."""
    naming_page = context.state.around.naming
    squad = context.state.squad
    if naming_page.shots is None or squad is None:
        return
    shot = naming_page.shots.shots[naming_page.i_shot]
    key = shot.fingerprint
    if key in naming_page.glances or naming_page.looking == key:
        return
    naming_page.looking = key
    clip, cache_folder = clip_at(squad, naming_page.shots, shot), context.cache_folder

    def done(glance: Glance) -> None:
        naming_page.glances[key] = glance
        naming_page.looking = ""
        context.state.notify()

    def failed(trouble: object) -> None:
        naming_page.glances[key] = None
        naming_page.looking = ""
        context.state.status = str(trouble)
        context.state.notify()

    context.jobs.run(
        "glance", lambda task: glance_at(clip, cache_folder, task), done, failed, by="squad"
    )


def glance_at(clip: Path, cache_folder: Path, task: Task) -> Glance:
    """Return the first picture of a clip and a few others; raise ClipError, Cancelled."""
    header = read_header(clip)
    begun = begin_clip(
        clip,
        cache_folder,
        part=(0.0, GLANCE_S),
        header=header,
        is_cancelled=task.is_cancelled,
    )
    try:
        first = begun.preview(0).convert("RGB")
    finally:
        begun.close()
    found = key_strip(header, Cache(cache_folder), STRIP, task.is_cancelled)
    return Glance(first, tuple(picture.convert("RGB") for _, picture in found[:STRIP]))


def make_runs(context: Context) -> None:
    """Make a run of each named clip; nothing of the clips is touched."""
    naming_page = context.state.around.naming
    squad = context.state.squad
    if naming_page.shots is None or squad is None:
        return
    shots, folder, now = naming_page.shots, squad.folder, context.now().date()
    context.state.status = "Making the runs …"
    context.jobs.run(
        "copy",
        lambda task: look_at(open_squad(folder, []), shots, now),
        lambda looked: context.attempt(lambda: _make(context, shots.dated, looked)),
        context.failed,
        by="squad",
    )
    context.state.notify()


def _make(context: Context, dated: str, looked: tuple[Looked, ...]) -> None:
    squad = context.state.squad
    if squad is None:
        return
    set_up_of = partial(for_athlete, squad.choices.set_up)
    taken = from_clips(squad, dated, looked, set_up_of, context.now().date())
    refresh_roster(context)
    said = [f"{several(len(taken.runs), 'run')} made; Return on the Squad page opens them."]
    if taken.known:
        said.append(f"{several(taken.known, 'clip')} had a run already.")
    context.state.status = " ".join((*said, *taken.refused))
    context.state.notify()


def paper_out(context: Context, write: Callable[[Squad, Context], Path]) -> None:
    """Write a card for the track and open it."""
    squad = context.state.squad
    if squad:
        path = write(squad, context)
        context.open_file(hand_over(squad, path, context.now().date()))
        context.state.status = f"Written: {path}"
        context.state.notify()


def _log(squad: Squad, context: Context) -> Path:
    now = context.now().date()
    return write_shot_log(squad, log_order(squad, now), now, context.state.paper)


def _card(squad: Squad, context: Context) -> Path:
    return write_filming_card(squad, context.now().date(), context.state.paper)


def _needs_shots(context: Context) -> str:
    return (
        ""
        if context.state.around.naming.shots
        else "Choose a folder of clips on the Squad page first."
    )


def _needs_named(context: Context) -> str:
    shots = context.state.around.naming.shots
    has = shots is not None and any(shot.state == "named" for shot in shots.shots)
    return _needs_shots(context) or ("" if has else "Name a clip first.")


_NAMING = (PAGE,)
_SQUAD = ("squad",)
ACTIONS = (
    Action(
        "name clips",
        "Name a folder full of clips…",
        ask_clips,
        ("K",),
        _SQUAD,
        "Squad",
        needs_squad,
    ),
    Action(
        "shot log",
        "Shot log of the next evening, to print",
        partial(paper_out, write=_log),
        ("L",),
        _SQUAD,
        "Squad",
        needs_squad,
    ),
    Action(
        "filming card",
        "Filming card, to print",
        partial(paper_out, write=_card),
        (),
        _SQUAD,
        "Squad",
        needs_squad,
    ),
    Action("skip clip", "Leave this clip out", skip, ("Mod+K",), _NAMING, "Clips", _needs_shots),
    Action(
        "make runs",
        "Make runs of the named clips",
        make_runs,
        ("Mod+Return",),
        _NAMING,
        "Clips",
        _needs_named,
    ),
)
