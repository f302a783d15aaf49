"""Small clips with a known truth, written by PyAV: not by the program that reads them.

Every picture says who it is: a strip of black and white cells along its top holds its number and
its complement, between an opening and a closing sign that differ, so a turned or mirrored picture
cannot pass for another one. Below lie a disc that must stay round and six patches of colour.
"""

import struct
from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import av
import numpy as np
from PIL import Image, ImageDraw

BITS = 10
OPENING, CLOSING = [1, 1, 0], [0, 0, 1]
STRIP = (0.04, 0.04, 0.96, 0.18)
PATCHES = ((190, 50, 50), (60, 160, 70), (50, 70, 190), (225, 225, 225), (120, 120, 120), (30,) * 3)
PATCH_ROW = (0.80, 0.96)
DISC = (0.5, 0.5, 0.2)
WIDE, TALL = (240, 136), (136, 240)


def cells(number: int) -> list[int]:
    bits = [number >> k & 1 for k in reversed(range(BITS))]
    return [*OPENING, *bits, *(1 - bit for bit in bits), *CLOSING]


def draw(number: int, size: tuple[int, int] = WIDE, walker: float | None = None) -> Image.Image:
    """Return picture `number`, upright; `walker` (0…1) places a moving block."""
    width, height = size
    picture = Image.new("RGB", size, (70, 74, 80))
    pen = ImageDraw.Draw(picture)
    row = cells(number)
    left, top, right, bottom = STRIP
    pen.rectangle([0, 0, width, (bottom + 0.03) * height], fill=(16, 16, 16))
    step = (right - left) * width / len(row)
    for k, bit in enumerate(row):
        grey = 235 if bit else 16
        x = left * width + k * step
        pen.rectangle([x, top * height, x + step - 1, bottom * height], fill=(grey,) * 3)
    x, y, r = DISC[0] * width, DISC[1] * height, DISC[2] * min(size)
    pen.ellipse([x - r, y - r, x + r, y + r], fill=(245, 245, 245))
    for k, colour in enumerate(PATCHES):
        low, high = k * width / len(PATCHES), (k + 1) * width / len(PATCHES)
        pen.rectangle([low, PATCH_ROW[0] * height, high, PATCH_ROW[1] * height], fill=colour)
    if walker is not None:
        x = walker * 0.9 * width
        pen.rectangle([x, 0.3 * height, x + 0.1 * width, 0.42 * height], fill=(200, 140, 60))
    return picture


def number_in(picture: Image.Image) -> int | None:
    """Return the number a picture says it has, None when its strip cannot be read upright."""
    grey = np.asarray(picture.convert("L"), dtype=float)
    height, width = grey.shape
    left, top, right, bottom = STRIP
    rows = grey[round((0.7 * top + 0.3 * bottom) * height) : round(0.9 * bottom * height)]
    n = 2 * BITS + len(OPENING) + len(CLOSING)
    edges = np.linspace(left * width, right * width, n + 1)
    means = [
        rows[:, round(a + 0.3 * (b - a)) : max(round(a + 0.7 * (b - a)), round(a) + 1)].mean()
        for a, b in pairwise(edges)
    ]
    read = [int(mean > 125) for mean in means]
    number = int("".join(map(str, read[len(OPENING) : len(OPENING) + BITS])), 2)
    return number if read == cells(number) else None


def roundness(picture: Image.Image) -> float:
    """Return width / height of the disc."""
    bright = np.asarray(picture.convert("L")) > 160
    height, width = bright.shape
    x, y, r = round(DISC[0] * width), round(DISC[1] * height), round(0.29 * height)
    across = bright[y, :].sum()
    down = bright[y - r : y + r, x].sum()
    return float(across / down)


