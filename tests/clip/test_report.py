"""What a coach is told about a clip."""

import re
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

from tapmark.services.doctor import clip_report
from tests.clip import made
from tests.clip.kinds import Truth

MadeClip = Callable[[str], tuple[Path, Truth]]


@cache
def told(path: Path) -> str:
    return " ".join(clip_report(path))


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("plain.mp4", "24 frames, 240 × 136"),
        ("plain.mp4", "30 frames per second, coding h264"),
        ("plain.mp4", "State the rate you filmed at"),
        ("plain.mp4", "a shared copy may have lost its true rate"),
        ("noted_240_as_30.mp4", "Capture rate 240 frames per second: the phone noted 240 frames"),
        ("noted_240_as_30.mp4", "the file plays 8 times slower"),
        ("real_time_240.mov", "the file's own clock runs at 240"),
        ("real_time_240.mov", "One frame is 4.2 ms"),
        ("changes_rate.mp4", "The rate changes inside the clip (30 then 240"),
        ("uneven_with_drops.mp4", "5 frames seem to be missing"),
        ("equal_stamps.mkv", "share their time with the one before"),
        ("interlaced.ts", "Interlaced"),
        ("turned_90.mp4", "shown upright"),
        ("hdr_hlg.mp4", "HDR colours (HLG)"),
        ("single.mp4", "1 frame,"),
        ("single.mp4", "One frame has no times"),
        ("plain.mp4", "find it with a stopwatch in the frame"),
        ("changes_rate.mp4", "State the rate of the part you mark"),
        ("equal_stamps.mkv", "the file's clock is wrong"),
    ],
)
def test_the_report_says(name: str, words: str, made_clip: MadeClip) -> None:
    assert words in told(made_clip(name)[0])


@pytest.mark.parametrize("n_equal", [40, 30, 12])
def test_a_clip_in_which_many_neighbours_are_equal_gets_its_report(
    n_equal: int, tmp_path: Path
) -> None:
    """A tripod film of an empty track, with a runner at its end, or none."""
    places = [0.1] * n_equal + [0.1 + k / 50 for k in range(40 - n_equal)]
    path = tmp_path / "rest.mp4"
    pictures = [made.draw(1, walker=place) for place in places]
    made.write_clip(path, pictures, made.steady(40, 30, 90_000), 90_000)

    assert clip_report(path)[0].startswith("“rest.mp4”: 40 ")


def test_repeats_are_told(tmp_path: Path) -> None:
    pictures = [made.draw(1, walker=(k // 2) / 20) for k in range(40)]
    path = tmp_path / "doubled.mp4"
    made.write_clip(path, pictures, made.steady(40, 60, 90_000), 90_000)

    assert "This clip repeats frames: 20 of 39" in " ".join(clip_report(path))


def test_a_cut_clip_is_told_with_what_is_left(tmp_path: Path) -> None:
    options = {"preset": "ultrafast", "g": "10", "bf": "0", "x264-params": "log-level=error"}
    path = made.write_steady(
        tmp_path / "cut.mp4",
        range(60),
        options=options,
        container_options={"movflags": "faststart"},
    )
    path.write_bytes(path.read_bytes()[: path.stat().st_size * 2 // 3])
    report = " ".join(clip_report(path))

    assert "of about 60 frames of “cut.mp4” can be read; use them?" in report
    assert "Opening the clip uses them; for the rest, copy it again" in report
    assert "The end of the file is missing" in report


def test_damage_inside_is_told_with_its_place(tmp_path: Path) -> None:
    options = {"preset": "ultrafast", "g": "20", "bf": "0", "x264-params": "log-level=error"}
    path = made.write_steady(tmp_path / "hurt.mp4", range(60), options=options)
    data = bytearray(path.read_bytes())
    start, end = made.box_at(bytes(data), b"mdat")
    middle = (start + end) // 2
    data[middle : middle + 600] = bytes(600)
    path.write_bytes(bytes(data))
    report = clip_report(path)

    assert "60 frames" in report[0], "numbers and times stay right"
    assert any("is damaged, first near frame" in line for line in report)


def test_stills_are_told_too(tmp_path: Path) -> None:
    for n in (1, 2, 4):
        made.draw(n).save(tmp_path / f"{n}.png")
    report = " ".join(clip_report(tmp_path))

    assert "3 frames, 240 × 136." in report
    assert "Type the rate they were taken at, or leave it unknown" in report
    assert "times.csv" not in report
    assert "Numbers are missing in the names: 3." in report


def test_stills_whose_times_come_from_a_table_are_not_asked_for_them(tmp_path: Path) -> None:
    lines = ["picture,time_s,capture_time_s"]
    for n in (1, 2, 3):
        made.draw(n).save(tmp_path / f"{n}.png")
        lines.append(f"{n}.png,{n / 30},")
    (tmp_path / "times.csv").write_text("\n".join(lines), "utf-8")
    report = " ".join(clip_report(tmp_path))

    assert "on the file's clock, 30 frames per second" in report
    assert (
        "Capture rate not known. Their times come from times.csv: type the rate the clip was "
        "filmed at, or leave it unknown" in report
    )


def test_nothing_is_kept(
    made_clip: MadeClip, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    clip_report(made_clip("plain.mp4")[0])

    assert list(tmp_path.iterdir()) == []


def test_of_a_long_clip_the_beginning_is_looked_at(
    long_clip: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tapmark.clip.header.LONG_CLIP", 480)
    monkeypatch.setattr("tapmark.services.doctor.LONG_CLIP", 480)
    report = " ".join(clip_report(long_clip))

    assert re.search(r": 48\d frames,", report)
    assert "A long clip: only its first 2 s were looked at." in report
