"""Athletes from a CSV file: a preview with the line of every problem, then the import.

Takes what spreadsheets write: UTF-8 with or without a byte order mark, UTF-16, the old western
code page; commas, semicolons or tabs; comma or point decimals. Refuses what should not be in a
squad: names in place of codes, full dates of birth, cells that are formulas.
"""

import codecs
import csv
import io
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from tapmark.errors import FileDamaged, StoreError
from tapmark.marks.people import Athlete, Length
from tapmark.store import names
from tapmark.store.shown import shown, shown_text
from tapmark.store.squad import Squad

LARGEST = 2_000_000  # bytes
MOST_ROWS = 500
LONGEST_CELL = 1_000

_COLUMNS = {
    "code": ("code", "initials"),
    "birth_year": ("year of birth", "birth year", "born", "year"),
    "group": ("event group", "group", "event"),
    "leg_cm": ("leg length cm", "leg cm", "leg length", "leg"),
    "height_cm": ("height cm", "height"),
    "measured": ("measured on", "measured", "date measured", "date"),
    "mass_kg": ("mass kg", "mass"),
    "notes": ("notes", "side notes", "note"),
}
_FULL_DATE = re.compile(r"\d{1,4}[./-]\d{1,2}[./-]\d{1,4}")
_NUMBER = re.compile(r"\d{1,4}([.,]\d{1,3})?")
_RANGES = {"leg": (40.0, 130.0, "cm"), "height": (100.0, 230.0, "cm"), "mass": (15.0, 200.0, "kg")}


@dataclass(frozen=True)
class Problem:
    """Something in the file that cannot be taken; line as a text editor counts it, from 1."""

    line: int
    words: str


@dataclass(frozen=True)
class Preview:
    """What an import would add.

    ignored:   headings that mean nothing here.
    encoding, delimiter: how the file was read, to be shown.
    """

    athletes: tuple[Athlete, ...]
    problems: tuple[Problem, ...]
    ignored: tuple[str, ...]
    encoding: str
    delimiter: str


def preview_athletes(data: bytes, taken: Iterable[str], today: str) -> Preview:
    """Return the athletes in a CSV file and what is wrong with its other lines.

    taken: codes that the squad has already. today: ISO date, for lengths without one.
    Raises FileDamaged when nothing can be read at all: too large, no text, no column "code".
    """
    text, encoding = _decoded(data)
    first_line = text.lstrip().split("\n", 1)[0]
    delimiter = max((",", ";", "\t"), key=first_line.count)
    rows = _rows(text, delimiter)
    columns, ignored = _columns(next(rows, (1, []))[1])
    taken_by = {code.lower(): "the squad already" for code in taken}
    athletes, problems = [], []
    for line, cells in rows:
        if not any(cell.strip() for cell in cells):
            continue
        try:
            row = {key: cells[i].strip() for key, i in columns.items() if i < len(cells)}
            athlete = _athlete(row, taken_by, today)
            taken_by[athlete.code.lower()] = f"line {line}"
            athletes.append(athlete)
        except StoreError as error:
            problems.append(Problem(line, str(error)))
    return Preview(tuple(athletes), tuple(problems), ignored, encoding, delimiter)


def import_athletes(squad: Squad, preview: Preview) -> int:
    """Add the athletes of a preview and return how many; raise as Squad.add_athlete."""
    for athlete in preview.athletes:
        squad.add_athlete(athlete)
    return len(preview.athletes)


def _decoded(data: bytes) -> tuple[str, str]:
    if len(data) > LARGEST:
        raise FileDamaged(f"The file is larger than {LARGEST // 1_000_000} MB: no list of names.")
    is_wide = data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
    for encoding in ("utf-16",) if is_wide else ("utf-8-sig", "cp1252"):
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            return text, encoding
    raise FileDamaged("The file is no text. Save the table as “CSV UTF-8” and try again.")


def _rows(text: str, delimiter: str) -> Iterator[tuple[int, list[str]]]:
    """Yield (line, cells); the line is where the row begins."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=False)
    line = 1
    try:
        for n_rows, cells in enumerate(reader):
            if n_rows > MOST_ROWS:
                raise FileDamaged(f"The table has more than {MOST_ROWS} rows. Split it first.")
            yield line, cells
            line = reader.line_num + 1
    except csv.Error as error:
        raise FileDamaged(f"Line {reader.line_num} cannot be read: {error}.") from None


def _columns(headings: list[str]) -> tuple[dict[str, int], tuple[str, ...]]:
    """Return key -> column, and the headings that mean nothing here."""
    columns: dict[str, int] = {}
    ignored = []
    for i, heading in enumerate(headings):
        word = re.sub(r"[\s_()\[\]]+", " ", heading).strip().lower()
        key = next((key for key, words in _COLUMNS.items() if word in words), "")
        if key and key not in columns:
            columns[key] = i
        elif heading.strip():
            ignored.append(shown_text(heading.strip(), 40))
    if "code" not in columns:
        shown = ", ".join(f"“{each}”" for each in ignored[:6]) or "nothing"
        raise FileDamaged(
            f"The first line must name the columns, one of them “code”; it has {shown}."
        )
    return columns, tuple(ignored)


def _athlete(row: dict[str, str], taken_by: dict[str, str], today: str) -> Athlete:
    for key, cell in row.items():
        if cell.startswith(("=", "+", "-", "@")):
            raise StoreError(
                f"The cell {shown(cell)} under “{key}” is a formula. Write the value instead."
            )
        if len(cell) > LONGEST_CELL:
            raise StoreError(f"The cell under “{key}” is longer than {LONGEST_CELL} letters.")
    code = names.check_new_code(row["code"], ())
    if code.lower() in taken_by:
        raise StoreError(f"The code “{code}” is in {taken_by[code.lower()]}.")
    athlete = Athlete(code, _year(row.get("birth_year", ""), today), notes=row.get("notes", ""))
    measured = names.check_day(row.get("measured") or today)
    lengths = tuple(
        Length(what, cm, measured)
        for what in ("leg", "height")
        if (cm := _number(row.get(f"{what}_cm", ""), what))
    )
    mass_kg = _number(row.get("mass_kg", ""), "mass")
    return replace(athlete, group=row.get("group", "")[:200], lengths=lengths, mass_kg=mass_kg)


def _year(cell: str, today: str) -> int | None:
    if not cell:
        return None
    if _FULL_DATE.fullmatch(cell):
        raise StoreError("Only the year of birth is kept, not the date. Write the year alone.")
    latest = int(today[:4])
    if not re.fullmatch(r"[0-9]{4}", cell) or not latest - 110 <= int(cell) <= latest - 4:
        raise StoreError(f"{shown(cell)} is not a year of birth. Write it like {latest - 16}.")
    return int(cell)


def _number(cell: str, what: str) -> float | None:
    if not cell:
        return None
    value = float(cell.replace(",", ".")) if _NUMBER.fullmatch(cell) else 0.0
    low, high, unit = _RANGES[what]
    if not low <= value <= high:
        raise StoreError(f"{shown(cell)} is not a {what} in {unit} ({low:g} to {high:g}).")
    return value
