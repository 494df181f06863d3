"""The picture of sizes shows the numbers of the study, in every kind of case."""

import functools
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from asking import DEMO
from matplotlib.text import Text
from sizing import steady

from waterbudget.errors import OutputError
from waterbudget.render.figures.panels import figure_bytes
from waterbudget.render.figures.sizes import sizes
from waterbudget.review.size import Question, find_size
from waterbudget.simulate.opened import Opened, open_site
from waterbudget.sizing.sizes import Sweep

MAY, SUMMER = steady.FIRST_DAY.replace(month=5), 123
SVG = "{http://www.w3.org/2000/svg}"


@functools.cache
def finding(sweep=None, question=None, days=SUMMER, first_day=MAY, rain_mm=2.0, **keys):
    opened = Opened(Path("site.toml"), steady.garden(**keys), steady.weather(days, first_day, rain_mm), ())
    return find_size(opened, sweep or Sweep(), question or Question())


@pytest.fixture(scope="module")
def demo():
    return find_size(open_site(DEMO / "site.toml"), Sweep(), Question(tank="Shed butt", roofs=True))


def picture(found, suffix):
    return figure_bytes(sizes(found)[0].figure, suffix)


def labelled(panel, label):
    (artist,) = [artist for artist in panel.get_children() if artist.get_label() == label]
    return artist


def marks(panel):
    _, labels = panel.get_legend_handles_labels()
    return labels


def test_lines_are_the_numbers_of_the_study(demo):
    met, mains, lasts, _ = sizes(demo)
    tried = demo.study.sizes
    for panel, label, values in (
        (met, "of the water", 100 * tried.met),
        (met, "of the days", 100 * tried.met_on_days),
        (mains, "mains water", tried.a_year("needed_l")),
        (lasts, "the season", tried.median_lasted),
    ):
        line = labelled(panel, label)
        np.testing.assert_array_equal(line.get_xdata(), tried.capacity_l)
        np.testing.assert_array_equal(line.get_ydata(), values)


def test_marks_stand_where_the_study_says(demo):
    met, mains, *_ = sizes(demo)
    found = demo.study
    assert labelled(met, "enough").get_xdata().tolist() == [found.sizes.capacity_l[found.enough]]
    assert labelled(mains, "worth it up to here").get_xdata().tolist() == [found.sizes.capacity_l[found.knee]]
    inside = [one.outcome for one in found.rules if one.outcome and one.outcome.capacity_l[0] >= 100]
    assert labelled(met, "rules of thumb").get_xdata().tolist() == [one.capacity_l[0] for one in inside]
    shapes = [labelled(met, label).get_marker() for label in ("enough", "rules of thumb")]
    assert len({*shapes, labelled(mains, "worth it up to here").get_marker()}) == 3, "apart without any colour"


def test_what_is_not_there_has_no_mark():
    met, mains, _ = sizes(finding(Sweep(to_l=3000, steps=5)))
    assert "enough" not in marks(met)
    assert "worth it up to here" not in marks(mains)


def test_the_title_is_the_verdict(demo):
    def title(findings):
        return sizes(findings)[0].get_title(loc="left").replace("\n", " ")

    assert title(demo) == "Shed butt: 1,510 L meets 95 %"
    assert (
        title(finding(Sweep(to_l=3000, steps=5), first_day=steady.FIRST_DAY, days=365))
        == "Butt: no size to 3,000 L meets 95 %, the tank limits"
    )
    assert (
        title(finding(Sweep(steps=5), roof_m2=4, start_l=0)) == "Butt: no size to 5,000 L meets 95 %, the roof limits"
    )


def test_years_are_told_by_the_middle_and_a_dry_one():
    two = finding(Sweep(steps=5), first_day=steady.FIRST_DAY, days=steady.TWO_YEARS)
    assert marks(sizes(two)[2]) == ["a middling year", "the driest year"]


def test_days_are_told_as_dates():
    year = finding(Sweep(steps=5), days=365, first_day=steady.FIRST_DAY)
    ticks = [label.get_text() for label in sizes(year)[2].get_yticklabels()]
    assert ticks == ["1 Jan", "1 Apr", "1 Jul", "1 Oct", "1 Jan"]
    few = finding(Sweep(steps=5), days=9, first_day=steady.FIRST_DAY.replace(month=6, day=10))
    ticks = [label.get_text() for label in sizes(few)[2].get_yticklabels()]
    assert ticks == ["10 Jun", "12 Jun", "14 Jun", "16 Jun", "18 Jun"]


