"""A whole squad by command: wrong targets in plain words, and what changes in mid season."""

import errno
import os
from dataclasses import replace
from datetime import date, datetime
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tapmark import disk
from tapmark.errors import (
    AlreadyThere,
    CannotWrite,
    FileDamaged,
    HeldByAnother,
    NoConsent,
    NotThere,
)
from tapmark.measures.result import Measured
from tapmark.services.exports import physio_note, season_csv, taps_csv
from tapmark.services.group import group_of, write_group
from tapmark.services.pages import content_of, write_sheet
from tapmark.services.pictures import trend_png
from tapmark.services.places import visit_at
from tapmark.services.squads import back_up, check_squad, delete_athlete, describe, restore_backup
from tapmark.store.consent import withdraw
from tapmark.store.open_run import open_run
from tapmark.store.pictures import keep_stills
from tapmark.store.settings import Settings, load_settings, save_settings
from tapmark.store.squad import Squad
from tests.services.made import (
    FIRST,
    SECOND,
    TODAY,
    agreed,
    contents,
    place,
    run_of,
    season_of,
    squad_of,
)
from tests.store import made

pytestmark = pytest.mark.usefixtures("blank_pages")

DAY = date.fromisoformat(TODAY)
NOW = datetime.fromisoformat(f"{TODAY}T21:00:00")


@pytest.fixture
def squad(tmp_path: Path) -> Squad:
    return squad_of(tmp_path / "squad", [agreed()], {"K07": [(FIRST, [run_of("over", 1)])]})


