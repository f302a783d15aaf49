"""What may leave in a back-up: an allow-list, asked of everybody who is in a file."""

import os
import zipfile
from dataclasses import replace
from pathlib import Path

import pytest

from tapmark.errors import CannotWrite
from tapmark.marks.run import Source
from tapmark.media_types import CLIPS, STILLS
from tapmark.store import archive, consent, pictures, shots
from tapmark.store.squad import Squad
from tests.links import link
from tests.store import made
from tests.store.test_jpeg import jpeg

TODAY = "2026-05-14"
VISIT = "athletes/K07/2026-03-14"


def withdrawn(squad: Squad, code: str, use: str = "film") -> Squad:
    squad.save_athlete(consent.withdraw(squad.athlete(code), use, "parent", "2026-05-01"))
    return squad


@pytest.fixture
def squad(tmp_path: Path) -> Squad:
    return made.squad_of(tmp_path / "squad")


def put(squad: Squad, way: str, data: bytes = b"x") -> Path:
    path = squad.folder / way
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(data)
    return path


def went(squad: Squad, target: Path) -> set[str]:
    """The ways that went into a back-up; what did not is told, every file is one or the other."""
    told = archive.back_up(squad, target, TODAY)
    with zipfile.ZipFile(target) as packed:
        names = {name.removeprefix("squad/") for name in packed.namelist()}
    names -= {"about.txt", "checksums.sha256"}
    assert names | {way for way, _ in told.left_out} == set(made.contents(squad.folder))
    return names


def links(squad: Squad, code: str, clip: Path, kind: str = "clip") -> None:
    """Let the run of an athlete come from a clip or a folder of stills."""
    at = (code, "2026-03-14", "run-1")
    way = pictures.way_to(clip, squad.run_path(*at))
    source = Source(kind, way, made.SIZE)
    squad.save_run(*at, replace(squad.load_run(*at), source=source))


@pytest.mark.parametrize("where", [VISIT, f"{VISIT}/run-1", "athletes/K07", f"{VISIT}/film"])
def test_without_consent_no_picture_of_any_kind_leaves_wherever_it_lies(
    where: str, squad: Squad, tmp_path: Path
) -> None:
    media = {f"{where}/0412{each}" for each in (*CLIPS, *STILLS, ".MKV", ".Heic", ".dng", "")}
    for way in media:
        put(squad, way)
    withdrawn(squad, "K07")

    names = went(squad, tmp_path / "b.zip")

    assert not names & media
    assert {f"{VISIT}/run-1.json", f"{VISIT}/visit.json", "athletes/K07/athlete.json"} <= names


def test_with_every_consent_everything_leaves(squad: Squad, tmp_path: Path) -> None:
    for name in ("0412.mkv", "step.heic", "letter.docx", "sheet.pdf", "photo-sheet.pdf"):
        put(squad, f"{VISIT}/{name}")

    assert went(squad, tmp_path / "b.zip") == set(made.contents(squad.folder))


def test_a_clip_outside_asks_everybody_whose_run_came_from_it(squad: Squad, tmp_path: Path) -> None:
    clip = put(squad, "clips/0412.mov")
    for code in squad.codes():
        links(squad, code, clip)
    assert "clips/0412.mov" in went(squad, tmp_path / "b.zip")

    withdrawn(squad, "M12", "keep stills")

    assert "clips/0412.mov" not in went(squad, tmp_path / "c.zip")


def test_stills_outside_ask_whose_run_came_from_their_folder(squad: Squad, tmp_path: Path) -> None:
    still = put(squad, "film/M12/1.jpg", jpeg())
    links(squad, "M12", still.parent, "stills")
    assert "film/M12/1.jpg" in went(squad, tmp_path / "b.zip")

    withdrawn(squad, "M12")

    assert "film/M12/1.jpg" not in went(squad, tmp_path / "c.zip")


def test_a_clip_of_the_shot_log_asks_whom_it_shows(squad: Squad, tmp_path: Path) -> None:
    clip = put(squad, "clips/0413.mp4")
    shots.save_list(squad, shots.new_list(squad, TODAY, [clip], ["M12"]))
    assert "clips/0413.mp4" in went(squad, tmp_path / "b.zip")

    withdrawn(squad, "M12")

    assert "clips/0413.mp4" not in went(squad, tmp_path / "c.zip")


def test_a_clip_of_nobody_stays_here(squad: Squad, tmp_path: Path) -> None:
    put(squad, "clips/0414.mp4")

    told = archive.back_up(squad, tmp_path / "b.zip", TODAY)

    assert told.left_out == (("clips/0414.mp4", "nobody knows who is in it"),)


def test_a_file_of_no_known_kind_leaves_only_where_all_agreed(squad: Squad, tmp_path: Path) -> None:
    for way in ("film.bin", "old.zip", "run-1 (1).json", f"{VISIT}/athlete-2.json"):
        put(squad, way)
    assert "old.zip" in went(squad, tmp_path / "b.zip")

    withdrawn(squad, "K07", "keep stills")

    names = went(squad, tmp_path / "c.zip")
    assert not names & {"film.bin", "old.zip", "run-1 (1).json", f"{VISIT}/athlete-2.json"}


def test_a_page_of_the_squad_stays_once_one_who_was_asked_takes_it_back(
    squad: Squad, tmp_path: Path
) -> None:
    put(squad, "group-sheet-2026-05-12.pdf")
    squad.save_athlete(replace(made.consenting("N01"), consents=()))  # never on such a page
    assert "group-sheet-2026-05-12.pdf" in went(squad, tmp_path / "b.zip")

    withdrawn(squad, "K07")

    assert "group-sheet-2026-05-12.pdf" not in went(squad, tmp_path / "c.zip")


def test_a_page_that_names_two_asks_both(squad: Squad, tmp_path: Path) -> None:
    put(squad, "athletes/M12/2026-03-14/photo-K07-M12-stills-toe-off.png")
    assert len(went(squad, tmp_path / "b.zip")) == len(made.contents(squad.folder))

    withdrawn(squad, "K07", "print photo")

    assert f"{VISIT}/visit.json" in (names := went(squad, tmp_path / "c.zip"))
    assert not any("photo-" in name for name in names)


@pytest.mark.parametrize("what", ["a link", "a device or a pipe", "a folder"])
def test_a_target_that_is_no_file_is_refused_and_stays(
    what: str, squad: Squad, tmp_path: Path
) -> None:
    target, behind = tmp_path / "b.zip", tmp_path / "behind"
    if what == "a link":
        link(target, behind)
    elif what == "a folder":
        target.mkdir()
    elif not hasattr(os, "mkfifo"):
        pytest.skip("no pipes with names on this system")
    else:
        os.mkfifo(target)
    before = target.lstat()

    with pytest.raises(CannotWrite, match=what):
        archive.back_up(squad, target, TODAY)

    assert target.lstat() == before
    assert sorted(path.name for path in tmp_path.iterdir()) == ["b.zip", "squad"]


def test_what_a_killed_back_up_left_goes_with_the_next(squad: Squad, tmp_path: Path) -> None:
    left = tmp_path / "squad 2026-05-07.zip.tapmark-999999999.part"
    left.write_bytes(b"PK")

    archive.back_up(squad, tmp_path / "b.zip", TODAY)

    assert not left.exists()
