"""Clips that moved are found again by their fingerprint; clips that were marked may be let go.

A clip stays where it is, outside the squad or in it; a run knows it by size and first megabyte.
"""

import os
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from tapmark import disk
from tapmark.clip.cache import Cache
from tapmark.errors import HeldByAnother, NotThere, StoreError
from tapmark.marks.days import whose_run
from tapmark.marks.run import Run
from tapmark.store.open_run import open_run
from tapmark.store.pictures import (
    clip_path,
    clip_state,
    clip_uses,
    delete_clip,
    fingerprint,
    kept_stills,
    way_to,
)
from tapmark.store.squad import Squad, Troubles
from tapmark.store.walk import all_runs

PROGRAM = "finding clips again"

RunAt = tuple[str, str, str]
"""Code, ISO date, run."""


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


@dataclass(frozen=True)
class Sought:
    """Where the clips of runs lie now; None for a clip that is in none of the folders."""

    places: tuple[tuple[RunAt, Path | None], ...]


def look_for(squad: Squad, folders: Iterable[Path], troubles: Troubles | None = None) -> Sought:
    """Look for the clips of all runs that are not where they were; nothing is written."""
    wanted = [
        ((code, dated, name), run)
        for code, dated, name, run in all_runs(squad, [] if troubles is None else troubles)
        if run.source.kind == "clip" and run.source.fingerprint
        if clip_state(run.source, squad.run_path(code, dated, name)) != "there"
    ]
    places = _places({run.source.size_bytes for _, run in wanted}, folders) if wanted else {}
    return Sought(
        tuple(
            (at, places.get((run.source.size_bytes, run.source.fingerprint))) for at, run in wanted
        )
    )


def note_found(squad: Squad, sought: Sought, now: datetime) -> Relinked:
    """Note with each run where its clip lies now; raise CannotWrite."""
    found, missing, held = [], [], []
    for at, path in sought.places:
        if path is None:
            missing.append(at)
            continue
        try:
            _note(squad, at, path, now)
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
    bare = [at for at in plan.uses if not _is_marked(squad.load_run(*at))]
    if bare:
        raise StoreError(
            f"{plan.clip.name} is still needed: {', '.join(whose_run(*at) for at in bare)} has "
            "no taps yet. Mark it, or take it out of its visit, then delete the clip."
        )
    delete_clip(plan.clip, squad.load_run(*plan.run).source)
    if disk.is_folder(cache_folder):
        Cache(cache_folder).forget(plan.clip)
    n = plan.n_stills
    kept = f"{n} still{'s' * (n != 1)} and the points stay." if n else "The points stay."
    return f"{plan.clip.name} is deleted. {kept} Copies on the phone are out of reach."


def _is_marked(run: Run) -> bool:
    return next(run.taps(), None) is not None


def _note(squad: Squad, at: RunAt, path: Path, now: datetime) -> None:
    with open_run(squad, *at, PROGRAM, now) as held:
        way = way_to(path, squad.run_path(*at))
        held.save(replace(held.run, source=replace(held.run.source, path=way)))


def _places(sizes: set[int], folders: Iterable[Path]) -> dict[tuple[int, str], Path]:
    """Return (size, fingerprint) -> path; only files of a wanted size are looked into."""
    places: dict[tuple[int, str], Path] = {}
    for path, size in _files(folders):
        if size in sizes:
            try:
                places.setdefault((size, fingerprint(path)), path)
            except StoreError:  # a file that cannot be read is not the one
                continue
    return places


def _files(folders: Iterable[Path]) -> Iterator[tuple[Path, int]]:
    for folder in folders:
        for root, below, names in os.walk(folder):
            below.sort()
            for name in sorted(names):
                path = Path(root) / name
                if not path.is_symlink() and disk.is_file(path):
                    yield path, disk.size(path)
