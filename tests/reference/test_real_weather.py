"""Whole runs on real weather, with sums taken straight from the records.

Seattle 2012-15, daily: in the vega_datasets package; NOAA, public domain.
Rechtenbach, Hesse, 2014-16, hourly: in the spotpy package; Univ. Giessen, for any purpose with references, as it is.
"""

import json

import numpy as np
import open_records
import pandas as pd
import pytest
import refet
from click.testing import CliRunner
from vega_datasets import data

import waterbudget
from waterbudget.cli.main import main

SEATTLE = """
[site]
name = "Brackenfold, moved to Seattle"
latitude_deg = 47.6
longitude_deg = -122.3
elevation_m = 50

[weather]
file = "weather.csv"

[[roof]]
name = "Class-room roof"
tank = "Big store"
area_m2 = 42
runoff_coefficient = 0.85
loss_mm = 0.3
first_flush_l = 20
filter_efficiency = 0.9

[[roof]]
name = "Shed roof"
tank = "Shed butt"
area_m2 = 8
runoff_coefficient = 0.95
filter_efficiency = 1

[[tank]]
name = "Big store"
capacity_l = 5000
dead_l = 100
start_l = 2500

[[tank]]
name = "Shed butt"
capacity_l = 300
start_l = 0
overflow_to = "Big store"
mains = "direct"

[[zone]]
name = "North line"
tank = "Big store"
flow_l_min = 9
minutes = 6
from = "05-01"
to = "09-30"
skip_rain_mm = 5
skip_rain_days = 2

[[zone]]
name = "South line"
tank = "Shed butt"
flow_l_min = 5
minutes = 12
plan = "refill"

[[bed]]
name = "Tomato bed"
area_m2 = 6
zone = "North line"
available_water_mm_m = 150
[[bed.planting]]
crop = "tomato"
planted = "05-10"

[[bed]]
name = "Bean bed"
area_m2 = 4
zone = "South line"
available_water_mm_m = 150
[[bed.planting]]
crop = "broad bean"
planted = "03-05"

[[bed]]
name = "Corn bed"
area_m2 = 5
available_water_mm_m = 150
[[bed.planting]]
crop = "sweetcorn"
planted = "05-20"
"""


@pytest.fixture(scope="module")
def seattle():
    return pd.read_csv(
        data.seattle_weather.filepath, parse_dates=["date"], date_format="%Y/%m/%d", index_col="date"
    ).rename(columns={"precipitation": "rain_mm", "temp_min": "tmin_c", "temp_max": "tmax_c"})


@pytest.fixture(scope="module")
def folder(seattle, tmp_path_factory):
    folder = tmp_path_factory.mktemp("seattle")
    (folder / "site.toml").write_text(SEATTLE, "utf-8")
    seattle[["rain_mm", "tmin_c", "tmax_c"]].to_csv(folder / "weather.csv", date_format="%Y-%m-%d")
    return folder


@pytest.fixture(scope="module")
def answer(folder):
    """What the command line printed and wrote."""
    command = ["run", str(folder / "site.toml"), "--json", "--out", str(folder / "out")]
    found = CliRunner().invoke(main, command, catch_exceptions=False)
    assert found.exit_code == 0
    return found


@pytest.fixture(scope="module")
def books(answer, folder):
    assert answer.exit_code == 0
    return {
        path.stem: pd.read_csv(path, parse_dates=["date"], date_format="%Y-%m-%d")
        for path in (folder / "out").glob("*.csv")
    }


def by_hand(rain_mm):
    """Litres caught by either roof, from the rain alone: the numbers are those of the site file."""
    runoff_l = (rain_mm - 0.3).clip(lower=0) * 42 * 0.85
    flushed_l = runoff_l.clip(upper=20)
    return {"Class-room roof": (runoff_l - flushed_l) * 0.9, "Shed roof": rain_mm * 8 * 0.95}


