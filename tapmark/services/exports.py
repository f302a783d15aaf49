"""Tables and notes that leave a squad: the season's measures, raw taps, a note for a physio."""

from collections.abc import Iterator, Sequence
from datetime import date
from pathlib import Path

from tapmark.checklist.words import Words
from tapmark.marks.run import Point, Run, SetUp
from tapmark.measures.card import Card
from tapmark.measures.catalogue import row
from tapmark.measures.change import Limits, compare
from tapmark.measures.free_marks import WHAT, values_of
from tapmark.measures.paths import path_values
from tapmark.measures.result import Measured, Result, Results, printed
from tapmark.report.pages.words import page_words
from tapmark.services.consent import file_name, let_out, write_out
from tapmark.services.measuring import COLUMNS, MeasuredRun, measured_rows, numbers_of
from tapmark.services.places import VisitPlace
from tapmark.services.visits import (
    VisitReading,
    alike,
    card_of,
    in_both,
    marked_before,
    read_visit,
)
from tapmark.store.season import length_on
from tapmark.store.squad import Squad, all_runs
from tapmark.store.tables_csv import TAP_COLUMNS, Cell, csv_bytes, tap_rows

WIDE = 43


def note_lines(place: VisitPlace, today: date, decimal: str = ".") -> Iterator[str]:
    """Yield the note about one visit, and the differences to the marked visit before it.

    Raises StoreError for files that cannot be read.
    """
    reading = read_visit(place, today)
    words = reading.criteria.words
    yield from _head(reading, today, decimal)
    for results in reading.results.all():
        hz = results.rate_hz
        rate = words.say("note.rate", n=f"{hz:.0f}") if hz else words.say("note.no_rate")
        view = f"note.{results.view}_view"
        yield ""
        yield words.say(view, side=results.near_side, n=results.n_steps, rate=rate)
        for result in results.rows.values():
            if isinstance(result, Measured):
                told = row(result.key)
                value = result.shown.replace(".", decimal)
                name, unit = _named(results, result, words), told.unit
                yield f"  {name:{WIDE}} {value:>14} {unit:6} {told.sign}"
    before = marked_before(place.squad, reading.earlier)
    if before:
        was = read_visit(VisitPlace(place.squad, place.code, before.dated), today)
        yield from _differences(was, reading, decimal)


def _head(reading: VisitReading, today: date, decimal: str) -> Iterator[str]:
    athlete, dated, words = reading.athlete, reading.visit.dated, reading.criteria.words
    year = athlete.birth_year
    born = words.say("note.born", year=year) if year else words.say("note.born_unknown")
    code = words.say("note.athlete", code=athlete.code)
    yield words.say("note.title")
    yield ", ".join(filter(None, (code, born, athlete.group)))
    printed = page_words(words)
    filmed, written = printed.iso_date(dated), printed.date(today)
    yield words.say("note.filmed", day=filmed, today=written)
    yield words.say("note.about_numbers")
    yield words.say("note.about_opinions")
    leg = length_on(athlete, "leg", dated)
    if leg:
        length = f"{leg.cm:.1f}".replace(".", decimal)
        day = printed.iso_date(leg.dated) or words.say("note.leg_day_unknown")
        yield words.say("note.leg", cm=length, day=day)
    answers = dict.fromkeys(run.set_up.pain for run in reading.counted)
    yield words.say("note.pain", answers=", ".join(answers))
    yield from dict.fromkeys(_set_up(run.set_up, words) for _, run in reading.runs)
    not_noted = words.say("note.not_noted")
    markers = sorted({run.marked_by or not_noted for _, run in reading.runs})
    yield words.say("note.marked_by", names=", ".join(markers))


def _set_up(answers: SetUp, words: Words) -> str:
    effort = words.say("note.effort", n=answers.effort) if answers.effort else ""
    typed = (answers.zone, answers.shoes, answers.surface, answers.wind)
    told = (answers.context, *typed, answers.camera, effort)
    return words.say("note.run", facts=", ".join(filter(None, told)))


def _differences(before: VisitReading, after: VisitReading, decimal: str) -> Iterator[str]:
    words, like = after.criteria.words, alike(before, after)
    yield ""
    day = page_words(words).iso_date(before.visit.dated)
    yield words.say("note.difference", day=day)
    yield from (f"  {words.say('note.other_conditions', why=each)}" for each in like.refused)
    yield from (f"  {words.say('note.other_lengths', why=each)}" for each in like.refused_lengths)
    yield from (f"  {words.say('note.remark', what=each)}" for each in like.labels)
    for results, was, now in in_both(before, after, like):
        change = compare(was, now, Limits())
        size = printed(change.difference, now.digits, "+")
        value = f"{size} ± {printed(change.smallest, now.digits)}".replace(".", decimal)
        name, unit = _named(results, now, words), row(now.key).unit
        yield f"  {name:{WIDE}} {value:>14} {unit}"


