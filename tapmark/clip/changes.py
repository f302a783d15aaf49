"""What a plain comparison of neighbouring frames tells: repeated frames and bent time.

No frame is understood here. Each is made small and grey, and the block that differs most from
the frame before is taken as the amount of change. A camera or an app that repeats frames shows
changes near zero between large ones; a clip with normal speed around its slow part shows large
changes, then small ones, then large ones again.
"""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt
from PIL import Image

from tapmark.progress import NOBODY, Progress, refuse_cancelled

Floats = npt.NDArray[np.float64]

BLOCKS = (32, 18)
STILL_LEVEL = 2.0
"""Change in grey levels (of 255) that noise and coding alone can make in a repeated frame."""

MOVING_LEVEL = 4.0
STANDS_OUT = 0.2
"""A repeat changes less than this share of what its neighbours mostly change, and they move."""

AROUND = 6
BENT_TIMES = 2.5
"""Changes at both ends this many times those of the middle: time may be bent."""

SHORTEST_STRETCH = 6


class SmallPictures(Protocol):
    """Pictures small enough to compare them all: `small(i)` gives frame i."""

    def __len__(self) -> int: ...
    def small(self, i: int) -> Image.Image: ...


@dataclass(frozen=True)
class Changes:
    """How much each frame differs from the one before.

    first:   number of the first frame compared
    levels:  shape (n−1,), grey levels of the most changed block
    """

    first: int
    levels: Floats

    def __len__(self) -> int:
        """Return how many pairs of neighbours were compared."""
        return int(self.levels.size)

    def followed_by(self, more: "Changes") -> "Changes":
        """Return these and the ones that come right behind them as one row."""
        return Changes(self.first, np.concatenate((self.levels, more.levels)))

    def repeats(self) -> tuple[int, ...]:
        """Return the numbers of the frames that repeat the one before, although things move."""
        found = []
        for k in np.flatnonzero(self.levels < STILL_LEVEL):
            sides = (self.levels[max(0, k - AROUND) : k], self.levels[k + 1 : k + 1 + AROUND])
            usual = min((float(np.percentile(s, 75)) for s in sides if s.size), default=0.0)
            if usual >= MOVING_LEVEL and self.levels[k] < STANDS_OUT * usual:
                found.append(self.first + int(k) + 1)
        return tuple(found)

    def slow_stretch(self) -> tuple[int, int] | None:
        """Return the first and last frame of a slow part between two fast ones, else None."""
        smooth = _smoothed(self.levels)
        if smooth.size < 3 * SHORTEST_STRETCH:
            return None
        low = float(np.percentile(smooth, 25))
        inside = np.flatnonzero(smooth <= BENT_TIMES**0.5 * low)  # 0 where a quarter repeats
        start, end = int(inside[0]), int(inside[-1])
        before, after = smooth[:start], smooth[end + 1 :]
        middle = float(np.median(smooth[start : end + 1]))
        if min(before.size, after.size) < SHORTEST_STRETCH or middle <= 0:
            return None
        if min(np.median(before), np.median(after)) < BENT_TIMES * middle:
            return None
        is_one_piece = (smooth[start : end + 1] < BENT_TIMES * middle).mean() > 0.9
        return (self.first + start + 1, self.first + end + 1) if is_one_piece else None

    def notes(self) -> tuple[str, ...]:
        """Return plain sentences about what was found; none when all is well."""
        found = []
        repeats = self.repeats()
        if repeats:
            some = ", ".join(str(i + 1) for i in repeats[:5])
            more = " …" if len(repeats) > 5 else ""
            found.append(
                f"This clip repeats frames: {len(repeats)} of {self.levels.size} are the same "
                f"as the one before ({some}{more}). Do not read a time to one frame here."
            )
        stretch = self.slow_stretch()
        if stretch:
            found.append(
                f"Time may be bent: frames {stretch[0] + 1} to {stretch[1] + 1} change much less "
                "than those before and after, as when slow motion sits inside normal speed. Mark "
                "a step inside that part only, and state the rate of that part."
            )
        return tuple(found)


def nothing_compared() -> Changes:
    """Return the row that others follow when a clip is compared a lot at a time."""
    return Changes(0, np.empty(0))


def measure_changes(
    pictures: SmallPictures,
    first: int = 0,
    last: int | None = None,
    progress: Progress = NOBODY,
) -> Changes:
    """Compare each frame from `first` to `last` with its neighbour; about 1 ms each.

    progress: told of frames looked at. Raises Cancelled.
    """
    stop = len(pictures) if last is None else min(last + 1, len(pictures))
    levels = []
    before: Floats | None = None
    for i in range(first, stop):
        refuse_cancelled(progress)
        blocks = _blocks(pictures.small(i))
        if before is not None:
            levels.append(float(np.abs(blocks - before).max()))
        before = blocks
        progress.report(i + 1 - first, stop - first)
    return Changes(first, np.array(levels, dtype=np.float64))


def _blocks(picture: Image.Image) -> Floats:
    """Return the mean grey of 32 × 18 blocks: noise goes, movement stays."""
    grey = picture.convert("L").convert("F").resize(BLOCKS, Image.Resampling.BOX)
    return np.asarray(grey, dtype=np.float64)


