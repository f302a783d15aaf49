"""What a clip says about itself, and what is wrong with files that are no clips."""

import os
import struct
from collections.abc import Callable
from pathlib import Path

import av
import numpy as np
import pytest

from tapmark import disk
from tapmark.clip import ffmpeg, troubles
from tapmark.clip.frames import open_clip, read_header
from tapmark.clip.header import confirmed
from tapmark.clip.troubles import explain, has_crashed, is_hollow
from tapmark.errors import ClipUnreadable
from tests.clip import made
from tests.clip.kinds import KINDS, Truth

MadeClip = Callable[[str], tuple[Path, Truth]]


def test_header_tells_size_rate_and_capture(made_clip: MadeClip) -> None:
    path, truth = made_clip("noted_240_as_30.mp4")
    header = read_header(path)

    assert (truth.size, "h264", 30.0, 240.0) == (
        header.size_px,
        header.coding,
        header.rate_hz,
        header.tag_hz,
    )
    assert header.n_expected == pytest.approx(len(truth.numbers), abs=1)
    assert (header.capture.slow_factor, header.capture.rate_hz) == (8.0, 240.0)
    assert not header.is_long


def test_a_clip_of_more_than_3000_pictures_asks_for_a_part(tmp_path: Path) -> None:
    picture = made.draw(0, (64, 64))
    path = made.write_clip(
        tmp_path / "long.mp4", [picture] * 3100, made.steady(3100, 240, 90_000), 90_000
    )

    assert read_header(path).is_long


def test_previews_are_never_enlarged_and_never_above_1280(made_clip: MadeClip) -> None:
    small = read_header(made_clip("plain.mp4")[0])
    large = type(small)(**{**vars(small), "size_px": (3840, 2160)})
    tall = type(small)(**{**vars(small), "size_px": (1080, 1920)})

    assert [h.preview_px for h in (small, large, tall)] == [made.WIDE, (1280, 720), (720, 1280)]


def sound(path: Path) -> None:
    with av.open(str(path), "w") as file:
        stream = file.add_stream("aac", rate=8000)
        stream.layout = "mono"
        for k in range(8):
            quiet = av.AudioFrame.from_ndarray(np.zeros((1, 1024), np.float32), "fltp", "mono")
            quiet.sample_rate, quiet.pts = 8000, 1024 * k
            file.mux(stream.encode(quiet))
        file.mux(stream.encode(None))


def with_small_track_first(path: Path) -> None:
    """A preview track of 64 × 64 before the real pictures, as some phones write."""
    with av.open(str(path), "w") as file:
        tracks = []
        for size in ((64, 64), made.WIDE):
            stream = file.add_stream("libx264", rate=30, options=made.quick_options("libx264"))
            stream.width, stream.height, stream.pix_fmt = *size, "yuv420p"
            tracks.append((stream, size))
        for number in range(6):
            for stream, size in tracks:
                frame = av.VideoFrame.from_image(made.draw(number, size))
                file.mux(stream.encode(frame.reformat(format="yuv420p")))
        for stream, _ in tracks:
            file.mux(stream.encode(None))


def test_the_largest_track_is_shown(tmp_path: Path, cache: Path) -> None:
    path = tmp_path / "two tracks.mkv"
    with_small_track_first(path)
    clip = open_clip(path, cache)
    numbers = [made.number_in(clip.preview(i)) for i in range(len(clip))]
    clip.close()

    assert (made.WIDE, list(range(6))) == (clip.size_px, numbers)


WRONG = {
    "empty": (b"", "is an empty file"),
    "zeros": (b"\0" * 5000, "nothing but zeros"),
    "web page": (b"<html><body>Sign in</body></html>" * 30, "is a web page"),
    "web page with a doctype": (b"\n<!DOCTYPE html><html>", "is a web page"),
    "pdf": (b"%PDF-1.7 ...", "a PDF page"),
    "zip": (b"PK\x03\x04" + b"x" * 99, "a zip file"),
    "picture": (b"\xff\xd8\xff\xe0" + b"x" * 99, "a JPEG picture"),
    "text": (b"run 3 of Tuesday\n" * 99, "is not a clip that can be read"),
    "noise": (bytes(range(7, 251)) * 40, "is not a clip that can be read"),
    "playlist": (b"#EXTM3U\n#EXTINF:1,\nclip.mp4\n", "a list that points to other files"),
    "playlist with a mark": (b"\xef\xbb\xbf#EXTM3U\n", "a list that points to other files"),
    "joining list": (b"ffconcat version 1.0\nfile clip.mp4\n", "a list that points to other"),
}


@pytest.mark.parametrize("kind", WRONG)
def test_files_that_are_no_clips_are_called_what_they_are(kind: str, tmp_path: Path) -> None:
    data, words = WRONG[kind]
    path = tmp_path / "clip.mp4"
    path.write_bytes(data)

    with pytest.raises(ClipUnreadable, match=words) as refused:
        read_header(path)
    assert "“clip.mp4”" in str(refused.value)


