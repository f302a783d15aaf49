"""A squad: a folder with everything of one training group, and the way to each thing in it."""

import contextlib
import os
import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import fields, replace
from hashlib import sha256
from pathlib import Path
from typing import TypeVar

from tapmark import disk, leftovers
from tapmark.errors import AlreadyThere, CannotWrite, FileDamaged, NotThere, StoreError
from tapmark.kinds import is_day
from tapmark.marks.people import Athlete, Visit
from tapmark.marks.run import Run
from tapmark.store import files, names, schema
from tapmark.store.choices import SquadChoices
from tapmark.store.consent import both_answers
from tapmark.store.lock import alone
from tapmark.store.schema import FileKind

Key = TypeVar("Key")
Value = TypeVar("Value")
RunAt = tuple[str, str, str]
"""Where a run lies: code, ISO date, name."""
BEFORE = " before "  # and the moment: the name of a squad that a restore put aside


def entries(folder: Path) -> Iterator[Path]:
    """Yield what lies in a folder, by name; nothing when it is gone.

    Raises StoreError when it is closed to us: an empty list would say that nobody is there.
    """
    return (folder / entry.name for entry in disk.entries(folder))


def folders(folder: Path) -> Iterator[Path]:
    """Yield the folders in a folder; a link is none, it may lead out of the squad."""
    found = (each for each in disk.entries(folder) if each.is_dir(follow_symlinks=False))
    return (folder / entry.name for entry in found)


def put_aside(folder: Path) -> Path | None:
    """Return the squad that a killed restore had renamed before the new one took its place."""
    if os.path.lexists(folder) or not leftovers.left_of(folder):
        return None
    name = re.compile(re.escape(folder.name + BEFORE) + r"[0-9]{4}-[0-9]{2}-[0-9]{2} [0-9-]+")
    found = (path for path in folders(folder.absolute().parent) if name.fullmatch(path.name))
    return max(found, default=None)


def is_athlete(folder: Path) -> bool:
    """Say whether a folder is an athlete's: called by a code, with athlete.json, and no link.

    One that is closed to us counts: it is told when it is read, and never left out in silence.
    """
    try:
        is_named = names.is_code(folder.name) and not folder.is_symlink()
        return is_named and disk.exists(folder / "athlete.json")
    except StoreError:
        return True


def is_called(path: Path) -> bool:
    """Say whether something that is there is called so by the very letters, large and small.

    Where no other letters lead to it, nothing has to be listed: a whole squad stays quick to read.
    """
    others = path.with_name(path.name.swapcase())
    try:
        if others.name == path.name or not os.path.lexists(others):
            return os.path.lexists(path)
        return not others.samefile(path) or path.name in os.listdir(path.parent)  # noqa: PTH208
    except OSError:
        return False


Troubles = list[StoreError]
"""Where a listing puts the errors of what it had to leave out."""


def collected(
    keys: Iterable[Key], read: Callable[[Key], Value], troubles: Troubles | None
) -> Iterator[Value]:
    """Yield what each key reads as; errors go into troubles, or are raised when it is None."""
    for key in keys:
        try:
            yield read(key)
        except StoreError as error:
            if troubles is None:
                raise
            troubles.append(error)


def make_squad(folder: Path, name: str) -> "Squad":
    """Make an empty squad in a new or empty folder and open it.

    Raises AlreadyThere when the folder holds anything, CannotWrite when it cannot be made.
    """
    files.make_folder(folder)
    if disk.exists(folder / "squad.json"):
        raise AlreadyThere(f"“{folder.name}” is a squad already. Open it instead.")
    if disk.entries(folder):
        raise AlreadyThere(f"“{folder.name}” holds other files. Choose a new or an empty folder.")
    files.make_folder(folder / "athletes")
    files.write_json(folder / "squad.json", schema.SQUAD_FILE.write(SquadChoices(name=name)))
    return open_squad(folder)


