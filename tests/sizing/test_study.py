from pathlib import Path

import numpy as np
import pytest
from sizing import steady

import waterbudget
from waterbudget.errors import InputError
from waterbudget.sizing.demand import demands
from waterbudget.sizing.offers import Offer
from waterbudget.sizing.sizes import Sweep, try_sizes
from waterbudget.sizing.stretch import drawn_stretch, recorded_stretch
from waterbudget.sizing.study import MAP_FACTORS, first_that, knee, study
from waterbudget.weather.blocks import block_years

DEMO = Path(__file__).parent.parent.parent / "data_demo" / "site.toml"
BUTT, TANK = "Shed butt", "Class-room tank"


@pytest.fixture(scope="module")
def demo():
    site = waterbudget.load_site(DEMO)
    return site, recorded_stretch(site, waterbudget.read_weather(DEMO.with_name("weather.csv"), site))


def garden(**keys):
    site = steady.garden(**keys)
    return site, recorded_stretch(site, steady.weather())


# ---- Which tank ----


def test_the_tank_that_runs_short_most(demo):
    found = study(*demo, Sweep(steps=3))
    large, small = demands(*demo)
    assert large.asked_l_a_year > small.asked_l_a_year, "though the other is asked for more"
    assert (found.tank.name, found.number) == (BUTT, 1)
    assert study(*demo, Sweep(steps=3), tank=TANK).number == 0


def test_the_tank_that_is_asked_for_most_where_none_runs_short(demo):
    site, stretch = demo
    roomy = [tank.model_copy(update={"capacity_l": 20_000.0, "start_l": 20_000.0}) for tank in site.tank]
    assert study(site.model_copy(update={"tank": roomy}), stretch, Sweep(steps=3)).tank.name == TANK


def test_what_a_tank_lacks_by_hand():
    # full on 1 June, 500 L and 90 days of 20 L are given of the 5520 L: 3220 L are lacking in each of the two years
    (demand,) = demands(*garden())
    assert demand.lacked_l.tolist() == pytest.approx([3220, 3220])
    (demand,) = demands(*garden(mains="direct"))
    assert demand.lacked_l.tolist() == pytest.approx([3220, 3220]), "mains water is no rain"
    (demand,) = demands(*garden(capacity_l=6000, start_l=6000))
    assert demand.lacked_l_in_all == 0


def test_what_a_tank_lacks_is_what_its_own_size_does_not_give(demo):
    site, _ = demo
    weather = waterbudget.read_weather(DEMO.parent / "years" / "weather.csv", site)
    stretch = drawn_stretch(site, block_years(weather.daily, "01-01", "12-31", 13, 1))
    for number, demand in enumerate(demands(site, stretch)):
        as_it_is = try_sizes(site, number, np.array([site.tank[number].all_l]), stretch)
        lacked_l = (as_it_is.asked_l - as_it_is.rain_l)[:, 0]
        np.testing.assert_allclose(demand.lacked_l, lacked_l, rtol=1e-9, atol=1e-6)
        assert lacked_l.any()


def test_an_unknown_tank_is_told_with_the_nearest(demo):
    with pytest.raises(InputError) as error:
        study(*demo, Sweep(steps=3), tank="Shet butt")
    assert str(error.value) == '"Shet butt" is no tank; did you mean "Shed butt"?'
    with pytest.raises(InputError, match='is no tank; there is "Class-room tank", "Shed butt"'):
        study(*demo, Sweep(steps=3), tank="xyz")


def test_a_tank_that_nothing_is_asked_of_is_told():
    with pytest.raises(InputError, match='tank: nothing is asked of "Butt" in this weather; give it a zone or a draw'):
        study(*garden(l_per_day=0), Sweep(steps=3))


