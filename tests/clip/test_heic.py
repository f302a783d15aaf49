"""HEIC stills: right, or refused with what to do; never a single tile for the whole."""

import struct
from pathlib import Path

import pytest

from tapmark.clip.frames import open_stills
from tapmark.clip.still_file import announced_size, is_heic
from tests.clip import made


def heic(path: Path, number: int, announced: tuple[int, int] = made.WIDE) -> None:
    """Write one HEVC picture as a HEIC file: boxes of ISO/IEC 23008-12, one item."""
    options = {"preset": "ultrafast", "crf": "14", "x265-params": "log-level=error:bframes=0"}
    clip = made.write_clip(
        path.with_suffix(".mp4"),
        [made.draw(number)],
        [0],
        90_000,
        coding="libx265",
        options=options,
    )
    data = clip.read_bytes()
    clip.unlink()
    start, end = made.box_at(data, b"mdat")
    picture = data[start + 8 : end]
    at = data.index(b"hvcC") - 4
    coding = data[at : at + struct.unpack(">I", data[at : at + 4])[0]]
    head = made.box(b"ftyp", b"heic\0\0\0\0mif1heic")
    offset = len(head) + len(meta(coding, announced, 0, 0)) + 8
    path.write_bytes(
        head + meta(coding, announced, offset, len(picture)) + made.box(b"mdat", picture)
    )


def full(kind: bytes, body: bytes, version: int = 0) -> bytes:
    return made.box(kind, struct.pack(">I", version << 24) + body)


def meta(coding: bytes, size: tuple[int, int], offset: int, length: int) -> bytes:
    properties = made.box(b"ipco", coding + full(b"ispe", struct.pack(">II", *size)))
    uses = full(b"ipma", struct.pack(">IHBBB", 1, 1, 2, 0x81, 2))
    item = full(b"infe", struct.pack(">HH4s", 1, 0, b"hvc1") + b"\0", version=2)
    return full(
        b"meta",
        full(b"hdlr", struct.pack(">I4s12x", 0, b"pict") + b"\0")
        + full(b"pitm", struct.pack(">H", 1))
        + full(b"iloc", struct.pack(">BBHHHHII", 0x44, 0, 1, 1, 0, 1, offset, length))
        + full(b"iinf", struct.pack(">H", 1) + item)
        + made.box(b"iprp", properties + uses),
    )


@pytest.mark.parametrize("name", ["IMG_2.HEIC", "IMG_2.jpg"])
def test_heic_opens_among_jpegs_whatever_its_name(name: str, tmp_path: Path) -> None:
    made.draw(1).save(tmp_path / "IMG_1.jpg", quality=95)
    heic(tmp_path / name, 2)
    stills = open_stills(tmp_path)

    assert [made.number_in(stills.full(i)) for i in range(2)] == [1, 2]
    assert (made.number_in(stills.preview(1)), stills.notes) == (2, ())


def test_a_picture_smaller_than_announced_is_refused(tmp_path: Path) -> None:
    """What an old ffmpeg makes of a grid of tiles: one tile."""
    made.draw(1).save(tmp_path / "IMG_1.jpg")
    heic(tmp_path / "IMG_2.heic", 2, announced=(4032, 3024))
    stills = open_stills(tmp_path)

    assert len(stills) == 1
    assert (
        "IMG_2.heic” is a HEIC picture that cannot be opened here; export it as JPEG"
        in (stills.notes[0])
    )


def test_broken_heic_is_left_out(tmp_path: Path) -> None:
    made.draw(1).save(tmp_path / "IMG_1.jpg")
    (tmp_path / "IMG_2.heic").write_bytes(b"\0\0\0\x18ftypheic" + b"\0" * 200)

    assert len(open_stills(tmp_path)) == 1


def test_announced_size_is_the_largest(tmp_path: Path) -> None:
    sizes = [full(b"ispe", struct.pack(">II", *size)) for size in ((512, 512), (4032, 3024))]
    (tmp_path / "a").write_bytes(b"".join(sizes))
    (tmp_path / "b").write_bytes(b"nothing")

    assert (announced_size(tmp_path / "a"), announced_size(tmp_path / "b")) == ((4032, 3024), None)
    assert not is_heic(tmp_path / "b")
