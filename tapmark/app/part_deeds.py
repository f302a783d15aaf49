"""Choosing a part of a long clip: nobody should wait for ten thousand pictures to find one step."""

from dataclasses import dataclass, replace

from PIL import Image

from tapmark.app.desk import Desk
from tapmark.app.form import FieldTrouble, number
from tapmark.app.jobs import Task
from tapmark.app.picture_deeds import STOPPED, Wish, load_pictures
from tapmark.clip.cache import Cache
from tapmark.clip.frames import Header, read_header
from tapmark.clip.strip import key_strip
from tapmark.marks.run import Source
from tapmark.store.pictures import fingerprint

USUAL_PICTURES = 1_200  # of a part that is offered: a few steps at 240 a second
MOST_SMALL = 20


@dataclass(frozen=True)
class LongClip:
    """A clip that was asked for, small pictures of it, and the part that is offered (seconds).

    strip: (seconds on the file's clock, small picture), in order.
    """

    wish: Wish
    header: Header
    strip: tuple[tuple[float, Image.Image], ...]
    start_s: float
    end_s: float

    @property
    def length_s(self) -> float:
        """Length of the whole clip on its own clock."""
        return self.header.length_s or 0.0

    @property
    def words(self) -> str:
        """What the clip is like, in a sentence."""
        n = round(self.header.n_expected or 0, -2)
        return (
            f"“{self.header.name}” has about {n:,} pictures ({self.length_s:.0f} s). "
            "Press the picture where the runner passes, or type from and to."
        )

    def around(self, at_s: float) -> "LongClip":
        """Return the same with a part around a moment."""
        wide = self.usual_s
        start = min(max(0.0, at_s - wide / 2), max(0.0, self.length_s - wide))
        return replace(self, start_s=start, end_s=min(self.length_s, start + wide))

    @property
    def usual_s(self) -> float:
        """How long a part is that is offered."""
        return USUAL_PICTURES / (self.header.rate_hz or 240.0)


def bring_in(desk: Desk, wish: Wish) -> None:
    """Open pictures that the coach chose; of a long clip, ask for a part first."""
    if wish.stills or wish.path.is_dir():
        load_pictures(desk, wish)
        return
    run = desk.state.run
    known = run.source if run and run.source.part_s else Source()
    desk.state.said = f"Looking at “{wish.path.name}” …"
    desk.jobs.run(
        "pictures",
        lambda task: _looked_at(desk, wish, known, task),
        lambda found: desk.attempt(lambda: _ask_or_load(desk, found)),
        desk.failed,
        stopped=STOPPED,
        by="run",
    )
    desk.state.tell()


def _looked_at(desk: Desk, wish: Wish, known: Source, task: Task) -> LongClip | Wish:
    """Return what to ask about, or what to load: a clip found again keeps its part."""
    header = read_header(wish.path)
    if not header.is_long:
        return wish
    if fingerprint(wish.path) == known.fingerprint:
        return replace(wish, part_s=known.part_s)
    cache = Cache(desk.cache_folder)
    strip = key_strip(header, cache, MOST_SMALL, task.is_cancelled)
    found = LongClip(wish, header, tuple(strip[:MOST_SMALL]), 0.0, 0.0)
    return found.around(found.length_s / 2)


def _ask_or_load(desk: Desk, found: LongClip | Wish) -> None:
    state = desk.state
    state.said = ""
    if isinstance(found, Wish):
        state.long_clip = None
        load_pictures(desk, found)
    else:
        state.long_clip = found


def around(desk: Desk, at_s: float) -> None:
    """Offer the part around a moment."""
    if desk.state.long_clip:
        desk.state.long_clip = desk.state.long_clip.around(at_s)


def read_part(desk: Desk, start: str, end: str) -> None:
    """Read from one typed second to the other; raises FieldTrouble for what cannot be used."""
    long_clip = desk.state.long_clip
    if long_clip is None:
        return
    last = long_clip.length_s
    start_s = number(start, "start", "the beginning in seconds", 0, last) or 0.0
    end_s = number(end, "end", "the end in seconds", 0, last + 1)
    end_s = last if end_s is None else min(end_s, last)
    if end_s <= start_s:
        raise FieldTrouble("end", f"The part must end after it begins, {start_s:g} s.")
    desk.state.long_clip = None
    load_pictures(desk, replace(long_clip.wish, part_s=(start_s, end_s)))


def read_all(desk: Desk) -> None:
    """Read the whole clip all the same."""
    long_clip, desk.state.long_clip = desk.state.long_clip, None
    if long_clip:
        load_pictures(desk, long_clip.wish)


def ask_clip(desk: Desk) -> None:
    """Ask for a clip and open it as the pictures of this run."""
    path = desk.ask.clip()
    if path:
        bring_in(desk, Wish(path))


def ask_folder(desk: Desk) -> None:
    """Ask for a folder of stills."""
    path = desk.ask.folder("Open a folder of stills")
    if path:
        bring_in(desk, Wish(path))


def ask_stills(desk: Desk) -> None:
    """Ask for loose stills."""
    paths = desk.ask.stills()
    if paths:
        bring_in(desk, Wish(paths[0].parent, paths))
