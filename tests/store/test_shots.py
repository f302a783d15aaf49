"""A folder of phone clips named from the shot log."""

import os
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapmark import disk
from tapmark.errors import FileDamaged, FileTooNew, NotThere
from tapmark.store import shots
from tapmark.store.schema import FORMAT
from tests.store import made

DAY = "2026-05-14"


def clips(folder: Path, n: int) -> list[Path]:
    folder.mkdir()
    for i in range(n):
        path = folder / f"clip_{i + 8}.MP4"
        path.write_bytes(b"film %d" % i)
        os.utime(path, (1_778_790_000, 1_778_790_000))
    return [folder / f"clip_{i + 8}.MP4" for i in range(n)]


def test_clips_come_in_the_order_of_filming(tmp_path: Path) -> None:
    made_clips = clips(tmp_path / "phone", 4)
    (tmp_path / "phone" / "notes.txt").write_text("x", "utf-8")
    os.utime(made_clips[3], (1_778_700_000, 1_778_700_000))

    found = shots.clips_in(tmp_path / "phone")

    assert [path.name for path in found] == [
        "clip_11.MP4",
        "clip_8.MP4",
        "clip_9.MP4",
        "clip_10.MP4",
    ]


def test_an_empty_or_missing_folder_is_told(tmp_path: Path) -> None:
    with pytest.raises(NotThere, match="There is no clip in"):
        shots.clips_in(tmp_path)
    with pytest.raises(NotThere, match="There is no folder"):
        shots.clips_in(tmp_path / "gone")


@given(st.lists(st.text(max_size=12), max_size=6))
def test_any_file_names_can_be_put_in_order(names: list[str]) -> None:
    assert len(sorted(names, key=disk.natural_order)) == len(names)


def test_the_log_is_offered_in_its_order_and_nothing_counts_before_it_is_named(
    tmp_path: Path,
) -> None:
    squad = made.squad_of(tmp_path / "squad")
    found = clips(tmp_path / "phone", 4)
    listed = shots.new_list(squad, DAY, found, ["K07", "M12", "K07"])

    assert [(s.code, s.state) for s in listed.shots] == [
        ("K07", "to name"),
        ("M12", "to name"),
        ("K07", "to name"),
        ("", "to name"),
    ]
    assert listed.shots[0].path == "../phone/clip_8.MP4"
    listed = shots.name_shot(listed, 0, "K07")
    assert listed.next_unnamed() == 1
    assert listed.next_unnamed(3) is None


def test_a_clip_that_was_no_run_moves_the_log_on(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad")
    listed = shots.new_list(squad, DAY, clips(tmp_path / "phone", 4), ["K07", "M12", "P03"])

    listed = shots.skip_shot(shots.name_shot(listed, 0, "K07"), 1)

    assert [(s.code, s.state) for s in listed.shots] == [
        ("K07", "named"),
        ("", "skipped"),
        ("M12", "to name"),
        ("P03", "to name"),
    ]


def test_naming_can_be_broken_off_and_taken_up(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad")
    listed = shots.new_list(squad, DAY, clips(tmp_path / "phone", 3), ["K07"])
    listed = shots.name_shot(listed, 0, "M12")

    shots.save_list(squad, listed)

    assert shots.load_list(squad, DAY) == listed


def test_a_bad_list_is_told(tmp_path: Path) -> None:
    squad = made.squad_of(tmp_path / "squad")
    with pytest.raises(NotThere):
        shots.load_list(squad, DAY)
    shots.list_path(squad, DAY).write_text(f'{{"format": {FORMAT + 1}}}', "utf-8")
    with pytest.raises(FileTooNew):
        shots.load_list(squad, DAY)
    shots.list_path(squad, DAY).write_text('{"format": 1, "dated": "x"}', "utf-8")
    with pytest.raises(FileDamaged, match="dated is “x”, but should be a date"):
        shots.load_list(squad, DAY)