def _smoothed(levels: Floats) -> Floats:
    """Return running medians of nine; single flashes and repeats do not count."""
    if levels.size < 9:
        return levels
    windows = np.lib.stride_tricks.sliding_window_view(np.pad(levels, 4, mode="edge"), 9)
    return np.asarray(np.median(windows, axis=1), dtype=np.float64)


COMPARED_PICTURES = 24
"""Pictures, spread over the clip, whose border is compared with the one before: ours."""
TILE = 32
"""Side of a square of the border, px of a small frame."""
REACH = 6
"""Farthest shift of a square that is looked for, px of a small frame."""
FLAT = 3.0
"""Grey levels (spread) below which a square shows too little to tell a shift: ours."""
FEWEST_TILES = 4
LEAST_SHIFT = 0.6
"""Shift that counts, px of a small picture: about 1 cm where 5 m are in view. Ours."""
AGREE = 0.6
"""Share of the squares that must say the same: a runner or a tree in the wind moves fewer."""
LEAST_MOVED = 0.15
"""Share of the compared frames in which the border moved, for the camera to be asked about."""


def background_moves(pictures: SmallPictures, progress: Progress = NOBODY) -> bool | None:
    """Say whether the border of the frames moves, so that the camera probably did.

    Squares along the upper, left and right border and the lower corners of each frame are laid
    over the first frame that was compared and, where that has gone out of reach, over the one
    before. None where the border shows too little to tell. Raises Cancelled.
    """
    n = len(pictures)
    chosen = sorted({round(i) for i in np.linspace(0, n - 1, min(n, COMPARED_PICTURES))})
    first = before = None
    told: list[bool] = []
    for i in chosen:
        refuse_cancelled(progress)
        grey = np.asarray(pictures.small(i).convert("L"), dtype=np.float64)
        if first is None or before is None or grey.shape != first.shape:
            first = before = grey
            continue
        said = [_border_moved(each, grey) for each in (first, before)]
        if any(each is not None for each in said):
            told.append(any(said))
        before = grey
    return float(np.mean(told)) >= LEAST_MOVED if told else None


def _border_moved(one: Floats, other: Floats) -> bool | None:
    """Say whether most squares of the border lie elsewhere; None where too few can tell."""
    shifts, n_lost, n_tiles = [], 0, 0
    for top, left in _border(one.shape[0], one.shape[1]):
        tile = one[top : top + TILE, left : left + TILE]
        if tile.std() < FLAT:
            continue
        n_tiles += 1
        shift = _shift(tile, other, top, left)
        if shift is None:
            n_lost += 1
        else:
            shifts.append(shift)
    if n_tiles < FEWEST_TILES:
        return None
    if not shifts:
        return True
    places = np.array(shifts)
    middle = np.median(places, axis=0)
    agree = np.hypot(*(places - middle).T) < 1.0
    is_shifted = float(np.hypot(*middle)) >= LEAST_SHIFT and agree.sum() >= AGREE * n_tiles
    return bool(is_shifted or n_lost >= 0.8 * n_tiles)


def _border(tall: int, wide: int) -> list[tuple[int, int]]:
    """Return (top, left) of the squares, all of them REACH away from the edge."""
    right, low = wide - TILE - REACH, tall - TILE - REACH
    if right <= REACH or low <= REACH:
        return []
    columns = np.arange(REACH, right + 1, TILE)
    rows = np.arange(REACH + TILE, low + 1, TILE)
    across = [(REACH, int(x)) for x in columns]
    beside = [(int(y), x) for y in rows for x in (REACH, right)]
    return across + beside


def _shift(tile: Floats, other: Floats, top: int, left: int) -> tuple[float, float] | None:
    """Return by how many px (x, y) a square lies elsewhere in another frame; None if nowhere.

    By normed correlation, so that light that changes moves nothing; parts of a px by a parabola
    through the best place and its neighbours.
    """
    around = other[top - REACH : top + TILE + REACH, left - REACH : left + TILE + REACH]
    windows = np.lib.stride_tricks.sliding_window_view(around, (TILE, TILE))
    wanted = (tile - tile.mean()) / tile.std()
    products = np.einsum("ijkl,kl->ij", windows, wanted) / TILE**2
    spreads = _box_means(around**2) - _box_means(around) ** 2
    alike = products / np.sqrt(np.maximum(spreads, 1e-6))
    y, x = np.unravel_index(int(np.argmax(alike)), alike.shape)
    if alike[y, x] < 0.8 or y in (0, 2 * REACH) or x in (0, 2 * REACH):
        return None
    return (
        x - REACH + _peak(alike[y, x - 1 : x + 2]),
        y - REACH + _peak(alike[y - 1 : y + 2, x]),
    )


def _box_means(grey: Floats) -> Floats:
    """Return the mean of every TILE × TILE window, by running sums."""
    sums = np.zeros((grey.shape[0] + 1, grey.shape[1] + 1))
    sums[1:, 1:] = grey.cumsum(axis=0).cumsum(axis=1)
    boxes = sums[TILE:, TILE:] - sums[:-TILE, TILE:] - sums[TILE:, :-TILE] + sums[:-TILE, :-TILE]
    return np.asarray(boxes / TILE**2)


def _peak(three: Floats) -> float:
    """Return where the top of a parabola through three values lies, from the middle one."""
    bend = three[0] - 2 * three[1] + three[2]
    return float(0.5 * (three[0] - three[2]) / bend) if bend < 0 else 0.0
