"""A speed that the coach typed in, from a time over a measured distance."""

from tapmark.marks.run import Run
from tapmark.measures.estimate import Share
from tapmark.measures.row import Row

THE_STOPWATCH = "the stopwatch"
_SD_SHARE = 0.02  # 0.02 s on 10 m at 10 m/s by hand-held gates; common practice, no source


def typed_speed(row: Row, run: Run) -> tuple[float, tuple[Share, ...]] | None:
    """Return the typed speed and its doubt for the row "speed", else None."""
    speed = run.set_up.speed_mps
    if row.key != "speed" or not speed or speed <= 0:
        return None
    return speed, (Share(("speed",), THE_STOPWATCH, _SD_SHARE * speed, True),)
