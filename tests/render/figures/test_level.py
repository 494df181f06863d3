import re
import subprocess
import sys
from itertools import combinations, pairwise
from xml.etree import ElementTree as ET

import numpy as np
import pandas as pd
import pytest
from gardens import site_of, weather_of
from matplotlib.figure import Figure
from matplotlib.text import Text

import waterbudget
from waterbudget.errors import InputError, OutputError
from waterbudget.example import site_path
from waterbudget.render.figures import panels
from waterbudget.render.figures.level import level
from waterbudget.render.figures.panels import figure_bytes
from waterbudget.simulate.books import SHORT_L

AWKWARD = [
    "$x_1$ < & _ > \\frac{a}{b} $ ^ % # -->",
    "{}~'\"`<b>&amp;</b>",
    "W" * 80,
    "a long name " * 6 + "of 80",
]
SVG = "{http://www.w3.org/2000/svg}"


def parse(picture):
    return ET.fromstring(picture)  # noqa: S314  our own picture


def can(tank, l_per_day, name="cans"):
    return {"name": name, "tank": tank, "l_per_day": float(l_per_day)}


def store(name="Butt", **keys):
    return {"name": name, "capacity_l": 1000.0, "start_l": 500.0} | keys


def roof(tank):
    return {"name": "shed", "tank": tank, "area_m2": 10.0, "runoff_coefficient": 0.9}


def weather(days, start="2031-05-01", rain_mm=(0.0, 0.0, 0.0, 8.0, 0.0, 2.5, 0.0)):
    dates = pd.date_range(start, periods=days)
    return weather_of(
        [{"date": date, "rain_mm": rain_mm[n % len(rain_mm)], "et0_mm": 3.0} for n, date in enumerate(dates)]
    )


def run(tanks, draws=(), roofs=(), sky=None):
    site = site_of({"site": {"name": "Brackenfold"}, "tank": tanks, "draw": list(draws), "roof": list(roofs)})
    return waterbudget.run(site, weather(60) if sky is None else sky)


@pytest.fixture(scope="module")
def school():
    site = waterbudget.load_site(site_path())
    return waterbudget.run(site, waterbudget.read_weather(site_path().parent / site.weather.file, site))


@pytest.fixture(scope="module")
def three():
    """A store that runs short, one that a hose helps and one that a float valve tops up."""
    tanks = [
        store("None", dead_l=30.0),
        store("Hose", mains="direct"),
        store("Float", mains="float", float_below_l=100.0, float_to_l=200.0),
    ]
    draws = [can(tank["name"], 40, tank["name"]) for tank in tanks]
    return run(tanks, draws, [roof("None")])


@pytest.fixture(scope="module")
def lake():
    """Levels and draws of nine figures over two years."""
    return run([store(capacity_l=123456789.0)], [can("Butt", 1e8)], sky=weather(731))


def book_of(result, name):
    return result.tanks[result.tanks["tank"] == name]


def labelled(axes, heading):
    (artist,) = [artist for artist in axes.get_children() if artist.get_label() == heading]
    return artist


def rows_of(panel):
    return {row.get_ylabel(): row for row in panel.child_axes}


def words_in(axes):
    return [text.get_text() for text in axes.texts]


@pytest.mark.parametrize("garden", ["school", "three"])
def test_lines_and_bars_are_the_numbers_of_the_run(garden, request):
    result = request.getfixturevalue(garden)
    rain, *panels = level(result)
    midnights = np.append(result.weather.daily.index, result.weather.daily.index[-1:] + pd.Timedelta(days=1))
    since_1970 = (pd.DatetimeIndex(midnights) - pd.Timestamp("1970-01-01")) / pd.Timedelta(days=1)
    bars = labelled(rain, "Rain (mm)").get_data()
    np.testing.assert_array_equal(bars.values, result.weather.daily["rain_mm"])
    np.testing.assert_array_equal(bars.edges, since_1970)
    assert len(panels) == len(result.site.tank)
    for panel, tank, total in zip(panels, result.site.tank, result.summary["tanks"], strict=True):
        book = book_of(result, tank.name)
        line = labelled(panel, "Level (L)")
        np.testing.assert_array_equal(line.get_xdata(), since_1970)
        np.testing.assert_array_equal(line.get_ydata(), [total["start_l"], *book["level_l"]])
        assert set(labelled(panel, "Full (L)").get_ydata()) == {tank.capacity_l}
        rows = rows_of(panel)
        for name, column in (("Water in", "inflow_l"), ("Drawn", "drawn_l")):
            bars = labelled(rows[name], f"{name} (L)").get_data()
            np.testing.assert_array_equal(bars.values, book[column])
            np.testing.assert_array_equal(bars.edges, since_1970)


