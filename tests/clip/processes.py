"""Counting processes from outside: what the system says, not what our own list says."""

import os
import subprocess
import sys
from pathlib import Path


def ffmpeg_children(of: int | None = None) -> list[int]:
    """Return the process numbers of ffmpeg programs whose parent is `of` (default: this one)."""
    parent = os.getpid() if of is None else of
    return [pid for pid, above, name in _processes() if above == parent and "ffmpeg" in name]


def ffmpegs_reading(path: Path) -> list[int]:
    """Return the process numbers of every ffmpeg on this machine that reads this clip."""
    return [pid for pid, _, name in _processes() if "ffmpeg" in name and str(path) in name]


def _processes() -> list[tuple[int, int, str]]:
    if sys.platform == "linux":
        return list(_from_proc())
    listing = subprocess.run(
        ["ps", "-A", "-o", "pid=,ppid=,args="], capture_output=True, text=True, check=True
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
