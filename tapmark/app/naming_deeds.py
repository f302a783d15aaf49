"""Whose clip is which: an evening's clips one after the other, a code typed for each.

The clips stay untouched where they are. What is typed is written at once, so the naming can be
broken off and taken up again.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from functools import partial
from pathlib import Path

from PIL import Image

from tapmark.app.action import Action
from tapmark.app.desk import Desk
from tapmark.app.form import FieldTrouble
from tapmark.app.jobs import Task
from tapmark.app.run_deeds import for_athlete
from tapmark.app.squad_deeds import needs_squad, refresh_roster, today
from tapmark.app.titles import several
from tapmark.clip.cache import Cache
from tapmark.clip.frames import begin_clip, read_header
from tapmark.clip.strip import key_strip
from tapmark.errands.gate import hand_over
from tapmark.errands.naming import Looked, clip_at, log_order, look_at, offered
from tapmark.errands.naming import make_runs as from_clips
from tapmark.errands.paper import write_filming_card, write_shot_log
from tapmark.errors import NotThere
from tapmark.store.shot_list import ShotList
from tapmark.store.shots import (
    clips_in,
    load_list,
    name_shot,
    new_list,
    save_list,
    skip_shot,
)
from tapmark.store.squad import Squad, open_squad

PAGE = "naming"
GLANCE_S = 0.2
STRIP = 5


@dataclass(frozen=True)
class Glance:
    """What is seen of a clip: its first picture, where a slate would be, and a few more."""

    first: Image.Image
    strip: tuple[Image.Image, ...]


def ask_clips(desk: Desk) -> None:
    """Ask for a folder full of clips and begin to name them, or go on where it was left."""
    squad = desk.state.squad
    folder = desk.ask.folder("Name clips: choose the folder from the phone") if squad else None
    if folder is None or squad is None:
        return
    clips = clips_in(folder)
    dated = min(_filmed(clips[0]), today(desk))
    shots = _known_or_new(squad, dated, clips, desk)
    side = desk.state.side
    side.shots, side.back, side.glances, side.looking = shots, "squad", {}, ""
    first = shots.next_unnamed()
    side.i_shot = 0 if first is None else first
    desk.go(PAGE)


def _filmed(clip: Path) -> str:
    return datetime.fromtimestamp(clip.stat().st_mtime).date().isoformat()


def _known_or_new(squad: Squad, dated: str, clips: tuple[Path, ...], desk: Desk) -> ShotList:
    """Return the list of the evening; clips that came since stand at its end."""
    order = offered(log_order(squad, desk.now().date()))
    new = new_list(squad, dated, clips, order)
    try:
        old = load_list(squad, dated)
    except NotThere:
        return new
    known = {shot.fingerprint for shot in old.shots}
    added = (replace(s, code="") for s in new.shots if s.fingerprint not in known)
    return replace(old, shots=(*old.shots, *added))


def name_it(desk: Desk, code: str) -> None:
    """Name the clip at hand and go on to the next; raise FieldTrouble for an unknown code."""
    side, squad = desk.state.side, desk.state.squad
    if side.shots is None or squad is None:
        return
    code = code.strip()
    known = {each.lower(): each for each in squad.codes()}
    if code.lower() not in known:
        raise FieldTrouble("code", f"The squad has no athlete “{code}”. {_near(code, known)}")
    _keep(desk, name_shot(side.shots, side.i_shot, known[code.lower()]))


def name_here(desk: Desk, code: str) -> None:
    """Name the clip at hand and stay at it; raise FieldTrouble for an unknown code."""
    side = desk.state.side
    here = side.i_shot
    name_it(desk, code)
    side.i_shot = here


def _near(code: str, known: dict[str, str]) -> str:
    near = [each for low, each in known.items() if code and low.startswith(code.lower()[:1])]
    return f"There is {', '.join((near or list(known.values()))[:8])}." if known else ""


def skip(desk: Desk) -> None:
    """Leave the clip at hand out: it was no run."""
    side = desk.state.side
    if side.shots:
        _keep(desk, skip_shot(side.shots, side.i_shot))


def _keep(desk: Desk, shots: ShotList) -> None:
    """Write the list and go to the next clip without a name."""
    side, squad = desk.state.side, desk.state.squad
    if squad is None:
        return
    save_list(squad, shots)
    desk.note_saved()
    side.shots = shots
    following = shots.next_unnamed(side.i_shot)
    following = shots.next_unnamed() if following is None else following
    side.i_shot = min(side.i_shot + 1, len(shots.shots) - 1) if following is None else following
    desk.state.said = ""
    desk.state.tell()


def to_shot(desk: Desk, by: int) -> None:
    """Look at the next or the previous clip."""
    side = desk.state.side
    if side.shots:
        side.i_shot = min(max(0, side.i_shot + by), len(side.shots.shots) - 1)
    desk.state.tell()


def look(desk: Desk) -> None:
    """Fetch what is to be seen of the clip at hand, beside the window."""
    side, squad = desk.state.side, desk.state.squad
    if side.shots is None or squad is None:
        return
    shot = side.shots.shots[side.i_shot]
    key = shot.fingerprint
    if key in side.glances or side.looking == key:
        return
    side.looking = key
    clip, cache_folder = clip_at(squad, side.shots, shot), desk.cache_folder

    def done(glance: Glance) -> None:
        side.glances[key] = glance
        side.looking = ""
        desk.state.tell()

    def failed(trouble: object) -> None:
        side.glances[key] = None
        side.looking = ""
        desk.state.said = str(trouble)
        desk.state.tell()

    desk.jobs.run(
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


def make_runs(desk: Desk) -> None:
    """Make a run of each named clip; nothing of the clips is touched."""
    side, squad = desk.state.side, desk.state.squad
    if side.shots is None or squad is None:
        return
    shots, folder, now = side.shots, squad.folder, desk.now().date()
    desk.state.said = "Making the runs …"
    desk.jobs.run(
        "copy",
        lambda task: look_at(open_squad(folder, []), shots, now),
        lambda looked: desk.attempt(lambda: _make(desk, shots.dated, looked)),
        desk.failed,
        by="squad",
    )
    desk.state.tell()


def _make(desk: Desk, dated: str, looked: tuple[Looked, ...]) -> None:
    squad = desk.state.squad
    if squad is None:
        return
    set_up_of = partial(for_athlete, squad.choices.set_up)
    taken = from_clips(squad, dated, looked, set_up_of, desk.now().date())
    refresh_roster(desk)
    said = [f"{several(len(taken.runs), 'run')} made; Return on the Squad page opens them."]
    if taken.known:
        said.append(f"{several(taken.known, 'clip')} had a run already.")
    desk.state.said = " ".join((*said, *taken.refused))
    desk.state.tell()


def paper_out(desk: Desk, write: Callable[[Squad, Desk], Path]) -> None:
    """Write a card for the track and open it."""
    squad = desk.state.squad
    if squad:
        path = write(squad, desk)
        desk.open_file(hand_over(squad, path, desk.now().date()))
        desk.state.said = f"Written: {path}"
        desk.state.tell()


def _log(squad: Squad, desk: Desk) -> Path:
    now = desk.now().date()
    return write_shot_log(squad, log_order(squad, now), now, desk.paper)


def _card(squad: Squad, desk: Desk) -> Path:
    return write_filming_card(squad, desk.now().date(), desk.paper)


def _needs_shots(desk: Desk) -> str:
    return "" if desk.state.side.shots else "Choose a folder of clips on the Squad page first."


def _needs_named(desk: Desk) -> str:
    shots = desk.state.side.shots
    has = shots is not None and any(shot.state == "named" for shot in shots.shots)
    return _needs_shots(desk) or ("" if has else "Name a clip first.")


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