@pytest.mark.parametrize("garden", ["school", "three"])
def test_each_day_short_or_with_mains_has_a_mark(garden, request):
    result = request.getfixturevalue(garden)
    shown = 0
    for panel, tank in zip(level(result)[1:], result.site.tank, strict=True):
        book = book_of(result, tank.name)
        for name, column in (("Short", "short_l"), ("Mains", "mains_l")):
            days = book.loc[book[column] > SHORT_L, "date"]
            row = rows_of(panel).get(name)
            assert (row is None) == days.empty
            if row is not None:
                middays = (days + pd.Timedelta(hours=12) - pd.Timestamp("1970-01-01")) / pd.Timedelta(days=1)
                np.testing.assert_array_equal(labelled(row, f"{name} (L)").get_xdata(), middays)
                shown += 1
    assert shown >= 2


def test_days_short_and_days_with_mains_are_hatched_unlike(three):
    panels = dict(zip(("None", "Hose", "Float"), level(three)[1:], strict=True))

    def hatched(store_name, heading):
        band = labelled(panels[store_name], heading)
        widths = [np.ptp(path.vertices[:, 0]) for path in band.get_paths()]
        return sum(widths), band.get_hatch()

    def days(store_name, column):
        return (book_of(three, store_name)[column] > SHORT_L).sum()

    assert hatched("None", "Short (L)")[0] == days("None", "short_l") > 0
    assert hatched("None", "Mains (L)")[0] == 0
    assert hatched("Hose", "Short (L)")[0] == 0, "the hose gave what was short"
    assert hatched("Hose", "Mains (L)")[0] == days("Hose", "mains_l") == days("Hose", "short_l") > 0
    assert hatched("Float", "Mains (L)")[0] == days("Float", "mains_l") > 0
    assert hatched("None", "Short (L)")[1] != hatched("Hose", "Mains (L)")[1]


def test_marks_differ_in_shape():
    result = run([store(mains="direct", start_l=10.0)], [can("Butt", 40)])
    rows = rows_of(level(result)[1])
    assert rows["Short"].lines[0].get_marker() != rows["Mains"].lines[0].get_marker()


def test_the_water_below_the_outlet_is_marked(three):
    with_dead, without, _ = level(three)[1:]
    assert set(labelled(with_dead, "Outlet (L)").get_ydata()) == {30.0}
    assert words_in(with_dead)[:2] == ["Full\n1,000 L", "Outlet\n30 L"]
    assert "Outlet (L)" not in [line.get_label() for line in without.lines]


@pytest.mark.parametrize(
    ("tanks", "litres_a_day", "sky", "title", "facts"),
    [
        ([store()], 0, weather(60), "2031: no water was asked for", ""),
        ([store()], 1, weather(60), "2031: enough for 60 days", ""),
        ([store()], 1, weather(1), "2031: enough for 1 day", ""),
        ([store()], 501, weather(2), "2031: short from the first day", "Short of 502 L on 2 of 2 days, first on 1 May"),
        (
            [store()],
            200,
            weather(3, rain_mm=(0.0,)),
            "2031: the stored rain lasts 2 days",
            "Short of 100 L on 1 of 3 days, first on 3 May",
        ),
        (
            [store()],
            200,
            weather(4, "2031-12-30", rain_mm=(0.0,)),
            "2031–2032: the stored rain lasts 2 days",
            "Short of 300 L on 2 of 4 days, first on 1 January 2032",
        ),
        (
            [store(mains="float", float_below_l=400.0, float_to_l=500.0)],
            150,
            weather(3, rain_mm=(0.0,)),
            "2031: the stored rain lasts 1 day",
            "Mains gave 300 L on 2 of 3 days, first on 2 May",
        ),
        (
            [store(mains="direct")],
            200,
            weather(3, rain_mm=(0.0,)),
            "2031: the stored rain lasts 2 days",
            "Short of 100 L on 1 of 3 days, first on 3 May\nMains gave 100 L on 1 of 3 days, first on 3 May",
        ),
    ],
)
def test_the_title_is_the_verdict(tanks, litres_a_day, sky, title, facts):
    rain = level(run(tanks, [can("Butt", litres_a_day)], sky=sky))[0]
    assert rain.get_title(loc="left") == title
    assert words_in(rain) == [facts]


