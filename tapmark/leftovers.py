"""Half-made files and folders: how they are called, and which of them a killed program left.

While something is made it carries its maker's process number: squad.zip.tapmark-4711.part. When
that process is gone (kill, power cut), the next program may remove it: nothing else ever reads
it. Where another process has that number now, only what has not changed for two days counts as
left.
"""

import contextlib
import os
import re
import shutil
import tempfile
from collections.abc import Iterable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

PART = ".part"
NEXT = ".next"
"""In the name of a file that waits for another one, written together with it, to take its place."""
DAYS_TO_BE_OLD = 2

_HALF = re.compile(r"(.+)\.tapmark-([0-9]{1,9})\.part")
_HALF_IN_SQUAD = re.compile(r"(.+)\.(?:tapmark-)?([0-9]{1,9})\.part")
_TEMPORARY = re.compile(r"(tapmark)-([0-9]{1,9})-\w+")


def half_made(path: Path) -> Path:
    """Return the name under which a file or folder is made, beside where it will lie.

    What an earlier process with our number left under it is removed; so is what other killed
    programs left of the same file or folder.
    """
    half = path.with_name(f"{path.name}.tapmark-{os.getpid()}{PART}")
    remove_left(left_of(path))
    _remove(half)
    return half


def left_of(path: Path, today: str = "") -> list[Path]:
    """Return what killed programs left half made of a file or folder."""
    halves = (p for p in _beside(path.absolute().parent) if _stem(_HALF, p) == path.name)
    return [half for half in halves if _is_left(_HALF, half, today)]


def left_in_squad(folder: Path, today: str = "") -> list[Path]:
    """Return what killed programs left half made in a squad's folder, or of it beside it."""
    found = [Path(root) / n for root, d, f in os.walk(folder) for n in (*d, *f) if n.endswith(PART)]
    inside = [path for path in found if _is_left(_HALF_IN_SQUAD, path, today)]
    return inside + left_of(folder.absolute(), today)


def left_together(folder: Path, today: str = "") -> list[Path]:
    """Return what waits in a folder for a move that a killed program did not come to make.

    Of files that are written together the first has taken its place when its part is gone; the
    others were whole before that. While its part is there nothing has moved: all of it is left.
    """
    halves = [(p, m) for p in _beside(folder) if (m := _HALF_IN_SQUAD.fullmatch(p.name))]
    first = {(Path(m[1]).stem, m[2]) for _, m in halves if not m[1].endswith(NEXT)}
    return [
        path
        for path, match in halves
        if match[1].endswith(NEXT)
        and (Path(match[1].removesuffix(NEXT)).stem, match[2]) not in first
        and _is_left(_HALF_IN_SQUAD, path, today)
    ]


def left_zips(folder: Path) -> list[Path]:
    """Return the half-made back-ups that killed programs left in a folder."""
    return [p for p in _beside(folder) if _stem(_HALF, p).endswith(".zip") and _is_left(_HALF, p)]


def remove_left(paths: Iterable[Path], today: str = "") -> list[Path]:
    """Remove those that a killed program left and return them; what cannot be removed stays."""
    return [path for path in paths if _is_left(_HALF_IN_SQUAD, path, today) and _remove(path)]


@contextlib.contextmanager
def temporary_folder() -> Iterator[Path]:
    """A folder for what is needed for a moment; those of killed programs are removed first."""
    remove_temporary()
    with tempfile.TemporaryDirectory(prefix=f"tapmark-{os.getpid()}-") as folder:
        yield Path(folder)


def remove_temporary() -> None:
    """Remove the temporary folders that killed programs left."""
    for path in _beside(Path(tempfile.gettempdir())):
        if _is_left(_TEMPORARY, path) and path.is_dir():
            _remove(path)


def is_half_made(path: Path) -> bool:
    """Say whether a name is that of something half made, by us, running or not."""
    return bool(_HALF_IN_SQUAD.fullmatch(path.name))


def is_at_work(pid: int) -> bool:
    """Say whether a process runs on this computer, as far as one may ask."""
    if pid == os.getpid():
        return True
    if os.name == "nt":
        return _runs_on_windows(pid)
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):
        return True
    return True


ASK_ONLY, NO_SUCH_PROCESS, STILL_RUNS = 0x1000, 87, 259


def _runs_on_windows(pid: int) -> bool:
    """Ask Windows, where os.kill(pid, 0) would end the process.

    OpenProcess fails with error 87 for a number that no process has, with 5 for one that we may
    not ask; a process that has ended keeps its number as long as somebody holds it, but has an exit
    code (Microsoft, "OpenProcess" and "GetExitCodeProcess", Win32 reference).
    """
    import ctypes

    windows: Any = ctypes
    kernel, code = windows.WinDLL("kernel32", use_last_error=True), ctypes.c_ulong(STILL_RUNS)
    process = kernel.OpenProcess(ASK_ONLY, False, pid)
    if not process:
        return bool(windows.get_last_error() != NO_SUCH_PROCESS)
    kernel.GetExitCodeProcess(process, ctypes.byref(code))
    kernel.CloseHandle(process)
    return code.value == STILL_RUNS


def _stem(pattern: re.Pattern[str], path: Path) -> str:
    match = pattern.fullmatch(path.name)
    return match[1] if match else ""


def _is_left(pattern: re.Pattern[str], path: Path, today: str = "") -> bool:
    match = pattern.fullmatch(path.name)
    if match is None or path.is_symlink():
        return False
    return not is_at_work(int(match[2])) or (bool(today) and _is_old(path, today))


def _is_old(path: Path, today: str) -> bool:
    try:
        changed = date.fromtimestamp(path.stat().st_mtime)
    except (OSError, OverflowError, ValueError):
        return False
    return (date.fromisoformat(today) - changed).days >= DAYS_TO_BE_OLD


def _beside(folder: Path) -> list[Path]:
    try:
        return sorted(folder.iterdir(), key=lambda path: path.name)  # paths compare slowly
    except OSError:
        return []


def _remove(path: Path) -> bool:
    """Remove a file or a folder with all in it; a link as such. False where it stays."""
    if path.is_dir() and not path.is_symlink():
        shutil.rmtree(path, ignore_errors=True)
    else:
        with contextlib.suppress(OSError):
            path.unlink(missing_ok=True)
    return not os.path.lexists(path)