def open_squad(folder: Path, troubles: Troubles | None = None) -> "Squad":
    """Open the squad in a folder.

    Raises NotThere for no such folder, StoreError for a folder that is no squad, FileTooNew and
    FileDamaged for its squad.json; given troubles, a damaged one is replaced by the defaults.
    """
    if aside := put_aside(folder):
        raise NotThere(
            f"A restore into “{folder.name}” was broken off. The squad lies beside it as "
            f"“{aside.name}”: restore again with --replace, or rename it back."
        )
    if not disk.is_folder(folder):
        raise NotThere(f"There is no folder “{folder}”. Look at its name, or make a new squad.")
    if not disk.exists(folder / "squad.json") and not disk.is_folder(folder / "athletes"):
        raise StoreError(
            f"“{folder.name}” is not a squad: it has no squad.json. "
            "Choose the folder that holds squad.json, or make a new squad."
        )
    squad = Squad(folder)
    try:
        squad.reload_choices()
    except (FileDamaged, NotThere) as error:
        if troubles is None:
            raise
        troubles.append(error)
    return squad


class Squad:
    """An open squad; `folder` is where it lies, `choices` what squad.json says."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.choices = SquadChoices()
        self._seen: dict[Path, bytes] = {}
        self._athletes: dict[str, Athlete] = {}  # as last read or written here

    # squad.json

    def reload_choices(self) -> SquadChoices:
        """Read squad.json again."""
        self.choices = self._load(self.folder / "squad.json", schema.SQUAD_FILE)
        return self.choices

    def save_choices(self, choices: SquadChoices, was: SquadChoices | None = None) -> Path | None:
        """Write what changed in squad.json; return where another program's version was kept.

        was: what the change began from, when that is not `choices` as it stands. A damaged file is
        replaced, after a copy of it; raises FileTooNew, CannotWrite.
        """
        path = self.folder / "squad.json"
        with alone(path):
            try:
                now, data = files.read_value(path, schema.SQUAD_FILE.read)
            except (NotThere, FileDamaged):
                pass
            else:
                began = was or self.choices
                deleted = (*now.deleted_on, *choices.deleted_on[len(began.deleted_on) :])
                changed, loss = rebased(began, replace(choices, deleted_on=began.deleted_on), now)
                choices = replace(changed, deleted_on=deleted)
                self._know(path, data, loss)
            kept = self._save(path, schema.SQUAD_FILE, choices)
        self.choices = choices
        return kept

    # where things lie

    @property
    def is_gone(self) -> bool:
        """True when the whole folder is gone: then nothing is known of anybody."""
        is_named = (self.folder / "squad.json").is_file()
        return not is_named and not (self.folder / "athletes").is_dir()

    def refuse_gone(self) -> None:
        """Raise NotThere when the whole folder is gone."""
        if self.is_gone:
            raise NotThere(
                f"The folder of the squad, “{self.folder}”, is gone. Plug the disk in again, or "
                "put the folder back where it was."
            )

    def athlete_folder(self, code: str) -> Path:
        """Return the folder of an athlete; raise StoreError for an impossible code."""
        return self.folder / "athletes" / names.check_code(code)

    def visit_folder(self, code: str, dated: str) -> Path:
        """Return the folder of a visit; raise StoreError for what is no date."""
        return self.athlete_folder(code) / names.check_day(dated)

    def run_path(self, code: str, dated: str, name: str) -> Path:
        """Return the file of a run."""
        return self.visit_folder(code, dated) / f"{names.check_run_name(name)}.json"

    def stills_folder(self, code: str, dated: str, name: str) -> Path:
        """Return the folder of a run's stills; it exists once there are some."""
        return self.visit_folder(code, dated) / names.check_run_name(name)

    # athletes

    def codes(self) -> tuple[str, ...]:
        """Return the codes of all athletes, archived ones too, in order."""
        return tuple(sorted(p.name for p in folders(self.folder / "athletes") if is_athlete(p)))

    def has_athlete(self, code: str) -> bool:
        """Say whether the code is an athlete's, by the very letters."""
        folder = self.athlete_folder(code)
        return is_athlete(folder) and is_called(folder)

    def athletes(self, troubles: Troubles | None = None) -> tuple[Athlete, ...]:
        """Return all athletes, archived ones too, in the order of their codes."""
        return tuple(collected(self.codes(), self.athlete, troubles))

    def athlete(self, code: str) -> Athlete:
        """Return an athlete; raise NotThere with the codes that come near."""
        path = self.athlete_folder(code) / "athlete.json"
        if not self.has_athlete(code):
            self.refuse_gone()
            raise NotThere(f"The squad has no athlete “{code}”. {_hint(code, self.codes())}")
        athlete = self._load(path, schema.ATHLETE_FILE)
        _refuse_stranger(path, athlete.code, code)
        self._athletes[code] = athlete
        return athlete

    def add_athlete(self, athlete: Athlete) -> None:
        """Write a new athlete.

        Raises AlreadyThere and StoreError for a code that cannot be used, CannotWrite.
        """
        self.refuse_gone()
        names.check_new_code(athlete.code, self.codes())
        files.make_folder(self.athlete_folder(athlete.code))
        self._write_athlete(athlete)

    def save_athlete(self, athlete: Athlete, was: Athlete | None = None) -> Path | None:
        """Write what changed of an athlete; one that was never read here is new.

        was: what the change began from, when that is not the athlete as last read here.
        Returns where another program's version was kept, because both changed one thing. Raises
        NotThere when the athlete was deleted meanwhile, FileDamaged, and as add_athlete.
        """
        was = was or self._athletes.get(athlete.code)
        if not self.has_athlete(athlete.code):
            if was is None:
                self.add_athlete(athlete)
                return None
            self.refuse_gone()
            raise NotThere(
                f"{athlete.code} is no longer in the squad: another program has deleted them. "
                "Nothing was written."
            )
        path = self.athlete_folder(athlete.code) / "athlete.json"
        with alone(path):
            now, data = files.read_value(path, schema.ATHLETE_FILE.read)
            _refuse_stranger(path, now.code, athlete.code)
            was = was or now
            changed, loss = rebased(was, replace(athlete, consents=was.consents), now)
            answers = athlete.consents
            if now.consents != was.consents:  # answers are only ever added
                answers = both_answers(athlete.consents, now.consents)
            self._know(path, data, loss)
            return self._write_athlete(replace(changed, consents=answers))

    def _write_athlete(self, athlete: Athlete) -> Path | None:
        path = self.athlete_folder(athlete.code) / "athlete.json"
        kept = self._save(path, schema.ATHLETE_FILE, athlete)
        self._athletes[athlete.code] = athlete
        return kept

    # visits

    def visit_dates(self, code: str) -> tuple[str, ...]:
        """Return the dates of an athlete's visits, oldest first; no file is read."""
        days = (p.name for p in folders(self.athlete_folder(code)) if is_day(p.name))
        return tuple(sorted(days))

    def filmed_dates(self, code: str) -> tuple[str, ...]:
        """Return the dates of the visits that have a run, oldest first; no file is read."""
        return tuple(day for day in self.visit_dates(code) if self.run_names(code, day))

    def visits(self, code: str, troubles: Troubles | None = None) -> tuple[Visit, ...]:
        """Return an athlete's visits, oldest first."""
        dates = self.visit_dates(code)
        return tuple(collected(dates, lambda dated: self.visit(code, dated), troubles))

    def visit(self, code: str, dated: str) -> Visit:
        """Return a visit; one whose file never arrived has its runs and nothing else."""
        folder = self.visit_folder(code, dated)
        if not (self.has_athlete(code) and disk.is_folder(folder)):
            self.refuse_gone()
            dates = self.visit_dates(code) if self.has_athlete(code) else ()
            raise NotThere(f"“{code}” has no visit on {dated}. {_hint(dated, dates)}")
        try:
            visit = self._load(folder / "visit.json", schema.VISIT_FILE)
        except NotThere:
            return Visit(code, dated, runs=self.run_names(code, dated))
        _refuse_stranger(folder / "visit.json", f"{visit.code} {visit.dated}", f"{code} {dated}")
        return visit

    def new_visit(self, code: str, dated: str) -> Visit:
        """Return the athlete's visit of that day, made now when there was none."""
        self.athlete(code)
        folder = self.visit_folder(code, dated)
        if not disk.exists(folder / "visit.json"):
            files.make_folder(folder)
            self.save_visit(Visit(code, dated, runs=self.run_names(code, dated)))
        return self.visit(code, dated)

    def save_visit(self, visit: Visit, patience_s: float = disk.PATIENCE_S) -> Path | None:
        """Write a visit; return where another program's version was kept, if any."""
        path = self.visit_folder(visit.code, visit.dated) / "visit.json"
        return self._save(path, schema.VISIT_FILE, visit, patience_s)

    # runs

    def run_names(self, code: str, dated: str) -> tuple[str, ...]:
        """Return the names of the runs whose files are there, in the order of their numbers."""
        found = (p.stem for p in entries(self.visit_folder(code, dated)) if p.suffix == ".json")
        return tuple(sorted(filter(names.run_number, found), key=names.run_number))

    def runs(
        self, code: str, dated: str, troubles: Troubles | None = None
    ) -> tuple[tuple[str, Run], ...]:
        """Return (name, run) of every run of a visit, also those the visit does not count."""
        found = self.run_names(code, dated)
        pairs = collected(found, lambda name: (name, self.load_run(code, dated, name)), troubles)
        return tuple(pairs)

    def load_run(self, code: str, dated: str, name: str) -> Run:
        """Read a run; raises NotThere, FileDamaged, FileTooNew."""
        return self._load(self.run_path(code, dated, name), schema.RUN_FILE)

    def save_run(
        self, code: str, dated: str, name: str, run: Run, patience_s: float = disk.PATIENCE_S
    ) -> Path | None:
        """Write a run; return where another program's version was kept, if any."""
        path = self.run_path(code, dated, name)
        return self._save(path, schema.RUN_FILE, run, patience_s)

    def new_run(self, code: str, dated: str, run: Run) -> str:
        """Write a run under the next free name, count it in its visit, return the name."""
        visit = self.new_visit(code, dated)
        taken = (p.name.removesuffix(".json") for p in entries(self.visit_folder(code, dated)))
        name = names.next_run_name((*taken, *visit.runs))
        self.save_run(code, dated, name, run)
        self.save_visit(replace(visit, runs=(*visit.runs, name)))
        return name

    # reading and writing

    def _load(self, path: Path, kind: FileKind[Value]) -> Value:
        value, data = files.read_value(path, kind.read)
        self._seen[path] = sha256(data).digest()
        return value

    def _know(self, path: Path, data: bytes, loss: bool) -> None:
        """Take a file as seen, unless something of it would be lost by writing ours."""
        if not loss:
            self._seen[path] = sha256(data).digest()

    def _save(
        self,
        path: Path,
        kind: FileKind[Value],
        value: Value,
        patience_s: float = disk.PATIENCE_S,
    ) -> Path | None:
        """Write what can be read back, after keeping what somebody else has put there."""
        if not disk.resolved(path.parent).is_relative_to(disk.resolved(self.folder)):
            raise CannotWrite(f"“{path.name}” would land outside the squad, through a link.")
        plain, kept = kind.write(value), None
        try:
            kind.read(plain, path.name)
        except FileDamaged as error:
            raise CannotWrite(f"{error} Nothing was written.") from None
        data = files.json_bytes(plain)
        with contextlib.suppress(NotThere):
            there = files.read_bytes(path, follow=False)
            if there != data and sha256(there).digest() != self._seen.get(path):
                kept = files.keep_copy(path, there, "elsewhere")
                if kept is None:
                    raise CannotWrite(
                        f"“{path.name}” was changed by another program, and its version cannot be "
                        "kept beside ours. Nothing was written."
                    )
        files.write_bytes(path, data, patience_s)
        self._seen[path] = sha256(data).digest()
        return kept


