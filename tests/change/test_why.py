"""Why a line is open or shut, how the beds stand, what sinks, and what to move: by hand."""

import datetime as dt
from pathlib import Path

import pytest
from change.test_now import DAY, JULY, forecast, garden, known, told
from gardens import weather_of

from waterbudget.change.move import Move
from waterbudget.change.why import Why
from waterbudget.site.tanks import Ban, Transfer

# The line gives 10 m2 4 mm a day; RAW = (0.4 + 0.04 (5 - ETc)) x 150 mm/m x 0.4 m: with ETc 4 mm 26.4 mm


def why(known_=None, forecast_=None, **more):
    (opening,) = told(known_, forecast_, **more).openings
    return opening.why


def rained(*rain_mm, site):
    """Known days up to yesterday with so much rain."""
    days = len(rain_mm)
    rows = [{"date": JULY - (days - n) * DAY, "rain_mm": mm, "et0_mm": 4.0} for n, mm in enumerate(rain_mm)]
    return type(known())(Path("site.toml"), site, weather_of(rows), JULY, None, ())


def test_a_line_that_is_due_names_its_driest_bed():
    """Every evening 4 mm were used and 4 mm were given on three days."""
    assert why() == Why("due", bed="Bed", used=pytest.approx(0.0))


def test_how_dry_it_is_goes_by_what_was_used():
    """12 mm of 26.4 are used after three days without water."""
    assert why(known(site=garden(every_days=9, every_from=JULY))).used == pytest.approx(12 / 26.4)


def test_a_line_out_of_season():
    assert why(known(site=garden(**{"from": "07-10", "to": "09-20"}))) == Why(
        "season", dt.date(2031, 7, 10), bed="Bed", used=pytest.approx(12 / 26.4)
    )
    assert why(known(site=garden(**{"from": "05-01", "to": "07-01"}))).day is None


@pytest.mark.parametrize("rule", [{"every_days": 2}, {"weekdays": ["thu"]}])
def test_a_line_that_has_not_its_day(rule):
    found = why(known(site=garden(**rule)))  # 2 July 2031 is a Wednesday
    assert (found.reason, found.day) == ("not its day", JULY + DAY)


@pytest.mark.parametrize(
    ("rain_mm", "first", "fallen_mm", "wet_days"),
    [((0, 8.6, 0), JULY - 2 * DAY, 8.6, 1), ((0, 3, 4), JULY - 2 * DAY, 7.0, 2), ((9, 0, 5), JULY - DAY, 5.0, 1)],
)
def test_a_line_that_skips_after_rain(rain_mm, first, fallen_mm, wet_days):
    found = why(rained(*rain_mm, site=garden(skip_rain_mm=5, skip_rain_days=2)))
    assert (found.reason, found.day, found.rain_mm, found.wet_days) == (
        "rain",
        first,
        pytest.approx(fallen_mm),
        wet_days,
    )


def test_a_wet_day_that_was_not_its_day_anyway():
    site = garden(skip_rain_mm=5, skip_rain_days=2, every_days=2)
    assert why(rained(0, 0, 9, site=site)).reason == "not its day"


def test_a_plan_that_asks_the_soil():
    """Dry at half of RAW: after three days of 4 mm without water 12 of 26.4 mm are used, after four 16."""
    assert why(known(site=garden(plan="dry", dry_at=0.5))).reason == "moist"
    assert why(known(days=4, site=garden(plan="dry", dry_at=0.5))).reason == "due"


def test_a_plan_without_minutes():
    assert why(known(site=garden(minutes=0))).reason == "no minutes"


@pytest.mark.parametrize(("ran", "reason"), [(10.0, "done"), (0.0, "kept shut"), (4.0, "due")])
def test_what_was_logged_today(ran, reason):
    assert why(ran={JULY: ran}).reason == reason


def test_a_line_that_waits():
    assert why(forecast_=forecast(0, 5)).reason == "wait"


def test_a_line_whose_store_is_empty():
    found = told(readings={"Butt": {JULY: 0.0}})
    assert found.openings[0].why.reason == "empty"
    assert (found.to_open, found.without_water) == ((), found.openings)


