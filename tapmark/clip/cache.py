"""The folder of prepared pictures: a bounded store that may be emptied at any time.

It lies in the user's own cache folder, never beside a clip. File names are hashes, so they give
no name away. Each reading of a clip writes a file of its own; there is no renaming, because
Windows refuses that for open files. A file counts once its index is written.
"""

import contextlib
import hashlib
import itertools
import os
import shutil
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from tapmark import disk
from tapmark.clip.blob import Blob, open_blob, start_blob
from tapmark.clip.names import reading_path
from tapmark.errors import ClipError

LIMIT_BYTES = 2 << 30
ENDING = ".pictures"
ABANDONED_S = 3600.0
SETTINGS = "1280 q3 v1"
"""Part of each file's name: pictures prepared in another way are not taken for ours."""


def user_cache_folder(environment: Mapping[str, str], home: Path, platform: str) -> Path:
    """Return where this user's programs keep what may be thrown away.

    environment, home, platform:  os.environ, Path.home(), sys.platform
    """
    if platform == "win32":
        base = Path(environment.get("LOCALAPPDATA") or home / "AppData" / "Local")
    elif platform == "darwin":
        base = home / "Library" / "Caches"
    else:
        base = Path(environment.get("XDG_CACHE_HOME") or home / ".cache")
    return base / "tapmark"


class Cache:
    """Prepared pictures of clips, oldest out first once they pass the limit."""

    def __init__(self, folder: Path, limit_bytes: int = LIMIT_BYTES) -> None:
        """Use `folder`, made when missing. Raises ClipError when it cannot be made."""
        self.folder = folder
        self.limit_bytes = limit_bytes
        try:
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        except OSError as trouble:
            raise ClipError(
                f"The folder for prepared pictures, {folder}, cannot be made: "
                f"{disk.reason(trouble)}."
            ) from trouble

    def find(self, clip: Path, details: str) -> tuple[Blob, dict[str, Any]] | None:
        """Return the finished pictures of this very clip, None when there are none.

        details: what else distinguishes them (part, program version)
        """
        for path in sorted(self.folder.glob(f"{_key(clip, details)}-*{ENDING}")):
            if found := open_blob(path):
                with contextlib.suppress(OSError):  # a read-only cache still serves
                    os.utime(path)  # used just now
                return found
        return None

    def start(self, clip: Path, details: str) -> Blob:
        """Return a new empty blob for this clip and make room. Raises OSError."""
        key = _key(clip, details)
        for n in itertools.count():
            path = self.folder / f"{key}-{os.getpid()}-{n}{ENDING}"
            try:
                blob = start_blob(path)
            except FileExistsError:
                continue
            self.make_room(keep=path)
            return blob
        raise AssertionError("itertools.count ended")

    def make_room(self, keep: Path) -> None:
        """Remove the oldest files until the limit is met, and what crashed readings left.

        keep: a file in use, just written to; it also tells the time
        """
        now_s = keep.stat().st_mtime
        entries = sorted(self._entries(), key=lambda entry: entry[0])
        total = sum(size for _, size, _ in entries)
        for time_s, size, path in entries:
            is_abandoned = False
            if now_s - time_s > ABANDONED_S:
                found = open_blob(path)
                is_abandoned = found is None
                if found:
                    found[0].close()
            if path != keep and (total > self.limit_bytes or is_abandoned) and _remove(path):
                total -= size

    def forget(self, clip: Path) -> int:
        """Remove everything prepared from the clip at this path; return how many files."""
        return sum(_remove(p) for p in self.folder.glob(f"{_path_key(clip)}-*{ENDING}"))

    def empty(self) -> int:
        """Remove everything prepared, whichever clip it is from; return how many files."""
        return sum(_remove(path) for path in self.folder.glob(f"*{ENDING}"))

    def size_bytes(self) -> int:
        return sum(size for _, size, _ in self._entries())

    def free_bytes(self) -> int:
        return shutil.disk_usage(self.folder).free

    def _entries(self) -> list[tuple[float, int, Path]]:
        """Return (time of last use, size, path) of every file, ours or another window's."""
        found = []
        for path in self.folder.glob(f"*{ENDING}"):
            try:
                facts = path.stat()
            except OSError:  # another window removed it in between
                continue
            found.append((facts.st_mtime, facts.st_size, path))
        return found


def _key(clip: Path, details: str) -> str:
    facts = clip.stat()
    text = f"{facts.st_size} {facts.st_mtime_ns} {details} {SETTINGS}"
    return f"{_path_key(clip)}-{_hash(text)}"


def _path_key(clip: Path) -> str:
    return _hash(reading_path(clip))


def _hash(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:16]


def _remove(path: Path) -> bool:
    """Remove a file; False when it is in use on Windows or already gone."""
    try:
        path.unlink()
    except OSError:
        return False
    return True