def colours(picture: Image.Image) -> list[tuple[int, int, int]]:
    """Return the mean colour of each patch."""
    pixels = np.asarray(picture.convert("RGB"), dtype=float)
    height, width = pixels.shape[:2]
    rows = pixels[round((PATCH_ROW[0] + 0.04) * height) : round((PATCH_ROW[1] - 0.04) * height)]
    found = []
    for k in range(len(PATCHES)):
        low, high = (k + 0.25) * width / len(PATCHES), (k + 0.75) * width / len(PATCHES)
        mean = rows[:, round(low) : round(high)].mean(axis=(0, 1))
        found.append((round(mean[0]), round(mean[1]), round(mean[2])))
    return found


def worst_colour(picture: Image.Image) -> int:
    """Return how far the worst patch is off, in grey levels of 255."""
    pairs = zip(colours(picture), PATCHES, strict=True)
    return max(abs(a - b) for got, want in pairs for a, b in zip(got, want, strict=True))


def steady(n: int, rate: float | Fraction, clock_hz: int, start: int = 0) -> list[int]:
    """Return the ticks of n pictures at a steady rate, rounded to the clock."""
    return [start + round(k * clock_hz / Fraction(rate)) for k in range(n)]


def write_clip(
    path: Path,
    pictures: Sequence[Image.Image],
    ticks: Sequence[int],
    clock_hz: int,
    *,
    coding: str = "libx264",
    pixel_format: str = "yuv420p",
    options: dict[str, str] | None = None,
    pixel_shape: Fraction | None = None,
    matrix: str = "bt709",
    is_full_range: bool = False,
    container_options: dict[str, str] | None = None,
) -> Path:
    """Write pictures with exactly these stamps (ticks of 1/clock_hz s); return the path."""
    tick = Fraction(1, clock_hz)
    with av.open(str(path), "w", options=container_options or {}) as file:
        stream = file.add_stream(coding, rate=30, options=options or quick_options(coding))
        stream.width, stream.height = pictures[0].size
        stream.pix_fmt = pixel_format
        stream.time_base = stream.codec_context.time_base = tick
        stream.codec_context.thread_count = 1
        if pixel_shape is not None:
            stream.codec_context.sample_aspect_ratio = pixel_shape
        codes = {"bt709": 1, "bt601": 6}
        stream.codec_context.colorspace = codes[matrix]
        stream.codec_context.color_primaries = stream.codec_context.color_trc = codes[matrix]
        stream.codec_context.color_range = 2 if is_full_range else 1
        last = frame = None
        for picture, stamp in zip(pictures, ticks, strict=True):
            if picture is not last:  # the same one again is not made into a frame again
                last, frame = (
                    picture,
                    av.VideoFrame.from_image(picture).reformat(
                        format=pixel_format,
                        dst_colorspace="ITU709" if matrix == "bt709" else "ITU601",
                        dst_color_range="JPEG" if is_full_range else "MPEG",
                    ),
                )
            frame.pts, frame.time_base = stamp, tick
            file.mux(stream.encode(frame))
        file.mux(stream.encode(None))
    return path


def quick_options(coding: str) -> dict[str, str]:
    if coding == "libx264":
        return {"preset": "ultrafast", "crf": "18", "bf": "2", "x264-params": "log-level=error"}
    if coding == "libx265":
        return {"preset": "ultrafast", "crf": "18", "x265-params": "log-level=error:pools=1"}
    return {}


def write_steady(
    path: Path, numbers: Sequence[int], rate: float = 60, clock_hz: int = 90_000, **more: object
) -> Path:
    """Write a plain clip of pictures with these numbers at a steady rate."""
    pictures = [draw(number) for number in numbers]
    return write_clip(path, pictures, steady(len(pictures), rate, clock_hz), clock_hz, **more)  # type: ignore[arg-type]


# MP4 boxes, to write what phones write and PyAV does not


def _children(data: bytes, start: int, end: int) -> list[tuple[bytes, int, int]]:
    found = []
    while start + 8 <= end:
        size, kind = struct.unpack(">I4s", data[start : start + 8])
        found.append((kind, start, start + size))
        start += size
    return found


