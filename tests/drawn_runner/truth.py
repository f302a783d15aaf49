"""The true measures of a drawn step, from its true points.

Written for this room alone, so that the tool's own measures can be held against it.
Angles are found here by complex numbers: a part is the number Y-down + i * X-forward, its
angle from straight down is the number's argument.
Lengths are in % of leg length, 0.53 of height (Drillis & Contini, as drawn by Winter); what each
measure means is said in the catalogue of measures, and worked out here a second time.
"""

import cmath
import math
from collections.abc import Mapping

import numpy as np

from tests.drawn_runner.body import Body
from tests.drawn_runner.drawn import key_times, side_points
from tests.drawn_runner.motion import motion_of
from tests.drawn_runner.style import Style

Point = tuple[float, float]
Step = Mapping[str, Mapping[str, Point]]


def _hanging(upper: Point, lower: Point) -> float:
    """Degrees from straight down of the part between two points, lower one ahead +."""
    part = complex(upper[1] - lower[1], lower[0] - upper[0])
    return math.degrees(cmath.phase(part))


def _leaning(lower: Point, upper: Point) -> float:
    """Degrees from straight up, upper point ahead +."""
    return _hanging((0.0, 0.0), (upper[0] - lower[0], lower[1] - upper[1]))


def _knee(hip: Point, knee: Point, ankle: Point) -> float:
    return 180.0 - (_hanging(hip, knee) - _hanging(knee, ankle))


def measures_of(step: Step, leg_m: float) -> dict[str, float]:
    """The measures that need no clock. step: event -> point -> (X forward, Y up) in metres."""
    landing, middle = step["touchdown"], step["mid-stance"]
    off, lift, other = step["toe-off"], step["peak knee lift"], step["opposite touchdown"]
    found = _landing(landing, "near", "far", leg_m)
    found |= {f"opposite {k}": v for k, v in _landing(other, "far", "near", leg_m).items()}
    found |= _middle(landing, middle, leg_m) | _toe_off(off)
    found["trunk lean"] = (found["trunk lean at touchdown"] + _trunk(other)) / 2
    found["knee bend"] = found["knee at touchdown"] - found["knee at mid-stance"]
    turned = found["thigh at mid-stance"] - found["thigh at toe-off"]
    opened = max(0.0, found["knee at toe-off"] - found["knee at mid-stance"])
    found["hip share"] = 100 * turned / (turned + opened)
    found["peak thigh"] = _hanging(lift["hip"], lift["far knee"])
    found["front-leg return"] = found["peak thigh"] - _hanging(other["hip"], other["far knee"])
    return found


def _landing(at: Mapping[str, Point], stance: str, swing: str, leg_m: float) -> dict[str, float]:
    hip, knee, ankle = at["hip"], at[f"{stance} knee"], at[f"{stance} ankle"]
    behind = at[f"{swing} knee"]
    return {
        "reach": _hanging(knee, ankle),
        "ankle ahead of knee": 100 * (ankle[0] - knee[0]) / leg_m,
        "ankle ahead of hip": 100 * (ankle[0] - hip[0]) / leg_m,
        "knee at touchdown": _knee(hip, knee, ankle),
        "thigh at touchdown": _hanging(hip, knee),
        "swing thigh": _hanging(hip, behind),
        "swing knee": _knee(hip, behind, at[f"{swing} ankle"]),
        "knee separation": 100 * (knee[0] - behind[0]) / leg_m,
        "ahead of hip": 100 * (knee[0] - hip[0]) / leg_m,
        "behind hip": 100 * (hip[0] - behind[0]) / leg_m,
        "trunk lean at touchdown": _trunk(at),
    }


def _trunk(at: Mapping[str, Point]) -> float:
    return _leaning(at["hip"], at["neck base"])


def _middle(
    landing: Mapping[str, Point], at: Mapping[str, Point], leg_m: float
) -> dict[str, float]:
    hip, knee, ankle = at["hip"], at["near knee"], at["near ankle"]
    straight = math.dist(hip, knee) + math.dist(knee, ankle)
    high = landing["hip"][1] - landing["near ankle"][1]
    return {
        "knee at mid-stance": _knee(hip, knee, ankle),
        "thigh at mid-stance": _hanging(hip, knee),
        "leg stack": 100 * math.dist(hip, ankle) / straight,
        "fold": _knee(hip, at["far knee"], at["far ankle"]),
        "hip drop": 100 * (high - (hip[1] - ankle[1])) / leg_m,
    }


def _toe_off(at: Mapping[str, Point]) -> dict[str, float]:
    hip, knee = at["hip"], at["near knee"]
    thigh = _hanging(hip, knee)
    return {
        "thigh at toe-off": thigh,
        "knee at toe-off": _knee(hip, knee, at["near ankle"]),
        "hip at toe-off": 180.0 - (thigh + _trunk(at)),
        "drive angle": _leaning(at["near toe"], hip),
    }


def true_measures(style: Style, times: Mapping[str, float] | None = None) -> dict[str, float]:
    """All true measures at the true key times, or at the given times of the events (s).

    Degrees, % of leg length, and where the name says so ms, m, m/s.
    Times in ms are those of the runner, not of the pictures.
    """
    chosen = dict(times or key_times(style))
    return measures_of(places_at(style, chosen), Body(style.height_m).leg) | _clock(style)


def places_at(style: Style, times: Mapping[str, float]) -> dict[str, dict[str, Point]]:
    """Event -> point -> where it is in the side plane at the given time of each event, metres."""
    points = side_points(style, np.array(list(times.values())))
    return {
        event: {name: (float(xy[i, 0]), float(xy[i, 1])) for name, xy in points.items()}
        for i, event in enumerate(times)
    }


def _clock(style: Style) -> dict[str, float]:
    speed = motion_of(style).stance.speed
    return {
        "contact ms": 1000 * style.contact_s,
        "flight ms": 1000 * style.flight_s,
        "step ms": 1000 * style.step_s,
        "step rate": 1 / style.step_s,
        "duty factor": style.contact_s / (2 * style.step_s),
        "turn delay ms": 1000 * style.turn_delay_s,
        "speed m/s": speed,
        "step length m": speed * style.step_s,
    }
