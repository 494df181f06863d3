"""The picture of odds draws what was counted."""

from xml.etree import ElementTree as ET

import numpy as np
import pytest
from matplotlib.figure import Figure
from odds.records import LASTS, at_brackenfold, finding, steady, store
from open_records import fulda, seattle
from pictures import assert_words_stand_apart

from waterbudget.errors import InputError, OutputError
from waterbudget.odds.chances import wilson
from waterbudget.odds.summers import Wanted
from waterbudget.render.figures.odds import MOST_STORES, odds
from waterbudget.render.figures.panels import figure_bytes

DAYS = np.arange(154)


def drawn_as(axes):
    """The panels of a picture and the lines in each, by label."""
    return [(panel, {line.get_label(): line for line in panel.get_lines()}) for panel in axes]


def title(panel):
    return " ".join(panel.get_title(loc="left").split())


def facts(panel):
    return "\n".join(text.get_text() for text in panel.texts)


@pytest.fixture(scope="module")
def ten():
    return finding(keep_levels=True)


@pytest.fixture(scope="module")
def fulda_recorded():
    site, weather = at_brackenfold(fulda(), latitude_deg=50.5)
    return finding(site, weather, keep_levels=True)


@pytest.fixture(scope="module")
def fulda_drawn():
    site, weather = at_brackenfold(fulda(), latitude_deg=50.5)
    return finding(site, weather, Wanted("blocks", years=100), keep_levels=True)


def test_the_curve_is_the_chance_of_lasting(ten):
    (panel, _), _ = drawn_as(odds(ten))
    curve = panel.get_lines()[0]
    share = np.array([sum(lasted >= day for lasted in LASTS) / 10 for day in DAYS])
    np.testing.assert_allclose(curve.get_ydata(), 100.0 * share)
    np.testing.assert_allclose(curve.get_xdata() - curve.get_xdata()[0], DAYS)
    assert curve.get_drawstyle() == "steps-pre"  # lasted five days: it falls at the end of the fifth
    (band,) = panel.collections
    ends = band.get_paths()[0].vertices[:, 1]
    low, high = (100.0 * end for end in wilson(share, 10)[1:])
    assert {round(y, 9) for y in ends} == {round(y, 9) for y in (*low, *high)}
    assert title(panel) == "Runs short in 8 of 10 summers"
    assert "10 recorded summers, 2011 to 2020" in facts(panel)
    assert "could be with 10 years" in facts(panel)


def test_the_curve_of_drawn_years_moves_in_whole_recorded_ones(fulda_drawn):
    (panel, _), *_ = drawn_as(odds(fulda_drawn))
    chances = panel.get_lines()[0].get_ydata()
    np.testing.assert_allclose(chances % 10.0, 0.0, atol=1e-9)
    raw = 100.0 * fulda_drawn.drawn.chance_of_lasting(DAYS).share
    assert np.abs(chances - raw).max() <= 5.0 + 1e-9


def test_the_fan_holds_eight_of_ten_years_and_its_middle_half(fulda_recorded):
    level_l = fulda_recorded.recorded.level_l
    worst = int(fulda_recorded.recorded.worst_first()[0])
    for number, (panel, lines) in enumerate(drawn_as(odds(fulda_recorded))[1:]):
        in_order = np.sort(level_l[:, number], axis=1)
        np.testing.assert_array_equal(lines["middle"].get_ydata(), in_order[:, 4])  # five of ten are not above it
        np.testing.assert_array_equal(lines[f"worst recorded, {1979 + worst}"].get_ydata(), level_l[:, number, worst])
        band = next(part for part in panel.collections if part.get_label() == "8 of 10 summers")
        vertices, x = band.get_paths()[0].vertices, lines["middle"].get_xdata()
        for day in (20, 60, 100):
            drawn_l = vertices[np.isclose(vertices[:, 0], x[day]), 1]
            assert drawn_l.min() == pytest.approx(in_order[day, 1])  # the lowest year is left out
            assert drawn_l.max() == pytest.approx(in_order[day, 8])  # and the highest
            assert in_order[day, 0] < in_order[day, 1]
    assert [title(panel) for panel in odds(fulda_recorded)[1:]] == ["Class-room tank", "Shed butt"]


def test_fewer_than_ten_years_have_a_band_of_six_of_ten():
    findings = finding(weather=steady((0.0, 0.5, 0.8, 0.9, 1.0)), keep_levels=True)
    _, (panel, _) = drawn_as(odds(findings))
    assert "6 of 10 summers" in {part.get_label() for part in panel.collections}


