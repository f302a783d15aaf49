"""One picture again, at full size, certain to be the same one.

A seek may land on a neighbour. So the picture is asked for by its own stamp, and taken only when
ffmpeg prints that very stamp: first near the spot, then from a few seconds before, and at last
from the start of the file, where nothing can go wrong.
"""

import io
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from PIL import Image

from tapmark.clip import troubles
from tapmark.clip.colour import chain_to_rgb
from tapmark.clip.ffmpeg import EVERY_PICTURE, SHOWINFO, input_options, run
from tapmark.clip.header import Header
from tapmark.clip.showinfo import parse_picture
from tapmark.errors import ClipUnreadable, FrameNotThere

RUN_UP_S = 3.0
"""Longer than the distance between key pictures in nearly every clip."""


@dataclass(frozen=True)
class Wanted:
    """Which picture.

    i:        its number, counted from the start of the whole file; None within a part
    stamp:    its stamp; None where the file has none
    n_twins_before, has_twin: pictures before it that share its stamp; whether any does
    gap_s:    distance to its neighbour, on the file's clock
    """

    i: int | None
    stamp: int | None
    n_twins_before: int
    has_twin: bool
    gap_s: float


def read_full(
    header: Header,
    wanted: Wanted,
    tables: Path,
    is_cancelled: Callable[[], bool] | None = None,
) -> Image.Image:
    """Return the picture, RGB, at `header.size_px`. Takes 0.3–1.5 s, seconds in odd clips.

    tables: the folder that holds the HDR colour tables
    Raises ClipUnreadable when the file has changed or gone, Cancelled.
    """
    for before, select in _attempts(header, wanted):
        if troubles.state_of(header.path) != header.written:
            break
        picture = _attempt(header, wanted, before, select, tables, is_cancelled)
        if picture is not None:
            return picture
    raise ClipUnreadable(
        f"The frame cannot be found in “{header.name}” any more: the file has changed or its "
        "drive has gone. Open the clip again."
    )


def _attempts(header: Header, wanted: Wanted) -> Iterator[tuple[list[str], str]]:
    """Yield (options before the input, filter that lets only the picture through)."""
    if wanted.stamp is None and wanted.i is None:
        raise FrameNotThere(
            f"“{header.name}” holds no times, so a part of it cannot be read again. Open the "
            "whole clip."
        )
    if wanted.i is not None and (wanted.stamp is None or wanted.has_twin):
        yield [], f"select='eq(n,{wanted.i})'"
        return
    select = f"select='eq(pts,{wanted.stamp})'"
    if not wanted.has_twin:
        yield from ((before, select) for before in _seeks(header, wanted))
    yield [], select


def _seeks(header: Header, wanted: Wanted) -> Iterator[list[str]]:
    """Yield input options that start reading just before the picture, then well before it."""
    at_s = float((wanted.stamp or 0) * header.tick_s) - header.start_s
    for run_up_s in (wanted.gap_s / 4, RUN_UP_S):
        from_s = at_s - run_up_s
        if from_s > 0:
            length_s = run_up_s + max(2 * wanted.gap_s, 0.1)
            yield ["-ss", f"{from_s:.6f}", "-t", f"{length_s:.6f}"]


def _attempt(
    header: Header,
    wanted: Wanted,
    before: list[str],
    select: str,
    tables: Path,
    is_cancelled: Callable[[], bool] | None,
) -> Image.Image | None:
    rgb = chain_to_rgb(header.size_px, hdr=header.hdr, matrix=header.matrix)
    chain = f"{select},{SHOWINFO},{rgb},format=rgb24"
    k = wanted.n_twins_before if "pts" in select else 0
    output = run(
        [
            *input_options(header.path, *before),
            *["-map", f"0:{header.track}", "-an", "-sn", "-dn", "-vf", chain],
            *EVERY_PICTURE,
            *["-frames:v", str(k + 1), "-c:v", "ppm", "-f", "image2pipe", "-"],
        ],
        folder=tables,
        is_cancelled=is_cancelled,
    )
    shown = [picture for line in output.lines if (picture := parse_picture(line))]
    frames = _split_ppm(output.data, header.size_px)
    if min(len(frames), len(shown)) <= k or shown[k].stamp != wanted.stamp:
        return None
    return frames[k]


def _split_ppm(data: bytes, size_px: tuple[int, int]) -> list[Image.Image]:
    """Return the pictures in a row of binary PPM files, all of the same size."""
    head = f"P6\n{size_px[0]} {size_px[1]}\n255\n".encode("ascii")
    one = len(head) + 3 * size_px[0] * size_px[1]
    pictures = []
    for start in range(0, len(data) - one + 1, one):
        picture = Image.open(io.BytesIO(data[start : start + one]))
        picture.load()
        pictures.append(picture.convert("RGB"))
    return pictures
