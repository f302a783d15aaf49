"""Tables and notes that leave a squad: the season's measures, the raw taps, a note for a physio.

Open formats only: CSV in UTF-8 and plain text. File names carry codes and dates, nobody's name.
Every function asks the gate first and again as it writes.
"""

from collections.abc import Iterator, Sequence
from datetime import date
from pathlib import Path

from tapmark.errands.gate import file_name, let_out, write_out
from tapmark.errands.measure_rows import COLUMNS
from tapmark.errands.measuring import measured_rows, runs_of
from tapmark.errands.physio_note import note_lines
from tapmark.errands.places import VisitPlace
from tapmark.store.squad import Squad, Troubles
from tapmark.store.tables_csv import TAP_COLUMNS, Cell, csv_bytes, tap_rows


def season_csv(
    squad: Squad, codes: Sequence[str], folder: Path, today: date, decimal: str = "."
) -> Path:
    """Write every measure of every run of the athletes, one row each; return the file.

    decimal: "." or ",". Raises GateClosed for the first who may not be in it, StoreError for a run
    that cannot be read; then nothing is written.
    """
    data = season_table(squad, codes, today, decimal)
    return write_out("csv", squad, codes, folder / _name(codes, "season", today), data, today)


def season_table(squad: Squad, codes: Sequence[str], today: date, decimal: str = ".") -> bytes:
    """Return the bytes of that file."""
    let_out("csv", squad, codes, today)
    return csv_bytes(COLUMNS, _season_rows(squad, codes, today), decimal)


def taps_csv(
    squad: Squad,
    codes: Sequence[str],
    folder: Path,
    today: date,
    decimal: str = ".",
    troubles: Troubles | None = None,
) -> Path:
    """Write every raw tap of the athletes, one row each; return the file.

    troubles: runs that cannot be read are left out and told there. Raises as season_csv.
    """
    rows = [row for code in codes for row in tap_rows(squad, code, today.isoformat(), troubles)]
    data = csv_bytes(TAP_COLUMNS, rows, decimal)
    return write_out("csv", squad, codes, folder / _name(codes, "taps", today), data, today)


def physio_note(
    squad: Squad, code: str, dated: str, folder: Path, today: date, decimal: str = "."
) -> Path:
    """Write a training note about one visit for a physio, numbers with their ±; return the file.

    Raises GateClosed without the consent to share with a physio, StoreError.
    """
    let_out("physio note", squad, (code,), today)
    lines = note_lines(VisitPlace(squad, code, dated), today, decimal)
    data = "\n".join([*lines, ""]).encode("utf-8", "replace")
    path = folder / file_name((code,), "note", dated, ".txt")
    return write_out("physio note", squad, (code,), path, data, today)


def _season_rows(squad: Squad, codes: Sequence[str], today: date) -> Iterator[tuple[Cell, ...]]:
    for code in codes:
        let_out("csv", squad, (code,), today)
        for dated in squad.visit_dates(code):
            for each in runs_of(VisitPlace(squad, code, dated)):
                yield from measured_rows(each)


def _name(codes: Sequence[str], what: str, today: date) -> str:
    """Return the file's name: the code of a single athlete, or none for several."""
    return file_name(codes if len(codes) == 1 else (), what, today.isoformat(), ".csv")