def test_seattle_is_the_record_it_was(seattle):
    # yearly totals of the record; the leap day is there
    years_mm = seattle["rain_mm"].groupby(seattle.index.year).sum()
    assert years_mm.round(1).to_list() == [1226.0, 828.0, 1232.8, 1139.2]
    assert len(seattle) == 1461


def test_seattle_through_the_command_line(answer, seattle, folder):
    summary = json.loads(answer.stdout)
    written = json.loads((folder / "out" / "summary.json").read_text("utf-8"))
    assert {key: summary[key] for key in written} == written
    assert (summary["start"], summary["end"], summary["days"]) == ("2012-01-01", "2015-12-31", 1461)
    caught_l = sum(litres.sum() for litres in by_hand(seattle["rain_mm"]).values())
    assert summary["caught_l"] == pytest.approx(caught_l, rel=1e-9)
    assert summary["asked_l"] == pytest.approx(sum(summary[key] for key in ("store_l", "mains_l", "unmet_l")), rel=1e-9)
    assert 0 < summary["mains_l"] < summary["asked_l"]  # the butt's hose had to help
    end_l, start_l = sum(tank["end_l"] for tank in summary["tanks"]), 2500
    to_the_drain_l = next(tank["spilled_l"] for tank in summary["tanks"] if tank["name"] == "Big store")
    assert end_l - start_l == pytest.approx(caught_l - summary["store_l"] - to_the_drain_l, rel=1e-9)


def test_seattle_roofs_day_by_day(books, seattle):
    for roof, litres in by_hand(seattle["rain_mm"]).items():
        day = books["roofs"][books["roofs"]["roof"] == roof].set_index("date")
        assert day.index.equals(seattle.index)
        np.testing.assert_allclose(day["caught_l"], litres, rtol=1e-9, atol=1e-9)
        on_roof_l = seattle["rain_mm"] * (42 if roof == "Class-room roof" else 8)
        np.testing.assert_allclose(day["on_roof_l"], on_roof_l, rtol=1e-9)


def test_seattle_north_line_runs_in_season_on_days_without_rain_before(books, seattle):
    line = books["zones"][books["zones"]["zone"] == "North line"].set_index("date")
    before_mm = sum(seattle["rain_mm"].shift(n, fill_value=0) for n in (1, 2))
    month_and_day = line.index.strftime("%m-%d")
    expected_l = ((month_and_day >= "05-01") & (month_and_day <= "09-30") & (before_mm < 5)) * (9 * 6)
    assert list(line["asked_l"]) == list(expected_l)
    assert expected_l.groupby(expected_l.index.year).sum().min() > 0


def test_seattle_root_zones_balance_over_four_years(answer, books, seattle):
    stress_days = {bed["name"]: bed["stress_days"] for bed in json.loads(answer.stdout)["beds"]}
    for name, bed in books["beds"].groupby("bed"):
        gained_mm = bed["rain_mm"].sum() + bed["irrigation_mm"].sum() + bed["subsoil_mm"].sum()
        spent_mm = bed["eta_mm"].sum() + bed["drained_mm"].sum()
        assert bed["rain_mm"].sum() == pytest.approx(seattle["rain_mm"].sum(), rel=1e-9)
        assert bed["depletion_mm"].iloc[-1] == pytest.approx(spent_mm - gained_mm, rel=0, abs=1e-6)  # it started full
        assert (bed["eta_mm"] <= bed["etc_mm"]).all()
        assert (bed["irrigation_mm"].sum() > 0) == (name != "Corn bed")
        assert (stress_days[name] > 0) == (name == "Corn bed")  # on rain alone, in dry summers


RECHTENBACH = (50.5, 200.0)  # latitude and elevation are not in the file, nor is the height of the wind gauge: 2 m
GRASS = """
[site]
name = "Brackenfold, moved to Rechtenbach"
latitude_deg = 50.5
elevation_m = 200

[weather]
file = "weather.csv"
wind_height_m = 2

[model]
kc_bare = 1                  # so that ETc is ET0
root_start_m = 0.7

[[tank]]
name = "store"
capacity_l = 1000
start_l = 0

[[bed]]
name = "Lawn"
area_m2 = 10
available_water_mm_m = 140
start_depleted = 0.5
"""