def test_each_store_is_told_of(three):
    none, hose, float_ = (words_in(panel)[-1] for panel in level(three)[1:])
    days = {name: (book_of(three, name)["short_l"] > SHORT_L).sum() for name in ("None", "Hose")}
    short_l = book_of(three, "None")["short_l"].sum()
    assert none == f"Short of {round(short_l, -1) if short_l >= 1000 else round(short_l):,.0f} L on {days['None']} days"
    assert hose == f"Short of 1,900 L on {days['Hose']} days, mains 1,900 L"  # 60 days of 40 L from 500 L
    assert float_.startswith("Never short, mains ")


def title_of(panel):
    (title,) = panel.findobj(lambda each: isinstance(each, Text) and each.get_text() == panel.get_title(loc="left"))
    return title


@pytest.mark.parametrize("garden", ["school", "three"])
def test_no_words_cover_the_data(garden, request):
    axes = level(request.getfixturevalue(garden))
    figure_bytes(axes[0].figure, ".png")
    for panel in axes:
        data = panel.get_window_extent()
        for text in [title_of(panel), *panel.texts]:
            box = text.get_window_extent()
            assert not text.get_text() or box.y0 >= data.y1 or box.x0 >= data.x1, "above the axes or beside them"


@pytest.mark.parametrize("width_in", [5.6, 7.0])
@pytest.mark.parametrize("garden", ["school", "three", "lake"])
def test_nothing_stands_outside_the_picture(garden, width_in, request):
    figure = level(request.getfixturevalue(garden), width_in=width_in)[0].figure
    figure_bytes(figure, ".png")
    box = figure.get_tightbbox()
    assert box.x0 >= 0
    assert box.y0 >= 0
    assert box.x1 <= figure.get_figwidth()
    assert box.y1 <= figure.get_figheight()


def test_stores_do_not_overlap(three):
    axes = level(three)
    figure = axes[0].figure
    figure_bytes(figure, ".png")
    boxes = [panel.get_tightbbox() for panel in axes]
    assert all(upper.y0 >= lower.y1 - 1 for upper, lower in pairwise(boxes))


def test_every_store_is_drawn_as_high(three):
    axes = level(three)
    figure_bytes(axes[0].figure, ".png")
    high = [np.ptp(panel.transData.transform([(0.0, 0.0), (0.0, 1000.0)])[:, 1]) for panel in axes[1:]]
    assert {len(panel.child_axes) for panel in axes[1:]} == {3, 4}
    assert max(high) < 1.1 * min(high)


def test_letters_are_large_enough(three):
    figure = level(three)[0].figure
    figure_bytes(figure, ".png")
    sizes = [text.get_fontsize() for text in figure.findobj(lambda each: hasattr(each, "get_fontsize"))]
    assert figure.get_figwidth() == 7.0
    assert min(sizes) >= 9.0


@pytest.mark.parametrize(
    ("days", "start", "labels"),
    [
        (1, "2031-05-01", ["1 May"]),
        (5, "2031-05-30", ["30 May", "31 May", "1 Jun", "2 Jun", "3 Jun"]),
        (4, "2031-12-30", ["30 Dec\n2031", "31 Dec", "1 Jan\n2032", "2 Jan"]),
        (151, "2031-11-01", ["Nov\n2031", "Dec", "Jan\n2032", "Feb", "Mar"]),
        (28, "2031-05-01", ["1 May", "8 May", "15 May", "22 May"][:4]),
        (153, "2031-05-01", ["May", "Jun", "Jul", "Aug", "Sep"]),
        (366, "2032-01-01", ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]),
        (
            731,
            "2031-01-01",
            ["Jan\n2031", "Apr", "Jul", "Oct", "Jan\n2032", "Apr", "Jul", "Oct"],
        ),
        (20 * 366, "2031-01-01", [str(year) for year in range(2032, 2052, 4)]),
    ],
)
def test_the_dates_are_few_and_only_at_the_foot(days, start, labels):
    rain, panel = level(run([store()], sky=weather(days, start)))
    assert [label.get_text() for label in panel.get_xticklabels()] == labels
    assert {label.get_text() for label in rain.get_xticklabels()} == {""}
    assert panel.get_xlim() == rain.get_xlim()
    assert np.ptp(panel.get_xlim()) == days


