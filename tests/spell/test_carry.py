"""A spell goes on exactly where the weather before it ends."""

import numpy as np
from gardens import site_of, weather_of
from hypothesis import given, settings
from hypothesis import strategies as st
from spell.beans import FIRST, hot, spell, table, weather
from strategies import cases

import waterbudget
from waterbudget.schedule.built import garden_of
from waterbudget.simulate.keep import Keep
from waterbudget.spell.carry import eve_of, spell_days
from waterbudget.spell.hot import HotDays


def days_of(rows):
    """Random days as those of a spell."""
    columns = (np.array([[row[name]] for row in rows], dtype=np.float64) for name in ("rain_mm", "et0_mm", "tmax_c"))
    return HotDays(np.array([[row["date"]] for row in rows], dtype="M8[D]"), *columns, "random")


@settings(max_examples=30, deadline=None)
@given(cases(min_days=6), st.data())
def test_day_by_day_it_is_the_run_through_all_days(case, data):
    """Against the run in one go: rhythms, rain that skips a run, plantings that change on the day, stores and soil."""
    tables, rows = case
    site, before = site_of(tables), data.draw(st.integers(1, len(rows) - 1))
    whole = waterbudget.run(site, weather_of(rows))
    garden = garden_of(site)
    eve = eve_of(site, garden, weather_of(rows[:before]), days_of(rows[before:]))
    compared = {
        "tanks": (whole.tanks, ("asked_l", "drawn_l", "mains_l", "spilled_l", "level_l")),
        "outlets": (whole.zones, ("asked_l", "store_l", "unmet_l", "minutes_run")),
        "beds": (whole.beds, ("etc_mm", "ks", "eta_mm", "irrigation_mm", "drained_mm", "depletion_mm")),
    }
    names = [f"{kind}.{name}" for kind, (_, quantities) in compared.items() for name in quantities]
    _, kept = spell_days(eve, eve.garden, Keep(each=tuple(names)))
    for name in names:
        kind, _, quantity = name.partition(".")
        theirs = compared[kind][0][quantity].to_numpy().reshape(len(rows), -1)[before:]
        np.testing.assert_allclose(kept.each[name][..., 0], theirs, rtol=1e-9, atol=1e-7, err_msg=name)


def test_the_eve_is_where_the_weather_ends():
    _, eve = spell(table(), weather(days=4, et0_mm=2.5))
    assert eve.state.depletion_mm.item() == 4 * 2.5
    assert eve.level_l.item() == 1e6
    assert str(eve.season.dates[0, 0]) == str(FIRST)


def test_a_spell_on_the_first_day_of_the_weather_begins_as_the_site_does():
    site = site_of(table(bed={"start_depleted": 0.3}, tank={"start_l": 70}))
    eve = eve_of(site, garden_of(site), weather(last=FIRST), hot())
    assert (eve.state.depletion_mm.item(), eve.level_l.item()) == (0.3 * 100.0, 70.0)


def test_rain_before_the_spell_skips_its_first_runs():
    zone = {"minutes": 5, "skip_rain_mm": 8, "skip_rain_days": 3}
    _, eve = spell(table(zone=zone), weather(days=2, rain_mm=5.0))
    _, kept = spell_days(eve, eve.garden, Keep(each=("outlets.asked_l",)))
    asked_l = kept.each["outlets.asked_l"].ravel().tolist()
    assert asked_l == [0.0] * 2 + [50.0] * 19  # 10 mm on the second morning, too, and 5 on the third
