"""What may be changed, in words that a gardener understands."""

from pathlib import Path

import pytest

from waterbudget.answers.measures import OTHERWISE, TAKES, left_out, measure_words, takes_of
from waterbudget.change.measures import KINDS, measures_for
from waterbudget.site.override import checked_site, raw_site

DEMO = Path(__file__).parent.parent.parent / "data_demo"


def site_with(**tables):
    table = raw_site(DEMO / "site.toml")
    for place, value in tables.items():
        kind, number, key = place.split("__")
        table[kind][int(number)][key] = value
    return checked_site(table, "here")


def words(site, kind):
    return [measure_words(one, site) for one in measures_for(site) if one.kind == kind]


@pytest.mark.parametrize(
    ("kind", "said"),
    [
        ("next butt size", "Shed butt: 500 L in place of 350 L"),
        ("second roof or downpipe", "Shed butt: a second downpipe or roof like Shed roof, 8 m²"),
        ("lowering the outlet", "Class-room tank: outlet lowered, 30 L below it in place of 40 L"),
        ("moving water", "Shed butt: fill it from Class-room tank whenever it holds less than 180 L"),
        ("moving water", "Shed butt: fill it from Class-room tank whenever it holds less than 90 L, 750 L stay there"),
        ("mulch", "organic mulch on all watered beds, 80 % of the soil covered"),
        ("shade net", "a light shade net over all watered beds"),
        ("fewer minutes", "North line: 9 minutes, on hot days 18 in place of 10 minutes, on hot days 20"),
        ("longer interval", "South line: every 2 days in place of every day"),
        ("watering by soil", "North line: only when a bed is nearly thirsty, not by the clock"),
        ("watering by soil", "South line: no more than the soil lacks, 12 minutes at most"),
        ("rain skip", "South line: not after 5 mm of rain in 2 days"),
        ("better jets", "South line: drippers of the same flow, 10.7 minutes for as much at the roots"),
        (
            "less flow lost beside beds",
            "South line: turn or shut jets that spray outside the bed, 4.5 L/min in place of 5",
        ),
    ],
)
def test_what_is_done(kind, said):
    assert said in words(site_with(), kind)


def test_longer_runs_tell_their_pulses():
    (pulsed,) = (
        one for one in words(site_with(), "longer interval") if one.startswith("North line") and "times" in one
    )
    assert pulsed == (
        "North line: every 2 days in place of every day, 6.7 minutes, on hot days 13.3, 3 times a day an hour apart, "
        "as the soil takes no more at once"
    )


def test_a_day_of_the_week_is_left_out():
    table = raw_site(DEMO / "site.toml")
    del table["zone"][0]["every_days"]
    table["zone"][0]["weekdays"] = ["mon", "tue", "fri"]
    assert "North line: on tue, fri only" in words(checked_site(table, "here"), "longer interval")


def test_joined_stores_leaks_and_idle_lines():
    site = site_with(tank__1__joined=2, tank__1__loss_l_per_day=6.0)
    assert "Shed butt: each of 2 500 L in place of 350 L" in words(site, "next butt size")
    assert words(site, "mending the leak") == ["Shed butt: mend the leak of 6 L a day"]
    table = raw_site(DEMO / "site.toml")
    for bed in table["bed"]:
        bed["zone"] = "North line"
        bed.pop("share", None)
    assert "South line: waters no bed, leave it shut" in words(
        checked_site(table, "here"), "less flow lost beside beds"
    )


def test_every_kind_has_its_words():
    kinds = {kind.name for kind in KINDS}
    assert OTHERWISE.keys() == kinds
    assert TAKES.keys() <= kinds
    assert left_out("mulch") == "mulch (no planted bed is watered)"
    site = site_with()
    for one in measures_for(site):
        assert measure_words(one, site)
        assert bool(takes_of(one)) == (one.kind not in {"fewer minutes", "longer interval"})
