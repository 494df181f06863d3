"""Ky by what a crop does on a day, by hand."""

import numpy as np
import pytest
from spell.beans import spell, table

from waterbudget.spell.stages import ky_by_stage
from waterbudget.spell.trial import sensitivity_of

BEANS = (0.2, 1.1, 0.75, 0.2)  # FAO-33 Table 24 (from memory)


def staged(days, **planting):
    """The beans with other stage lengths; the spell is 1 to 21 July, days 62 to 82 of a planting of 1 May."""
    tables = table()
    tables["bed"][0]["planting"][0] |= {"days": days, **planting}
    site, eve = spell(tables)
    return ky_by_stage(site, eve, sensitivity_of(site, eve).ky)


@pytest.mark.parametrize(
    ("days", "expected"),
    [
        ([40, 60, 40, 20], [0.2] * 21),
        ([0, 0, 365, 0], [1.1] * 21),
        ([30, 36, 20, 40], [0.2] * 5 + [1.1] * 10 + [0.75] * 6),  # grown on day 66, half of mid-season on day 76
        ([10, 20, 40, 40], [0.75] * 9 + [0.2] * 12),  # mid-season is over on day 70
    ],
)
def test_each_day_has_the_factor_of_its_stage(days, expected):
    found = staged(days)
    np.testing.assert_allclose(found.ky[:, 0], expected)
    assert found.is_known.all()
    assert set(expected) <= set(BEANS)


def test_where_nothing_stands_any_more_it_stays_nought():
    found = staged([20, 20, 20, 10])  # over on day 70, 9 July
    assert found.ky[9:, 0].tolist() == [0.0] * 12
    assert found.is_known[:9].all()
    assert not found.is_known[9:].any()


def test_a_crop_without_stages_keeps_that_of_its_season():
    found = staged([0, 0, 365, 0], crop="lettuce")
    assert found.ky[:, 0].tolist() == [1.0] * 21
    assert not found.differs
