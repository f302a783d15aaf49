"""From a path a person names to the squad, visit or runs it means; the bands a squad uses."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from pathlib import Path

from tapmark import disk
from tapmark.checklist.criteria import Criteria, load
from tapmark.clip.cache import user_cache_folder
from tapmark.errors import NotThere
from tapmark.store.settings import settings_path
from tapmark.store.squad import Squad, open_squad


@dataclass(frozen=True)
class VisitPlace:
    """A visit and the squad it belongs to."""

    squad: Squad
    code: str
    dated: str

    @property
    def folder(self) -> Path:
        """The visit's folder."""
        return self.squad.visit_folder(self.code, self.dated)


def visit_at(path: Path) -> VisitPlace:
    """Return the visit whose folder (or a file in it) is named: SQUAD/athletes/CODE/DATE.

    Raises NotThere when nothing of that shape lies there, StoreError for the squad's own trouble.
    """
    if not disk.exists(path):
        raise NotThere(f"There is no “{path}”. Name a visit: SQUAD/athletes/CODE/DATE.")
    real = disk.resolved(path)
    folder = real if disk.is_folder(path) else real.parent
    if folder.parent.parent.name != "athletes":
        raise NotThere(f"“{path}” is not a visit. {_instead(path)}")
    squad = open_squad(folder.parents[2])
    visit = squad.visit(folder.parent.name, folder.name)
    return VisitPlace(squad, visit.code, visit.dated)


def _instead(path: Path) -> str:
    """Return what to name, with a visit that lies below what was named where there is one."""
    ways = (
        "athletes/*/*/visit.json",
        "*/athletes/*/*/visit.json",
        "*/*/visit.json",
        "*/visit.json",
    )
    there = next((found for way in ways for found in path.glob(way)), None)
    such = f", such as {there.parent}" if there else ""
    return f"Name its folder: SQUAD/athletes/CODE/DATE{such}."


def kept_outside(environment: Mapping[str, str], platform: str) -> tuple[Path, Path]:
    """Return where this computer keeps prepared pictures, and its file of settings."""
    cache = user_cache_folder(environment, Path.home(), platform)
    return cache, settings_path(environment, platform)


def criteria_of(squad: Squad, on: date | None = None) -> Criteria:
    """Return the bands and words of a squad that held on a day."""
    path = bands_file(squad)
    facts = disk.facts(path)
    changed = (facts.st_mtime_ns, facts.st_size) if facts else ()
    return _read_criteria(path if facts else None, changed, squad.choices.language, on)


@lru_cache(maxsize=64)
def _read_criteria(
    path: Path | None, changed: tuple[int, ...], language: str, on: date | None
) -> Criteria:
    """Read the bands once for as long as the squad's own file stays what it is."""
    return load(path, language, on)


def bands_file(squad: Squad) -> Path:
    """Return where a squad's own bands lie, if it has any."""
    return squad.folder / "checks.toml"
