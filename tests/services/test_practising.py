"""Practice on a drawn runner: the truth gives an empty card, a known fault shows with its size."""

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from zlib import crc32

import pytest

from tapmark.errors import NotThere, StoreError
from tapmark.marks.run import Run, Step, Tap
from tapmark.services.practising import (
    ErrorCard,
    error_card,
    is_drawn,
    new_runner,
    right_pictures,
    true_run,
    truth_about,
)
from tapmark.services.samples import Truth
from tapmark.store.consent import consent_state
from tapmark.store.squad import Squad, open_squad
from tests.drawn_runner.coach import ELSEWHERE_SD_PERCENT, TAP_SD_PERCENT, tapping_error
from tests.drawn_runner.drill import practice_samples
from tests.drawn_runner.make_samples import BEFORE, truth_of
from tests.store.made import squad_of

TODAY = "2026-05-14"
DRAWN = (1, 2, 3)


@pytest.fixture
def practice(tmp_path: Path) -> Callable[[int], tuple[Squad, str]]:
    """Return a function n -> practice squad and code of the n-th drawn runner in it."""

    def made(n: int) -> tuple[Squad, str]:
        for _ in range(n):
            code, _, _ = new_runner(tmp_path / "practice", TODAY)
        return open_squad(tmp_path / "practice"), code

    return made


def marked(squad: Squad, code: str, changed: Callable[[str, Tap], Tap]) -> Run:
    """The drawn run with every tap at the truth, then changed."""
    run = squad.load_run(code, TODAY, "run-1")
    true = true_run(truth_about(squad, code), run)
    frames = tuple(
        replace(frame, taps=tuple(changed(frame.event, tap) for tap in frame.taps))
        for frame in true.steps[0].key_frames
    )
    return replace(true, steps=(Step(frames),))


def leg_px(truth: Truth) -> float:
    """Leg length of a drawn runner in the frame."""
    return float(truth["picture"]["px_per_m"] * truth["athlete"]["leg_length_cm"] / 100)


def unchanged(event: str, tap: Tap) -> Tap:
    return tap


@pytest.mark.parametrize("n", DRAWN)
def test_a_run_marked_at_the_truth_has_nothing_to_mend(
    practice: Callable[[int], tuple[Squad, str]], n: int
) -> None:
    squad, code = practice(n)

    card = error_card(squad, code, marked(squad, code, unchanged))

    assert {off for _, off in card.frames} == {0}
    assert max(kind.sd for kind in card.kinds) < 1e-9
    assert sum(kind.n for kind in card.kinds) == 32
    assert card.shifts == () and card.left_open == 0
    assert max(abs(row.difference) for row in card.rows) < 1e-9 and len(card.rows) > 15


@pytest.mark.parametrize(("by", "off"), [(1, 1), (-2, -2)])
def test_a_picture_too_late_or_too_early_is_counted_and_its_taps_are_no_fault(
    practice: Callable[[int], tuple[Squad, str]], by: int, off: int
) -> None:
    squad, code = practice(1)
    truth, run = truth_about(squad, code), squad.load_run(code, TODAY, "run-1")
    pictures = right_pictures(truth)
    pictures["toe-off"] += by

    card = error_card(squad, code, true_run(truth, run, pictures))

    assert dict(card.frames)["toe-off"] == off
    assert sum(abs(each) for _, each in card.frames) == abs(off)
    assert max(kind.sd for kind in card.kinds) < 1e-9


@pytest.mark.parametrize("n", DRAWN)
def test_a_habit_shows_forward_as_the_runner_goes_whichever_way_that_is(
    practice: Callable[[int], tuple[Squad, str]], n: int
) -> None:
    squad, code = practice(n)
    truth = truth_about(squad, code)
    forward = 0.03 * leg_px(truth) * (1 if truth["runs"] == "left to right" else -1)

    def hips_forward(event: str, tap: Tap) -> Tap:
        assert tap.at_px
        x, y = tap.at_px
        return replace(tap, at_px=(x + forward, y)) if tap.point == "hip" else tap

    card = error_card(squad, code, marked(squad, code, hips_forward))

    (shift,) = card.shifts
    # the leg in the picture is 1.08 × thigh + shank, the drawn one is hip to ground: a few % apart
    assert shift.kind == "hip" and shift.forward_pct_leg == pytest.approx(3.0, rel=0.05)
    assert abs(shift.up_pct_leg) < 1e-9


