"""The whole squad in one zip with a list of checksums, and the way back.

The zip is plain: any program opens it, nothing in it is encrypted, and about.txt in it says so.
checksums.sha256 is in the form that `sha256sum -c` reads. Pictures and pages go in only for
athletes whose consents allow it.
"""

import os
import re
import shutil
import stat
import zipfile
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from hashlib import sha256
from pathlib import Path
from typing import IO

from tapmark import disk, leftovers
from tapmark.errors import AlreadyThere, CannotWrite, FileDamaged, NotThere, StoreError
from tapmark.marks.days import long_day, several
from tapmark.marks.people import CONSENT_WORDS, Athlete, Consent
from tapmark.media_types import is_media, kind_of
from tapmark.progress import NOBODY, Progress, Told
from tapmark.store import delete, files, names, schema, zips
from tapmark.store.choices import SquadChoices
from tapmark.store.leaving import Leaving
from tapmark.store.lock import refuse_if_open
from tapmark.store.schema import FileKind
from tapmark.store.shown import shown
from tapmark.store.squad import BEFORE, Squad, Troubles, Value, open_squad, put_aside

INSIDE = "squad/"
CHECKSUMS = "checksums.sha256"
ABOUT = "about.txt"
CHUNK = 1 << 20
NOT_ENCRYPTED = "The zip is not encrypted: keep the USB stick as you would keep the pictures."

