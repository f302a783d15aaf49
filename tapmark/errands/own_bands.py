"""The bands and words that a squad uses: Tapmark's own, or its checks.toml."""

from datetime import date
from functools import lru_cache
from pathlib import Path

from tapmark import disk
from tapmark.checklist.criteria import Criteria, load
from tapmark.store.squad import Squad


def criteria_of(squad: Squad, on: date | None = None) -> Criteria:
    """Return the bands and words of a squad that held on a day."""
    path = bands_file(squad)
    facts = disk.facts(path)
    changed = (facts.st_mtime_ns, facts.st_size) if facts else ()
    return _read_criteria(path, changed, squad.choices.language, on)


@lru_cache(maxsize=64)
def _read_criteria(
    path: Path, changed: tuple[int, ...], language: str, on: date | None
) -> Criteria:
    """Read the bands once for as long as the squad's own file stays what it is."""
    return load(path, language, on)


def bands_file(squad: Squad) -> Path:
    """Return where a squad's own bands lie, if it has any."""
    return squad.folder / "checks.toml"
