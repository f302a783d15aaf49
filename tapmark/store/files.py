"""Write a file whole or not at all; read it with a clear refusal; set damaged ones aside.

A write goes to a new file in the same folder, is flushed to the disk, and takes the old one's
place in one move; then the folder is flushed too where the system can. Whatever fails, the old
file is still there and nothing half written is left.
"""

import contextlib
import errno
import json
import os
from collections.abc import Callable, Iterable, Mapping
from datetime import datetime
from pathlib import Path
from typing import NoReturn, TypeVar

from tapmark import disk, leftovers
from tapmark.errors import CannotWrite, FileDamaged, InUse, NotThere, StoreError
from tapmark.kinds import is_deeper
from tapmark.store.names import PART
from tapmark.store.shown import shown

Value = TypeVar("Value")

DEEPEST_JSON = 60  # brackets within brackets; ours has a dozen
LARGEST_PAGE = 200_000_000  # bytes of a page with pictures
LARGEST_JSON = 20_000_000  # bytes; a run with a hundred steps needs less than one million

_FOLDER_CANNOT_SYNC = {
    errno.EINVAL,
    errno.ENOTSUP,
    errno.EACCES,
    errno.EPERM,
    errno.EBADF,
    errno.EISDIR,
}


def write_json(path: Path, plain: object, patience_s: float = disk.PATIENCE_S) -> bytes:
    """Write a JSON value and return the bytes written; raise CannotWrite as write_bytes."""
    data = json_bytes(plain)
    write_bytes(path, data, patience_s)
    return data


def json_bytes(plain: object) -> bytes:
    """Return a JSON value as the bytes of a file: UTF-8, two blanks a level, keys in order."""
    text = json.dumps(plain, ensure_ascii=False, indent=2, sort_keys=True, allow_nan=False)
    return (text + "\n").encode("utf-8", "replace")


def write_bytes(path: Path, data: bytes, patience_s: float = disk.PATIENCE_S) -> None:
    """Put data into the file at path, whole or not at all.

    patience_s: how long another program that has the file open is waited for.
    Raises CannotWrite with the reason, InUse for that one; then the file is what it was before.
    """
    part = path.with_name(f"{path.name}.{os.getpid()}{PART}")
    try:
        _write_new(part, data)
        disk.move_into_place(part, path, patience_s)
        _flush_folder(path.parent)
    except (OSError, InUse) as error:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)
        refuse_write(path, error)


def write_together(contents: Mapping[Path, bytes]) -> None:
    """Put data into several files, into all of them or into none.

    Everything is on the disk before the first file changes its place, so that a full disk is
    noticed while nothing has been done. Raises CannotWrite, InUse; then all are what they were.
    Killed between two of the moves, `finish_together` does the rest.
    """
    for folder in {path.parent for path in contents}:
        finish_together(leftovers.left_together(folder))
    ends = (f".{os.getpid()}{PART}", *[f"{leftovers.NEXT}.{os.getpid()}{PART}"] * len(contents))
    parts = {
        path: path.with_name(path.name + end) for path, end in zip(contents, ends, strict=False)
    }
    before = {
        path: read_bytes(path, LARGEST_PAGE) if disk.is_file(path) else None for path in contents
    }
    path = next(iter(contents))
    try:
        for path, data in contents.items():
            _write_new(parts[path], data)
        for path, part in parts.items():
            disk.move_into_place(part, path)
            _flush_folder(path.parent)
    except (OSError, CannotWrite) as error:
        for each, old in before.items():
            with contextlib.suppress(OSError, CannotWrite):
                if old is None:
                    each.unlink(missing_ok=True)
                elif disk.read(each, LARGEST_PAGE) != old:
                    write_bytes(each, old)
        refuse_write(path, error)
    finally:
        for part in reversed(parts.values()):  # while the first is there, nothing has moved
            with contextlib.suppress(OSError):
                part.unlink(missing_ok=True)


def finish_together(parts: Iterable[Path]) -> list[Path]:
    """Move what a killed `write_together` had ready to its place; return the files it wrote.

    parts: of leftovers.left_together. One that cannot be moved is left for the next time.
    """
    done = []
    for part in parts:
        path = part.with_name(part.name.partition(f"{leftovers.NEXT}.")[0])
        with contextlib.suppress(OSError, CannotWrite):
            disk.move_into_place(part, path)
            done.append(path)
    return done


def refuse_write(path: Path, error: OSError | CannotWrite) -> NoReturn:
    """Raise CannotWrite, with the system's reason in plain words."""
    if isinstance(error, CannotWrite):
        raise error
    raise CannotWrite(f"“{path.name}” cannot be written: {disk.reason(error)}.") from error


def move_folder(path: Path, target: Path) -> None:
    """Give a finished folder its name, on the disk when this returns; raise OSError, InUse."""
    disk.rename_folder(path, target)
    _flush_folder(target.parent)


def make_folder(path: Path) -> None:
    """Make a folder with those above it; raise CannotWrite."""
    try:
        path.mkdir(parents=True, exist_ok=True)
    except FileExistsError:
        refuse_write(path, OSError(errno.ENOTDIR, ""))
    except OSError as error:
        refuse_write(path, error)


def remove_file(path: Path) -> None:
    """Remove a file if it is there; raise CannotWrite."""
    try:
        path.unlink(missing_ok=True)
    except OSError as error:
        refuse_write(path, error)


