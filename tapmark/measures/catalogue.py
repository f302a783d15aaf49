"""Which measures exist, in the order in which they are listed."""

from types import MappingProxyType

from tapmark.measures.row import LEGS, TRUNK_TOP, Row
from tapmark.measures.rows_at_contact import ROWS_AT_CONTACT
from tapmark.measures.rows_of_course import ROWS_OF_COURSE
from tapmark.measures.rows_of_stance import ROWS_OF_STANCE
from tapmark.measures.rows_of_time import ROWS_OF_TIME

__all__ = ["LEGS", "ROWS", "TRUNK_TOP", "Row", "row"]

ROWS: tuple[Row, ...] = (
    *ROWS_AT_CONTACT,
    *ROWS_OF_STANCE,
    *ROWS_OF_TIME,
    *ROWS_OF_COURSE,
)

_BY_KEY = MappingProxyType({each.key: each for each in ROWS})


def row(key: str) -> Row:
    """Return the row of a key; KeyError for a key that does not exist is our own mistake."""
    return _BY_KEY[key]
