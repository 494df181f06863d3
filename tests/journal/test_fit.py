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
from waterbudget.journal.book import Entry, Journal, Line, read_journal
from waterbudget.journal.diary import diary_of
from waterbudget.journal.fit import AlternativeOptimum, Estimate, _alternatives, fit
from waterbudget.journal.quantities import quantities_of, with_starts, with_values
from waterbudget.journal.readings import Readings, levels_of, needed, usable
from waterbudget.journal.replay import Replay
from waterbudget.schedule.built import garden_of
from waterbudget.simulate.keep import Keep
from waterbudget.simulate.opened import Opened, open_site
from waterbudget.simulate.state import State
from waterbudget.weather.days import Weather
from waterbudget.weather.et0 import Et0

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
    return Weather.of(
        pd.DataFrame({"rain_mm": rain, "et0_mm": 3.0}, dates), Et0("as given", (), "invented"), "invented"
    )


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


def columns(ran=None, rain=None):
    """With other minutes and other rain on some days."""
    rained_mm, minutes = np.array(rain_mm()), np.where(np.arange(DAYS) % 3 == 0, 10.0, 0.0)
    for values, logged in ((rained_mm, rain), (minutes, ran)):
        for number, value in (logged or {}).items():
            values[number] = value
    sums = [100.0 * rained_mm, -1.0 * (rained_mm > 0.0), -np.ones(DAYS), -minutes]
    return np.array([*(np.cumsum(one) - one[0] for one in sums), np.ones(DAYS)])


NOON = dt.datetime(2031, 6, 1, 12, tzinfo=dt.UTC)
COLUMNS = columns()


def straight_levels(scatter_l=20.0, every=2, of=COLUMNS, more_l=0.0):
    random = np.random.default_rng(7)
    level_l = np.array([RUNOFF, FLUSH, LEAK, FLOW, START]) @ of + more_l
    days = np.arange(0, DAYS, every)
    return days, np.round(level_l[days] + random.normal(0.0, scatter_l, len(days)), 3)


def written(folder, entries):
    path = folder / "journal.csv"
    path.write_text(journal(entries), "utf-8")
    return read_journal(path)


def opened(site, rain):
    return Opened(Path("site.toml"), site, weather(rain), ())


def noted_in(entries):
    """A journal in memory."""
    lines = (Line(number, NOON, Entry(*entry)) for number, entry in enumerate(entries, 1))
    return Journal(Path("journal.csv"), tuple(lines), ())


def usable_of(site, noted):
    """All levels of a journal, be they few."""
    return Readings(levels_of(site, noted, []), ())


def dipped(days, levels_l, tank="Butt"):
    return [(day(int(number)), "level", tank, level_l, "L") for number, level_l in zip(days, levels_l, strict=True)]


@pytest.fixture(scope="module")
def line(tmp_path_factory):
    return fit(opened(straight(), rain_mm()), written(tmp_path_factory.mktemp("line"), dipped(*straight_levels())))


def test_in_a_straight_line_it_is_ordinary_least_squares(line):
    """Values, standard errors and what is alike as scipy's own curve_fit has them for a straight line."""
    days, level_l = straight_levels()
    values, covariance = curve_fit(
        lambda at, *numbers: np.array(numbers) @ COLUMNS[:, at.astype(int)], days, level_l, p0=np.ones(5)
    )
    assert [told.quantity.key for told in line.estimates] == KEYS
    np.testing.assert_allclose([told.fitted for told in line.estimates], values, rtol=1e-5)
    np.testing.assert_allclose([told.error for told in line.estimates], np.sqrt(np.diag(covariance)), rtol=1e-5)
    correlation = covariance / np.sqrt(np.outer(np.diag(covariance), np.diag(covariance)))
    above = {(a, b) for a in range(5) for b in range(a + 1, 5) if abs(correlation[a, b]) > 0.95}
    assert {alike.places for alike in line.confounded} == above
    for alike in line.confounded:
        assert alike.correlation == pytest.approx(correlation[alike.places], rel=1e-4)
    assert not line.alternatives
    assert not any(told.at_bound for told in line.estimates)


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


