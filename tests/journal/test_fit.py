"""Numbers of a garden found again from levels that a garden with these numbers would have shown."""

import datetime as dt
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from gardens import site_of
from journal.invented import DEMO, TRUE, demo_journal, journal, levels, truly
from scipy.optimize import curve_fit

import waterbudget
from waterbudget.errors import InputError
from waterbudget.journal.book import read_journal
from waterbudget.journal.fit import Rival, Told, _rivals, fit
from waterbudget.journal.quantities import quantities_of, with_values
from waterbudget.journal.readings import needed, usable
from waterbudget.journal.replay import Replay
from waterbudget.schedule.garden import garden_of
from waterbudget.simulate.opened import Opened, open_site
from waterbudget.weather.et0 import Et0
from waterbudget.weather.files import Weather

FIRST, DAYS = dt.date(2031, 6, 1), 60
SCHOOL = DEMO.parent / "site.toml"
SCHOOL_TRUE = {
    ("roof", 0, "runoff_coefficient"): 0.70,
    ("roof", 0, "first_flush_l"): 35.0,
    ("roof", 1, "runoff_coefficient"): 0.80,
    ("roof", 1, "first_flush_l"): 4.0,
    ("tank", 0, "loss_l_per_day"): 3.0,
    ("tank", 1, "loss_l_per_day"): 0.5,
    ("zone", 0, "flow_l_min"): 2.7,
    ("zone", 1, "flow_l_min"): 5.5,
}
KEYS = ["runoff_coefficient", "first_flush_l", "loss_l_per_day", "flow_l_min", "start_l"]


def day(number):
    return FIRST + dt.timedelta(number)


def rain_mm(*, dry=False):
    """Rain on every fourth day, of 3 to 15 mm."""
    return [0.0 if dry or number % 4 else 3.0 + 12.0 * (number * 7 % 11) / 10.0 for number in range(DAYS)]


def weather(rain):
    dates = pd.date_range(FIRST, periods=len(rain), freq="D", name="date")
    return Weather(pd.DataFrame({"rain_mm": rain, "et0_mm": 3.0}, dates), Et0("as given", (), "invented"), "invented")


def straight(**changes):
    """A store that is never full nor empty, so that every number acts on its levels in a straight line."""
    return site_of(
        {
            "site": {"name": "Brackenfold"},
            "roof": changes.get("roof")
            or [{"name": "Roof", "tank": "Butt", "area_m2": 100, "runoff_coefficient": 0.9, "filter_efficiency": 1.0}],
            "tank": changes.get("tank") or [{"name": "Butt", "capacity_l": 50_000, "start_l": 20_000}],
            "zone": changes.get("zone")
            or [{"name": "Line", "tank": "Butt", "flow_l_min": 10, "minutes": 10, "every_days": 3}],
        }
    )


