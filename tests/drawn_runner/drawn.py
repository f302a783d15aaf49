"""The front door to drawn steps without pictures: true points, key times, key pictures.

    style = Style(reach=14)                        # what the runner does
    view = View(direction=-1, roll=2)              # how it is filmed
    times = key_times(style)                       # event -> seconds after touchdown
    pictures = key_pictures(style, 240, phase=0.3) # event -> which picture a coach should stop at
    points = true_points(style, 0.05, view)        # name -> (x, y) in px

True measures of the same step are in truth.py, tapping errors in coach.py, and
`scene.draw_step` paints the pictures. Everything takes arrays of times, so thousands of
runs cost milliseconds each.
"""

from dataclasses import dataclass, replace

import numpy as np

from tests.drawn_runner.camera import View, project
from tests.drawn_runner.curves import Array
from tests.drawn_runner.motion import motion_of
from tests.drawn_runner.style import EVENTS, POINTS, Style


@dataclass(frozen=True)
class Picture:
    """One picture of a camera: its number and its time in seconds after touchdown."""

    number: int
    time_s: float


def key_times(style: Style) -> dict[str, float]:
    """The true instants of the five key frames, seconds after the near foot's touchdown."""
    times = (
        0.0,
        motion_of(style).stance.mid_stance_s,
        style.contact_s,
        style.contact_s + style.peak_delay_s,
        style.step_s,
    )
    return dict(zip(EVENTS, times, strict=True))


def key_pictures(style: Style, rate: float, phase: float = 0.5) -> dict[str, Picture]:
    """The pictures that the key-frame rules pick from a camera of so many pictures a second.

    Picture 0 is taken `phase` intervals (0 to 1) after touchdown, so it is the first one
    that touches. Toe-off is the last picture touching, opposite touchdown the first one.
    """
    numbers = np.arange(float(int(2 * style.step_s * rate) + 2))
    times: Array = (numbers + phase) / rate
    chosen = (
        0,
        _closest_hip_to_ankle(style, times),
        int(np.searchsorted(times, style.contact_s + 1e-12, "right")) - 1,
        int(np.argmin(np.abs(times - style.contact_s - style.peak_delay_s))),
        int(np.searchsorted(times, style.step_s - 1e-12)),
    )
    found = (Picture(k, float(times[k])) for k in chosen)
    return dict(zip(EVENTS, found, strict=True))


def _closest_hip_to_ankle(style: Style, times: Array) -> int:
    """The picture in contact with the hip horizontally closest to the ankle."""
    joints = motion_of(style).joints(times[times <= style.contact_s])
    return int(np.argmin(np.abs(joints["hip"][..., 0] - joints["near ankle"][..., 0])))


def side_points(style: Style, t: Array | float) -> dict[str, Array]:
    """Every named point in the side plane, metres, X forward and Y up, shape t.shape + (2,)."""
    joints = motion_of(style).joints(np.asarray(t, float))
    return {name: joints[name][..., :2] for name in POINTS}


def true_points(style: Style, t: Array | float, view: View | None = None) -> dict[str, Array]:
    """Every named point in picture pixels, shape t.shape + (2,)."""
    joints = motion_of(style).joints(np.asarray(t, float))
    return {name: project(view or View(), joints[name]) for name in POINTS}


def true_taps(
    style: Style, view: View, times: dict[str, float]
) -> dict[str, dict[str, tuple[float, float]]]:
    """Event -> point -> (x, y) in px, at the given time of each event."""
    points = true_points(style, np.array(list(times.values())), view)
    return {
        event: {name: (float(xy[i, 0]), float(xy[i, 1])) for name, xy in points.items()}
        for i, event in enumerate(times)
    }


def centred(style: Style, view: View) -> View:
    """The same view with the middle of the step straight in front of the camera."""
    hip, _ = motion_of(style).hip(np.array([0.0, style.step_s]))
    return replace(view, centre_m=float(hip.mean()))


def leg_px(style: Style, view: View) -> float:
    """Leg length (hip to ground, standing) in pixels on the running line."""
    return motion_of(style).stance.body.leg * view.px_per_m
