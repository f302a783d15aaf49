"""What a value or an object in a file may be: read strictly, written back as it was.

The one way of checking what lies in a file: of squads, of this computer's settings, of bands.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import MISSING, dataclass, fields, is_dataclass
from datetime import date
from functools import cached_property
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


@dataclass(frozen=True)
class OneOf(_Plain):
    """One of a few words."""

    words: tuple[str, ...]

    def read(self, value: object, found: Found) -> str:
        if not isinstance(value, str) or value not in self.words:
            raise NotAsExpected(value, "one of " + ", ".join(f"“{word}”" for word in self.words))
        return value


@dataclass(frozen=True)
class Flag(_Plain):
    """true or false."""

    def read(self, value: object, found: Found) -> bool:
        if not isinstance(value, bool):
            raise NotAsExpected(value, "true or false")
        return value


@dataclass(frozen=True)
class Number(_Plain):
    """A finite number in low … high; nearest: what is closer to 0 than that is no such number.

    A value such as 1e-300 passes for a number, and dividing by it gives none.
    """

    low: float = -FARTHEST
    high: float = FARTHEST
    nearest: float = 0.0

    def read(self, value: object, found: Found) -> float:
        if (
            isinstance(value, int | float)
            and not isinstance(value, bool)
            and self.low <= value <= self.high
            and (value == 0 or abs(value) >= self.nearest)
        ):
            return float(value)
        if not self.nearest and (self.low, self.high) == (-FARTHEST, FARTHEST):
            raise NotAsExpected(value, "a number")
        closer = f", 0 or at least {self.nearest:g} away from it" if self.nearest else ""
        raise NotAsExpected(value, f"a number from {self.low:g} to {self.high:g}{closer}")


@dataclass(frozen=True)
class Whole(_Plain):
    """A whole number in low … high; is_strict: 2.0 is none, though JSON takes it for one."""

    low: int = 0
    high: int = 10**12
    is_strict: bool = False

    def read(self, value: object, found: Found) -> int:
        if (
            isinstance(value, int if self.is_strict else int | float)
            and not isinstance(value, bool)
            and self.low <= value <= self.high
            and value == int(value)
        ):
            return int(value)
        raise NotAsExpected(value, f"a whole number from {self.low} to {self.high}")


@dataclass(frozen=True)
class Day(_Plain):
    """A date like 2026-05-14; "" as well where nobody may know it."""

    may_be_empty: bool = True

    def read(self, value: object, found: Found) -> str:
        if (value == "" and self.may_be_empty) or (isinstance(value, str) and is_day(value)):
            return value
        raise NotAsExpected(value, "a date like 2026-05-14")


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


DEEPEST = 40  # levels of lists and objects inside an unknown key
IDENTITY = ("event", "point", "limb")  # what tells one member of a list from the next


@dataclass(frozen=True)
class Maybe:
    """That kind, or null."""

    kind: Kind

    def read(self, value: object, found: Found) -> Any:
        return None if value is None else self.kind.read(value, found)

    def write(self, value: Any) -> object:
        return None if value is None else self.kind.write(value)


@dataclass(frozen=True)
class Tuple:
    """A list with one kind for each place, e.g. a point [x, y]."""

    kinds: tuple[Kind, ...]

    def read(self, value: object, found: Found) -> tuple[Any, ...]:
        if not isinstance(value, list) or len(value) != len(self.kinds):
            raise NotAsExpected(value, f"a list of {len(self.kinds)}")
        return tuple(
            _read_under(str(i), kind, item, found)
            for i, (kind, item) in enumerate(zip(self.kinds, value, strict=True))
        )

    def write(self, value: Any) -> object:
        return [kind.write(item) for kind, item in zip(self.kinds, value, strict=True)]


@dataclass(frozen=True)
class Many:
    """A list of any length of one kind."""

    kind: Kind
    fewest: int = 0
    most: int = 10_000

    def read(self, value: object, found: Found) -> tuple[Any, ...]:
        if not isinstance(value, list) or not self.fewest <= len(value) <= self.most:
            raise NotAsExpected(value, f"a list of {self.fewest} to {self.most}")
        return tuple(
            _read_under(member_name(item, i), self.kind, item, found)
            for i, item in enumerate(value)
        )

    def write(self, value: Any) -> object:
        return [self.kind.write(item) for item in value]


@dataclass(frozen=True)
class Record:
    """An object with named keys that becomes make(**keys); missing keys take make's defaults.

    make: a dataclass, all of whose fields without a default must be there.
    """

    make: Callable[..., Any]
    kinds: Mapping[str, Kind]

    @cached_property
    def needed(self) -> tuple[str, ...]:
        """The keys that must be there."""
        told = fields(self.make) if is_dataclass(self.make) else ()
        return tuple(f.name for f in told if f.default is f.default_factory is MISSING)

    def read(self, value: object, found: Found) -> Any:
        if not isinstance(value, dict):
            raise NotAsExpected(value, "an object {…}")
        for key in self.needed:
            if key not in value:
                raise NotAsExpected(value, f"an object with the key “{key}”")
        known = {}
        for key, item in value.items():
            kind = self.kinds.get(key)
            if kind:
                known[key] = _read_under(key, kind, item, found)
            elif is_deeper(item, DEEPEST):
                expected = f"at most {DEEPEST} levels of lists and objects"
                raise NotAsExpected("…", expected).under(key)
            else:
                found.append(((key,), item))
        return self.make(**known)

    def write(self, value: Any) -> dict[str, object]:
        return {key: kind.write(getattr(value, key)) for key, kind in self.kinds.items()}


def member_name(item: object, i: int) -> str:
    """Return what tells a member of a list from the others: its event, point, limb or place."""
    if isinstance(item, dict):
        for key in IDENTITY:
            if isinstance(item.get(key), str):
                return str(item[key])
    return str(i)


def _read_under(part: str, kind: Kind, value: object, found: Found) -> Any:
    n_before = len(found)
    try:
        ours = kind.read(value, found)
    except NotAsExpected as wrong:
        raise wrong.under(part) from None
    found[n_before:] = [((part, *way), item) for way, item in found[n_before:]]
    return ours


def is_deeper(value: object, n: int) -> bool:
    """Say whether a plain value has lists and objects in each other on more than n levels."""
    level = [value]
    for _ in range(n):
        level = [
            inner
            for each in level
            if isinstance(each, dict | list)
            for inner in (each.values() if isinstance(each, dict) else each)
        ]
    return bool(level)