# Of the straight store on each evening: sums of rain on the roof, of rainy days, of days and of minutes, and one.
RUNOFF, FLUSH, LEAK, FLOW, START = 0.8, 40.0, 30.0, 8.0, 20_000.0
COLUMNS = np.array(
    [
        np.cumsum(rain_mm()) * 100.0 - rain_mm()[0] * 100.0,
        -np.cumsum(np.array(rain_mm()) > 0.0) + 1.0,
        -np.arange(DAYS),
        -10.0 * (np.arange(DAYS) // 3),
        np.ones(DAYS),
    ]
)


def straight_levels(scatter_l=20.0, every=2):
    random = np.random.default_rng(7)
    level_l = np.array([RUNOFF, FLUSH, LEAK, FLOW, START]) @ COLUMNS
    days = np.arange(0, DAYS, every)
    return days, np.round(level_l[days] + random.normal(0.0, scatter_l, len(days)), 3)


def written(folder, entries):
    path = folder / "journal.csv"
    path.write_text(journal(entries), "utf-8")
    return read_journal(path)


def opened(site, rain):
    return Opened(Path("site.toml"), site, weather(rain), ())


def dipped(days, levels_l, tank="Butt"):
    return [(day(int(number)), "level", tank, level_l, "L") for number, level_l in zip(days, levels_l, strict=True)]


@pytest.fixture(scope="module")
def line(tmp_path_factory):
    entries = dipped(*straight_levels())
    entries[20:20] = [
        (entries[20][0], "ran", "Line", 6.0, "min"),
        (entries[20][0], "ran", "Line", 3.0, "min"),
        (entries[20][0], "mains", "", 75.0, "L"),
    ]
    return fit(opened(straight(), rain_mm()), written(tmp_path_factory.mktemp("line"), entries))


def test_in_a_straight_line_it_is_ordinary_least_squares(line):
    """Values, standard errors and what is alike as scipy's own curve_fit has them for a straight line."""
    days, level_l = straight_levels()
    values, covariance = curve_fit(
        lambda at, *numbers: np.array(numbers) @ COLUMNS[:, at.astype(int)], days, level_l, p0=np.ones(5)
    )
    assert [told.quantity.key for told in line.told] == KEYS
    np.testing.assert_allclose([told.fitted for told in line.told], values, rtol=1e-5)
    np.testing.assert_allclose([told.error for told in line.told], np.sqrt(np.diag(covariance)), rtol=1e-5)
    correlation = covariance / np.sqrt(np.outer(np.diag(covariance), np.diag(covariance)))
    above = {(a, b) for a in range(5) for b in range(a + 1, 5) if abs(correlation[a, b]) > 0.95}
    assert {alike.places for alike in line.alike} == above
    for alike in line.alike:
        assert alike.correlation == pytest.approx(correlation[alike.places], rel=1e-4)
    assert not line.rivals
    assert not any(told.at_bound for told in line.told)


def test_the_levels_stand_beside_the_measured_ones(line):
    days, level_l = straight_levels()
    assert [row.date for row in line.compared] == [day(int(number)) for number in days]
    assert [row.measured_l for row in line.compared] == list(level_l)
    now = np.array([0.9, 0.0, 0.0, 10.0, level_l[0]]) @ COLUMNS
    np.testing.assert_allclose([row.now_l for row in line.compared], now[days], rtol=1e-9)
    np.testing.assert_allclose(line.now_l[:, 0], now[: days[-1] + 1], rtol=1e-9)
    np.testing.assert_allclose([row.fitted_l for row in line.compared], line.fitted_l[days, 0])
    now_l, fitted_l = line.misses_l("Butt")
    assert now_l == pytest.approx(np.sqrt(np.mean((now[days] - level_l) ** 2)))
    assert fitted_l < 20.0 < now_l


def test_logged_runs_and_mains_water_stand_beside_the_model_s(line):
    ran, mains = line.logged
    assert ran == ("ran", "Line", 1, 9.0, 0.0)  # day 40: the line runs on every third, as on 39
    assert mains == ("mains", "", 1, 75.0, 0.0)


def test_what_may_be_written_leaves_out_the_level_to_begin_with(line):
    assert [told.quantity.key for told in line.changes] == KEYS[:-1]


# ---- Gardens with everything in them ----


def errors_off(fitted, true):
    """How many standard errors each number is off the true one."""
    told = {(one.quantity.kind, one.quantity.number, one.quantity.key): one for one in fitted.told}
    return {key: (told[key].fitted - value) / told[key].error for key, value in true.items()}


def test_the_demo_is_the_recipe_s_and_its_numbers_are_found():
    path = DEMO / "journal.csv"
    assert path.read_text("utf-8") == demo_journal()
    fitted = fit(open_site(DEMO / "site.toml"), read_journal(path))
    off = errors_off(fitted, TRUE)
    assert max(map(abs, off.values())) < 3.0, off
    now_l, fitted_l = fitted.misses_l("Class-room tank")
    assert now_l > 100.0
    assert fitted_l < 15.0  # a centimetre is 13 L


def test_two_stores_and_a_line_that_waits_for_a_dry_bed(tmp_path):
    random = np.random.default_rng(0)
    capacity_l = {"Class-room tank": 1500.0, "Shed butt": 350.0}
    entries = [
        (on, "level", tank, float(np.clip(level_l + random.normal(0.0, 0.01 * capacity_l[tank]), 0.0, 1e9)), "L")
        for on, tank, level_l in levels(SCHOOL, SCHOOL_TRUE)
    ]
    fitted = fit(open_site(SCHOOL), written(tmp_path, entries))
    off = errors_off(fitted, SCHOOL_TRUE)
    assert max(map(abs, off.values())) < 3.0, off


# ---- What cannot be told ----


def test_a_line_that_never_ran_cannot_be_told(tmp_path):
    resting = {"name": "Line", "tank": "Butt", "flow_l_min": 10, "minutes": 10, "from": "11-01", "to": "11-30"}
    days, level_l = straight_levels(scatter_l=1.0)
    level_l = level_l - FLOW * COLUMNS[3, days]
    fitted = fit(opened(straight(zone=[resting]), rain_mm()), written(tmp_path, dipped(days, level_l)))
    told = {one.quantity.key: one for one in fitted.told}
    assert told["flow_l_min"][1:] == (10.0, None, False)
    assert told["loss_l_per_day"].fitted == pytest.approx(LEAK, abs=1.0)
    assert "flow_l_min" not in [one.quantity.key for one in fitted.changes]


def test_two_roofs_on_one_store_cannot_be_told_apart(tmp_path):
    roofs = [
        {"name": name, "tank": "Butt", "area_m2": 50, "runoff_coefficient": 0.9, "filter_efficiency": 1.0}
        for name in ("East", "West")
    ]
    fitted = fit(opened(straight(roof=roofs), rain_mm()), written(tmp_path, dipped(*straight_levels())))
    names = [{(fitted.told[place].quantity.name, fitted.told[place].quantity.key) for place in alike.places}
             for alike in fitted.alike]  # fmt: skip
    for key in ("runoff_coefficient", "first_flush_l"):
        assert {("East", key), ("West", key)} in names
    east, west = (one for one in fitted.told if one.quantity.key == "runoff_coefficient")
    assert (east.fitted + west.fitted) / 2 == pytest.approx(RUNOFF, abs=0.02)
    assert min(east.error, west.error) > 1.0  # of a number between 0 and 1


def test_a_store_that_fills_by_itself_has_no_leak_below_none(tmp_path):
    days, level_l = straight_levels(scatter_l=5.0)
    level_l = level_l + (LEAK + 40.0) * days
    fitted = fit(opened(straight(), rain_mm()), written(tmp_path, dipped(days, level_l)))
    told = {one.quantity.key: one for one in fitted.told}
    assert told["loss_l_per_day"].at_bound
    assert told["loss_l_per_day"].fitted == pytest.approx(0.0, abs=0.01)


def test_another_answer_that_fits_as_well_is_told_of(line):
    other = np.array([told.fitted for told in line.told])
    assert list(_rivals(line.told, other)) == []
    other[0] /= 2.0
    assert list(_rivals(line.told, other)) == [Rival(0, pytest.approx(other[0]))]
    silent = [Told(told.quantity, told.fitted, None, at_bound=False) for told in line.told]
    assert list(_rivals(silent, other)) == []


# ---- Which readings are used ----


def test_too_few_levels_are_refused_with_the_number_that_is_needed(tmp_path):
    days, level_l = straight_levels()
    site = straight()
    assert needed(site, "Butt") == 8  # coefficient, first flush, leak, flow, the first level, and three to spare
    with pytest.raises(InputError) as told:
        fit(opened(site, rain_mm()), written(tmp_path, dipped(days[:7], level_l[:7])))
    assert str(told.value) == (
        f"{tmp_path / 'journal.csv'}: Butt: 7 of the 8 levels that a fit of it needs; log 1 more, "
        "some of them soon after rain"
    )


@pytest.mark.parametrize("first", [0, 1])
def test_a_dry_spell_is_refused(tmp_path, first):
    """Rain on the first reading's own day came before it, as a level is that of the evening."""
    days, level_l = straight_levels()
    rain = [9.0] * first + rain_mm(dry=True)[first:]
    with pytest.raises(InputError, match="Butt: no rain ran off its roof from 2031-06-01 to 2031-07-29, so its runoff"):
        fit(opened(straight(), rain), written(tmp_path, dipped(days, level_l)))


def test_no_level_at_all_is_refused(tmp_path):
    with pytest.raises(InputError, match=r'holds no level that can be used; log some: waterbudget log --tank "Butt=…"'):
        fit(opened(straight(), rain_mm()), read_journal(tmp_path / "journal.csv"))


def test_what_cannot_be_used_is_left_out_and_told(tmp_path):
    days, level_l = straight_levels()
    butts = [{"name": name, "capacity_l": 50_000, "start_l": 20_000} for name in ("Butt", "Vat")]
    entries = [
        (FIRST - dt.timedelta(9), "level", "Butt", 100.0, "L"),
        *dipped(days, level_l),
        (day(58), "level", "Butt", 1.0, "L"),  # line 32, undone
        (day(58), "level", "Vat", 100.0, "L"),
        (day(58), "level", "Cask", 100.0, "L"),
        (day(58), "level", "Butt", 38.0, "cm"),
        (day(58), "level", "Butt", 123.0, "L"),  # a second look on the same evening
        (day(59), "undo", "", 32, "line"),
    ]
    site = straight(tank=butts)
    readings = usable(site, weather(rain_mm()), written(tmp_path, entries))
    assert list(readings.level_l) == ["Butt"]
    assert readings.level_l["Butt"] == {
        **{day(int(number)): litres for number, litres in zip(days, level_l, strict=True)},
        day(58): 123.0,
    }
    assert (readings.first_day, readings.last_day, readings.first_l) == (FIRST, day(58), {"Butt": level_l[0]})
    assert readings.notes == (
        "Cask: 1 logged levels are left out, as the site has no such tank.",
        "Butt: 1 logged levels are left out, as the site gives it no shape as deep as these depths.",
        "Butt: 1 levels lie outside the weather, which is of 2031-06-01 to 2031-07-30, and are left out.",
        "Vat: 1 of the 5 levels that a fit of it needs; log 4 more, some of them soon after rain. It is left out.",
    )


# ---- The model that is fitted is the model ----


@pytest.mark.parametrize("begin", [0, 17, 40])
def test_from_any_evening_on_it_is_the_run_itself(begin):
    site, whole = truly(SCHOOL, {}), open_site(SCHOOL).weather
    tanks = waterbudget.run(site, whole).tanks.pivot_table(index="date", columns="tank", values="level_l", sort=False)
    tanks = tanks[[tank.name for tank in site.tank]]
    first, last = whole.dates[begin].date(), whole.dates[-1].date()
    readings = usable(site, whole, FakeJournal(tanks.iloc[begin:]))
    model = Replay.of(site, whole, readings)
    quantities = quantities_of(site, readings.first_l)
    now = np.array([[quantity.now for quantity in quantities]])
    assert (readings.first_day, readings.last_day) == (first, last)
    # rain before the first evening is not remembered: the dates are chosen where it made nobody skip a run
    np.testing.assert_allclose(model.levels(quantities, now)[:, 0], tanks.iloc[begin:], rtol=1e-9, atol=1e-9)


class FakeJournal:
    """A journal of all levels of a table."""

    path = Path("journal.csv")

    def __init__(self, table):
        entries = [(on, tank, level_l) for on, row in table.iterrows() for tank, level_l in row.items()]
        self.counting = [(0, None, Entry_(on.date(), tank, level_l)) for on, tank, level_l in entries]


class Entry_:  # noqa: N801 - an entry with the parts that are read
    kind, unit = "level", "L"

    def __init__(self, date, name, value):
        self.date, self.name, self.value = date, name, value


def test_every_scenario_has_its_own_numbers():
    site = straight()
    quantities = quantities_of(site, {"Butt": 20_000.0})
    values = np.array([[0.9, 0.0, 0.0, 10.0, 20_000.0], [0.5, 12.0, 3.0, 5.0, 100.0]])
    garden = with_values(garden_of(site), quantities, values)
    assert garden.roofs.runoff_coefficient[:, 0].tolist() == [0.9, 0.5]
    assert garden.roofs.first_flush_l[:, 0].tolist() == [0.0, 12.0]
    assert garden.tanks.loss_l_per_day[:, 0].tolist() == [0.0, 3.0]
    assert garden.tanks.start_l[:, 0].tolist() == [20_000.0, 100.0]
    assert garden.outlets.flow_l_min[:, 0].tolist() == [10.0, 5.0]
    assert garden.outlets.run_l[:, 0].tolist() == garden.outlets.hot_run_l[:, 0].tolist() == [100.0, 50.0]
