"""Delete one athlete everywhere in the squad: first the list, then the action, then a receipt."""

import contextlib
import os
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from tapmark import disk
from tapmark.errors import NotThere, StoreError
from tapmark.kinds import Kind, Many, Maybe, Record, Text, Tuple, Whole
from tapmark.leftovers import is_at_work
from tapmark.marks.days import long_day, several
from tapmark.media_types import is_film, is_media, kind_of
from tapmark.store import files, names, tables, zips
from tapmark.store.leaving import claims_of, is_kept_still, owner_by_place, shots_of
from tapmark.store.lock import refuse_if_open
from tapmark.store.pictures import clip_path, clip_state, clip_uses, fingerprint
from tapmark.store.squad import Squad, all_runs, entries

Change = Callable[[str], str]


def with_texts(kind: Kind | None, plain: object, change: Change) -> object:
    """Return a plain JSON value with every free text in it passed through change.

    kind: None for a key that nobody knows: it is passed through with all that is in it.
    """
    match kind, plain:
        case Maybe(), _:
            return with_texts(kind.kind, plain, change)
        case Text(), str():
            return change(plain)
        case Record(), dict():
            return {
                key if key in kind.kinds else change(key): with_texts(
                    kind.kinds.get(key), item, change
                )
                for key, item in plain.items()
            }
        case Many(), list():
            return [with_texts(kind.kind, item, change) for item in plain]
        case Tuple(), list():
            return [with_texts(k, item, change) for k, item in zip(kind.kinds, plain, strict=False)]
        case None, str():
            return change(plain)
        case None, list():
            return [with_texts(None, item, change) for item in plain]
        case None, dict():
            return {change(key): with_texts(None, item, change) for key, item in plain.items()}
    return plain


GONE = "(deleted)"
_WHOLE_SQUAD = {".pdf", ".png", ".html", ".htm", ".csv", ".zip"}
_TEXTS = {".html", ".htm", ".csv"}
_OUR_WORDS = {"run", "step", "note", "taps", "side", "json", "toe", "off", "mid"}  # in file names


@dataclass(frozen=True)
class DeletePlan:
    """What deleting an athlete would do; showing it is the dry run.

    own:        files of the athlete.
    clips:      clips inside the squad that the athlete's runs came from.
    shared:     (clip, code, date, run) of other athletes' runs from those clips.
    pages:      files made for several athletes, which go as well.
    changed:    files of others in which the code is named; the word is taken out.
    outside:    clips outside the squad: named here, never touched.
    left:       (file in the squad, why it stays) of what may show or name the athlete.
    copies:     copies of the squad beside it, folders and zips, with the athlete in them.
    unread:     files that could not be looked into.
    """

    code: str
    own: tuple[Path, ...]
    clips: tuple[Path, ...]
    shared: tuple[tuple[Path, str, str, str], ...]
    pages: tuple[Path, ...]
    changed: tuple[Path, ...]
    outside: tuple[Path, ...]
    left: tuple[tuple[Path, str], ...]
    copies: tuple[Path, ...]
    unread: tuple[Path, ...]


def plan_delete(squad: Squad, code: str) -> DeletePlan:
    """Return what deleting would do, without doing it; raise NotThere for an unknown code."""
    own_folder = squad.athlete_folder(code)
    if not any(entry.name == code for entry in disk.entries(own_folder.parent)):
        squad.athlete(code)  # which says that there is none
    clips, outside, odd = _clips(squad, code)
    below = disk.all_below(squad.folder)
    everything = [path for path in below if path.is_symlink() or not disk.is_folder(path)]
    own = [path for path in everything if own_folder in path.parents]
    rest = [path for path in everything if path not in {*own, *clips}]
    named = _Named(squad, code)
    pages = [path for path in rest if _is_page(squad, path, named)]
    stays = [path for path in rest if path not in set(pages)]
    kept = [path for path in stays if path.suffix == ".json"]
    return DeletePlan(
        code=code,
        own=tuple(own),
        clips=tuple(clips),
        shared=tuple(
            (clip, *use) for clip in clips for use in clip_uses(squad, clip) if use[0] != code
        ),
        pages=tuple(pages),
        changed=tuple(path for path in kept if named.is_told_in(path)),
        outside=tuple(outside),
        left=tuple(_left(squad, code, stays, odd, named)),
        copies=tuple(_beside(squad, code)),
        unread=tuple(named.unread),
    )


def delete_athlete(squad: Squad, plan: DeletePlan, now: datetime) -> str:
    """Do what the plan says and return the receipt.

    Raises HeldByAnother when a run is open elsewhere (nothing is deleted then), CannotWrite; after
    either, plan and delete again. Values read before are out of date: read them anew.
    """
    refuse_if_open(plan.own, "delete", now)
    begun = _begun(squad)  # written down, so that a kill in the middle cannot hide it
    n_before = begun[2] if begun and begun[0] == plan.code else len(squad.choices.deleted_on)
    note = {"code": plan.code, "process": os.getpid(), "deleted_before": n_before}
    files.write_json(squad.folder / names.DELETING, note)
    named = _Named(squad, plan.code)
    for path in (*plan.pages, *plan.clips):
        files.remove_file(path)
    for path in plan.changed:
        named.take_out(path)
    last = squad.athlete_folder(plan.code) / "athlete.json"
    for path in sorted(plan.own, key=lambda path: path == last):
        files.remove_file(path)
    try:
        for path in sorted(disk.all_below(last.parent), reverse=True):
            path.rmdir()
        last.parent.rmdir()
    except OSError as error:
        files.refuse_write(last.parent, error)
    _end(squad, now)
    return receipt(plan, now.date().isoformat())