_ATHLETE = re.compile(rf"{INSIDE}athletes/([^/]+)/athlete\.json")
_ABOUT = """A Tapmark squad, backed up on {today}: {n} files.

This zip is not encrypted: anyone who has it can read it. Keep it where you keep the consent forms.
To check it without Tapmark: unpack it and run  sha256sum -c checksums.sha256
An athlete deleted after this day is still in here.
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

    @property
    def size(self) -> str:
        """How much it holds, in words."""
        return f"{several(self.n_files, 'file')}, {self.n_bytes / 1e6:.1f} MB"


@dataclass(frozen=True)
class Restored:
    """Where a back-up was unpacked to, and where the old squad is kept (None = there was none).

    carried: sentences about what of the old squad holds on: later withdrawals and deletions.
    """

    folder: Path
    old_kept: Path | None
    carried: tuple[str, ...] = ()


def back_up(squad: Squad, target: Path, today: str, progress: Progress = NOBODY) -> Backup:
    """Write the squad to a zip, check the zip, and only then give it its name.

    Raises CannotWrite, also for a target inside the squad; an older file of that name stays until
    the new one is checked.
    """
    _refuse_target(squad, target)
    going, left_out = _sorted_out(squad, today)
    leftovers.remove_left(leftovers.left_zips(target.parent))
    part = leftovers.half_made(target)
    try:
        with part.open("xb") as file:
            _pack(squad.folder, file, going, today, _half(progress, 0))
            file.flush()
            os.fsync(file.fileno())
        check_backup(part, _half(progress, 1))
        disk.move_into_place(part, target)
    except OSError as error:
        files.refuse_write(target, error)
    finally:
        part.unlink(missing_ok=True)
    n_bytes = sum(disk.size(squad.folder / way) for way in going)
    return Backup(target, len(going), n_bytes, left_out)


def _half(progress: Progress, i: int) -> Progress:
    """Return who is told of one half of a work, packing or checking: of both, what is done."""

    def report(so_far: int, of: int | None) -> None:
        of = of or 0
        progress.report(i * of + so_far, 2 * of)

    return Told(report, progress.is_cancelled)


def _refuse_target(squad: Squad, target: Path) -> None:
    """Raise CannotWrite for a place where no back-up may be put; nothing has been made yet."""
    if disk.resolved(target).is_relative_to(disk.resolved(squad.folder)):
        raise CannotWrite(f"“{target.name}” lies in the squad itself. Put it on a stick instead.")
    if disk.is_folder(target) or target.name in ("", ".."):
        raise CannotWrite(f"“{target}” is a folder. Name the zip in it, such as squad.zip.")
    try:
        mode = target.lstat().st_mode
    except FileNotFoundError:
        return
    except OSError as error:
        files.refuse_write(target, error)
    if not stat.S_ISREG(mode):
        what = "a link" if stat.S_ISLNK(mode) else "a device or a pipe, not a file"
        raise CannotWrite(f"“{target}” is {what}. It was left as it is: name a new zip.")


def check_backup(path: Path, progress: Progress = NOBODY) -> Backup:
    """Read every byte of a back-up against its checksums.

    Raises NotThere, FileDamaged with what is wrong: no zip, a refused name, a missing file, a file
    that is not in the list, a checksum that differs.
    """
    with zips.opened(path) as archive:
        entries = zips.safe_entries(archive, path.name)
        wanted = _wanted(archive, path.name)
        found = {entry.filename for entry in entries} - {CHECKSUMS, ABOUT}
        for way in sorted(found ^ set(wanted)):
            why = "is missing from it" if way in wanted else "is not in its list of checksums"
            raise FileDamaged(f"“{path.name}” is damaged: {shown(way)} {why}. Use another back-up.")
        for way in sorted(found):
            if not way.startswith(INSIDE):
                raise FileDamaged(f"“{path.name}” holds {shown(way)}, which is no part of a squad.")
        for done, (way, digest) in enumerate(wanted.items()):
            progress.report(done, len(wanted))
            with archive.open(way) as file:
                _refuse_other(_digest(file), digest, way, path.name)
        sizes = (entry.file_size for entry in entries if entry.filename in wanted)
        return Backup(path, len(wanted), sum(sizes))


def restore(
    path: Path, folder: Path, now: datetime, replace_old: bool = False, is_dry_run: bool = False
) -> Restored:
    """Unpack a back-up into a folder, after everything in it was checked.

    replace_old: a squad that lies there is renamed, never deleted, once the new one is whole;
                 consents withdrawn and athletes deleted in it since stay so, see held_on_to.
    is_dry_run:  check all the same, touch nothing and return what would be.
    A restore that was broken off there is undone first.
    Raises AlreadyThere (something lies there, replace_old is False), NotThere, HeldByAnother (a
    run in it is open), FileDamaged, FileTooNew, CannotWrite; then the folder is what it was.
    """
    _refuse_folder(folder)
    if not is_dry_run and (kept := put_aside(folder)):  # by a restore that was killed
        disk.rename_folder(kept, folder)
    is_taken = bool(disk.entries(folder))
    if is_taken and not replace_old:
        raise AlreadyThere(f"“{folder.name}” is not empty. Choose a new or an empty folder.")
    check_backup(path)
    carried = held_on_to(path, folder)
    old = _free(folder.with_name(f"{folder.name}{BEFORE}{now:%Y-%m-%d %H%M%S}"))
    restored = Restored(folder, old if is_taken else None, carried.told())
    if is_dry_run:
        return restored
    refuse_if_open(_files(folder), "restore", now)
    fresh = leftovers.half_made(folder)
    try:
        _unpack(path, fresh)
        _carry_over(open_squad(fresh, []), carried, now)
        _put_in_place(fresh, restored)
    except OSError as error:
        files.refuse_write(folder, error)
    finally:
        shutil.rmtree(fresh, ignore_errors=True)
    return restored


# What a restore must not undo: a no said since the back-up was made, and who was deleted since.
# Both are read from the squad that lies in the place to be restored. A yes in the back-up that is
# younger than the no stays. Who was deleted is written nowhere, only when: if the squad knows of
# deletions that the back-up does not, an athlete in the back-up alone counts as deleted.


@dataclass(frozen=True)
class CarriedOver:
    """What of the squad in place holds on after a restore.

    answers:    (code, their no) of each use of pictures.
    deleted:    codes that are in the back-up and were deleted since.
    deleted_on: the dates that squad.json must know afterwards.
    unread:     sentences about files of the squad in place that nobody can read.
    """

    answers: tuple[tuple[str, Consent], ...] = ()
    deleted: tuple[str, ...] = ()
    deleted_on: tuple[str, ...] = ()
    unread: tuple[str, ...] = ()

    def told(self) -> tuple[str, ...]:
        """Return a sentence for each thing, for the coach to read before anything is done."""
        return (
            *(
                f"{code}: the no to “{CONSENT_WORDS[no.use]}” of {long_day(_said_on(no)) or 'here'}"
                " is younger than the back-up and goes on counting."
                for code, no in self.answers
            ),
            *(f"{code} was deleted since and stays deleted." for code in self.deleted),
            *(f"Cannot be carried over: {words}" for words in self.unread),
        )


def held_on_to(path: Path, folder: Path) -> CarriedOver:
    """Return what of the squad in a folder holds on when a back-up takes its place.

    Raises as check_backup does.
    """
    troubles: Troubles = []
    with zips.opened(path) as archive:
        names_in = sorted(entry.filename for entry in zips.safe_entries(archive, path.name))
        codes = {way: at[1] for way in names_in if (at := _ATHLETE.fullmatch(way))}
        theirs = [_read_in(archive, way, schema.ATHLETE_FILE) for way in codes]
        choices = _read_in(archive, f"{INSIDE}squad.json", schema.SQUAD_FILE) or SquadChoices()
    try:
        here = open_squad(folder, troubles)
    except StoreError:
        return CarriedOver()  # nothing there, or no squad
    known = set(here.codes())
    ours, others = Counter(here.choices.deleted_on), Counter(choices.deleted_on)
    answers = [
        (each.code, no)
        for each in theirs
        if each and each.code in known
        for no in _nos_since(here, each, troubles)
    ]
    return CarriedOver(
        tuple(answers),
        tuple(sorted(set(codes.values()) - known)) if ours - others else (),
        tuple(sorted((ours | others).elements())),
        tuple(map(str, troubles)),
    )


def _nos_since(here: Squad, theirs: Athlete, troubles: Troubles) -> Iterator[Consent]:
    """Yield each no of an athlete here that the back-up neither has nor answers later."""
    try:
        consents = here.athlete(theirs.code).consents
    except StoreError as error:
        troubles.append(error)
        return
    for last in {each.use: each for each in consents}.values():
        answer = theirs.consent(last.use)
        is_answered = answer and (_is_no(answer) or answer.dated > _said_on(last))
        if _is_no(last) and not is_answered:
            yield last


def _is_no(answer: Consent) -> bool:
    return bool(answer.withdrawn) or not answer.is_given


def _said_on(no: Consent) -> str:
    return no.withdrawn or no.dated


def _carry_over(squad: Squad, carried: CarriedOver, now: datetime) -> None:
    """Put it into the squad unpacked from the back-up."""
    for code in carried.deleted:
        delete.delete_athlete(squad, delete.plan_delete(squad, code), now)
    for code in dict.fromkeys(code for code, _ in carried.answers):
        athlete = squad.athlete(code)
        nos = tuple(no for whose, no in carried.answers if whose == code)
        squad.save_athlete(replace(athlete, consents=(*athlete.consents, *nos)))
    known = squad.choices.deleted_on
    missing = tuple(sorted((Counter(carried.deleted_on) - Counter(known)).elements()))
    if missing:
        squad.save_choices(replace(squad.choices, deleted_on=(*known, *missing)))


def _read_in(archive: zipfile.ZipFile, way: str, kind: FileKind[Value]) -> Value | None:
    """Return what a JSON file in a zip holds, None where it is missing or damaged."""
    try:
        if archive.getinfo(way).file_size > files.LARGEST_JSON:
            return None
        return kind.read(files.json_value(archive.read(way), way), way)
    except (KeyError, StoreError):
        return None


def _refuse_folder(folder: Path) -> None:
    """Raise what speaks against unpacking there, before anything is made."""
    if folder.name in ("", ".."):
        raise AlreadyThere(f"“{folder}” has no name of its own. Name a new or an empty folder.")
    if folder.is_symlink():
        raise AlreadyThere(
            f"“{folder}” is a link: what lies behind it would stay. Name the folder itself."
        )
    if not disk.is_folder(folder.parent):
        raise NotThere(f"There is no folder “{folder.parent}”. Make it first, or name another one.")
    if disk.exists(folder) and not disk.is_folder(folder):
        raise AlreadyThere(f"“{folder.name}” is a file. Choose a folder.")


def _sorted_out(squad: Squad, today: str) -> tuple[list[str], tuple[tuple[str, str], ...]]:
    """Return the ways that go in, and those that do not with the reason."""
    going, left_out = [], []
    leaving = Leaving(squad, today)
    for path in _files(squad.folder):
        way = path.relative_to(squad.folder).as_posix()
        is_portable = zips.is_portable(INSIDE + way)
        why = leaving.why_not(path) if is_portable else "some computers cannot carry its name"
        if kind_of(path.name) == "data" and disk.size(path) > files.LARGEST_JSON:
            why = "it is far larger than such a file can be"
        if why:
            left_out.append((way, why))
        else:
            going.append(way)
    return going, tuple(left_out)


def _files(folder: Path) -> Iterator[Path]:
    found = (path for path in disk.all_below(folder) if disk.is_file(path))
    return (
        path
        for path in found
        if not path.is_symlink() and not names.is_leftover(path)
        if path.relative_to(folder).parts[0].split(".")[0] != names.MERGING  # in no place yet
    )


def _pack(root: Path, file: IO[bytes], going: list[str], today: str, progress: Progress) -> None:
    lines = []
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        for done, way in enumerate(going):
            progress.report(done, len(going))
            packing = zipfile.ZIP_STORED if is_media(way) else zipfile.ZIP_DEFLATED
            archive.write(root / way, INSIDE + way, packing)
            lines.append(f"{_digest_of_file(root / way)}  {INSIDE}{way}\n")
        archive.writestr(CHECKSUMS, "".join(lines))
        archive.writestr(ABOUT, _ABOUT.format(today=today, n=len(going)))


def _digest_of_file(path: Path) -> str:
    with disk.opened(path, follow=False) as file:
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
    fresh.mkdir()
    with zips.opened(path) as archive:
        zips.safe_entries(archive, path.name)
        for way, digest in _wanted(archive, path.name).items():
            target = fresh / way.removeprefix(INSIDE)
            if not disk.resolved(target).is_relative_to(disk.resolved(fresh)):
                raise FileDamaged(f"“{path.name}” is refused: {shown(way)} leads elsewhere.")
            files.make_folder(target.parent)
            try:
                with archive.open(way) as packed, target.open("xb") as file:
                    shutil.copyfileobj(packed, file, CHUNK)
                    file.flush()
                    os.fsync(file.fileno())
            except OSError as error:
                files.refuse_write(target, error)
            _refuse_other(_digest_of_file(target), digest, way, path.name)


def _put_in_place(fresh: Path, restored: Restored) -> None:
    folder, old = restored.folder, restored.old_kept
    if old:
        disk.rename_folder(folder, old)
    try:
        if disk.is_folder(folder):
            folder.rmdir()  # an empty one
        disk.rename_folder(fresh, folder)
    except (OSError, CannotWrite):
        if old:
            disk.rename_folder(old, folder)
        raise


def _free(path: Path) -> Path:
    for candidate in (path, *(path.with_name(f"{path.name}-{i}") for i in range(2, 1000))):
        if not disk.exists(candidate):
            return candidate
    raise NotThere(f"Beside “{path.name}” there are too many left-over folders. Tidy up there.")
