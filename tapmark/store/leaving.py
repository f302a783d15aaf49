"""Whose picture each file of a squad is, and what of it may leave in a back-up.

An allow-list: our own data may leave; a clip, still or page only where everybody in it agrees; a
file of no known kind only where pictures may, since it could be one. Who is in a file is told by
its place, by runs and shot logs that name it as a clip, and by the codes in its name.
"""

import re
from collections.abc import Iterator
from functools import cached_property
from pathlib import Path

from tapmark import disk
from tapmark.errors import StoreError
from tapmark.media_types import kind_of
from tapmark.store import files, names, schema
from tapmark.store.consent import consent_state, is_allowed, may_show_photo, may_write
from tapmark.store.pictures import clip_path, is_photo_page
from tapmark.store.shot_list import Shot
from tapmark.store.squad import Squad, all_runs, entries

NO_CONSENT = "no consent to give it out"
NOBODY_KNOWS = "nobody knows who is in it"
UNKNOWN_KIND = "nobody knows what is in it, and not everybody agreed to pictures"

PICTURE, PAGE, PHOTO, NEVER_ASKED = "picture", "page", "photo", "never asked"


class Leaving:
    """What may leave a squad on a day (ISO); consent is read once, as it lies on the disk now."""

    def __init__(self, squad: Squad, today: str) -> None:
        self._squad, self._today = squad, today
        self._codes = frozenset(squad.codes())
        self._open: dict[str, frozenset[str]] = {}

    def why_not(self, path: Path) -> str:
        """Return why a file of the squad may not leave, "" when it may."""
        kind = kind_of(path.name)
        if kind == "data":
            return ""
        codes = self.codes_of(path)
        if kind == "page" or (is_photo_page(path) and codes):
            use = PHOTO if is_photo_page(path) else PAGE
            if not codes:  # of the whole squad: an athlete never asked is on no such page
                codes = frozenset(c for c in self._codes if NEVER_ASKED not in self._uses(c))
                use = PAGE
            return "" if all(use in self._uses(code) for code in codes) else NO_CONSENT
        if codes:
            return "" if all(PICTURE in self._uses(code) for code in codes) else NO_CONSENT
        if kind in ("clip", "still"):
            return NOBODY_KNOWS
        return "" if all(PICTURE in self._uses(code) for code in self._codes) else UNKNOWN_KIND

    def codes_of(self, path: Path) -> frozenset[str]:
        """Return the codes of everybody who is in a file, as far as anything tells."""
        owner = owner_by_place(self._squad, path)
        if is_kept_still(self._squad, path):
            return frozenset({owner})
        named = frozenset(self._pattern.findall(path.stem))
        is_page = kind_of(path.name) == "page"
        claimed = frozenset() if is_page else self.claims.get(disk.resolved(path), frozenset())
        return frozenset({owner} - {""}) | named | claimed

    @cached_property
    def claims(self) -> dict[Path, frozenset[str]]:
        """Who is in which clip, see claims_of."""
        return claims_of(self._squad)

    @cached_property
    def _pattern(self) -> re.Pattern[str]:
        longest_first = sorted(self._codes, key=lambda code: (-len(code), code))
        ways = "|".join(map(re.escape, longest_first)) or "(?!)"
        return re.compile(rf"(?<![A-Za-z0-9])(?:{ways})(?![A-Za-z0-9])")

    def _uses(self, code: str) -> frozenset[str]:
        """Return what may leave of an athlete, PICTURE, PAGE and PHOTO, or NEVER_ASKED."""
        if code not in self._open:
            self._open[code] = frozenset(self._read_uses(code))
        return self._open[code]

    def _read_uses(self, code: str) -> Iterator[str]:
        try:
            athlete = self._squad.athlete(code)
        except StoreError:
            return  # nobody can say that they agreed
        filming = consent_state(athlete, "film", self._today)
        yield {"given": PAGE, NEVER_ASKED: NEVER_ASKED}.get(filming, "")
        if is_allowed(may_write, "pictures in a back-up", athlete, self._today):
            yield PICTURE
            if is_allowed(may_show_photo, athlete, self._today):
                yield PHOTO


def claims_of(squad: Squad) -> dict[Path, frozenset[str]]:
    """Return who is in which clip, or in the stills of which folder, by runs and shot logs."""
    claimed = [
        (clip_path(run.source, squad.run_path(code, dated, name)), code)
        for code, dated, name, run in all_runs(squad, [])
        if run.source.path
    ]
    claimed += [
        (disk.spelled(at.parent, shot.path), shot.code) for at, shot in shots_of(squad) if shot.code
    ]
    found: dict[Path, set[str]] = {}
    for path, code in claimed:
        for each in entries(path) if disk.is_folder(path) else (path,):
            found.setdefault(disk.resolved(each), set()).add(code)
    return {path: frozenset(codes) for path, codes in found.items()}


def owner_by_place(squad: Squad, path: Path) -> str:
    """Return the code in whose folder a file lies, "" for one of the whole squad."""
    parts = path.relative_to(squad.folder).parts
    return parts[1] if len(parts) > 2 and parts[0] == "athletes" else ""


def is_kept_still(squad: Squad, path: Path) -> bool:
    """Say whether a file is a picture in the folder of a run's stills."""
    parts = path.relative_to(squad.folder).parts
    is_there = len(parts) == 5 and parts[0] == "athletes" and names.run_number(parts[3]) > 0
    return is_there and kind_of(path.name) == "still"


def shots_of(squad: Squad) -> Iterator[tuple[Path, Shot]]:
    """Yield (file of the shot log, shot) of every evening that can be read."""
    for path in sorted(squad.folder.glob("shots-*.json")):
        try:
            shots, _ = files.read_value(path, schema.SHOTS_FILE.read)
        except StoreError:
            continue
        yield from ((path, shot) for shot in shots.shots)
