"""The stills beside a run, and the clip that a run came from.

Stills are what the page needs when the clip is gone: five pictures of each step and two neighbours
either side, as JPEG bytes made by the caller, kept without anything a phone wrote beside them. The
clip stays where it is; it is known again by its size and the fingerprint of its first megabyte.
"""

import os
import re
from collections.abc import Mapping
from dataclasses import replace
from hashlib import sha256
from pathlib import Path
from typing import NoReturn

from tapmark import disk
from tapmark.errors import FileDamaged, NotThere, OtherPictures, StoreError
from tapmark.kinds import is_day
from tapmark.marks.days import whose_run
from tapmark.marks.points import BACK_EVENTS, SIDE_EVENTS
from tapmark.marks.run import Source
from tapmark.store import files
from tapmark.store.jpeg import without_metadata
from tapmark.store.squad import RunAt, Squad, all_runs

MEGABYTE = 1 << 20
NEIGHBOURS = 2
PHOTO_PAGE = "photo-"  # how the names of pages with a photo in them begin
SLACK_PICTURES = 2  # two readings of one clip may differ by so many at its end
SINCE = "since.txt"  # in a folder of stills: the day from which it may be kept a week

Size = tuple[int, int]
Time = float | None
Still = tuple[int, str, int]
"""Number of the step from 0, event, pictures after the key frame (negative: before)."""

_SLUGS = {event.replace(" ", "-"): event for event in (*SIDE_EVENTS, *BACK_EVENTS)}
_NAME = re.compile(r"step-([1-9][0-9]{0,2})-([a-z-]+?)(?:-(before|after)-([1-9]))?\.jpg")


def is_photo_page(path: Path) -> bool:
    """Return whether a page has a photo in it: it is held and let go like a still."""
    return path.name.startswith(PHOTO_PAGE)


def still_name(still: Still) -> str:
    """Return the file name of a still, e.g. step-1-toe-off-before-2.jpg."""
    i_step, event, offset = still
    side = "" if not offset else f"-{'before' if offset < 0 else 'after'}-{abs(offset)}"
    return f"step-{i_step + 1}-{event.replace(' ', '-')}{side}.jpg"


def read_still_name(name: str) -> Still | None:
    """Return which still a file name means, or None for another file."""
    match = _NAME.fullmatch(name)
    if not match or match[2] not in _SLUGS:
        return None
    offset = int(match[4] or 0) * (-1 if match[3] == "before" else 1)
    return int(match[1]) - 1, _SLUGS[match[2]], offset


def keep_stills(
    squad: Squad, code: str, dated: str, name: str, stills: Mapping[Still, bytes], today: str
) -> None:
    """Put JPEG stills beside a run; those that are there under the same name are replaced.

    today: ISO date, written once: without the consent to keep stills they go a week later.
    Raises NotThere when the run is gone, FileDamaged for bytes that are no JPEG (nothing is written
    then), CannotWrite.
    """
    if not squad.run_path(code, dated, name).is_file():  # a late still brings nobody back
        raise NotThere(f"{whose_run(code, dated, name)} is gone, so no still of it is kept.")
    clean = {still_name(still): without_metadata(jpeg) for still, jpeg in stills.items()}
    folder = squad.stills_folder(code, dated, name)
    files.make_folder(folder)
    if not disk.exists(folder / SINCE):
        files.write_bytes(folder / SINCE, today.encode())
    for file_name, jpeg in clean.items():
        files.write_bytes(folder / file_name, jpeg)


def kept_stills(folder: Path) -> dict[Still, Path]:
    """Return the stills of a run that are there."""
    found = ((read_still_name(path.name), path) for path in _files(folder))
    return {still: path for still, path in sorted(found, key=lambda f: f[1].name) if still}


def drop_stills(folder: Path) -> tuple[Path, ...]:
    """Delete every picture in a run's folder of stills; return what was deleted."""
    gone = tuple(path for path in _files(folder) if path.name != SINCE)
    for path in gone:
        files.remove_file(path)
    files.remove_file(folder / SINCE)
    if disk.is_folder(folder) and not disk.entries(folder):
        folder.rmdir()
    return gone


def photo_pages(visit_folder: Path) -> tuple[Path, ...]:
    """Return the pages of a visit that have a photo in them."""
    return tuple(path for path in _files(visit_folder) if is_photo_page(path))


def drop_photo_pages(visit_folder: Path) -> None:
    """Delete the pages of a visit that have a photo in them; raises CannotWrite."""
    for path in photo_pages(visit_folder):
        files.remove_file(path)


def kept_since(folder: Path) -> str:
    """Return the ISO date on which the stills came, "" when nothing says so."""
    try:
        text = files.read_bytes(folder / SINCE, 100, follow=False).decode("ascii", "replace")
    except StoreError:
        return ""
    return text.strip() if is_day(text.strip()) else ""


