"""One writer a run: a lock file that says who holds it, and that outlives no crash.

Two things together make the lock. The system's own lock on the open file ends with the program
that holds it, however it ends, so a crash leaves nothing in the way and a new program with an old
number deceives nobody. The words in the file say who holds it and since when, and reach another
computer where the folder is shared: a lock file that was not made here (its number in the file
system is another one) counts for half a day, then it is taken to be forgotten.
No name of a person or a computer is written.
"""

import contextlib
import errno
import json
import os
import stat
import sys
import time
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from tapmark import disk
from tapmark.errors import CannotWrite, HeldByAnother, InUse
from tapmark.marks.days import long_day, run_words
from tapmark.store import files
from tapmark.store.names import LOCK, PART, run_number

FORGOTTEN_AFTER = timedelta(hours=12)
CLOSES_FIRST = os.name == "nt"
FACTS_BYTES = 4096  # the byte behind them is the one that the system locks on Windows


@dataclass(frozen=True)
class Holder:
    """Who holds a run: the program's label, its process number, since when (ISO, minutes).

    file_number: of the lock file where it was made; another one means the file was copied here.
    """

    program: str
    pid: int
    since: str
    file_number: int = 0


class Lock:
    """A lock that is held until release, or until the program ends."""

    def __init__(self, path: Path, handle: int, holder: Holder) -> None:
        self.path = path
        self.holder = holder
        self._handle: int | None = handle

    def release(self) -> None:
        """Give the run free; a second release does nothing."""
        if self._handle is None:
            return
        handle, self._handle = self._handle, None
        _close_and_remove(handle, self.path)

    def __enter__(self) -> "Lock":
        return self

    def __exit__(self, *error: object) -> None:
        self.release()


def lock_path(run_path: Path) -> Path:
    """Return where the lock of a file lies."""
    return run_path.with_name(run_path.name + LOCK)


def take_lock(run_path: Path, program: str, now: datetime, take_over: bool = False) -> Lock:
    """Take the lock of a run.

    program:    label shown to the second program, e.g. "Tapmark window".
    take_over:  ignore a lock that seems to be held on another computer.
    Raises HeldByAnother with who and since when, CannotWrite where no lock can be put. What a
    program that died left half written for this run is cleared away.
    """
    path, holder = lock_path(run_path), None
    for _ in range(10):
        handle = _open(path, path)
        is_ours = _lock_file(handle)
        if is_ours and _is_still_there(path, handle):
            return _settle(run_path, path, handle, program, now, take_over)
        holder = None if is_ours else _facts(path)
        os.close(handle)
        if not is_ours:
            break  # else its holder removed it while we waited: take the new one
    raise HeldByAnother(_told(run_path, holder, now, "in another window"))


@contextlib.contextmanager
def alone(path: Path) -> Iterator[None]:
    """Keep other Tapmarks from writing a file while it is read, changed and written here.

    Nobody holds it for longer than a write takes. Raises InUse after disk.PATIENCE_S seconds,
    CannotWrite where no lock can be put.
    """
    beside, waited = lock_path(path), 0.0
    while True:
        handle = _open(beside, path)
        if _lock_file(handle):
            if _is_still_there(beside, handle):
                break
        elif waited >= disk.PATIENCE_S:
            os.close(handle)
            raise InUse(f"“{path.name}” is being written by another Tapmark. Try again.")
        os.close(handle)
        time.sleep(disk.PAUSE_S)
        waited += disk.PAUSE_S
    lock = Lock(beside, handle, Holder("", os.getpid(), ""))
    try:
        yield
    finally:
        lock.release()


def refuse_if_open(paths: Iterable[Path], program: str, now: datetime) -> None:
    """Raise HeldByAnother when one of these files is a run that is open elsewhere; hold none."""
    for path in paths:
        if path.suffix == ".json" and run_number(path.stem):
            take_lock(path, program, now).release()


