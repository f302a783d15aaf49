"""Hypothesis without a stopwatch: a busy machine is no fault of the code."""

from hypothesis import settings

from tests.examples import examples

settings.register_profile("steady", deadline=None, derandomize=True, max_examples=examples(50))
settings.load_profile("steady")
