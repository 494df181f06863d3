"""What stands in a calendar: whole days, in words."""

import datetime as dt
from typing import NamedTuple


class Event(NamedTuple):
    """Something for one day or several in a row."""

    day: dt.date
    summary: str
    description: str = ""
    days: int = 1
