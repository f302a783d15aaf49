"""Put two copies of a squad together, run by run.

What only one of them has is taken. Where both have something different, ours stays in its place
and theirs is kept beside it: a run under the next free name, not counted in the visit; anything
else as a copy set aside. Nothing is averaged and nothing is dropped, and every difference is a
sentence. The one exception protects the athlete: a no to a use of pictures wins over a yes.
"""

import shutil
from dataclasses import dataclass, replace
from pathlib import Path

from tapmark.errors import CannotWrite, NotThere
from tapmark.marks.days import long_day, run_words
from tapmark.marks.people import CONSENT_WORDS, Athlete, Visit
from tapmark.marks.run import Run
from tapmark.store import files, schema
from tapmark.store.gates import consent_state
from tapmark.store.shown import shown_text
from tapmark.store.squad import Squad, Troubles
from tapmark.store.walk import all_runs

NEW, CONFLICT, SAFER = "new", "conflict", "safer"


@dataclass(frozen=True)
class Difference:
    """One thing that merging does, in words.

    kind: "new" (only they have it), "conflict" (both have it, and differ; both are kept) or
          "safer" (their no replaces our yes).
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
    plan = _Merge(ours, theirs, today, troubles, writes=False, without_visits=without_visits)
    return plan.all()


def merge(
    ours: Squad,
    theirs: Squad,
    today: str,
    leave: frozenset[str] = frozenset(),
    troubles: Troubles | None = None,
    without_visits: frozenset[str] = frozenset(),
) -> tuple[Difference, ...]:
    """Merge their copy into ours and return what was done; theirs is only read.

    leave: codes that are not taken, such as athletes who were deleted here.
    without_visits: codes of which only the athlete's own file is merged, a no to a use of pictures
    above all: their runs may not be brought in.
    Raises CannotWrite; merging again carries on from there.
    """
    return _Merge(ours, theirs, today, troubles, True, leave, without_visits).all()


def same_clip_pairs(
    squad: Squad,
) -> tuple[tuple[tuple[str, str, str], tuple[str, str, str]], ...]:
    """Return pairs of runs, (code, date, name) each, of one clip marked by two people."""
    by_clip: dict[tuple[str, str], list[tuple[tuple[str, str, str], str]]] = {}
    for code, dated, name, run in all_runs(squad, []):
        if run.source.fingerprint and run.marked_by:
            key = (run.source.fingerprint, run.view)
            by_clip.setdefault(key, []).append(((code, dated, name), run.marked_by))
    return tuple(
        (first, second)
        for group in by_clip.values()
        for i, (first, one) in enumerate(group)
        for second, other in group[i + 1 :]
        if one != other
    )


@dataclass
class _Merge:
    """One walk through their squad; it writes or only tells."""

    ours: Squad
    theirs: Squad
    today: str
    troubles: Troubles | None
    writes: bool
    leave: frozenset[str] = frozenset()
    without_visits: frozenset[str] = frozenset()

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
            if self.writes:
                self.ours.save_athlete(their)
            return [Difference(NEW, code, f"{code} is only in the other copy.")]
        our = self.ours.athlete(code)
        if our == their:
            return []
        keys = _differing(schema.athlete_to_plain(our), schema.athlete_to_plain(their))
        found = [Difference(CONFLICT, code, f"{code}: the copies differ in {keys}.")]
        safer = tuple(
            answer
            for answer in {each.use: each for each in their.consents}.values()
            if consent_state(their, answer.use, self.today) in ("refused", "withdrawn")
            and consent_state(our, answer.use, self.today) not in ("refused", "withdrawn")
        )
        if self.writes:
            path = self.ours.athlete_folder(code) / "athlete.json"
            self._keep(path, self.theirs.athlete_folder(code) / "athlete.json")
            if safer:
                self.ours.save_athlete(replace(our, consents=(*our.consents, *safer)))
        words = "{}: their no to “{}” now counts here too."
        found += [
            Difference(SAFER, code, words.format(code, CONSENT_WORDS[answer.use]))
            for answer in safer
        ]
        return found

    def _visit(self, their: Visit) -> list[Difference]:
        code, dated = their.code, their.dated
        try:
            our = self.ours.visit(code, dated)
        except NotThere:
            our = None
        if our is None:
            if self.writes:
                self.ours.new_visit(code, dated)
                self.ours.save_visit(replace(their, runs=()))
            words = f"{code}: the visit of {long_day(dated)} is only in the other copy."
            found = [Difference(NEW, code, words, dated)]
        else:
            found = self._other_words(our, their)
        return found + self._runs(their)

    def _other_words(self, our: Visit, their: Visit) -> list[Difference]:
        same_runs = replace(their, runs=our.runs)
        if same_runs == our:
            return []
        keys = _differing(schema.visit_to_plain(our), schema.visit_to_plain(same_runs))
        if self.writes:
            path = self.ours.visit_folder(our.code, our.dated) / "visit.json"
            self._keep(path, self.theirs.visit_folder(our.code, our.dated) / "visit.json")
        words = f"{our.code} on {long_day(our.dated)}: the copies differ in {keys}."
        return [Difference(CONFLICT, our.code, words, our.dated)]

    def _runs(self, visit: Visit) -> list[Difference]:
        found = []
        our_runs = dict(self.ours.runs(visit.code, visit.dated, []))
        for name, run in self.theirs.runs(visit.code, visit.dated, self.troubles):
            if run in our_runs.values():
                self._take_files(visit, name, next(n for n, r in our_runs.items() if r == run))
                continue
            found.append(_told(visit, name, our_runs.get(name), run))
            new_name = self._add_run(visit, name, run, counts=name not in our_runs)
            our_runs[new_name] = run
        return found

    def _add_run(self, visit: Visit, name: str, run: Run, counts: bool) -> str:
        if not self.writes:
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
        self._take_files(visit, name, new_name)
        return new_name

    def _take_files(self, visit: Visit, name: str, new_name: str) -> None:
        """Copy stills that ours lacks."""
        source = self.theirs.stills_folder(visit.code, visit.dated, name)
        if not self.writes or not source.is_dir() or source.is_symlink():
            return
        target = self.ours.stills_folder(visit.code, visit.dated, new_name)
        files.make_folder(target)
        for path in sorted(source.iterdir()):
            if path.is_file() and not path.is_symlink() and not (target / path.name).exists():
                try:
                    shutil.copyfile(path, target / path.name)
                except OSError as error:
                    files.refuse_write(target / path.name, error)

    def _keep(self, ours: Path, theirs: Path) -> None:
        kept = files.keep_copy(ours, files.read_bytes(theirs), "elsewhere")
        if kept is None:
            raise CannotWrite(f"Their version of “{ours.name}” cannot be kept beside ours.")


def _told(visit: Visit, name: str, our: Run | None, their: Run) -> Difference:
    there = f"{visit.code} on {long_day(visit.dated)}: {run_words(name)}"
    if our is None:
        words = f"{there} is only in the other copy ({_marked(their)})."
        return Difference(NEW, visit.code, words, visit.dated, name)
    words = (
        f"{there} differs: here {_marked(our)}, there {_marked(their)}. Both are kept; theirs is "
        "not counted until you choose."
    )
    return Difference(CONFLICT, visit.code, words, visit.dated, name)


def _marked(run: Run) -> str:
    n_taps = sum(1 for _ in run.taps())
    return f"{n_taps} taps by {shown_text(run.marked_by) or 'nobody named'}"


def _differing(our: dict[str, object], their: dict[str, object]) -> str:
    keys = sorted(key for key in {*our, *their} if our.get(key) != their.get(key))
    return ", ".join(key.replace("_", " ") for key in keys)
