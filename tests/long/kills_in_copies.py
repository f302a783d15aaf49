"""Kill back-up, restore, delete and merge in the middle: python -m tests.long.kills_in_copies [N]

Each is a program of its own, started anew for each kill, which dies at a random change of a file
or up to 3 ms after it, without a chance to clean up. Afterwards the squad is opened as at the
next start: what was asked is whole, or nothing of it has happened, or it is told and finished;
nothing half made is left and no file of anybody else has changed.
"""

import os
import random
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from tapmark.errors import NotThere
from tapmark.marks.run import Source
from tapmark.services.squads import open_for_work
from tapmark.store import archive, pictures
from tapmark.store.squad import open_squad
from tests.long.dying import AT_ONCE, DAY
from tests.store import made
from tests.store.test_jpeg import jpeg

ROOT = Path(__file__).parents[2]
NOW = datetime(2026, 6, 1, 20, 30)
VISIT = "2026-03-14"


def start(folder: Path, nth: int, delay_s: float, *words: object) -> subprocess.Popen[str]:
    """Start the program that will die."""
    mode = [str(folder), str(nth), str(delay_s), *map(str, words)]
    return subprocess.Popen(
        [sys.executable, "-m", "tests.long.dying", *mode],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        encoding="utf-8",
        env={**os.environ, "PYTHONIOENCODING": "cp1252"},  # what a pipe has on Windows
        cwd=ROOT,
    )


# what it works on


def lay_out(folder: Path) -> Path:
    """A squad with stills, pages and a clip, a back-up of it, and another coach's copy."""
    squad = made.squad_of(folder / "squad", n_visits=2)
    for code in squad.codes():
        still = {(0, "touchdown", i): jpeg() for i in range(-2, 3)}
        pictures.keep_stills(squad, code, VISIT, "run-1", still, VISIT)
        (squad.visit_folder(code, VISIT) / "sheet.pdf").write_bytes(b"%PDF" + bytes(200_000))
    clip = squad.folder / "film" / "0412.mp4"
    clip.parent.mkdir()
    clip.write_bytes(bytes(range(256)) * 4000)
    at = ("K07", VISIT, "run-1")
    source = pictures.clip_of(clip, squad.run_path(*at), Source("clip", size_px=made.SIZE))
    squad.save_run(*at, replace(squad.load_run(*at), source=source))
    archive.back_up(squad, folder / "b.zip", "2026-05-14")
    shutil.copytree(squad.folder, folder / "theirs")
    theirs = open_squad(folder / "theirs")
    for code in theirs.codes():
        name = theirs.new_run(code, VISIT, made.standard_run("CD", 5.0))
        pictures.keep_stills(theirs, code, VISIT, name, {(0, "toe-off", 0): jpeg()}, VISIT)
    theirs.save_athlete(made.consenting("N01"))
    theirs.new_run("N01", VISIT, made.standard_run("CD"))
    squad.save_visit(replace(squad.visit("M12", VISIT), notes="since the back-up"))
    return folder


def contents(folder: Path) -> dict[str, bytes]:
    """Every file of a squad but locks: a lock that nobody holds stops nobody."""
    return {way: data for way, data in made.contents(folder).items() if not way.endswith(".lock")}


def no_half_left(folder: Path) -> None:
    """Raise AssertionError for whatever is half made."""
    left = [p.name for p in folder.rglob("*") if p.name.endswith(".part") or p.name == "merging"]
    assert not left, f"half made and left: {left}"


# what must be true afterwards; each returns "nothing", "whole" or "told"


def after_backup(folder: Path, before: dict[str, bytes]) -> str:
    held = archive.check_backup(folder / "stick.zip")  # the old one or the new one, whole
    squad = open_for_work(folder / "squad", DAY).squad
    now = contents(squad.folder)
    assert all(now[way] == data for way, data in before.items() if way != "squad.json")
    archive.back_up(squad, folder / "stick.zip", "2026-06-02")
    no_half_left(folder)
    return "nothing" if held.n_files < len(before) else "whole"


def after_restore(folder: Path, before: dict[str, bytes]) -> str:
    squad, outcome = folder / "squad", "nothing"
    try:
        open_for_work(squad, DAY)
    except NotThere as told:
        assert "was broken off" in str(told), told
        outcome = "told"
    else:
        if contents(squad) != before:
            outcome = "whole"
    archive.restore(folder / "b.zip", squad, NOW, replace_old=True)
    no_half_left(folder)
    assert open_squad(squad).visit("M12", VISIT).notes == ""
    kept = [contents(path) for path in folder.glob("squad before *")]
    assert before in kept, "the old squad is not whole anywhere"
    return outcome