def test_the_map_is_that_of_the_study(demo):
    roofs = sizes(demo)[3]
    assert roofs.get_xlim() == (100, 5000)
    assert roofs.get_ylim() == (4, 24)
    now = labelled(roofs, "now")
    assert (now.get_xdata().tolist(), now.get_ydata().tolist()) == ([350], [8])
    assert {"50 %", "75 %", "95 %"} <= {text.get_text() for text in roofs.texts}


def test_every_panel_shows_today(demo):
    for panel in sizes(demo)[:3]:
        assert any(set(line.get_xdata()) == {350} for line in panel.lines)


EDGES = {
    "two sizes": lambda: finding(Sweep(steps=2), Question(roofs=True)),
    "today beyond the sweep": lambda: finding(Sweep(to_l=400, steps=3), Question(roofs=True)),
    "all met everywhere": lambda: finding(Sweep(4000, 5000, 5), Question(roofs=True), roof_m2=100),
    "nothing met": lambda: finding(Sweep(to_l=90, from_l=50, steps=3), Question(roofs=True), dead_l=100),
    "no rain": lambda: finding(Sweep(steps=3), Question(roofs=True), rain_mm=0.0),
    "one day": lambda: finding(Sweep(steps=3), days=1, first_day=steady.FIRST_DAY.replace(month=6)),
    "a lake": lambda: finding(Sweep(1e4, 1e7, 5), Question(roofs=True)),
    "a cup": lambda: finding(Sweep(0.5, 2.0, 4), Question(roofs=True)),
    "a target near another line": lambda: finding(Sweep(target=0.9), Question(roofs=True)),
}


@pytest.mark.parametrize("make", EDGES.values(), ids=EDGES)
def test_edge_cases_are_drawn(make):
    assert len(picture(make(), ".png")) > 5000


def test_the_same_study_gives_the_same_bytes(demo):
    assert picture(demo, ".svg") == picture(demo, ".svg")


def test_another_kind_of_picture_is_refused(demo):
    with pytest.raises(OutputError, match=r"choose \.png, \.svg or \.pdf"):
        picture(demo, ".bmp")


@pytest.mark.parametrize("name", ["$x_1$ < & > \\frac{a}{b}", "W" * 80, "雨水"])
def test_awkward_names_are_drawn_as_they_are(name):
    site = steady.garden()
    tank = site.tank[0].model_copy(update={"name": name})
    feeding = [roof.model_copy(update={"tank": name}) for roof in site.roof]
    asking = [draw.model_copy(update={"tank": name}) for draw in site.draw]
    site = site.model_copy(update={"tank": [tank], "roof": feeding, "draw": asking})
    findings = find_size(Opened(Path("s"), site, steady.weather(SUMMER, MAY), ()), Sweep(steps=3), Question())
    drawn = ET.fromstring(picture(findings, ".svg"))  # noqa: S314  our own picture
    assert drawn.tag == f"{SVG}svg"
    assert "".join(drawn.findtext(f".//{SVG}title").split()).startswith("".join(name.split()))


def test_nothing_stands_outside_the_picture_or_on_the_data(demo):
    figure = sizes(demo)[0].figure
    figure_bytes(figure, ".png")
    box = figure.get_tightbbox()
    assert min(box.x0, box.y0) >= 0
    assert box.x1 <= figure.get_figwidth()
    assert box.y1 <= figure.get_figheight()
    boxes = [panel.get_tightbbox() for panel in figure.axes]
    assert all(upper.y0 >= lower.y1 - 1 for upper, lower in pairwise(boxes))
    for panel in figure.axes:
        assert panel.get_legend().get_window_extent().y0 >= panel.get_window_extent().y1 - 1


def test_letters_are_large_enough(demo):
    figure = sizes(demo)[0].figure
    letters_pt = [text.get_fontsize() for text in figure.findobj(Text)]
    assert figure.get_figwidth() == 7.0
    assert min(letters_pt) >= 9.0
