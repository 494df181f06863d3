"""A demand of less than a millionth of a litre a day is rounding: its sum may be more, and no day of it is."""

import math

import pytest
from click.testing import CliRunner

from waterbudget.cli.main import main

SITE = """
[site]
name = "Brackenfold"
latitude_deg = 53.1
elevation_m = 140
[weather]
file = "weather.csv"
[[roof]]
name = "Roof"
tank = "Butt"
area_m2 = 8
covering = "metal sheet"
[[tank]]
name = "Butt"
capacity_l = 350
start_l = 0
mains = "{mains}"
[[tank]]
name = "Barrel"
capacity_l = 100
start_l = 0
mains = "{mains}"
[[zone]]
name = "Line"
tank = "Butt"
flow_l_min = 1
minutes = {litres:.12f}
[[zone]]
name = "Other line"
tank = "Butt"
flow_l_min = 1
minutes = {litres:.12f}
[[draw]]
name = "Can"
tank = "Barrel"
l_per_day = {can_l}
[[bed]]
name = "Bed"
area_m2 = 4.5
zone = "Line"
soil = "loam"
[[bed.planting]]
crop = "potato"
planted = "04-10"
"""
DRY = "date,rain_mm,et0_mm,tmax_c\n" + "".join(f"2031-05-{day:02d},0,3.5,24\n" for day in range(1, 32))


@pytest.mark.parametrize("mains", ["none", "direct"])
@pytest.mark.parametrize("can_l", [1e-7, 5.0])
@pytest.mark.parametrize("litres", [7e-7, 2e-6])
def test_a_run_tells_it(tmp_path, monkeypatch, litres, can_l, mains):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "site.toml").write_text(SITE.format(litres=litres, can_l=can_l, mains=mains), "utf-8")
    (tmp_path / "weather.csv").write_text(DRY, "utf-8")
    told = CliRunner().invoke(main, ["run", "site.toml"])
    assert told.exit_code == 0, (told.stderr, told.exception)
    assert "nan" not in told.stdout.lower().split()


@pytest.mark.parametrize(
    "words",
    [["check"], ["report"], ["hotspell"], ["improve"], ["compare", "--with", "tank.Butt.start_l=9"],
     ["today", "--on", "2031-05-20"]],
    ids=" ".join,
)  # fmt: skip
def test_every_other_screen_tells_it(tmp_path, monkeypatch, words):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "site.toml").write_text(SITE.format(litres=7e-7, can_l=1e-7, mains="none"), "utf-8")
    (tmp_path / "weather.csv").write_text(DRY, "utf-8")
    told = CliRunner().invoke(main, [words[0], "site.toml", *words[1:]])
    assert told.exit_code == 0, (told.stderr, told.exception)
    assert "nan" not in told.stdout.lower().split()


def test_size_refuses_it_in_one_line(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "site.toml").write_text(SITE.format(litres=4e-7, can_l=0.0, mains="none"), "utf-8")
    (tmp_path / "weather.csv").write_text(DRY, "utf-8")
    told = CliRunner().invoke(main, ["size", "site.toml"])
    assert (told.exit_code, told.stdout) == (2, "")
    assert told.stderr.startswith('tank: nothing is asked of "Butt" in this weather;')
    assert math.isclose(31 * 2 * 4e-7, 2.48e-5)  # in all it is more than the millionth
