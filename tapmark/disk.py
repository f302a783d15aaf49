"""Reading the disk: only regular files, never more than a bound, errors as sentences.

In the place of a file there may lie a pipe, a device, a link without end or a folder that is
closed to us. Every file is opened for reading here (a test reads the code for other ways), and
what the system refuses becomes a sentence: `opened`, `read` and the two moves raise OSError for
callers that have words of their own, all others raise StoreError.

Windows lets nobody replace or rename a file that another program reads, as virus scanners and sync
programs do for moments: there a move is tried again for a while.
"""

import errno
import os
import re
import stat
import time
import unicodedata
from collections.abc import Callable, Iterator
from functools import partial
from os import open as open_handle  # for reading: what breaks os.open in tests breaks writing
from pathlib import Path
from typing import BinaryIO

from tapmark.errors import InUse, StoreError

LONGEST_NAMED = 60
WAITS_FOR_OTHERS = os.name == "nt"
PATIENCE_S = 2.0
PAUSE_S = 0.002  # a program that reads on and on lets go for moments only

_REASONS = {
    errno.ENOSPC: "the disk is full. Free some space, then try again",
    errno.EDQUOT: "your share of the disk is full. Free some space, then try again",
    errno.EROFS: "the disk can only be read. Copy the squad to a disk that can be written",
    errno.EACCES: "you have no permission there, or another program has it open",
    errno.EPERM: "you have no permission there",
    errno.ENOENT: "the folder is gone. Plug the disk in again, or save elsewhere",
    errno.ENOTDIR: "a file stands where a folder should be",
    errno.EISDIR: "it is a folder. Name a file",
    errno.ENAMETOOLONG: "the name is too long. Move it to a folder with a shorter path",
    errno.EIO: "the disk reports a fault. Save to another disk soon",
    errno.EBUSY: "another program has it open. Close it, then try again",
    errno.ELOOP: "it is a link. Put a real file or folder in its place",
    errno.ENXIO: "it is no file but a pipe or a device. Put a real file in its place",
    errno.EFBIG: "it is far larger than such a file can be",
}
_TOO_LONG = _REASONS[errno.ENAMETOOLONG]
_READ_ONLY = _REASONS[errno.EROFS]
_DEVICE_GONE = "the disk does not answer. Plug it in again, or save elsewhere"
_WINDOWS_REASONS = {  # by winerror: errno lumps these together or has none for them
    3: _REASONS[errno.ENOENT],
    5: _REASONS[errno.EACCES],
    19: _READ_ONLY,
    21: "there is no stick or disk in that drive. Put it in, or save elsewhere",
    32: _REASONS[errno.EBUSY],
    33: _REASONS[errno.EBUSY],
    112: _REASONS[errno.ENOSPC],
    206: _TOO_LONG,
    433: _DEVICE_GONE,
    1117: _DEVICE_GONE,
    1167: _DEVICE_GONE,
}
_HELD = (5, 32, 33)
"""What Windows says of a file that another program has open; waiting may help."""
_LONGEST_ON_WINDOWS = 248
"""From this length of a path on, in letters, Windows says of folders and files *not found*."""
_NOT_THERE = (errno.ENOENT, errno.ENOTDIR)
_IMPOSSIBLE = OSError(errno.EINVAL, "no file can be called that")


def reason(error: OSError) -> str:
    """Return why the system refused, in plain words without an end of sentence."""
    if is_too_long(error):
        return f"{_TOO_LONG} ({len(str(error.filename))} letters, Windows takes about 247)"
    code = _winerror(error)
    otherwise = error.strerror or "the system gives no reason"
    return _WINDOWS_REASONS.get(code) or _REASONS.get(error.errno or 0, otherwise)


def is_full(error: OSError) -> bool:
    """Say whether the disk, or our share of it, is full."""
    return error.errno in (errno.ENOSPC, errno.EDQUOT)


def is_too_long(error: OSError) -> bool:
    """Say whether Windows calls a path missing only because it is too long for it."""
    named = len(str(error.filename or ""))
    return _winerror(error) in (2, 3, 206) and named >= _LONGEST_ON_WINDOWS


def _winerror(error: OSError) -> int:
    return getattr(error, "winerror", None) or 0


def printable(text: str) -> str:
    """Return a text as it may stand in a line: "?" for line ends, steering signs, lone bytes."""
    return "".join(sign if sign.isprintable() else "?" for sign in text)


def sentence(path: object, error: OSError) -> str:
    """Return what was refused and why; the whole path, or of a very long one its end."""
    named = printable(str(path))
    short = named if len(named) <= 4 * LONGEST_NAMED else f"…{named[-LONGEST_NAMED:]}"
    return f"“{short}” cannot be used: {reason(error)}."


def opened(path: Path, *, follow: bool = True) -> BinaryIO:
    """Open a regular file for reading; never waits for one that is none.

    follow: False where a link must not lead elsewhere. Raises OSError, ENXIO for a pipe or device.
    """
    try:
        _refuse_no_file(path.stat(follow_symlinks=follow), path)
        file = open(path, "rb", opener=partial(_open, follow=follow))  # noqa: SIM115
    except ValueError:  # a name with a sign that no file can have
        raise FileNotFoundError(errno.ENOENT, "no file can be called that", str(path)) from None
    try:
        _refuse_no_file(os.fstat(file.fileno()), path)  # it may have been changed in between
    except OSError:
        file.close()
        raise
    return file


