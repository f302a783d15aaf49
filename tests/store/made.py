"""Invented runs, visits, athletes and squads for the tests of this room."""

import json
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

from hypothesis import strategies as st

from tapmark.marks import edits
from tapmark.marks.people import CLEARANCES, CONSENTS, Athlete, Consent, Length, Slot, Visit
from tapmark.marks.points import EVENTS, SECOND_LOOK, TAP_SETS, TURNING_LIMBS, prompts
from tapmark.marks.run import (
    ANSWERS,
    CAMERAS,
    CONTEXTS,
    DIRECTIONS,
    N_PLACES,
    PATH_POINTS,
    FreeMark,
    KeyFrame,
    Place,
    Run,
    SetUp,
    Source,
    Tap,
    TurningMark,
)
from tapmark.store.choices import OwnError, Phone, SquadChoices
from tapmark.store.shot_list import STATES, Shot, ShotList
from tapmark.store.squad import Squad, make_squad

SIZE = (1280, 720)
DAY = "2026-05-14"


def standard_run(marker: str = "AB", shift: float = 0.0) -> Run:
    """A run with one whole standard step of 32 taps."""
    run = Run(source=Source("stills", "run-1", SIZE, 60), marked_by=marker)
    for i, (event, points) in enumerate(prompts("side").items()):
        run = edits.set_key_frame(run, 0, event, 10 * i, 0.04 * i, 1 / 30)
        for j, point in enumerate(points):
            tap = Tap(point, (400.25 + 20 * i + shift, 200.5 + 30 * j))
            run = edits.place_tap(run, 0, event, tap)
    return run


def squad_of(folder: Path, codes: tuple[str, ...] = ("K07", "M12"), n_visits: int = 1) -> Squad:
    """A squad on the disk: each athlete with every consent, visits a month apart, one run each."""
    squad = make_squad(folder, "Tuesday")
    for i, code in enumerate(codes):
        squad.save_athlete(consenting(code))
        for j in range(n_visits):
            day = (date(2026, 3, 14) + timedelta(days=30 * j)).isoformat()
            squad.new_run(code, day, standard_run(shift=i + 7.0 * j))
    return squad


def consenting(code: str = "K07") -> Athlete:
    """An athlete who has said yes to everything, long ago."""
    yes = tuple(Consent(use, True, "parent", "2026-01-10") for use in CONSENTS)
    return Athlete(code, 2009, "sprint", lengths=(Length("leg", 86.5, DAY),), consents=yes)


def contents(folder: Path) -> dict[str, bytes]:
    """Every file below a folder, by its way from there."""
    files = (path for path in sorted(folder.rglob("*")) if path.is_file())
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in files}


numbers = st.floats(-1e6, 1e6, allow_nan=False)
times_s = numbers.filter(lambda each: each == 0 or abs(each) >= 1e-12)
positive = st.floats(1e-3, 1e6)
metres = st.floats(1e-3, 1e4)
words = st.text(st.characters(codec="utf-8"), max_size=30)
days = st.dates(date(1990, 1, 1), date(2100, 1, 1)).map(date.isoformat)
maybe_days = st.just("") | days
scalars = st.none() | st.booleans() | st.integers(-(10**9), 10**9) | numbers | words
junk = st.recursive(
    scalars, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(words, inner, max_size=3)
)
on_picture = st.tuples(st.floats(0, SIZE[0]), st.floats(0, SIZE[1]))
anywhere = st.tuples(numbers, numbers)
two_points = st.none() | st.tuples(anywhere, anywhere)
codes = st.from_regex(r"[A-Za-z]{1,2}[0-9]{1,6}", fullmatch=True).filter(
    lambda code: code[:3].lower() not in ("com", "lpt")
)


def taps(point: str) -> st.SearchStrategy[Tap]:
    placed = st.builds(Tap, st.just(point), on_picture, st.sampled_from(["sure", "guess"]))
    unplaced = st.builds(Tap, st.just(point), st.none(), st.sampled_from(["behind", "hidden"]))
    return placed | unplaced


@st.composite
def free_marks(draw: st.DrawFn) -> FreeMark:
    """A line, angle or note that can be drawn."""
    kind = draw(st.sampled_from(list(N_PLACES)))
    at_px = st.lists(on_picture, min_size=N_PLACES[kind], max_size=N_PLACES[kind], unique=True)
    named = words.filter(str.strip) if kind == "note" else words
    picture, time_s = draw(st.integers(0, 499)), draw(st.none() | times_s)
    return FreeMark(kind, picture, tuple(draw(at_px)), draw(named), time_s)


set_ups = st.builds(
    SetUp,
    direction=st.sampled_from(DIRECTIONS),
    is_mirrored=st.booleans(),
    context=st.sampled_from(CONTEXTS),
    slow_factor=st.none() | positive,
    rate_source=words,
    camera=st.sampled_from(CAMERAS),
    camera_distance_m=st.none() | metres,
    upright_px=two_points,
    scale_px=two_points,
    scale_m=st.none() | metres,
    speed_mps=st.none() | positive,
    leg_cm=st.none() | st.floats(1, 300),
    leg_source=st.sampled_from(["", "tape", "height"]),
    uses_neck_base=st.booleans(),
    zone=words,
    effort=st.none() | st.integers(0, 100),
    shoes=words,
    surface=words,
    wind=words,
    pain=st.sampled_from(ANSWERS),
    has_grown=st.booleans(),
)


