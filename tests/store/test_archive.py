"""Back-up and the way back; sha256sum and zipfile are the outside checks."""

import errno
import io
import os
import shutil
import subprocess
import sys
import zipfile
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from hashlib import sha256
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapmark.errors import (
    AlreadyThere,
    Cancelled,
    CannotWrite,
    FileDamaged,
    FileTooNew,
    NotThere,
    StoreError,
)
from tapmark.progress import Told
from tapmark.store import archive, consent, delete, pictures, zips
from tapmark.store.choices import backup_reminder
from tapmark.store.squad import Squad, open_squad
from tests.examples import examples
from tests.links import link
from tests.store import made
from tests.store.test_jpeg import jpeg

NOW = datetime(2026, 5, 14, 21, 0)
TODAY = "2026-05-14"


def rich_squad(folder: Path) -> Squad:
    squad = made.squad_of(folder, ("K07", "M12"), n_visits=2)
    stills = {(0, "touchdown", 0): jpeg()}
    for code in squad.codes():
        pictures.keep_stills(squad, code, "2026-03-14", "run-1", stills, "2026-03-14")
        (squad.visit_folder(code, "2026-03-14") / "sheet.pdf").write_bytes(b"%PDF")
    (squad.folder / "checks.toml").write_text("# ours", "utf-8")
    return squad


@pytest.fixture
def squad(tmp_path: Path) -> Squad:
    return rich_squad(tmp_path / "squad")


@pytest.fixture
def backup(squad: Squad, tmp_path: Path) -> Path:
    archive.back_up(squad, tmp_path / "b.zip", TODAY)
    return tmp_path / "b.zip"


def test_what_is_restored_is_what_was_backed_up(squad: Squad, backup: Path, tmp_path: Path) -> None:
    restored = archive.restore(backup, tmp_path / "new", NOW)

    assert made.contents(tmp_path / "new") == made.contents(squad.folder)
    assert restored == archive.Restored(tmp_path / "new", None)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["b.zip", "new", "squad"]


@settings(max_examples=examples(8))
@given(st.dictionaries(made.codes, made.runs(), max_size=2), st.binary(max_size=99))
def test_any_squad_comes_back_as_it_was(
    tmp_path_factory: pytest.TempPathFactory, runs: dict[str, made.Run], data: bytes
) -> None:
    folder = tmp_path_factory.mktemp("s")
    squad = made.squad_of(folder / "squad", ("zz9",))
    for code, run in runs.items():
        if code.lower() not in {each.lower() for each in squad.codes()}:
            squad.save_athlete(made.consenting(code))
            squad.new_run(code, TODAY, run)
    (squad.folder / "notes.bin").write_bytes(data)

    archive.back_up(squad, folder / "b.zip", TODAY)
    archive.restore(folder / "b.zip", folder / "new", NOW)

    assert made.contents(folder / "new") == made.contents(squad.folder)


def test_the_check_counts_files_and_bytes(squad: Squad, backup: Path) -> None:
    found = archive.check_backup(backup)

    contents = made.contents(squad.folder)
    assert (found.n_files, found.n_bytes) == (len(contents), sum(map(len, contents.values())))


def test_any_computer_can_check_the_list(backup: Path, tmp_path: Path) -> None:
    """sha256sum of GNU coreutils reads the list and finds every file as it should be."""
    if not shutil.which("sha256sum"):
        pytest.skip("no sha256sum on this computer")
    shutil.unpack_archive(backup, tmp_path / "out")

    done = subprocess.run(
        ["sha256sum", "-c", "--strict", "checksums.sha256"], cwd=tmp_path / "out", check=False
    )

    assert done.returncode == 0
    assert "not encrypted" in (tmp_path / "out" / "about.txt").read_text("utf-8")


def test_locks_and_half_written_files_stay_out(squad: Squad, tmp_path: Path) -> None:
    visit = squad.visit_folder("K07", "2026-03-14")
    (visit / "run-1.json.lock").write_bytes(b"{}")
    (visit / "run-1.json.77.part").write_bytes(b"half")
    link(visit / "more", tmp_path)

    archive.back_up(squad, tmp_path / "b.zip", TODAY)

    with zipfile.ZipFile(tmp_path / "b.zip") as made_zip:
        assert not [n for n in made_zip.namelist() if n.endswith((".lock", ".part")) or "more" in n]