def _named(results: Results, result: Measured, words: Words) -> str:
    side = results.foot(result.leg)
    about = " ≈" if result.is_about else ""
    return f"{row(result.key).name}{f', {side}' if side else ''}{about}"


MARK_COLUMNS = (
    *("date", "code", "run", "view", "near_side", "kind", "name", "picture", "time_s"),
    *(f"{axis}{i}_px" for i in (1, 2, 3) for axis in "xy"),
    *("what", "value", "unit", "plus_minus_95", "reason", "marked_by"),
)


def season_csv(
    squad: Squad, codes: Sequence[str], folder: Path, today: date, decimal: str = "."
) -> Path:
    """Write every measure of every run of the athletes, one row each; return the file.

    decimal: "." or ",". Raises NoConsent for the first who may not be in it, StoreError for a run
    that cannot be read; then nothing is written.
    """
    data = season_table(squad, codes, today, decimal)
    return _write(squad, codes, folder, "season", data, today)


def season_table(squad: Squad, codes: Sequence[str], today: date, decimal: str = ".") -> bytes:
    """Return the bytes of that file."""
    let_out("csv", squad, codes, today)
    rows = (
        cells
        for code, dated, name, run in all_runs(squad, None, codes)
        for cells in measured_rows(MeasuredRun(VisitPlace(squad, code, dated), name, run))
    )
    return csv_bytes(COLUMNS, rows, decimal)


def taps_csv(
    squad: Squad, codes: Sequence[str], folder: Path, today: date, decimal: str = "."
) -> Path:
    """Write every raw tap of the athletes, one row each; return the file. Raises as season_csv."""
    rows = [row for code in codes for row in tap_rows(squad, code, today.isoformat())]
    return _write(squad, codes, folder, "taps", csv_bytes(TAP_COLUMNS, rows, decimal), today)


def marks_csv(
    squad: Squad, codes: Sequence[str], folder: Path, today: date, decimal: str = "."
) -> Path:
    """Write the coach's own lines, angles, notes and paths, one row a value; return the file.

    Raises as season_csv.
    """
    let_out("csv", squad, codes, today)
    rows = [
        (dated, code, name, run.view, run.near_side, *cells, run.marked_by)
        for code, dated, name, run in all_runs(squad, None, codes)
        for cells in _drawn_rows(run, card_of(squad, [run]))
    ]
    return _write(squad, codes, folder, "marks", csv_bytes(MARK_COLUMNS, rows, decimal), today)


def _write(
    squad: Squad, codes: Sequence[str], folder: Path, what: str, data: bytes, today: date
) -> Path:
    """Write a table under the code of a single athlete, or under none for several."""
    named = codes if len(codes) == 1 else ()
    path = folder / file_name(named, what, today.isoformat(), ".csv")
    return write_out("csv", squad, codes, path, data, today)


def _drawn_rows(run: Run, card: Card) -> Iterator[tuple[Cell, ...]]:
    nothing: tuple[Cell, ...] = (None,) * 5
    for mark in run.free_marks:
        values = [_value_cells(each, WHAT[each.key]) for each in values_of(run, mark, card)]
        for cells in values or [nothing]:
            at = (mark.picture, mark.time_s, *_places(mark.at_px))
            yield (mark.kind, mark.words, *at, *cells)
    for path in run.paths:
        for each in path.places:
            at = (each.picture, each.time_s, *_places((each.at_px,)))
            yield ("path", path.point, *at, *nothing)
    for i_step in range(len(run.steps)):
        for what, result in path_values(run, i_step, card):
            cells = _value_cells(result, what)
            yield ("path value", f"step {i_step + 1}", None, None, *_places(()), *cells)


def _places(at_px: tuple[Point, ...]) -> tuple[Cell, ...]:
    flat: list[Cell] = [part for point in at_px for part in point]
    return (*flat, *[None] * (6 - len(flat)))


def _value_cells(result: Result, what: str) -> tuple[Cell, ...]:
    if isinstance(result, Measured):
        value, plus_minus = numbers_of(result)
        return what, value, result.unit, plus_minus, None
    return what, None, None, None, result.reason


def physio_note(
    squad: Squad, code: str, dated: str, folder: Path, today: date, decimal: str = "."
) -> Path:
    """Write a training note about one visit for a physio, numbers with their ±; return the file.

    Raises NoConsent without the consent to share with a physio, StoreError.
    """
    let_out("physio note", squad, (code,), today)
    lines = note_lines(VisitPlace(squad, code, dated), today, decimal)
    data = "\n".join([*lines, ""]).encode("utf-8", "replace")
    path = folder / file_name((code,), "note", dated, ".txt")
    return write_out("physio note", squad, (code,), path, data, today)