def read(path: Path, most: int, *, follow: bool = True) -> bytes:
    """Return a file's bytes. Raises OSError as `opened`, EFBIG above `most` bytes."""
    with opened(path, follow=follow) as file:
        is_small = os.fstat(file.fileno()).st_size <= most
        data = file.read(most + 1) if is_small else b""
    if not is_small or len(data) > most:
        raise OSError(errno.EFBIG, "too large", str(path))
    return data


def is_file(path: Path) -> bool:
    """Say whether a regular file lies there, also through a link. Raises StoreError."""
    found = facts(path)
    return found is not None and stat.S_ISREG(found.st_mode)


def is_folder(path: Path) -> bool:
    """Say whether a folder lies there, also through a link. Raises StoreError."""
    found = facts(path)
    return found is not None and stat.S_ISDIR(found.st_mode)


def exists(path: Path) -> bool:
    """Say whether anything lies there, a link that leads nowhere not. Raises StoreError."""
    return facts(path) is not None


def size(path: Path) -> int:
    """Return the bytes of a file, 0 where there is none. Raises StoreError."""
    found = facts(path)
    return found.st_size if found else 0


def resolved(path: Path) -> Path:
    """Return the path without links and dots. Raises StoreError for a link in a circle."""
    try:
        return path.resolve()
    except OSError as error:
        raise StoreError(sentence(path, error)) from error
    except RuntimeError:  # how Python up to 3.12 says it
        raise StoreError(sentence(path, OSError(errno.ELOOP, ""))) from None
    except ValueError:
        raise StoreError(sentence(path, _IMPOSSIBLE)) from None


def spelled(folder: Path, way: str) -> Path:
    """Return where a way from a folder leads, in the spelling that is there.

    A Mac may write é as e and an accent, others write one letter, and a copy keeps what it finds.
    """
    ways = (way, *(unicodedata.normalize(form, way) for form in ("NFC", "NFD")))
    return next((folder / each for each in ways if os.path.lexists(folder / each)), folder / way)


def with_added(path: Path, ending: str) -> Path:
    """Return the path with something added to its last name. Raises StoreError at a disk's top."""
    real = path if path.name not in ("", "..") else resolved(path)
    if not real.name:
        raise StoreError(f"“{path}” is the top of a disk. Name a folder in it.")
    return real.with_name(real.name + ending)


def entries(folder: Path) -> list[os.DirEntry[str]]:
    """Return what lies in a folder, by name; nothing where there is none. Raises StoreError."""
    try:
        with os.scandir(folder) as found:
            return sorted(found, key=lambda entry: entry.name)
    except ValueError:
        return []
    except OSError as error:
        if error.errno in _NOT_THERE and not is_too_long(error):
            return []
        raise StoreError(sentence(folder, error)) from error


def natural_order(name: str) -> list[tuple[int, int, str]]:
    """Return a sort key that puts "shot 2" before "shot 10", whatever the letter case."""
    parts = re.split(r"(\d+)", name.casefold())
    return [(0, int(p), p) if p.isdecimal() else (1, 0, p) for p in parts if p]


def all_below(folder: Path) -> Iterator[Path]:
    """Yield everything below a folder, folders before what is in them; links are not followed.

    Raises StoreError for a folder that is closed to us: nothing is left out without a word.
    """
    for entry in entries(folder):
        path = folder / entry.name
        yield path
        if entry.is_dir(follow_symlinks=False):
            yield from all_below(path)


def facts(path: Path) -> os.stat_result | None:
    """Return what the system knows of a path, links followed; None where nothing lies there.

    Raises StoreError.
    """
    try:
        return path.stat()
    except ValueError:
        raise StoreError(sentence(path, _IMPOSSIBLE)) from None
    except OSError as error:
        if error.errno in _NOT_THERE and not is_too_long(error):
            return None
        raise StoreError(sentence(path, error)) from error


def move_into_place(part: Path, path: Path, patience_s: float = PATIENCE_S) -> None:
    """Let a finished file take the place of another, in one move.

    patience_s: how long another program that has the file open is waited for, on Windows only.
    Raises InUse for that program, OSError for all else; then both are where they were.
    """
    _patiently(lambda: os.replace(part, path), path, patience_s)  # noqa: PTH105  faults are tested


def rename_folder(folder: Path, target: Path) -> None:
    """Give a folder another name on the same disk; raises InUse and OSError as above."""
    _patiently(lambda: os.rename(folder, target), target, PATIENCE_S)  # noqa: PTH104  likewise


def _patiently(move: Callable[[], None], path: Path, patience_s: float) -> None:
    """Try a move until no other program stands in its way."""
    waited = 0.0
    while True:
        try:
            return move()
        except PermissionError as error:
            if not WAITS_FOR_OTHERS or _winerror(error) not in (0, *_HELD):
                raise
            if waited >= patience_s:
                raise InUse(
                    f"“{path.name}” cannot be written: another program has it open, perhaps a "
                    "virus scanner, a sync program or a preview. Wait a moment or close that "
                    "program, then save again."
                ) from error
        time.sleep(PAUSE_S)
        waited += PAUSE_S


def _open(path: str, flags: int, *, follow: bool) -> int:
    more = getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_CLOEXEC", 0)
    return open_handle(path, flags | more | (0 if follow else getattr(os, "O_NOFOLLOW", 0)))


def _refuse_no_file(facts: os.stat_result, path: Path) -> None:
    if stat.S_ISLNK(facts.st_mode):
        raise OSError(errno.ELOOP, "a link", str(path))
    if stat.S_ISDIR(facts.st_mode):
        raise IsADirectoryError(errno.EISDIR, "a folder", str(path))
    if not stat.S_ISREG(facts.st_mode):
        raise OSError(errno.ENXIO, "no file", str(path))
