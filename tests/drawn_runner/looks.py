"""Colours and hair of a drawn runner, so that two athletes are told apart at a glance."""

from dataclasses import dataclass

import numpy as np

from tests.drawn_runner.relief import Field

Colour = tuple[int, int, int]


@dataclass(frozen=True)
class Look:
    """Skin, hair and kit. hair_tied: a tied tail behind the head."""

    skin: Colour = (176, 122, 88)
    hair: Colour = (52, 38, 30)
    hair_tied: bool = False
    vest: Colour = (236, 234, 226)
    band: Colour = (24, 118, 128)
    shorts: Colour = (34, 48, 78)
    sock: Colour = (238, 238, 234)
    shoe: Colour = (226, 92, 44)
    sole: Colour = (244, 243, 236)


WHITE_AND_TEAL = Look()
PLUM_AND_GOLD = Look(
    skin=(224, 172, 138),
    hair=(122, 78, 42),
    hair_tied=True,
    vest=(112, 48, 96),
    band=(240, 186, 62),
    shorts=(44, 42, 50),
    sock=(240, 238, 232),
    shoe=(60, 150, 190),
    sole=(238, 240, 240),
)


def tint(colour: Colour, brightness: float = 1.0) -> Field:
    """A colour as three numbers 0 to 1."""
    return np.asarray(colour, np.float32) / np.float32(255) * np.float32(brightness)
