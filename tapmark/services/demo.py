"""The demo: the sample squad copied, measured, and both pages written."""

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

from tapmark import disk
from tapmark.leftovers import half_made
from tapmark.measures.result import Measured
from tapmark.media_types import is_media, kind_of
from tapmark.services.consent import write_out
from tapmark.services.exports import season_table
from tapmark.services.pages import numbered, write_sheet
from tapmark.services.places import VisitPlace
from tapmark.services.samples import (
    FILMED,
    earlier_visits,
    read_truth,
    sample_athlete,
    sample_codes,
    sample_frames,
)
from tapmark.services.visits import read_visit
from tapmark.store.files import (
    make_folder,
    move_folder,
    read_bytes,
    read_value,
    refuse_write,
    write_bytes,
)
from tapmark.store.pictures import clip_of, keep_stills, way_to
from tapmark.store.schema import RUN_FILE
from tapmark.store.squad import Squad, make_squad, open_squad

SHOWN = ("P02", FILMED, "run-1")
"""Code, date and run of the sample that the window opens on: there is something to see."""
LARGEST_SAMPLE = 4_000_000
TICKED = ((4, "harder"), (7, "same"), (11, ""), (14, "same"), (18, "easier"))
"""Invented sessions: days after the sheet, two a week, the third left out, and what was felt."""
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
    with _whole(folder) as half:
        told = list(_made(half, today))
    yield from (line.replace(str(half), str(folder)) for line in told)


@contextmanager
def _whole(folder: Path) -> Iterator[Path]:
    """A folder to make things in; it gets its name only when all is made. Raises CannotWrite."""
    make_folder(folder.parent)
    half = half_made(folder)
    try:
        yield half
        move_folder(half, folder)
    except OSError as error:
        refuse_write(folder, error)
    finally:
        shutil.rmtree(half, ignore_errors=True)


def make_sample_squad(folder: Path, today: date) -> Squad:
    """Make the sample squad in a new folder, with its film beside it, and return it.

    folder: must not exist yet; it appears only when all is made. Raises NotThere without samples,
    CannotWrite.
    """
    with _whole(folder) as half:
        _squad(half, today)
    return open_squad(folder / "squad")


def _squad(folder: Path, today: date) -> Squad:
    """Make the squad: every athlete with every visit, and what was chosen on the earlier ones."""
    samples = sample_frames()
    make_folder(folder)
    squad = make_squad(folder / "squad", "Sample squad")
    squad.save_choices(replace(squad.choices, neck_base="no", marker="S"))
    for code in sample_codes(samples):
        film = folder / "film" / code
        truth = read_truth(samples, code)
        squad.add_athlete(sample_athlete(truth))
        for dated in earlier_visits(samples, code):
            _add_run(squad, samples / code / dated, code, dated, film / dated)
            first = date.fromisoformat(dated)
            reading = read_visit(VisitPlace(squad, code, dated), first)
            ticked = tuple(
                ((first + timedelta(days=days)).isoformat(), days != 11, felt)
                for days, felt in TICKED
            )
            squad.save_visit(replace(numbered(reading), ticked=ticked))
        name = _add_run(squad, samples / code, code, FILMED, film)
        stills = {
            (0, event, 0): read_bytes(samples / code / still["file"], LARGEST_SAMPLE)
            for event, still in truth["stills"].items()
        }
        keep_stills(squad, code, FILMED, name, stills, today.isoformat())
    return squad


def _made(folder: Path, today: date) -> Iterator[str]:
    squad = _squad(folder, today)
    for code in squad.codes():
        place = VisitPlace(squad, code, FILMED)
        pdf = write_sheet(place, "a4", "athlete", today)
        coach = write_sheet(place, "a4", "coach", today)
        reading = read_visit(place, today)
        words, said = reading.criteria.words, reading.assessment
        one = ", ".join(each.item.name for each in said.slots) or "nothing: keep this"
        yield f"{reading.athlete.code}, one thing to work on: {one}"
        yield "  does well: " + ", ".join(each.words for each in said.strengths)
        for row in said.rows:
            is_told = row.result.key in TOLD and row.result.leg == "near"
            if is_told and isinstance(row.result, Measured):
                name, unit = words.row(row.result.key), row.result.unit
                yield f"  {name:32} {row.result.shown:>10} {unit:6}  {words.verdict(row.word)}"
        yield f"  page:         {pdf}"
        yield f"  coach's copy: {coach}"
    codes, table = squad.codes(), folder / "measures.csv"
    write_out("csv", squad, codes, table, season_table(squad, codes, today), today)
    yield f"All measures:   {table}"
    yield f"The squad:      {squad.folder}"
    yield "Both athletes are drawn. Nobody was filmed."


def _add_run(squad: Squad, sample: Path, code: str, dated: str, film: Path) -> str:
    """Put the pictures of a visit beside the squad and its run into it; return the run's name."""
    make_folder(film)
    for path in sorted(sample.iterdir()):
        if is_media(path.name) or kind_of(path.name) == "page":
            write_bytes(film / path.name, read_bytes(path, LARGEST_SAMPLE))
    run, _ = read_value(sample / "run-1.json", RUN_FILE.read)
    name = squad.new_run(code, dated, run)
    at = squad.run_path(code, dated, name)
    if run.source.kind == "stills":
        source = replace(run.source, path=way_to(film, at))
    else:
        source = clip_of(film / run.source.path, at, run.source)
    squad.save_run(code, dated, name, replace(run, source=source))
    return name