def test_demand_is_what_is_asked_when_nothing_runs_short(demo):
    site, stretch = demo
    asked = demands(site, stretch)
    endless = try_sizes(site, 1, np.array([20_000.0]), stretch)
    assert endless.met[0] == 1
    assert asked[1].asked_l_a_year == pytest.approx(endless.asked_l[0, 0], rel=1e-12)
    assert asked[1].inflow_l_a_year == pytest.approx(endless.inflow_l[0, 0], rel=1e-12)
    assert asked[0].asked_l.shape == (153, 1)


# ---- What is enough, and what limits ----


def test_what_is_enough_is_the_first_that_meets_the_target(demo):
    found = study(*demo, Sweep(), tank=BUTT)
    assert found.sizes.met[found.enough] >= 0.95 > found.sizes.met[found.enough - 1]
    assert found.limit == "tank"


def test_the_roof_limits_where_all_that_comes_is_too_little():
    # 2 mm on 4 m2 bring 8 L a day, 2920 L a year; 92 days of 60 L ask for 5520 L
    found = study(*garden(roof_m2=4, start_l=0), Sweep(to_l=20_000))
    assert (found.enough, found.limit) == (None, "roof")
    assert found.sizes.a_year("inflow_l").tolist() == pytest.approx([731 / 2 * 8] * 60)
    assert found.sizes.a_year("asked_l").tolist() == pytest.approx([5520] * 60)
    assert found.no_shortage is None


def test_the_tank_limits_where_enough_comes_at_another_time():
    found = study(*garden(), Sweep(to_l=1000))
    assert (found.enough, found.limit) == (None, "tank")
    assert found.no_shortage.capacity_l[0] == pytest.approx(92 * (60 - 20))  # by hand: 40 L short on each of 92 days
    # after spillage the first day's rain finds the store full, and the last day's comes too late: 20 L each of 92 x 60
    assert found.no_shortage.met[0] == pytest.approx(1 - 40 / 5520)


@pytest.mark.parametrize(
    ("saved_l", "worth_l", "number"),
    [
        ([500, 300, 90, 10], 100, 2),
        ([500, 300, 100, 10], 100, 3),  # exactly worth it
        ([500, 90, 120, 10], 100, 3),  # a late step that is worth it counts
        ([90, 80, 70, 0], 100, 0),
        ([500, 300, 200, 150], 100, None),
        ([500, 300, 90, 10], 5, None),
    ],
)
def test_the_knee_is_where_no_further_step_is_worth_it(saved_l, worth_l, number):
    assert knee(np.array(saved_l, dtype=float), worth_l) == number


def test_savings_are_told_for_100_l(demo):
    found = study(*demo, Sweep(100, 1100, 5), tank=BUTT)
    needed_l = found.sizes.a_year("needed_l")
    assert found.saved_l[0] == pytest.approx((needed_l[0] - needed_l[1]) / 2.5)  # steps of 250 L


def test_the_first_that_holds():
    assert first_that(np.array([False, True, True])) == 1
    assert first_that(np.array([True])) == 0
    assert first_that(np.array([False, False])) is None


# ---- Beside it ----


def one(outcomes):
    return outcomes.rain_l[0, 0], outcomes.needed_l[0, 0], outcomes.days_lasted[0, 0]


def test_rules_and_the_peak_are_run_like_any_size(demo):
    site, stretch = demo
    found = study(site, stretch, Sweep(steps=3), tank=BUTT)
    given = [tried.outcome for tried in found.rules if tried.outcome is not None] + [found.no_shortage]
    assert len(given) == 8  # no whole year: those by demand and by roof, and the peak
    for outcome in given:
        assert one(outcome) == pytest.approx(one(try_sizes(site, 1, outcome.capacity_l, stretch)), rel=1e-12)
    four_weeks = next(tried.outcome for tried in found.rules if tried.rule.rule == "4 weeks of demand")
    assert four_weeks.capacity_l[0] == pytest.approx(28 * found.demand.asked_l_a_year / 365)