def test_few_years_are_drawn_each_by_itself_and_counted():
    site, weather = at_brackenfold(seattle(), latitude_deg=47.6)
    findings = finding(site, weather, keep_levels=True)
    (chance, _), *stores = drawn_as(odds(findings))
    np.testing.assert_array_equal(
        chance.get_lines()[0].get_ydata(), [(findings.recorded.days_lasted >= day).sum() for day in DAYS]
    )
    assert not chance.collections
    assert "%" not in "".join(label.get_text() for label in chance.get_yticklabels())
    for number, (panel, lines) in enumerate(stores):
        for year, label in enumerate(("2012", "2013", "2014", "2015")):
            np.testing.assert_array_equal(lines[label].get_ydata(), findings.recorded.level_l[:, number, year])
        assert len({str(lines[label].get_linestyle()) + lines[label].get_color() for label in lines}) >= 4
        assert [text.get_text() for text in panel.get_legend().get_texts()] == ["2012", "2013", "2014", "2015"]


def test_lines_differ_without_colour(fulda_drawn):
    _, *stores = drawn_as(odds(fulda_drawn))
    for _, lines in stores:
        worst = next(line for label, line in lines.items() if label.startswith("worst recorded"))
        assert worst.is_dashed()
        assert not lines["middle"].is_dashed()


def test_four_stores_are_drawn_at_most():
    tanks = [{"name": f"Butt {n}" if n else "Butt", "capacity_l": 1000, "start_l": 500} for n in range(6)]
    axes = odds(finding(store(tanks=tanks), keep_levels=True))
    assert [title(panel) for panel in axes[1:]] == ["Butt", "Butt 1", "Butt 2", "Butt 3"]
    assert len(axes) == 1 + MOST_STORES
    assert "Below: the first 4 of 6 stores" in facts(axes[0])


def test_the_axis_names_months_of_any_year():
    site, weather = at_brackenfold(fulda(), latitude_deg=-33.0)
    axes = odds(finding(site, weather, keep_levels=True))
    assert [tick.get_text() for tick in axes[-1].get_xticklabels()] == ["Nov", "Dec", "Jan", "Feb", "Mar"]
    assert axes[0].get_xlabel() == "so many days from 1 November"


@pytest.mark.parametrize(
    ("parts", "words"),
    [
        ({"zone": {"from": "11-01", "to": "12-31"}}, "No water was asked for"),
        ({"tank": {"mains": "float", "float_below_l": 200, "float_to_l": 400}}, "Runs short in 8 of 10 summers"),
        ({"zone": {"minutes": 0.1}}, "Stored rain lasts in 10 of 10 summers"),
    ],
)
def test_the_title_is_the_answer(parts, words):
    assert title(odds(finding(store(**parts), keep_levels=True))[0]) == words


@pytest.mark.parametrize(("suffix", "begins"), [(".png", b"\x89PNG"), (".svg", b"<?xml"), (".pdf", b"%PDF")])
def test_a_picture_is_made_in_each_kind_and_always_the_same(ten, suffix, begins):
    picture = figure_bytes(odds(ten)[0].figure, suffix)
    assert picture.startswith(begins)
    assert picture == figure_bytes(odds(ten)[0].figure, suffix)
    if suffix == ".svg":
        assert ET.fromstring(picture).find("{http://www.w3.org/2000/svg}title").text == "Runs short in 8 of 10 summers"  # noqa: S314


def test_another_kind_is_refused(ten):
    with pytest.raises(OutputError, match=r"choose \.png, \.svg or \.pdf"):
        figure_bytes(odds(ten)[0].figure, ".gif")


def test_without_levels_there_is_nothing_to_draw():
    given = Figure().subplots(2, 1)
    with pytest.raises(InputError, match="run find_odds with keep_levels=True"):
        odds(finding(), given)
    assert not given[0].lines


def southern():
    """The longest words: a season past New Year, changed weather, a bound in the title."""
    name = "W" * 60
    roof = {"name": "Roof", "tank": name, "area_m2": 30, "runoff_coefficient": 0.9}
    place = {"name": "Brackenfold", "latitude_deg": -33.0}
    site = store(tank={"name": name}, zone={"tank": name}, roof=[roof], site=place)
    _, weather = at_brackenfold(fulda(), latitude_deg=-33.0)
    return finding(site, weather, Wanted("blocks", years=100, warmer_c=1.5, rain_factor=0.85), keep_levels=True)


def few():
    site, weather = at_brackenfold(seattle(), latitude_deg=-33.0)
    return finding(site, weather, keep_levels=True)


@pytest.mark.parametrize("findings", [finding, southern, few])
def test_no_text_leaves_the_picture_or_meets_another(findings):
    drawn = findings(keep_levels=True) if findings is finding else findings()
    assert_words_stand_apart(odds(drawn)[0].figure)
