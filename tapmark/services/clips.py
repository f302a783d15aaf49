"""Clips found again, an evening's clips named, exact stills written."""

import os
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date, datetime
from itertools import chain
from pathlib import Path

from tapmark import disk
from tapmark.clip.cache import Cache
from tapmark.clip.export import Exported, export_frames
from tapmark.clip.frames import read_header
from tapmark.errors import ClipError, HeldByAnother, NoConsent, NotThere, StoreError
from tapmark.marks.days import several, whose_run
from tapmark.marks.people import Athlete
from tapmark.marks.run import Run, SetUp, Source
from tapmark.progress import Waiting
from tapmark.report.pages.cards import RUNS_EACH
from tapmark.services.consent import let_in
from tapmark.store.open_run import open_run
from tapmark.store.pictures import (
    clip_of,
    clip_path,
    clip_state,
    clip_uses,
    delete_clip,
    fingerprint,
    kept_stills,
    way_to,
)
from tapmark.store.rota import due, evenings, rota
from tapmark.store.shot_list import Shot, ShotList
from tapmark.store.shots import list_path
from tapmark.store.squad import RunAt, Squad, Troubles, all_runs

PROGRAM = "finding clips again"


@dataclass(frozen=True)
class Relinked:
    """What looking for moved clips found.

    found:   (run, where its clip lies now) of runs that were changed.
    missing: runs whose clip is in none of the folders.
    held:    sentences about runs that another window holds; look again later.
    """

    found: tuple[tuple[RunAt, Path], ...]
    missing: tuple[RunAt, ...] = ()
    held: tuple[str, ...] = ()


@dataclass(frozen=True)
class ClipPlan:
    """What deleting the clip of a run would do; showing it is the dry run.

    uses:     every run that came from the clip, this one among them.
    n_stills: stills that are kept beside the run; 0 = only its points stay.
    """

    clip: Path
    run: RunAt
    uses: tuple[RunAt, ...]
    n_stills: int


Sought = tuple[tuple[RunAt, Path | None], ...]
"""Where the clips of runs lie now; None for a clip that is in none of the folders."""


def look_for(squad: Squad, folders: Iterable[Path], troubles: Troubles | None = None) -> Sought:
    """Look for the clips of all runs that are not where they were; nothing is written."""
    wanted = [
        ((code, dated, name), run)
        for code, dated, name, run in all_runs(squad, [] if troubles is None else troubles)
        if run.source.kind == "clip" and run.source.fingerprint
        if clip_state(run.source, squad.run_path(code, dated, name)) != "there"
    ]
    places = _places({run.source.size_bytes for _, run in wanted}, folders) if wanted else {}
    marks = ((at, (run.source.size_bytes, run.source.fingerprint)) for at, run in wanted)
    return tuple((at, places.get(mark)) for at, mark in marks)


def note_found(squad: Squad, sought: Sought, now: datetime) -> Relinked:
    """Note with each run where its clip lies now; raise CannotWrite."""
    found, missing, held = [], [], []
    for at, path in sought:
        if path is None:
            missing.append(at)
            continue
        try:
            with open_run(squad, *at, PROGRAM, now) as run:
                way = way_to(path, squad.run_path(*at))
                run.save(replace(run.run, source=replace(run.run.source, path=way)))
            found.append((at, path))
        except HeldByAnother as busy:
            held.append(str(busy))
    return Relinked(tuple(found), tuple(missing), tuple(held))


def plan_clip_deletion(squad: Squad, run_at: RunAt) -> ClipPlan:
    """Return what deleting the clip of a run would do; raise NotThere when it is not there."""
    run, path = squad.load_run(*run_at), squad.run_path(*run_at)
    clip = clip_path(run.source, path)
    if run.source.kind != "clip" or clip_state(run.source, path) == "gone":
        raise NotThere(f"The clip of {whose_run(*run_at)} is not where it was: nothing to delete.")
    n_stills = len(kept_stills(squad.stills_folder(*run_at)))
    return ClipPlan(clip, run_at, clip_uses(squad, clip), n_stills)


def delete_marked_clip(squad: Squad, plan: ClipPlan, cache_folder: Path) -> str:
    """Delete a clip after marking and say what stays.

    cache_folder: pictures prepared from it go as well. Raises StoreError while one of its runs has
    no taps, FileDamaged when another clip lies under its name, CannotWrite.
    """
    bare = [at for at in plan.uses if next(squad.load_run(*at).taps(), None) is None]
    if bare:
        raise StoreError(
            f"{plan.clip.name} is still needed: {', '.join(whose_run(*at) for at in bare)} has "
            "no taps yet. Mark it, or take it out of its visit, then delete the clip."
        )
    delete_clip(plan.clip, squad.load_run(*plan.run).source)
    if disk.is_folder(cache_folder):
        Cache(cache_folder).forget(plan.clip)
    n = plan.n_stills
    kept = f"{several(n, 'still')} and the points stay." if n else "The points stay."
    return f"{plan.clip.name} is deleted. {kept} Copies on the phone are out of reach."


