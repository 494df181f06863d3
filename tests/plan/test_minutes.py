"""Minutes by month: by hand, against runs of the package, and on random gardens."""

import datetime as dt
import tomllib
from pathlib import Path

import numpy as np
import pytest
from gardens import site_of, weather_of
from hypothesis import given, settings
from spell.beans import table
from strategies import runs

import waterbudget
from waterbudget.answers.minutes_paste import paste, toml_of
from waterbudget.errors import InputError, SiteError, WeatherError
from waterbudget.plan.minutes import find_minutes
from waterbudget.plan.settings import EVERY_DAYS, Balance
from waterbudget.plan.usual import usual_summers
from waterbudget.simulate.opened import Opened, open_site
from waterbudget.site.model import MonthDay
from waterbudget.site.override import checked_site, raw_site

DEMO = Path(__file__).parent.parent.parent / "data_demo"


def beans(*, days=61, et0_mm=5.0, rain_mm=lambda _n: 0.0, **parts):
    """The bed of beans (TAW 100 mm, p 0.5, 10 m², a minute a millimetre) through June and July."""
    tables = table(**{"zone": {"from": "06-01", "minutes": 20}} | parts)
    for planting in tables["bed"][0]["planting"]:
        planting["planted"] = "05-01"
    first = np.datetime64("2031-06-01")
    rows = [
        {"date": str(first + n), "rain_mm": rain_mm(n), "et0_mm": et0_mm, "tmax_c": 20.0 + 10.0 * (n % 2)}
        for n in range(days)
    ]
    return Opened(Path("site.toml"), site_of(tables), weather_of(rows), ())


def daily_mm(setting):
    """Of a minute a millimetre."""
    return setting.minutes * setting.runs / setting.every_days


def test_without_rain_a_bed_gets_what_it_uses():
    """By hand: Kc 1 times 5 mm, and a minute is a millimetre: five minutes a day, whatever the rhythm."""
    (one,) = find_minutes(beans(zone={"from": "06-01", "minutes": 20})).zones
    june, july = one.months
    assert (june.days, july.days) == (30, 31)
    assert 4.0 <= daily_mm(june.setting) <= 5.5, "the soil gives its share in the first month"
    assert daily_mm(july.setting) == pytest.approx(5.0, abs=0.5)
    assert july.advised.lacked_l < 0.03 * july.advised.etc_l
    assert july.advised.sunk_l < 0.03 * july.advised.etc_l


def test_the_present_plan_stands_beside_it():
    """By hand: 20 minutes a day are 20 mm, of which 15 sink: 150 L a day on 10 m²."""
    (one,) = find_minutes(beans()).zones
    july = one.months[1].present
    assert july.etc_l == pytest.approx(31 * 5 * 10)
    assert july.sunk_l == pytest.approx(31 * 15 * 10)
    assert july.asked_l == pytest.approx(31 * 200)
    assert one.present.sunk_l == pytest.approx(61 * 15 * 10)
    assert one.is_better


def test_no_rhythm_lets_a_bed_use_up_what_it_readily_has():
    """RAW is 50 mm, ten days of 5 mm; of 10 mm a day with p 0.5 it is 30 mm (adjusted for demand): three days."""
    (one,) = find_minutes(beans(et0_mm=10.0)).zones
    assert all(month.setting.every_days <= 3 for month in one.months)
    (one,) = find_minutes(beans()).zones
    assert all(month.setting.every_days <= max(EVERY_DAYS) for month in one.months)


def test_what_the_soil_cannot_take_at_once_comes_in_pulses():
    """60 mm/h on loam, which takes 15: 6.7 minutes at most; a week of 35 mm is six pulses."""
    (one,) = find_minutes(beans(bed={"soil": "loam"})).zones
    every = [*(month.setting for month in one.months), one.once, one.hot_week]
    assert max(setting.minutes for setting in every) <= 60 * 5 / 45
    assert daily_mm(one.months[1].setting) == pytest.approx(5.0, abs=0.75)


def test_runs_are_left_out_after_rain_and_no_water_is_needed_in_a_wet_month():
    wet = find_minutes(beans(rain_mm=lambda n: 6.0 if n < 30 else 0.0)).zones[0]
    june, july = wet.months
    assert june.advised.asked_l == 0.0
    assert july.advised.asked_l > 0.0
    assert (wet.skip_rain_mm, wet.skip_rain_days) == (5.0, 2), "as the site file tells none"


