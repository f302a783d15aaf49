"""HEIC stills of phones: Pillow cannot open them, ffmpeg mostly can.

Phones store large stills as a grid of tiles. An old ffmpeg hands over a single tile as if it were
the picture, so the size that the file announces must come out, or the still is refused.
"""

import io
import struct
from pathlib import Path

from PIL import Image

from tapmark import disk
from tapmark.clip.ffmpeg import input_options, run
from tapmark.clip.names import shown_name
from tapmark.errors import StillsUnusable

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
