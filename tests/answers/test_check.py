"""A check says what it understood and finds what is allowed and yet seldom meant."""

from pathlib import Path

import pytest

from waterbudget.answers.check import answer
from waterbudget.render.text import text
from waterbudget.review.check import find_check
from waterbudget.simulate.opened import open_site

DEMO = Path(__file__).parents[2] / "data_demo" / "site.toml"


def screen(path, *, full=True):
    return text(answer(find_check(open_site(path))), full=full)


def odd_after(tmp_path, *changes):
    text = DEMO.read_text("utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    (tmp_path / "site.toml").write_text(text, "utf-8")
    (tmp_path / "weather.csv").write_bytes((DEMO.parent / "weather.csv").read_bytes())
    return answer(find_check(open_site(tmp_path / "site.toml"))).of_kind("warn")


def test_the_demo_is_not_odd(tmp_path):
    assert odd_after(tmp_path) == []


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (("area_m2 = 42 ", "area_m2 = 4200 "), "Class-room roof has 4,200 m²"),
        (("minutes = 12", "minutes = 0.1"), "Potato bed needs"),
        (("capacity_l = 1500", "capacity_l = 15000"), "a larger roof helps here, a larger store does not"),
        (("start_l = 900", "start_l = 1500"), "Class-room tank starts full"),
        (
            (
                "# [[ban]]",
                (
                    '[[transfer]]\nname = "Pump"\nfrom_tank = "Shed butt"\nto_tank = "Class-room tank"\n'
                    "l_per_day = 50\nkeep_l = 9000\n# [[ban]]"
                ),
            ),
            "Pump never moves water: it leaves 9,000 L in Shed butt, which holds 350 L.",
        ),
        (("minutes = 12", "minutes = 0"), "South line never asks for water"),
        (('planted = "04-10"', "planted = 2029-04-10"), "Potato bed has nothing growing"),
        (('covering = "metal sheet"', 'covering = "thin green roof"'), "Shed roof (thin green roof)"),
        (("# runoff_coefficient", "runoff_coefficient"), "Class-room roof has a covering and a runoff_coefficient"),
        (("# width_m", "width_m"), "Tomato bed has width_m, which has no effect without exposed = true"),
        (
            ("# mulch_cover", "mulch_cover"),
            'Tomato bed has mulch_cover, which has no effect without crop_coefficient = "d',
        ),
        (("# kcb", "kcb"), "Bean bed has kcb, which has no effect"),
        (("# wetted_fraction", "wetted_fraction"), "North line has wetted_fraction, which has no effect"),
    ],
)
def test_what_looks_odd_is_told(tmp_path, change, told):
    assert any(told in line for line in odd_after(tmp_path, change))


def test_a_zone_without_beds_is_told(tmp_path):
    lonely = '[[zone]]\nname = "Lonely"\ntank = "Shed butt"\nflow_l_min = 1\nminutes = 1\n'
    assert any('"Lonely" waters no bed' in line for line in odd_after(tmp_path, ("[[draw]]", f"{lonely}\n[[draw]]")))


def test_the_screen_tells_each_part_of_the_site():
    shown = screen(DEMO)
    for name in ("Class-room roof", "Shed butt", "North line", "Class cans", "Courgette bed"):
        assert f"  {name}: " in shown
    assert "nothing looks odd" in shown.splitlines()[0]
    assert "kale is a stand-in" in shown
    assert "Class cans: 15 L from Monday to Friday, 1 May to 18 July" in shown
    assert shown.rstrip().endswith(f"waterbudget run {DEMO}")


def test_the_short_screen_of_the_demo_is_short():
    lines = screen(DEMO, full=False).splitlines()
    assert len(lines) <= 30
    assert max(map(len, lines)) <= 100
    assert lines[-1].startswith("More with --full: ")
    assert any(line.startswith("South line  Shed butt") for line in lines)


def test_its_facts_name_what_is_odd_and_what_sways_most(tmp_path):
    text_of = DEMO.read_text("utf-8").replace("start_l = 900", "start_l = 1500", 1)
    (tmp_path / "site.toml").write_text(text_of, "utf-8")
    (tmp_path / "weather.csv").write_bytes((DEMO.parent / "weather.csv").read_bytes())
    found = find_check(open_site(tmp_path / "site.toml"))
    told = answer(found).facts
    assert told["oddities"] == [{"kind": "StartsFull", "name": "Class-room tank"}]
    first, swing = told["worth_measuring"][0], found.worth.swings[0]
    assert (first["key"], first["name"]) == (swing.tried.what, swing.tried.name)
    needed_l = tuple(first[end]["needed_l"] for end in ("lower", "as_it_is", "higher"))
    assert needed_l == swing.needed_l
    assert first["as_it_is"]["needed_l"] == pytest.approx(found.result.summary["mains_l"])


