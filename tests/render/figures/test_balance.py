from itertools import pairwise
from xml.etree import ElementTree as ET

import numpy as np
import pandas as pd
import pytest
from gardens import site_of, weather_of
from hypothesis import given, settings
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_rgba
from matplotlib.figure import Figure
from strategies import cases

import waterbudget
from waterbudget.answers.english import litres
from waterbudget.errors import InputError
from waterbudget.example import site_path
from waterbudget.render.figures.balance import DRAWN, LOST, MAINS, RAIN, STOCK, USED, Part, balance, balance_of
from waterbudget.render.figures.panels import figure_bytes
from waterbudget.simulate.books import SHORT_L

CLOSE = 1e-9  # relative to all the water


def weather(rain_mm):
    dates = pd.date_range("2031-05-01", periods=len(rain_mm))
    return weather_of([{"date": date, "rain_mm": mm, "et0_mm": 3.0} for date, mm in zip(dates, rain_mm, strict=True)])


@pytest.fixture(scope="module")
def school():
    site = waterbudget.load_site(site_path())
    return waterbudget.run(site, waterbudget.read_weather(site_path().parent / site.weather.file, site))


@pytest.fixture(scope="module")
def cascade():
    """Three days, worked by hand: 100 L of rain on the second day, an upper store of 120 L over a lower one of 50 L."""
    site = site_of(
        {
            "site": {"name": "Brackenfold"},
            "roof": [
                {
                    "name": "Shed roof",
                    "tank": "Upper",
                    "area_m2": 10.0,
                    "runoff_coefficient": 1.0,
                    "filter_efficiency": 1.0,
                }
            ],
            "tank": [
                {"name": "Upper", "capacity_l": 120.0, "start_l": 60.0, "overflow_to": "Lower"},
                {"name": "Lower", "capacity_l": 50.0, "start_l": 20.0, "mains": "direct", "loss_l_per_day": 1.0},
            ],
            "draw": [
                {"name": "Cans", "tank": "Upper", "l_per_day": 10.0},
                {"name": "Hens", "tank": "Lower", "l_per_day": 30.0},
            ],
        }
    )
    return waterbudget.run(site, weather([0.0, 10.0, 0.0]))


def test_all_stores_by_hand(cascade):
    # Upper: 60 - 10; + 100 - 10 of 120 with a spill of 30 (spill before draw: 50 + 100 - 120); 110 - 10 = 100.
    # Lower: 20, hens take 20 and the hose 10, left 0; nothing there, so the hose gives 30, + 30 of spill - 1 lost = 29;
    # hens take 29 and the hose 1, left 0.
    assert balance_of(cascade) == (
        [
            Part("Shed roof", 100.0, RAIN),
            Part("In the stores, 1\N{NO-BREAK SPACE}May", 80.0, STOCK),
            Part("Mains", 41.0, MAINS),
        ],
        [
            Part("Cans", 30.0, USED),
            Part("Hens", 90.0, USED),
            Part("Left in the stores, 3\N{NO-BREAK SPACE}May", 100.0, STOCK),
            Part("Leaks and evaporation", 1.0, LOST),
        ],
    )


def test_each_store_by_hand(cascade):
    assert balance_of(cascade, "Upper") == (
        [Part("Shed roof", 100.0, RAIN), Part("In the store, 1\N{NO-BREAK SPACE}May", 60.0, STOCK)],
        [
            Part("Cans", 30.0, USED),
            Part("Left in the store, 3\N{NO-BREAK SPACE}May", 100.0, STOCK),
            Part("Overflow to Lower", 30.0, LOST),
        ],
    )
    assert balance_of(cascade, "Lower") == (
        [
            Part("Overflow of Upper", 30.0, RAIN),
            Part("In the store, 1\N{NO-BREAK SPACE}May", 20.0, STOCK),
            Part("Mains", 41.0, MAINS),
        ],
        [Part("Hens", 90.0, USED), Part("Leaks and evaporation", 1.0, LOST)],
    )


@settings(max_examples=60, deadline=None)
@given(cases())
def test_what_came_is_what_went(case):
    table, rows = case
    result = waterbudget.run(site_of(table), weather_of(rows))
    for store in (None, *(tank.name for tank in result.site.tank)):
        told = balance_of(result, store)
        went_l, parts = sum(part.amount_l for part in told.went), len(told.came) + len(told.went)
        assert abs(told.total_l - went_l) <= CLOSE * max(told.total_l, 1.0) + parts * SHORT_L
        assert all(part.amount_l > 0.0 for side in told for part in side)