def test_pictures_go_in_with_consent_only(squad: Squad, tmp_path: Path) -> None:
    squad.save_athlete(consent.refuse(squad.athlete("K07"), "keep stills", "parent", "2026-05-01"))
    squad.save_athlete(consent.withdraw(squad.athlete("M12"), "film", "parent", "2026-05-01"))

    told = archive.back_up(squad, tmp_path / "b.zip", TODAY)

    assert {way for way, _ in told.left_out} == {
        "athletes/K07/2026-03-14/run-1/step-1-touchdown.jpg",
        "athletes/M12/2026-03-14/run-1/step-1-touchdown.jpg",
        "athletes/M12/2026-03-14/sheet.pdf",
    }
    assert {why for _, why in told.left_out} == {"no consent to give it out"}
    with zipfile.ZipFile(tmp_path / "b.zip") as made_zip:
        names = made_zip.namelist()
    assert "squad/athletes/K07/2026-03-14/sheet.pdf" in names
    assert not [name for name in names if name.endswith(".jpg")]
    assert archive.check_backup(tmp_path / "b.zip").n_files == told.n_files


def test_pictures_of_somebody_who_cannot_be_read_stay_here(squad: Squad, tmp_path: Path) -> None:
    (squad.athlete_folder("K07") / "athlete.json").write_bytes(b"torn")

    told = archive.back_up(squad, tmp_path / "b.zip", TODAY)

    assert {way.split("/")[1] for way, _ in told.left_out} == {"K07"}


@pytest.mark.skipif(sys.platform == "win32", reason="Windows itself refuses such a name")
def test_a_name_that_windows_cannot_carry_is_told(squad: Squad, tmp_path: Path) -> None:
    (squad.folder / "what?.txt").write_bytes(b"1")

    told = archive.back_up(squad, tmp_path / "b.zip", TODAY)

    assert told.left_out == (("what?.txt", "some computers cannot carry its name"),)


def test_a_back_up_inside_the_squad_is_refused(squad: Squad) -> None:
    with pytest.raises(CannotWrite, match="Put it on a stick instead"):
        archive.back_up(squad, squad.folder / "b.zip", TODAY)


