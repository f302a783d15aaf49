"""Runs built from published coordinates beside the checkout; nothing of them is kept here.

S and J: one sprinter at 9.5 and 3.6 m/s (Dorn, Schache & Pandy, J. Exp. Biol. 215, 2012,
10.1242/jeb.064527); T: one distance runner at 5 m/s on a treadmill (Hamner & Delp, J. Biomech. 46,
2013, 10.1016/j.jbiomech.2012.11.024). Each leg is fed as the near one; the shoulder tap is the
middle of both shoulders, as in the sums that were worked out beside them.
"""

import csv
from collections.abc import Callable, Mapping
from functools import lru_cache
from pathlib import Path

from tapmark.marks.points import SIDE_EVENTS
from tapmark.marks.run import KeyFrame, Point, Run, SetUp, Source, Step, Tap

Row = Mapping[str, str]
Place = tuple[float, float, float]  # X forward, Y up, Z to the runner's right, metres

FILES = {
    "S": ("sprinter_9p5mps_250hz.csv", 250.0),
    "J": ("sprinter_3p6mps_250hz.csv", 250.0),
    "T": ("treadmill_5mps_100hz.csv", 100.0),
}
# Foot and rows of touchdown, mid-stance, toe-off, peak knee lift, opposite touchdown.
STEPS = {
    "S": "r 50 57 78 81 107/l 107 115 135 140 165/r 165 174 193 198 221/l 221 230 250 255 280",
    "J": "l 42 57 99 92 136/r 136 153 194 187 229/l 229 246 287 280 325/r 325 341 384 374 418/"
    "l 418 435 476 468 516",
    "T": "r 11 19 31 28 39/l 39 47 59 58 68/r 68 75 87 85 95/l 95 103 115 114 123/"
    "r 123 132 143 141 153/l 153 160 172 170 180/r 180 188 199 197 209/l 209 217 229 227 237/"
    "r 237 245 257 256 266/l 266 275 287 285 296/r 296 304 315 313 326/l 326 334 345 343 356/"
    "r 356 363 375 373 384/l 384 392 404 402 412/r 412 420 432 430 441/l 441 448 461 458 468",
}
ALL = [(who, i) for who in STEPS for i in range(len(STEPS[who].split("/")))]
PX_PER_M = 400.0
Camera = Callable[[Place], Point]


@lru_cache(maxsize=3)
def table(path: Path) -> dict[int, Row]:
    """Return the rows of a file by frame number."""
    with path.open(encoding="utf-8", newline="") as file:
        return {int(row["frame"]): row for row in csv.DictReader(file)}


def feet(who: str, i_step: int) -> tuple[str, str, tuple[int, ...]]:
    """Return near side, far side and the five rows of a step."""
    foot, *rows = STEPS[who].split("/")[i_step].split()
    near, far = ("right", "left") if foot == "r" else ("left", "right")
    return near, far, tuple(map(int, rows))


def place(row: Row, name: str) -> Place | None:
    """Return a point of a row in metres, None for an empty cell."""
    cells = [row[f"{name}_{axis}_m"] for axis in "xyz"]
    return None if "" in cells else (float(cells[0]), float(cells[1]), float(cells[2]))


def points_of(row: Row, near: str, far: str) -> dict[str, Place]:
    """Return the tool's points of a row, seen from the near side."""
    names = {"hip": f"{near}_hip", "elbow": f"{near}_elbow"}
    names |= {f"near {joint}": f"{near}_{joint}" for joint in ("knee", "ankle", "toe")}
    names |= {f"far {joint}": f"{far}_{joint}" for joint in ("knee", "ankle")}
    found = {point: place(row, name) for point, name in names.items()}
    shoulders = [place(row, f"{side}_shoulder") for side in (near, far)]
    a, b = (each or (0.0, 0.0, 0.0) for each in shoulders)
    middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2, (a[2] + b[2]) / 2)
    return {point: xyz for point, xyz in found.items() if xyz} | {"shoulder": middle}


def flat(place_m: Place, sign: int) -> Point:
    """Return px of a plain side view: no perspective."""
    return 3000.0 + sign * PX_PER_M * place_m[0], 900.0 - PX_PER_M * place_m[1]


SPRINTS = "S"  # at 9.5 m/s; J at 3.6 and T at 5 are slower than a sprint


def run_of_step(
    folder: Path, who: str, i_step: int, camera: Callable[[Place, int], Point] = flat
) -> Run:
    """Return one published step as a marked run; left steps run right to left."""
    name, hz = FILES[who]
    near, far, rows = feet(who, i_step)
    sign = 1 if near == "right" else -1
    frames = []
    for event, number in zip(SIDE_EVENTS, rows, strict=True):
        at = points_of(table(folder / "data" / name)[number], near, far)
        taps = tuple(Tap(point, camera(xyz, sign)) for point, xyz in at.items())
        frames.append(KeyFrame(event, number, (number - 1) / hz, 1 / hz, taps=taps))
    return Run(
        source=Source("clip", name, (6000, 2000)),
        set_up=SetUp(
            direction="left to right" if sign > 0 else "right to left",
            slow_factor=1.0,
            rate_source="file",
            context="sprint" if who == SPRINTS else "race pace",
            camera="tripod, levelled",
            camera_distance_m=12.0,
        ),
        steps=(Step(tuple(frames)),),
    )
