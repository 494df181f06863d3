import re
from itertools import pairwise

import numpy as np
import pandas as pd
import pytest
from gardens import site_of, weather_of
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.layout_engine import ConstrainedLayoutEngine
from matplotlib.text import Text

import waterbudget
from waterbudget.errors import InputError
from waterbudget.example import site_path
from waterbudget.render.figures.bed import bed, beds_alone, driest
from waterbudget.render.figures.panels import figure_bytes
from waterbudget.variables import REGISTER


@pytest.fixture(scope="module")
def school():
    site = waterbudget.load_site(site_path())
    return waterbudget.run(site, waterbudget.read_weather(site_path().parent / site.weather.file, site))


def dry(beds, days=60, start="2031-05-01"):
    """Beds without rain or watering."""
    dates = pd.date_range(start, periods=days)
    rows = [{"date": date, "rain_mm": 0.0, "et0_mm": 5.0} for date in dates]
    tank = {"name": "Butt", "capacity_l": 100.0, "start_l": 50.0}
    return waterbudget.run(site_of({"site": {"name": "Brackenfold"}, "tank": [tank], "bed": beds}), weather_of(rows))


def plot(name="Bean bed", **keys):
    planting = {"planted": "05-11", "days": [10, 10, 10, 10], "kc": [1.0, 1.0, 1.0], "p": 0.5, "root_m": [0.5, 0.5]}
    return {"name": name, "area_m2": 2.0, "available_water_mm_m": 100.0, "planting": [planting]} | keys


def lines_of(panel):
    return {line.get_label(): line for line in panel.lines}


def hatched_days(panel):
    """The days under hatching, from their edges since 1970."""
    (spells,) = [each for each in panel.collections if each.get_label() == "thirsty days"]
    edges = [(path.vertices[:, 0].min(), path.vertices[:, 0].max()) for path in spells.get_paths()]
    return {day for first, after in edges for day in range(round(first), round(after))}


def left_pct(book):
    """FAO-56 chapter 8: all of TAW is there while nothing is missing."""
    return 100.0 * (1.0 - book["depletion_mm"] / book["taw_mm"])


def band(panel, name):
    """The corners of a band, [day since 1970, per cent]."""
    (drawn,) = [each for each in panel.collections if each.get_label() == name]
    return np.concatenate([path.vertices for path in drawn.get_paths()] or [np.zeros((0, 2))])


def test_the_line_is_the_water_left(school):
    axes = bed(school)
    assert [panel.get_title(loc="left") for panel in axes] == [one.name for one in school.site.bed]
    evenings = np.arange(len(school.weather.daily)) + 1.0 + np.datetime64("2031-05-01").astype(float)
    for panel, one in zip(axes, school.site.bed, strict=True):
        line = lines_of(panel)[REGISTER["left_pct"].heading]
        np.testing.assert_array_equal(line.get_xdata(), evenings)
        np.testing.assert_allclose(line.get_ydata(), left_pct(school.beds[school.beds["bed"] == one.name]))


def test_it_is_filled_from_nothing_at_the_foot_to_full_at_the_top(school):
    for panel in bed(school):
        assert panel.get_ylim() == (0.0, 100.0)
        assert band(panel, "thirsty")[:, 1].min() == 0.0


def test_the_bands_meet_where_the_crop_begins_to_thirst():
    """TAW 50 mm, RAW 25: below half of it the bed is thirsty, and it gets dry once 12.5 mm are used."""
    planting = {"planted": "05-01", "days": [20, 20, 20, 20], "kc": [1.0] * 3, "p": 0.5, "root_m": [0.5, 0.5]}
    result = dry([plot(planting=[planting])])
    (panel,) = bed(result)
    book = result.beds
    start = np.datetime64("2031-05-01").astype(float) + 1.0
    assert band(panel, "thirsty")[:, 1].max() == pytest.approx(50.0)
    assert band(panel, "getting dry")[:, 1].max() == pytest.approx(75.0)
    assert band(panel, "plenty")[:, 1].max() == pytest.approx(left_pct(book).max())
    for day, left in enumerate(left_pct(book)):
        tops = [
            band(panel, name)[band(panel, name)[:, 0] == start + day, 1].max()
            for name in ("thirsty", "getting dry", "plenty")
        ]
        assert max(tops) == pytest.approx(left)


