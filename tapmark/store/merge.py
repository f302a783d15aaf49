"""Put two copies of a squad together, run by run.

What only one of them has is taken. Where both have something different, ours stays in its place
and theirs is kept beside it: a run under the next free name, not counted in the visit; anything
else as a copy set aside. Nothing is averaged and nothing is dropped, and every difference is a
sentence. The one exception protects the athlete: a no to a use of pictures wins over a yes.
"""

import shutil
from dataclasses import dataclass, replace
from pathlib import Path

from tapmark import disk
from tapmark.errors import CannotWrite, FileDamaged, NotThere, StoreError
from tapmark.leftovers import half_made
from tapmark.marks.days import long_day, run_words
from tapmark.marks.people import CONSENT_WORDS, Athlete, Visit
from tapmark.marks.run import Run
from tapmark.media_types import kind_of
from tapmark.store import files, names, schema
from tapmark.store.consent import consent_state
from tapmark.store.jpeg import without_metadata
from tapmark.store.names import MERGING
from tapmark.store.pictures import keep_stills, kept_since, kept_stills
from tapmark.store.retention import why_not_kept
from tapmark.store.shown import shown_text
from tapmark.store.squad import Squad, Troubles, entries

NEW, CONFLICT, SAFER, LEFT = "new", "conflict", "safer", "left"


@dataclass(frozen=True)
class Difference:
    """One thing that merging does, in words.

    kind: "new" (only they have it), "conflict" (both have it, and differ; both are kept) or
          "safer" (their no replaces our yes) or "left" (stills that may not be taken).
    """

    kind: str
    code: str
    words: str
    dated: str = ""
    name: str = ""


def plan_merge(
    ours: Squad,
    theirs: Squad,
    today: str,
    without_visits: frozenset[str] = frozenset(),
    troubles: Troubles | None = None,
) -> tuple[Difference, ...]:
    """Return what merging their copy into ours would do; nothing is written.

    without_visits: see merge. troubles: their files that cannot be read are left out and named
    there.
    """
    return _Merge(ours, theirs, today, troubles, without_visits=without_visits).all()


def merge(
    ours: Squad,
    theirs: Squad,
    today: str,
    leave: frozenset[str] = frozenset(),
    troubles: Troubles | None = None,
    without_visits: frozenset[str] = frozenset(),
) -> tuple[Difference, ...]:
    """Merge their copy into ours and return what was done; theirs is only read.

    Everything is made ready in a folder of its own within ours, which then gets another name:
    killed before that, nothing has happened; killed after it, the next start finishes.

    leave: codes that are not taken, such as athletes who were deleted here.
    without_visits: codes of which only the athlete's own file is merged, a no to a use of pictures
    above all: their runs may not be brought in.
    Raises CannotWrite; then nothing was merged.
    """
    finish_merge(ours)
    stage = half_made(ours.folder / MERGING)
    try:
        before = _made_ready(ours, theirs, stage)
        shadow = Squad(stage)
        done = _Merge(shadow, theirs, today, troubles, leave, without_visits, ours.folder).all()
        keep_what_is_new(ours, stage, before)
        files.move_folder(stage, ours.folder / MERGING)
    except OSError as error:
        files.refuse_write(ours.folder / MERGING, error)
    finally:
        shutil.rmtree(stage, ignore_errors=True)
    finish_merge(ours)
    return done


def finish_merge(squad: Squad) -> str:
    """Put what a merge had made ready into its place; return a sentence, "" for nothing to do.

    Raises CannotWrite; the next start tries again.
    """
    ready = squad.folder / MERGING
    if ready.is_symlink() or not disk.is_folder(ready):
        return ""
    last = {"visit.json": 1, "athlete.json": 2}  # after the pictures and runs that they count
    found = [path for path in disk.all_below(ready) if disk.is_file(path)]
    for path in sorted(found, key=lambda path: (last.get(path.name, 0), path.as_posix())):
        target = squad.folder / path.relative_to(ready)
        _refuse_outside(squad, target)
        try:
            files.make_folder(target.parent)
            disk.move_into_place(path, target)
        except FileNotFoundError:  # another program finishes it as well
            continue
        except OSError as error:
            files.refuse_write(target, error)
    shutil.rmtree(ready, ignore_errors=True)
    return "Merging two copies had been broken off. It is finished now."


def _refuse_outside(squad: Squad, target: Path) -> None:
    if not disk.resolved(target).is_relative_to(disk.resolved(squad.folder)):
        raise CannotWrite(f"“{target.name}” would land outside the squad, through a link.")