def after_delete(folder: Path, before: dict[str, bytes]) -> str:
    opened = open_for_work(folder / "squad", DAY)
    now = contents(opened.squad.folder)
    no_half_left(folder)
    if now == before:
        return "nothing"
    assert opened.squad.codes() == ("M12",), opened.squad.codes()
    assert len(open_squad(opened.squad.folder).choices.deleted_on) == 1
    assert not any("K07" in way or b"K07" in data for way, data in now.items())
    others = {way: data for way, data in before.items() if "M12" in way}
    assert all(now[way] == data for way, data in others.items())
    is_told = any("Deleting K07 had been broken off" in words for words in opened.notices)
    return "told" if is_told else "whole"


def after_merge(folder: Path, before: dict[str, bytes]) -> str:
    opened = open_for_work(folder / "squad", DAY)
    now = contents(opened.squad.folder)
    no_half_left(folder)
    if now == before:
        return "nothing"
    assert now == MERGED, sorted(set(now) ^ set(MERGED))
    is_told = any(
        "Merging two copies" in words or "A merge of" in words for words in opened.notices
    )
    return "told" if is_told else "whole"


MERGED: dict[str, bytes] = {}
"""The squad after a merge that nobody killed."""

Deed = tuple[Callable[[Path], tuple[object, ...]], Callable[[Path, dict[str, bytes]], str]]
DEEDS: dict[str, Deed] = {
    "backup": (lambda at: ("backup", at / "squad", at / "stick.zip"), after_backup),
    "restore": (lambda at: ("restore", at / "b.zip", at / "squad", "--replace"), after_restore),
    "delete": (lambda at: ("delete", at / "squad", "K07"), after_delete),
    "merge": (lambda at: ("merge", at / "squad", at / "theirs"), after_merge),
}


def fresh(base: Path, folder: Path) -> dict[str, bytes]:
    """Lay everything out anew; return the squad's contents."""
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(base, folder)
    few = made.squad_of(folder / "few", ("M12",))
    archive.back_up(few, folder / "stick.zip", "2026-05-14")
    shutil.rmtree(few.folder)
    return contents(folder / "squad")


def count_changes(base: Path, folder: Path, action: str) -> int:
    """Return how many changes of files an action makes that nobody kills."""
    fresh(base, folder)
    said, errors = start(folder, 10**9, 0.0, *DEEDS[action][0](folder)).communicate()
    assert "changes " in said, errors
    if action == "merge":
        MERGED.update(contents(folder / "squad"))
    return int(said.rsplit("changes ", 1)[1])


def kill(base: Path, folder: Path, action: str, nth: int, delay_s: float) -> str:
    """Kill an action once and return what became of it; raise AssertionError for a loss."""
    before = fresh(base, folder)
    program = start(folder, nth, delay_s, *DEEDS[action][0](folder))
    _, errors = program.communicate()
    assert "Traceback" not in errors, errors
    assert delay_s or abs(program.returncode) == AT_ONCE, (program.returncode, errors)
    return DEEDS[action][1](folder, before)


def kill_many(n_kills: int, seed: int, folder: Path) -> dict[str, dict[str, int]]:
    """Kill each action n times; return how often it was nothing, whole or told."""
    dice, outcomes = random.Random(seed), dict[str, dict[str, int]]()
    base = lay_out(folder / "base")
    for action in DEEDS:
        n_changes = count_changes(base, folder / "work", action)
        found = outcomes.setdefault(action, {"nothing": 0, "told": 0, "whole": 0})
        for i in range(n_kills):
            delay_s = dice.uniform(0.0001, 0.003) if i % 2 else 0.0
            found[kill(base, folder / "work", action, dice.randint(1, n_changes), delay_s)] += 1
    return outcomes


def main() -> None:
    n_kills = int(sys.argv[1]) if len(sys.argv) > 1 else 30
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    began = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        outcomes = kill_many(n_kills, seed, Path(folder))
    for action, found in outcomes.items():
        words = ", ".join(f"{n} {what}" for what, n in found.items())
        print(f"{action}: {n_kills} kills, {words}")
    print(f"seed {seed}, {time.monotonic() - began:.0f} s")


if __name__ == "__main__":
    main()
