"""A check says what it understood and finds what is allowed and yet seldom meant."""

from pathlib import Path

import pytest

from waterbudget.report.answer import answer_check
from waterbudget.report.odd import oddities
from waterbudget.simulate.opened import open_site
from waterbudget.simulate.run import run

DEMO = Path(__file__).parents[2] / "data_demo" / "site.toml"


def odd_after(tmp_path, *changes):
    text = DEMO.read_text("utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    (tmp_path / "site.toml").write_text(text, "utf-8")
    (tmp_path / "weather.csv").write_bytes((DEMO.parent / "weather.csv").read_bytes())
    opened = open_site(tmp_path / "site.toml")
    return oddities(run(opened.site, opened.weather))


def test_the_demo_is_not_odd(tmp_path):
    assert odd_after(tmp_path) == []


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (("area_m2 = 42 ", "area_m2 = 4200 "), "Class-room roof has 4,200 m²"),
        (("minutes = 12", "minutes = 0.1"), "Potato bed needs"),
        (("capacity_l = 1500", "capacity_l = 15000"), "a larger roof helps here, a larger store does not"),
        (("start_l = 900", "start_l = 1500"), "Class-room tank starts full"),
        (("minutes = 12", "minutes = 0"), "South line never asks for water"),
        (('planted = "04-10"', "planted = 2029-04-10"), "Potato bed has nothing growing"),
        (('covering = "metal sheet"', 'covering = "thin green roof"'), "Shed roof (thin green roof)"),
    ],
)
def test_what_looks_odd_is_told(tmp_path, change, told):
    assert any(told in line for line in odd_after(tmp_path, change))


def test_a_zone_without_beds_is_told(tmp_path):
    lonely = '[[zone]]\nname = "Lonely"\ntank = "Shed butt"\nflow_l_min = 1\nminutes = 1\n'
    assert any('"Lonely" waters no bed' in line for line in odd_after(tmp_path, ("[[draw]]", f"{lonely}\n[[draw]]")))


def test_the_screen_tells_each_part_of_the_site():
    text = answer_check(DEMO).text
    for name in ("Class-room roof", "Shed butt", "North line", "Class cans", "Courgette bed"):
        assert f"  {name}: " in text
    assert "nothing looks odd" in text.splitlines()[0]
    assert "kale is a stand-in" in text
    assert "Class cans: 15 L from Monday to Friday, 1 May to 18 July" in text
    assert text.rstrip().endswith(f"waterbudget run {DEMO}")
