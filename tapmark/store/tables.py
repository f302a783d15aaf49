"""Which keys each kind of file has, and what each may hold: the open format itself."""

from tapmark.kinds import Day, Flag, Many, Maybe, Number, OneOf, Record, Text, Tuple, Whole
from tapmark.marks.people import CLEARANCES, CONSENTS, Athlete, Consent, Length, Slot, Visit
from tapmark.marks.points import (
    BACK_EVENTS,
    CERTAINTIES,
    DEEPER,
    SHOE,
    SIDE_EVENTS,
    STANDARD,
    TAP_SETS,
    TURNING_LIMBS,
    VIEWS,
)
from tapmark.marks.run import (
    ANSWERS,
    CAMERAS,
    CONTEXTS,
    DIRECTIONS,
    N_PLACES,
    PATH_POINTS,
    QUESTIONS,
    FreeMark,
    KeyFrame,
    Path,
    Place,
    Run,
    SetUp,
    Source,
    Step,
    Tap,
    TurningMark,
)
from tapmark.store.choices import NECK_BASE, PAPERS, OwnError, Phone, SquadChoices
from tapmark.store.shot_list import STATES, Shot, ShotList

POINTS = tuple(
    dict.fromkeys(
        [*(point for points in STANDARD.values() for point in points), *DEEPER, *SHOE, "neck base"]
    )
)
AT_S = Number(nearest=1e-12)  # on the clock of the file
METRES = Number(1e-3, 1e4)
WORD = Text(200)
POINT = Tuple((Number(), Number()))
TWO_POINTS = Tuple((POINT, POINT))

