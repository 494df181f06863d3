"""Tables as printed: every figure stays text, so that its last digit says how well it is known."""

import csv
import os
from decimal import Decimal
from pathlib import Path
from typing import ClassVar

import numpy as np
import pytest

DATA = Path(__file__).parent / "data"


def table(name):
    """The rows of a table, as text. Its first line is the source."""
    with (DATA / f"{name}.csv").open(encoding="utf-8", newline="") as handle:
        source = handle.readline()
        assert source.startswith("# source: "), name
        return list(csv.DictReader(handle))


class Printed:
    """A printed figure; it equals what lies within half of its last digit, and notes what it was held against.

    An exact tie may fall to either side by a rounding.
    """

    checks: ClassVar[list[tuple[str, str, float]]] = []  # test, figure as printed, ours

    def __init__(self, text):
        self.text = text
        figure = float(text)
        half_last_digit = 0.5 * 10.0 ** int(Decimal(text).as_tuple().exponent)
        self.close = pytest.approx(figure, rel=0, abs=half_last_digit + 4 * np.spacing(abs(figure)))

    def __eq__(self, found):
        test = os.environ.get("PYTEST_CURRENT_TEST", "").removesuffix(" (call)").rpartition("::")[2]
        self.checks.append((test, self.text, float(found)))
        return found == self.close

    __hash__ = None

    def __repr__(self):
        return f"{self.text} as printed"


def printed(text):
    """The figure as printed, within half of its last digit."""
    return Printed(text)


def validity():
    """A line for every printed figure that was held against ours: test, printed, ours, difference."""
    rows = [(test, text, f"{ours:.6g}", f"{ours - float(text):+.2g}") for test, text, ours in Printed.checks]
    widths = [max((len(row[column]) for row in rows), default=0) for column in range(4)]
    return [
        f"{row[0]:<{widths[0]}}  "
        + "  ".join(f"{cell:>{width}}" for cell, width in zip(row[1:], widths[1:], strict=True))
        for row in [("check", "printed", "ours", "difference"), *rows]
    ]
