"""What lies in a folder, and reading many files when some of them cannot be read."""

import os
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TypeVar

from tapmark import disk, leftovers
from tapmark.errors import StoreError
from tapmark.store import names

Value = TypeVar("Value")
BEFORE = " before "  # and the moment: the name of a squad that a restore put aside


def entries(folder: Path) -> Iterator[Path]:
    """Yield what lies in a folder, by name; nothing when it is gone.

    Raises StoreError when it is closed to us: an empty list would say that nobody is there.
    """
    return (folder / entry.name for entry in disk.entries(folder))


def folders(folder: Path) -> Iterator[Path]:
    """Yield the folders in a folder; a link is none, it may lead out of the squad."""
    found = (each for each in disk.entries(folder) if each.is_dir(follow_symlinks=False))
    return (folder / entry.name for entry in found)


def put_aside(folder: Path) -> Path | None:
    """Return the squad that a killed restore had renamed before the new one took its place."""
    if os.path.lexists(folder) or not leftovers.left_of(folder):
        return None
    name = re.compile(re.escape(folder.name + BEFORE) + r"[0-9]{4}-[0-9]{2}-[0-9]{2} [0-9-]+")
    found = (path for path in folders(folder.absolute().parent) if name.fullmatch(path.name))
    return max(found, default=None)


def is_athlete(folder: Path) -> bool:
    """Say whether a folder is an athlete's: called by a code, with athlete.json, and no link.

    One that is closed to us counts: it is told when it is read, and never left out in silence.
    """
    try:
        is_named = names.is_code(folder.name) and not folder.is_symlink()
        return is_named and disk.exists(folder / "athlete.json")
    except StoreError:
        return True


def is_called(path: Path) -> bool:
    """Say whether something that is there is called so by the very letters, large and small.

    Where no other letters lead to it, nothing has to be listed: a whole squad stays quick to read.
    """
    others = path.with_name(path.name.swapcase())
    try:
        if others.name == path.name or not os.path.lexists(others):
            return os.path.lexists(path)
        return not others.samefile(path) or path.name in os.listdir(path.parent)  # noqa: PTH208
    except OSError:
        return False


def collected(
    keys: tuple[str, ...], read: Callable[[str], Value], troubles: list[StoreError] | None
) -> Iterator[Value]:
    """Yield what each key reads as; errors go into troubles, or are raised when it is None."""
    for key in keys:
        try:
            yield read(key)
        except StoreError as error:
            if troubles is None:
                raise
            troubles.append(error)
