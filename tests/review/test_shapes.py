"""A shape that does not fit its tank looks odd."""

import pytest
from journal.invented import DEMO

from waterbudget.answers.check import odd_sentence
from waterbudget.review.odd import OtherVolume, SizesWithoutShape, oddities
from waterbudget.simulate.opened import open_site
from waterbudget.simulate.run import run


def odd(tmp_path, text):
    path = tmp_path / "site.toml"
    path.write_text(text, "utf-8")
    (tmp_path / "weather.csv").write_bytes((DEMO.parent / "weather.csv").read_bytes())
    site = open_site(path)
    found = oddities(run(site.site, site.weather))
    return [odd_sentence(one) for one in found if isinstance(one, SizesWithoutShape | OtherVolume)]


@pytest.mark.parametrize(
    ("capacity_l", "is_odd"), [(1500, False), (1365, False), (1360, True), (1660, False), (1670, True)]
)
def test_a_shape_that_holds_another_volume_looks_odd(tmp_path, capacity_l, is_odd):
    """The cylinder holds pi/4 x 1.3 x 1.3 x 1.13 = 1.4999 m3."""
    text = (DEMO / "site.toml").read_text("utf-8").replace("../weather.csv", "weather.csv")
    said = odd(tmp_path, text.replace("capacity_l = 1500", f"capacity_l = {capacity_l}"))
    assert len(said) == is_odd
    for line in said:
        assert line.startswith(
            f"Class-room tank holds {round(capacity_l, -1):,} L by capacity_l and 1,500 L by its shape"
        )


def test_sizes_without_effect_look_odd(tmp_path):
    text = (DEMO / "site.toml").read_text("utf-8").replace("../weather.csv", "weather.csv")
    assert odd(tmp_path, text) == []
    assert odd(tmp_path, text.replace('shape = "upright-cylinder"', "")) == [
        "Class-room tank makes no use of inner_diameter_m and inner_height_m without shape."
    ]
    assert odd(tmp_path, text.replace("inner_height_m", "inner_width_m = 2\ninner_height_m")) == [
        'Class-room tank makes no use of inner_width_m beside shape = "upright-cylinder".'
    ]
