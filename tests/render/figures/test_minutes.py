"""The card says what the screen says."""

import pytest
from asking import DEMO

from waterbudget.answers.minutes import lines_of
from waterbudget.errors import InputError
from waterbudget.questions import find_minutes


@pytest.fixture(scope="module")
def demo():
    return find_minutes(DEMO / "site.toml")


def test_every_line_of_every_zone_is_on_the_card(demo):
    panels = demo.plot()
    assert [panel.get_title(loc="left") for panel in panels] == ["North line", "South line"]
    for panel, one in zip(panels, demo.finding.zones, strict=True):
        words = [" ".join(text.get_text().split()) for text in panel.texts]
        for line in lines_of(one):
            assert {line.when, line.long} <= set(words)
            assert line.often in words


def test_rain_and_warm_stores_stand_below(demo):
    north, south = ([text.get_text() for text in panel.texts] for panel in demo.plot())
    assert north[-1] == "Not when 4 mm of rain fell in the 2 days before."
    assert south[-3].startswith("These minutes count on rain as in 2031")
    assert south[-1].startswith("No mist or spray from stores above 20 °C")


def test_too_few_axes_are_refused(demo):
    (panel, *_) = demo.plot()
    with pytest.raises(InputError, match="got 1 axes to draw in; give 2, for each zone"):
        demo.plot(panel)
