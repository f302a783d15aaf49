"""Mark one running step by hand, get honest numbers, print one page."""

__version__ = "0.1.0"