def _made_ready(ours: Squad, theirs: Squad, stage: Path) -> dict[Path, bytes]:
    """Copy our own data as far as theirs may touch it; return it by its way in the squad."""
    stage.mkdir()
    (stage / "athletes").mkdir()
    before: dict[Path, bytes] = {}
    known = set(theirs.codes())
    for code in ours.codes():
        folders = [ours.athlete_folder(code)]
        if code in known:
            folders += [ours.visit_folder(code, dated) for dated in ours.visit_dates(code)]
        for folder in folders:
            copy = stage / folder.relative_to(ours.folder)
            copy.mkdir(exist_ok=True)
            for path in entries(folder):
                if disk.is_folder(path) and names.run_number(path.name):
                    (copy / path.name).mkdir()  # its number is taken
                elif kind_of(path.name) == "data" and disk.is_file(path) and not path.is_symlink():
                    before[path.relative_to(ours.folder)] = files.read_bytes(path)
                    shutil.copy2(path, copy / path.name)
    return before


def keep_what_is_new(ours: Squad, stage: Path, before: dict[Path, bytes]) -> None:
    """Take away what has not changed; raise CannotWrite when ours has changed meanwhile."""
    for path in sorted(path for path in disk.all_below(stage) if disk.is_file(path)):
        way = path.relative_to(stage)
        if files.read_bytes(path) == before.get(way):
            path.unlink()
            continue
        _refuse_outside(ours, ours.folder / way)
        there = files.read_bytes(ours.folder / way) if disk.exists(ours.folder / way) else None
        if there != before.get(way):
            raise CannotWrite(
                f"“{files.whose(ours.folder / way)}” was changed by another program meanwhile. "
                "Nothing was merged: do it again."
            )