def box_at(data: bytes, *kinds: bytes) -> tuple[int, int]:
    """Return where the box at this path starts and ends."""
    start, end = 0, len(data)
    for depth, kind in enumerate(kinds):
        inside = start if depth == 0 else start + 8
        start, end = next((a, b) for k, a, b in _children(data, inside, end) if k == kind)
    return start, end


def turn_clip(path: Path, degrees: int, is_mirrored: bool = False) -> None:
    """Note a clockwise turn (after a mirroring, if any) in the track, as phones do."""
    data = bytearray(path.read_bytes())
    start, _ = box_at(bytes(data), b"moov", b"trak", b"tkhd")
    a, b, c, d = {0: (1, 0, 0, 1), 90: (0, 1, -1, 0), 180: (-1, 0, 0, -1), 270: (0, -1, 1, 0)}[
        degrees
    ]
    if is_mirrored:
        a, b = -a, -b
    at = start + 8 + 40
    fixed = [a << 16, b << 16, 0, c << 16, d << 16, 0, 0, 0, 1 << 30]
    data[at : at + 36] = struct.pack(">9i", *fixed)
    path.write_bytes(bytes(data))


def stored(picture: Image.Image, degrees: int, is_mirrored: bool = False) -> Image.Image:
    """Return the picture as it lies in a file that notes this turn: the way back."""
    picture = picture.rotate(degrees, expand=True)
    return picture.transpose(Image.Transpose.FLIP_LEFT_RIGHT) if is_mirrored else picture


def note_capture_rate(path: Path, rate_hz: float) -> None:
    """Add the exposure rate the way Android phones note it: a typed value in moov/meta."""
    key = b"com.android.capture.fps"
    handler = box(b"hdlr", struct.pack(">II4s12x", 0, 0, b"mdta") + b"\0")
    named = struct.pack(">I4s", 8 + len(key), b"mdta") + key
    keys = box(b"keys", struct.pack(">II", 0, 1) + named)
    value = struct.pack(">I4sII", 20, b"data", 23, 0) + struct.pack(">f", rate_hz)
    items = box(b"ilst", struct.pack(">II", 8 + len(value), 1) + value)
    extra = box(b"meta", handler + keys + items)
    data = path.read_bytes()
    start, end = box_at(data, b"moov")
    assert end == len(data), "moov is the last box"
    path.write_bytes(data[:start] + box(b"moov", data[start + 8 : end] + extra))


def box(kind: bytes, body: bytes) -> bytes:
    return struct.pack(">I4s", 8 + len(body), kind) + body


def drop_index(path: Path) -> None:
    """Cut the clip off before its index, as an empty battery does."""
    data = path.read_bytes()
    path.write_bytes(data[: box_at(data, b"moov")[0]])


def hide_start(path: Path, from_tick: int, length_ticks: int, clock_hz: int) -> None:
    """Make the edit list show the clip from `from_tick` only, as a lossless trim does."""
    data = path.read_bytes()
    movie, _ = box_at(data, b"moov", b"mvhd")
    movie_hz = struct.unpack(">I", data[movie + 20 : movie + 24])[0]
    try:
        old_start, old_end = box_at(data, b"moov", b"trak", b"edts")
    except StopIteration:
        old_start = old_end = box_at(data, b"moov", b"trak", b"tkhd")[1]
    length = length_ticks * movie_hz // clock_hz
    entry = struct.pack(">IIIiI", 0, 1, length, from_tick, 1 << 16)
    new = box(b"edts", box(b"elst", entry))
    grown = len(new) - (old_end - old_start)
    changed = bytearray(data[:old_start] + new + data[old_end:])
    for kinds in ((b"moov",), (b"moov", b"trak")):
        start, end = box_at(data, *kinds)
        changed[start : start + 4] = struct.pack(">I", end - start + grown)
    path.write_bytes(bytes(changed))
