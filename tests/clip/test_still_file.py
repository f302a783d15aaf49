"""Every kind of still file: upright, 8-bit RGB, right colours, or a plain refusal."""

import struct
import zlib
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tapmark.clip.still_file import Page, look_into, pixels_to_rgb, read_page
from tapmark.clip.troubles import is_hollow
from tapmark.errors import StillsUnusable
from tests.clip import made

Save = Callable[[Image.Image, Path], None]


def as_is(suffix: str, **options: object) -> tuple[str, Save]:
    return suffix, lambda picture, path: picture.save(path, **options)  # type: ignore[arg-type]


def palette(picture: Image.Image, path: Path) -> None:
    picture.quantize(128, dither=Image.Dither.NONE).save(path)


def palette_with_alpha(picture: Image.Image, path: Path) -> None:
    picture.convert("RGBA").quantize(128, dither=Image.Dither.NONE).save(path)


def opaque(picture: Image.Image, path: Path) -> None:
    picture.convert("RGBA").save(path)


COLOURED = {
    "jpeg": as_is(".jpg", quality=95),
    "png": as_is(".png"),
    "bmp": as_is(".bmp"),
    "tiff": as_is(".tif", compression="tiff_lzw"),
    "webp": as_is(".webp", quality=95),
    "gif": (".gif", palette),
    "palette": (".png", palette),
    "palette with alpha": (".png", palette_with_alpha),
    "alpha": (".png", opaque),
    "cmyk jpeg": (".jpg", lambda p, path: p.convert("CMYK").save(path, quality=95)),
    "cmyk tiff": (".tif", lambda p, path: p.convert("CMYK").save(path)),
    "ycbcr tiff": (".tif", lambda p, path: p.convert("YCbCr").save(path)),
}


@pytest.mark.parametrize("kind", COLOURED)
def test_coloured_stills_keep_number_and_colours(kind: str, tmp_path: Path) -> None:
    suffix, save = COLOURED[kind]
    save(made.draw(345), tmp_path / f"a{suffix}")
    picture = read_page(look_into(tmp_path / f"a{suffix}")[0])

    assert (picture.mode, made.number_in(picture)) == ("RGB", 345)
    assert made.worst_colour(picture) <= 16


def sixteen(picture: Image.Image, path: Path) -> None:
    grey = np.asarray(picture.convert("L")).astype(np.uint16) * 257
    Image.fromarray(grey).save(path)


GREY = {
    "grey jpeg": (".jpg", lambda p, path: p.convert("L").save(path, quality=95)),
    "grey and alpha": (".png", lambda p, path: p.convert("LA").save(path)),
    "16-bit png": (".png", sixteen),
    "16-bit tiff": (".tif", sixteen),
    "float tiff": (".tif", lambda p, path: p.convert("F").save(path)),
}


@pytest.mark.parametrize("kind", GREY)
def test_grey_stills_keep_number_and_tones(kind: str, tmp_path: Path) -> None:
    suffix, save = GREY[kind]
    save(made.draw(678), tmp_path / f"a{suffix}")
    picture = read_page(look_into(tmp_path / f"a{suffix}")[0])
    wanted = made.colours(made.draw(678).convert("L"))

    assert made.number_in(picture) == 678
    assert np.abs(np.subtract(wanted, made.colours(picture))).max() <= 4


@pytest.mark.parametrize("turn", range(1, 9))
def test_every_exif_turn_is_applied_once(turn: int, tmp_path: Path) -> None:
    """EXIF orientation 1 … 8, as cameras write it (Exif 2.3, tag 0x0112)."""
    back = {
        2: Image.Transpose.FLIP_LEFT_RIGHT,
        3: Image.Transpose.ROTATE_180,
        4: Image.Transpose.FLIP_TOP_BOTTOM,
        5: Image.Transpose.TRANSPOSE,
        6: Image.Transpose.ROTATE_90,
        7: Image.Transpose.TRANSVERSE,
        8: Image.Transpose.ROTATE_270,
    }
    upright = made.draw(90 + turn, made.TALL)
    stored = upright.transpose(back[turn]) if turn in back else upright
    exif = Image.Exif()
    exif[0x0112] = turn
    stored.save(tmp_path / "a.jpg", quality=95, exif=exif)
    page = look_into(tmp_path / "a.jpg")[0]

    assert made.TALL == page.size_px == read_page(page).size
    assert made.number_in(read_page(page)) == 90 + turn
    assert made.number_in(read_page(page, 200)) == 90 + turn