def test_whole_years_bring_every_rule():
    found = study(*garden(), Sweep(steps=3))
    assert all(tried.outcome is not None for tried in found.rules)
    by_rule = {tried.rule.rule: tried.outcome.capacity_l[0] for tried in found.rules}
    assert by_rule["5 % of the yearly catch"] == pytest.approx(0.05 * 20 * 731 / 2)
    assert by_rule["lesser of 5 % of catch and demand"] == pytest.approx(0.05 * 92 * 60)


def test_where_every_days_rain_is_enough_a_litre_is():
    found = study(*garden(roof_m2=100), Sweep(steps=3))
    assert found.no_shortage.capacity_l.tolist() == [1.0]


OFFERS = [Offer("Slim", 200.0, 48.0), Offer("Crate", 1000.0, 95.0)]


def test_what_is_for_sale_saves_what_the_model_says(demo):
    site, stretch = demo
    found = study(site, stretch, Sweep(steps=3), tank=BUTT, offers=OFFERS)
    deals = {deal.choice.name: deal for deal in found.deals}
    now, both, beside = try_sizes(site, 1, np.array([350.0, 1200.0, 1550.0]), stretch).needed_l[0]
    assert len(deals) == 9
    assert deals["Slim + Crate"].in_place.saved_l == now - both
    assert deals["Slim + Crate"].beside.saved_l == now - beside
    assert now == found.now.needed_l[0, 0]
    assert deals["Slim"].in_place.saved_l < 0.0 < deals["Slim"].beside.saved_l == deals["Slim"].best.saved_l


def test_where_nothing_stands_yet_it_is_reckoned_against_none(demo):
    site, stretch = demo
    found = study(site, stretch, Sweep(steps=3), tank=BUTT, offers=OFFERS, stands=False)
    without, slim = try_sizes(site, 1, np.array([0.0, 200.0]), stretch).needed_l[0]
    assert found.deals[0].in_place.saved_l == without - slim > 0.0
    assert found.deals[0].beside is None
    assert without == found.none.needed_l[0, 0]


def test_a_point_of_the_map_is_a_garden_with_that_roof_and_tank(demo):
    site, stretch = demo
    found = study(site, stretch, Sweep(200, 2200, 11), tank=BUTT, roofs=True)
    area_m2, capacity_l, met = found.roofs
    assert area_m2.tolist() == [8 * factor for factor in MAP_FACTORS]
    assert capacity_l.tolist() == found.sweep.capacity_l.tolist()
    roofs = [roof.model_copy(update={"area_m2": 12.0}) if roof.tank == BUTT else roof for roof in site.roof]
    larger = site.model_copy(update={"roof": roofs})
    np.testing.assert_array_equal(met[3 - 1], found.sizes.met)
    np.testing.assert_array_equal(met[area_m2.tolist().index(12.0)], try_sizes(larger, 1, capacity_l, stretch).met)
    assert found.doubled.now == found.now.met[0]
    assert found.doubled.tank == try_sizes(site, 1, np.array([700.0]), stretch).met[0]
    assert found.doubled.now < min(found.doubled.tank, found.doubled.roof)


def test_a_long_sweep_is_mapped_with_fewer_sizes(demo):
    found = study(*demo, Sweep(steps=100), tank=BUTT, roofs=True)
    assert len(found.roofs.capacity_l) <= 26
    assert (found.roofs.capacity_l[0], found.roofs.capacity_l[-1]) == (100, 5000)


def test_without_a_roof_there_is_nothing_to_map():
    site, stretch = garden()
    roofless = site.model_copy(update={"roof": []})
    with pytest.raises(InputError, match='roofs: no roof feeds "Butt"; leave roofs out, or choose a tank under a roof'):
        study(roofless, stretch, Sweep(steps=3), roofs=True)
    found = study(roofless, stretch, Sweep(steps=3))
    assert (found.enough, found.limit, found.roofs) == (None, "roof", None)
