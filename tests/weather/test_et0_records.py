"""ET0 on years of real weather: against the refet library, and what each missing reading does to it."""

import itertools
import math
from pathlib import Path

import numpy as np
import open_records
import pandas as pd
import pyet
import pytest
import refet

from waterbudget.weather.et0 import (
    ALL_READ,
    HIGH,
    HIGH_AND_LOW,
    MEAN,
    NIGHT,
    RANGE,
    READ,
    RUNGS,
    SUNSHINE,
    TABLE_4,
    YEARLY_ERROR_PCT,
    Basis,
    basis_of,
    reference_et0,
    rungs,
)

DEVELOPERS = Path(__file__).parent.parent.parent / "DEVELOPERS.md"
PLACES = {  # latitude [deg], elevation [m], height of the wind [m]; Rechtenbach's are not in its file, and taken
    "Rechtenbach": (50.5, 200.0, 2.0),
    "Greensboro": (36.1, 273.0, 10.0),
    "Sand Point": (55.317, 7.0, 10.0),
}
READINGS = ["tmin_c", "tmax_c", "solar_mj_m2", "rh_min_pct", "rh_max_pct", "wind_m_s"]
ROWS = {  # of the printed table: what each rung is given besides the temperatures
    "full": READINGS[2:],
    "without sun (Eq. 50)": ["rh_min_pct", "rh_max_pct", "wind_m_s"],
    "without humidity (Eq. 48)": ["solar_mj_m2", "wind_m_s"],
    "without wind (2 m/s)": ["solar_mj_m2", "rh_min_pct", "rh_max_pct"],
    "Hargreaves (Eq. 52)": [],
    "full, but humidity as a daily mean (Eq. 19)": ["solar_mj_m2", "rh_mean_pct", "wind_m_s"],
    "full, but sunshine hours (Eq. 35)": ["sun_hours", "rh_min_pct", "rh_max_pct", "wind_m_s"],
}
SUN = {READ: ["solar_mj_m2"], SUNSHINE: ["sun_hours"], RANGE: []}
HUMIDITY = {
    HIGH_AND_LOW: ["rh_min_pct", "rh_max_pct"],
    MEAN: ["rh_mean_pct"],
    HIGH: ["rh_max_pct"],
    NIGHT: [],
}
WIND = {READ: ["wind_m_s"], TABLE_4: []}


@pytest.fixture(scope="module")
def records():
    daily = (open_records.rechtenbach(), open_records.greensboro(), open_records.sand_point())
    return dict(zip(PLACES, daily, strict=True))


def yearly(et0_mm):
    return et0_mm.groupby(et0_mm.index.year).sum()


def errors_pct(records, columns):
    """Yearly ET0 from some columns against that of all readings, every year of the records that have them."""
    errors = []
    for name, daily in records.items():
        if set(columns) <= set(daily):
            full_mm, _ = reference_et0(daily[READINGS], *PLACES[name])
            et0_mm, _ = reference_et0(daily[["tmin_c", "tmax_c", *columns]], *PLACES[name])
            errors += ((yearly(et0_mm) / yearly(full_mm) - 1) * 100).tolist()
    return errors


def test_the_sun_of_rechtenbach_is_that_of_its_dates(records):
    daily = records["Rechtenbach"]
    ra = pyet.extraterrestrial_r(daily.index, math.radians(PLACES["Rechtenbach"][0]))
    share = daily["solar_mj_m2"] / pyet.calc_rso(ra, PLACES["Rechtenbach"][1])  # FAO-56 Eq. 37
    assert share.groupby(share.index.month).max().between(0.45, 0.75).all()


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("wind_height_m", [2.0, 10.0])
def test_years_against_refet(records, place, wind_height_m):
    daily, (latitude_deg, elevation_m, _) = records[place], PLACES[place]
    e0_max, e0_min = (0.6108 * np.exp(17.27 * t / (t + 237.3)) for t in (daily["tmax_c"], daily["tmin_c"]))
    ea = (e0_min * daily["rh_max_pct"] + e0_max * daily["rh_min_pct"]) / 200  # Eq. 17
    theirs_mm = refet.Daily(
        tmin=daily["tmin_c"].to_numpy(),
        tmax=daily["tmax_c"].to_numpy(),
        ea=ea.to_numpy(),
        rs=daily["solar_mj_m2"].to_numpy(),
        uz=daily["wind_m_s"].to_numpy(),
        zw=wind_height_m,
        elev=elevation_m,
        lat=latitude_deg,
        doy=daily.index.dayofyear.to_numpy(),
        method="asce",
    ).eto()
    ours_mm, et0 = reference_et0(daily[READINGS], latitude_deg, elevation_m, wind_height_m)
    assert len(ours_mm) == (1096 if place == "Rechtenbach" else 365)
    # refet keeps the days on which dew forms, below zero; one at Sand Point
    np.testing.assert_allclose(ours_mm, np.maximum(theirs_mm, 0.0), rtol=0, atol=0.01)
    assert (theirs_mm < 0).any() == (place == "Sand Point")
    assert et0.assumed == (() if wind_height_m == 2.0 else ("wind: brought from 10 m down to 2 m (FAO-56 Eq. 47)",))