@pytest.mark.parametrize("width_in", [7.0, 5.6])
@pytest.mark.parametrize("years", [1, 2, 3, 8, 10, 12, 30])
def test_dates_of_many_years_do_not_run_into_each_other(years, width_in):
    panel = level(run([store()], sky=weather(365 * years, "2001-01-01")))[-1]
    panel.figure.set_figwidth(width_in)
    panel.figure.draw_without_rendering()
    boxes = [label.get_window_extent() for label in panel.get_xticklabels() if label.get_text()]
    room = [after.x0 - before.x1 for before, after in pairwise(boxes)]
    assert min(room) > 0.2 * min(box.height for box in boxes)


def test_a_date_stands_at_its_day():
    by_day, by_month = (level(run([store()], sky=weather(days, "2031-05-30")))[1] for days in (5, 153))
    assert list(pd.to_datetime(by_day.get_xticks()[:2], unit="D")) == [
        pd.Timestamp("2031-05-30 12:00"),
        pd.Timestamp("2031-05-31 12:00"),
    ]
    assert list(pd.to_datetime(by_month.get_xticks()[:2], unit="D")) == [
        pd.Timestamp("2031-06-01"),
        pd.Timestamp("2031-07-01"),
    ]


def test_a_leap_day_is_a_day():
    result = run([store()], [can("Butt", 1)], sky=weather(366, "2032-01-01"))
    line = labelled(level(result)[1], "Level (L)")
    assert len(line.get_xdata()) == 367
    assert np.unique(np.diff(line.get_xdata())) == [1.0]


EDGES = {
    "one day": lambda: run([store()], [can("Butt", 40)], sky=weather(1)),
    "one day short": lambda: run([store(start_l=0.0)], [can("Butt", 40)], sky=weather(1)),
    "nothing asked, no rain": lambda: run([store()], sky=weather(40, rain_mm=(0.0,))),
    "five stores": lambda: run([store(f"Store {n}") for n in range(5)], [can("Store 1", 90)]),
    "two years": lambda: run([store()], [can("Butt", 30)], [roof("Butt")], weather(731)),
    "leap year": lambda: run([store()], [can("Butt", 30)], [roof("Butt")], weather(366, "2032-01-01")),
    "all dead": lambda: run([store(dead_l=1000.0)], [can("Butt", 30)]),
    "a lake": lambda: run([store(capacity_l=123456789.0)], [can("Butt", 1e7)]),
    "a cup": lambda: run([store(capacity_l=0.5, start_l=0.25)], [can("Butt", 0.07)]),
}


@pytest.mark.parametrize("make", EDGES.values(), ids=EDGES)
def test_edge_cases_are_drawn(make):
    result = make()
    figure = level(result)[0].figure
    for suffix in (".png", ".svg", ".pdf"):
        assert len(figure_bytes(figure, suffix)) > 5000
    assert 3.0 <= figure.get_figheight() <= 1.5 + 3.0 * len(result.site.tank)


@pytest.mark.parametrize("name", AWKWARD)
def test_awkward_names_are_drawn_as_they_are(name):
    axes = level(run([store(name)], [can(name, 40)]))
    assert parse(figure_bytes(axes[0].figure, ".svg")).tag == f"{SVG}svg"
    assert figure_bytes(axes[0].figure, ".png")
    assert figure_bytes(axes[0].figure, ".pdf")
    assert "".join(axes[1].get_title(loc="left").split()) == "".join(name.split())
    title = title_of(axes[1])
    assert not title.get_parse_math()
    assert title.get_window_extent().x1 <= axes[1].figure.bbox.x1
    assert axes[1].get_position().width > 0.7, "a long name leaves room for the data"


def test_letters_that_the_font_lacks_do_not_stop_it():
    axes = level(run([store("雨水 🌧")], [can("雨水 🌧", 40)]))
    assert parse(figure_bytes(axes[0].figure, ".svg")).tag == f"{SVG}svg"
    assert axes[1].get_title(loc="left") == "雨水 🌧"


def drawn(result, suffix):
    return figure_bytes(level(result)[0].figure, suffix)