TAP = Record(Tap, {"point": OneOf(POINTS), "at_px": Maybe(POINT), "certainty": OneOf(CERTAINTIES)})
KEY_FRAME = Record(
    KeyFrame,
    {
        "event": OneOf((*SIDE_EVENTS, *BACK_EVENTS, "far toe-off")),
        "picture": Whole(),
        "time_s": Maybe(AT_S),
        "interval_s": Maybe(Number(1e-9, 1e6)),
        "is_unsure": Flag(),
        "is_blurred": Flag(),
        "taps": Many(TAP, most=100),
        "is_unsure_by_two": Flag(),
    },
)
TURNING_MARK = Record(
    TurningMark,
    {
        "limb": OneOf(TURNING_LIMBS),
        "first_picture": Whole(),
        "last_picture": Whole(),
        "first_s": Maybe(AT_S),
        "last_s": Maybe(AT_S),
    },
)
STEP = Record(
    Step,
    {
        "key_frames": Many(KEY_FRAME, most=20),
        "turning_marks": Many(TURNING_MARK, most=20),
        "far_toe_off": Maybe(KEY_FRAME),
        "second_look": Many(KEY_FRAME, most=100),
        "ticks": Many(Tuple((WORD, Whole(0, 2))), most=100),
    },
)
SOURCE = Record(
    Source,
    {
        "kind": OneOf(("", "clip", "stills")),
        "path": Text(4_000),
        "size_px": Tuple((Whole(0, 100_000), Whole(0, 100_000))),
        "n_pictures": Whole(),
        "size_bytes": Whole(0, 10**15),
        "duration_s": Maybe(Number(0.0)),
        "fingerprint": Text(),
        "part_s": Maybe(Tuple((Number(0.0), Number(0.0)))),
    },
)
SET_UP = Record(
    SetUp,
    {
        "direction": OneOf(DIRECTIONS),
        "is_mirrored": Flag(),
        "context": OneOf(CONTEXTS),
        "slow_factor": Maybe(Number(1e-6, 1e6)),
        "rate_source": WORD,
        "camera": OneOf(CAMERAS),
        "camera_distance_m": Maybe(METRES),
        "upright_px": Maybe(TWO_POINTS),
        "scale_px": Maybe(TWO_POINTS),
        "scale_m": Maybe(METRES),
        "speed_mps": Maybe(Number(0.0)),
        "leg_cm": Maybe(Number(1.0, 300.0)),
        "leg_source": OneOf(("", "tape", "height")),
        "uses_neck_base": Flag(),
        "zone": WORD,
        "effort": Maybe(Whole(0, 100)),
        "shoes": WORD,
        "surface": WORD,
        "wind": WORD,
        "pain": OneOf(ANSWERS),
        "has_grown": Flag(),
        "unanswered": Many(OneOf(QUESTIONS), most=len(QUESTIONS)),
    },
)
FREE_MARK = Record(
    FreeMark,
    {
        "kind": OneOf(tuple(N_PLACES)),
        "picture": Whole(),
        "at_px": Many(POINT, fewest=1, most=3),
        "words": WORD,
        "time_s": Maybe(AT_S),
    },
)
PLACE = Record(Place, {"picture": Whole(), "at_px": POINT, "time_s": Maybe(AT_S)})
PATH = Record(Path, {"point": OneOf(PATH_POINTS), "places": Many(PLACE)})
RUN = Record(
    Run,
    {
        "view": OneOf(VIEWS),
        "tap_set": OneOf(TAP_SETS),
        "source": SOURCE,
        "set_up": SET_UP,
        "steps": Many(STEP, fewest=1, most=100),
        "marked_by": WORD,
        "free_marks": Many(FREE_MARK, most=1_000),
        "paths": Many(PATH, most=len(PATH_POINTS)),
    },
)
CONSENT = Record(
    Consent,
    {
        "use": OneOf(CONSENTS),
        "is_given": Flag(),
        "by": WORD,
        "dated": Day(),
        "expires": Day(),
        "withdrawn": Day(),
    },
)
LENGTH = Record(
    Length, {"what": OneOf(("leg", "height")), "cm": Number(10.0, 300.0), "dated": Day()}
)
ATHLETE = Record(
    Athlete,
    {
        "code": WORD,
        "birth_year": Maybe(Whole(1900, 2200)),
        "group": WORD,
        "notes": Text(),
        "lengths": Many(LENGTH),
        "mass_kg": Maybe(Number(10.0, 300.0)),
        "consents": Many(CONSENT),
        "clearance": OneOf(CLEARANCES),
        "is_archived": Flag(),
        "own_cue": WORD,
        "goal_race": Day(),
    },
)
SLOT = Record(Slot, {"item": Whole(1, 18), "cue": Text(500), "since": Day()})
VISIT = Record(
    Visit,
    {
        "code": WORD,
        "dated": Day(may_be_empty=False),
        "runs": Many(WORD),
        "slots": Maybe(Many(SLOT, most=2)),
        "reason": Text(),
        "accepted": Many(Whole(1, 18)),
        "notes": Text(),
        "sheet_number": Whole(0, 10_000),
        "retest_week": WORD,
        "ticked": Many(Tuple((Day(), Flag(), WORD))),
        "coach_saw": Text(),
    },
)
PHONE = Record(Phone, {"name": WORD, "rate_hz": Number(1e-3, 1e6), "dated": Day()})
OWN_ERROR = Record(
    OwnError,
    {
        "marker": WORD,
        "point": OneOf(POINTS),
        "sd_percent": Number(0.0, 100.0),
        "n": Whole(1),
        "dated": Day(),
    },
)
SQUAD = Record(
    SquadChoices,
    {
        "name": WORD,
        "language": Text(20),
        "paper": OneOf(PAPERS),
        "neck_base": OneOf(NECK_BASE),
        "marker": WORD,
        "set_up": SET_UP,
        "tap_card": Many(OWN_ERROR),
        "phones": Many(PHONE),
        "season_ends": Day(),
        "keep_months": Whole(0, 120),
        "rota_weeks": Whole(1, 52),
        "per_evening": Whole(1, 60),
        "list_for_adults": Flag(),
        "backed_up": Day(),
        "deleted_on": Many(Day(may_be_empty=False)),
    },
)
SHOT = Record(
    Shot,
    {
        "path": Text(4_000),
        "fingerprint": WORD,
        "code": WORD,
        "state": OneOf(STATES),
        "note": Text(),
    },
)
SHOTS = Record(ShotList, {"dated": Day(may_be_empty=False), "shots": Many(SHOT)})
FILES = {"run": RUN, "visit": VISIT, "athlete": ATHLETE, "squad": SQUAD, "shots": SHOTS}
