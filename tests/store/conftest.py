"""Hypothesis without a stopwatch: a busy machine is no fault of the code."""

from hypothesis import settings

settings.register_profile("steady", deadline=None, derandomize=True, max_examples=50)
settings.load_profile("steady")