def fingerprint(path: Path) -> str:
    """Return the SHA-256 of a file's first megabyte, as hexadecimal digits.

    Raises NotThere, StoreError when it cannot be read.
    """
    try:
        with disk.opened(path) as file:
            return sha256(file.read(MEGABYTE)).hexdigest()
    except FileNotFoundError:
        raise NotThere(f"There is no clip “{path.name}” in “{path.parent}”.") from None
    except OSError as error:
        raise StoreError(f"“{path.name}” cannot be read: {disk.reason(error)}.") from error


def clip_of(clip: Path, run_path: Path, source: Source) -> Source:
    """Return the source with path, size and fingerprint of a clip as it lies now."""
    return replace(
        source,
        path=way_to(clip, run_path),
        size_bytes=disk.size(clip),
        fingerprint=fingerprint(clip),
    )


def way_to(clip: Path, run_path: Path) -> str:
    """Return a path from the folder of a run's file, with "/", absolute on another drive."""
    try:
        return Path(os.path.relpath(clip, run_path.parent)).as_posix()
    except ValueError:
        return clip.absolute().as_posix()


def clip_path(source: Source, run_path: Path) -> Path:
    """Return where a run's clip or folder of stills should lie."""
    return Path(os.path.normpath(disk.spelled(run_path.parent, source.path)))


def clip_state(source: Source, run_path: Path) -> str:
    """Return "there", "gone" or "changed" (another file lies under its name)."""
    path = clip_path(source, run_path)
    if not source.path or not disk.exists(path):
        return "gone"
    if source.kind == "clip" and not _is_same(path, source):
        return "changed"
    return "there"


def refuse_other_clip(source: Source, path: Path) -> None:
    """Raise OtherPictures when a file is not the clip that was marked.

    A run that tells nothing of its clip refuses none. Raises NotThere, StoreError for a file that
    cannot be read.
    """
    if source.kind != "clip" or not source.fingerprint:
        return
    mark = fingerprint(path)
    size = path.stat().st_size
    if size != source.size_bytes:
        refuse_other(path.name, f"it has {size:,} bytes, not {source.size_bytes:,}")
    if mark != source.fingerprint:
        refuse_other(path.name, "its size is the same, its contents are not")


def refuse_other_pictures(source: Source, name: str, size_px: Size, n: int, last_s: Time) -> None:
    """Raise OtherPictures when pictures that were read are not those that were marked.

    size_px, n, last_s: of the pictures, how many there are and the time of the last one. A clip of
    known contents may have more than were counted: its first reading may have been cut short.
    """
    if 0 not in source.size_px and size_px != source.size_px:
        was, now = ("{} × {}".format(*size) for size in (source.size_px, size_px))
        refuse_other(name, f"its frames are {now}, not {was}")
    if source.kind == "stills" and source.n_pictures not in (0, n):
        refuse_other(name, f"there are {n} stills, not {source.n_pictures}")
    if source.kind != "clip" or not source.duration_s or last_s is None:
        return
    apart = last_s - source.duration_s
    slack = SLACK_PICTURES * source.duration_s / max(1, source.n_pictures - 1)
    if apart < -slack or (apart > slack and not source.fingerprint):
        refuse_other(name, f"it lasts {last_s:.2f} s, not {source.duration_s:.2f} s")


def refuse_other(name: str, why: str) -> NoReturn:
    """Raise OtherPictures with what differs."""
    raise OtherPictures(
        f"“{name}” is not what this run was marked on: {why}. It is not shown, and marks and "
        "numbers stay as they are."
    )


def clip_uses(squad: Squad, clip: Path) -> tuple[RunAt, ...]:
    """Return every run that came from a clip: name them before it goes."""
    return tuple(
        (code, dated, name)
        for code, dated, name, run in all_runs(squad)
        if run.source.kind == "clip"
        and disk.resolved(clip_path(run.source, squad.run_path(code, dated, name)))
        == disk.resolved(clip)
    )


def delete_clip(clip: Path, source: Source) -> None:
    """Delete a clip after marking; raise FileDamaged when it is not the clip that was marked."""
    if not _is_same(clip, source):
        raise FileDamaged(
            f"“{clip.name}” is not the clip that was marked: size or contents differ. It stays."
        )
    files.remove_file(clip)


def _is_same(path: Path, source: Source) -> bool:
    try:
        return disk.size(path) == source.size_bytes and fingerprint(path) == source.fingerprint
    except StoreError:
        return False


def _files(folder: Path) -> list[Path]:
    found = (each for each in disk.entries(folder) if not each.is_dir(follow_symlinks=False))
    return [folder / entry.name for entry in found]
