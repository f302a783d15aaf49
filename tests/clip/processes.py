"""Counting processes from outside: what the system says, not what our own list says."""

import ctypes
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any, ClassVar


def ffmpeg_children(of: int | None = None) -> list[int]:
    """Return the process numbers of ffmpeg programs whose parent is `of` (default: this one)."""
    parent = os.getpid() if of is None else of
    if _has_no_children(parent):
        return []
    return [pid for pid, above, name in _processes() if above == parent and "ffmpeg" in name]


def _has_no_children(parent: int) -> bool:
    """Whether that is sure without a look at all processes: Linux keeps a list for each thread."""
    try:
        lists = [path.read_text() for path in Path(f"/proc/{parent}/task").glob("*/children")]
    except OSError:  # a thread ended meanwhile
        return False
    return bool(lists) and not any(lists)


def ffmpegs_reading(path: Path) -> list[int]:
    """Return the process numbers of every ffmpeg on this machine that reads this clip.

    On Windows of every ffmpeg at all, see _from_windows: nobody else may use one meanwhile.
    """
    reads = "ffmpeg" if sys.platform == "win32" else str(path)
    return [pid for pid, _, name in _processes() if "ffmpeg" in name and reads in name]


def _processes() -> list[tuple[int, int, str]]:
    if sys.platform == "linux":
        return list(_from_proc())
    if sys.platform == "win32":
        return list(_from_windows())
    listing = subprocess.run(
        ["ps", "-A", "-o", "pid=,ppid=,args="], capture_output=True, encoding="utf-8", check=True
    )
    rows = (line.split(maxsplit=2) for line in listing.stdout.splitlines())
    return [(int(row[0]), int(row[1]), row[2]) for row in rows if len(row) == 3]


def _from_proc() -> list[tuple[int, int, str]]:
    found = []
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            words = (folder / "cmdline").read_bytes().replace(b"\0", b" ")
            state = (folder / "stat").read_text(errors="replace").rsplit(")", 1)[1].split()
        except OSError:  # gone meanwhile
            continue
        if state[0] != "Z":
            found.append((int(folder.name), int(state[1]), words.decode("utf-8", "replace")))
    return found


class _Entry(ctypes.Structure):
    """PROCESSENTRY32W of Microsoft's tool help library."""

    _fields_: ClassVar = [
        ("size", ctypes.c_uint32),
        ("usage", ctypes.c_uint32),
        ("pid", ctypes.c_uint32),
        ("heap", ctypes.c_size_t),
        ("module", ctypes.c_uint32),
        ("threads", ctypes.c_uint32),
        ("parent", ctypes.c_uint32),
        ("priority", ctypes.c_int32),
        ("flags", ctypes.c_uint32),
        ("name", ctypes.c_wchar * 260),
    ]


def _from_windows() -> Iterator[tuple[int, int, str]]:
    """The program's name only: Windows tells nobody simply with which words one was started."""
    windows: Any = ctypes
    kernel, entry = windows.windll.kernel32, _Entry(size=ctypes.sizeof(_Entry))
    kernel.CreateToolhelp32Snapshot.restype = ctypes.c_void_p
    snapshot = ctypes.c_void_p(kernel.CreateToolhelp32Snapshot(2, 0))
    more = kernel.Process32FirstW(snapshot, ctypes.byref(entry))
    while more:
        yield entry.pid, entry.parent, entry.name
        more = kernel.Process32NextW(snapshot, ctypes.byref(entry))
    kernel.CloseHandle(snapshot)
