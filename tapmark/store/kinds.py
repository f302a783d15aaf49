"""What a value in a file may be: read strictly, written plainly, described as JSON Schema.

A kind reads one plain JSON value into ours, writes it back, and describes itself, so that what is
accepted and what is documented cannot drift apart. NotAsExpected is for this room only: schema
turns it into a FileDamaged that names key and value.
"""

import re
from dataclasses import dataclass
from datetime import date
from typing import Any, Protocol

Path = tuple[str, ...]
Found = list[tuple[Path, object]]
"""Keys that this version does not know: the way to them and their value."""

FARTHEST = 1e12  # no number in a file needs more; float() of it is always finite


class NotAsExpected(Exception):
    """A value is not what the key may hold."""

    def __init__(self, value: object, expected: str) -> None:
        super().__init__(expected)
        self.value, self.expected = value, expected
        self.way: list[str] = []

    def under(self, part: str) -> "NotAsExpected":
        """Note that the value was found under that key; keys are noted from inside out."""
        self.way.insert(0, part)
        return self


class Kind(Protocol):
    """One kind of value."""

    def read(self, value: object, found: Found) -> Any:
        """Return our value for a plain one; raise NotAsExpected."""

    def write(self, value: Any) -> object:
        """Return the plain value."""

    def describe(self) -> dict[str, object]:
        """Return the kind as JSON Schema (draft 2020-12)."""


class _Plain:
    """A value that is the same in the file and in memory."""

    def write(self, value: Any) -> object:
        return value


@dataclass(frozen=True)
class Text(_Plain):
    """A string that UTF-8 can carry."""

    longest: int = 20_000

    def read(self, value: object, found: Found) -> str:
        if not isinstance(value, str) or len(value) > self.longest:
            raise NotAsExpected(value, f"text of at most {self.longest} letters")
        if not value.isascii() and any("\ud800" <= letter <= "\udfff" for letter in value):
            raise NotAsExpected(value, "text without broken letters")
        return value

    def describe(self) -> dict[str, object]:
        return {"type": "string", "maxLength": self.longest}


@dataclass(frozen=True)
class OneOf(_Plain):
    """One of a few words."""

    words: tuple[str, ...]

    def read(self, value: object, found: Found) -> str:
        if not isinstance(value, str) or value not in self.words:
            raise NotAsExpected(value, "one of " + ", ".join(f"“{word}”" for word in self.words))
        return value

    def describe(self) -> dict[str, object]:
        return {"enum": list(self.words)}


@dataclass(frozen=True)
class Flag(_Plain):
    """true or false."""

    def read(self, value: object, found: Found) -> bool:
        if not isinstance(value, bool):
            raise NotAsExpected(value, "true or false")
        return value

    def describe(self) -> dict[str, object]:
        return {"type": "boolean"}


@dataclass(frozen=True)
class Number(_Plain):
    """A finite number in low … high; nearest: what is closer to 0 than that is no such number.

    A value such as 1e-300 passes for a number, and dividing by it gives none.
    """

    low: float = -FARTHEST
    high: float = FARTHEST
    nearest: float = 0.0

    def read(self, value: object, found: Found) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float) or not self._holds(value):
            raise NotAsExpected(value, self._words())
        return float(value)

    def _holds(self, value: float) -> bool:
        return self.low <= value <= self.high and (value == 0 or abs(value) >= self.nearest)

    def _words(self) -> str:
        closer = f", 0 or at least {self.nearest:g} away from it" if self.nearest else ""
        return f"a number from {self.low:g} to {self.high:g}{closer}"

    def describe(self) -> dict[str, object]:
        told: dict[str, object] = {"type": "number", "minimum": self.low, "maximum": self.high}
        if self.nearest:
            near = {"exclusiveMinimum": -self.nearest, "exclusiveMaximum": self.nearest}
            told["anyOf"] = [{"const": 0}, {"not": near}]
        return told


@dataclass(frozen=True)
class Whole(_Plain):
    """A whole number in low … high."""

    low: int = 0
    high: int = 10**12

    def read(self, value: object, found: Found) -> int:
        if isinstance(value, bool) or not isinstance(value, int | float) or not self._holds(value):
            raise NotAsExpected(value, f"a whole number from {self.low} to {self.high}")
        return int(value)

    def _holds(self, value: float) -> bool:
        return self.low <= value <= self.high and value == int(value)

    def describe(self) -> dict[str, object]:
        return {"type": "integer", "minimum": self.low, "maximum": self.high}


@dataclass(frozen=True)
class Day(_Plain):
    """A date like 2026-05-14; "" as well where nobody may know it."""

    may_be_empty: bool = True

    def read(self, value: object, found: Found) -> str:
        if (value == "" and self.may_be_empty) or (isinstance(value, str) and is_day(value)):
            return value
        raise NotAsExpected(value, "a date like 2026-05-14")

    def describe(self) -> dict[str, object]:
        pattern = "^([0-9]{4}-[0-9]{2}-[0-9]{2})?$" if self.may_be_empty else _DAY.pattern
        return {"type": "string", "pattern": pattern}


_DAY = re.compile("^[0-9]{4}-[0-9]{2}-[0-9]{2}$")


def is_day(text: str) -> bool:
    """Say whether the text is a real date in the form 2026-05-14."""
    if len(text) != 10 or not _DAY.match(text):
        return False
    try:
        date.fromisoformat(text)
    except ValueError:
        return False
    return True