def test_a_bare_bed_has_no_bands():
    (panel,) = bed(dry([plot(planting=[])]))
    assert all(len(band(panel, name)) == 0 for name in ("thirsty", "getting dry", "plenty"))
    assert len(band(panel, "nothing grows"))


@pytest.mark.parametrize("letters", ["Dr", "TAW", "RAW", "Ks"])
def test_no_letters_of_the_trade_are_shown(school, letters):
    axes = bed(school)
    words = " ".join(text.get_text() for text in axes[0].figure.findobj(Text))
    assert "plenty" in words
    assert letters not in words.split()


def test_thirsty_days_are_those_that_the_summary_counts(school):
    for panel, row in zip(bed(school), school.summary["beds"], strict=True):
        assert len(hatched_days(panel)) == row["stress_days"]
    assert any(row["stress_days"] for row in school.summary["beds"])


def test_a_bed_thirsts_while_more_than_raw_is_missing():
    # FAO-56 Eq. 84: Ks falls below 1 as soon as Dr exceeds RAW. TAW 50 mm, p 0.5 (ETc 5 mm/day), RAW 25 mm, 5 mm a day:
    # bare until 11 May, then Dr > 25 from some day on until the harvest 40 days later; a bare bed is never thirsty.
    result = dry([plot()])
    (panel,) = bed(result)
    start = np.datetime64("2031-05-01").astype(int)
    book = result.beds
    before_mm = np.concatenate([[0.0], book["depletion_mm"].to_numpy()[:-1]])
    grown = np.arange(60) >= 10
    grown[50:] = False
    handed_over = np.arange(60) == 10  # the depletion of the bare bed goes over in proportion to TAW
    over = {int(day) + start for day in np.flatnonzero(grown & ~handed_over & (before_mm > book["raw_mm"] + 1e-9))}
    assert over
    assert hatched_days(panel) - {start + 10} == over


@pytest.mark.parametrize(
    ("one", "told"),
    [
        (plot(), r"thirsty \d+ days, from \d+ May"),
        (plot(planting=[]), "nothing grows"),
        (plot(et_factor=0.0), "never thirsty"),
    ],
)
def test_each_bed_is_told_of(one, told):
    (panel,) = bed(dry([one]))
    assert pd.Series([panel.texts[0].get_text()]).str.fullmatch(told).all()


def test_the_first_thirsty_day_of_several_years_has_its_year():
    (panel,) = bed(dry([plot()], 2 * 365))
    assert re.fullmatch(r"thirsty \d+ days, from \d+ May 2031", panel.texts[0].get_text())


@pytest.mark.parametrize("many", [1, 2, 5])
@pytest.mark.parametrize("columns", [1, 2])
def test_any_number_of_beds_is_drawn_without_overlap(many, columns):
    axes = bed(dry([plot(f"Bed {number}") for number in range(many)]), columns=columns, width_in=3.6 * columns)
    figure = axes[0].figure
    FigureCanvasAgg(figure).draw()
    assert len(figure.axes) == len(axes) == many
    boxes = [panel.get_tightbbox() for panel in axes]
    assert all(not one.shrunk(0.99, 0.99).overlaps(other.shrunk(0.99, 0.99)) for one, other in pairwise(boxes))
    box = figure.get_tightbbox()
    assert box.x0 >= 0
    assert box.y0 >= 0
    assert box.x1 <= figure.get_figwidth() + 0.01
    assert box.y1 <= figure.get_figheight()


@pytest.mark.parametrize(("days", "start"), [(10, "2031-05-01"), (153, "2031-05-01"), (12 * 365, "2020-01-01")])
def test_dates_do_not_run_into_each_other(days, start):
    axes = bed(dry([plot("One"), plot("Other")], days, start))
    FigureCanvasAgg(axes[0].figure).draw()
    for panel in axes:
        boxes = [label.get_window_extent() for label in panel.get_xticklabels() if label.get_text()]
        assert boxes
        assert all(one.x1 < other.x0 for one, other in pairwise(boxes))


