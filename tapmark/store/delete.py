"""Delete one athlete everywhere in the squad: first the list, then the deed, then a receipt.

What belongs to the athlete goes; free words of others that name the code are changed; pages and
tables made for the whole squad go too, since they may name or show the athlete and can be made
again. The squad's own log keeps the date and nothing else. Back-ups, paper and clips elsewhere are
out of reach, and the receipt says so.
"""

import contextlib
import re
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from tapmark.errors import StoreError
from tapmark.marks.days import long_day
from tapmark.media_types import is_media
from tapmark.store import files, names, tables
from tapmark.store.kinds import Whole
from tapmark.store.lock import refuse_if_open
from tapmark.store.pictures import clip_path, clip_uses
from tapmark.store.records import Record
from tapmark.store.squad import Squad
from tapmark.store.texts import with_texts

GONE = "(deleted)"
_WHOLE_SQUAD = {".pdf", ".png", ".html", ".htm", ".csv", ".zip", ".txt"}


@dataclass(frozen=True)
class DeletePlan:
    """What deleting an athlete would do; showing it is the dry run.

    own:        files of the athlete.
    clips:      clips inside the squad that the athlete's runs came from.
    shared:     (clip, code, date, run) of other athletes' runs from those clips.
    pages:      files made for several athletes, which go as well.
    changed:    files of others in which the code is named; the word is taken out.
    outside:    clips outside the squad: named here, never touched.
    unread:     files that could not be looked into.
    """

    code: str
    own: tuple[Path, ...]
    clips: tuple[Path, ...]
    shared: tuple[tuple[Path, str, str, str], ...]
    pages: tuple[Path, ...]
    changed: tuple[Path, ...]
    outside: tuple[Path, ...]
    unread: tuple[Path, ...]


def plan_delete(squad: Squad, code: str) -> DeletePlan:
    """Return what deleting would do, without doing it; raise NotThere for an unknown code."""
    own_folder = squad.athlete_folder(code)
    if not any(path.name == code for path in own_folder.parent.glob("*")):
        squad.athlete(code)  # which says that there is none
    clips, outside = _clips(squad, code)
    everything = [path for path in sorted(squad.folder.rglob("*")) if _is_file(path)]
    own = [path for path in everything if own_folder in path.parents]
    rest = [path for path in everything if path not in {*own, *clips}]
    named = _Named(squad, code)
    pages = [path for path in rest if _is_page(squad, path, named)]
    kept = [path for path in rest if path not in set(pages) and path.suffix == ".json"]
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
        unread=tuple(named.unread),
    )


def delete_athlete(squad: Squad, plan: DeletePlan, now: datetime) -> str:
    """Do what the plan says and return the receipt.

    Raises HeldByAnother when a run is open elsewhere (nothing is deleted then), CannotWrite; after
    either, plan and delete again. Values read before are out of date: read them anew.
    """
    refuse_if_open(plan.own, "delete", now)
    named = _Named(squad, plan.code)
    for path in (*plan.pages, *plan.clips):
        files.remove_file(path)
    for path in plan.changed:
        named.take_out(path)
    last = squad.athlete_folder(plan.code) / "athlete.json"
    for path in sorted(plan.own, key=lambda path: path == last):
        files.remove_file(path)
    _remove_folders(squad.athlete_folder(plan.code))
    today = now.date().isoformat()
    with contextlib.suppress(StoreError):  # a damaged squad.json was told when it was opened
        squad.reload_choices()
    log = (*squad.choices.deleted_on, today)
    squad.save_choices(replace(squad.choices, deleted_on=log))
    return receipt(plan, today)


def receipt(plan: DeletePlan, today: str) -> str:
    """Return the words for whoever asked: what went, and what is out of reach."""
    pictures = sum(is_media(path.name) for path in (*plan.own, *plan.clips))
    lines = [
        f"Deleted on {long_day(today)}: everything of athlete {plan.code} in this squad.",
        f"{len(plan.own)} files and {len(plan.clips)} clips, {pictures} of them pictures or clips.",
        f"{len(plan.pages)} pages or tables of the whole squad, which may have shown the athlete.",
        f"The code was taken out of {len(plan.changed)} other files.",
        "Not reached: back-ups and copies on other computers or sticks, printed pages, clips on "
        "phones. Delete those by hand; restoring an old back-up would bring the athlete back.",
    ]
    lines += [f"Outside the squad, still there: {path}" for path in plan.outside]
    lines += [f"Could not be looked into, please check: {path.name}" for path in plan.unread]
    return "\n".join(lines) + "\n"


class _Named:
    """Where a code is named, apart from longer codes that contain it."""

    def __init__(self, squad: Squad, code: str) -> None:
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
            return self.is_in(files.read_bytes(path).decode("utf-8", "replace"))
        except StoreError:
            self.unread.append(path)
            return False

    def is_told_in(self, path: Path) -> bool:
        """Say whether a JSON file's free words name the code."""
        try:
            plain = files.json_value(files.read_bytes(path), path.name)
        except StoreError:
            self.unread.append(path)
            return False
        return self._retold(path, plain) != plain

    def take_out(self, path: Path) -> None:
        plain = files.json_value(files.read_bytes(path), path.name)
        files.write_json(path, self._retold(path, plain))

    def _retold(self, path: Path, plain: object) -> object:
        return with_texts(_record_of(path), plain, self.without)


def _record_of(path: Path) -> Record:
    """Return which kind of file it is, copies set aside too; an unknown one is all free words."""
    stem = path.name.split(".")[0]
    kind = "run" if names.run_number(stem) else stem.partition("-")[0]
    found = tables.FILES.get(kind)
    return found or Record(dict, {"format": Whole()})


def _clips(squad: Squad, code: str) -> tuple[list[Path], list[Path]]:
    """Return the clips of an athlete's runs, inside and outside the squad."""
    root = squad.folder.resolve()
    found = set()
    for dated in squad.visit_dates(code):
        for name, run in squad.runs(code, dated, []):
            clip = clip_path(run.source, squad.run_path(code, dated, name)).resolve()
            if run.source.kind == "clip" and run.source.path and clip.is_file():
                found.add(clip)
    inside = [squad.folder / c.relative_to(root) for c in found if c.is_relative_to(root)]
    own = squad.athlete_folder(code)
    return (
        sorted(clip for clip in inside if own not in clip.parents),
        sorted(clip for clip in found if not clip.is_relative_to(root)),
    )


def _is_page(squad: Squad, path: Path, named: _Named) -> bool:
    if named.is_in(path.name):
        return True
    if path.suffix.lower() not in _WHOLE_SQUAD:
        return False
    if squad.folder / "athletes" not in path.parents:
        return True
    is_text = path.suffix.lower() not in {".pdf", ".png", ".zip"}
    return is_text and named.is_written_in(path)


def _is_file(path: Path) -> bool:
    return path.is_symlink() or path.is_file()


def _remove_folders(folder: Path) -> None:
    try:
        for path in sorted(folder.rglob("*"), reverse=True):
            path.rmdir()
        folder.rmdir()
    except OSError as error:
        files.refuse_write(folder, error)
