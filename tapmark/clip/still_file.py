"""One still from a file, HEIC too: any kind phones, cameras and scanners write, as upright RGB."""

import io
import struct
import warnings
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
from PIL import Image

from tapmark import disk
from tapmark.clip.ffmpeg import input_options, run
from tapmark.clip.names import shown_name
from tapmark.clip.troubles import is_hollow
from tapmark.errors import ClipUnreadable, StillsUnusable, StoreError

BRANDS = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"mif1", b"msf1")
HEAD_BYTES = 1 << 18
SILENCE_S = 20.0


def is_heic(path: Path) -> bool:
    """Return True for HEIC by its bytes: it also arrives under the names .jpg and .png."""
    with disk.opened(path) as file:
        head = file.read(12)
    return head[4:8] == b"ftyp" and head[8:12] in BRANDS


def read_heic(path: Path) -> Image.Image:
    """Return the picture, RGB, upright. Raises StillsUnusable when ffmpeg cannot."""
    output = run(
        [*input_options(path), "-frames:v", "1", "-c:v", "ppm", "-f", "image2pipe", "-"],
        silence_s=SILENCE_S,
    )
    announced = announced_size(path)
    if output.data:
        picture = Image.open(io.BytesIO(output.data)).convert("RGB")
        if announced is None or picture.size in (announced, announced[::-1]):
            return picture
    raise StillsUnusable(
        f"“{shown_name(path)}” is a HEIC picture that cannot be opened here; export it as JPEG"
    )


def announced_size(path: Path) -> tuple[int, int] | None:
    """Return the largest size announced in the file's `ispe` boxes (ISO/IEC 23008-12)."""
    with disk.opened(path) as file:
        head = file.read(HEAD_BYTES)
    sizes = []
    at = head.find(b"ispe")
    while 0 <= at <= len(head) - 16:
        width, height = struct.unpack(">II", head[at + 8 : at + 16])
        sizes.append((width, height))
        at = head.find(b"ispe", at + 4)
    return max(sizes, key=lambda size: size[0] * size[1], default=None)


MOST_PIXELS = 80_000_000
"""Larger pictures are refused by their header, before any memory is asked for."""
TURN_TAG = 0x0112
BACK_UPRIGHT = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
"""What to do with a stored picture whose EXIF orientation is this number (Exif 2.3)."""
WITH_PAGES = ("TIFF", "GIF", "WEBP", "PNG")
"""Other kinds may hold more than one picture too, but those are thumbnails and depth maps."""
MOST_PAGES = 2000
MOST_BYTES = 1_000_000_000


@dataclass(frozen=True)
class Page:
    """One picture in a file.

    path, page:  which; page counts from 0
    n_pages:     how many the file holds
    size_px:     (w, h) upright
    turn:        EXIF orientation, 1 when it is stored upright
    """

    path: Path
    page: int
    n_pages: int
    size_px: tuple[int, int]
    turn: int = 1

    @property
    def name(self) -> str:
        name = shown_name(self.path)
        return name if self.n_pages == 1 else f"{name}, page {self.page + 1}"


def look_into(path: Path) -> list[Page]:
    """Return the pictures a file holds, by its header alone (HEIC is decoded once).

    Raises StillsUnusable with the reason when it holds none that can be used.
    """
    name = shown_name(path)
    try:
        facts = disk.facts(path)
        n_bytes = facts.st_size if facts else 1  # what is gone is told below
        if n_bytes == 0:
            raise StillsUnusable(f"“{name}” is empty")
        if n_bytes > MOST_BYTES:
            raise StillsUnusable(f"“{name}” is too large to open safely ({n_bytes:,} bytes)")
        if is_heic(path):
            return [Page(path, 0, 1, read_heic(path).size)]
        with _strict(), disk.opened(path) as file, Image.open(file) as picture:
            return _pages(path, picture)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as trouble:
        raise StillsUnusable(f"“{name}” is too large to open safely") from trouble
    except (OSError, SyntaxError, ValueError, OverflowError, StoreError) as trouble:
        is_in_cloud = False
        with suppress(OSError):
            is_in_cloud = is_hollow(path.stat())
        reason = "is still in the cloud" if is_in_cloud else "cannot be read as a picture"
        raise StillsUnusable(f"“{name}” {reason}") from trouble