def test_what_may_be_written_leaves_out_the_level_to_begin_with(line):
    assert [told.quantity.key for told in line.changes] == KEYS[:-1]


# ---- What was done and measured otherwise ----

RAN_MIN, LET_IN_L, GAUGE_MM = {12: 0.0, 13: 55.0, 40: 9.0}, {20: 300.0, 41: 75.0}, {4: 0.0, 30: 11.0, 32: 6.5}
OTHERWISE = [
    (day(12), "ran", "Line", 0.0, "min"),
    (day(13), "ran", "Line", 55.0, "min"),
    (day(40), "ran", "Line", 6.0, "min"),  # two of a day
    (day(40), "ran", "Line", 3.0, "min"),
    (day(20), "mains", "Butt", 300.0, "L"),
    (day(41), "mains", "", 75.0, "L"),  # into the only tank there is
    *((day(number), "gauge", "", mm, "mm") for number, mm in GAUGE_MM.items()),
]


def otherwise_levels(scatter_l=20.0):
    let_in_l = np.zeros(DAYS)
    let_in_l[list(LET_IN_L)] = list(LET_IN_L.values())
    let_in_l = np.cumsum(let_in_l)
    days, level_l = straight_levels(scatter_l, of=columns(RAN_MIN, GAUGE_MM), more_l=let_in_l)
    return days, level_l, let_in_l


@pytest.fixture(scope="module")
def otherwise(tmp_path_factory):
    days, level_l, _ = otherwise_levels()
    entries = [*dipped(days, level_l), *OTHERWISE]
    return fit(opened(straight(), rain_mm()), written(tmp_path_factory.mktemp("line"), entries))


def test_with_logged_runs_rain_and_mains_water_it_is_ordinary_least_squares(otherwise):
    """As scipy's own curve_fit has it for the straight line of what was done, the mains water taken off the levels."""
    days, level_l, let_in_l = otherwise_levels()
    of = columns(RAN_MIN, GAUGE_MM)
    values, covariance = curve_fit(
        lambda at, *numbers: np.array(numbers) @ of[:, at.astype(int)], days, level_l - let_in_l[days], p0=np.ones(5)
    )
    np.testing.assert_allclose([told.fitted for told in otherwise.estimates], values, rtol=1e-5)
    np.testing.assert_allclose([told.error for told in otherwise.estimates], np.sqrt(np.diag(covariance)), rtol=1e-5)


def test_what_of_it_went_into_the_fit_is_told(otherwise):
    ran, mains, gauge = otherwise.logged
    # by its plan on days 3, 6 ... 57 of those up to 58 but for 12: 18 of them, 10 minutes each
    assert ran == ("ran", "Line", 3, 64.0, 18, pytest.approx(180.0))
    assert mains == ("mains", "Butt", 2, 375.0, 0, 0.0)
    assert gauge == ("gauge", "", 3, 17.5, 3, pytest.approx(rain_mm()[4] + rain_mm()[32]))
    assert otherwise.opened.weather.source == "invented, with the rain of the logged gauge on 3 days"


def test_lines_outside_the_days_of_the_fit_and_undone_ones_are_not_told(tmp_path):
    days, level_l = straight_levels()
    entries = [
        *dipped(days, level_l),  # 30 lines, the last of day 58
        (FIRST, "ran", "Line", 99.0, "min"),  # before the first level, as that is of the evening
        (day(59), "mains", "Butt", 99.0, "L"),
        (day(30), "ran", "Line", 99.0, "min"),
        (day(30), "undo", "", 33, "line"),
    ]
    fitted = fit(opened(straight(), rain_mm()), written(tmp_path, entries))
    assert fitted.logged == ()
    np.testing.assert_allclose(fitted.now_l[-1, 0] - level_l[0], [0.9, 0, 0, 10, 0] @ COLUMNS[:, 58])