def test_a_folder_in_place_of_the_zip_is_told_and_nothing_is_written(
    squad: Squad, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stick = tmp_path / "stick"
    stick.mkdir()
    monkeypatch.chdir(stick)

    for target in (stick, Path()):
        with pytest.raises(CannotWrite, match=r"is a folder\. Name the zip in it"):
            list(back_up(squad.folder, target, DAY, lambda words: None))

    assert list(stick.iterdir()) == []
    assert squad.reload_choices().backed_up == ""


def test_whoever_makes_a_back_up_is_not_reminded_to_make_one(squad: Squad, tmp_path: Path) -> None:
    said: list[str] = []

    list(back_up(squad.folder, tmp_path / "b.zip", DAY, said.append))

    assert said == []
    list(describe(squad.folder, date(2026, 7, 20), said.append))
    assert any("back-up is 19 days old" in words for words in said)


def test_a_back_up_is_checked_by_the_command_that_checks_squads(
    squad: Squad, tmp_path: Path
) -> None:
    zip_path = tmp_path / "b.zip"
    list(back_up(squad.folder, zip_path, DAY, lambda words: None))

    (told,) = check_squad(zip_path, DAY)

    n_files = len(contents(squad.folder))
    assert told.startswith(f"{n_files} files, ") and "every one is as it was put in" in told
    data = bytearray(zip_path.read_bytes())
    data[len(data) // 2] ^= 0xFF
    zip_path.write_bytes(data)
    with pytest.raises(FileDamaged, match=r"b\.zip"):
        list(check_squad(zip_path, DAY))


def test_restoring_over_a_squad_is_refused_in_words_that_can_be_followed(
    squad: Squad, tmp_path: Path
) -> None:
    list(back_up(squad.folder, tmp_path / "b.zip", DAY, lambda words: None))
    before = contents(squad.folder)

    with pytest.raises(AlreadyThere, match=r"not empty\. Choose a new or an empty folder\."):
        list(restore_backup(tmp_path / "b.zip", squad.folder, NOW))

    assert contents(squad.folder) == before


def test_a_squad_in_the_place_of_the_new_one_is_kept_beside_it_and_nothing_of_it_is_lost(
    squad: Squad, tmp_path: Path
) -> None:
    zip_path = tmp_path / "b.zip"
    list(back_up(squad.folder, zip_path, DAY, lambda words: None))
    squad.save_athlete(agreed("M12"))
    before = contents(squad.folder)

    dry = list(restore_backup(zip_path, squad.folder, NOW, True, True))
    untouched, compare = contents(squad.folder), sorted(path.name for path in tmp_path.iterdir())
    done = list(restore_backup(zip_path, squad.folder, NOW, True))

    kept = f"squad before {TODAY} 210000"
    assert (before, ["b.zip", "squad"]) == (untouched, compare)
    assert f"What lies there would be kept as “{kept}”." in dry
    assert f"The old folder is kept as “{kept}”." in done
    assert before == contents(tmp_path / kept)
    assert Squad(squad.folder).codes() == ("K07",)


def test_a_dry_run_refuses_what_the_deed_would_refuse(squad: Squad, tmp_path: Path) -> None:
    list(back_up(squad.folder, tmp_path / "b.zip", DAY, lambda words: None))

    with pytest.raises(AlreadyThere, match="not empty"):
        list(restore_backup(tmp_path / "b.zip", squad.folder, NOW, is_dry_run=True))
    new = tmp_path / "new"
    assert f"It would be unpacked into {new}" in list(
        restore_backup(tmp_path / "b.zip", new, NOW, is_dry_run=True)
    )
    assert not new.exists()


def test_a_squad_in_which_a_run_is_open_is_not_put_aside(squad: Squad, tmp_path: Path) -> None:
    list(back_up(squad.folder, tmp_path / "b.zip", DAY, lambda words: None))

    with open_run(squad, "K07", FIRST, "run-1", "the other window", NOW):
        before = sorted(contents(squad.folder))
        with pytest.raises(HeldByAnother, match=r"Run 1 is open.*the other window"):
            list(restore_backup(tmp_path / "b.zip", squad.folder, NOW, True))
        assert before == sorted(contents(squad.folder))
    assert sorted(path.name for path in tmp_path.iterdir()) == ["b.zip", "squad"]


@pytest.mark.parametrize("way", ["", "athletes", "athletes/K07", ".."])
def test_a_squad_named_in_place_of_a_visit_is_told_with_a_visit_to_name(
    squad: Squad, way: str
) -> None:
    with pytest.raises(NotThere, match=f"is not a visit.*SQUAD/athletes/CODE/DATE.*{FIRST}"):
        visit_at(squad.folder / way)


def test_an_empty_folder_in_place_of_a_visit_gets_the_shape_alone(tmp_path: Path) -> None:
    with pytest.raises(NotThere, match=r"Name its folder: SQUAD/athletes/CODE/DATE\.$"):
        visit_at(tmp_path)


def test_without_leg_length_percents_come_from_the_picture_and_the_season_asks(
    tmp_path: Path,
) -> None:
    run = run_of("over", 1, scale_px=None, scale_m=None)
    squad = squad_of(tmp_path / "squad", [agreed(lengths=())], {"K07": [(FIRST, [run])]})

    content = content_of(place(squad), "a4", DAY)

    reach = content.results.row("ankle_knee", "near")
    assert isinstance(reach, Measured) and reach.unit == "% leg"
    assert content.results.leg_source not in ("tape", "height")
    assert write_sheet(place(squad), "a4", "coach", DAY).is_file()
    notices = season_of(squad, "K07", DAY).notices
    assert notices == ("No leg length or height yet: lengths in % come from the frames alone.",)


def test_archived_in_mid_season_is_off_the_rota_and_the_group_and_keeps_the_season(
    squad: Squad,
) -> None:
    squad.save_athlete(replace(squad.athlete("K07"), is_archived=True))
    said: list[str] = []

    lines = list(describe(squad.folder, DAY, said.append))

    assert not any("K07" in line for line in lines)
    assert group_of(squad, DAY).lines == ()
    assert [visit.dated for visit in season_of(squad, "K07", DAY).visits] == [FIRST]
    assert write_sheet(place(squad), "a4", "athlete", DAY).is_file()
    squad.save_athlete(replace(squad.athlete("K07"), is_archived=False))
    assert [line.code for line in group_of(squad, DAY).lines] == ["K07"]


@pytest.mark.parametrize(
    ("born", "before_words", "after_words"),
    [
        (2009, (True, False), (True, True)),  # 16 to 17: "seen" was kept at near the line
        (2007, (True, True), (False, True)),  # 18 to 19: the page of a youth ends
    ],
)
def test_the_new_year_between_two_visits_changes_the_rules_and_not_the_numbers(
    tmp_path: Path, born: int, before_words: tuple[bool, bool], after_words: tuple[bool, bool]
) -> None:
    """Youth rules go by this year − birth year, as the birthday is not known."""
    runs = [run_of("over", i) for i in range(3)]
    visits = {"K07": [("2025-12-10", runs), ("2026-01-14", runs)]}
    squad = squad_of(tmp_path / "squad", [agreed(birth_year=born)], visits)
    squad.save_athlete(
        replace(
            squad.athlete("K07"),
            consents=tuple(replace(c, dated="2025-09-01") for c in squad.athlete("K07").consents),
        )
    )

    before = content_of(place(squad, dated="2025-12-10"), "a4", date(2025, 12, 11))
    after = content_of(place(squad, dated="2026-01-14"), "a4", date(2026, 1, 15))

    for content, (is_youth, may_say_seen) in ((before, before_words), (after, after_words)):
        assert content.assessment.is_youth == is_youth
        assert any(item.word == "seen" for item in content.assessment.items) == may_say_seen
    for key, was in before.results.rows.items():
        assert after.results.rows[key] == was


def test_a_withdrawn_consent_leaves_no_line_of_priorities_on_the_list(squad: Squad) -> None:
    squad.save_athlete(withdraw(squad.athlete("K07"), "film", "parent", TODAY))

    lines = list(describe(squad.folder, DAY, lambda words: None))

    assert lines[-1].endswith("ask first: consent withdrawn") and SECOND not in lines[-1]
    with pytest.raises(NoConsent):
        write_sheet(place(squad), "a4", "athlete", DAY)


def test_after_delete_no_byte_is_left_in_squad_cache_or_settings(
    squad: Squad, tmp_path: Path
) -> None:
    """Names and contents: the code, and the bytes of every picture of the athlete."""
    stills = {(0, event, 0): noisy(i) for i, event in enumerate(("touchdown", "toe-off"))}
    keep_stills(squad, "K07", FIRST, "run-1", stills, TODAY)
    squad.save_athlete(agreed("M12"))
    squad.new_run("M12", FIRST, run_of("well", 2))
    write_sheet(place(squad), "a4", "coach", DAY)
    trend_png(squad, "K07", "reach", "right", squad.athlete_folder("K07"), DAY)
    season_csv(squad, ["K07", "M12"], squad.folder, DAY)
    taps_csv(squad, ["K07"], squad.folder, DAY)
    physio_note(squad, "K07", FIRST, squad.folder, DAY)
    write_group(squad, DAY)
    home = tmp_path / "home"
    cache = home / "cache"
    cache.mkdir(parents=True)
    (cache / "0123-4567-1-0.pictures").write_bytes(noisy(0))
    settings = home / "settings.json"
    film = str(tmp_path / "film" / "K07")
    save_settings(
        settings, Settings(place="K07 2026-04-01 run-1", last_folder=film, left_handed=True)
    )

    receipt = list(delete_athlete(squad.folder, "K07", False, NOW, cache, settings))

    assert receipt[0].startswith("Deleted on 1 July 2026")
    left = contents(squad.folder) | contents(home)
    pictures = [picture[-400:-100] for picture in stills.values()]
    for way, data in left.items():
        assert "K07" not in way and b"K07" not in data, way
        assert not any(picture in data for picture in pictures), way
    assert load_settings(settings)[0] == Settings(left_handed=True)
    assert Squad(squad.folder).codes() == ("M12",)


def noisy(seed: int) -> bytes:
    """A picture of noise, so that its bytes are found nowhere by chance."""
    pixels = np.random.default_rng(seed).integers(0, 256, (72, 128, 3), dtype=np.uint8)
    out = BytesIO()
    Image.fromarray(pixels).save(out, "JPEG", quality=95)
    return out.getvalue()


def test_a_list_of_the_squad_lists_no_folder_for_each_athlete_anew(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Else twice the athletes take four times as long: 2,000 had no end after 200 s."""
    listed: list[Path] = []
    real = disk.entries

    def noted(folder: Path) -> list[os.DirEntry[str]]:
        listed.append(folder)
        return real(folder)

    counts = []
    for n in (3, 9):
        codes = tuple(f"K{i:02}" for i in range(n))
        squad = made.squad_of(tmp_path / f"{n}", codes)
        with monkeypatch.context() as watched:
            watched.setattr(disk, "entries", noted)
            assert len(list(describe(squad.folder, date(2026, 5, 14), lambda words: None))) > n
        counts.append(listed.count(squad.folder / "athletes"))

    assert counts[0] == counts[1] > 0


@pytest.mark.parametrize("copy", ["athlete", "coach", "group"])
def test_a_full_disk_leaves_no_new_page_beside_an_old_one(
    copy: str, squad: Squad, monkeypatch: pytest.MonkeyPatch
) -> None:
    def write() -> None:
        if copy == "group":
            write_group(squad, DAY)
        else:
            write_sheet(place(squad, "K07", FIRST), "a4", copy, DAY)

    write()
    for path in (*squad.folder.rglob("*.pdf"), *squad.folder.rglob("*.html")):
        path.write_bytes(b"old " + path.suffix.encode())
    before = contents(squad.folder)
    real, opened = os.open, iter(range(100))

    def full(path: str, flags: int, *more: int) -> int:
        if str(path).endswith(".part") and next(opened) == 1:  # the second of the two
            raise OSError(errno.ENOSPC, "full")
        return real(path, flags, *more)

    with monkeypatch.context() as broken, pytest.raises(CannotWrite, match="the disk is full"):
        broken.setattr(os, "open", full)
        write()

    assert contents(squad.folder) == before


@pytest.mark.parametrize("closed", ["K07", f"K07/{FIRST}"])
def test_a_closed_folder_of_one_athlete_keeps_nobody_else_off_the_list(
    closed: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Readable but not to be listed, as after a copy from another account; both ways in fail."""
    visits = {code: [(FIRST, [run_of("over", 1)])] for code in ("K07", "M12")}
    squad = squad_of(tmp_path / "squad", [agreed(), agreed("M12")], visits)
    real, shut = os.scandir, squad.folder / "athletes" / closed

    def scandir(folder: Path) -> object:
        if Path(folder) == shut:
            raise PermissionError(errno.EACCES, "Permission denied", str(folder))
        return real(folder)

    monkeypatch.setattr(os, "scandir", scandir)
    said: list[str] = []
    lines = list(describe(squad.folder, DAY, said.append))

    assert [line.split()[0] for line in lines if line.startswith("  ")] == ["M12"]
    assert any(str(shut) in words and "no permission" in words for words in said)