def test_a_clip_without_index_says_that_the_recording_was_cut_off(tmp_path: Path) -> None:
    path = made.write_steady(tmp_path / "a.mp4", range(5))
    made.drop_index(path)

    with pytest.raises(ClipUnreadable, match="no index: the recording was cut off"):
        read_header(path)


def test_sound_alone_says_so(tmp_path: Path) -> None:
    sound(tmp_path / "a.m4a")

    with pytest.raises(ClipUnreadable, match="sound but no pictures"):
        read_header(tmp_path / "a.m4a")


def test_a_coding_nobody_knows_is_named(tmp_path: Path, cache: Path) -> None:
    path = made.write_steady(tmp_path / "a.mp4", range(5))
    path.write_bytes(path.read_bytes().replace(b"avc1", b"zzz9"))

    for ask in (lambda: open_clip(path, cache), lambda: confirmed(read_header(path))):
        with pytest.raises(ClipUnreadable, match=r"None of the frames .*coding: "):
            ask()


@pytest.mark.parametrize("name", KINDS)
def test_the_listing_foretells_what_the_first_picture_shows(name: str, made_clip: MadeClip) -> None:
    """Not needed for right pictures, but each wrong forecast costs a second start."""
    header = read_header(made_clip(name)[0])

    assert header.looks == confirmed(header).looks


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda p: None, "not there any more"),
        (lambda p: p.mkdir(), "is a folder"),
        (lambda p: p.symlink_to(p), "leads in a circle"),
        (lambda p: os.mkfifo(p), "is not a file"),
    ],
    ids=["missing", "folder", "circle", "pipe"],
)
@pytest.mark.skipif(os.name != "posix", reason="made with POSIX calls")
def test_paths_without_a_file_are_told_apart(
    make: Callable[[Path], None], words: str, tmp_path: Path
) -> None:
    make(tmp_path / "clip.mp4")

    with pytest.raises(ClipUnreadable, match=words):
        read_header(tmp_path / "clip.mp4")


def test_a_file_that_may_not_be_read_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = made.write_steady(tmp_path / "a.mp4", range(3))

    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(disk, "open_handle", refuse)
    with pytest.raises(ClipUnreadable, match="does not let Tapmark read"):
        troubles.look_at(path)


def test_a_file_still_in_the_cloud_says_so(tmp_path: Path) -> None:
    """A placeholder has a size but no blocks on the disk, and reads as zeros."""
    path = tmp_path / "a.mp4"
    with path.open("wb") as file:
        file.truncate(5_000_000)
    if not is_hollow(path.stat()):
        pytest.skip("this file system fills holes at once")

    with pytest.raises(ClipUnreadable, match="still in the cloud"):
        read_header(path)


@pytest.mark.parametrize(
    ("code", "is_crash"),
    [
        *((0, False), (1, False), (254, False), (-11, True), (0xC0000005, True)),
        *((0xC0000409, True), (0xFFFFFFEA, False), (0xFFFFFFFE, False), (0xD0000000, False)),
    ],
)
def test_crashes_are_told_from_complaints(code: int, is_crash: bool) -> None:
    assert is_crash == has_crashed(code)


def test_a_crash_says_what_to_do() -> None:
    words = str(explain(Path("a.ts"), -11, []))

    assert "crashed on “a.ts”" in words
    assert "MP4 (H.264)" in words


def test_lists_are_not_followed_even_past_the_first_look(
    made_clip: MadeClip, tmp_path: Path
) -> None:
    """The guard inside ffmpeg itself: the list would play without it."""
    clip, _ = made_clip("plain.mp4")
    path = tmp_path / "list.mp4"
    path.write_text(f"ffconcat version 1.0\nfile '{clip}'\n", "utf-8")
    command = ["-f", "null", "-"]
    unguarded = ffmpeg.run(["-safe", "0", "-i", str(path), *command])
    guarded = ffmpeg.run([*ffmpeg.input_options(path), *command])

    assert unguarded.code == 0, "the list is a good one"
    assert guarded.code != 0
    assert "whitelist" in " ".join(guarded.lines)


def test_addresses_are_not_opened(tmp_path: Path) -> None:
    output = ffmpeg.run(
        ["-protocol_whitelist", "file", "-i", "http://127.0.0.1:9/x.mp4", "-f", "null", "-"]
    )

    assert output.code != 0
    assert "not on whitelist" in " ".join(output.lines)


def test_a_makers_slow_motion_note_is_told(tmp_path: Path) -> None:
    path = made.write_steady(tmp_path / "a.mp4", range(6), rate=30)
    note = b"SlowMotion_Data" + struct.pack("<I", 4) + b"1*2*"
    path.write_bytes(path.read_bytes() + struct.pack(">I4s", 8 + len(note), b"free") + note)
    clip = open_clip(path, tmp_path / "cache")
    notes = clip.notes
    clip.close()

    assert any("slow motion begins somewhere inside" in note for note in notes)
