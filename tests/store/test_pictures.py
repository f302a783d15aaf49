"""Stills beside a run, and the clip that may have moved."""

from dataclasses import replace
from hashlib import sha256
from pathlib import Path
from typing import Literal
from unicodedata import normalize

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapmark.errors import FileDamaged, NotThere
from tapmark.marks.points import BACK_EVENTS, SIDE_EVENTS
from tapmark.marks.run import Source
from tapmark.store import pictures
from tapmark.store.squad import Squad
from tests.store import made
from tests.store.test_jpeg import jpeg

WHERE = ("K07", "2026-03-14", "run-1")
events = st.sampled_from((*SIDE_EVENTS, *BACK_EVENTS))


@given(st.tuples(st.integers(0, 90), events, st.integers(-9, 9)))
def test_a_stills_name_tells_which_one_it_is(still: pictures.Still) -> None:
    assert pictures.read_still_name(pictures.still_name(still)) == still


@pytest.mark.parametrize(
    "name", ["step-0-touchdown.jpg", "step-1-jump.jpg", "step-1-touchdown.png", "IMG_0412.jpg", ""]
)
def test_other_files_are_no_stills(name: str) -> None:
    assert pictures.read_still_name(name) is None


def test_stills_are_kept_clean_beside_their_run(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad")
    stills = {(0, "touchdown", 0): jpeg(), (0, "touchdown", -1): jpeg(progressive=True)}

    pictures.keep_stills(squad, *WHERE, stills, "2026-03-14")

    folder = squad.stills_folder(*WHERE)
    assert sorted(path.name for path in folder.iterdir()) == [
        "since.txt",
        "step-1-touchdown-before-1.jpg",
        "step-1-touchdown.jpg",
    ]
    assert set(pictures.kept_stills(folder)) == set(stills)
    assert not any(b"SECRET" in data for data in made.contents(folder).values())
    assert squad.run_names(*WHERE[:2]) == ("run-1",)


def test_the_day_from_which_stills_count_is_written_once(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad")
    for day in ("2026-03-14", "2026-03-20"):
        pictures.keep_stills(squad, *WHERE, {(0, "touchdown", 0): jpeg()}, day)

    assert pictures.kept_since(squad.stills_folder(*WHERE)) == "2026-03-14"


def test_one_bad_still_means_that_none_is_written(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad")
    before = made.contents(tmp_path)

    with pytest.raises(FileDamaged):
        stills = {(0, "touchdown", 0): jpeg(), (0, "toe-off", 0): b"no picture"}
        pictures.keep_stills(squad, *WHERE, stills, "2026-03-14")
    assert made.contents(tmp_path) == before


def test_dropped_stills_leave_no_trace(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad")
    before = made.contents(tmp_path)
    pictures.keep_stills(squad, *WHERE, {(0, "touchdown", 0): jpeg()}, "2026-03-14")
    folder = squad.stills_folder(*WHERE)
    (folder / "thumb.png").write_bytes(b"another one")

    gone = pictures.drop_stills(folder)

    assert [path.name for path in gone] == ["step-1-touchdown.jpg", "thumb.png"]
    assert made.contents(tmp_path) == before
    assert not folder.exists()
    assert pictures.drop_stills(folder) == ()


def test_the_fingerprint_is_the_sha_256_of_the_first_megabyte(tmp_path: Path) -> None:
    data = bytes(range(256)) * 8192
    (tmp_path / "a.mp4").write_bytes(data)

    assert pictures.fingerprint(tmp_path / "a.mp4") == sha256(data[: 1024 * 1024]).hexdigest()
    with pytest.raises(NotThere, match=r"There is no clip “b\.mp4”"):
        pictures.fingerprint(tmp_path / "b.mp4")


def clip_in(folder: Path, name: str = "0412.mp4", data: bytes = b"moving pictures") -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    (folder / name).write_bytes(data)
    return folder / name


def run_of(squad: Squad, clip: Path) -> Source:
    """Make run-1 of WHERE a run of that clip."""
    run = squad.load_run(*WHERE)
    source = pictures.clip_of(clip, squad.run_path(*WHERE), Source("clip", size_px=made.SIZE))
    squad.save_run(*WHERE, replace(run, source=source))
    return source


def test_a_squad_and_its_clips_can_be_moved_together(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "old" / "squad")
    source = run_of(squad, clip_in(tmp_path / "old" / "clips"))
    assert source.path == "../../../../clips/0412.mp4"

    (tmp_path / "old").rename(tmp_path / "new")

    run_path = tmp_path / "new/squad/athletes/K07/2026-03-14/run-1.json"
    assert pictures.clip_path(source, run_path) == tmp_path / "new/clips/0412.mp4"
    assert pictures.clip_state(source, run_path) == "there"


@pytest.mark.parametrize(("told", "lies"), [("NFC", "NFD"), ("NFD", "NFC"), ("NFD", "NFD")])
def test_a_clip_is_found_in_either_spelling_of_its_name(
    told: Literal["NFC", "NFD"], lies: Literal["NFC", "NFD"], tmp_path: Path
) -> None:
    """Copied from a Mac, é may be two letters on the disk where the run has one, or the other way.

    The squad lies in a folder of such a name, too.
    """
    squad = made.squad_of(tmp_path / normalize(lies, "Jugend Süd") / "squad")
    name = normalize(lies, "Läufe/près.mp4")
    clip = clip_in(squad.folder.parent / name.split("/")[0], name=name.split("/")[1])
    source = run_of(squad, clip)
    source = replace(source, path=normalize(told, source.path))

    squad.save_run(*WHERE, replace(squad.load_run(*WHERE), source=source))

    run_path = squad.run_path(*WHERE)
    assert pictures.clip_state(squad.load_run(*WHERE).source, run_path) == "there"
    assert pictures.clip_path(source, run_path).samefile(clip)
    assert squad.codes() == ("K07", "M12")


def test_a_moved_clip_is_known_by_its_contents(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad")
    clip = clip_in(tmp_path / "clips")
    source = run_of(squad, clip)
    moved = clip.rename(clip_in(tmp_path / "stick" / "may", "x").with_name("renamed.mp4"))

    assert pictures.clip_state(source, squad.run_path(*WHERE)) == "gone"
    again = pictures.clip_of(moved, squad.run_path(*WHERE), source)
    assert pictures.clip_state(again, squad.run_path(*WHERE)) == "there"


def test_another_clip_under_the_same_name_is_noticed(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad")
    clip = clip_in(tmp_path / "clips")
    source = run_of(squad, clip)
    clip.write_bytes(b"moving pixtures")

    assert pictures.clip_state(source, squad.run_path(*WHERE)) == "changed"
    with pytest.raises(FileDamaged, match="is not the clip that was marked"):
        pictures.delete_clip(clip, source)
    assert clip.exists()


def test_a_clips_other_uses_are_named_before_it_goes(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad")
    clip = clip_in(tmp_path / "clips")
    source = run_of(squad, clip)
    squad.new_run("M12", made.DAY, squad.load_run(*WHERE))

    assert pictures.clip_uses(squad, clip) == (WHERE, ("M12", made.DAY, "run-1"))
    pictures.delete_clip(clip, source)
    assert not clip.exists()