@pytest.mark.parametrize("mains", ["direct", "float"])
def test_an_empty_store_under_a_ban(mains):
    floats = {"float_below_l": 60.0, "float_to_l": 100.0} if mains == "float" else {}
    tank = garden().tank[0].model_copy(update={"mains": mains} | floats)
    ban = Ban.model_validate({"from": "07-01", "to": "07-05"})
    banned = garden().model_copy(update={"tank": [tank], "ban": [ban]})
    assert why(known(site=banned), readings={"Butt": {JULY: 0.0}}).reason == "ban"
    free = garden().model_copy(update={"tank": [tank]})
    assert why(known(site=free), readings={"Butt": {JULY: 0.0}}).reason == "due"


# ---- The beds --------------------------------------------------------------------------------------------------------


def bed(known_=None, **more):
    (found,) = told(known_, **more).beds
    return found


def test_a_bed_that_is_watered_is_fine_until_the_store_is_empty():
    """150 L are left: three days. The bed begins the fourth with nothing used, and the day n later with 4 n mm: 28 mm
    of 26.4 on the tenth after today. Unwatered it begins the day n after today with 4 n mm: on the seventh.
    """
    found = bed()
    assert (found.thirsty_since, found.thirsty_in_days, found.unwatered_in_days) == (None, 10, 7)


def test_a_run_of_this_morning_counts_unwatered():
    """After 15 minutes of 6 mm, of which 4 refill what today uses, nothing more stays in the soil."""
    assert bed(known(site=garden(every_days=9, every_from=JULY))).unwatered_in_days == 4
    dry_site = garden(every_days=9, every_from=JULY)
    assert bed(known(site=dry_site), ran={JULY: 20.0}).unwatered_in_days == 6  # 12 + 4 - 8 mm this evening


@pytest.mark.parametrize(("days", "since"), [(7, JULY), (9, JULY - 2 * DAY)])
def test_since_when_a_bed_is_thirsty(days, since):
    """Unwatered it begins the eighth day with 28 mm used."""
    found = bed(known(days=days, site=garden(every_days=99, every_from=JULY + DAY)))
    assert (found.thirsty_since, found.thirsty_in_days, found.unwatered_in_days) == (since, 0, 0)


def test_a_bed_that_is_bare_says_nothing():
    bare = garden().bed[0].model_copy(update={"planting": []})
    found = bed(known(site=garden().model_copy(update={"bed": [bare]})))
    assert (found.planted, found.used, found.thirsty_since, found.unwatered_in_days) == (False, None, None, None)


# ---- What sinks ------------------------------------------------------------------------------------------------------


def test_half_of_what_is_given_sinks():
    """Every day 8 mm come and 4 mm are used, from the first day on: 4 of 8 mm sink."""
    (sunk,) = told(known(site=garden(minutes=20)), readings={"Butt": {JULY: 500.0}}).sunk
    assert (sunk.zone, sunk.share, sunk.enough) == ("Line", pytest.approx(0.5), pytest.approx(0.5))
    assert told().sunk == ()


# ---- What to move ----------------------------------------------------------------------------------------------------


def two(transfer=(), **vat):
    """A second store that nobody draws from; of ten-litre cans each takes two minutes."""
    site = garden()
    tank = site.tank[0].model_copy(update={"name": "Vat", "start_l": 400.0} | vat)
    return site.model_copy(update={"tank": [*site.tank, tank], "transfer": list(transfer)})


def test_a_transfer_of_the_site_is_told():
    pump = Transfer(name="Pump", from_tank="Vat", to_tank="Butt", l_per_day=75, keep_l=100)
    found = told(known(site=two([pump])))
    (move,) = found.moves
    without = told(known(site=two()))
    assert found.coming[0].work_minutes == without.coming[0].work_minutes + 5.0, "of [effort]"
    assert move == Move("Pump", "Vat", "Butt", 75.0, 5.0, None)


def test_the_second_store_makes_it_right():
    """150 L in the butt last three days; with all that there is room for, 350 L more, ten."""
    (move,) = told(known(site=two())).moves
    assert move == Move(None, "Vat", "Butt", 350.0, 70.0, 10)


def test_no_more_is_moved_than_helps():
    """With 80 L in the vat one more day is won: not worth the carrying; with 190 L three for 150 of them."""
    assert told(known(site=two(start_l=80.0))).moves == ()
    (move,) = told(known(site=two(start_l=190.0))).moves
    assert move.lasts == 6
    assert 150.0 <= move.litres < 170.0


def test_nothing_is_moved_where_all_last():
    site = two().model_copy(update={"zone": [two().zone[0].model_copy(update={"minutes": 0.1})]})
    assert told(known(site=site)).moves == ()


def test_water_below_an_outlet_is_not_moved():
    assert told(known(site=two(dead_l=390.0))).moves == ()
