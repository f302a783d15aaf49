"""Colours that look right: the filter chain for each kind of clip, and the tables for HDR.

Two things go wrong in the plain route. JPEG is BT.601 by definition while phone clips are BT.709,
and ffmpeg's JPEG encoder does not convert between them: a hop through RGB does. And HDR signals
(HLG, PQ) shown as they are look washed out: a table of 33×33×33 colours maps them to a plain
screen, with the white of BT.2408 (203 cd/m²) as white and a soft shoulder above it.

Sources: Recommendations ITU-R BT.2100 (HLG and PQ curves), BT.2408 (reference white),
BT.2087 (BT.709 to BT.2020), BT.1886 (screen curve).
"""

from pathlib import Path

import numpy as np
import numpy.typing as npt

from tapmark import disk
from tapmark.leftovers import half_made

Floats = npt.NDArray[np.float64]

TABLE_POINTS = 33
WHITE_NITS = 203.0
HLG_PEAK_NITS = 1000.0
SHOULDER = 0.85
"""Light above this share of white is bent towards white instead of cut off."""

HDR_KINDS = {"arib-std-b67": "hlg", "smpte2084": "pq"}
"""ffmpeg's names of the two transfer curves, and ours."""

FROM_709 = np.array(
    [
        [0.627404, 0.329283, 0.043313],
        [0.069097, 0.919540, 0.011362],
        [0.016391, 0.088013, 0.895595],
    ]
)


def chain_to_rgb(size_px: tuple[int, int], *, hdr: str, matrix: str) -> str:
    """Return the filters that scale a picture to `size_px` and make plain RGB of it.

    hdr:     "", "hlg" or "pq"
    matrix:  ffmpeg's name of the colour matrix to assume where the file names none, "" to trust
    Scaling comes first: the table then works on few pixels.
    """
    scale = _scale(size_px, matrix)
    if hdr:
        return (
            f"{scale},setsar=1,scale=in_color_matrix=bt2020:flags=accurate_rnd,"
            f"format=gbrp10le,lut3d=file={table_name(hdr)},format=gbrp"
        )
    return f"{scale},setsar=1,format=gbrp"


def chain_to_jpeg(size_px: tuple[int, int], *, hdr: str, matrix: str, is_direct: bool) -> str:
    """Return the filters that scale a picture and make it ready for the JPEG encoder.

    is_direct: this ffmpeg converts colours while it scales, which saves the hop through RGB
    """
    if is_direct and not hdr:
        return f"{_scale(size_px, matrix)}:{JPEG_COLOURS},format=yuvj420p,setsar=1"
    rgb = chain_to_rgb(size_px, hdr=hdr, matrix=matrix)
    return f"{rgb},scale={JPEG_COLOURS},format=yuvj420p"


JPEG_COLOURS = "out_color_matrix=bt601:out_range=pc"


def _scale(size_px: tuple[int, int], matrix: str) -> str:
    assumed = f":in_color_matrix={matrix}" if matrix else ""
    return f"scale=w={size_px[0]}:h={size_px[1]}:flags=bilinear{assumed}"


def matrix_to_assume(colour_space: str, size_px: tuple[int, int]) -> str:
    """Return the matrix for a clip that names none: what players take for large pictures."""
    is_named = colour_space not in ("", "unknown", "unspecified")
    return "bt709" if not is_named and min(size_px) >= 720 else ""


def table_name(hdr: str) -> str:
    """Return the table's file name: plain letters, so that no filter needs it escaped."""
    return f"{hdr}{TABLE_POINTS}v1.cube"


def table_text(hdr: str) -> str:
    """Return the table as a .cube text, red running fastest."""
    steps = np.linspace(0.0, 1.0, TABLE_POINTS)
    blue, green, red = np.meshgrid(steps, steps, steps, indexing="ij")
    signal = np.stack([red, green, blue], axis=-1).reshape(-1, 3)
    values = to_screen(signal, hdr).ravel().tolist()
    rows = "%.5f %.5f %.5f\n" * len(signal) % tuple(values)  # at once: a first picture waits for it
    return f"LUT_3D_SIZE {TABLE_POINTS}\n{rows}"


def write_table(hdr: str, folder: Path) -> None:
    """Put the table into `folder` unless it is there, in one move. Raises OSError, InUse."""
    target = folder / table_name(hdr)
    if not target.exists():
        half = half_made(target)
        try:
            half.write_text(table_text(hdr), encoding="ascii")
            disk.move_into_place(half, target)
        finally:
            half.unlink(missing_ok=True)


def to_screen(signal: Floats, hdr: str) -> Floats:
    """Return screen values 0…1 for HDR signal values 0…1; both of shape (N, 3), RGB."""
    nits = _hlg_nits(signal) if hdr == "hlg" else _pq_nits(signal)
    light = (nits / WHITE_NITS) @ np.linalg.inv(FROM_709).T
    return np.asarray(_shoulder(np.clip(light, 0.0, None)) ** (1 / 2.4))


def _hlg_nits(signal: Floats) -> Floats:
    """Light of an HLG signal on a screen of 1000 cd/m² (system gamma 1.2), BT.2100 table 5."""
    a, b, c = 0.17883277, 0.28466892, 0.55991073
    scene = np.where(signal <= 0.5, signal**2 / 3, (np.exp((signal - c) / a) + b) / 12)
    luminance = scene @ np.array([0.2627, 0.6780, 0.0593])
    return np.asarray(HLG_PEAK_NITS * luminance[:, None] ** 0.2 * scene)


def _pq_nits(signal: Floats) -> Floats:
    """Light of a PQ signal, BT.2100 table 4."""
    m1, m2 = 2610 / 16384, 2523 / 32
    c1, c2, c3 = 3424 / 4096, 2413 / 128, 2392 / 128
    root = signal ** (1 / m2)
    return np.asarray(10000.0 * (np.maximum(root - c1, 0) / (c2 - c3 * root)) ** (1 / m1))


def _shoulder(light: Floats) -> Floats:
    """Leave light up to the shoulder as it is, bend the rest so that it never passes white."""
    room = 1.0 - SHOULDER
    bent = SHOULDER + room * (1.0 - np.exp(-np.maximum(light - SHOULDER, 0) / room))
    return np.where(light <= SHOULDER, light, bent)
