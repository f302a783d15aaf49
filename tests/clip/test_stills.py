"""Folders and picks of stills: order, gaps, sizes, times, and what is left out."""

from pathlib import Path

import pytest
from PIL import Image

from tapmark.clip.frames import open_pictures, open_stills
from tapmark.errors import ClipUnreadable, FrameNotThere, StillsUnusable
from tests.clip import made


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """shot_1 to shot_11 without 4, 7 and 8, among junk."""
    for number in (1, 2, 3, 5, 6, 9, 10, 11):
        made.draw(number).save(tmp_path / f"shot_{number}.png")
    for junk in (".DS_Store", "Thumbs.db", "desktop.ini", "._shot_1.png", "notes.txt"):
        (tmp_path / junk).write_bytes(b"junk")
    return tmp_path


def test_pictures_come_in_natural_order_without_junk(folder: Path) -> None:
    stills = open_stills(folder)

    assert [made.number_in(stills.full(i)) for i in range(8)] == [1, 2, 3, 5, 6, 9, 10, 11]
    assert (stills.kind, len(stills), stills.size_px) == ("stills", 8, made.WIDE)


def test_gaps_in_numbers_are_shown_not_filled(folder: Path) -> None:
    assert open_stills(folder).notes == (
        "Numbers are missing in the names: 4, 7–8. The gaps are not filled.",
    )


def test_without_times_every_time_is_unknown(folder: Path) -> None:
    stills = open_stills(folder)

    assert stills.capture.slow_factor is None
    assert [
        stills.time_s(3),
        stills.interval_s(3),
        stills.rate_hz(),
    ] == [None] * 3


def test_a_stated_rate_counts_missing_numbers_as_missing_exposures(folder: Path) -> None:
    stills = open_stills(folder, rate_hz=240)

    assert [pytest.approx(240 * (stills.time_s(i) or 0)) for i in range(8)] == [
        0,
        1,
        2,
        4,
        5,
        8,
        9,
        10,
    ]
    assert stills.capture.slow_factor == 1.0
    assert stills.interval_s(3) == pytest.approx(2 / 240)


def test_a_rate_that_cannot_be_is_refused(folder: Path) -> None:
    with pytest.raises(StillsUnusable, match="rate of 0 frames"):
        open_stills(folder, rate_hz=0.0)


def test_mixed_sizes_are_refused_with_the_names(folder: Path) -> None:
    made.draw(20, made.TALL).save(folder / "tall one.png")
    made.draw(21, (480, 272)).save(folder / "large one.jpg")

    with pytest.raises(StillsUnusable) as refused:
        open_stills(folder)

    for words in (
        "Most are 240 × 136",
        "“tall one.png” (136 × 240)",
        "“large one.jpg” (480 × 272)",
    ):
        assert words in str(refused.value)


def test_loose_files_are_put_in_order(folder: Path) -> None:
    picked = [folder / f"shot_{n}.png" for n in (10, 2, 9)]
    stills = open_stills(picked)

    assert [made.number_in(stills.preview(i)) for i in range(3)] == [2, 9, 10]
    assert stills.name == "3 pictures"


def test_what_cannot_be_read_is_left_out_and_named(folder: Path) -> None:
    (folder / "shot_12.png").write_bytes(b"")
    (folder / "shot_13.jpg").write_bytes(b"no picture at all")
    stills = open_stills(folder)

    assert len(stills) == 8
    assert stills.notes[0] == (
        "Left out: “shot_12.png” is empty, “shot_13.jpg” cannot be read as a picture."
    )


def test_a_folder_without_pictures_says_so(tmp_path: Path) -> None:
    with pytest.raises(StillsUnusable, match=r"No picture in .* can be used"):
        open_stills(tmp_path)


def test_a_folder_that_is_not_there_says_so(tmp_path: Path) -> None:
    with pytest.raises(StillsUnusable, match="cannot be read"):
        open_stills(tmp_path / "gone.png")


def test_a_picture_that_went_away_is_named(folder: Path) -> None:
    stills = open_stills(folder)
    (folder / "shot_5.png").unlink()

    with pytest.raises(ClipUnreadable, match=r"shot_5\.png.* has gone"):
        stills.preview(3)
    assert made.number_in(stills.preview(4)) == 6


def test_a_picture_cut_short_is_named_and_the_others_stay(folder: Path) -> None:
    data = (folder / "shot_5.png").read_bytes()
    (folder / "shot_5.png").write_bytes(data[: len(data) // 2])
    stills = open_stills(folder)

    with pytest.raises(ClipUnreadable, match=r"shot_5\.png.* is damaged"):
        stills.full(3)


def test_numbers_outside_are_refused(folder: Path) -> None:
    for i in (-1, 8):
        with pytest.raises(FrameNotThere, match="has 8 frames"):
            open_stills(folder).preview(i)


def test_large_pictures_have_small_previews_of_the_same_picture(tmp_path: Path) -> None:
    made.draw(7, (3000, 1700)).save(tmp_path / "a.jpg", quality=95)
    stills = open_stills(tmp_path)

    assert (3000, 1700) == stills.size_px == stills.full(0).size
    assert stills.preview(0).size == (1280, 725)
    assert [
        made.number_in(picture) for picture in (stills.full(0), stills.preview(0), stills.small(0))
    ] == [7, 7, 7]


def test_tiny_pictures_are_not_enlarged(tmp_path: Path) -> None:
    Image.new("RGB", (3, 2), "red").save(tmp_path / "a.png")

    assert open_stills(tmp_path).preview(0).size == (3, 2)


def test_whatever_is_chosen_opens(folder: Path, cache: Path) -> None:
    clip = made.write_steady(folder / "clip.mp4", range(4))

    assert [
        len(open_pictures(paths, cache))
        for paths in (
            folder,
            [folder / "shot_1.png", folder / "shot_2.png"],
            folder / "shot_3.png",
            clip,
        )
    ] == [8, 2, 1, 4]