def test_hot_days_get_more_where_the_zone_knows_them():
    zone = {"from": "06-01", "minutes": 20, "hot_above_c": 25, "hot_minutes": 30}
    opened = beans(zone=zone)
    opened.weather.daily["et0_mm"] = np.where(opened.weather.daily["tmax_c"] >= 25, 7.5, 2.5)
    (one,) = find_minutes(opened).zones
    for month in one.months:
        assert month.setting.hot_minutes >= month.setting.minutes
    (cold,) = find_minutes(beans(zone=zone | {"hot_above_c": 40})).zones
    assert all(month.setting.hot_minutes == month.setting.minutes for month in cold.months)


def test_who_feels_the_soil_keeps_doing_so():
    zone = {"from": "06-01", "minutes": 60, "plan": "dry", "dry_at": 0.8}
    (one,) = find_minutes(beans(zone=zone)).zones
    assert one.once.every_days is None
    assert one.skip_rain_mm is None
    assert one.months[1].setting.minutes * one.months[1].setting.runs <= 45, "40 mm are missing when it is opened"
    assert one.months[1].advised.sunk_l < one.months[1].present.sunk_l


# ---- Against runs of the package -------------------------------------------------------------------------------------


def by_hose(table):
    """The tables with a hose for every store, so that all that is asked for is given."""
    for tank in table["tank"]:
        tank["mains"] = "direct"
    return table


@pytest.mark.parametrize("path", ["site.toml", "allotment/site.toml"])
def test_the_lines_to_paste_make_the_balance_and_better_the_present_plan(path):
    """The lines put into the site file, run by the package: what sinks, what is lacked and what it takes."""
    opened = open_site(DEMO / path)
    found = find_minutes(opened)
    tables = by_hose(raw_site(DEMO / path))
    present = waterbudget.run(checked_site(tables, "now"), opened.weather)
    for keys in tomllib.loads("\n".join(paste(found)))["zone"]:
        zone = next(zone for zone in tables["zone"] if zone["name"] == keys["name"])
        zone |= keys
        if "every_days" in keys:
            zone.pop("weekdays", None)
            zone["every_from"] = opened.weather.dates[0].date()
    pasted = waterbudget.run(checked_site(tables, "pasted"), opened.weather)
    for one in found.zones:
        assert run_balance(present, one.zone.name) == pytest.approx(one.present[1:4], abs=1e-6)
        if one.once_balance.wrong_l < one.present.wrong_l:
            assert run_balance(pasted, one.zone.name) == pytest.approx(one.once_balance[1:4], abs=1e-6)
            lacked_l, sunk_l, _ = run_balance(pasted, one.zone.name)
            assert 3 * lacked_l + sunk_l < one.present.wrong_l


def run_balance(result, zone):
    """Litres that its beds lack while planted, that sink, and that it asks for, from the daily tables."""
    site = result.site
    area = {bed.name: bed.ground_m2 for bed in site.bed if bed.zone == zone}
    season = usual_summers(site, result.weather)
    days = result.weather.dates.isin(season.season.dates[:, 0])
    planted = season.season.planted[:, :, 0]
    lacked_l = sunk_l = 0.0
    for column, bed in enumerate(site.bed):
        if bed.name in area:
            rows = result.beds[result.beds["bed"] == bed.name][days]
            lacked_l += float(((rows["etc_mm"] - rows["eta_mm"]) * planted[:, column]).sum()) * area[bed.name]
            sunk_l += float(np.minimum(rows["drained_mm"], rows["irrigation_mm"]).sum()) * area[bed.name]
    zones = result.zones[result.zones["zone"] == zone]
    return lacked_l, sunk_l, float(zones["asked_l"][days].sum())


def test_over_twelve_summers_the_table_wrongs_less_than_the_present_plan():
    found = find_minutes(open_site(DEMO / "years" / "site.toml", every_year=True))
    assert found.usual.years == 12
    north, south = found.zones
    assert north.advised.wrong_l < north.present.wrong_l
    assert north.advised.sunk_l < 0.5 * north.present.sunk_l
    assert found.advised_needed_l < found.present_needed_l
    assert not south.is_better, "somebody feels the soil already"