def test_a_float_valve_and_a_hose_are_the_model_s_own_affair(tmp_path):
    """Their logged litres are not let in a second time."""
    days, level_l = straight_levels()
    entries = [*dipped(days, level_l), (day(20), "mains", "Butt", 300.0, "L")]
    valve = {"mains": "float", "float_below_l": 21_000, "float_to_l": 21_500}  # it opens while the level is below
    for mains in ({"mains": "direct"}, valve):
        tank = {"name": "Butt", "capacity_l": 50_000, "start_l": 20_000} | mains
        fitted = fit(opened(straight(tank=[tank]), rain_mm()), written(tmp_path, entries))
        without = fit(opened(straight(tank=[tank]), rain_mm()), written(tmp_path, entries[:-1]))
        np.testing.assert_array_equal(fitted.fitted_l, without.fitted_l)
        (logged,) = fitted.logged
        assert logged[:4] == ("mains", "Butt", 1, 300.0)
        assert (logged.other > 0.0) == (logged.other_days > 0) == (mains is valve)


def test_a_run_takes_the_flow_of_each_lane():
    site, rain = straight(), weather(rain_mm())
    lines = [(day(0), "level", "Butt", 20_000.0, "L"), (day(1), "level", "Butt", 20_000.0, "L")]
    noted = noted_in([*lines, (day(1), "ran", "Line", 30.0, "min")])
    quantities = quantities_of(site, {"Butt": 20_000.0})
    model = Replay.of(site, rain, usable_of(site, noted), diary_of(site, noted))
    values = np.array([[0.9, 0.0, 0.0, flow, 20_000.0] for flow in (10.0, 5.0)])
    assert model.levels(quantities, values)[1, 0].tolist() == [20_000 - 300, 20_000 - 150]


def test_a_run_before_the_first_level_is_in_the_beds():
    """South line waits for a dry bed: watered on the eve, it opens later."""
    site, sky = open_site(SCHOOL).site, open_site(SCHOOL).weather
    first = dt.date(2031, 7, 10)
    dips = [(first + dt.timedelta(n), "level", "Shed butt", 200.0, "L") for n in range(20)]
    opened_on = []
    for ran in ([], [(first, "ran", "South line", 60.0, "min")]):
        noted = noted_in([*dips, *ran])
        model = Replay.of(site, sky, usable_of(site, noted), diary_of(site, noted))
        asked_l = model.run((), np.empty((1, 0)), Keep(each=("outlets.asked_l",))).each["outlets.asked_l"]
        opened_on.append(np.flatnonzero(asked_l[:, 1, 0])[0])
    assert opened_on[0] < opened_on[1]


# ---- Gardens with everything in them ----


def errors_off(fitted, true):
    """How many standard errors each number is off the true one."""
    told = {(one.quantity.kind, one.quantity.number, one.quantity.key): one for one in fitted.estimates}
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


@pytest.mark.parametrize(("kind", "key"), [("ran", "flow_l_min"), ("mains", "runoff_coefficient"),
                                           ("gauge", "runoff_coefficient")])  # fmt: skip
def test_without_what_was_logged_the_demo_s_numbers_are_not_found(kind, key):
    read = read_journal(DEMO / "journal.csv")
    kept = tuple(line for line in read.lines if line.entry.kind != kind)
    fitted = fit(open_site(DEMO / "site.toml"), Journal(read.path, kept, ()))
    table, number = next((table, number) for table, number, name in TRUE if name == key)
    assert abs(errors_off(fitted, TRUE)[table, number, key]) > 3.0
    assert fitted.misses_l("Class-room tank")[1] > 2.0 * 12.5  # with all of it 12 L


