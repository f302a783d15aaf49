"""Opening a squad to work in: overdue stills go, odd clocks, disks and half copies are told."""

import errno
import os
from datetime import date
from pathlib import Path

import pytest

from tapmark.errors import CannotWrite, FileTooNew, NotThere
from tapmark.services.pages import write_sheet
from tapmark.services.squads import check_squad, open_for_work
from tapmark.store import pictures, retention
from tapmark.store.files import read_bytes
from tapmark.store.pictures import keep_stills, kept_stills
from tapmark.store.schema import FORMAT
from tapmark.store.squad import Squad
from tests.services.made import (
    FIRST,
    TODAY,
    agreed,
    contents,
    jpeg,
    place,
    squad_of,
    with_answer,
)

pytestmark = pytest.mark.usefixtures("blank_pages")

DAY = date.fromisoformat(TODAY)
CAME = "2026-06-24"  # a week before the day of these tests


def with_stills(folder: Path, use: str = "", state: str = "", came: str = CAME) -> Squad:
    athlete = with_answer(agreed(), use, state) if use else agreed()
    squad = squad_of(folder / "squad", [athlete, agreed("M12")])
    for code in ("K07", "M12"):
        keep_stills(squad, code, FIRST, "run-1", {(0, "touchdown", 0): jpeg((64, 36))}, came)
    return squad


def stills(squad: Squad, code: str = "K07") -> int:
    return len(kept_stills(squad.stills_folder(code, FIRST, "run-1")))


def test_stills_without_consent_to_keep_them_go_a_week_later_with_the_next_opening(
    tmp_path: Path,
) -> None:
    squad = with_stills(tmp_path, "keep stills", "refused")

    early = open_for_work(squad.folder, date(2026, 6, 30))
    assert stills(squad) == 1 and not any(" went, " in words for words in early.notices)
    opened = open_for_work(squad.folder, DAY)

    assert (stills(squad), stills(squad, "M12")) == (0, 1)
    (went,) = (words for words in opened.notices if " went, " in words)
    assert went.startswith("K07 on 1 April 2026: 1 still went")
    assert next(squad.load_run("K07", FIRST, "run-1").taps(), None) is not None  # points stay


@pytest.mark.parametrize("use", ["film", "keep stills"])
def test_stills_of_somebody_who_took_consent_back_go_at_once(tmp_path: Path, use: str) -> None:
    squad = with_stills(tmp_path, use, "withdrawn", came=TODAY)

    open_for_work(squad.folder, DAY)

    assert (stills(squad), stills(squad, "M12")) == (0, 1)


@pytest.mark.parametrize(("state", "left"), [("refused", 0), ("given", 1)])
def test_stills_go_when_the_athletes_sheet_is_written_unless_they_may_be_kept(
    tmp_path: Path, state: str, left: int
) -> None:
    squad = with_stills(tmp_path, "keep stills", state, came=TODAY)

    write_sheet(place(squad), "a4", "coach", DAY)
    assert stills(squad) == 1  # the sheet itself is still to come
    write_sheet(place(squad), "a4", "athlete", DAY)

    assert stills(squad) == left


def test_stills_that_cannot_be_deleted_are_told_and_the_squad_opens(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    squad = with_stills(tmp_path, "keep stills", "refused")

    def refuse(path: Path) -> None:
        raise CannotWrite(f"“{path.name}” cannot be written: the disk can only be read.")

    monkeypatch.setattr(pictures.files, "remove_file", refuse)
    opened = open_for_work(squad.folder, DAY)

    assert opened.squad.codes() == ("K07", "M12")
    assert not any(" went, " in words for words in opened.notices)
    assert any("Stills of K07 should go" in words for words in opened.notices)
    assert retention.stills_due(squad, TODAY)


def test_a_read_only_squad_opens_and_says_that_nothing_can_be_saved(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    squad = with_stills(tmp_path)
    before = contents(squad.folder)
    monkeypatch.setattr("os.access", lambda path, mode: False)

    opened = open_for_work(squad.folder, DAY)

    assert "can only be read" in opened.notices[0]
    assert contents(squad.folder) == before


def test_a_clock_set_back_is_told_and_no_still_goes_by_it(tmp_path: Path) -> None:
    squad = with_stills(tmp_path, "keep stills", "refused")

    opened = open_for_work(squad.folder, date(2026, 1, 1))

    clock = "This computer's clock says 1 January 2026, but there is a visit of 1 April"
    assert any(words.startswith(clock) for words in opened.notices)
    assert stills(squad) == 1


def test_a_folder_synced_half_way_opens_with_what_is_there_and_names_the_rest(
    tmp_path: Path,
) -> None:
    squad = with_stills(tmp_path)
    athlete = squad.athlete_folder("K07") / "athlete.json"
    athlete.write_bytes(athlete.read_bytes()[:40])
    (squad.folder / "squad.json").unlink()

    opened = open_for_work(squad.folder, DAY)

    assert len(opened.troubles) == 1 and "squad.json" in str(opened.troubles[0])
    assert opened.squad.codes() == ("K07", "M12")
    assert opened.squad.athletes(troubles := [])[0].code == "M12"
    assert "athlete.json" in str(troubles[0])


def test_a_squad_of_a_newer_version_is_refused_and_untouched(tmp_path: Path) -> None:
    squad = with_stills(tmp_path)
    path = squad.folder / "squad.json"
    path.write_bytes(read_bytes(path).replace(b'"format": %d' % FORMAT, b'"format": 99'))
    before = contents(squad.folder)

    with pytest.raises(FileTooNew):
        open_for_work(squad.folder, DAY)

    assert contents(squad.folder) == before


def test_no_such_folder_is_told(tmp_path: Path) -> None:
    with pytest.raises(NotThere, match="no folder"):
        open_for_work(tmp_path / "nowhere", DAY)


def test_a_squad_never_backed_up_is_reminded_of_it(tmp_path: Path) -> None:
    opened = open_for_work(with_stills(tmp_path).folder, DAY)

    assert any("never been backed up" in words for words in opened.notices)


@pytest.mark.parametrize("copy", ["athlete", "coach"])
def test_a_sheet_on_a_disk_that_can_only_be_read_is_refused_with_nothing_changed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, copy: str
) -> None:
    squad = with_stills(tmp_path, "keep stills", "refused", came=TODAY)
    before = contents(squad.folder)
    real_open = os.open

    def read_only(path: str, flags: int, *more: int) -> int:
        if flags & (os.O_WRONLY | os.O_RDWR) and str(squad.folder) in str(path):
            raise OSError(errno.EROFS, "Read-only file system")
        return real_open(path, flags, *more)

    monkeypatch.setattr(os, "open", read_only)
    with pytest.raises(CannotWrite, match="can only be read"):
        write_sheet(place(squad), "a4", copy, DAY)

    assert contents(squad.folder) == before


def test_copies_that_a_syncing_program_left_are_named_and_kept(tmp_path: Path) -> None:
    squad = with_stills(tmp_path)
    run = squad.run_path("K07", FIRST, "run-1")
    other = run.with_name("run-1 (other laptop's conflicted copy).json")
    other.write_bytes(run.read_bytes())
    (squad.visit_folder("M12", FIRST) / "visit.json").unlink()
    before = contents(squad.folder)

    said = list(check_squad(squad.folder, DAY))

    assert any(other.name in line and "second copy" in line for line in said)
    assert any("M12 on 1 April 2026 has no visit.json" in line for line in said)
    assert contents(squad.folder) == before
    assert write_sheet(place(squad, "M12"), "a4", "athlete", DAY).exists()