@pytest.mark.parametrize("suffix", [".tif", ".gif", ".webp", ".png"])
def test_every_page_of_a_stack_is_a_picture(suffix: str, tmp_path: Path) -> None:
    pictures = [made.draw(n) for n in (11, 12, 13)]
    more = {"lossless": True} if suffix == ".webp" else {}
    path = tmp_path / f"stack{suffix}"
    pictures[0].save(path, save_all=True, append_images=pictures[1:], **more)
    pages = look_into(path)

    assert [made.number_in(read_page(page)) for page in pages] == [11, 12, 13]
    assert f"stack{suffix}, page 2" == pages[1].name


def test_16_bit_pages_of_a_stack_keep_their_tones(tmp_path: Path) -> None:
    greys = [np.asarray(made.draw(n).convert("L")).astype(np.uint16) * 257 for n in (21, 22)]
    first, second = (Image.fromarray(grey) for grey in greys)
    first.save(tmp_path / "a.tif", save_all=True, append_images=[second])

    assert [made.number_in(read_page(p)) for p in look_into(tmp_path / "a.tif")] == [21, 22]


def test_see_through_parts_lie_on_white(tmp_path: Path) -> None:
    Image.new("RGBA", (8, 8), (0, 0, 0, 0)).save(tmp_path / "a.png")

    assert read_page(look_into(tmp_path / "a.png")[0]).getpixel((4, 4)) == (255, 255, 255)


def bomb(path: Path, side: int) -> None:
    """A PNG whose header announces side × side pixels of one bit; the file stays tiny."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        check = zlib.crc32(kind + body)
        return struct.pack(">I4s", len(body), kind) + body + struct.pack(">I", check)

    header = struct.pack(">IIBBBBB", side, side, 1, 0, 0, 0, 0)
    rows = zlib.compress(b"\0" * 1000)
    path.write_bytes(
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize("side", [24_000, 10_000, 9_000])
def test_bombs_are_refused_by_their_header(side: int, tmp_path: Path) -> None:
    bomb(tmp_path / "a.png", side)

    with pytest.raises(StillsUnusable, match=r"“a\.png” is too large"):
        look_into(tmp_path / "a.png")


@pytest.mark.parametrize(
    "data", [b"\x89PNG\r\n\x1a\n", b"GIF89a", b"\xff\xd8\xff\xe0", b"II*\0abcd"]
)
def test_broken_headers_are_refused(data: bytes, tmp_path: Path) -> None:
    (tmp_path / "a.png").write_bytes(data)

    with pytest.raises(StillsUnusable, match="cannot be read as a picture"):
        look_into(tmp_path / "a.png")


def test_a_picture_still_in_the_cloud_is_called_so(tmp_path: Path) -> None:
    path = tmp_path / "a.jpg"
    with path.open("wb") as file:
        file.truncate(500_000)
    if not is_hollow(path.stat()):
        pytest.skip("this file system fills holes at once")

    with pytest.raises(StillsUnusable, match="still in the cloud"):
        look_into(path)


def test_page_of_a_single_picture_is_called_by_the_file_name() -> None:
    assert Page(Path("x/run 3.jpg"), 0, 1, (1, 1)).name == "run 3.jpg"


@pytest.mark.parametrize(
    ("pixels", "grey"),
    [
        (np.full((2, 2), 0xFFFF, np.uint16), 255),
        (np.full((2, 2), 257 * 90, np.int32), 90),
        (np.full((2, 2), True), 255),
        (np.full((2, 2), 0.5), 128),
        (np.full((2, 2), 90.0), 90),
        (np.full((2, 2, 1), 77, np.uint8), 77),
        (np.full((2, 2, 3), 77, np.uint8), 77),
    ],
)
def test_numbers_of_every_type_become_8_bits(pixels: np.ndarray, grey: int) -> None:
    assert (grey, grey, grey) == pixels_to_rgb(pixels).getpixel((0, 0))
