"""Look through a squad for what a coach should know: damaged, missing, doubled, left over."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from tapmark import disk, leftovers
from tapmark.errors import StoreError
from tapmark.kinds import is_day
from tapmark.marks.days import long_day, run_words, whose_run
from tapmark.media_types import is_media
from tapmark.store import names
from tapmark.store.leaving import NO_CONSENT, Leaving, is_kept_still
from tapmark.store.pictures import clip_state
from tapmark.store.shown import shown
from tapmark.store.squad import Squad

_OURS = re.compile(r"(athlete|visit|run-[1-9][0-9]*|squad|shots-[0-9-]{10})\.json")


@dataclass(frozen=True)
class Finding:
    """One thing found, in a sentence; `is_serious` when something may be lost or wrong."""

    path: Path
    words: str
    is_serious: bool = True


def check_squad(squad: Squad, today: str = "") -> tuple[Finding, ...]:
    """Return everything that is odd about a squad, serious things first.

    today: ISO date on which clips and stills must have a consent; "" = nobody asks.
    """
    found = [*_told(squad.folder, _folders_without_athlete(squad))]
    found += _told(squad.folder, _odd_files(squad))
    found += _told(squad.folder, _without_consent(squad, today)) if today else ()
    for code in squad.codes():
        found += _told(squad.athlete_folder(code), _athlete_findings(squad, code))
    return tuple(sorted(found, key=lambda each: (not each.is_serious, str(each.path))))


def _told(path: Path, findings: Iterator[Finding]) -> Iterator[Finding]:
    """Yield what was found, and why no more could be: a closed folder keeps nothing else back."""
    try:
        yield from findings
    except StoreError as error:
        yield Finding(path, str(error))


def _athlete_findings(squad: Squad, code: str) -> Iterator[Finding]:
    try:
        squad.athlete(code)
    except StoreError as error:
        yield Finding(squad.athlete_folder(code) / "athlete.json", str(error))
    for dated in squad.visit_dates(code):
        yield from _visit_findings(squad, code, dated)
        for name in squad.run_names(code, dated):
            yield from _run_findings(squad, code, dated, name)


def _visit_findings(squad: Squad, code: str, dated: str) -> Iterator[Finding]:
    folder = squad.visit_folder(code, dated)
    there, at = squad.run_names(code, dated), f"{code} on {long_day(dated)}"
    try:
        visit = squad.visit(code, dated)
    except StoreError as error:
        yield Finding(folder / "visit.json", str(error))
    else:
        if not disk.exists(folder / "visit.json"):
            yield Finding(folder, f"{at} has no visit.json: it has not arrived yet.")
        for name in visit.runs:
            if name not in there:
                words = f"{at} counts {run_words(name)}, but its file is not there."
                yield Finding(folder / f"{name}.json", words)


def _run_findings(squad: Squad, code: str, dated: str, name: str) -> Iterator[Finding]:
    path = squad.run_path(code, dated, name)
    try:
        run = squad.load_run(code, dated, name)
    except StoreError as error:
        yield Finding(path, str(error))
        return
    about = {
        "gone": "its clip or folder of stills is not where it was; look for it again.",
        "changed": "another clip lies under its name.",
    }.get(clip_state(run.source, path) if run.source.path else "there")
    if about:
        yield Finding(path, f"{whose_run(code, dated, name)}: {about}", is_serious=False)


def _folders_without_athlete(squad: Squad) -> Iterator[Finding]:
    athletes, codes = squad.folder / "athletes", squad.codes()
    for folder in (athletes / entry.name for entry in disk.entries(athletes)):
        name = shown(folder.name)
        if folder.is_symlink():
            yield Finding(folder, f"{name} is a link and is left out.")
        elif disk.is_folder(folder) and folder.name not in codes:
            yield Finding(folder, f"{name} has no athlete.json: it has not arrived yet.")


def _odd_files(squad: Squad) -> Iterator[Finding]:
    for path in disk.all_below(squad.folder):
        if path.is_symlink() or not disk.is_file(path):
            continue
        if names.is_set_aside(path):
            yield Finding(path, f"{shown(path.name)} was set aside: compare it, then delete it.")
        elif names.is_leftover(path):
            yield Finding(path, _about_leftover(path), is_serious=path.name == names.DELETING)
        elif path.suffix == ".json" and not _OURS.fullmatch(path.name):
            beside = (path.with_name(name) for name in ("athlete.json", "squad.json"))
            if is_day(path.parent.name) or any(map(disk.exists, beside)):
                words = (
                    f"{shown(path.name)} looks like a second copy that a program made which copies "
                    "folders. Compare it with the file it comes from, then delete one."
                )
                yield Finding(path, words)


def _without_consent(squad: Squad, today: str) -> Iterator[Finding]:
    """Clips and stills, wherever they lie, that no back-up may hold; a run's stills go by time."""
    leaving = Leaving(squad, today)
    for path in sorted(squad.folder.rglob("*")):
        is_loose = is_media(path.name) and not is_kept_still(squad, path)
        if is_loose and path.is_file() and not path.is_symlink() and (why := leaving.why_not(path)):
            whose = ", ".join(sorted(leaving.codes_of(path))) or "nobody knows whom"
            words = f"{shown(path.name)} is a picture of {whose}: {why}. Ask, or delete it."
            yield Finding(path, words, is_serious=why == NO_CONSENT)


def _about_leftover(path: Path) -> str:
    name = shown(path.name)
    if path.name == names.DELETING:
        return f"{name}: a deletion has begun and not ended. Open the squad again to finish it."
    if path.name.endswith(names.LOCK):
        if names.run_number(path.name.removesuffix(f".json{names.LOCK}")):
            return f"{name} is held or left over; it goes when the run is opened."
        return f"{name} is held by a program, or left by one that was killed: it stops nobody."
    if leftovers.is_half_made(path):
        return f"{name} is being written by another program; look again when that has ended."
    return f"{name} is half a file of another program; Tapmark does not read it."
