"""How many examples a law is tried on: few in every run, more where somebody asks for them."""

import os

TIMES = int(os.environ.get("TAPMARK_EXAMPLES", "1"))


def examples(few: int) -> int:
    """Return `few`, times what TAPMARK_EXAMPLES says."""
    return few * TIMES
