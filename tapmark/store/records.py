"""Kinds of values made of others: lists, points, and objects with named keys.

Keys that a Record does not know are gathered with the way to them, so that they can be written
back where they were.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from tapmark.store.kinds import Found, Kind, NotAsExpected

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

    def describe(self) -> dict[str, object]:
        return {"anyOf": [self.kind.describe(), {"type": "null"}]}


@dataclass(frozen=True)
class Row:
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

    def describe(self) -> dict[str, object]:
        n = len(self.kinds)
        items = [kind.describe() for kind in self.kinds]
        return {"type": "array", "prefixItems": items, "minItems": n, "maxItems": n}


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

    def describe(self) -> dict[str, object]:
        items = self.kind.describe()
        return {"type": "array", "items": items, "minItems": self.fewest, "maxItems": self.most}


@dataclass(frozen=True)
class Record:
    """An object with named keys that becomes make(**keys); missing keys take make's defaults."""

    make: Callable[..., Any]
    kinds: Mapping[str, Kind]
    needed: tuple[str, ...] = ()

    def read(self, value: object, found: Found) -> Any:
        if not isinstance(value, dict):
            raise NotAsExpected(value, "an object {…}")
        for key in self.needed:
            if key not in value:
                raise NotAsExpected(value, f"an object with the key “{key}”")
        return self.make(**dict(self._known(value, found)))

    def _known(self, value: dict[str, object], found: Found) -> Iterator[tuple[str, Any]]:
        for key, item in value.items():
            kind = self.kinds.get(key)
            if kind:
                yield key, _read_under(key, kind, item, found)
            else:
                _refuse_deep(key, item)
                found.append(((key,), item))

    def write(self, value: Any) -> dict[str, object]:
        return {key: kind.write(getattr(value, key)) for key, kind in self.kinds.items()}

    def describe(self) -> dict[str, object]:
        properties = {key: kind.describe() for key, kind in self.kinds.items()}
        return {"type": "object", "properties": properties, "required": list(self.needed)}


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


def _refuse_deep(key: str, value: object) -> None:
    layer, n_levels = [value], 0
    while layer:
        layer = [inner for item in layer for inner in _inside(item)]
        n_levels += 1
        if n_levels > DEEPEST:
            raise NotAsExpected("…", f"at most {DEEPEST} levels of lists and objects").under(key)


def _inside(value: object) -> list[object]:
    if isinstance(value, dict):
        return list(value.values())
    return value if isinstance(value, list) else []
