"""Property tests draw the same examples on every machine and have no deadline on a slow one."""

from hypothesis import settings

from tests.examples import examples

settings.register_profile("steady", deadline=None, derandomize=True, max_examples=examples(50))
settings.load_profile("steady")
