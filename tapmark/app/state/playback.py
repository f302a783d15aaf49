"""Playing: which frame is due when. Late frames are left out; time is never stretched.

Pure arithmetic on seconds of a clock that never goes back; nothing here waits or draws.
"""

import math
from bisect import bisect_right
from dataclasses import dataclass
from itertools import pairwise

from tapmark.clip.frames import Pictures
from tapmark.marks.points import OPPOSITE_TOUCHDOWN, TOUCHDOWN
from tapmark.marks.run import Step

SPEEDS = (0.125, 0.25, 0.5, 1.0)
SPEED_WORDS = ("⅛", "¼", "½", "1")
STILL_HZ = 30.0  # frames per second where the frames carry no times
TINY = 1e-9  # s: what sums of times may be off by
HOLD_S = 1.0  # at each key frame, if wished
AROUND = 10  # frames that a loop of the step begins before touchdown and ends after the other one
MOST_HZ = 50.0  # shown frames per second; more would leave the hand no time


@dataclass(frozen=True)
class Playing:
    """How it is played, and whether it is just now.

    i_speed: of SPEEDS. loops: the step again and again. holds: pause at each key frame.
    """

    i_speed: int = 0
    loops: bool = False
    holds: bool = False
    is_on: bool = False


@dataclass(frozen=True)
class Reel:
    """Times of all frames, s of the file, rising; per_s: of them in one true second.

    is_true: the rate is known; else a true second is taken for a second of the file.
    """

    times: tuple[float, ...]
    per_s: float
    is_true: bool

    @property
    def gap_s(self) -> float:
        """Usual gap between two frames, s of the file."""
        n = len(self.times) - 1
        return (self.times[-1] - self.times[0]) / n if n > 0 else 1 / STILL_HZ


def reel_of(pictures: Pictures, slow_factor: float | None) -> Reel:
    """Return the times of the frames known by now; frames without times come 30 a second."""
    n = len(pictures)
    told = [pictures.time_s(i) for i in range(n)]
    known = [t for t in told if t is not None]
    if len(known) < n or any(b <= a for a, b in pairwise(known)):
        return Reel(tuple(i / STILL_HZ for i in range(n)), 1.0, False)
    return Reel(tuple(known), slow_factor or 1.0, slow_factor is not None)


def stretch_of(step: Step, n: int, *, loops: bool) -> tuple[int, int]:
    """Return the first and last frame played: the step and a little more, else the whole clip."""
    down, other = step.key_frame(TOUCHDOWN), step.key_frame(OPPOSITE_TOUCHDOWN)
    if not loops or not down or not other or other.picture <= down.picture:
        return 0, n - 1
    return max(0, down.picture - AROUND), min(n - 1, other.picture + AROUND)


@dataclass(frozen=True)
class Due:
    """A frame and when it is due.

    at_s, picture: on the clock, and which frame. is_held: it stays a while, is_last: the end.
    run_s: seconds of the file played so far. waited_s: held so far, on the clock.
    """

    at_s: float
    picture: int
    run_s: float
    waited_s: float = 0.0
    is_held: bool = False
    is_last: bool = False


@dataclass(frozen=True)
class Playback:
    """Frames of a stretch (first to last) in their time, from one of them on.

    start: the frame shown at began_s. speed: times true time. holds: frames that stay a while.
    """

    reel: Reel
    first: int
    last: int
    start: int
    began_s: float
    speed: float
    loops: bool = False
    holds: tuple[int, ...] = ()

    @property
    def pace(self) -> float:
        """Seconds of the file in one second of the clock."""
        return self.speed * self.reel.per_s

    @property
    def lap_s(self) -> float:
        """Seconds of the file from the first frame until it comes again."""
        return self._run_s(self.last) + self.reel.gap_s

    def begin(self) -> Due:
        """Return the frame that it starts with."""
        return Due(self.began_s, self.start, self._run_s(self.start))

    def next(self, shown: Due, late_s: float = 0.0) -> Due | None:
        """Return what is due after a frame; None after the last one.

        late_s: the moment on the clock before which nothing can be shown any more; what was due
        before it is left out, but never a frame that is to be held.
        """
        if shown.is_last:
            return None
        waited = shown.waited_s + (HOLD_S if shown.is_held else 0.0)
        earliest = shown.at_s + (HOLD_S if shown.is_held else 1 / MOST_HZ)
        run_s = max(self._following(shown.run_s), self._run_at(max(earliest, late_s), waited))
        held = [each for i in self.holds if (each := self._run_after(i, shown.run_s)) <= run_s]
        if held:
            run_s = min(held)
        picture = self._picture(run_s)
        is_last = not self.loops and picture == self.last
        at_s = self.began_s + waited + (run_s - self._run_s(self.start)) / self.pace
        return Due(max(at_s, 0.0), picture, run_s, waited, bool(held), is_last)

    def _run_s(self, picture: int) -> float:
        """Return seconds of the file from the first frame to one of the same lap."""
        return self.reel.times[picture] - self.reel.times[self.first]

    def _run_at(self, now_s: float, waited_s: float) -> float:
        """Return the seconds played at a moment of the clock."""
        run_s = self._run_s(self.start) + (now_s - self.began_s - waited_s) * self.pace
        return run_s if self.loops else min(run_s, self._run_s(self.last))

    def _following(self, run_s: float) -> float:
        """Return the seconds played when the next frame begins."""
        picture = self._picture(run_s)
        lap = math.floor(run_s / self.lap_s + TINY) * self.lap_s
        return lap + (self._run_s(picture + 1) if picture < self.last else self.lap_s)

    def _run_after(self, picture: int, run_s: float) -> float:
        """Return the seconds played when a frame comes next, later than so many."""
        if not self.first <= picture <= self.last:
            return math.inf
        mine = self._run_s(picture)
        if not self.loops:
            return mine if mine > run_s + TINY else math.inf
        return mine + self.lap_s * max(0, math.floor((run_s - mine) / self.lap_s + TINY) + 1)

    def _picture(self, run_s: float) -> int:
        in_lap = run_s - math.floor(run_s / self.lap_s + TINY) * self.lap_s if self.loops else run_s
        i = bisect_right(self.reel.times, self.reel.times[self.first] + in_lap + TINY) - 1
        return min(max(i, self.first), self.last)


def begun(reel: Reel, step: Step, picture: int, playing: Playing, now_s: float) -> Playback:
    """Return playback from a frame on; from the beginning where that is the end or outside."""
    n = len(reel.times)
    first, last = stretch_of(step, n, loops=playing.loops)
    start = picture if first <= picture < last else first
    holds = tuple(frame.picture for frame in step.key_frames) if playing.holds else ()
    speed = SPEEDS[playing.i_speed]
    return Playback(reel, first, last, start, now_s, speed, playing.loops, holds)
