"""Read a zip that may come from anywhere: nothing in it is believed.

Refused: names that lead out of the folder or that some system cannot carry, names that are the
same but for case, links, encryption, and files that unpack to far more than they are.
"""

import errno
import os
import struct
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path, PurePosixPath

from tapmark import disk
from tapmark.errors import FileDamaged, NotThere, StoreError
from tapmark.store import names
from tapmark.store.shown import shown, shown_text

MOST_FILES = 200_000
SWELLS_AT_MOST = 150  # times its own size; our JSON packs to about a tenth
SMALL = 20_000_000  # bytes that any zip may unpack to

_FORBIDDEN = set('<>:"|?*\\')
_LINK = 0o120000


@contextmanager
def opened(path: Path) -> Iterator[zipfile.ZipFile]:
    """Open a zip and turn whatever is wrong with it into FileDamaged; raise NotThere.

    A zip that cannot be reached at all raises StoreError.
    """
    try:
        with disk.opened(path) as file, zipfile.ZipFile(file) as archive:
            yield archive
    except FileNotFoundError:
        raise NotThere(f"There is no back-up “{path.name}” in “{path.parent}”.") from None
    except (zipfile.BadZipFile, zlib.error, struct.error, EOFError, NotImplementedError) as error:
        raise FileDamaged(f"“{path.name}” is damaged or no zip: {_short(error)}.") from None
    except (ValueError, RuntimeError, IndexError, OverflowError, MemoryError) as error:
        raise FileDamaged(f"“{path.name}” cannot be unpacked: {_short(error)}.") from None
    except OSError as error:
        if error.errno == errno.EINVAL:  # it points to a place outside itself
            raise FileDamaged(f"“{path.name}” is damaged: it points outside itself.") from None
        raise StoreError(f"“{path.name}” cannot be read: {disk.reason(error)}.") from error


def safe_entries(archive: zipfile.ZipFile, name: str) -> tuple[zipfile.ZipInfo, ...]:
    """Return the files in a zip; raise FileDamaged for anything that must not be unpacked."""
    entries = tuple(entry for entry in archive.infolist() if not entry.is_dir())
    if len(entries) > MOST_FILES:
        raise FileDamaged(f"“{name}” holds {len(entries)} files: not a back-up of a squad.")
    seen: set[str] = set()
    for entry in entries:
        why = _why_refused(entry, seen)
        if why:
            way = shown(entry.filename)
            raise FileDamaged(f"“{name}” is refused: {way} {why}. Nothing was unpacked.")
        seen.add(entry.filename.lower())
    n_bytes = sum(entry.file_size for entry in entries)
    packed = os.fstat(archive.fp.fileno()).st_size if archive.fp else 0
    if n_bytes > max(SMALL, SWELLS_AT_MOST * packed):
        raise FileDamaged(
            f"“{name}” is refused: {packed:,} bytes would unpack to {n_bytes:,}. "
            "Nothing was unpacked."
        )
    return entries


def is_portable(way: str) -> bool:
    """Say whether a relative way with "/" means the same file on every system."""
    return len(way) < 240 and all(
        part not in ("", ".", "..")
        and part[-1] not in ". "
        and len(part) <= 200
        and not any(c in _FORBIDDEN or not c.isprintable() for c in part)
        and not names.is_kept_by_windows(part.split(".")[0])
        for part in way.split("/")
    )


def _why_refused(entry: zipfile.ZipInfo, seen: set[str]) -> str:
    if entry.flag_bits & 0x1:
        return "is encrypted"
    if (entry.external_attr >> 16) & 0o170000 == _LINK:
        return "is a link"
    if PurePosixPath(entry.filename).is_absolute() or not is_portable(entry.filename):
        return "has a name that leads elsewhere or that some computers cannot carry"
    if entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        return "is packed in a way that is not used here"
    return "stands twice" if entry.filename.lower() in seen else ""


def _short(error: BaseException) -> str:
    return shown_text(str(error), 100) or type(error).__name__
