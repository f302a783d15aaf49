"""A window under test and its virtual screen on one core: they wake each other thousands of times.

Each question to the screen is a message and a wait. Across two cores that takes a multiple of what
it takes on one, in a virtual machine above all.
"""

import os
import sys


def stay_on_a_core(i: int, process: int = 0) -> None:
    """Keep a process (this one by default) on the i-th core that may be used, where Linux does."""
    if sys.platform == "linux":
        cores = sorted(os.sched_getaffinity(0))
        os.sched_setaffinity(process, {cores[i % len(cores)]})
