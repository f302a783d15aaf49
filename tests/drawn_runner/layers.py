"""Paint laid over paint: a figure grows part by part, nearer parts shading farther ones."""

from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageFilter

from tests.drawn_runner.relief import (
    Field,
    Part,
    Patch,
    coverage,
    hill,
    light,
    melted,
    patch_around,
)

SHADE = 0.42
"""How much a nearer part darkens what lies close behind it."""


@dataclass
class Figure:
    """Colour (already times alpha) and alpha of the figure so far; a sheet of picture pixels."""

    sheet: Patch
    colour: Field
    alpha: Field

    @classmethod
    def empty(cls, sheet: Patch) -> "Figure":
        size = sheet.height, sheet.width
        return cls(sheet, np.zeros((*size, 3), np.float32), np.zeros(size, np.float32))

    def lay(self, patch: Patch, colour: Field, cover: Field, shade: float = SHADE) -> None:
        """Lay one part over the figure: colour (H, W, 3) 0 to 1, cover (H, W) 0 to 1."""
        here, there = self._common(patch)
        colour, cover = colour[there], cover[there]
        if shade and cover.size:
            self._shade(here, cover, shade)
        rest = 1 - cover
        self.colour[here] = colour * cover[..., None] + self.colour[here] * rest[..., None]
        self.alpha[here] = cover + self.alpha[here] * rest

    def _common(self, patch: Patch) -> tuple[tuple[slice, slice], tuple[slice, slice]]:
        """The part of a patch that lies on the sheet, as slices of sheet and patch."""
        here, there = [], []
        for start, size, origin, room in (
            (patch.y, patch.height, self.sheet.y, self.sheet.height),
            (patch.x, patch.width, self.sheet.x, self.sheet.width),
        ):
            first, last = max(start, origin), max(origin, min(start + size, origin + room))
            first = min(first, last)
            here.append(slice(first - origin, last - origin))
            there.append(slice(first - start, last - start))
        return (here[0], here[1]), (there[0], there[1])

    def _shade(self, here: tuple[slice, slice], cover: Field, strength: float) -> None:
        """A soft shade of the new part, thrown down and to the left, on what is behind it."""
        mask = Image.fromarray((cover * 255).astype(np.uint8))
        soft = mask.filter(ImageFilter.GaussianBlur(5.0))
        thrown = soft.transform(soft.size, Image.Transform.AFFINE, (1, 0, 3, 0, 1, -4))
        dark = 1 - np.float32(strength / 255) * np.asarray(thrown, np.float32)
        self.colour[here] *= dark[..., None]


def lay_parts(
    figure: Figure,
    parts: list[Part],
    colour: Field,
    softness: float,
    shade: float = 0.42,
    gloss: float = 0.06,
) -> None:
    """Melt the parts into one hill and lay it in one colour."""
    patch = patch_around(parts, margin=12)
    shape = melted([hill(part, patch.grid()) for part in parts], softness)
    figure.lay(patch, light(shape, gloss=gloss) * colour, coverage(shape), shade)
