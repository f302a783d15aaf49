"""From the runner's world in metres to picture pixels.

Without a distance the picture is a plain scale drawing of the side plane (depth does not
matter unless the view is turned). With a distance it is a pinhole camera, so parts farther
away come out smaller and shift against nearer ones.
Picture: x right, y down, origin at the top-left corner, first pixel's centre (0.5, 0.5).
"""

from dataclasses import dataclass

import numpy as np

from tests.drawn_runner.curves import Array

CAMERA_HEIGHT_M = 1.0


@dataclass(frozen=True)
class View:
    """How the running line is filmed.

    px_per_m: scale on the running line in front of the camera. ground_y: picture height of
    that line (px). centre_m: the X straight in front of the camera. direction: +1 runs left
    to right, -1 right to left. roll: degrees, + when a true vertical leans to the right in
    the picture. yaw: degrees off square. distance_m: None for a scale drawing.
    """

    width: int = 1280
    height: int = 720
    px_per_m: float = 270.0
    ground_y: float = 604.0
    centre_m: float = 0.0
    direction: int = 1
    roll: float = 0.0
    yaw: float = 0.0
    distance_m: float | None = None

    @property
    def horizon_y(self) -> float:
        """Picture height of the horizon before the camera is rolled, px."""
        return self.ground_y - self.px_per_m * CAMERA_HEIGHT_M


def project(view: View, points: Array) -> Array:
    """Pixels, shape (..., 2), of points in metres, shape (..., 3): X forward, Y up, Z away."""
    ahead = points[..., 0] - view.centre_m
    turn = np.radians(view.yaw)
    across = ahead * np.cos(turn) + points[..., 2] * np.sin(turn)
    away = points[..., 2] * np.cos(turn) - ahead * np.sin(turn)
    far = view.distance_m
    scale = view.px_per_m * (1.0 if far is None else far / (far + away))
    x = view.width / 2 + view.direction * scale * across
    y = view.horizon_y - scale * (points[..., 1] - CAMERA_HEIGHT_M)
    return rolled(view, np.stack([x, y], axis=-1))


def rolled(view: View, level: Array) -> Array:
    """Turn pixels of a level picture about the picture's centre by the camera's roll."""
    rad = np.radians(view.roll)
    middle = np.array([view.width / 2, view.height / 2])
    x, y = np.moveaxis(level - middle, -1, 0)
    cos, sin = np.cos(rad), np.sin(rad)
    turned: Array = middle + np.stack([x * cos - y * sin, x * sin + y * cos], axis=-1)
    return turned