@pytest.mark.parametrize("store", [None, "Class-room tank", "Shed butt"])
def test_each_bar_is_a_part_and_begins_where_the_last_ended(school, store):
    panel, told = balance(school, store=store), balance_of(school, store)
    bars = [bar for group in panel.containers for bar in group]
    assert [group.get_label() for group in panel.containers] == [part.name for side in told for part in side]
    np.testing.assert_allclose([bar.get_width() for bar in bars], [part.amount_l for side in told for part in side])
    came, went = bars[: len(told.came)], bars[len(told.came) :]
    assert came[0].get_x() == 0.0
    assert all(one.get_x() + one.get_width() == pytest.approx(other.get_x()) for one, other in pairwise(came))
    assert went[0].get_x() + went[0].get_width() == pytest.approx(told.total_l)
    assert all(one.get_x() == pytest.approx(other.get_x() + other.get_width()) for one, other in pairwise(went))
    assert went[-1].get_x() == pytest.approx(0.0, abs=1e-6)
    for bar, part in zip(bars, [part for side in told for part in side], strict=True):
        face, edge, hatch = DRAWN[part.kind]
        assert (bar.get_facecolor(), bar.get_edgecolor(), bar.get_hatch()) == (to_rgba(face), to_rgba(edge), hatch)


def test_every_part_is_written_beside_its_bar(school):
    panel, told = balance(school), balance_of(school)
    words = [text.get_text().replace("\n", " ") for text in panel.texts]
    for part in [part for side in told for part in side]:
        assert words[words.index(part.name) + 1] == f"{litres(part.amount_l)} L"
    assert words.count(f"{litres(told.total_l)} L") == 2, "both sides add up to the same"


def test_kinds_differ_without_any_colour():
    assert len({(hatch, face == "#ffffff") for face, _, hatch in DRAWN.values()}) >= 3
    assert DRAWN[RAIN][0] != DRAWN[USED][0]


@pytest.mark.parametrize("width_in", [4.3, 7.0])
@pytest.mark.parametrize("store", [None, "Shed butt"])
def test_words_stand_beside_the_bars_and_inside_the_picture(school, store, width_in):
    panel = balance(school, store=store, width_in=width_in)
    FigureCanvasAgg(panel.figure).draw()
    inside, data = panel.figure.bbox, panel.get_window_extent()
    boxes = [text.get_window_extent() for text in panel.texts]
    assert all(box.x1 <= data.x0 or box.x0 >= data.x1 for box in boxes)
    assert all(box.x0 >= 0 and box.x1 <= inside.x1 and box.y0 >= 0 and box.y1 <= inside.y1 for box in boxes)
    names = sorted((box for box in boxes if box.x1 <= data.x0), key=lambda box: box.y0)
    assert all(lower.y1 <= upper.y0 + 1 for lower, upper in pairwise(names))


@pytest.mark.parametrize("name", ["W" * 80, "$x_1$ < & _ > {}", "a long name " * 6 + "of 80"])
def test_awkward_names_are_drawn(name):
    tank = {"name": name, "capacity_l": 100.0, "start_l": 50.0}
    site = site_of({"site": {"name": "B"}, "tank": [tank], "draw": [{"name": name, "tank": name, "l_per_day": 4.0}]})
    panel = balance(waterbudget.run(site, weather([0.0, 1.0])), store=name)
    FigureCanvasAgg(panel.figure).draw()
    inside = panel.figure.bbox
    assert all(text.get_window_extent().x1 <= inside.x1 for text in panel.texts)
    assert min(text.get_window_extent().x0 for text in panel.texts) >= 0
    assert panel.get_title(loc="left").replace("\n", "").replace(" ", "") == name.replace(" ", "")
    picture = figure_bytes(panel.figure, ".svg")
    assert ET.fromstring(picture).tag.endswith("svg")  # noqa: S314  our own picture


def test_nothing_at_all_is_drawn():
    site = site_of({"site": {"name": "B"}, "tank": [{"name": "Butt", "capacity_l": 100.0, "start_l": 0.0}]})
    result = waterbudget.run(site, weather([0.0]))
    assert balance_of(result) == ([], [])
    assert [text.get_text() for text in balance(result).texts] == ["It came from", "0 L", "It went to", "0 L"]


def test_given_axes_are_drawn_in(school):
    axes = Figure(figsize=(12, 9)).add_axes((0.3, 0.1, 0.5, 0.8))
    assert balance(school, axes) is axes
    assert axes.get_title(loc="left") == "All stores together"


def test_the_same_run_gives_the_same_svg(school):
    assert len({figure_bytes(balance(school).figure, ".svg") for _ in range(3)}) == 1


def test_an_unknown_store_is_refused(school):
    with pytest.raises(InputError, match='"Pond" is no store; there is "Class-room tank", "Shed butt"'):
        balance(school, store="Pond")


def test_a_run_without_days_is_refused(school):
    with pytest.raises(InputError, match="run with daily=True"):
        balance(waterbudget.run(school.site, school.weather, daily=False))
