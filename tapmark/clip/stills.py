"""A folder or a pick of stills as a row of pictures."""

import csv
import functools
import io
import re
from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

from PIL import Image

from tapmark import disk
from tapmark.clip.names import shown_name
from tapmark.clip.rates import Capture
from tapmark.clip.still_file import Page, look_into, read_page
from tapmark.clip.timing import Stamps
from tapmark.errors import FrameNotThere, StillsUnusable
from tapmark.media_types import kind_of
from tapmark.progress import NOBODY, Progress

PREVIEW_PX = 1280
SMALL_PX = 320
DECODED_KEPT = 24
TICK_S = Fraction(1, 1_000_000_000)
TIMES_FILE = "times.csv"
LARGEST_TIMES = 20_000_000  # bytes
NAMED = 6
"""How many file names a sentence holds before it says "and 12 more"."""

JUNK = frozenset({"thumbs.db", "desktop.ini"})


class Stills:
    """Stills in natural order. Gives `frames.Pictures`; see there for what each call means."""

    kind = "stills"

    def __init__(
        self, name: str, pages: Sequence[Page], times: Stamps, capture: Capture, notes: list[str]
    ) -> None:
        """times: as long as pages, or empty where no times are known."""
        self.name = name
        self.pages = tuple(pages)
        self.capture = capture
        self.notes = tuple(notes)
        self._times = times
        self._decoded = functools.lru_cache(maxsize=DECODED_KEPT)(self._decode)

    @property
    def size_px(self) -> tuple[int, int]:
        return self.pages[0].size_px

    def __len__(self) -> int:
        return len(self.pages)

    def preview(self, i: int) -> Image.Image:
        return self._decoded(self._checked(i))

    def small(self, i: int) -> Image.Image:
        picture = self.preview(i).copy()
        picture.thumbnail((SMALL_PX, SMALL_PX), Image.Resampling.BOX)
        return picture

    def full(self, i: int, progress: Progress = NOBODY) -> Image.Image:
        return read_page(self.pages[self._checked(i)])

    def _decode(self, i: int) -> Image.Image:
        return read_page(self.pages[i], PREVIEW_PX)

    def _checked(self, i: int) -> int:
        if not 0 <= i < len(self):
            raise FrameNotThere(
                f"Frame {i + 1} is not there: “{self.name}” has {len(self)} frames."
            )
        return i

    def time_s(self, i: int) -> float | None:
        self._checked(i)
        return self._times.time_s(i) if len(self._times) else None

    def interval_s(self, i: int) -> float | None:
        self._checked(i)
        return self._times.interval_s(i) if len(self._times) else None

    def rate_hz(self) -> float | None:
        return self._times.rate_hz()

    def close(self) -> None:
        self._decoded.cache_clear()


def open_stills(paths: Path | Sequence[Path], *, rate_hz: float | None = None) -> Stills:
    """Return the stills of a folder, of one file with several pages, or of a pick of files.

    rate_hz:  frames per second, as told by a person; gaps in numbered names count as missing
    Without it a `times.csv` beside the stills is used, else the times are not known.
    Raises StillsUnusable: none can be read, sizes differ, or the times do not fit.
    """
    name, files = _files(paths)
    pages: list[Page] = []
    left_out: list[str] = []  # for every file that cannot be used the reason
    for file in files:
        try:
            pages += look_into(file)
        except StillsUnusable as reason:
            left_out.append(str(reason))
    if not pages:
        reasons = f": {_listed(left_out)}" if left_out else ""
        raise StillsUnusable(
            f"No picture in “{name}” can be used{reasons}. Choose JPEG, PNG or TIFF pictures."
        )
    _refuse_mixed_sizes(pages)
    notes = [f"Left out: {_listed(left_out)}."] if left_out else []
    numbers = _numbers(pages)
    notes += _gap_notes(numbers)
    times, capture = _times_of(pages, numbers, rate_hz)
    return Stills(name, pages, times, capture, notes)


def _files(paths: Path | Sequence[Path]) -> tuple[str, list[Path]]:
    """Return a name for the row and the picture files in natural order."""
    if isinstance(paths, Path) and paths.is_dir():
        try:
            inside = list(paths.iterdir())
        except OSError as trouble:
            raise StillsUnusable(
                f"The folder “{shown_name(paths)}” cannot be opened: {disk.reason(trouble)}."
            ) from trouble
        return shown_name(paths), sorted(filter(_is_picture_name, inside), key=_order)
    picked = picked_of(paths)
    name = shown_name(picked[0]) if len(picked) == 1 else f"{len(picked)} pictures"
    return name, sorted(picked, key=_order)