def read_bytes(path: Path, most: int = LARGEST_JSON, *, follow: bool = True) -> bytes:
    """Return a file's bytes; follow: False for a file of a squad, which is never a link.

    Raises NotThere, FileDamaged when it is larger than most bytes, StoreError when it cannot be
    read.
    """
    try:
        return disk.read(path, most, follow=follow)
    except OSError as error:
        is_missing = isinstance(error, (FileNotFoundError, NotADirectoryError))
        if is_missing and not disk.is_too_long(error):
            raise NotThere(f"There is no “{path.name}” in “{path.parent}”.") from None
        if error.errno == errno.EFBIG:
            words = f"“{path.name}” is larger than {most // 1_000_000} MB: not ours."
            raise FileDamaged(words) from None
        raise StoreError(f"“{path.name}” cannot be read: {disk.reason(error)}.") from error


def json_value(data: bytes, name: str) -> object:
    """Return the JSON value in a file's bytes; raise FileDamaged with the place.

    Refused as well: nan and infinity, a key that stands twice, nesting that no file of ours has.
    """
    try:
        text = data.decode("utf-8-sig")
        value = json.loads(
            text,
            parse_constant=_no_constant,
            parse_float=_finite,
            parse_int=_not_endless,
            object_pairs_hook=_no_doubles,
        )
        if is_deeper(value, DEEPEST_JSON):
            raise RecursionError
        return value
    except json.JSONDecodeError as error:
        place = f"line {error.lineno}, letter {error.colno}"
        raise FileDamaged(f"“{name}” is damaged at {place}: {error.msg}.") from None
    except UnicodeDecodeError as error:
        raise FileDamaged(f"“{name}” is damaged: byte {error.start + 1} is not UTF-8.") from None
    except ValueError as error:
        raise FileDamaged(f"“{name}” is damaged: {error}.") from None
    except RecursionError:  # so deep that it was not even read
        raise FileDamaged(f"“{name}” is damaged: too many brackets within brackets.") from None


def read_value(path: Path, from_plain: Callable[[object, str], Value]) -> tuple[Value, bytes]:
    """Return what a JSON file holds, and its bytes.

    A damaged file is copied aside first, beside itself and with its date, so that whatever is
    written later cannot be the end of it. Raises NotThere, FileDamaged, FileTooNew, StoreError.
    """
    data, name = read_bytes(path, follow=False), whose(path)
    if not data:  # no copy of nothing is worth keeping
        raise FileDamaged(
            f"“{name}” is empty: perhaps the folder is still being copied. Wait until it is "
            "there, or put a back-up of it in its place."
        )
    try:
        return from_plain(json_value(data, name), name), data
    except FileDamaged as error:
        copy = keep_copy(path, data, "damaged")
        where = f"A copy is kept as “{copy.name}”." if copy else "It was left as it was."
        advice = "Put a back-up of it in its place, or mend it by hand."
        raise FileDamaged(f"{error} {where} {advice}") from None


def whose(path: Path) -> str:
    """Return a file's name with the athlete and day it belongs to: every athlete has such a file.

    "K07/2026-05-14/run-1.json", or the bare name where it belongs to nobody.
    """
    parts = path.parts
    for n_named in (2, 3):  # of an athlete, of a visit
        if parts[-n_named - 1 : -n_named] == ("athletes",):
            return "/".join(parts[-n_named:])
    return path.name


def keep_copy(path: Path, data: bytes, why: str) -> Path | None:
    """Keep bytes of a file beside it under a name with the file's date.

    why: "damaged" or "elsewhere". A copy that exists is never overwritten; the same bytes are
    kept once. Returns None where nothing can be written.
    """
    try:
        saved = datetime.fromtimestamp(path.stat().st_mtime)
    except (OSError, OverflowError, ValueError):
        saved = datetime(1970, 1, 1)
    first = f"{path.stem}.{why}-{saved:%Y-%m-%d-%H%M%S}"
    for i in range(1, 1000):
        copy = path.with_name(f"{first}-{i}.json" if i > 1 else f"{first}.json")
        try:
            if disk.read(copy, LARGEST_JSON, follow=False) == data:
                return copy
        except FileNotFoundError:
            break
        except OSError:
            return None
    try:
        write_bytes(copy, data)
    except CannotWrite:
        return None
    return copy


def _write_new(part: Path, data: bytes) -> None:
    part.unlink(missing_ok=True)  # of a program that died with our number
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    handle = os.open(part, flags, 0o644)
    try:
        rest = memoryview(data)
        while rest:
            rest = rest[os.write(handle, rest) :]
        os.fsync(handle)
    finally:
        os.close(handle)


def _flush_folder(folder: Path) -> None:
    if os.name == "nt":
        return  # a folder cannot be opened there
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    except OSError as error:
        if error.errno not in _FOLDER_CANNOT_SYNC:
            raise
    finally:
        os.close(handle)


def _no_constant(word: str) -> NoReturn:
    raise ValueError(f"{word} is not a number")


def _finite(text: str) -> float:
    number = float(text)
    if number in (float("inf"), float("-inf")):
        raise ValueError(f"the number {text[:20]} is too large")
    return number


def _not_endless(text: str) -> int:
    if len(text) > 100:
        raise ValueError(f"the number {text[:20]}… is too long")
    return int(text)


def _no_doubles(pairs: list[tuple[str, object]]) -> dict[str, object]:
    plain: dict[str, object] = {}
    for key, value in pairs:
        if key in plain:
            raise ValueError(f"the key {shown(key)} stands twice")
        plain[key] = value
    return plain