def test_two_stores_whose_runs_rain_and_mains_water_were_logged(tmp_path):
    """Over the summer both lines ran by hand on every fourth day or not at all, and a neighbour's shower came too."""
    random, dates = np.random.default_rng(0), pd.date_range("2031-05-20", "2031-09-20")
    otherwise = [
        *((on.date(), "ran", "North line", random.choice([0.0, 4.0, 25.0]), "min") for on in dates[::4]),
        *((on.date(), "ran", "South line", random.choice([0.0, 8.0, 30.0]), "min") for on in dates[1::4]),
        *((on.date(), "mains", "Class-room tank", 150.0, "L") for on in dates[50:80:15]),
        *((on.date(), "gauge", "", random.choice([0.0, 5.0, 12.0]), "mm") for on in dates[::9]),
    ]
    capacity_l = {"Class-room tank": 1500.0, "Shed butt": 350.0}
    dips = [
        (on, "level", tank, float(np.clip(level_l + random.normal(0.0, 0.01 * capacity_l[tank]), 0.0, 1e9)), "L")
        for on, tank, level_l in levels(SCHOOL, SCHOOL_TRUE, every=3, logged=otherwise)
    ]
    with_all, without = (
        errors_off(fit(open_site(SCHOOL), written(tmp_path, entries)), SCHOOL_TRUE)
        for entries in ([*dips, *otherwise], dips)
    )
    assert max(map(abs, with_all.values())) < 3.0, with_all
    assert max(map(abs, without.values())) > 3.0, without


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


def test_the_leak_of_joined_stores_is_told_for_each_as_the_site_file_has_it(tmp_path):
    """Two stores of 25 000 L in place of one of 50 000 L: the same levels, so half of the leak from each."""
    twins = [{"name": "Butt", "joined": 2, "capacity_l": 25_000, "start_l": 10_000}]
    days, level_l = straight_levels(scatter_l=0.0)
    fitted = fit(opened(straight(tank=twins), rain_mm()), written(tmp_path, dipped(days, level_l)))
    told = {one.quantity.key: one.fitted for one in fitted.estimates}
    assert told["loss_l_per_day"] == pytest.approx(LEAK / 2, rel=1e-4)
    assert told["start_l"] == pytest.approx(START, rel=1e-4)
    assert told["flow_l_min"] == pytest.approx(FLOW, rel=1e-4)


# ---- What cannot be told ----


def test_a_line_that_never_ran_cannot_be_told(tmp_path):
    resting = {"name": "Line", "tank": "Butt", "flow_l_min": 10, "minutes": 10, "from": "11-01", "to": "11-30"}
    days, level_l = straight_levels(scatter_l=1.0)
    level_l = level_l - FLOW * COLUMNS[3, days]
    fitted = fit(opened(straight(zone=[resting]), rain_mm()), written(tmp_path, dipped(days, level_l)))
    told = {one.quantity.key: one for one in fitted.estimates}
    assert told["flow_l_min"][1:] == (10.0, None, False)
    assert told["loss_l_per_day"].fitted == pytest.approx(LEAK, abs=1.0)
    assert "flow_l_min" not in [one.quantity.key for one in fitted.changes]


def test_two_roofs_on_one_store_cannot_be_told_apart(tmp_path):
    roofs = [
        {"name": name, "tank": "Butt", "area_m2": 50, "runoff_coefficient": 0.9, "filter_efficiency": 1.0}
        for name in ("East", "West")
    ]
    fitted = fit(opened(straight(roof=roofs), rain_mm()), written(tmp_path, dipped(*straight_levels())))
    names = [{(fitted.estimates[place].quantity.name, fitted.estimates[place].quantity.key) for place in alike.places}
             for alike in fitted.confounded]  # fmt: skip
    for key in ("runoff_coefficient", "first_flush_l"):
        assert {("East", key), ("West", key)} in names
    east, west = (one for one in fitted.estimates if one.quantity.key == "runoff_coefficient")
    assert (east.fitted + west.fitted) / 2 == pytest.approx(RUNOFF, abs=0.02)
    assert min(east.error, west.error) > 1.0  # of a number between 0 and 1