@settings(max_examples=25)
@given(runs())
def test_on_any_garden_every_setting_is_one_that_soil_and_clock_take(run):
    site, weather = waterbudget.site.model.Site.model_validate(run[0]), weather_of(run[1])
    try:
        found = find_minutes(Opened(Path("site.toml"), site, weather, ()))
    except (SiteError, WeatherError):
        return
    for one in found.zones:
        for setting in (*(month.setting for month in one.months), one.once, one.hot_week):
            assert setting.minutes <= one.pulse.longest_minutes * (1 + 1e-9)
            assert setting.minutes % 0.5 == 0.0
            assert 1 <= setting.runs <= one.pulse.most
        for month in one.months:
            assert all(part >= -1e-9 for part in (*month.advised, *month.present))
            assert month.advised.lacked_l <= month.advised.etc_l + 1e-9
        checked = tomllib.loads("\n".join(toml_of(one, one.once)))["zone"][0]
        assert checked["name"] == one.zone.name


# ---- One bed, the years, and faults ----------------------------------------------------------------------------------


def test_one_bed_alone_has_the_whole_line_where_beds_are_watered_in_turn():
    opened = open_site(DEMO / "site.toml")
    (alone,) = find_minutes(opened, "Bean bed").zones
    assert alone.beds == ("Bean bed",)
    assert find_minutes(opened, "bean").bed == "Bean bed", "any beginning of a name will do"
    assert alone.flow_l_min == pytest.approx(3.2)
    assert alone.zone.minutes == pytest.approx(10 / 4), "its quarter of the round"
    (south,) = find_minutes(opened, "Potato bed").zones
    assert south.flow_l_min == pytest.approx(5 * 4.5 / 8.1), "its share of the flow"
    june, whole = (find_minutes(opened, bed).zones[0].months[-4].present for bed in ("Tomato bed", None))
    assert june.asked_l == pytest.approx(whole.asked_l / 4)
    assert june.days == whole.days


def test_years_are_the_complete_ones_of_the_season_in_which_anything_is_watered():
    opened = open_site(DEMO / "years" / "site.toml", every_year=True)
    usual = usual_summers(opened.site, opened.weather)
    assert usual.labels == tuple(map(str, range(2019, 2031)))
    assert (str(usual.season.dates[0, 0])[5:], str(usual.season.dates[-1, 0])[5:]) == ("05-01", "09-20")
    assert [part.month for part in usual.parts] == [5, 6, 7, 8, 9]
    some = opened.weather.between(dt.date(2019, 7, 15), dt.date(2020, 6, 15))
    part = usual_summers(opened.site, some)
    assert part.labels == ("2019",)
    dates = part.season.dates[:, 0]
    assert (str(dates[0]), str(dates[-1])) == ("2019-07-15", "2019-09-20"), (
        "no year is whole, so the first that there is"
    )


def test_what_was_planted_once_stands_in_every_year():
    opened = beans()
    tables = table(zone={"from": "06-01", "minutes": 20})
    site = usual_summers(site_of(tables), opened.weather).site
    assert site.bed[0].planting[0].planted == MonthDay(5, 1)


@pytest.mark.parametrize(
    ("bed", "told"),
    [
        ("Rose bed", '"Rose bed" is no bed; did you mean "Carrot bed"?'),
        ("Moss", 'bed: "Moss" has no zone; it lives on rain. Add zone = "…" to it in the site file'),
    ],
)
def test_a_bed_that_nobody_waters_is_refused(bed, told):
    tables = raw_site(DEMO / "site.toml")
    tables["bed"].append({"name": "Moss", "area_m2": 1, "soil": "loam"})
    opened = open_site(DEMO / "site.toml")
    with pytest.raises(InputError) as refused:
        find_minutes(Opened(opened.path, checked_site(tables, "here"), opened.weather, ()), bed)
    assert str(refused.value).startswith(told)


def test_where_nothing_grows_there_is_nothing_to_set():
    opened = beans(bed={"planting": []})
    with pytest.raises(SiteError, match="no zone waters a bed in which anything grows"):
        find_minutes(opened)


def test_balances_add_up():
    assert Balance(1, 2, 3, 4, 5) + Balance(1, 1, 1, 1, 1) == Balance(2, 3, 4, 5, 6)
    assert Balance(9, 2, 3, 4, 5).wrong_l == 9.0
