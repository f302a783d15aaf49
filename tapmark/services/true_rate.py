"""A phone's true rate, from a running stopwatch in the frame, kept with the squad.

Phones that say 240 may expose 238 or 240.4 times a second, and shared copies say nothing at all.
Two readings of a stopwatch in the frame settle it: it gives true seconds, the file its own.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from tapmark.clip.frames import Pictures, StopwatchRate, open_clip, rate_from_stopwatch
from tapmark.errors import StopwatchUnusable
from tapmark.leftovers import temporary_folder
from tapmark.progress import Waiting
from tapmark.store.choices import Phone
from tapmark.store.squad import Squad, open_squad

SHORTEST_S = 2.0
"""Of the watch between two readings to 0.01 s: the rate is then good to 0.8 %."""
RATES_HZ = (10.0, 2000.0)
"""What phones and cameras expose; outside, a reading or a picture number is wrong."""
LONGEST_SHOWN = 20  # signs of a number or of a reading
_SHOWN = re.compile(r"(?:(\d+):)?(?:(\d+):)?(\d+(?:[.,]\d+)?)")


@dataclass(frozen=True)
class StopwatchReading:
    """What the stopwatch shows in one picture.

    picture:  its number, from 0
    shown_s:  seconds on the watch
    """

    picture: int
    shown_s: float


def seconds_shown(text: str) -> float:
    """Return the seconds of "7.42", "1:07,42" or "0:01:07.42". Raises StopwatchUnusable."""
    found = _SHOWN.fullmatch(text.strip())
    if not found or len(text) > LONGEST_SHOWN:
        raise StopwatchUnusable(
            f"“{text[:LONGEST_SHOWN]}” is no reading of a stopwatch. Write it as it stands there, "
            "e.g. 7.42 or 1:07.42."
        )
    larger = [int(part) for part in found.groups()[:2] if part is not None]
    seconds = float(found[3].replace(",", "."))
    for part, worth_s in zip(reversed(larger), (60.0, 3600.0), strict=False):
        seconds += part * worth_s
    return seconds


def rate_between(
    pictures: Pictures, one: StopwatchReading, other: StopwatchReading
) -> StopwatchRate:
    """Return the true rate between two readings, in any order.

    Raises StopwatchUnusable, ClipError.
    """
    first, last = sorted((one, other), key=lambda reading: reading.picture)
    began, ended = pictures.time_s(first.picture), pictures.time_s(last.picture)
    if began is None or ended is None:
        raise StopwatchUnusable(f"“{pictures.name}” holds no times: film the stopwatch as a clip.")
    shown_s = last.shown_s - first.shown_s
    if shown_s < SHORTEST_S or ended <= began:
        raise StopwatchUnusable(
            f"From frame {first.picture + 1} to {last.picture + 1} the stopwatch goes "
            f"{shown_s:.2f} s. It must go on by {SHORTEST_S:g} s or more: read it again, further "
            "apart."
        )
    found = rate_from_stopwatch(last.picture - first.picture, shown_s, ended - began)
    if not RATES_HZ[0] <= found.rate_hz <= RATES_HZ[1]:
        raise StopwatchUnusable(
            f"That would be {found.rate_hz:.1f} frames per second, which no phone films. Look "
            "again at the readings and at the numbers of their frames."
        )
    return found


def rate_words(found: StopwatchRate) -> str:
    """Return what the stopwatch says about the clip, in a sentence."""
    pace = found.slow_factor
    clock = (
        "the file's own clock is true"
        if abs(pace - 1) < 0.01
        else f"the file plays {pace:.3g} times slower"
        if pace > 1
        else f"the file plays {1 / pace:.3g} times faster"
    )
    return f"Filmed at {found.rate_hz:.1f} ± {found.plus_minus_hz:.1f} frames per second; {clock}."


def phone_rate_hz(found: StopwatchRate, pictures: Pictures) -> float:
    """Return the rate to keep of a phone: missing exposures in this clip must not lower it."""
    file_hz = pictures.rate_hz()
    return found.slow_factor * file_hz if file_hz else found.rate_hz


def keep_phone(squad: Squad, name: str, rate_hz: float, today: date) -> Phone:
    """Keep a phone's true rate with the squad and return it; one of the same name goes.

    Raises StopwatchUnusable without a name, CannotWrite.
    """
    name = " ".join(name.split())[:60]
    if not name:
        raise StopwatchUnusable("Give the phone a name the squad knows, e.g. the black phone.")
    choices = squad.reload_choices()
    others = tuple(phone for phone in choices.phones if phone.name != name)
    phone = Phone(name, round(rate_hz, 3), today.isoformat())
    squad.save_choices(replace(choices, phones=(*others, phone)))
    return phone


def check_by_stopwatch(
    clip: Path | None, readings: Sequence[str], keep: Sequence[str], today: date, waiting: Waiting
) -> Iterator[str]:
    """Yield what two readings, "PICTURE=SHOWN", say of a clip; keep it where that is asked.

    keep:    () or the folder of a squad and the name of the phone.
    waiting: shows how far the clip is read.
    Raises StopwatchUnusable, ClipError, and StoreError where it is to be kept.
    """
    if clip is None or not readings:
        raise StopwatchUnusable(
            "A stopwatch is read off a clip, twice: tapmark doctor CLIP --stopwatch 12=7.42 "
            "2412=17.43, with the numbers of two frames and what it shows in each."
        )
    one, other = map(_typed, readings)
    with waiting, temporary_folder() as folder:
        pictures = open_clip(clip, folder, progress=waiting.telling("frames read"))
        try:
            found = rate_between(pictures, one, other)
            rate_hz = phone_rate_hz(found, pictures)
        finally:
            pictures.close()
    yield rate_words(found)
    if keep:
        phone = keep_phone(open_squad(Path(keep[0])), keep[1], rate_hz, today)
        yield f"Kept with the squad: {phone.name}, {phone.rate_hz:.1f} frames per second."


def _typed(text: str) -> StopwatchReading:
    number, _, shown = text.partition("=")
    is_number = len(number) <= LONGEST_SHOWN and number.strip().isdecimal()
    if not is_number or int(number) < 1:
        raise StopwatchUnusable(
            f"“{text[:LONGEST_SHOWN]}” is no frame with its reading. Write the number of the "
            "frame, “=” and what the stopwatch shows: 12=7.42."
        )
    return StopwatchReading(int(number) - 1, seconds_shown(shown))