def test_the_scatter_of_seeded_coaches_comes_back_with_its_true_size(
    practice: Callable[[int], tuple[Squad, str]],
) -> None:
    """20 coaches with the spreads written in `drawn_runner.coach`; 100 hip taps are good to 5 %."""
    squad, code = practice(1)
    px = leg_px(truth_about(squad, code))
    found: dict[str, list[float]] = {}
    for seed in range(20):
        card = error_card(squad, code, marked(squad, code, as_coach(px, seed)))
        for kind in card.kinds:
            found.setdefault(kind.kind, []).append(kind.sd**2)

    for kind, squares in found.items():
        asked = TAP_SD_PERCENT.get(kind, ELSEWHERE_SD_PERCENT)
        enough = 0.15 if kind != "toe" else 0.35  # one toe a step
        assert (sum(squares) / len(squares)) ** 0.5 == pytest.approx(asked, rel=enough), kind


def as_coach(px: float, seed: int) -> Callable[[str, Tap], Tap]:
    def tapped(event: str, tap: Tap) -> Tap:
        assert tap.at_px
        own_seed = crc32(f"{event} {tap.point} {seed}".encode())
        at = tapping_error({event: {tap.point: tap.at_px}}, own_seed, px)
        return replace(tap, at_px=at[event][tap.point])

    return tapped


def test_a_hidden_point_is_counted_and_not_measured(
    practice: Callable[[int], tuple[Squad, str]],
) -> None:
    squad, code = practice(1)

    def without_toe(event: str, tap: Tap) -> Tap:
        return Tap(tap.point, None, "hidden") if tap.point == "near toe" else tap

    card = error_card(squad, code, marked(squad, code, without_toe))

    assert card.left_open == 1 and "toe" not in {kind.kind for kind in card.kinds}


def test_the_drawn_runner_may_be_filmed_and_nothing_is_marked_yet(
    practice: Callable[[int], tuple[Squad, str]],
) -> None:
    squad, code = practice(1)

    assert is_drawn(squad, code)
    assert consent_state(squad.athlete(code), "film", TODAY) == "given"
    run = squad.load_run(code, TODAY, "run-1")
    assert not list(run.taps()) and run.set_up.direction
    with pytest.raises(NotThere, match="Nothing is tapped yet"):
        error_card(squad, code, run)


def test_the_next_runner_gets_the_next_code(
    practice: Callable[[int], tuple[Squad, str]],
) -> None:
    squad, code = practice(4)

    assert code == "D04" and squad.codes() == ("D01", "D02", "D03", "D04")
    assert truth_about(squad, "D04") == truth_about(squad, "D01")  # from the first again


def test_the_shipped_truth_is_that_of_the_generator(
    practice: Callable[[int], tuple[Squad, str]],
) -> None:
    """Points and key frames of each clip, held against the drawn runner itself."""
    squad, _ = practice(3)
    for sample in practice_samples():
        truth = truth_about(squad, sample.code)
        drawn = json.loads(json.dumps(truth_of(sample)))
        assert truth == drawn
        assert right_pictures(truth) == {e: p.number + BEFORE for e, p in sample.pictures.items()}


def test_a_squad_of_real_athletes_is_refused_and_left_alone(tmp_path: Path) -> None:
    squad = squad_of(tmp_path / "Tuesday")

    with pytest.raises(StoreError, match="real athletes"):
        new_runner(squad.folder, TODAY)

    assert squad.codes() == ("K07", "M12") and not (squad.folder / "film").exists()
    with pytest.raises(NotThere, match="no drawn runner"):
        error_card(squad, "K07", squad.load_run("K07", "2026-03-14", "run-1"))


def test_a_card_speaks_plainly(practice: Callable[[int], tuple[Squad, str]]) -> None:
    from tapmark.app.squad.practice import sentences

    squad, code = practice(1)
    card = error_card(squad, code, marked(squad, code, unchanged))
    said = list(sentences(card))
    assert said[0] == "All 5 key frames stand on the right frame."
    assert "as close to the true places" in said[1]

    late = replace(card, frames=(("touchdown", -1), ("toe-off", 2)))
    loose = replace(late, kinds=tuple(replace(kind, sd=2 * kind.usual) for kind in card.kinds[:1]))
    words = " ".join(sentences(loose))
    assert "touchdown 1 frame too early, toe-off 2 frames too late" in words
    assert f"Look twice at: {card.kinds[0].kind}" in words
    assert isinstance(card, ErrorCard)
