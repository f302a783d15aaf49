"""What a phone writes beside a picture does not stay in it; Pillow is the outside check."""

import io

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from tapmark.errors import FileDamaged
from tapmark.store.jpeg import without_metadata


def jpeg(progressive: bool = False, exif: bool = True, mode: str = "RGB") -> bytes:
    picture = Image.effect_noise((64, 48), 90).convert(mode)
    about = Image.Exif()
    about[0x010E] = "SECRET PLACE"  # ImageDescription
    about[0x8825] = {1: "N", 2: (48.0, 1.0, 2.0)}  # GPS
    file = io.BytesIO()
    more = {"exif": about, "comment": b"SECRET COMMENT"} if exif else {}
    picture.save(
        file,
        "JPEG",
        quality=95,
        progressive=progressive,
        restart_marker_rows=1,
        icc_profile=b"a colour profile",
        **more,  # type: ignore[arg-type]
    )
    return file.getvalue()


@pytest.mark.parametrize("progressive", [False, True])
@pytest.mark.parametrize("mode", ["RGB", "L", "CMYK"])
def test_place_and_comment_go_and_every_pixel_stays(progressive: bool, mode: str) -> None:
    before = jpeg(progressive, mode=mode)

    after = without_metadata(before)

    assert b"SECRET" in before and b"SECRET" not in after
    assert Image.open(io.BytesIO(after)).tobytes() == Image.open(io.BytesIO(before)).tobytes()
    assert not Image.open(io.BytesIO(after)).getexif()
    assert Image.open(io.BytesIO(after)).info["icc_profile"] == b"a colour profile"


def test_what_follows_the_end_of_the_picture_goes() -> None:
    plain = without_metadata(jpeg())

    assert without_metadata(plain + b"a little film with sound") == plain
    assert plain.endswith(b"\xff\xd9")


@pytest.mark.parametrize("data", [b"", b"\x89PNG\r\n", b"\xff\xd8", b"\xff\xd8\xff\xe0\0\0"])
def test_what_is_no_jpeg_is_refused(data: bytes) -> None:
    with pytest.raises(FileDamaged, match="Take it from the clip again"):
        without_metadata(data)


def test_a_picture_cut_off_anywhere_is_refused() -> None:
    whole = without_metadata(jpeg())

    for n_bytes in range(0, len(whole) - 1, 7):
        with pytest.raises(FileDamaged):
            without_metadata(whole[:n_bytes])


@given(st.integers(0, 4000), st.integers(0, 255))
def test_a_wrong_byte_gives_a_picture_or_a_refusal(at: int, value: int) -> None:
    data = bytearray(jpeg())
    data[at % len(data)] = value

    try:
        clean = without_metadata(bytes(data))
    except FileDamaged:
        return
    assert clean.startswith(b"\xff\xd8") and clean.endswith(b"\xff\xd9")
