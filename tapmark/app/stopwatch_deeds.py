"""The true rate of a phone from a stopwatch in the picture: two readings, a name, done."""

from dataclasses import dataclass

from tapmark.app.action import Action
from tapmark.app.desk import Desk
from tapmark.app.film_deeds import answer, needs_pictures
from tapmark.app.rate_deeds import BY_WATCH
from tapmark.app.seen import waiting_for
from tapmark.clip.frames import StopwatchRate
from tapmark.errands.true_rate import (
    Reading,
    keep_phone,
    phone_rate_hz,
    rate_between,
    seconds_shown,
)
from tapmark.errors import StopwatchUnusable


@dataclass(frozen=True)
class Stopwatch:
    """The readings taken so far; at most two, in the order in which they were taken."""

    readings: tuple[Reading, ...] = ()

    @property
    def is_whole(self) -> bool:
        """Say whether both readings are there."""
        return len(self.readings) == 2

    def read_at(self, picture: int, shown_s: float) -> "Stopwatch":
        """Return the same with a reading; another of the same picture, or a third, replaces."""
        others = tuple(reading for reading in self.readings if reading.picture != picture)
        return Stopwatch((*others, Reading(picture, shown_s))[-2:])


def ask_for_readings(desk: Desk) -> None:
    """Ask for two readings of a stopwatch, or stop asking."""
    state = desk.state
    state.stopwatch = None if state.stopwatch else Stopwatch()


def take_reading(desk: Desk, text: str) -> None:
    """Keep what the stopwatch shows in the picture on the screen. Raises StopwatchUnusable."""
    state = desk.state
    why = waiting_for(state)
    if why:
        raise StopwatchUnusable(why)
    shown_s = seconds_shown(text)
    taken = (state.stopwatch or Stopwatch()).read_at(state.picture, shown_s)
    state.stopwatch = taken
    if taken.is_whole:
        found_rate(desk)  # a pair that cannot be is told at once


def found_rate(desk: Desk) -> StopwatchRate | None:
    """Return what both readings say, None before. Raises StopwatchUnusable."""
    state = desk.state
    if state.gallery is None or state.stopwatch is None or not state.stopwatch.is_whole:
        return None
    return rate_between(state.gallery.pictures, *state.stopwatch.readings)


def use_rate(desk: Desk, phone: str) -> None:
    """Answer the run's rate with what was found, and keep the phone for the next clips."""
    state = desk.state
    found = found_rate(desk)
    if found is None or state.gallery is None or state.squad is None:
        return
    rate_hz = phone_rate_hz(found, state.gallery.pictures)
    kept = keep_phone(state.squad, phone, rate_hz, desk.now().date())
    source = BY_WATCH.format(kept.name)
    answer(desk, f"filmed at {rate_hz:.1f}", slow_factor=found.slow_factor, rate_source=source)
    state.stopwatch = None
    state.said = f"{kept.name} films at {rate_hz:.1f} a second; the squad remembers it."


def _hindrance(desk: Desk) -> str:
    gallery = desk.state.gallery
    is_clip = gallery is not None and gallery.pictures.kind == "clip"
    has_times = is_clip and gallery is not None and gallery.pictures.rate_hz() is not None
    return needs_pictures(desk) or ("" if has_times else "A stopwatch is read off a clip.")


ACTIONS = (
    Action(
        "stopwatch",
        "Find the true rate by a stopwatch",
        ask_for_readings,
        ("W",),
        ("film",),
        "Film",
        _hindrance,
    ),
)