def test_an_svg_has_its_title_and_no_date(school):
    picture = drawn(school, ".svg")
    verdict = f"2031: the stored rain lasts {school.summary['days_lasted']} days"
    assert parse(picture).findtext(f"{SVG}title") == verdict
    assert b"dc:date" not in picture
    assert b"dc:creator" not in picture


@pytest.mark.parametrize("suffix", [".png", ".svg", ".pdf"])
def test_the_same_run_gives_the_same_bytes(three, suffix):
    assert len({drawn(three, suffix) for _ in range(2)}) == 1


def test_another_process_gives_the_same_svg(school):
    program = (
        "import sys, waterbudget\n"
        "from waterbudget.example import site_path\n"
        "site = waterbudget.load_site(site_path())\n"
        "weather = waterbudget.read_weather(site_path().parent / site.weather.file, site)\n"
        "axes = waterbudget.figures.level(waterbudget.run(site, weather))\n"
        "sys.stdout.buffer.write(waterbudget.figures.figure_bytes(axes[0].figure, '.svg'))\n"
    )
    theirs = subprocess.run([sys.executable, "-c", program], capture_output=True, check=True).stdout
    assert theirs == drawn(school, ".svg")


@pytest.mark.parametrize(
    ("suffix", "start"),
    [
        (".png", b"\x89PNG\r\n\x1a\n"),  # W3C PNG specification, section 5.2
        (".PNG", b"\x89PNG\r\n\x1a\n"),
        (".pdf", b"%PDF-"),  # ISO 32000-1, 7.5.2
        (".svg", b"<?xml "),  # XML 1.0, production 23
    ],
)
def test_the_suffix_chooses_the_kind(school, suffix, start):
    assert drawn(school, suffix).startswith(start)


@pytest.mark.parametrize("suffix", [".jpg", "", "png", ".svgz"])
def test_another_suffix_is_refused(school, suffix):
    with pytest.raises(OutputError, match=re.escape(f'"{suffix}" is no kind of picture; choose .png, .svg or .pdf')):
        drawn(school, suffix)


def test_given_axes_are_drawn_in(school):
    figure = Figure(figsize=(12, 9))
    given = figure.subplots(3, 1)
    drawn = level(school, given)
    assert list(drawn) == list(given)
    assert given[1].get_title(loc="left") == school.site.tank[0].name


def test_too_few_axes_are_refused(school):
    with pytest.raises(InputError, match="got 1 axes to draw in; give 3"):
        level(school, Figure().subplots())


def test_a_run_without_days_is_refused():
    site = site_of({"site": {"name": "Brackenfold"}, "tank": [store()]})
    with pytest.raises(InputError, match="run with daily=True"):
        level(waterbudget.run(site, weather(3), daily=False))


# sRGB to linear light and to CIE XYZ, D65: IEC 61966-2-1. L*a*b*: CIE 15. Colour vision: Machado, Oliveira and
# Fernandes (2009), IEEE Trans. Vis. Comput. Graph. 15: 1291, table 1, severity 1.0. All numbers from memory.
TO_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
EYES = {
    "normal": np.eye(3),
    "protan": [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
    "deutan": [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
    "tritan": [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]],
}
COLOURS = [panels.WATER, panels.USE, *(colour for colour, _, _ in panels.MARKED.values())]
JUST_NOTICED = 2.3  # Mahy et al. (1994), Color Res. Appl. 19: 105; from memory


def linear(colour):
    parts = np.array([int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)])
    return np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)


def lab(light):
    share = TO_XYZ @ np.clip(light, 0, 1) / TO_XYZ.sum(axis=1)
    x, y, z = np.where(share > (6 / 29) ** 3, np.cbrt(share), share / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * y - 16, 500 * (x - y), 200 * (y - z)])


@pytest.mark.parametrize("eyes", EYES.values(), ids=EYES)
def test_every_eye_tells_the_colours_apart(eyes):
    seen = [lab(np.array(eyes) @ linear(colour)) for colour in COLOURS]
    assert min(np.linalg.norm(one - other) for one, other in combinations(seen, 2)) > 10 * JUST_NOTICED


@pytest.mark.parametrize(
    ("colours", "least"),
    [(COLOURS, 3.0), ([panels.INK], 4.5)],  # WCAG 2.1, 1.4.11 graphical objects and 1.4.3 text
    ids=["graphics", "text"],
)
def test_contrast_with_the_paper(colours, least):
    assert min(1.05 / (TO_XYZ[1] @ linear(colour) + 0.05) for colour in colours) >= least