@st.composite
def runs(draw: st.DrawFn) -> Run:
    """Runs made the only way the window makes them: by edits."""
    view = draw(st.sampled_from(list(EVENTS)))
    tap_set = draw(st.sampled_from(TAP_SETS))
    source = Source("clip", "../a.mp4", SIZE, 500, 12_345, draw(st.none() | positive), "ab12")
    run = Run(view, tap_set, source, draw(set_ups), marked_by=draw(words))
    for i_step in range(draw(st.integers(1, 2))):
        run = edits.add_step(run) if i_step else run
        run = draw(_marked(run, i_step))
    for mark in draw(st.lists(free_marks(), max_size=2)):
        run = edits.draw(run, mark)
    for _ in range(draw(st.integers(0, 3))):
        place = draw(st.builds(Place, st.integers(0, 499), on_picture, st.none() | times_s))
        run = edits.follow(run, draw(st.sampled_from(PATH_POINTS)), place)
    extra = draw(st.dictionaries(words.map(lambda key: "new " + key), junk, max_size=2))
    return replace(run, extra=tuple(sorted(extra.items())))


@st.composite
def _marked(draw: st.DrawFn, run: Run, i_step: int) -> Run:
    uses_neck = run.set_up.uses_neck_base
    for i, (event, points) in enumerate(prompts(run.view, run.tap_set, uses_neck).items()):
        if draw(st.integers(0, 4)) == 0:
            break
        times = draw(st.just((None, None)) | st.tuples(times_s, positive))
        run = edits.set_key_frame(run, i_step, event, 10 * i + draw(st.integers(0, 9)), *times)
        run = edits.change_frame(
            run, i_step, event, unsure_by=draw(st.integers(0, 2)), is_blurred=draw(st.booleans())
        )
        for point in draw(st.lists(st.sampled_from(points), unique=True, max_size=4)):
            run = edits.place_tap(run, i_step, event, draw(taps(point)))
        if event in SECOND_LOOK and draw(st.booleans()):
            run = edits.look_again(run, i_step, event, draw(taps("hip")))
    if draw(st.booleans()):
        mark = TurningMark(draw(st.sampled_from(TURNING_LIMBS)), 3, 5, 0.1, 0.2)
        run = edits.set_turning_mark(run, i_step, mark)
        run = edits.set_far_toe_off(run, i_step, KeyFrame("far toe-off", 1, 0.5))
        run = edits.tick(run, i_step, draw(words), draw(st.integers(0, 2)))
    return run


consents = st.builds(
    Consent,
    use=st.sampled_from(CONSENTS),
    is_given=st.booleans(),
    by=words,
    dated=maybe_days,
    expires=maybe_days,
    withdrawn=maybe_days,
)
extras = st.dictionaries(words.map(lambda key: "new " + key), junk, max_size=2).map(
    lambda found: tuple(sorted(found.items()))
)
athletes = st.builds(
    Athlete,
    code=codes,
    birth_year=st.none() | st.integers(1930, 2030),
    group=words,
    notes=words,
    lengths=st.lists(
        st.builds(Length, st.sampled_from(["leg", "height"]), st.floats(20, 250), days), max_size=2
    ).map(tuple),
    mass_kg=st.none() | st.floats(20, 150),
    consents=st.lists(consents, max_size=3).map(tuple),
    clearance=st.sampled_from(CLEARANCES),
    is_archived=st.booleans(),
    own_cue=words,
    goal_race=maybe_days,
    extra=extras,
)
slots = st.builds(Slot, st.integers(1, 18), words, maybe_days)
visits = st.builds(
    Visit,
    code=codes,
    dated=days,
    runs=st.lists(st.integers(1, 99).map(lambda i: f"run-{i}"), unique=True, max_size=3).map(tuple),
    slots=st.none() | st.lists(slots, max_size=2).map(tuple),
    reason=words,
    accepted=st.lists(st.integers(1, 18), max_size=3).map(tuple),
    notes=words,
    sheet_number=st.integers(0, 99),
    retest_week=words,
    ticked=st.lists(st.tuples(maybe_days, st.booleans(), words), max_size=3).map(tuple),
    coach_saw=words,
    extra=extras,
)
choices = st.builds(
    SquadChoices,
    name=words,
    neck_base=st.sampled_from(["not asked", "yes", "no"]),
    set_up=set_ups,
    tap_card=st.lists(
        st.builds(OwnError, words, st.just("hip"), st.floats(0, 100), st.integers(1, 50), days),
        max_size=2,
    ).map(tuple),
    phones=st.lists(st.builds(Phone, words, positive, days), max_size=2).map(tuple),
    season_ends=maybe_days,
    extra=extras,
)


shot_lists = st.builds(
    ShotList,
    dated=days,
    shots=st.lists(
        st.builds(Shot, words, words, words, st.sampled_from(STATES), words), max_size=3
    ).map(tuple),
    extra=extras,
)


def places(plain: object, way: tuple[object, ...] = ()) -> list[tuple[object, ...]]:
    """Every way into a plain JSON value, the value itself first."""
    inner = (
        plain.items()
        if isinstance(plain, dict)
        else enumerate(plain)
        if isinstance(plain, list)
        else ()
    )
    return [way, *(deeper for key, item in inner for deeper in places(item, (*way, key)))]


def changed(plain: object, way: tuple[object, ...], value: object) -> object:
    """A copy of a plain JSON value with one thing in it replaced."""
    if not way:
        return value
    copy = json.loads(json.dumps(plain))
    inner = copy
    for key in way[:-1]:
        inner = inner[key]
    inner[way[-1]] = value
    return copy