@contextmanager
def _strict() -> Iterator[None]:
    """Take Pillow's warning about huge pictures as an error; its other warnings help nobody."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        warnings.simplefilter("error", Image.DecompressionBombWarning)
        yield


def _pages(path: Path, picture: Image.Image) -> list[Page]:
    n_pages = getattr(picture, "n_frames", 1) if picture.format in WITH_PAGES else 1
    n_pages = min(n_pages, MOST_PAGES)
    pages = []
    for page in range(n_pages):
        if n_pages > 1:
            picture.seek(page)
        width, height = picture.size
        if width * height > MOST_PIXELS:
            raise StillsUnusable(
                f"“{shown_name(path)}” is too large to open safely ({width} × {height} pixels)"
            )
        turn = _turn(picture)
        size = (height, width) if turn >= 5 else (width, height)
        pages.append(Page(path, page, n_pages, size, turn))
    return pages


def _turn(picture: Image.Image) -> int:
    """Return the EXIF orientation from the header; asking a PNG for EXIF would decode it."""
    if picture.format == "PNG" and "exif" not in picture.info:
        return 1
    turn = picture.getexif().get(TURN_TAG, 1)
    return turn if turn in BACK_UPRIGHT else 1


def read_page(page: Page, longest_px: int | None = None) -> Image.Image:
    """Return the picture, RGB, upright; scaled down to `longest_px` when that is given.

    Raises ClipUnreadable when the file has gone, has changed or is damaged.
    """
    try:
        with _strict():
            picture = _read(page, longest_px)
            if page.turn in BACK_UPRIGHT:
                picture = picture.transpose(BACK_UPRIGHT[page.turn])
    except (OSError, SyntaxError, ValueError, EOFError, Image.DecompressionBombWarning) as trouble:
        raise ClipUnreadable(
            f"“{page.name}” is damaged or has gone. Copy it again, or leave it out."
        ) from trouble
    if longest_px is not None:
        picture.thumbnail((longest_px, longest_px), Image.Resampling.BICUBIC, reducing_gap=2.0)
    return picture


def _read(page: Page, longest_px: int | None) -> Image.Image:
    if is_heic(page.path):
        return read_heic(page.path)
    if page.n_pages > 1:  # imageio puts animations together page by page
        import imageio.v3  # a fifth of a second that most starts of the program do not need

        with disk.opened(page.path) as file:
            pixels = imageio.v3.imread(file, plugin="pillow", index=page.page)
        return pixels_to_rgb(np.asarray(pixels))
    with disk.opened(page.path) as file, Image.open(file) as opened:
        if longest_px is not None:
            opened.draft(None, (longest_px, longest_px))
        opened.load()
        return to_rgb(opened)


def to_rgb(picture: Image.Image) -> Image.Image:
    """Return plain 8-bit RGB: 16 bits are scaled, see-through parts lie on white."""
    if picture.mode.startswith("I") or picture.mode == "F":
        return pixels_to_rgb(np.asarray(picture))
    if picture.mode in ("RGBA", "LA", "PA", "RGBa", "La") or "transparency" in picture.info:
        return _on_white(picture.convert("RGBA"))
    return picture.convert("RGB")


def _on_white(picture: Image.Image) -> Image.Image:
    paper = Image.new("RGBA", picture.size, (255, 255, 255, 255))
    return Image.alpha_composite(paper, picture).convert("RGB")


def pixels_to_rgb(pixels: npt.NDArray[np.generic]) -> Image.Image:
    """Return RGB for pixels of shape (H, W) or (H, W, 1…4) and any number type.

    Whole numbers above 8 bits are taken as 16 bits; fractions as 0…1 unless they are larger.
    """
    grey = pixels if pixels.dtype == np.uint8 else _to_8_bits(pixels)
    if grey.ndim == 3 and grey.shape[2] in (2, 4):
        mode = "LA" if grey.shape[2] == 2 else "RGBA"
        return _on_white(Image.fromarray(grey, mode).convert("RGBA"))
    if grey.ndim == 3 and grey.shape[2] == 1:
        grey = grey[:, :, 0]
    return Image.fromarray(grey).convert("RGB")


def _to_8_bits(pixels: npt.NDArray[np.generic]) -> npt.NDArray[np.uint8]:
    if pixels.dtype == np.bool_:
        return pixels.astype(np.uint8) * 255
    values = pixels.astype(np.float64)
    if np.issubdtype(pixels.dtype, np.floating):
        top = float(values.max(initial=0.0))
        scale = 255.0 if top <= 1.0 else 1.0 if top <= 255.0 else 1 / 257
    else:
        scale = 1 / 257
    return np.asarray(np.clip(np.rint(values * scale), 0, 255), dtype=np.uint8)
