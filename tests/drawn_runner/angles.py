"""Angles for checks, written apart from the room: dot products and turned axes."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

UP, FORWARD = np.array([0.0, 1.0]), np.array([1.0, 0.0])


def upright(xy: ArrayLike, direction: int = 1, roll: float = 0.0) -> Array:
    """Picture px (..., 2) to forward and up, roll (degrees) taken out."""
    rho = np.radians(roll)
    x, y = np.asarray(xy)[..., 0], np.asarray(xy)[..., 1]
    level_x, level_y = x * np.cos(rho) + y * np.sin(rho), y * np.cos(rho) - x * np.sin(rho)
    return np.stack([direction * level_x, -level_y], axis=-1)


def from_down(upper: ArrayLike, lower: ArrayLike) -> Array:
    """Degrees between a part and straight down, lower end ahead +, by arc cosine."""
    part = np.asarray(lower) - np.asarray(upper)
    angle = np.degrees(np.arccos(-part @ UP / np.linalg.norm(part, axis=-1)))
    return np.where(part @ FORWARD < 0, -angle, angle)


def from_up(lower: ArrayLike, upper: ArrayLike) -> Array:
    """Degrees between a part and straight up, upper end ahead +."""
    part = np.asarray(upper) - np.asarray(lower)
    angle = np.degrees(np.arccos(part @ UP / np.linalg.norm(part, axis=-1)))
    return np.where(part @ FORWARD < 0, -angle, angle)


def joint(a: ArrayLike, b: ArrayLike, c: ArrayLike) -> Array:
    """Degrees at b between a and c, 0 to 180."""
    first, second = np.asarray(a) - np.asarray(b), np.asarray(c) - np.asarray(b)
    norms = np.linalg.norm(first, axis=-1) * np.linalg.norm(second, axis=-1)
    return np.degrees(np.arccos(np.sum(first * second, axis=-1) / norms))
