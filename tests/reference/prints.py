"""Tables as printed: every figure stays text, so that its last digit says how well it is known."""

import csv
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest

DATA = Path(__file__).parent / "data"


def table(name):
    """The rows of a table, as text. Its first line is the source."""
    with (DATA / f"{name}.csv").open(encoding="utf-8", newline="") as handle:
        source = handle.readline()
        assert source.startswith("# source: "), name
        return list(csv.DictReader(handle))


def printed(text):
    """The figure as printed, within half of its last digit; an exact tie may fall to either side by a rounding."""
    figure = float(text)
    half_last_digit = 0.5 * 10.0 ** int(Decimal(text).as_tuple().exponent)
    return pytest.approx(figure, rel=0, abs=half_last_digit + 4 * np.spacing(abs(figure)))
