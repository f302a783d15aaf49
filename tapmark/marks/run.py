"""A run: one filmed pass with its set-up, steps and taps, as frozen values.

Taps are in px of the upright full-size picture: x right, y down, origin at the top-left corner,
so the centre of the first pixel is (0.5, 0.5). Times are on the file's clock in seconds; divided
by the slow-motion factor they are true times. Nothing here knows of a file, a window or a clock.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field

Point = tuple[float, float]

LEFT_TO_RIGHT = "left to right"
RIGHT_TO_LEFT = "right to left"
DIRECTIONS = (LEFT_TO_RIGHT, RIGHT_TO_LEFT)
CONTEXTS = ("sprint", "race pace", "acceleration", "bend")
CAMERAS = ("tripod, levelled", "tripod", "hand-held", "panned")
ANSWERS = ("no", "yes", "not answered")
QUESTIONS = ("direction", "context", "rate", "camera", "pain")
"""What is asked of every clip, by the names of SetUp's fields; "rate" is its slow_factor."""
LINE, ANGLE, NOTE = "line", "angle", "note"
N_PLACES = {LINE: 2, ANGLE: 3, NOTE: 1}  # how many presses make one
PATH_POINTS = ("hip", "near knee", "near ankle", "near toe", "near wrist")


@dataclass(frozen=True)
class Tap:
    """One marked point on one key frame.

    at_px:      where, or None for a point that is "behind" (the near leg) or "hidden".
    certainty:  "sure", "guess", "behind" or "hidden".
    """

    point: str
    at_px: Point | None
    certainty: str = "sure"


@dataclass(frozen=True)
class KeyFrame:
    """One picture chosen for one event, and the taps on it.

    picture:     number in the clip or folder, from 0.
    time_s:      on the file's clock; None when the pictures carry no times.
    interval_s:  the longer gap to a neighbouring picture on the same clock; None likewise.
    is_unsure:   "could be one picture earlier or later"; is_unsure_by_two: or even two.
    is_blurred:  every tap on it counts with twice its usual SD.
    """

    event: str
    picture: int
    time_s: float | None = None
    interval_s: float | None = None
    is_unsure: bool = False
    is_blurred: bool = False
    taps: tuple[Tap, ...] = ()
    is_unsure_by_two: bool = False

    @property
    def unsure_by(self) -> int:
        """How many pictures earlier or later it could be: 0, 1 or 2."""
        return 2 if self.is_unsure_by_two else int(self.is_unsure)

    def tap(self, point: str) -> Tap | None:
        """Return the tap of that point, or None when it was not marked yet."""
        return next((tap for tap in self.taps if tap.point == point), None)

    def at(self, point: str) -> Point | None:
        """Return where that point was tapped in px, or None."""
        tap = self.tap(point)
        return tap.at_px if tap else None


@dataclass(frozen=True)
class TurningMark:
    """First and last picture in which a limb seems still: no point, only time.

    limb: one of points.TURNING_LIMBS. Times are on the file's clock.
    """

    limb: str
    first_picture: int
    last_picture: int
    first_s: float | None = None
    last_s: float | None = None


@dataclass(frozen=True)
class FreeMark:
    """A line, an angle or a note that the coach drew over one picture; it is never graded.

    kind:   "line", "angle" or "note".
    at_px:  both ends of a line; the joint of an angle, then the end of each arm; where a note is.
    words:  the note, or what the coach calls the line or angle ("" for no name).
    time_s: of the picture on the file's clock; None when the pictures carry no times.
    """

    kind: str
    picture: int
    at_px: tuple[Point, ...]
    words: str = ""
    time_s: float | None = None


@dataclass(frozen=True)
class Place:
    """Where a followed point lies in one picture; time_s on the file's clock, None if unknown."""

    picture: int
    at_px: Point
    time_s: float | None = None


@dataclass(frozen=True)
class Path:
    """One point followed by hand through the pictures, its places in their order.

    point: one of PATH_POINTS. Between two places nothing is known.
    """

    point: str
    places: tuple[Place, ...]

    def at(self, picture: int) -> Point | None:
        """Return where the point was tapped in that picture, or None."""
        return next((each.at_px for each in self.places if each.picture == picture), None)

    def expected_px(self, picture: int, time_s: float | None = None) -> Point | None:
        """Return where the point would be if it went on as from the last place but one to the last.

        Those before the picture count; with one place the point stays, with none nobody knows.
        time_s: of the picture on the file's clock, by which it goes on; where a time is not known,
        by the numbers of the pictures.
        """
        before = [each for each in self.places if each.picture < picture]
        if len(before) < 2:
            return before[-1].at_px if before else None
        a, b = before[-2:]
        on = (picture - b.picture) / (b.picture - a.picture)
        if time_s is not None and a.time_s is not None and b.time_s is not None:
            lasted_s = b.time_s - a.time_s
            on = (time_s - b.time_s) / lasted_s if lasted_s > 0 else on
        (x0, y0), (x1, y1) = a.at_px, b.at_px
        return x1 + on * (x1 - x0), y1 + on * (y1 - y0)


