"""The public pictures are those of the commands and the report."""

from pathlib import Path

import numpy as np
import pytest

import waterbudget
from waterbudget import figures
from waterbudget.odds.summers import Wanted
from waterbudget.report.fan import fan_picture
from waterbudget.report.hotspell import find_hotspell
from waterbudget.report.hotspell_figure import hotspell_picture
from waterbudget.report.line import find_line
from waterbudget.report.line_figure import line_picture
from waterbudget.report.odds import find_odds
from waterbudget.report.size import Question, find_size
from waterbudget.report.size_figures import size_picture
from waterbudget.simulate.opened import open_site
from waterbudget.sizing.sizes import Sweep
from waterbudget.spell.hot import Spell

DEMO = Path(waterbudget.__file__).parents[1] / "data_demo"


def opened(name):
    return open_site(DEMO / name, every_year=True)


FINDINGS = {
    "odds": (
        lambda: find_odds(opened("years/site.toml"), Wanted(), {}, keep_levels=True),
        figures.odds,
        fan_picture,
    ),
    "sizes": (
        lambda: find_size(opened("allotment/site.toml"), Sweep(steps=5), Question()),
        figures.sizes,
        size_picture,
    ),
    "hotspell": (
        lambda: find_hotspell(opened("allotment/site.toml"), Spell(days=7), {}),
        figures.hotspell,
        hotspell_picture,
    ),
    "line": (lambda: find_line(opened("hose/site.toml"), None, None), figures.line, line_picture),
}


@pytest.mark.parametrize(("find", "draw", "picture"), FINDINGS.values(), ids=FINDINGS)
def test_findings_are_drawn_as_by_the_command(find, draw, picture):
    findings = find()
    axes = draw(findings)
    assert isinstance(axes, np.ndarray)
    assert len(axes) >= 2
    assert figures.figure_bytes(axes[0].figure, ".svg") == picture(findings, ".svg")


def test_a_run_is_drawn_in_plain_words():
    site = waterbudget.load_site(DEMO / "allotment" / "site.toml")
    result = waterbudget.run(site, waterbudget.read_weather(DEMO / "allotment" / "weather.csv", site))
    assert len(figures.level(result)) == 2
    assert len(figures.bed(result)) == len(site.bed)
    assert figures.balance(result).get_title(loc="left") == "All stores together"


def test_every_public_picture_is_there():
    assert set(figures.__all__) == {
        name for name in dir(figures) if callable(getattr(figures, name)) and name.islower()
    }
