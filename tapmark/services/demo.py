"""The demo: the sample squad copied, measured, and both pages written."""

import shutil
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

from tapmark import disk
from tapmark.leftovers import half_made
from tapmark.marks.run import Run
from tapmark.measures.result import Measured
from tapmark.media_types import is_media, kind_of
from tapmark.services.consent import write_out
from tapmark.services.exports import season_table
from tapmark.services.pages import write_sheet
from tapmark.services.places import VisitPlace
from tapmark.services.samples import FILMED, read_truth, sample_athlete, sample_codes, sample_frames
from tapmark.services.visits import VisitReading, read_visit
from tapmark.store.files import (
    make_folder,
    move_folder,
    read_bytes,
    read_value,
    refuse_write,
    write_bytes,
)
from tapmark.store.pictures import fingerprint, keep_stills, way_to
from tapmark.store.schema import run_from_plain
from tapmark.store.squad import Squad, make_squad

LARGEST_SAMPLE = 4_000_000
TOLD = ("reach", "knee_touchdown", "knee_separation", "leg_stack", "thigh_toe_off")


def free_folder(wanted: Path) -> Path:
    """Return the folder itself, or with the first number behind it that is free."""
    free, n = wanted, 1
    while disk.exists(free):
        n += 1
        free = disk.with_added(wanted, f"-{n}")
    return free


def make_demo(folder: Path, today: date) -> Iterator[str]:
    """Copy the samples into a new folder, measure them, write pages and a table; yield a summary.

    folder: must not exist yet (see free_folder); it appears only when all is made.
    Raises NotThere without samples, CannotWrite.
    """
    samples = sample_frames()
    make_folder(folder.parent)
    half = half_made(folder)
    try:
        told = list(_made(half, samples, today))
        move_folder(half, folder)
    except OSError as error:
        refuse_write(folder, error)
    finally:
        shutil.rmtree(half, ignore_errors=True)
    yield from (line.replace(str(half), str(folder)) for line in told)


def _made(folder: Path, samples: Path, today: date) -> Iterator[str]:
    make_folder(folder)
    squad = make_squad(folder / "squad", "Sample squad")
    squad.save_choices(replace(squad.choices, neck_base="no", marker="S"))
    for code in sample_codes(samples):
        place = _add(squad, samples, code, folder / "film" / code, today)
        pdf = write_sheet(place, "a4", "athlete", today)
        coach = write_sheet(place, "a4", "coach", today)
        yield from _summary(read_visit(place, today))
        yield f"  page:         {pdf}"
        yield f"  coach's copy: {coach}"
    codes, table = squad.codes(), folder / "measures.csv"
    write_out("csv", squad, codes, table, season_table(squad, codes, today), today)
    yield f"All measures:   {table}"
    yield f"The squad:      {squad.folder}"
    yield "Both athletes are drawn. Nobody was filmed."


def _add(squad: Squad, samples: Path, code: str, film: Path, today: date) -> VisitPlace:
    truth = read_truth(samples, code)
    squad.add_athlete(sample_athlete(truth))
    make_folder(film)
    for path in sorted((samples / code).iterdir()):
        if is_media(path.name) or kind_of(path.name) == "page":
            write_bytes(film / path.name, read_bytes(path, LARGEST_SAMPLE))
    run, _ = read_value(samples / code / "run-1.json", run_from_plain)
    name = squad.new_run(code, FILMED, run)
    squad.save_run(code, FILMED, name, _found(run, film, squad.run_path(code, FILMED, name)))
    stills = {
        (0, event, 0): read_bytes(samples / code / still["file"], LARGEST_SAMPLE)
        for event, still in truth["stills"].items()
    }
    keep_stills(squad, code, FILMED, name, stills, today.isoformat())
    return VisitPlace(squad, code, FILMED)


def _found(run: Run, film: Path, run_path: Path) -> Run:
    """Return the run with its pictures where they lie now."""
    if run.source.kind == "stills":
        return replace(run, source=replace(run.source, path=way_to(film, run_path)))
    clip = film / run.source.path
    source = replace(
        run.source,
        path=way_to(clip, run_path),
        size_bytes=disk.size(clip),
        fingerprint=fingerprint(clip),
    )
    return replace(run, source=source)


def _summary(reading: VisitReading) -> Iterator[str]:
    words, said = reading.criteria.words, reading.assessment
    one = ", ".join(each.item.name for each in said.slots) or "nothing: keep this"
    yield f"{reading.athlete.code}, one thing to work on: {one}"
    yield "  does well: " + ", ".join(each.words for each in said.strengths)
    for row in said.rows:
        is_told = row.result.key in TOLD and row.result.leg == "near"
        if is_told and isinstance(row.result, Measured):
            yield f"  {_value(words.row(row.result.key), row.result)}  {words.verdict(row.word)}"


def _value(name: str, measured: Measured) -> str:
    value = f"{measured.value:.{measured.digits}f} ± {measured.plus_minus:.{measured.digits}f}"
    return f"{name:32} {value.replace('-', '−'):>10} {measured.unit:6}"
