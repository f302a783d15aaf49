"""The whole squad in one zip with a list of checksums, and the way back.

The zip is plain: any program opens it, nothing in it is encrypted, and about.txt in it says so.
checksums.sha256 is in the form that `sha256sum -c` reads. Pictures and pages go in only for
athletes whose consents allow it.
"""

import os
import shutil
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from pathlib import Path
from typing import IO

from tapmark.errors import AlreadyThere, CannotWrite, FileDamaged, NotThere, StoreError
from tapmark.media_types import CLIPS, PAGES, STILLS, is_media
from tapmark.store import files, names, zips
from tapmark.store.gates import consent_state, is_open, may_show_photo, may_write
from tapmark.store.lock import refuse_if_open
from tapmark.store.pictures import is_photo_page
from tapmark.store.shown import shown
from tapmark.store.squad import Squad, open_squad

INSIDE = "squad/"
CHECKSUMS = "checksums.sha256"
ABOUT = "about.txt"
CHUNK = 1 << 20

Told = Callable[[int, int], None]
"""Called before each file with (files done, files in all); what it raises stops the work."""

_PICTURES = {*CLIPS, *STILLS}
_PAGES = {*PAGES}
_PHOTO_PAGE = "a page with a photo"  # stands for the ending of such a page
_ABOUT = """A Tapmark squad, backed up on {today}: {n} files.

This zip is not encrypted: whoever has it can read it. Keep it where you keep the consent forms.
To check it without Tapmark: unpack it and run  sha256sum -c checksums.sha256
Somebody who was deleted after this day is still in here.
"""


@dataclass(frozen=True)
class Backup:
    """What a back-up holds.

    left_out: (way inside the squad, why) of what did not go in.
    """

    path: Path
    n_files: int
    n_bytes: int
    left_out: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Restored:
    """Where a back-up was unpacked to, and where the old squad is kept (None = there was none)."""

    folder: Path
    old_kept: Path | None


def _nobody_asks(done: int, of: int) -> None:
    pass


def back_up(squad: Squad, target: Path, today: str, told: Told = _nobody_asks) -> Backup:
    """Write the squad to a zip, check the zip, and only then give it its name.

    Raises CannotWrite, also for a target inside the squad; an older file of that name stays until
    the new one is checked.
    """
    if target.resolve().is_relative_to(squad.folder.resolve()):
        raise CannotWrite(f"“{target.name}” lies in the squad itself. Put it on a stick instead.")
    if target.is_dir() or not target.name:
        raise CannotWrite(f"“{target}” is a folder. Name the zip in it, such as squad.zip.")
    going, left_out = _sorted_out(squad, today)
    part = target.with_name(f"{target.name}.{os.getpid()}{names.PART}")
    try:
        _pack(squad.folder, part, going, today, lambda done, n: told(done, 2 * n))
        check_backup(part, lambda done, n: told(n + done, 2 * n))
        os.replace(part, target)  # noqa: PTH105  as in files
    except OSError as error:
        files.refuse_write(target, error)
    finally:
        part.unlink(missing_ok=True)
    n_bytes = sum((squad.folder / way).stat().st_size for way in going)
    return Backup(target, len(going), n_bytes, left_out)


def check_backup(path: Path, told: Told = _nobody_asks) -> Backup:
    """Read every byte of a back-up against its checksums.

    Raises NotThere, FileDamaged with what is wrong: no zip, a refused name, a missing file, a file
    that is not in the list, a checksum that differs.
    """
    with zips.opened(path) as archive:
        entries = zips.safe_entries(archive, path.name)
        wanted = _wanted(archive, path.name)
        found = {entry.filename for entry in entries} - {CHECKSUMS, ABOUT}
        _refuse_strangers(found, set(wanted), path.name)
        for done, (way, digest) in enumerate(wanted.items()):
            told(done, len(wanted))
            with archive.open(way) as file:
                _refuse_other(_digest(file), digest, way, path.name)
        sizes = (entry.file_size for entry in entries if entry.filename in wanted)
        return Backup(path, len(wanted), sum(sizes))


def restore(
    path: Path, folder: Path, now: datetime, replace_old: bool = False, is_dry_run: bool = False
) -> Restored:
    """Unpack a back-up into a folder, after everything in it was checked.

    replace_old: a squad that lies there is renamed, never deleted, once the new one is whole.
    is_dry_run:  check all the same, touch nothing and return what would be.
    Raises AlreadyThere (something lies there, replace_old is False), HeldByAnother (a run in it is
    open), FileDamaged, FileTooNew, CannotWrite; then the folder is what it was.
    """
    if folder.exists() and not folder.is_dir():
        raise AlreadyThere(f"“{folder.name}” is a file. Choose a folder.")
    is_taken = folder.is_dir() and any(folder.iterdir())
    if is_taken and not replace_old:
        raise AlreadyThere(f"“{folder.name}” is not empty. Choose a new or an empty folder.")
    check_backup(path)
    old = _free(folder.with_name(f"{folder.name} before {now:%Y-%m-%d %H%M%S}"))
    restored = Restored(folder, old if is_taken else None)
    if is_dry_run:
        return restored
    refuse_if_open(_files(folder), "restore", now)
    fresh = _free(folder.with_name(f"{folder.name}.restoring"))
    try:
        _unpack(path, fresh)
        open_squad(fresh, [])
        _put_in_place(fresh, restored)
    except OSError as error:
        files.refuse_write(folder, error)
    finally:
        shutil.rmtree(fresh, ignore_errors=True)
    return restored