@pytest.mark.parametrize("place", PLACES)
def test_every_rung_is_there_where_everything_is_measured(records, place):
    by_rung = rungs(records[place], *PLACES[place])
    assert list(by_rung) == [*RUNGS, "Hargreaves"]
    assert by_rung.index.equals(records[place].index)
    assert (by_rung >= 0.0).all(axis=None)
    used, _ = reference_et0(records[place][READINGS], *PLACES[place])
    pd.testing.assert_series_equal(by_rung["full"], used, check_names=False)


@pytest.mark.parametrize("rung", ROWS)
def test_the_printed_table_of_the_rungs(records, rung):
    cells = []
    for name, daily in records.items():
        if set(ROWS[rung]) <= set(daily):
            et0_mm, _ = reference_et0(daily[["tmin_c", "tmax_c", *ROWS[rung]]], *PLACES[name])
            cells += [f"{mm:.0f}" for mm in yearly(et0_mm)]
        else:
            cells += ["–"] * len(yearly(daily["tmin_c"]))
    if rung != "full":
        off = [f"{pct:+.0f} %" for pct in errors_pct(records, ROWS[rung])]
        cells = [mm if mm == "–" else f"{mm} ({off.pop(0)})" for mm in cells]
    assert f"| {rung} | {' | '.join(cells)} |" in DEVELOPERS.read_text("utf-8").splitlines()


def test_the_printed_row_of_temperatures_with_eq_6(records):
    by_rung = [yearly(rungs(daily, *PLACES[name])) for name, daily in records.items()]
    six_mm, full_mm = (pd.concat([one[name] for one in by_rung]) for name in ("temperatures only with Eq. 6", "full"))
    cells = [f"{mm:.0f} ({100 * (mm / full - 1):+.0f} %)" for mm, full in zip(six_mm, full_mm, strict=True)]
    row = f"| temperatures only with Eq. 6 | {' | '.join(cells)} |"
    assert row in DEVELOPERS.read_text("utf-8").splitlines()


@pytest.mark.parametrize("basis", YEARLY_ERROR_PCT, ids=", ".join)
def test_the_likely_error_is_that_of_the_estimates(records, basis):
    columns = SUN[basis.sun] + HUMIDITY[basis.humidity] + WIND[basis.wind]
    assert basis_of(columns) == basis
    errors = errors_pct(records, columns)
    low, high = math.floor(min(errors)), math.ceil(max(errors))
    assert YEARLY_ERROR_PCT[basis] == (low, high)
    _, et0 = reference_et0(records["Greensboro"][["tmin_c", "tmax_c", *columns]], *PLACES["Greensboro"])
    stations = {2: "two", 5: "three"}[len(errors)]
    assert f", as measured at {stations} stations; other places may differ" in et0.likely_error


@pytest.mark.parametrize(
    ("columns", "words"),
    [
        (["solar_mj_m2", "rh_mean_pct", "wind_m_s"], "over a year 3 to 10 % too low"),
        (["sun_hours", "rh_min_pct", "rh_max_pct", "wind_m_s"], "over a year 3 to 4 % too high"),
        (["sun_hours", "rh_mean_pct", "wind_m_s"], "over a year 5 % too low to 1 % too high"),
        ([], "over a year 34 % too low to 78 % too high"),
    ],
)
def test_the_likely_error_in_words(records, columns, words):
    _, et0 = reference_et0(records["Greensboro"][["tmin_c", "tmax_c", *columns]], *PLACES["Greensboro"])
    assert et0.likely_error.startswith(f"{words}, as measured at ")


def test_every_basis_but_all_readings_has_its_likely_error():
    every = {Basis(*each) for each in itertools.product(SUN, HUMIDITY, WIND)}
    assert every - set(YEARLY_ERROR_PCT) == {ALL_READ}


def test_what_is_all_read_says_so(records):
    for name, daily in records.items():
        _, et0 = reference_et0(daily[READINGS], *PLACES[name])
        assert et0.likely_error.startswith("little more than that of the readings")


def test_no_estimate_goes_with_the_error_of_readings_alone(records):
    _, et0 = reference_et0(records["Greensboro"].drop(columns=["solar_mj_m2", "rh_min_pct"]), *PLACES["Greensboro"])
    assert any("mean alone (FAO-56 Eq. 19)" in words for words in et0.assumed)
    assert "readings: sun, humidity and wind are all measured" not in et0.likely_error
