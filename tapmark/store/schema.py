"""Run, Visit, Athlete and SquadChoices to plain JSON values and back.

The format number is looked at first: older files go through a chain of pure upgrades, newer ones
are refused. Keys that this version does not know are kept in `extra` and written back where they
were: a top-level key under its own name, a deeper one under a way such as
"/steps/0/key_frames/touchdown/colour".
"""

from collections.abc import Callable, Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Any

from tapmark.errors import FileDamaged, FileTooNew, MarkError
from tapmark.kinds import Found, NotAsExpected, Path, Record, member_name
from tapmark.marks.edits import refuse_drawn, refuse_impossible_order, refuse_outside
from tapmark.marks.people import Athlete, Visit
from tapmark.marks.points import EVENTS
from tapmark.marks.run import N_PLACES, KeyFrame, Run
from tapmark.store.choices import SquadChoices
from tapmark.store.shot_list import ShotList
from tapmark.store.shown import shown, shown_text
from tapmark.store.tables import ATHLETE, RUN, SHOTS, SQUAD, VISIT

FORMAT = 2
DRAFT = "https://json-schema.org/draft/2020-12/schema"

Upgrades = Mapping[int, Callable[[dict[str, object]], dict[str, object]]]
UPGRADES: Upgrades = MappingProxyType(  # from that format to the next one
    {1: lambda body: body}  # format 2 added free marks and paths to a run and renamed nothing
)


def run_from_plain(plain: object, name: str = "run.json") -> Run:
    """Return the run in a plain JSON value.

    Raises FileTooNew for a newer format; FileDamaged, naming key and value, for all else.
    """
    run: Run = _read(RUN, plain, name)
    _refuse_impossible(run, name)
    return run


def visit_from_plain(plain: object, name: str = "visit.json") -> Visit:
    """Return the visit in a plain JSON value; raises as run_from_plain."""
    return _read(VISIT, plain, name)  # type: ignore[no-any-return]


def athlete_from_plain(plain: object, name: str = "athlete.json") -> Athlete:
    """Return the athlete in a plain JSON value; raises as run_from_plain."""
    return _read(ATHLETE, plain, name)  # type: ignore[no-any-return]


def squad_from_plain(plain: object, name: str = "squad.json") -> SquadChoices:
    """Return the squad's choices in a plain JSON value; raises as run_from_plain."""
    return _read(SQUAD, plain, name)  # type: ignore[no-any-return]


def shots_from_plain(plain: object, name: str = "shots.json") -> ShotList:
    """Return the shot list in a plain JSON value; raises as run_from_plain."""
    return _read(SHOTS, plain, name)  # type: ignore[no-any-return]


def run_to_plain(run: Run) -> dict[str, object]:
    """Return a run as plain JSON values."""
    return _write(RUN, run)


def visit_to_plain(visit: Visit) -> dict[str, object]:
    """Return a visit as plain JSON values."""
    return _write(VISIT, visit)


def athlete_to_plain(athlete: Athlete) -> dict[str, object]:
    """Return an athlete as plain JSON values."""
    return _write(ATHLETE, athlete)


def squad_to_plain(choices: SquadChoices) -> dict[str, object]:
    """Return the squad's choices as plain JSON values."""
    return _write(SQUAD, choices)


def shots_to_plain(shots: ShotList) -> dict[str, object]:
    """Return a shot list as plain JSON values."""
    return _write(SHOTS, shots)


def json_schema(title: str, record: Record) -> dict[str, object]:
    """Return the JSON Schema of one kind of file."""
    described = record.describe()
    properties = {"format": {"const": FORMAT}, **described["properties"]}  # type: ignore[dict-item]
    required = ["format", *record.needed]
    return {
        "$schema": DRAFT,
        "title": title,
        **described,
        "properties": properties,
        "required": required,
    }


def upgraded(
    plain: object, name: str, upgrades: Upgrades = UPGRADES, newest: int = FORMAT
) -> dict[str, object]:
    """Return the object in the newest format, without its format number.

    Raises FileDamaged when there is no number or no way from it, FileTooNew when it is above
    newest.
    """
    if not isinstance(plain, dict) or "format" not in plain:
        raise FileDamaged(f"“{name}” has no format number, so it was not saved by Tapmark.")
    number = plain["format"]
    if isinstance(number, bool) or not isinstance(number, int):
        raise FileDamaged(f"“{name}”: format is {shown(number)}, but should be a whole number.")
    if number > newest:
        raise FileTooNew(
            f"“{name}” was saved by a newer Tapmark (format {shown(number)}; this one reads up to "
            f"{newest}). Update Tapmark to open it; the file was not changed."
        )
    body = {key: value for key, value in plain.items() if key != "format"}
    while number in upgrades and number < newest:
        body, number = upgrades[number](body), number + 1
    if number != newest:
        raise FileDamaged(f"“{name}”: there never was a format {shown(number)}.")
    return body