def test_an_older_back_up_stays_until_the_new_one_is_whole(
    squad: Squad, backup: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = backup.read_bytes()

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as broken, pytest.raises(CannotWrite, match="the disk is full"):
        broken.setattr(os, "fsync", full)
        archive.back_up(squad, backup, TODAY)

    assert backup.read_bytes() == before
    assert [p.name for p in backup.parent.glob("*.part")] == []


def test_an_old_squad_is_kept_beside_the_restored_one(
    squad: Squad, backup: Path, tmp_path: Path
) -> None:
    squad.save_athlete(made.consenting("N01"))
    before = made.contents(squad.folder)
    with pytest.raises(AlreadyThere, match="is not empty"):
        archive.restore(backup, squad.folder, NOW)

    restored = archive.restore(backup, squad.folder, NOW, replace_old=True)

    assert restored.old_kept == tmp_path / "squad before 2026-05-14 210000"
    assert made.contents(restored.old_kept) == before
    assert open_squad(squad.folder).codes() == ("K07", "M12")


def test_an_empty_folder_is_filled(backup: Path, tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()

    archive.restore(backup, tmp_path / "empty", NOW)

    assert open_squad(tmp_path / "empty").codes() == ("K07", "M12")


def test_a_failure_while_restoring_leaves_the_old_squad(
    squad: Squad, backup: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = made.contents(tmp_path)
    real = os.rename

    def refuse_last(folder: Path, target: Path) -> None:
        if folder.name.endswith(".part"):
            raise OSError(errno.EROFS, "Read-only file system")
        real(folder, target)

    with monkeypatch.context() as broken, pytest.raises(CannotWrite, match="can only be read"):
        broken.setattr(os, "rename", refuse_last)
        archive.restore(backup, squad.folder, NOW, replace_old=True)

    assert made.contents(tmp_path) == before


def test_a_full_disk_while_restoring_leaves_the_old_squad(
    squad: Squad, backup: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = made.contents(tmp_path)

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as broken, pytest.raises(CannotWrite, match="the disk is full"):
        broken.setattr(os, "fsync", full)
        archive.restore(backup, squad.folder, NOW, replace_old=True)

    assert made.contents(tmp_path) == before


def altered(backup: Path, change: Callable[[dict[str, bytes]], None]) -> Path:
    """The back-up with its files changed and packed again; the list stays unless changed too."""
    with zipfile.ZipFile(backup) as old:
        contents = {name: old.read(name) for name in old.namelist()}
    change(contents)
    with zipfile.ZipFile(backup, "w", zipfile.ZIP_DEFLATED) as new:
        for name, data in contents.items():
            new.writestr(name, data)
    return backup


def add(contents: dict[str, bytes], name: str, data: bytes) -> None:
    """Put a file in with its right checksum."""
    contents[name] = data
    contents["checksums.sha256"] += f"{sha256(data).hexdigest()}  {name}\n".encode()


RUN = "squad/athletes/K07/2026-03-14/run-1.json"
BAD: list[tuple[Callable[[dict[str, bytes]], object], str]] = [
    (lambda c: c.update({RUN: b"{}"}), "differs from its checksum"),
    (lambda c: c.pop(RUN), "is missing from it"),
    (lambda c: c.update({"squad/more.json": b"{}"}), "is not in its list of checksums"),
    (lambda c: c.pop("checksums.sha256"), "has no list of checksums"),
    (lambda c: c.update({"checksums.sha256": b"\xff\xfe"}), "cannot be unpacked"),
    (lambda c: c.update({"checksums.sha256": b"nothing"}), "list of checksums cannot be read"),
    (lambda c: add(c, "squad/../../evil.json", b"{}"), "leads elsewhere"),
    (lambda c: add(c, "../evil.json", b"{}"), "leads elsewhere"),
    (lambda c: add(c, "/etc/evil", b"{}"), "leads elsewhere"),
    (lambda c: add(c, "squad/C:/evil", b"{}"), "leads elsewhere"),
    (lambda c: add(c, "squad\\..\\evil", b"{}"), "leads elsewhere"),
    (lambda c: add(c, "squad/nul.json", b"{}"), "leads elsewhere"),
    (lambda c: add(c, "squad/a.", b"{}"), "leads elsewhere"),
    (lambda c: add(c, "squad//a", b"{}"), "leads elsewhere"),
    (lambda c: add(c, "squad/a\x1b[2J", b"{}"), "leads elsewhere"),
    (lambda c: add(c, "evil.json", b"{}"), "is no part of a squad"),
    (lambda c: add(c, RUN.upper().replace("SQUAD/", "squad/"), b"{}"), "stands twice"),
    (lambda c: add(c, "squad/zeros", bytes(60_000_000)), "would unpack to 60,"),
]


@pytest.mark.parametrize(("change", "words"), BAD)
def test_a_bad_back_up_is_refused_and_nothing_is_written(
    change: Callable[[dict[str, bytes]], None], words: str, backup: Path, tmp_path: Path
) -> None:
    altered(backup, change)
    before = set(tmp_path.rglob("*"))

    with pytest.raises(FileDamaged, match=r"“b\.zip”") as caught:
        archive.check_backup(backup)
    with pytest.raises(FileDamaged):
        archive.restore(backup, tmp_path / "new", NOW)

    assert words in str(caught.value)
    assert set(tmp_path.rglob("*")) == before


def with_entry(entry: zipfile.ZipInfo, backup: Path) -> Path:
    with zipfile.ZipFile(backup, "a") as archive_:
        archive_.writestr(entry, b"/etc/passwd")
    return backup


def test_a_link_in_a_back_up_is_refused(backup: Path) -> None:
    link = zipfile.ZipInfo("squad/link")
    link.external_attr = 0o120777 << 16

    with pytest.raises(FileDamaged, match="is a link"):
        archive.check_backup(with_entry(link, backup))


def test_another_way_of_packing_is_refused(backup: Path) -> None:
    pytest.importorskip("lzma", reason="this Python was built without lzma to pack with")
    entry = zipfile.ZipInfo("squad/x")
    entry.compress_type = zipfile.ZIP_LZMA
    with zipfile.ZipFile(backup, "a") as archive_:
        archive_.writestr(entry, b"x", zipfile.ZIP_LZMA)

    with pytest.raises(FileDamaged, match="is packed in a way that is not used here"):
        archive.check_backup(backup)


def test_an_encrypted_entry_is_refused(backup: Path) -> None:
    data = bytearray(backup.read_bytes())
    at = data.rfind(b"PK\x01\x02")  # the last entry of the directory
    data[at + 8] |= 1
    backup.write_bytes(data)

    with pytest.raises(FileDamaged, match="is encrypted"):
        archive.check_backup(backup)


@pytest.mark.parametrize("data", [b"", b"no zip at all", b"PK\x05\x06" + bytes(18)])
def test_what_is_no_back_up_is_told(data: bytes, tmp_path: Path) -> None:
    (tmp_path / "b.zip").write_bytes(data)

    with pytest.raises(FileDamaged):
        archive.check_backup(tmp_path / "b.zip")
    with pytest.raises(NotThere, match=r"There is no back-up “c\.zip”"):
        archive.check_backup(tmp_path / "c.zip")


def test_a_back_up_of_a_newer_version_is_refused_before_anything_moves(
    squad: Squad, backup: Path, tmp_path: Path
) -> None:
    def newer(contents: dict[str, bytes]) -> None:
        old = sha256(contents["squad/squad.json"]).hexdigest()
        contents["squad/squad.json"] = b'{"format": 9}'
        new = sha256(b'{"format": 9}').hexdigest()
        listed = contents["checksums.sha256"].replace(old.encode(), new.encode())
        contents["checksums.sha256"] = listed

    altered(backup, newer)
    before = made.contents(tmp_path)

    with pytest.raises(FileTooNew, match="format 9"):
        archive.restore(backup, squad.folder, NOW, replace_old=True)
    assert made.contents(tmp_path) == before


@settings(max_examples=examples(30))
@given(st.data())
def test_a_zip_with_any_bytes_changed_gives_a_squad_or_a_refusal(
    tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    folder = tmp_path_factory.mktemp("z")
    changed = bytearray(_one_backup(tmp_path_factory))
    for _ in range(data.draw(st.integers(1, 4))):
        changed[data.draw(st.integers(0, len(changed) - 1))] = data.draw(st.integers(0, 255))
    (folder / "b.zip").write_bytes(changed)

    try:
        archive.restore(folder / "b.zip", folder / "new", NOW)
    except StoreError as error:
        assert "\n" not in str(error)
        assert [p.name for p in folder.iterdir()] == ["b.zip"]
    else:
        assert open_squad(folder / "new").codes() == ("K07",)


_kept: list[bytes] = []


def _one_backup(factory: pytest.TempPathFactory) -> bytes:
    if not _kept:
        folder = factory.mktemp("one")
        archive.back_up(made.squad_of(folder / "squad", ("K07",)), folder / "b.zip", TODAY)
        _kept.append((folder / "b.zip").read_bytes())
    return _kept[0]


@pytest.mark.parametrize(
    ("backed_up", "words"),
    [
        ("", "never been backed up"),
        ("2026-05-06", "is 8 days old"),
        ("2026-05-20", "look at this computer's clock"),
    ],
)
def test_a_reminder_comes_after_a_week(backed_up: str, words: str, squad: Squad) -> None:
    choices = replace(squad.choices, backed_up=backed_up)

    assert words in backup_reminder(choices, TODAY)


@pytest.mark.parametrize("backed_up", ["2026-05-07", "2026-05-14"])
def test_within_a_week_there_is_no_reminder(backed_up: str, squad: Squad) -> None:
    assert backup_reminder(replace(squad.choices, backed_up=backed_up), TODAY) == ""


def test_our_own_json_swells_far_less_than_the_limit(squad: Squad, tmp_path: Path) -> None:
    data = b"".join(d for way, d in made.contents(squad.folder).items() if way.endswith(".json"))
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as file:
        file.writestr("x", data * 3)

    assert 3 * len(data) / len(packed.getvalue()) < zips.SWELLS_AT_MOST / 2


def test_a_back_up_tells_how_far_it_is_from_the_first_file_to_the_last_one_checked(
    squad: Squad, tmp_path: Path
) -> None:
    told: list[tuple[int, int]] = []

    done = archive.back_up(
        squad, tmp_path / "b.zip", TODAY, Told(lambda n, of: told.append((n, of)))
    )

    assert [(n, 2 * done.n_files) for n in range(2 * done.n_files)] == told


@pytest.mark.parametrize("at", [1, -1], ids=["while packing", "while checking"])
def test_a_back_up_that_is_stopped_leaves_the_older_one_and_no_half_one(
    at: int, squad: Squad, tmp_path: Path
) -> None:
    target = tmp_path / "b.zip"
    archive.back_up(squad, target, TODAY)
    before = target.read_bytes()

    def stop(done: int, of: int) -> None:
        if done == at % of:
            raise Cancelled

    with pytest.raises(Cancelled):
        archive.back_up(squad, target, TODAY, Told(stop))
    assert target.read_bytes() == before
    assert [path.name for path in tmp_path.glob("b.zip*")] == ["b.zip"]


def test_a_later_no_and_a_later_deletion_hold_on_when_a_back_up_takes_the_place(
    squad: Squad, backup: Path, tmp_path: Path
) -> None:
    squad.save_athlete(consent.withdraw(squad.athlete("K07"), "film", "parent", "2026-05-14"))
    delete.delete_athlete(squad, delete.plan_delete(squad, "M12"), NOW)
    before = made.contents(tmp_path)

    told = archive.restore(backup, squad.folder, NOW, replace_old=True, is_dry_run=True).carried

    assert made.contents(tmp_path) == before
    assert told == (
        "K07: the no to “film” of 14 May 2026 is younger than the back-up and goes on counting.",
        "M12 was deleted since and stays deleted.",
    )
    done = archive.restore(backup, squad.folder, NOW, replace_old=True)
    again = open_squad(squad.folder)
    assert done.carried == told
    assert again.codes() == ("K07",)
    assert consent.consent_state(again.athlete("K07"), "film", TODAY) == "withdrawn"
    assert again.choices.deleted_on == ("2026-05-14",)


def test_a_younger_yes_in_the_back_up_counts(squad: Squad, tmp_path: Path) -> None:
    squad.save_athlete(consent.refuse(squad.athlete("K07"), "film", "parent", "2026-05-01"))
    old = made.contents(squad.folder)["athletes/K07/athlete.json"]
    squad.save_athlete(consent.give(squad.athlete("K07"), "film", "parent", "2026-05-10"))
    archive.back_up(squad, tmp_path / "b.zip", TODAY)
    (squad.athlete_folder("K07") / "athlete.json").write_bytes(old)

    told = archive.restore(tmp_path / "b.zip", squad.folder, NOW, replace_old=True).carried

    assert told == ()
    assert consent.consent_state(open_squad(squad.folder).athlete("K07"), "film", TODAY) == "given"


def test_who_is_only_missing_comes_back(squad: Squad, backup: Path) -> None:
    """Nobody was deleted: a folder that is gone is the damage a back-up is for."""
    shutil.rmtree(squad.athlete_folder("M12"))

    archive.restore(backup, squad.folder, NOW, replace_old=True)

    assert open_squad(squad.folder).codes() == ("K07", "M12")


@pytest.mark.parametrize("replace_old", [False, True])
@pytest.mark.parametrize("where", ["dangling", "link", "a/b/new", "real/..", "."])
def test_a_place_that_is_none_is_refused_before_anything_is_made(
    where: str, replace_old: bool, backup: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "real").mkdir()
    link(tmp_path / "dangling", tmp_path / "nowhere")
    link(tmp_path / "link", tmp_path / "squad")
    monkeypatch.chdir(tmp_path / "real")
    before = {path: path.lstat().st_mtime_ns for path in tmp_path.rglob("*")}
    folder = Path() if where == "." else tmp_path / where

    with pytest.raises((AlreadyThere, NotThere)):
        archive.restore(backup, folder, NOW, replace_old)

    assert {path: path.lstat().st_mtime_ns for path in tmp_path.rglob("*")} == before


def test_a_restore_that_was_killed_between_its_two_moves_is_undone_by_the_next(
    squad: Squad, backup: Path, tmp_path: Path
) -> None:
    squad.save_athlete(consent.withdraw(squad.athlete("K07"), "film", "parent", "2026-05-14"))
    squad.folder.rename(tmp_path / "squad before 2026-05-14 203000")
    (tmp_path / "squad.tapmark-999999999.part").mkdir()

    with pytest.raises(NotThere, match="“squad before 2026-05-14 203000”: restore again"):
        open_squad(tmp_path / "squad")
    archive.restore(backup, tmp_path / "squad", NOW, replace_old=True)

    again = open_squad(tmp_path / "squad")
    assert consent.consent_state(again.athlete("K07"), "film", TODAY) == "withdrawn"
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        "b.zip",
        "squad",
        "squad before 2026-05-14 210000",
    ]