def test_long_and_awkward_names_stay_in_their_place():
    axes = bed(dry([plot("Wide bed by the garden wall " * 2), plot("$x_1$ < & {}"), plot("a long name " * 6)]))
    FigureCanvasAgg(axes[0].figure).draw()
    for panel in axes:
        words = panel.get_title(loc="left")
        (title,) = panel.findobj(lambda each, words=words: isinstance(each, Text) and each.get_text() == words)
        assert title.get_window_extent().x1 <= panel.get_window_extent().x1
        assert not title.get_parse_math()


def test_given_axes_are_drawn_in(school):
    given = Figure(figsize=(12, 9)).subplots(2, 3)
    assert list(bed(school, given)) == list(given.ravel())


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda result: bed(result, Figure().subplots()), "got 1 axes to draw in; give 6, one for each bed"),
        (lambda result: bed(waterbudget.run(result.site, result.weather, daily=False)), "run with daily=True"),
        (lambda _: bed(dry([])), "there are no beds to draw"),
    ],
)
def test_what_cannot_be_drawn_is_refused(school, make, words):
    with pytest.raises(InputError, match=words):
        make(school)


def test_the_same_run_gives_the_same_svg(school):
    drawn = {figure_bytes(bed(school)[0].figure, ".svg") for _ in range(6)}
    assert len(drawn) == 1, "the layout's solver wavers now and then, which would show in an SVG's ids"


def test_the_last_digits_of_the_layout_do_not_show(school, monkeypatch):
    plain = figure_bytes(bed(school)[0].figure, ".svg")
    settle = ConstrainedLayoutEngine.execute

    def waver(engine, figure):
        settle(engine, figure)
        for panel in figure.axes:
            panel.set_position(np.array(panel.get_position().bounds) * (1 + 1e-13))

    monkeypatch.setattr(ConstrainedLayoutEngine, "execute", waver)
    assert figure_bytes(bed(school)[0].figure, ".svg") == plain


def test_of_many_beds_the_driest_are_drawn_first():
    beds = [plot(f"Bed {number}", available_water_mm_m=40.0 + 5.0 * number) for number in (7, 3, 9, 1, 5)]
    beds.append({"name": "Bare", "area_m2": 2.0, "available_water_mm_m": 20.0})
    result = dry(beds)
    names = driest(result, 4)
    met = {row["name"]: row["eta_over_etc"] for row in result.summary["beds"]}
    assert met["Bed 1"] < met["Bed 3"] < met["Bed 5"] < met["Bed 7"] < met["Bed 9"]
    assert met["Bare"] < 1.0, "bare soil dries out, but nothing there is thirsty"
    assert names == ["Bed 1", "Bed 3", "Bed 5", "Bed 7"]
    axes = bed(result, names=names)
    assert [panel.get_title(loc="left") for panel in axes] == names
    shown = lines_of(axes[0])[REGISTER["left_pct"].heading].get_ydata()
    np.testing.assert_allclose(shown, left_pct(result.beds[result.beds["bed"] == "Bed 1"]))
    assert [len(hatched_days(panel)) for panel in axes] == [
        row["stress_days"] for name in names for row in result.summary["beds"] if row["name"] == name
    ]


def test_where_there_are_few_all_are_drawn_as_they_stand():
    result = dry([plot(f"Bed {number}", available_water_mm_m=40.0 + 5.0 * number) for number in (7, 3, 9)])
    assert driest(result, 3) == ["Bed 7", "Bed 3", "Bed 9"]


@pytest.mark.parametrize(("days", "start"), [(10, "2031-05-01"), (153, "2031-05-01"), (12 * 365, "2020-01-01")])
def test_the_words_of_beds_by_themselves_stand_inside_their_pictures(days, start):
    result = dry([plot("Wide bed by the garden wall " * 2), plot("Other"), plot("Bare", planting=[])], days, start)
    key, beds = beds_alone(result, ["Bare", "Wide bed by the garden wall " * 2])
    assert [figure.axes[0].get_title(loc="left").split()[0] for figure in beds] == ["Bare", "Wide"]
    for figure in (key, *beds):
        FigureCanvasAgg(figure).draw()
        box = figure.get_tightbbox()
        assert box.x0 >= 0
        assert box.y0 >= 0
        assert box.x1 <= figure.get_figwidth()
        assert box.y1 <= figure.get_figheight()
    (legend,) = key.legends
    assert "thirsty days" in [text.get_text() for text in legend.get_texts()]