def _read(record: Record, plain: object, name: str) -> Any:
    body = upgraded(plain, name)
    found: Found = []
    try:
        value = record.read(body, found)
    except NotAsExpected as wrong:
        raise FileDamaged(
            f"“{name}”: {_way(wrong.way)} is {shown(wrong.value)}, but should be {wrong.expected}."
        ) from None
    extra = tuple(sorted((_pointer(way), item) for way, item in found)) if found else ()
    return replace(value, extra=extra) if extra else value


def _write(record: Record, value: Any) -> dict[str, object]:
    plain = record.write(value)
    for key, item in value.extra:
        _put_back(plain, _parts(key), item)
    return {**plain, "format": FORMAT}


def _way(parts: list[str]) -> str:
    return " → ".join(map(shown_text, parts)) or "the whole file"


def _pointer(way: Path) -> str:
    if len(way) == 1 and not way[0].startswith("/"):
        return way[0]
    return "/" + "/".join(part.replace("~", "~0").replace("/", "~1") for part in way)


def _parts(pointer: str) -> list[str]:
    if not pointer.startswith("/"):
        return [pointer]
    return [part.replace("~1", "/").replace("~0", "~") for part in pointer[1:].split("/")]


def _put_back(plain: object, parts: list[str], value: object) -> None:
    """Put an unknown key where it was; it goes with the tap or step it belonged to."""
    *ways, key = parts
    for part in ways:
        plain = _inner(plain, part)
    if isinstance(plain, dict):
        plain.setdefault(key, value)


def _inner(plain: object, part: str) -> object:
    if isinstance(plain, dict):
        return plain.get(part)
    if isinstance(plain, list):
        return next((item for i, item in enumerate(plain) if member_name(item, i) == part), None)
    return None


def _refuse_impossible(run: Run, name: str) -> None:
    """Refuse what no edit can make: an impossible order, doubled events or points, stray taps."""
    for step in run.steps:
        for frames in (step.key_frames, step.second_look):
            _refuse_events(frames, run.view, name, may_come_twice=frames is step.second_look)
            for frame in frames:
                _refuse_points(frame, name)
        try:
            refuse_impossible_order(step)
            for frame in (*step.key_frames, *step.second_look):
                _refuse_taps_outside(run, frame)
        except MarkError as wrong:
            raise FileDamaged(f"“{name}”: {wrong}") from None
    try:
        _refuse_free_marks(run, name)
        _refuse_paths(run, name)
    except MarkError as wrong:
        raise FileDamaged(f"“{name}”: {wrong}") from None


def _refuse_free_marks(run: Run, name: str) -> None:
    for mark in run.free_marks:
        n = N_PLACES[mark.kind]
        if len(mark.at_px) != n:
            raise FileDamaged(f"“{name}”: the {mark.kind} has {len(mark.at_px)} places, not {n}.")
        refuse_drawn(run, mark)


def _refuse_paths(run: Run, name: str) -> None:
    points = [path.point for path in run.paths]
    for path in run.paths:
        if points.count(path.point) > 1:
            raise FileDamaged(f"“{name}”: {path.point} has two paths.")
        numbers = [place.picture for place in path.places]
        if numbers != sorted(set(numbers)):
            raise FileDamaged(f"“{name}”: the path of the {path.point} is not in order.")
        for place in path.places if 0 not in run.source.size_px else ():
            refuse_outside(run, f"the path of the {path.point}", place.at_px)


def _refuse_events(
    frames: tuple[KeyFrame, ...], view: str, name: str, *, may_come_twice: bool
) -> None:
    events = [frame.event for frame in frames]
    for event in events:
        if event not in EVENTS[view]:
            raise FileDamaged(f"“{name}”: the {view} view has no key frame “{event}”.")
        if events.count(event) > 1 and not may_come_twice:
            raise FileDamaged(f"“{name}”: the key frame “{event}” comes twice in a step.")


def _refuse_points(frame: KeyFrame, name: str) -> None:
    points = [tap.point for tap in frame.taps]
    for tap in frame.taps:
        if points.count(tap.point) > 1:
            raise FileDamaged(f"“{name}”: {tap.point} was tapped twice on {frame.event}.")
        if (tap.at_px is None) != (tap.certainty in ("behind", "hidden")):
            has = "has no place" if tap.at_px is None else "has a place all the same"
            raise FileDamaged(
                f"“{name}”: {tap.point} on {frame.event} is “{tap.certainty}”, but {has}."
            )


def _refuse_taps_outside(run: Run, frame: KeyFrame) -> None:
    if 0 in run.source.size_px:
        return  # the size of the picture is not known
    for tap in frame.taps:
        if tap.at_px:
            refuse_outside(run, tap.point, tap.at_px)