@pytest.fixture(scope="module")
def rechtenbach():
    return open_records.rechtenbach()


@pytest.fixture(scope="module")
def lawn(rechtenbach, tmp_path_factory):
    folder = tmp_path_factory.mktemp("rechtenbach")
    (folder / "site.toml").write_text(GRASS, "utf-8")
    rechtenbach.to_csv(folder / "weather.csv", date_format="%Y-%m-%d")
    site = waterbudget.load_site(folder / "site.toml")
    weather = waterbudget.read_weather(folder / "weather.csv", site)
    return waterbudget.run(site, weather)


def test_rechtenbach_is_measured_in_full(lawn):
    assert lawn.weather.et0.method == "Penman-Monteith (FAO-56 Eq. 6)"
    assert lawn.weather.et0.assumed == ()
    assert (lawn.summary["start"], lawn.summary["end"], lawn.summary["days"]) == ("2014-01-01", "2016-12-31", 1096)


def test_rechtenbach_lawn_against_refet(lawn, rechtenbach):
    """The refet library (ASCE standardised equation, which is FAO-56 Eq. 6 by the day); it keeps days below zero."""
    e0_max, e0_min = (0.6108 * np.exp(17.27 * t / (t + 237.3)) for t in (rechtenbach["tmax_c"], rechtenbach["tmin_c"]))
    ea = (e0_min * rechtenbach["rh_max_pct"] + e0_max * rechtenbach["rh_min_pct"]) / 200  # FAO-56 Eq. 17
    latitude_deg, elevation_m = RECHTENBACH
    theirs_mm = refet.Daily(
        tmin=rechtenbach["tmin_c"].to_numpy(),
        tmax=rechtenbach["tmax_c"].to_numpy(),
        ea=ea.to_numpy(),
        rs=rechtenbach["solar_mj_m2"].to_numpy(),
        uz=rechtenbach["wind_m_s"].to_numpy(),
        zw=2.0,
        elev=elevation_m,
        lat=latitude_deg,
        doy=rechtenbach.index.dayofyear.to_numpy(),
        method="asce",
    ).eto()
    np.testing.assert_allclose(lawn.beds["etc_mm"], np.maximum(theirs_mm, 0.0), rtol=0, atol=0.01)


def test_rechtenbach_lawn_balances(lawn, rechtenbach):
    bed, total = lawn.beds, lawn.summary["beds"][0]
    assert total["rain_mm"] == pytest.approx(rechtenbach["rain_mm"].sum(), rel=1e-9)
    assert total["irrigation_mm"] == 0.0
    np.testing.assert_allclose(bed["taw_mm"], 98.0, rtol=1e-12)  # 140 mm/m through 0.7 m
    drier_mm = bed["depletion_mm"].iloc[-1] - 49.0
    assert drier_mm == pytest.approx(total["eta_mm"] - total["rain_mm"] + total["drained_mm"], rel=1e-9, abs=1e-9)
    assert 0 < total["eta_mm"] < total["etc_mm"]  # summers without watering leave it short
    assert total["etc_mm"] == pytest.approx(lawn.weather.daily["et0_mm"].sum(), rel=1e-9)


def test_rechtenbach_lawn_drinks_what_it_can_reach(lawn):
    bed = lawn.beds
    dry = bed["ks"] < 1
    assert dry.any()
    np.testing.assert_allclose(bed["eta_mm"][~dry], bed["etc_mm"][~dry], rtol=1e-12)
    np.testing.assert_array_less(bed["eta_mm"][dry & (bed["etc_mm"] > 0)], bed["etc_mm"][dry & (bed["etc_mm"] > 0)])
    start_mm = bed["depletion_mm"].shift(1, fill_value=49.0)
    np.testing.assert_array_equal(dry, start_mm > bed["raw_mm"])  # FAO-56 Eq. 84: stress beyond RAW