def _settle(
    run_path: Path, path: Path, handle: int, program: str, now: datetime, take_over: bool
) -> Lock:
    number = os.fstat(handle).st_ino
    before = _facts(path)
    is_from_elsewhere = before and before.file_number != number and not take_over
    if before and is_from_elsewhere:
        since = datetime.fromisoformat(before.since).replace(tzinfo=None)
        is_from_elsewhere = abs(now.replace(tzinfo=None) - since) < FORGOTTEN_AFTER
    if is_from_elsewhere:
        os.close(handle)
        raise HeldByAnother(_told(run_path, before, now, "perhaps on another computer"))
    holder = Holder(program[:200], os.getpid(), now.isoformat(timespec="minutes"), number)
    try:
        os.ftruncate(handle, 0)
        os.lseek(handle, 0, os.SEEK_SET)
        os.write(handle, json.dumps(holder.__dict__).encode())
    except OSError as error:
        _close_and_remove(handle, path)
        files.refuse_write(path, error)
    for left in run_path.parent.glob(f"{run_path.name}.*{PART}"):
        _remove(left)
    return Lock(path, handle, holder)


def _open(path: Path, named: Path) -> int:
    """Open a lock file, made when missing. Raises CannotWrite with the name of `named`."""
    flags = os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)
    try:
        handle = os.open(path, flags | getattr(os, "O_NONBLOCK", 0), 0o644)
        if not stat.S_ISREG(os.fstat(handle).st_mode):
            os.close(handle)
            raise OSError(errno.ENXIO, "no file")
    except OSError as error:
        files.refuse_write(named, error)
    return handle


def _close_and_remove(handle: int, path: Path) -> None:
    """Remove a lock file that is ours: while it still is, or we might remove the next one's.

    Windows removes no file that is open, and refuses to remove the next one's.
    """
    if CLOSES_FIRST:
        os.close(handle)
        _remove(path)
    else:
        _remove(path)
        os.close(handle)


def _facts(path: Path) -> Holder | None:
    """Return what the lock file says; a file that says nothing usable names nobody."""
    try:
        with disk.opened(path, follow=False) as file:
            plain = json.loads(file.read(FACTS_BYTES))
        program, pid = str(plain["program"])[:200], int(plain["pid"])
        since, number = str(plain["since"]), int(plain["file_number"])
        datetime.fromisoformat(since)
    except (OSError, ValueError, KeyError, TypeError, OverflowError, RecursionError):
        return None
    return Holder("".join(c for c in program if c.isprintable()), pid, since, number)


def _told(run_path: Path, holder: Holder | None, now: datetime, where: str) -> str:
    who = f"{holder.program} (process {holder.pid})" if holder else "another program"
    since = ""
    if holder:
        began = datetime.fromisoformat(holder.since)
        day = "" if began.date() == now.date() else f"{long_day(began.date().isoformat())}, "
        since = f" since {day}{began:%H:%M}"
    return (
        f"{run_words(run_path.stem).capitalize()} is open {where}: {who}{since}. "
        "Close it there to change it here; until then it can be looked at."
    )


def _is_still_there(path: Path, handle: int) -> bool:
    try:
        return os.path.samestat(path.stat(follow_symlinks=False), os.fstat(handle))
    except OSError:
        return False


def _remove(path: Path) -> None:
    with contextlib.suppress(OSError):
        path.unlink(missing_ok=True)


if sys.platform == "win32":
    import msvcrt

    def _lock_file(handle: int) -> bool:
        os.lseek(handle, FACTS_BYTES, os.SEEK_SET)
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

else:
    import fcntl

    def _lock_file(handle: int) -> bool:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            if error.errno in (errno.EWOULDBLOCK, errno.EAGAIN, errno.EACCES):
                return False
            if error.errno not in (errno.ENOLCK, errno.ENOTSUP, errno.ENOSYS):
                os.close(handle)
                raise CannotWrite(f"This disk cannot lock files: {error.strerror}.") from error
        return True  # where a disk knows no locks, the words in the file must do
