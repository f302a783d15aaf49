"""A short fuzz; the hundred thousand are python -m tests.long.fuzz."""

from tests.long.fuzz import fuzz


def test_every_reader_answers_damaged_files_with_a_value_or_a_sentence() -> None:
    told = list(fuzz(3000, seed=11))

    assert len(told) == 12
    assert sum(sum(answers.values()) for _, answers, _ in told) > 2900
    refused = {name for name, answers, _ in told if set(answers) - {"a value"}}
    assert len(refused) == 10  # settings and locks fall back instead
