"""The facts of an answer: plain values for machines, under the names of the register, the same in every question.

Dates are YYYY-MM-DD, numbers unrounded, null what there is not. Each question's file has a Facts of its own.
"""

import datetime as dt

from typing_extensions import TypedDict

Period = TypedDict("Period", {"from": str, "to": str})


class Common(TypedDict):
    """What every question tells."""

    site: str
    period: Period | None


def period(first: dt.date, last: dt.date) -> Period:
    """The days from a first to a last."""
    return {"from": first.isoformat(), "to": last.isoformat()}
