"""When each picture was taken, as far as the file can tell.

Everything rests on the file's own integer stamps. A time is a difference of two stamps times the
length of one tick; it is never a picture number divided by a rate, because phones drop pictures
and change their rate while filming.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Capture:
    """How the file's clock relates to true time.

    slow_factor:  file time / true time: 1.0 when the clock is true, 8.0 for 240 saved as 30.
                  None means not known, an ordinary answer: nothing in seconds can be graded.
    source:       in plain words, where the factor comes from.
    """

    slow_factor: float | None
    source: str