def picked_of(paths: Path | Sequence[Path]) -> list[Path]:
    """Return what was picked as a list, one file or folder as well."""
    return [paths] if isinstance(paths, Path) else list(paths)


def times_beside(folder: Path) -> list[dict[str, str]]:
    """Return the rows that `tapmark frames` wrote beside its stills; raise OSError, ValueError."""
    text = disk.read(folder / TIMES_FILE, LARGEST_TIMES).decode("utf-8")
    return list(csv.DictReader(io.StringIO(text, newline="")))


def _order(path: Path) -> tuple[list[tuple[int, int, str]], str]:
    return disk.natural_order(path.name), str(path)


def _is_picture_name(path: Path) -> bool:
    """Leave out the files that systems strew into folders, and what is no picture."""
    name = path.name.casefold()
    if name.startswith(".") or name in JUNK:
        return False
    return kind_of(path.name) == "still" and not path.is_dir()


def _refuse_mixed_sizes(pages: list[Page]) -> None:
    sizes = [page.size_px for page in pages]
    usual = max(set(sizes), key=lambda size: (sizes.count(size), size))
    odd = [f"“{p.name}” ({_size(p.size_px)})" for p in pages if p.size_px != usual]
    if odd:
        raise StillsUnusable(
            f"The pictures differ in size. Most are {_size(usual)}, but not {_listed(odd)}. "
            "Choose pictures of one size: taps on different sizes cannot be compared."
        )


def _size(size_px: tuple[int, int]) -> str:
    return f"{size_px[0]} × {size_px[1]}"


def _listed(parts: list[str]) -> str:
    more = f" and {len(parts) - NAMED} more" if len(parts) > NAMED else ""
    return ", ".join(parts[:NAMED]) + more


def _numbers(pages: list[Page]) -> list[int] | None:
    """Return the running number in each name when all names differ in that one number only."""
    found = [re.fullmatch(r"(.*?)(\d+)(\D*)", page.path.stem) for page in pages]
    if len(pages) < 2 or any(page.n_pages > 1 for page in pages):
        return None
    parts = [match.groups() for match in found if match]
    if len(parts) < len(pages) or len({(p[0], p[2]) for p in parts}) > 1:
        return None
    numbers = [int(part[1]) for part in parts]
    return numbers if len(set(numbers)) == len(numbers) else None


def _gap_notes(numbers: list[int] | None) -> list[str]:
    if numbers is None:
        return []
    gaps = []
    for a, b in pairwise(numbers):
        if b - a == 2:
            gaps.append(f"{a + 1}")
        elif b - a > 2:
            gaps.append(f"{a + 1}–{b - 1}")
    if not gaps:
        return []
    return [f"Numbers are missing in the names: {_listed(gaps)}. The gaps are not filled."]


def _times_of(
    pages: list[Page], numbers: list[int] | None, rate_hz: float | None
) -> tuple[Stamps, Capture]:
    if rate_hz is not None:
        if rate_hz <= 0:
            raise StillsUnusable(f"A rate of {rate_hz:g} frames per second cannot be. Type 240.")
        row = numbers or list(range(len(pages)))
        told = Capture(1.0, rate_hz, f"set by the coach: {rate_hz:g}")
        return _stamps([(n - row[0]) / rate_hz for n in row]), told
    return _times_beside(pages) or (Stamps(TICK_S), Capture(None, None, "stills without times"))


def _stamps(times_s: list[float]) -> Stamps:
    stamps = Stamps(TICK_S)
    for time_s in times_s:
        stamps.add(round(time_s / TICK_S))
    return stamps


def _times_beside(pages: list[Page]) -> tuple[Stamps, Capture] | None:
    """Return the times that `tapmark frames` wrote beside its stills; None without them."""
    try:
        rows = {row["picture"]: row for row in times_beside(pages[0].path.parent)}
        times = [float(rows[page.path.name]["time_s"]) for page in pages]
        last = rows[pages[-1].path.name]["capture_time_s"]
        first = rows[pages[0].path.name]["capture_time_s"]
        stamps = _stamps(times)
        true_s = float(last) - float(first) if last and first else 0.0
    except (OSError, KeyError, ValueError, TypeError, OverflowError, csv.Error):
        return None
    if times != sorted(times):
        return None
    factor = (times[-1] - times[0]) / true_s if true_s > 0 else None
    rate = stamps.rate_hz()
    true_rate = rate * factor if rate and factor else None
    return stamps, Capture(factor, true_rate, f"from {TIMES_FILE}")
