"""Names of what is marked: key frames, points, tap sets, and the order of prompts.

Near means the side of the body closer to the camera; shoulder, elbow and hip are near ones.
The far hip is never tapped. Lists of points are in the order in which they are asked for.
"""

from typing import Final

TOUCHDOWN: Final = "touchdown"
MID_STANCE: Final = "mid-stance"
TOE_OFF: Final = "toe-off"
PEAK_KNEE_LIFT: Final = "peak knee lift"
OPPOSITE_TOUCHDOWN: Final = "opposite touchdown"
LAST_CONTACT: Final = "last contact"
MOST_TURNED: Final = "most turned"

SIDE_EVENTS: Final = (TOUCHDOWN, MID_STANCE, TOE_OFF, PEAK_KNEE_LIFT, OPPOSITE_TOUCHDOWN)
BACK_EVENTS: Final = (LAST_CONTACT, MOST_TURNED)
EVENTS: Final = {"side": SIDE_EVENTS, "rear": BACK_EVENTS, "front": BACK_EVENTS}
VIEWS: Final = tuple(EVENTS)

TAP_SETS: Final = ("standard", "contact only", "deep look")
CERTAINTIES: Final = ("sure", "guess", "behind", "hidden")
# The pair on the camera's side comes first; the far arm is half hidden by the trunk.
TURNING_LIMBS: Final = ("rear thigh", "hand forward", "lead thigh", "elbow back")
TURNS: Final = {
    "rear thigh": "near thigh stops going back",
    "hand forward": "near hand stops going forward",
    "lead thigh": "far thigh, the leading one, stops rising",
    "elbow back": "far elbow (same side as the leading thigh) stops going back",
}

STANDARD: Final = {
    TOUCHDOWN: ("shoulder", "elbow", "hip", "near knee", "near ankle", "far knee"),
    MID_STANCE: ("shoulder", "elbow", "hip", "near knee", "near ankle", "far knee", "far ankle"),
    TOE_OFF: ("shoulder", "elbow", "hip", "near knee", "near ankle", "near toe"),
    PEAK_KNEE_LIFT: ("shoulder", "elbow", "hip", "near knee", "far knee", "far ankle"),
    OPPOSITE_TOUCHDOWN: (
        "shoulder",
        "elbow",
        "hip",
        "far knee",
        "far ankle",
        "near knee",
        "near ankle",
    ),
}
DEEPER: Final = (
    "far shoulder",
    "far elbow",
    "near wrist",
    "near toe",
    "far toe",
    "near heel",
    "far heel",
)
SHOE: Final = ("heel centre", "forefoot centre")
SECOND_LOOK: Final = {
    TOUCHDOWN: ("hip", "shoulder", "near knee", "far knee", "near ankle"),
    OPPOSITE_TOUCHDOWN: ("hip", "shoulder", "near knee", "far knee", "far ankle"),
}
ONLY_DRAWN: Final = {  # points that feed the figure but no measure: may be skipped
    TOUCHDOWN: (),
    MID_STANCE: ("shoulder", "elbow"),
    TOE_OFF: (),
    PEAK_KNEE_LIFT: ("shoulder", "near knee"),
    OPPOSITE_TOUCHDOWN: ("near ankle",),
}


def prompts(
    view: str, tap_set: str = "standard", neck_base: bool = False
) -> dict[str, tuple[str, ...]]:
    """Return event -> points to ask for, in order.

    view:       "side", "rear" or "front".
    tap_set:    "standard" (32 taps), "contact only" (13) or "deep look"; for the side view only.
    neck_base:  ask for the neck base in the shoulder's place (better trunk).
    """
    if view != "side":
        return dict.fromkeys(BACK_EVENTS, SHOE)
    events = (TOUCHDOWN, OPPOSITE_TOUCHDOWN) if tap_set == "contact only" else SIDE_EVENTS
    asked = {event: STANDARD[event] for event in events}
    if tap_set == "deep look":
        asked = {event: points + _more(points) for event, points in asked.items()}
    if neck_base:
        asked = {event: _with_neck(points) for event, points in asked.items()}
    return asked


def _more(points: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(point for point in DEEPER if point not in points)


def _with_neck(points: tuple[str, ...]) -> tuple[str, ...]:
    return tuple("neck base" if point == "shoulder" else point for point in points)
