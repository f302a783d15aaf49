"""Read a TOML file of bands or words, and say plainly which key of which file is wrong."""

import tomllib
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from tapmark import disk
from tapmark.errors import CriteriaUnreadable
from tapmark.kinds import Flag, Kind, Many, NotAsExpected, Number, Text, Whole

FORMAT = 1
LARGEST = 2_000_000  # bytes of a file of bands or words


@dataclass(frozen=True)
class Table:
    """A table of a TOML file together with where it stands, for messages.

    file:   name of the file as a person knows it.
    at:     dotted key of the table, "" for the whole file.
    """

    file: str
    at: str
    values: Mapping[str, object]

    def __contains__(self, key: str) -> bool:
        return key in self.values

    def key(self, name: str) -> str:
        """Return the full dotted key of an entry."""
        return f"{self.at}.{name}" if self.at else name

    def refuse(self, name: str, trouble: str) -> CriteriaUnreadable:
        """Return the error to raise for an entry."""
        return CriteriaUnreadable(f"{self.file}: “{self.key(name)}” {trouble}")

    def text(self, name: str) -> str:
        """Return a text; raises CriteriaUnreadable when it is missing or something else."""
        return str(self._read(name, Text()))

    def number(self, name: str) -> float:
        """Return a finite number; raises as text."""
        return float(self._read(name, Number()))

    def whole(self, name: str) -> int:
        """Return a whole number; raises as text."""
        return int(self._read(name, Whole(-(10**12))))

    def truth(self, name: str) -> bool:
        """Return true or false; false when the entry is left out."""
        return name in self and bool(self._read(name, Flag()))

    def day(self, name: str) -> date:
        """Return a date; TOML writes it without quotes: 2026-11-25."""
        value = self._entry(name)
        if type(value) is not date:
            raise self.refuse(name, f"should be a date like 2026-11-25, not {value!r}.")
        return value

    def texts(self, name: str) -> tuple[str, ...]:
        """Return a list of texts; empty when the entry is left out."""
        return tuple(self._read(name, Many(Text()))) if name in self else ()

    def wholes(self, name: str) -> tuple[int, ...]:
        """Return a list of whole numbers; empty when the entry is left out."""
        return (
            tuple(self._read(name, Many(Whole(-(10**12), is_strict=True)))) if name in self else ()
        )

    def table(self, name: str) -> "Table":
        """Return a table inside this one; an empty one when it is left out."""
        value = self.values.get(name, {})
        if not isinstance(value, dict):
            raise self.refuse(name, "should be a table.")
        return Table(self.file, self.key(name), value)

    def tables(self, name: str) -> tuple["Table", ...]:
        """Return a list of tables; one table counts as a list of one."""
        value = self.values.get(name, [])
        if isinstance(value, dict):
            return (self.table(name),)
        if not isinstance(value, list) or not all(isinstance(each, dict) for each in value):
            raise self.refuse(name, "should be a table or a list of tables.")
        return tuple(
            Table(self.file, self.key(f"{name} {i + 1}"), each) for i, each in enumerate(value)
        )

    def inner(self) -> Iterator[tuple[str, "Table"]]:
        """Yield every table inside this one with its name."""
        for name in self.values:
            yield name, self.table(name)

    def refuse_others(self, known: Collection[str]) -> None:
        """Raise CriteriaUnreadable for an entry nobody reads: most often it is misspelt."""
        for name in self.values:
            if name not in known:
                raise self.refuse(name, f"is not known here. Known are: {', '.join(known)}.")

    def _read(self, name: str, kind: Kind) -> Any:
        try:
            return kind.read(self._entry(name), [])
        except NotAsExpected as wrong:
            raise self.refuse(name, f"should be {wrong.expected}, not {wrong.value!r}.") from None

    def _entry(self, name: str) -> object:
        if name not in self.values:
            raise self.refuse(name, "is missing. Add it.")
        return self.values[name]


def read(path: Path, shown_as: str = "") -> Table:
    """Read a TOML file of format 1.

    Raises CriteriaUnreadable, with the file and what is wrong, for a file that is not there, is
    not TOML or was written for a newer version.
    """
    name = shown_as or path.name
    try:
        values = tomllib.loads(disk.read(path, LARGEST).decode("utf-8"))
    except OSError as trouble:
        words = f"{name} cannot be read: {disk.reason(trouble)}."
        raise CriteriaUnreadable(words) from trouble
    except UnicodeDecodeError as trouble:
        raise CriteriaUnreadable(f"{name} is not UTF-8 text. Save it as UTF-8.") from trouble
    except tomllib.TOMLDecodeError as trouble:
        raise CriteriaUnreadable(f"{name} is not a TOML file: {trouble}. Mend it.") from trouble
    except RecursionError:
        raise CriteriaUnreadable(f"{name} holds too many brackets within brackets.") from None
    table = Table(name, "", values)
    _refuse_other_format(table)
    return table


def _refuse_other_format(table: Table) -> None:
    number = table.whole("format")
    if number > FORMAT:
        raise table.refuse(
            "format", f"is {number}, and this Tapmark reads up to {FORMAT}. Update Tapmark."
        )
    if number < FORMAT:
        raise table.refuse("format", f"should be {FORMAT}, not {number}.")