def finish_deletion(squad: Squad, now: datetime) -> str:
    """Finish a deletion that was killed in the middle; return what was done or is to do, or "".

    Raises HeldByAnother, CannotWrite, StoreError; the next start tries again.
    """
    begun = _begun(squad)
    if begun is None:
        return ""
    code, pid, _ = begun
    if is_at_work(pid):
        return (
            f"Deleting {code} was begun and has not ended (process {pid}). If no other window is "
            f"at it, delete {code} again."
        )
    try:
        words = delete_athlete(squad, plan_delete(squad, code), now)
    except NotThere:  # all but the log was done
        _end(squad, now)
        words = ""
    told = f"Deleting {code} had been broken off. It is finished now: nothing of {code} is left."
    return f"{told} {' '.join(words.splitlines()[4:])}".strip()


def _begun(squad: Squad) -> tuple[str, int, int] | None:
    """Return (code, process, deletions before) of a deletion that has not ended."""
    try:
        plain = files.json_value(files.read_bytes(squad.folder / names.DELETING), names.DELETING)
    except StoreError:
        return None
    if not isinstance(plain, dict):
        return None
    code, pid, n_before = (plain.get(key) for key in ("code", "process", "deleted_before"))
    if isinstance(code, str) and names.is_code(code) and type(pid) is int and type(n_before) is int:
        return code, pid, n_before
    return None


def _end(squad: Squad, now: datetime) -> None:
    """Note the day in the squad's log, once, and forget who it was."""
    with contextlib.suppress(StoreError):  # a damaged squad.json was told when it was opened
        squad.reload_choices()
    begun, log = _begun(squad), squad.choices.deleted_on
    if begun is None or len(log) <= begun[2]:
        log = (*log, now.date().isoformat())
        squad.save_choices(replace(squad.choices, deleted_on=log))
    files.remove_file(squad.folder / names.DELETING)


def receipt(plan: DeletePlan, today: str) -> str:
    """Return the receipt in words: what went, and what is out of reach."""
    pictures = sum(is_media(path.name) for path in (*plan.own, *plan.clips))
    lines = [
        f"Deleted on {long_day(today)}: everything of athlete {plan.code} that is known "
        "in this squad.",
        f"{several(len(plan.own), 'file')} and {several(len(plan.clips), 'clip')}, {pictures} of "
        "them pictures or clips.",
        f"{several(len(plan.pages), 'page or table', 'pages or tables')} of the whole squad, which "
        "may have shown the athlete.",
        f"The code was taken out of {several(len(plan.changed), 'other file')}.",
        "Not reached: back-ups and copies on other computers or sticks, printed pages, clips on "
        "phones. Delete those by hand; restoring an old back-up would bring the athlete back.",
    ]
    lines += [f"Outside the squad, still there: {path}" for path in plan.outside]
    lines += [f"In the squad, still there: {path.name} ({why})" for path, why in plan.left]
    lines += [f"A copy of the squad with {plan.code} in it: {path.name}" for path in plan.copies]
    lines += [f"Could not be looked into, please check: {path.name}" for path in plan.unread]
    return "\n".join(lines) + "\n"


class _Named:
    """Where a code is named, apart from longer codes that contain it."""

    def __init__(self, squad: Squad, code: str) -> None:
        self.code = code
        longer = [re.escape(each) for each in squad.codes() if code in each and each != code]
        ways = "|".join([*longer, f"({re.escape(code)})"])
        self._pattern = re.compile(f"(?<![A-Za-z0-9])(?:{ways})(?![A-Za-z0-9])")
        self.unread: list[Path] = []

    def is_in(self, text: str) -> bool:
        return any(match[1] for match in self._pattern.finditer(text))

    def without(self, text: str) -> str:
        return self._pattern.sub(lambda match: GONE if match[1] else match[0], text)

    def is_written_in(self, path: Path) -> bool:
        """Say whether a text file names the code."""
        try:
            return self.is_in(files.read_bytes(path, follow=False).decode("utf-8", "replace"))
        except StoreError:
            self.unread.append(path)
            return False

    def is_told_in(self, path: Path) -> bool:
        """Say whether a JSON file's free words name the code."""
        try:
            plain = files.json_value(files.read_bytes(path, follow=False), path.name)
        except StoreError:
            self.unread.append(path)
            return False
        return self._retold(path, plain) != plain

    def take_out(self, path: Path) -> None:
        plain = files.json_value(files.read_bytes(path, follow=False), path.name)
        files.write_json(path, self._retold(path, plain))

    def _retold(self, path: Path, plain: object) -> object:
        """Return what a file tells without the code; one of no known kind is all free words.

        Copies set aside are of the kind of their file.
        """
        stem = path.name.split(".")[0]
        kind = "run" if names.run_number(stem) else stem.partition("-")[0]
        record = tables.FILES.get(kind) or Record(dict, {"format": Whole()})
        return with_texts(record, plain, self.without)