def _sorted_out(squad: Squad, today: str) -> tuple[list[str], tuple[tuple[str, str], ...]]:
    """Return the ways that go in, and those that do not with the reason."""
    going, left_out = [], []
    closed = _closed_pictures(squad, today)
    for path in _files(squad.folder):
        way = path.relative_to(squad.folder).as_posix()
        why = _why_not(path, way, closed)
        if why:
            left_out.append((way, why))
        else:
            going.append(way)
    return going, tuple(left_out)


def _closed_pictures(squad: Squad, today: str) -> dict[str, set[str]]:
    """Return, for each athlete, the endings of files that may not go out."""
    closed = {}
    for code in squad.codes():
        try:
            athlete = squad.athlete(code)
        except StoreError:
            closed[code] = _PICTURES | _PAGES | {_PHOTO_PAGE}  # nobody can say that they agreed
            continue
        may_picture = is_open(may_write, "pictures in a back-up", athlete, today)
        may_page = consent_state(athlete, "film", today) == "given"
        may_photo = may_picture and is_open(may_show_photo, athlete, today)
        closed[code] = (set() if may_picture else _PICTURES) | (set() if may_page else _PAGES)
        closed[code] |= set() if may_photo else {_PHOTO_PAGE}
    return closed


def _why_not(path: Path, way: str, closed: dict[str, set[str]]) -> str:
    parts = way.split("/")
    if not zips.is_portable(INSIDE + way):
        return "some computers cannot carry its name"
    code = parts[1] if len(parts) > 2 and parts[0] == "athletes" else ""
    ending = _PHOTO_PAGE if is_photo_page(path) else path.suffix.lower()
    if ending in closed.get(code, set()):
        return "no consent to give it out"
    return ""


def _files(folder: Path) -> Iterator[Path]:
    found = (path for path in sorted(folder.rglob("*")) if path.is_file())
    return (path for path in found if not path.is_symlink() and not names.is_leftover(path))


def _pack(root: Path, part: Path, going: list[str], today: str, told: Told) -> None:
    lines = []
    with part.open("xb") as file:
        with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
            for done, way in enumerate(going):
                told(done, len(going))
                archive.write(root / way, INSIDE + way, _packing(way))
                lines.append(f"{_digest_of_file(root / way)}  {INSIDE}{way}\n")
            archive.writestr(CHECKSUMS, "".join(lines))
            archive.writestr(ABOUT, _ABOUT.format(today=today, n=len(going)))
        file.flush()
        os.fsync(file.fileno())


def _packing(way: str) -> int:
    return zipfile.ZIP_STORED if is_media(way) else zipfile.ZIP_DEFLATED


def _digest_of_file(path: Path) -> str:
    with path.open("rb") as file:
        return _digest(file)


def _wanted(archive: zipfile.ZipFile, name: str) -> dict[str, str]:
    """Return way -> checksum of the list in the zip."""
    try:
        text = archive.read(CHECKSUMS).decode("utf-8")
    except KeyError:
        raise FileDamaged(f"“{name}” has no list of checksums: not a back-up.") from None
    pairs = [line.split("  ", 1) for line in text.splitlines()]
    if not all(len(pair) == 2 for pair in pairs):
        raise FileDamaged(f"“{name}” is damaged: its list of checksums cannot be read.")
    return {way: digest for digest, way in pairs}


def _refuse_strangers(found: set[str], wanted: set[str], name: str) -> None:
    for way in sorted(found ^ wanted):
        why = "is missing from it" if way in wanted else "is not in its list of checksums"
        raise FileDamaged(f"“{name}” is damaged: {shown(way)} {why}. Use another back-up.")
    outside = [way for way in found if not way.startswith(INSIDE)]
    if outside:
        raise FileDamaged(f"“{name}” holds {shown(outside[0])}, which is no part of a squad.")


def _digest(file: IO[bytes]) -> str:
    digest = sha256()
    while chunk := file.read(CHUNK):
        digest.update(chunk)
    return digest.hexdigest()


def _refuse_other(found: str, wanted: str, way: str, name: str) -> None:
    if found != wanted:
        raise FileDamaged(
            f"“{name}” is damaged: {shown(way)} differs from its checksum. Use another back-up."
        )


def _unpack(path: Path, fresh: Path) -> None:
    """Unpack into a new folder, checking again what lands on the disk."""
    fresh.mkdir(parents=True)
    with zips.opened(path) as archive:
        zips.safe_entries(archive, path.name)
        for way, digest in _wanted(archive, path.name).items():
            target = fresh / way.removeprefix(INSIDE)
            if not target.resolve().is_relative_to(fresh.resolve()):
                raise FileDamaged(f"“{path.name}” is refused: {shown(way)} leads elsewhere.")
            _copy_out(archive, way, target)
            _refuse_other(_digest_of_file(target), digest, way, path.name)


def _copy_out(archive: zipfile.ZipFile, way: str, target: Path) -> None:
    files.make_folder(target.parent)
    try:
        with archive.open(way) as packed, target.open("xb") as file:
            shutil.copyfileobj(packed, file, CHUNK)
            file.flush()
            os.fsync(file.fileno())
    except OSError as error:
        files.refuse_write(target, error)


def _put_in_place(fresh: Path, restored: Restored) -> None:
    folder, old = restored.folder, restored.old_kept
    if old:
        folder.rename(old)
    try:
        if folder.is_dir():
            folder.rmdir()  # an empty one
        fresh.rename(folder)
    except OSError:
        if old:
            old.rename(folder)
        raise


def _free(path: Path) -> Path:
    for candidate in (path, *(path.with_name(f"{path.name}-{i}") for i in range(2, 1000))):
        if not candidate.exists():
            return candidate
    raise NotThere(f"Beside “{path.name}” there are too many left-over folders. Tidy up there.")
