"""Run, Visit, Athlete, SquadChoices and ShotList to plain JSON values and back.

The format number is looked at first: older files go through a chain of pure upgrades, newer ones
are refused. Keys that this version does not know are kept in `extra` and written back where they
were: a top-level key under its own name, a deeper one under a way such as
"/steps/0/key_frames/touchdown/colour".
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any, Generic, TypeVar

from tapmark.errors import FileDamaged, FileTooNew, MarkError
from tapmark.kinds import Found, NotAsExpected, Record, member_name
from tapmark.marks.edits import refuse_drawn, refuse_impossible_order, refuse_outside
from tapmark.marks.people import Athlete, Visit
from tapmark.marks.points import EVENTS
from tapmark.marks.run import N_PLACES, KeyFrame, Run
from tapmark.store import tables
from tapmark.store.choices import SquadChoices
from tapmark.store.shot_list import ShotList
from tapmark.store.shown import shown, shown_text

FORMAT = 2

Upgrades = Mapping[int, Callable[[dict[str, object]], dict[str, object]]]
UPGRADES: Upgrades = MappingProxyType(  # from that format to the next one
    {1: lambda body: body}  # format 2 added free marks and paths to a run and renamed nothing
)

Value = TypeVar("Value")


@dataclass(frozen=True)
class FileKind(Generic[Value]):
    """One kind of file.

    name:    of such a file where nobody names it.
    record:  its keys.
    refuse:  raises MarkError for a value that no edit can make.
    """

    name: str
    record: Record
    refuse: Callable[[Value], None] = lambda value: None

    def read(self, plain: object, name: str = "") -> Value:
        """Return the value in a plain JSON value.

        Raises FileTooNew for a newer format; FileDamaged, naming key and value, for all else.
        """
        name, found = name or self.name, list[Any]()
        body = upgraded(plain, name)
        try:
            value: Any = self.record.read(body, found)
            self.refuse(value)
        except NotAsExpected as wrong:
            way = " → ".join(map(shown_text, wrong.way)) or "the whole file"
            raise FileDamaged(
                f"“{name}”: {way} is {shown(wrong.value)}, but should be {wrong.expected}."
            ) from None
        except MarkError as wrong:
            raise FileDamaged(f"“{name}”: {wrong}") from None
        return replace(value, extra=_kept(found)) if found else value  # type: ignore[no-any-return]

    def write(self, value: Value) -> dict[str, object]:
        """Return the value as plain JSON values."""
        plain = self.record.write(value)
        for key, item in value.extra:  # type: ignore[attr-defined]
            *ways, last = key[1:].split("/") if key.startswith("/") else [key]
            place: object = plain  # an unknown key goes with the tap or step it belonged to
            for part in ways:
                place = _inner(place, _unescaped(part))
            if isinstance(place, dict):
                place.setdefault(_unescaped(last) if key.startswith("/") else key, item)
        return {**plain, "format": FORMAT}


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


def _kept(found: Found) -> tuple[tuple[str, object], ...]:
    """Return unknown keys in order, each by the way to it."""
    kept = []
    for way, item in found:
        if len(way) == 1 and not way[0].startswith("/"):
            kept.append((way[0], item))
        else:
            parts = (part.replace("~", "~0").replace("/", "~1") for part in way)
            kept.append(("/" + "/".join(parts), item))
    return tuple(sorted(kept))


def _unescaped(part: str) -> str:
    return part.replace("~1", "/").replace("~0", "~")


def _inner(plain: object, part: str) -> object:
    if isinstance(plain, dict):
        return plain.get(part)
    if isinstance(plain, list):
        return next((item for i, item in enumerate(plain) if member_name(item, i) == part), None)
    return None


def _refuse_impossible(run: Run) -> None:
    """Refuse an impossible order, doubled events or points, and what lies off the picture."""
    has_size = 0 not in run.source.size_px
    for step in run.steps:
        events = [frame.event for frame in step.key_frames]
        for event in events:
            if events.count(event) > 1:
                raise MarkError(f"the key frame “{event}” comes twice in a step.")
        for frame in (*step.key_frames, *step.second_look):
            _refuse_frame(run, frame, has_size)
        refuse_impossible_order(step)
    for mark in run.free_marks:
        n = N_PLACES[mark.kind]
        if len(mark.at_px) != n:
            raise MarkError(f"the {mark.kind} has {len(mark.at_px)} places, not {n}.")
        refuse_drawn(run, mark)
    _refuse_paths(run, has_size)


def _refuse_frame(run: Run, frame: KeyFrame, has_size: bool) -> None:
    if frame.event not in EVENTS[run.view]:
        raise MarkError(f"the {run.view} view has no key frame “{frame.event}”.")
    points = [tap.point for tap in frame.taps]
    for tap in frame.taps:
        if points.count(tap.point) > 1:
            raise MarkError(f"{tap.point} was tapped twice on {frame.event}.")
        if (tap.at_px is None) != (tap.certainty in ("behind", "hidden")):
            has = "has no place" if tap.at_px is None else "has a place all the same"
            raise MarkError(f"{tap.point} on {frame.event} is “{tap.certainty}”, but {has}.")
        if tap.at_px and has_size:
            refuse_outside(run, tap.point, tap.at_px)


def _refuse_paths(run: Run, has_size: bool) -> None:
    points = [path.point for path in run.paths]
    for path in run.paths:
        if points.count(path.point) > 1:
            raise MarkError(f"{path.point} has two paths.")
        numbers = [place.picture for place in path.places]
        if numbers != sorted(set(numbers)):
            raise MarkError(f"the path of the {path.point} is not in order.")
        for place in path.places if has_size else ():
            refuse_outside(run, f"the path of the {path.point}", place.at_px)


RUN_FILE: FileKind[Run] = FileKind("run.json", tables.RUN, _refuse_impossible)
VISIT_FILE: FileKind[Visit] = FileKind("visit.json", tables.VISIT)
ATHLETE_FILE: FileKind[Athlete] = FileKind("athlete.json", tables.ATHLETE)
SQUAD_FILE: FileKind[SquadChoices] = FileKind("squad.json", tables.SQUAD)
SHOTS_FILE: FileKind[ShotList] = FileKind("shots.json", tables.SHOTS)