EVERYTHING = """
[site]
name = "Brackenfold"
latitude_deg = 52.9
elevation_m = 90
mean_wind_m_s = 3

[model]
crop_coefficient = "dual"

[weather]
file = "weather.csv"

[[roof]]
name = "Shed roof"
tank = "Butts"
area_m2 = 10
covering = "tin"
filter_efficiency = 1.0

[[tank]]
name = "Butts"
joined = 3
capacity_l = 210
dead_l = 5
start_l = 100
mains = "float"
float_below_l = 20
float_to_l = 40

[[tank]]
name = "Barrel"
capacity_l = 120
start_l = 20

[[inflow]]
name = "Spring"
tank = "Butts"
l_per_day = 12
from = "04-01"

[[transfer]]
name = "Saturday cans"
from_tank = "Butts"
to_tank = "Barrel"
l_per_day = 60
keep_l = 100
below_l = 50
weekdays = ["sat"]

[[ban]]
from = "07-15"
to = "08-31"

[[ban]]
from = 2031-09-01
to = 2031-09-20

[[zone]]
name = "Drip line"
tank = "Butts"
flow_l_min = 2
minutes = 5
jets = "drip"

[[zone]]
name = "Spray line"
tank = "Barrel"
flow_l_min = 2
minutes = 5

[[bed]]
name = "Chilli pots"
pots = 12
pot_litres = 10
pot_diameter_cm = 25
zone = "Drip line"
planting = [{ crop = "chilli", planted = "05-20" }]

[[bed]]
name = "Bean hedge"
area_m2 = 4
soil = "heavy clay"
zone = "Spray line"
mulch_cover = 0.8
exposed = true
width_m = 0.8
planting = [
    { crop = "runner bean", planted = "05-20", ground_share = 0.6 },
    { crop = "herbs", planted = "05-01", ground_share = 0.4 },
]
"""


@pytest.fixture(scope="module")
def everything(tmp_path_factory):
    path = tmp_path_factory.mktemp("garden") / "site.toml"
    path.write_text(EVERYTHING, "utf-8")
    path.with_name("weather.csv").write_bytes((DEMO.parent / "weather.csv").read_bytes())
    return " ".join(screen(path).split())


@pytest.mark.parametrize(
    "words",
    [
        "Crop coefficient: dual, so wet ground gives off water of its own",
        "3 m/s of wind and 45 % of humidity at its lowest",
        "the first 0.3 mm of a day's rain only wet it, of the rest 97 % runs off",
        "about 10 L from each further millimetre of rain",  # 10 m² · 0.97
        "Butts: 3 stores of 210 L, joined near the foot so that they fill as one, hold 630 L (210 kg of water in each",
        "300 L in them on the first day, the lowest 15 L out of reach; a float valve fills each up to 40 L",
        "Spring: 12 L every day, 1 April to 31 December, into Butts, whatever the weather.",
        "Saturday cans: up to 60 L on Saturday from Butts to Barrel, if Barrel then holds less than 50 L; 100 L stay",
        "No mains water, neither by hose nor by float valve, from 15 July to 31 August, every year.",
        "No mains water, neither by hose nor by float valve, from 1 September to 20 September 2031.",
        "by drippers to Chilli pots, where 90 % of it reaches the roots and wets 35 % of the ground.",
        "by spray jets to Bean hedge, where 80 % of it reaches the roots and wets 100 % of the ground.",
        # 12 · pi/4 · 0.25² · 3 = 1.767 m²; 300 mm/m of 10 L is 3 L; min(12, 0.06 · 300) and min(29, 0.14 · 300) mm
        "12 pots of 10 L, 25 cm across, under leaves of 1.77 m² in all, each holding 3 L for the plants in its potting",
        "50 % of the rain reaches the openings, its surface gives off 12 mm freely and 29 mm in all",
        "stands free, 0.8 m wide, and uses more for it",
        "80 % of the ground under mulch, its surface gives off 10 mm freely and 25.5 mm in all",  # Table 19, clay
        "runner bean on 60 % of the ground from 20 May",
        "metal sheet sheds 90 % of a year's rain (sources say 61 to 95 %; measured): as a wetting loss of 0.3 mm a day",
        "stage lengths of herbs of common practice, no source: 25, 40, 90 and 25 days",
        "90 % of the water of drippers reaches the roots (efficiency left out): Drip line",
        "Half of the rain reaches the openings of pots, leaves shed the rest (rain_share left out): Chilli pots",
        "The leaves cover three times the openings of the pots (area_m2 left out): Chilli pots",
    ],
)
def test_each_new_key_is_told_in_words(everything, words):
    assert words in everything


def test_it_asks_what_a_look_in_the_garden_answers(everything):
    _, asked = everything.split("Worth knowing")
    assert "Does the diverter stop when the butt is full?" in asked
    assert "Are butts joined near the foot?" in asked
    assert "Do nets, trees or walls keep rain off (Chilli pots and Bean hedge)?" in asked
    assert "How much of the downpipe" not in asked  # filter_efficiency is given
    assert "How much of the downpipe does the diverter take (Shed roof)?" in " ".join(screen(DEMO).split())