@dataclass(frozen=True)
class Step:
    """Near foot's touchdown to far foot's touchdown.

    far_toe_off:  optional key frame without taps (event "far toe-off"): last picture of the far
                  foot's contact that begins at opposite touchdown; None when not set.
    second_look:  key frames marked again with the first taps hidden, in order: a second one of the
                  same event and picture is the third look; one of a picture beside the key frame
                  holds the same points one picture earlier or later.
    ticks:        what the coach saw and ticked, e.g. ("hand crosses", 2); see checklist.
    """

    key_frames: tuple[KeyFrame, ...] = ()
    turning_marks: tuple[TurningMark, ...] = ()
    far_toe_off: KeyFrame | None = None
    second_look: tuple[KeyFrame, ...] = ()
    ticks: tuple[tuple[str, int], ...] = ()

    def key_frame(self, event: str) -> KeyFrame | None:
        """Return the key frame of that event, or None when it is not chosen yet."""
        return next((frame for frame in self.key_frames if frame.event == event), None)

    def looks(self, event: str, by: int = 0) -> tuple[KeyFrame, ...]:
        """Return the later looks at a key frame, or at the picture so many after it, in order."""
        first = self.key_frame(event)
        return tuple(
            frame
            for frame in self.second_look
            if first and frame.event == event and frame.picture == first.picture + by
        )

    def turning_mark(self, limb: str) -> TurningMark | None:
        """Return the turning point of that limb, or None."""
        return next((mark for mark in self.turning_marks if mark.limb == limb), None)


@dataclass(frozen=True)
class Source:
    """Where the pictures come from.

    kind:         "clip" or "stills".
    path:         relative to the run file where possible; for stills the folder.
    size_px:      width and height of the upright full-size picture.
    fingerprint:  of a clip's first megabyte; names of the stills otherwise.
    part_s:       from and to on the clip's clock when only a part was read; pictures are counted
                  from its first one.
    """

    kind: str = ""
    path: str = ""
    size_px: tuple[int, int] = (0, 0)
    n_pictures: int = 0
    size_bytes: int = 0
    duration_s: float | None = None
    fingerprint: str = ""
    part_s: tuple[float, float] | None = None


@dataclass(frozen=True)
class SetUp:
    """Answers to the filming questions; None, "" and "not answered" mean nobody knows.

    slow_factor:          file's time ÷ true time (8 for 240 shown at 30); None = rate not known.
    is_mirrored:          an app has mirrored the picture (writing reads backwards).
    upright_px:           vertical reference, bottom then top, in px.
    scale_px, scale_m:    two marks on the running line and their distance.
    speed_mps:            typed in, from a time over a measured distance.
    leg_cm, leg_source:   leg length at the time ("tape" or "height"); None, "" otherwise.
    unanswered:           those of QUESTIONS that nobody answered: what stands there was only put
                          there to begin with. () in runs of older versions: all of them counted.
    """

    direction: str = LEFT_TO_RIGHT
    is_mirrored: bool = False
    context: str = "sprint"
    slow_factor: float | None = None
    rate_source: str = "not known"
    camera: str = "tripod"
    camera_distance_m: float | None = None
    upright_px: tuple[Point, Point] | None = None
    scale_px: tuple[Point, Point] | None = None
    scale_m: float | None = None
    speed_mps: float | None = None
    leg_cm: float | None = None
    leg_source: str = ""
    uses_neck_base: bool = False
    zone: str = ""
    effort: int | None = None
    shoes: str = ""
    surface: str = ""
    wind: str = ""
    pain: str = "not answered"
    has_grown: bool = False
    unanswered: tuple[str, ...] = ()

    @property
    def is_static(self) -> bool:
        """True when it was answered that the camera stood on a tripod."""
        return self.camera.startswith("tripod") and "camera" not in self.unanswered


@dataclass(frozen=True)
class Run:
    """One filmed pass of one athlete: pictures, set-up, steps and who marked it.

    free_marks, paths: what the coach drew over the pictures, of whichever step.
    extra: keys of the file that this version does not know; written back unchanged.
    """

    view: str = "side"
    tap_set: str = "standard"
    source: Source = field(default_factory=Source)
    set_up: SetUp = field(default_factory=SetUp)
    steps: tuple[Step, ...] = (Step(),)
    marked_by: str = ""
    free_marks: tuple[FreeMark, ...] = ()
    paths: tuple[Path, ...] = ()
    extra: tuple[tuple[str, object], ...] = ()

    @property
    def travel_sign(self) -> int:
        """+1 for a runner going left to right in the picture, −1 otherwise."""
        return 1 if self.set_up.direction == LEFT_TO_RIGHT else -1

    @property
    def near_side(self) -> str:
        """The side shown: right for a runner moving left to right, unless mirrored, else left."""
        shows_right = (self.travel_sign > 0) != self.set_up.is_mirrored
        return "right" if shows_right else "left"

    @property
    def far_side(self) -> str:
        """The other side than near_side."""
        return "left" if self.near_side == "right" else "right"

    @property
    def is_marked(self) -> bool:
        """True when there is anything to read from it: a tap, a turning point or a tick."""
        return any(
            step.turning_marks or step.ticks or any(frame.taps for frame in step.key_frames)
            for step in self.steps
        )

    def path(self, point: str) -> Path:
        """Return the path of a point, empty when it was never followed."""
        return next((path for path in self.paths if path.point == point), Path(point, ()))

    def true_time_s(self, on_file_s: float | None) -> float | None:
        """Return true seconds for seconds on the file's clock; None when either is not known."""
        factor = self.set_up.slow_factor
        return None if on_file_s is None or factor is None else on_file_s / factor

    def taps(self) -> Iterator[tuple[int, KeyFrame, Tap]]:
        """Yield every tap with the number of its step and its key frame."""
        for i_step, step in enumerate(self.steps):
            for frame in step.key_frames:
                for tap in frame.taps:
                    yield i_step, frame, tap
