"""Change the free words in a file, and nothing else: no choice, number or key that we know."""

from collections.abc import Callable

from tapmark.store.kinds import Kind, Text
from tapmark.store.records import Many, Maybe, Record, Row

Change = Callable[[str], str]


def with_texts(kind: Kind, plain: object, change: Change) -> object:
    """Return a plain JSON value with every free text in it passed through change.

    Keys that the kind does not know are passed through with all that is in them.
    """
    if isinstance(kind, Maybe):
        return with_texts(kind.kind, plain, change)
    if isinstance(kind, Text):
        return change(plain) if isinstance(plain, str) else plain
    if isinstance(kind, Record) and isinstance(plain, dict):
        return dict(_member(kind, key, item, change) for key, item in plain.items())
    if isinstance(kind, Many) and isinstance(plain, list):
        return [with_texts(kind.kind, item, change) for item in plain]
    if isinstance(kind, Row) and isinstance(plain, list):
        return [with_texts(k, item, change) for k, item in zip(kind.kinds, plain, strict=False)]
    return plain


def _member(kind: Record, key: str, item: object, change: Change) -> tuple[str, object]:
    known = kind.kinds.get(key)
    if known:
        return key, with_texts(known, item, change)
    return change(key), _anything(item, change)


def _anything(plain: object, change: Change) -> object:
    if isinstance(plain, str):
        return change(plain)
    if isinstance(plain, list):
        return [_anything(item, change) for item in plain]
    if isinstance(plain, dict):
        return {change(key): _anything(item, change) for key, item in plain.items()}
    return plain