def rebased(was: Value, ours: Value, now: Value) -> tuple[Value, bool]:
    """Return what lies there now with our changes put into it, and whether that loses any of it.

    was: what our change began from. A key that both changed is ours, and then something is lost.
    """
    changes, loss = {}, False
    for key in (field.name for field in fields(ours)):  # type: ignore[arg-type]
        began, our, their = (getattr(value, key) for value in (was, ours, now))
        if our != began:
            changes[key] = our
            loss = loss or their not in (began, our)
    return replace(now, **changes), loss  # type: ignore[type-var]


def _refuse_stranger(path: Path, inside: str, outside: str) -> None:
    if inside != outside:
        raise FileDamaged(
            f"“{path.name}” in the folder of {outside} says it belongs to {inside}. "
            "Rename the folder back, or put a back-up in its place; nothing was changed."
        )


def _hint(word: str, known: tuple[str, ...]) -> str:
    near = [each for each in known if each.lower() == word.lower()]
    shown = ", ".join((near or known)[:8])
    return f"There is {shown}." if shown else "There is none yet."


def all_runs(
    squad: Squad, troubles: Troubles | None = None, codes: Iterable[str] | None = None
) -> Iterator[tuple[str, str, str, Run]]:
    """Yield (code, date, name, run), by code, date and number; troubles as in Squad.

    codes: of those whose runs are meant; of everybody where it is None.
    """
    for code in squad.codes() if codes is None else codes:
        for dated in squad.visit_dates(code):
            for name, run in squad.runs(code, dated, troubles):
                yield code, dated, name, run