def _clips(squad: Squad, code: str) -> tuple[list[Path], list[Path], dict[Path, str]]:
    """Return an athlete's clips that may go, those outside the squad, and why others stay.

    A way to a clip is only words in a file: what it leads to goes where it is a clip by its kind,
    is the very one that was marked, and lies in nobody's folder.
    """
    root, own_folder = disk.resolved(squad.folder), squad.athlete_folder(code)
    going, outside, odd = set[Path](), set[Path](), dict[Path, str]()
    for clip, is_same in _clips_told(squad, code):
        path = squad.folder / clip.relative_to(root) if clip.is_relative_to(root) else None
        if not disk.is_file(clip):
            continue
        if path is None:
            outside.add(clip)
        elif _is_below(path, own_folder):
            continue  # it goes with all that is the athlete's own
        elif not is_media(path.name):
            odd[path] = "named as a clip, but it is none"
        elif not is_same:
            odd[path] = "not the clip that was marked: size or contents differ"
        elif _is_below(path, squad.folder / "athletes"):
            odd[path] = "lies in the folder of another athlete"
        else:
            going.add(path)
    return sorted(going), sorted(outside), {p: w for p, w in odd.items() if p not in going}


def _clips_told(squad: Squad, code: str) -> Iterator[tuple[Path, bool]]:
    """Yield (where a clip lies, is it the one that was meant) of runs and named shots."""
    for *where, run in all_runs(squad, [], (code,)):
        at = squad.run_path(*where)
        if run.source.kind == "clip" and run.source.path:
            is_same = clip_state(run.source, at) == "there"
            yield clip_path(run.source, at).resolve(), is_same
    for path, shot in shots_of(squad):
        if shot.code == code:
            clip = disk.resolved(disk.spelled(path.parent, shot.path))
            yield clip, disk.is_file(clip) and fingerprint(clip) == shot.fingerprint


def _is_below(path: Path, folder: Path) -> bool:
    """Say whether a path leads into a folder, whatever letters it is written in."""
    if folder in path.parents:
        return True
    return disk.exists(folder) and any(disk.exists(p) and p.samefile(folder) for p in path.parents)


def _is_page(squad: Squad, path: Path, named: "_Named") -> bool:
    """Say whether a file is a page made for several athletes that may show the one who goes."""
    kind, ending = kind_of(path.name), path.suffix.lower()
    if kind in ("data", "clip") or ending == ".json" or is_kept_still(squad, path):
        return False
    if not owner_by_place(squad, path):
        is_note = ending == ".txt" and path.name.startswith(f"{named.code}-note-")
        is_shown = is_film(path.name) and named.is_in(path.stem)
        return ending in _WHOLE_SQUAD or is_note or is_shown
    if kind in ("page", "still") and named.code not in _OUR_WORDS and named.is_in(path.stem):
        return True
    return ending in _TEXTS and named.is_written_in(path)


def _left(
    squad: Squad, code: str, stays: list[Path], odd: dict[Path, str], named: "_Named"
) -> Iterator[tuple[Path, str]]:
    """Yield what stays in the squad although it may show or name the athlete, and why."""
    claims = claims_of(squad)
    for path in stays:
        codes = claims.get(disk.resolved(path), frozenset())
        why = odd.get(path, "")
        if not why and code in codes:
            why = "a picture that a run or the shot log says shows the athlete"
        elif not why and not codes:
            why = _why_left(squad, path, named)
        if why:
            yield path, why


def _why_left(squad: Squad, path: Path, named: "_Named") -> str:
    kind, ending = kind_of(path.name), path.suffix.lower()
    if kind == "data" or is_kept_still(squad, path) or names.is_leftover(path):
        return ""
    if ending == ".txt" and named.is_written_in(path):
        return "a note that names the athlete"
    if kind == "unknown" and ending != ".json":
        return "a document or file of no known kind"
    if kind in ("clip", "still") and not owner_by_place(squad, path):
        return "a picture of nobody knows whom"
    return "its name names the athlete" if named.is_in(path.stem) else ""


def _beside(squad: Squad, code: str) -> Iterator[Path]:
    """Yield copies of the squad beside it that have the athlete in them."""
    for path in entries(squad.folder.absolute().parent):
        if path.name == squad.folder.name or path.is_symlink():
            continue
        folders = (path / "athletes" / code, path / "squad" / "athletes" / code)
        is_copy = any(disk.is_folder(each) for each in folders)
        if path.suffix.lower() == ".zip" and disk.is_file(path):
            with contextlib.suppress(StoreError), zips.opened(path) as archive:
                is_copy = any(f"athletes/{code}/" in name for name in archive.namelist())
        if is_copy:
            yield path
