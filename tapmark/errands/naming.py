"""An evening's clips with their names become runs: each clip stays where it is, untouched.

A clip that a run of that visit came from already is left alone, so an evening may be taken in
twice, or in two halves.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from tapmark import disk
from tapmark.clip.frames import read_header
from tapmark.errands.gate import let_in
from tapmark.errors import ClipError, GateClosed, StoreError
from tapmark.marks.people import Athlete
from tapmark.marks.run import Run, SetUp, Source
from tapmark.sheet.cards import RUNS_EACH
from tapmark.store.pictures import clip_of, fingerprint
from tapmark.store.rota import due, evenings, rota
from tapmark.store.shot_list import Shot, ShotList
from tapmark.store.shots import list_path
from tapmark.store.squad import Squad


@dataclass(frozen=True)
class TakenIn:
    """What became of an evening's clips.

    runs:    (code, ISO date, run) of the runs that were made.
    known:   how many clips had their run already.
    refused: a sentence for each named clip that could not be taken in.
    """

    runs: tuple[tuple[str, str, str], ...]
    known: int = 0
    refused: tuple[str, ...] = ()


def clip_at(squad: Squad, shots: ShotList, shot: Shot) -> Path:
    """Return where the clip of a shot lies."""
    return disk.resolved(list_path(squad, shots.dated).parent / shot.path)


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
    return tuple(
        _looked_at(squad, shots, shot, today) for shot in shots.shots if shot.state == "named"
    )


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
        shot = each.shot
        try:
            name = _take(squad, dated, each, set_up_of, today)
        except (GateClosed, ClipError) as trouble:
            refused.append(str(trouble))
            continue
        if name:
            runs.append((shot.code, dated, name))
        else:
            known += 1
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
    except (GateClosed, ClipError) as trouble:
        return Looked(shot, None, str(trouble))
    n = header.n_expected or 0
    source = Source("clip", "", header.size_px, n, duration_s=header.length_s)
    at = squad.run_path(shot.code, shots.dated, "run-1")  # only its folder counts
    return Looked(shot, clip_of(clip, at, source))


def _take(
    squad: Squad, dated: str, each: Looked, set_up_of: Callable[[Athlete], SetUp], today: date
) -> str:
    """Return the name of the new run, "" when the visit has one of this clip already."""
    code = each.shot.code
    if each.refused:
        raise ClipError(each.refused)
    athlete = let_in(squad, code, today)
    if each.source is None or _has_run_of(squad, code, dated, each.shot.fingerprint):
        return ""
    run = Run(source=each.source, set_up=set_up_of(athlete), marked_by=squad.choices.marker)
    return squad.new_run(code, dated, run)


def _has_run_of(squad: Squad, code: str, dated: str, print_of_clip: str) -> bool:
    try:
        runs = squad.runs(code, dated, [])
    except StoreError:  # no visit of that day yet
        return False
    return any(run.source.fingerprint == print_of_clip for _, run in runs)
