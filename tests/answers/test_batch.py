"""What very many gardens ask together, in words and in axes."""

import datetime as dt
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from waterbudget.answers.batch import amount, answer
from waterbudget.batch.parts import SUMMED
from waterbudget.batch.run import Done
from waterbudget.batch.town import together
from waterbudget.errors import InputError
from waterbudget.render.figures.batch import batch as draw
from waterbudget.render.text import text

DAYS = 20


def days(group, capacity_l, needed_l, caught_l, kept_l):
    """Twenty days of ten gardens that ask for 100 L each and get what the mains do not give from their stores."""
    sums = {"asked_l": 1000.0, "needed_l": needed_l, "rain_l": 1000.0 - np.array(needed_l), "level_l": 0.0}
    drained = {"caught_l": caught_l, "to_drain_l": np.array(caught_l) - kept_l}
    dates = pd.date_range("2031-06-01", periods=DAYS)
    return pd.DataFrame({"date": dates, "group": group, "capacity_l": capacity_l, "gardens": 10.0, **sums, **drained})


def done(*parts, **changes):
    daily = pd.concat(parts)[list(SUMMED)]
    sizes = int(daily["capacity_l"].nunique())
    found = Done("town.csv", Path("results.parquet"), 10, 0, sizes, 10, 0, (), 4, daily, tuple(together(daily)))
    return replace(found, **changes)


RISING = np.linspace(0.0, 600.0, DAYS)
STORM = np.where(np.arange(DAYS) == 3, 5000.0, 0.0)


def test_the_worst_day_stands_first_and_beside_it_that_without_stores():
    found = done(days("", np.nan, RISING, STORM, STORM * 0.3))
    (every,) = found.together
    assert (every.day.first, every.day.litres) == (dt.date(2031, 6, 20), 600.0)
    assert (every.week.first, every.bare_week.litres) == (dt.date(2031, 6, 14), 7000.0)
    assert every.week.litres == pytest.approx(RISING[-7:].sum())
    assert (every.storm_caught_l, every.storm_kept_l) == (5000.0, pytest.approx(1500.0))
    told = answer(found)
    assert told.verdict == (
        (
            "With their stores 10 gardens take at most 600 L of mains water in a day, on 20 June 2031; without stores "
            "1,000 L, on 1 June 2031: 40 % less."
        ),
        "On the 1 day of the heaviest runoff the stores keep 1,500 L of 5,000 L out of the drain (30 %).",
        "At 4 of 10 sites the stored rain lasts every day of its weather.",
    )


def test_sizes_tell_which_is_the_first_to_halve_the_worst_day():
    parts = [days("", size, RISING * share, STORM, 0.0) for size, share in ((0.0, 1 / 0.6), (200.0, 1.0), (500.0, 0.5))]
    told = answer(done(*parts))
    assert told.verdict[0] == (
        "Without stores 10 gardens take 1,000 L of mains water on the worst day, 1 June 2031. With 500 L at each it is "
        "300 L at most: 70 % less."
    )
    assert told.of_kind("help") == ["500 L at each is the smallest size tried that halves the worst day."]
    assert [row[0] for row in told.tables[0].rows] == [0.0, 200.0, 500.0]


def test_stores_that_never_run_dry_need_no_mains():
    told = answer(done(days("", np.nan, RISING * 0.0, STORM, STORM)))
    assert told.verdict[0] == (
        "With the stores 10 gardens need no mains water on any day; without stores up to 1,000 L a day, on 1 June 2031."
    )


def test_stores_that_are_empty_by_then_lower_nothing():
    told = answer(done(days("", 200.0, np.where(np.arange(DAYS) > 10, 1000.0, 0.0), STORM, 0.0)))
    assert told.verdict[0].endswith(": no less, for by then the stores are empty.")
    assert told.of_kind("help")[0].startswith("None of the sizes halves the worst day")


def test_many_groups_leave_the_short_screen_short():
    groups = [days(f"Ward {number}", np.nan, RISING, STORM, 0.0) for number in range(30)]
    told = answer(done(*groups, by="ward"))
    assert len(text(told, 100, full=False).splitlines()) <= 30
    assert [table.full for table in told.tables] == [False, True]
    assert len(told.tables[1].rows) == 30
    assert "Ward 29" in text(told)


def test_nothing_ran():
    nothing = done(days("", np.nan, RISING, STORM, 0.0), faulty=10, faults=("a.csv: row 2: x",) * 3, together=())
    told = answer(nothing)
    assert told.verdict == ("None of the 10 sites could be run.",)
    assert told.of_kind("warn") == ["a.csv: row 2: x"] * 3 + ["... and 7 more"]
    with pytest.raises(InputError, match="no site ran"):
        draw(nothing)


def test_the_curve_is_drawn_over_the_sizes():
    found = done(*(days("", size, RISING / (1.0 + size), STORM, 0.0) for size in (0.0, 1.0, 3.0)))
    (panel,) = draw(found)
    curve = next(line for line in panel.lines if line.get_label() == "worst day")
    assert curve.get_xdata().tolist() == [0.0, 1.0, 3.0]
    np.testing.assert_allclose(curve.get_ydata(), [0.6, 0.3, 0.15])


@pytest.mark.parametrize(
    ("litres", "told"), [(0.0, "0 L"), (940.4, "940 L"), (9_994.0, "9,990 L"), (12_345.0, "12 m³")]
)
def test_amounts(litres, told):
    assert amount(litres) == told