def test_a_store_that_fills_by_itself_has_no_leak_below_none(tmp_path):
    days, level_l = straight_levels(scatter_l=5.0)
    level_l = level_l + (LEAK + 40.0) * days
    fitted = fit(opened(straight(), rain_mm()), written(tmp_path, dipped(days, level_l)))
    told = {one.quantity.key: one for one in fitted.estimates}
    assert told["loss_l_per_day"].at_bound
    assert told["loss_l_per_day"].fitted == pytest.approx(0.0, abs=0.01)


def test_another_answer_that_fits_as_well_is_told_of(line):
    other = np.array([told.fitted for told in line.estimates])
    assert list(_alternatives(line.estimates, other)) == []
    other[0] /= 2.0
    assert list(_alternatives(line.estimates, other)) == [AlternativeOptimum(0, pytest.approx(other[0]))]
    silent = [Estimate(told.quantity, told.fitted, None, at_bound=False) for told in line.estimates]
    assert list(_alternatives(silent, other)) == []


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
        "Cask: 1 logged level is left out, as the site has no such tank.",
        "Butt: 1 logged level is left out, as the site gives it no shape as deep as these depths.",
        "Butt: 1 logged level is left out, as the weather is of 2031-06-01 to 2031-07-30.",
        "Vat: 1 of the 5 levels that a fit of it needs; log 4 more, some of them soon after rain. It is left out.",
    )


# ---- The model that is fitted is the model ----


@pytest.mark.parametrize("begin", [0, 9, 17, 40, 62, 100])
def test_from_any_evening_on_it_is_the_run_itself(begin):
    site, whole = truly(SCHOOL, {}), open_site(SCHOOL).weather
    tanks = waterbudget.run(site, whole).tanks.pivot_table(index="date", columns="tank", values="level_l", sort=False)
    tanks = tanks[[tank.name for tank in site.tank]]
    first, last = whole.dates[begin].date(), whole.dates[-1].date()
    noted = noted_in((on.date(), "level", tank, level_l, "L") for on, row in tanks.iloc[begin:].iterrows()
                     for tank, level_l in row.items())  # fmt: skip
    readings = usable(site, whole, noted)
    model = Replay.of(site, whole, readings, diary_of(site, noted))
    quantities = quantities_of(site, readings.first_l)
    now = np.array([[quantity.now for quantity in quantities]])
    assert (readings.first_day, readings.last_day) == (first, last)
    np.testing.assert_allclose(model.levels(quantities, now)[..., 0], tanks.iloc[begin:], rtol=1e-9, atol=1e-9)


def test_every_lane_has_its_own_numbers():
    site = straight()
    quantities = quantities_of(site, {"Butt": 20_000.0})
    values = np.array([[0.9, 0.0, 0.0, 10.0, 20_000.0], [0.5, 12.0, 3.0, 5.0, 100.0]])
    one = garden_of(site)
    garden = with_values(one, quantities, values)
    assert garden.roofs.runoff_coefficient[0].tolist() == [0.9, 0.5]
    assert garden.roofs.first_flush_l[0].tolist() == [0.0, 12.0]
    assert garden.tanks.loss_l_per_day[0].tolist() == [0.0, 3.0]
    assert garden.outlets.flow_l_min[0].tolist() == [10.0, 5.0]
    assert garden.outlets.run_l[0].tolist() == garden.outlets.hot_run_l[0].tolist() == [100.0, 50.0]
    assert one.lanes == 1, "what was given stays as it is"
    eve = State(np.array([[400.0]]), np.array([[100.0]]), np.zeros((0, 1)))
    begun = with_starts(eve, quantities, values)
    assert begun.level_l[0].tolist() == [20_000.0, 100.0]
    assert begun.mains_l[0].tolist() == [5_000.0, 25.0], "a quarter of it is mains water, however much there is"
    assert (eve.level_l.item(), eve.mains_l.item()) == (400.0, 100.0)
