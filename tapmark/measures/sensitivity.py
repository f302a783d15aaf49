"""What each value would be, had a key frame been chosen one picture earlier or later.

The taps of another picture do not exist, so places move by the row's typical rates; times are
those of the neighbouring picture. Sensible, and approximate.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from tapmark.marks.run import Run, Step
from tapmark.measures.card import DEFAULT_CARD, Card
from tapmark.measures.catalogue import row
from tapmark.measures.compute import Reading, gathered, readings
from tapmark.measures.estimate import Estimate
from tapmark.measures.result import Results


@dataclass(frozen=True)
class OnePictureOff:
    """Results as they would be with one key frame of one step chosen otherwise.

    by: −1 for one picture earlier, +1 for one later.
    """

    event: str
    by: int
    i_step: int
    results: Results


def one_picture_off(run: Run, card: Card = DEFAULT_CARD) -> Iterator[OnePictureOff]:
    """Yield the results for each key frame of each side-view step, earlier and later."""
    as_marked = readings(run, card)
    for i_step, reading in enumerate(as_marked):
        for frame in reading.posture.step.key_frames if run.view == "side" else ():
            for by in (-1, 1):
                shifted = _shifted(reading, i_step, frame.event, by, card)
                others = [*as_marked[:i_step], shifted, *as_marked[i_step + 1 :]]
                yield OnePictureOff(frame.event, by, i_step, gathered(others))


def _shifted(reading: Reading, i_step: int, event: str, by: int, card: Card) -> Reading:
    """Return a reading with one key frame moved: times read again, places by typical rates."""
    retimed = readings(_retimed(reading.run, i_step, event, by, reading), card)[i_step].tried
    tried = dict(reading.tried)
    for key, was in reading.tried.items():
        now = retimed[key]
        if isinstance(was, Estimate) and isinstance(now, Estimate):
            tried[key] = replace(now, value=now.value + by * _moved(was, reading, event))
    return replace(reading, tried=tried)


def _moved(was: Estimate, reading: Reading, event: str) -> float:
    """Return the change of a value over one picture at a key frame, in the row's unit."""
    setting = reading.posture.setting
    frame = reading.posture.step.key_frame(event)
    rates = row(was.row.key).rates_of(was.leg, setting.contact_s)
    return rates.get(event, 0.0) * setting.interval_s(frame) if frame else 0.0


def _retimed(run: Run, i_step: int, event: str, by: int, reading: Reading) -> Run:
    step = run.steps[i_step]
    steps = list(run.steps)
    steps[i_step] = _one_later(step, event, by, reading)
    return replace(run, steps=tuple(steps))


def _one_later(step: Step, event: str, by: int, reading: Reading) -> Step:
    setting = reading.posture.setting
    moved = []
    for frame in step.key_frames:
        if frame.event == event:
            on_file_s = setting.interval_s(frame) * (setting.slow_factor or 1.0)
            time_s = None if frame.time_s is None else frame.time_s + by * on_file_s
            frame = replace(frame, picture=frame.picture + by, time_s=time_s)
        moved.append(frame)
    return replace(step, key_frames=tuple(moved))