def _places(sizes: set[int], folders: Iterable[Path]) -> dict[tuple[int, str], Path]:
    """Return (size, fingerprint) -> path; only files of a wanted size are looked into."""
    places: dict[tuple[int, str], Path] = {}
    for root, below, names in chain.from_iterable(map(os.walk, folders)):
        below.sort()
        for path in (Path(root) / name for name in sorted(names)):
            if path.is_symlink() or not disk.is_file(path) or disk.size(path) not in sizes:
                continue
            with suppress(StoreError):  # a file that cannot be read is not the one
                places.setdefault((disk.size(path), fingerprint(path)), path)
    return places


@dataclass(frozen=True)
class TakenIn:
    """What became of an evening's clips.

    runs:    those that were made.
    known:   how many clips had their run already.
    refused: a sentence for each named clip that could not be taken in.
    """

    runs: tuple[RunAt, ...]
    known: int = 0
    refused: tuple[str, ...] = ()


def clip_at(squad: Squad, shots: ShotList, shot: Shot) -> Path:
    """Return where the clip of a shot lies."""
    return disk.resolved(disk.spelled(list_path(squad, shots.dated).parent, shot.path))


def log_order(squad: Squad, today: date) -> tuple[str, ...]:
    """Return the codes of the next evening as they stand on the shot log: once, in order."""
    waiting = due(rota(squad, today.isoformat(), []))
    nights = evenings(waiting, squad.choices.per_evening) if waiting else ()
    return tuple(line.code for line in nights[0]) if nights else ()


def offered(order: Sequence[str]) -> tuple[str, ...]:
    """Return the code offered for each clip: the passes of one athlete follow each other."""
    return tuple(code for code in order for _ in range(RUNS_EACH))


@dataclass(frozen=True)
class Looked:
    """What was read of one named clip: its source as a run keeps it, or why it cannot be used."""

    shot: Shot
    source: Source | None
    refused: str = ""


def look_at(squad: Squad, shots: ShotList, today: date) -> tuple[Looked, ...]:
    """Read each named clip; nothing is written."""
    named = (shot for shot in shots.shots if shot.state == "named")
    return tuple(_looked_at(squad, shots, shot, today) for shot in named)


def make_runs(
    squad: Squad,
    dated: str,
    looked: Sequence[Looked],
    set_up_of: Callable[[Athlete], SetUp],
    today: date,
) -> TakenIn:
    """Make a run of each clip that was looked at; raise CannotWrite.

    set_up_of: the answers about filming to begin with.
    """
    runs, known, refused = [], 0, []
    for each in looked:
        code, source = each.shot.code, each.source
        try:
            if each.refused:
                raise ClipError(each.refused)
            athlete = let_in(squad, code, today)
        except (NoConsent, ClipError) as trouble:
            refused.append(str(trouble))
            continue
        if source is None or _has_run_of(squad, code, dated, each.shot.fingerprint):
            known += 1
        else:
            run = Run(source=source, set_up=set_up_of(athlete), marked_by=squad.choices.marker)
            runs.append((code, dated, squad.new_run(code, dated, run)))
    return TakenIn(tuple(runs), known, tuple(dict.fromkeys(refused)))


def _looked_at(squad: Squad, shots: ShotList, shot: Shot, today: date) -> Looked:
    clip = clip_at(squad, shots, shot)
    try:
        let_in(squad, shot.code, today)
        if not disk.is_file(clip) or fingerprint(clip) != shot.fingerprint:
            raise ClipError(f"“{clip.name}” is not where it was, or another clip lies there.")
        if _has_run_of(squad, shot.code, shots.dated, shot.fingerprint):
            return Looked(shot, None)
        header = read_header(clip)
    except (NoConsent, ClipError) as trouble:
        return Looked(shot, None, str(trouble))
    n = header.n_expected or 0
    source = Source("clip", "", header.size_px, n, duration_s=header.length_s)
    at = squad.run_path(shot.code, shots.dated, "run-1")  # only its folder counts
    return Looked(shot, clip_of(clip, at, source))


def _has_run_of(squad: Squad, code: str, dated: str, print_of_clip: str) -> bool:
    try:
        runs = squad.runs(code, dated, [])
    except StoreError:  # no visit of that day yet
        return False
    return any(run.source.fingerprint == print_of_clip for _, run in runs)


def write_frames(
    clip: Path,
    out: Path,
    part_s: tuple[float | None, float | None],
    say: Callable[[str], None],
    waiting: Waiting,
) -> Exported:
    """Write the stills of a clip, or of a part of it, into the new folder `out`.

    part_s: from and to, seconds on the file's clock since its first picture; None = no limit.
    Raises AlreadyThere for a folder in use, ClipError with the kind of trouble.
    """
    with waiting:
        told = waiting.telling("frames written")
        written = export_frames(clip, out, from_s=part_s[0], to_s=part_s[1], progress=told)
    if written.capture.slow_factor is None:
        say(f"Capture rate {written.capture.source}: capture_time_s stays empty.")
    if written.is_cut:
        say("The clip ends before it should: it was cut off. These are the frames it holds.")
    return written
