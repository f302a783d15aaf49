"""Whose clip is which: a folder full of phone clips, named from the shot log by keyboard.

The clips keep their names and stay where they are; what is kept is a list beside the squad's
athletes, so that an evening's naming can be broken off and taken up again.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path

from tapmark import disk
from tapmark.errors import NotThere
from tapmark.media_types import CLIPS, kind_of
from tapmark.store import files, names, schema
from tapmark.store.pictures import fingerprint, way_to
from tapmark.store.shot_list import Shot, ShotList
from tapmark.store.squad import Squad


def clips_in(folder: Path) -> tuple[Path, ...]:
    """Return the clips in a folder in the order of filming: by time, then by the number in a name.

    Copying may set all times alike to the second, so the number decides within two seconds.
    Raises NotThere when there is no folder or no clip in it.
    """
    if not disk.is_folder(folder):
        raise NotThere(f"There is no folder “{folder}”.")
    named = (each for each in disk.entries(folder) if kind_of(each.name) == "clip")
    found = [path for each in named if disk.is_file(path := folder / each.name)]
    if not found:
        raise NotThere(f"There is no clip in “{folder.name}”. Clips end in {', '.join(CLIPS[:3])}.")

    def order_of_filming(path: Path) -> tuple[float, object]:
        facts = disk.facts(path)
        return (facts.st_mtime // 2 if facts else 0.0, disk.natural_order(path.name))

    return tuple(sorted(found, key=order_of_filming))


def new_list(squad: Squad, dated: str, clips: Sequence[Path], order: Iterable[str]) -> ShotList:
    """Return a list of clips with the codes of the shot log offered in its order.

    Clips beyond the log are left without a code; nothing counts as named before the coach says so.
    """
    codes = [*order]
    offered = codes + [""] * (len(clips) - len(codes))
    shots = (
        Shot(way_to(clip, list_path(squad, dated)), fingerprint(clip), code)
        for clip, code in zip(clips, offered, strict=False)
    )
    return ShotList(names.check_day(dated), tuple(shots))


def name_shot(shots: ShotList, i: int, code: str) -> ShotList:
    """Return the list with one shot named; the codes offered after it stay where they are."""
    shot = replace(shots.shots[i], code=code, state="named")
    return replace(shots, shots=(*shots.shots[:i], shot, *shots.shots[i + 1 :]))


def skip_shot(shots: ShotList, i: int) -> ShotList:
    """Return the list with a shot left out, and the codes offered after it moved down by one.

    A clip that was no run, such as a test of the camera, shifts the log against the clips.
    """
    skipped = replace(shots.shots[i], code="", state="skipped")
    later = [j for j in range(i + 1, len(shots.shots)) if shots.shots[j].state == "to name"]
    code, moved = shots.shots[i].code, list(shots.shots)
    moved[i] = skipped
    for j in later:
        moved[j], code = replace(moved[j], code=code), moved[j].code
    return replace(shots, shots=tuple(moved))


def list_path(squad: Squad, dated: str) -> Path:
    """Return where the list of an evening lies."""
    return squad.folder / f"shots-{names.check_day(dated)}.json"


def save_list(squad: Squad, shots: ShotList) -> None:
    """Write the list; raise CannotWrite."""
    files.write_json(list_path(squad, shots.dated), schema.SHOTS_FILE.write(shots))


def load_list(squad: Squad, dated: str) -> ShotList:
    """Read the list of an evening; raise NotThere, FileDamaged, FileTooNew."""
    shots, _ = files.read_value(list_path(squad, dated), schema.SHOTS_FILE.read)
    return shots