@dataclass
class _Merge:
    """One walk through their squad; it only tells, or writes as well.

    writes_for: where ours really lies when this writes into a copy of it; None writes nothing.
    """

    ours: Squad
    theirs: Squad
    today: str
    troubles: Troubles | None
    leave: frozenset[str] = frozenset()
    without_visits: frozenset[str] = frozenset()
    writes_for: Path | None = None

    def all(self) -> tuple[Difference, ...]:
        """Return every difference, in the order of codes, dates and runs."""
        found: list[Difference] = []
        for athlete in self.theirs.athletes(self.troubles):
            if athlete.code in self.leave:
                continue
            found += self._athlete(athlete)
            if athlete.code not in self.without_visits:
                for visit in self.theirs.visits(athlete.code, self.troubles):
                    found += self._visit(visit)
        return tuple(found)

    def _athlete(self, their: Athlete) -> list[Difference]:
        code = their.code
        if code not in self.ours.codes():
            if self.writes_for:
                self.ours.save_athlete(their)
            return [Difference(NEW, code, f"{code} is only in the other copy.")]
        our = self.ours.athlete(code)
        if our == their:
            return []
        keys = _differing(schema.ATHLETE_FILE.write(our), schema.ATHLETE_FILE.write(their))
        found = [Difference(CONFLICT, code, f"{code}: the copies differ in {keys}.")]
        safer = tuple(
            answer
            for answer in {each.use: each for each in their.consents}.values()
            if consent_state(their, answer.use, self.today) in ("refused", "withdrawn")
            and consent_state(our, answer.use, self.today) not in ("refused", "withdrawn")
        )
        if self.writes_for:
            path = self.ours.athlete_folder(code) / "athlete.json"
            self._keep(path, self.theirs.athlete_folder(code) / "athlete.json")
            if safer:
                self.ours.save_athlete(replace(our, consents=(*our.consents, *safer)))
        words = "{}: their no to “{}” now counts here too."
        found += [Difference(SAFER, code, words.format(code, CONSENT_WORDS[a.use])) for a in safer]
        return found

    def _visit(self, their: Visit) -> list[Difference]:
        code, dated = their.code, their.dated
        try:
            found = self._other_words(self.ours.visit(code, dated), their)
        except NotThere:
            if self.writes_for:
                self.ours.new_visit(code, dated)
                self.ours.save_visit(replace(their, runs=()))
            words = f"{code}: the visit of {long_day(dated)} is only in the other copy."
            found = [Difference(NEW, code, words, dated)]
        return found + self._runs(their)

    def _other_words(self, our: Visit, their: Visit) -> list[Difference]:
        same_runs = replace(their, runs=our.runs)
        if same_runs == our:
            return []
        keys = _differing(schema.VISIT_FILE.write(our), schema.VISIT_FILE.write(same_runs))
        if self.writes_for:
            path = self.ours.visit_folder(our.code, our.dated) / "visit.json"
            self._keep(path, self.theirs.visit_folder(our.code, our.dated) / "visit.json")
        words = f"{our.code} on {long_day(our.dated)}: the copies differ in {keys}."
        return [Difference(CONFLICT, our.code, words, our.dated)]

    def _runs(self, visit: Visit) -> list[Difference]:
        found = []
        our_runs = dict(self.ours.runs(visit.code, visit.dated, []))
        for name, run in self.theirs.runs(visit.code, visit.dated, self.troubles):
            same = next((n for n, our in our_runs.items() if our == run), None)
            if same:
                found += self._take_files(visit, name, same)
                continue
            found.append(_told(visit, name, our_runs.get(name), run))
            new_name = self._add_run(visit, name, run, counts=name not in our_runs)
            our_runs[new_name] = run
            found += self._take_files(visit, name, new_name if self.writes_for else name)
        return found

    def _add_run(self, visit: Visit, name: str, run: Run, counts: bool) -> str:
        if not self.writes_for:
            return f"their {name}"
        code, dated = visit.code, visit.dated
        if name in self.ours.run_names(code, dated):
            new_name = self.ours.new_run(code, dated, run)
        else:
            new_name = name
            self.ours.save_run(code, dated, name, run)
        now = self.ours.visit(code, dated)
        others = tuple(each for each in now.runs if each != new_name)
        is_counted = counts and name in visit.runs
        self.ours.save_visit(replace(now, runs=(*others, new_name) if is_counted else others))
        return new_name

    def _take_files(self, visit: Visit, name: str, new_name: str) -> list[Difference]:
        """Take stills that ours lacks: whole JPEGs of ours by name, without what phones write.

        Only where both sides may keep them today; else a difference tells that they stay there.
        """
        at = (visit.code, visit.dated)
        source = self.theirs.stills_folder(*at, name)
        theirs = {} if source.is_symlink() else kept_stills(source)
        here = self.ours.stills_folder(*at, new_name)
        real = (self.writes_for or self.ours.folder) / here.relative_to(self.ours.folder)
        new = {still: path for still, path in theirs.items() if not disk.exists(real / path.name)}
        if not new:
            return []
        our = self.ours.athlete(visit.code) if self.ours.has_athlete(visit.code) else None
        both = filter(None, (our, self.theirs.athlete(visit.code)))
        why = next((why for each in both if (why := why_not_kept(each, self.today))), "")
        if why:
            words = f"{visit.code} on {long_day(visit.dated)}: their stills of {run_words(name)} "
            return [Difference(LEFT, *at[:1], f"{words}are not taken: {why}.", visit.dated, name)]
        if self.writes_for:
            taken = {still: jpeg for still, path in new.items() if (jpeg := self._jpeg(path))}
            since = kept_since(real) or min(kept_since(source) or self.today, self.today)
            if taken:
                keep_stills(self.ours, *at, new_name, taken, since)
        return []

    def _jpeg(self, path: Path) -> bytes:
        """Return the bytes of a whole JPEG, b"" for anything else, which is told."""
        try:
            if path.is_symlink():
                raise FileDamaged("It is a link.")
            return without_metadata(files.read_bytes(path, follow=False))
        except StoreError as error:
            if self.troubles is not None:
                self.troubles.append(StoreError(f"“{files.whose(path)}” is not taken: {error}"))
            return b""

    def _keep(self, ours: Path, theirs: Path) -> None:
        kept = files.keep_copy(ours, files.read_bytes(theirs, follow=False), "elsewhere")
        if kept is None:
            raise CannotWrite(f"Their version of “{ours.name}” cannot be kept beside ours.")


def _told(visit: Visit, name: str, our: Run | None, their: Run) -> Difference:
    words = f"{visit.code} on {long_day(visit.dated)}: {run_words(name)} "
    if our is None:
        words += f"is only in the other copy ({_marked(their)})."
    else:
        words += (
            f"differs: here {_marked(our)}, there {_marked(their)}. Both are kept; theirs is not "
            "counted until you choose."
        )
    return Difference(CONFLICT if our else NEW, visit.code, words, visit.dated, name)


def _marked(run: Run) -> str:
    n_taps = sum(1 for _ in run.taps())
    return f"{n_taps} taps by {shown_text(run.marked_by) or 'nobody named'}"


def _differing(our: dict[str, object], their: dict[str, object]) -> str:
    keys = sorted(key for key in {*our, *their} if our.get(key) != their.get(key))
    return ", ".join(key.replace("_", " ") for key in keys)
