"""Clips that moved are found again; clips are let go only once every run of them is marked."""

import shutil
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest

from tapmark.errors import FileDamaged, NotThere, StoreError
from tapmark.marks.run import Step
from tapmark.services.clips import (
    Relinked,
    delete_marked_clip,
    look_for,
    note_found,
    plan_clip_deletion,
)
from tapmark.store.lock import take_lock
from tapmark.store.pictures import clip_of, clip_path, clip_state, keep_stills
from tapmark.store.squad import Squad, open_squad
from tests.services.made import FIRST, TODAY, agreed, contents, jpeg, run_of, squad_of

NOW = datetime.fromisoformat(f"{TODAY}T21:00:00")
K07, M12 = ("K07", FIRST, "run-1"), ("M12", FIRST, "run-1")


def relink(squad: Squad, folders: list[Path], now: datetime) -> Relinked:
    """Look for clips and note where they are, as the window does in two steps."""
    return note_found(squad, look_for(squad, folders), now)


def with_clips(folder: Path, *, shared: bool = False) -> Squad:
    """A squad whose runs come from clips in a folder beside it."""
    film = folder / "film"
    film.mkdir()
    (film / "a.mp4").write_bytes(b"clip a" * 1000)
    (film / "b.mp4").write_bytes(b"clip b" * 1000)  # as long as the other one
    squad = squad_of(folder / "squad", [agreed(), agreed("M12")])
    for at, name in ((K07, "a.mp4"), (M12, "a.mp4" if shared else "b.mp4")):
        run = replace(run_of(), source=replace(run_of().source, kind="clip"))
        source = clip_of(film / name, squad.run_path(*at), run.source)
        squad.save_run(*at, replace(run, source=source))
    return squad


def state(squad: Squad, at: tuple[str, str, str]) -> str:
    return clip_state(squad.load_run(*at).source, squad.run_path(*at))


def test_moved_and_renamed_clips_are_found_by_what_is_in_them(tmp_path: Path) -> None:
    squad = with_clips(tmp_path)
    (tmp_path / "new" / "deep").mkdir(parents=True)
    (tmp_path / "film" / "a.mp4").rename(tmp_path / "new" / "deep" / "IMG_1.mp4")
    (tmp_path / "film" / "b.mp4").rename(tmp_path / "new" / "IMG_2.mp4")
    taps = list(squad.load_run(*K07).taps())

    done = relink(squad, [tmp_path / "new"], NOW)

    assert {at: path.name for at, path in done.found} == {K07: "IMG_1.mp4", M12: "IMG_2.mp4"}
    assert (state(squad, K07), state(squad, M12), done.missing) == ("there", "there", ())
    assert list(squad.load_run(*K07).taps()) == taps


def test_a_squad_copied_to_another_laptop_finds_its_clips_there(tmp_path: Path) -> None:
    with_clips(tmp_path)
    shutil.copytree(tmp_path / "squad", tmp_path / "laptop" / "anywhere" / "squad")
    shutil.copytree(tmp_path / "film", tmp_path / "laptop" / "clips")
    squad = open_squad(tmp_path / "laptop" / "anywhere" / "squad")
    assert state(squad, K07) == "gone"

    relink(squad, [tmp_path / "laptop" / "clips"], NOW)

    run = squad.load_run(*K07)
    assert clip_path(run.source, squad.run_path(*K07)) == tmp_path / "laptop" / "clips" / "a.mp4"


def test_a_clip_that_is_nowhere_is_told_and_its_run_left_alone(tmp_path: Path) -> None:
    squad = with_clips(tmp_path)
    (tmp_path / "film" / "a.mp4").unlink()
    before = contents(squad.folder)

    done = relink(squad, [tmp_path / "film"], NOW)

    assert (done.missing, done.found) == ((K07,), ())
    assert contents(squad.folder) == before


def test_a_run_that_another_window_holds_is_left_for_later(tmp_path: Path) -> None:
    squad = with_clips(tmp_path)
    (tmp_path / "film" / "a.mp4").rename(tmp_path / "film" / "c.mp4")
    lock = take_lock(squad.run_path(*K07), "another window", NOW)

    done = relink(squad, [tmp_path / "film"], NOW)
    lock.release()

    assert done.found == () and len(done.held) == 1 and "Run 1 is open" in done.held[0]


def test_a_clip_goes_after_marking_and_says_what_stays(tmp_path: Path) -> None:
    squad = with_clips(tmp_path)
    keep_stills(squad, *K07, {(0, "touchdown", 0): jpeg((64, 36))}, TODAY)
    plan = plan_clip_deletion(squad, K07)
    assert (plan.uses, plan.n_stills) == ((K07,), 1)
    assert plan.clip.exists()

    words = delete_marked_clip(squad, plan, tmp_path / "cache")

    assert not plan.clip.exists() and "1 still and the points stay" in words
    assert sum(1 for _ in squad.load_run(*K07).taps()) == 32
    with pytest.raises(NotThere, match="nothing to delete"):
        plan_clip_deletion(squad, K07)


def test_a_clip_of_several_runs_names_them_and_stays_until_all_are_marked(tmp_path: Path) -> None:
    squad = with_clips(tmp_path, shared=True)
    bare = replace(squad.load_run(*M12), steps=(Step(),))
    squad.save_run(*M12, bare)
    plan = plan_clip_deletion(squad, K07)

    assert plan.uses == (K07, M12)
    with pytest.raises(StoreError, match="run 1 of M12 on 1 April 2026 has no taps yet"):
        delete_marked_clip(squad, plan, tmp_path / "cache")
    assert plan.clip.exists()


def test_another_clip_under_the_same_name_is_never_deleted(tmp_path: Path) -> None:
    squad = with_clips(tmp_path)
    plan = plan_clip_deletion(squad, K07)
    plan.clip.write_bytes(b"somebody else" * 500)

    with pytest.raises(FileDamaged, match="is not the clip that was marked"):
        delete_marked_clip(squad, plan, tmp_path / "cache")
    assert plan.clip.exists()
