"""Seeded soft noise for leaves, clouds and track rubber."""

import numpy as np
from PIL import Image

from tests.drawn_runner.relief import Field


def soft_noise(seed: int, width: int, height: int, cell: tuple[float, float]) -> Field:
    """Smooth noise about 0 with spread 1, lumps as wide and high as the cell (px)."""
    random = np.random.default_rng(seed)
    size = int(width / cell[0]) + 4, int(height / cell[1]) + 4
    coarse = Image.fromarray(random.standard_normal(size[::-1]).astype(np.float32))
    box = (1.0, 1.0, 1.0 + width / cell[0], 1.0 + height / cell[1])
    fine = coarse.resize((width, height), Image.Resampling.BICUBIC, box)
    noise: Field = np.asarray(fine, np.float32)
    return noise / np.float32(noise.std() + 1e-6)


def lumpy_noise(
    seed: int, width: int, height: int, cell: tuple[float, float], octaves: int = 4
) -> Field:
    """Noise with lumps of several sizes, each half as large and half as strong as the last."""
    total = np.zeros((height, width), np.float32)
    for octave in range(octaves):
        smaller = cell[0] / 2**octave, cell[1] / 2**octave
        total += np.float32(0.55**octave) * soft_noise(seed + octave, width, height, smaller)
    return total / np.float32(total.std() + 1e-6)
