"""Invented squads of drawn runners for the tests of services: real taps, no picture of anybody."""

import os
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from functools import cache
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image

from tapmark.marks.people import CONSENTS, Athlete, Consent, Length
from tapmark.marks.run import KeyFrame, Run, SetUp, Source, Step, Tap
from tapmark.measures import compute
from tapmark.services.places import VisitPlace
from tapmark.services.season import Season, season_and_readings
from tapmark.store.squad import Squad, make_squad
from tests.drawn_runner.athletes import OVERSTRIDES, RUNS_WELL
from tests.drawn_runner.camera import View
from tests.drawn_runner.runs import drawn_run
from tests.report.made import plain_limbs

TODAY = "2026-07-01"
AGREED = "2026-01-10"
FIRST, SECOND, THIRD = "2026-04-01", "2026-05-06", "2026-06-10"
STYLES = {"well": RUNS_WELL, "over": OVERSTRIDES}


def agreed(code: str = "K07", birth_year: int | None = 2000, **other: object) -> Athlete:
    """An athlete, 26 in the year of these tests, who has said yes to everything."""
    yes = tuple(Consent(use, True, "parent", AGREED) for use in CONSENTS)
    length = (Length("leg", 88.0, AGREED),)
    athlete = Athlete(code, birth_year, "sprint", lengths=length, consents=yes)
    return replace(athlete, **other)  # type: ignore[arg-type]


def with_answer(athlete: Athlete, use: str, state: str) -> Athlete:
    """The athlete with one use of pictures in one of store.gates.STATES."""
    others = tuple(c for c in athlete.consents if c.use != use)
    answers = {
        "given": (Consent(use, True, "parent", AGREED),),
        "never asked": (),
        "refused": (Consent(use, False, "parent", AGREED),),
        "withdrawn": (Consent(use, True, "parent", AGREED, "", "2026-06-20"),),
        "expired": (Consent(use, True, "parent", AGREED, "2026-06-30"),),
        "not yet": (Consent(use, True, "parent", "2026-07-02"),),
    }
    return replace(athlete, consents=(*others, *answers[state]))


def run_of(style: str = "well", seed: int = 1, to_left: bool = False, **answers: object) -> Run:
    """A drawn pass as a seeded coach marked it; answers are those of its set-up."""
    run = _drawn(style, seed, to_left)
    return replace(run, set_up=replace(run.set_up, **answers), marked_by="S")  # type: ignore[arg-type]


READ = cache(compute._read)  # noqa: SLF001


@contextmanager
def quick_pages() -> Iterator[None]:
    """Draw limbs with few corners, and read a run that is measured again only once.

    Readings are functions of values, held by tests/measures; pages are held by tests/report.
    """
    with plain_limbs(), pytest.MonkeyPatch.context() as patch:
        patch.setattr(compute, "_read", READ)
        yield


@cache
def _drawn(style: str, seed: int, to_left: bool) -> Run:
    return drawn_run(STYLES[style], View(direction=-1 if to_left else 1), seed=seed)


def rear_of(foot: str, turn_px: float) -> Run:
    """A rear view of one foot whose heel line turns by so many px on 60."""
    toward = -1.0 if foot == "right" else 1.0
    frames = []
    for i, event in enumerate(("last contact", "most turned")):
        heel = (500.0 + toward * i * turn_px, 340.0)
        taps = (Tap("heel centre", heel), Tap("forefoot centre", (500.0, 400.0)))
        frames.append(KeyFrame(event, 240 + 12 * i, 1 + 0.05 * i, 1 / 240, taps=taps))
    direction = "left to right" if foot == "right" else "right to left"
    set_up = SetUp(direction=direction, slow_factor=1.0, pain="no")
    return Run(
        "rear",
        source=Source("stills", "", (1000, 800), 2),
        set_up=set_up,
        steps=(Step(tuple(frames)),),
    )


def squad_of(
    folder: Path,
    athletes: Sequence[Athlete],
    visits: Mapping[str, Sequence[tuple[str, Sequence[Run]]]] | None = None,
) -> Squad:
    """A squad on the disk; visits: code -> (date, runs). Without: one visit of one pass each."""
    squad = make_squad(folder, "Tuesday")
    for athlete in athletes:
        squad.save_athlete(athlete)
        usual = [(FIRST, [run_of()])]
        for dated, runs in (visits or {}).get(athlete.code, usual if visits is None else ()):
            for run in runs:
                squad.new_run(athlete.code, dated, run)
    return squad


def place(squad: Squad, code: str = "K07", dated: str = FIRST) -> VisitPlace:
    """Where a visit lies."""
    return VisitPlace(squad, code, dated)


def contents(folder: Path) -> dict[str, bytes]:
    """Every file below a folder, by its way from there."""
    found = (Path(way, name) for way, _, names in os.walk(folder) for name in names)
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in sorted(found)}


def jpeg(size: tuple[int, int]) -> bytes:
    """A bright picture of nobody."""
    out = BytesIO()
    Image.new("RGB", size, (235, 230, 220)).save(out, "JPEG")
    return out.getvalue()


def season_of(squad: Squad, code: str, today: date) -> Season:
    """An athlete's season without the visits it was read from."""
    return season_and_readings(squad, code, today)[0]
