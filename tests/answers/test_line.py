"""The answer of line: figures, warnings and cautions, on Brackenfold's ring and on changed ones."""

import re

import numpy as np
import pytest
from hose import BY_GRAVITY, garden

from waterbudget.answers.line import answer, facts
from waterbudget.answers.line_warnings import warnings
from waterbudget.errors import InputError, SiteError
from waterbudget.hose.line import find_line
from waterbudget.render.text import text
from waterbudget.schedule.hose import hose_of
from waterbudget.simulate.opened import open_site

PUMP = r"^shutoff_m = .*\ngreatest_l_h = .*"
NOBODY_MEASURED = (r"^water_c.*\n", "")
EPANETS_RING = (  # 20 m and 2000 L/h, 40 m of 13.6 mm, 40 jets of k 8 a metre up
    ("^bore_mm = 13 ", "bore_mm = 13.6 "),
    ("^length_m = 32", "length_m = 40"),
    ("^rise_m = 0.6", "rise_m = 1"),
    ("^feed_length_m = 4", "feed_bore_mm = 13\nfeed_length_m = 5"),
    (r"^count = 9\nk_l_h = 3\b", "count = 10\nk_l_h = 8"),
    (PUMP, "shutoff_m = 20\ngreatest_l_h = 2000"),
)


def found(folder, *changes, level_l=None, zone=None):
    return find_line(open_site(garden(folder, *changes)), zone, level_l)


def words(screen):
    return " ".join(screen.split())


def screen_of(findings):
    return text(answer(findings))


def warned(findings):
    return " ".join(warnings(findings))


def test_a_ring_main_of_the_usual_kind_is_plausible(tmp_path):
    """Common practice, no source: 30 to 40 push-in jets, room for 10 to 15 more, 18 V 2.5 Ah, timer of 5 to 15 min.

    The pump's figures are invented.
    """
    findings = found(tmp_path)
    jets = facts(findings)
    assert 30 <= len(jets["jets"]) <= 40
    assert 3.0 < findings.flow_l_min < 12.0
    assert 10 <= jets["jets_more"] <= 15
    assert jets["uniformity"]["du_pct"] > 95.0
    assert 5.0 < findings.pressure_m.min() < findings.pressure_m.max() < 10.0
    assert findings.reach.runs >= 2
    for row in jets["beds"]:
        assert 1.0 < row["run_mm"] < 5.0
        assert row["minutes"] == pytest.approx([m / row["run_mm"] * 5.0 for m in (5, 10, 15)])


def test_fifteen_more_jets_on_a_small_pump_are_answered_honestly(tmp_path):
    findings = found(tmp_path, ("^count = 9", "count = 13"))
    screen = words(screen_of(findings))
    assert "52 jets have less than the 5 m of pressure that they need" in screen
    assert "None fit: there are 2 too many now, the last has 4.9 m. 50 jets would keep 5 m of pressure" in screen
    assert findings.flow_l_min < 52 / 36 * found(tmp_path / "few").flow_l_min * 0.9  # not in proportion to the jets


def test_one_too_many_and_none_at_all(tmp_path):
    one = found(tmp_path / "one", (r"^bed = \"Bean bed\"\ncount = 9", 'bed = "Bean bed"\ncount = 24'))
    assert "None fit: there is 1 too many now" in words(screen_of(one))
    none = found(tmp_path / "none", ("^working_m = 5 ", "working_m = 30 "))
    assert "not even one would get its 30 m of pressure" in words(screen_of(none))
    many = found(tmp_path / "many", ("^working_m = 5 ", "working_m = 0.1 "))
    assert "100 jets and more keep their 0.1 m of pressure" in words(screen_of(many))


def test_the_table_of_jets_is_the_solvers(tmp_path):
    findings = found(tmp_path, level_l=200.0)
    hose = hose_of(findings.site, findings.zone, 200.0 / 1500.0)
    rows = re.findall(r"^(\d+) +(\w+ bed) +([\d.]+) +([\d.]+) +([\d.]+)$", screen_of(findings), re.MULTILINE)
    assert [int(row[0]) for row in rows] == list(range(1, 37))
    np.testing.assert_allclose([float(row[3]) for row in rows], hose.flow.pressure_m[0], atol=0.005)
    np.testing.assert_allclose([float(row[4]) for row in rows], hose.flow.jets_l_h[0], atol=0.05)
    assert sum(jet["flow_l_h"] for jet in facts(findings)["jets"]) == pytest.approx(60.0 * findings.flow_l_min)


def test_a_ring_waters_more_evenly_than_the_same_hose_with_a_dead_end(tmp_path):
    findings = found(tmp_path, *EPANETS_RING, level_l=0.0)
    screen = screen_of(findings)
    ring, dead = (re.search(rf"^{name}.*", screen, re.MULTILINE)[0].split() for name in ("ring", "dead end"))
    assert float(ring[-5]) * 60.0 == pytest.approx(1031.560, rel=1e-3)  # EPANET 2.2, of other gravity and viscosity
    assert float(dead[-5]) * 60.0 == pytest.approx(950.753, rel=1e-3)
    assert (ring[-4], dead[-4]) == ("25.6", "22.3")
    assert float(ring[-1]) > float(dead[-1])


def test_battery_of_eighteen_volts(tmp_path):
    """36 Wh and a quarter into the water: at 14.68 m and 41.2 W of water power 16.0 Wh go into 100 L, by EPANET 2.2."""
    findings = found(tmp_path, *EPANETS_RING, level_l=0.0)
    reach = findings.reach
    assert reach.minutes == pytest.approx(36.0 / (41.2 / 0.25) * 60.0, rel=0.01)
    assert reach.minutes * findings.flow_l_min == pytest.approx(100.0 * 36.0 / 16.0, rel=0.01)
    assert reach.runs == 2
    assert reach.runs_a_week == 7.0
    assert reach.charges_a_week == pytest.approx(7.0 * 5.0 / reach.minutes)
    every_other = found(tmp_path / "b", ("^every_days = 1", "runs_per_day = 2\nevery_days = 2")).reach
    assert every_other.runs_a_week == 7.0
    on_days = found(tmp_path / "c", ("^every_days = 1", 'weekdays = ["mon", "thu"]')).reach
    assert on_days.runs_a_week == 2.0


def test_measured_minutes_go_before_the_efficiency(tmp_path):
    findings = found(tmp_path, ("^amp_hours.*", "amp_hours = 2.5\nminutes_to_empty = 60\nefficiency = 0.9"))
    reckoned = found(tmp_path / "b").reach
    assert findings.reach.minutes == pytest.approx(60.0)
    assert findings.reach.efficiency == pytest.approx(reckoned.efficiency * 60.0 / reckoned.minutes)
    assert "for about 60 minutes (measured" in words(screen_of(findings))
    assert "12 whole runs of 5 minutes on a charge, 9 with a fifth kept in reserve" in words(screen_of(findings))


def test_a_charge_may_be_shorter_than_a_run(tmp_path):
    findings = found(tmp_path, ("^minutes = 5", "minutes = 600"))
    assert "That is less than a run of 600 minutes" in words(screen_of(findings))


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ((("^amp_hours.*", "amp_hours = 2.5\nminutes_to_empty = 4000"),),
         "battery.minutes_to_empty: is 4000, but a charge holds no more than"),
        ((("^amp_hours.*", "amp_hours = 2.5\nefficiency = 0.01"), ("^shutoff_m", "motor_w = 50\nshutoff_m")),
         "battery.efficiency: an efficiency of 0.01 asks for 5"),
    ],
)  # fmt: skip
def test_a_battery_that_cannot_be_is_refused(tmp_path, changes, told):
    with pytest.raises(SiteError) as fault:
        found(tmp_path, *changes)
    assert told in fault.value.faults[0]
    assert "\n" not in str(fault.value)


def test_openings_even_the_beds_out(tmp_path):
    findings = found(tmp_path)
    openings = {row["bed"]: row["opening"] for row in facts(findings)["beds"]}
    assert openings["Tomato bed"] == 1.0
    assert 0.8 < openings["Bean bed"] < 0.85  # 2.0 against 2.4 m2
    changes = [
        (rf'^bed = "{bed}"\ncount', f'bed = "{bed}"\nopening = {opening}\ncount') for bed, opening in openings.items()
    ]
    even = found(tmp_path / "even", *changes)
    depths_mm = [row["run_mm"] for row in facts(even)["beds"]]
    np.testing.assert_allclose(depths_mm, depths_mm[0], rtol=1e-4)
    assert f"each bed gets {depths_mm[0]:.1f} mm in 5 minutes" in words(screen_of(findings))
    assert "Nothing to do: all beds get nearly the same depth" in words(screen_of(even))


def test_no_opening_helps_a_bed_that_lies_too_high(tmp_path):
    high = (r"^bed = \"Carrot bed\"\ncount", 'bed = "Carrot bed"\nrise_m = 20\ncount')
    findings = found(tmp_path, high)
    assert "No opening does it" in words(screen_of(findings))
    assert "9 open jets run dry" in warned(findings)
    assert "draws air in" in warned(findings)
    assert "never" in screen_of(findings)


def test_the_pump_off_its_curve(tmp_path):
    findings = found(tmp_path, (PUMP, "shutoff_m = 3\ngreatest_l_h = 30"), (r"^rise_m = 0.6", "rise_m = -3"))
    assert "The pump is off its curve" in warned(findings)


def test_siphoning_and_running_dry(tmp_path):
    above, below = found(tmp_path, level_l=1500.0), found(tmp_path / "low", level_l=700.0)
    assert "With the pump off it siphons on at about 77 L/h, as the water stands 0.53 m above" in warned(above)
    assert "siphons" not in warned(below)
    levels_l = np.linspace(40.0, 1500.0, 200)
    flow_l_min = hose_of(above.site, above.zone, levels_l / 1500.0).total_l_min
    minutes = np.trapezoid(1.0 / flow_l_min, levels_l)  # the flow falls with the level
    assert minutes > 1.02 * (1500.0 - 40.0) / above.flow_l_min
    assert above.minutes_left == pytest.approx(minutes, rel=2e-4)
    assert f"At 40 L, the dead volume, the pump runs dry, after about {minutes:.0f} minutes" in warned(above)
    at_the_outlet = found(tmp_path / "dry", level_l=30.0)
    assert "At 40 L, the dead volume, the pump runs dry: fit a float switch" in warned(at_the_outlet)
    empty = found(tmp_path / "dead", ("^dead_l = 40 ", "dead_l = 0 "))
    assert "Class-room tank has no dead_l" in warned(empty)


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ((), "gets to 22 °C (measured)"),
        ((NOBODY_MEASURED,), "gets to 21 °C (a guess by the air of the warmest week"),
        (((r"^water_c = 22", "water_c = 19"),), None),
        (((r"^k_l_h = 3\b", "spray = false\nk_l_h = 3"),), None),
    ],
)
def test_warm_water_and_mist(tmp_path, changes, told):
    findings = found(tmp_path, *changes)
    assert ("Legionella multiply above 20 °C" in warned(findings)) == (told is not None)
    assert told is None or told in warned(findings)


def test_nobody_knows_how_warm_the_water_is(tmp_path):
    path = garden(tmp_path, NOBODY_MEASURED, (r"^hot_above_c.*\nhot_minutes.*\n", ""))
    rows = [f"2031-05-{day:02d},0,3" for day in range(1, 31)]
    (tmp_path / "weather.csv").write_text("\n".join(["date,rain_mm,et0_mm", *rows]), "utf-8")
    assert "nothing tells how warm the store gets: measure it" in warned(find_line(open_site(path), None, None))


def test_by_gravity_below_the_jets(tmp_path):
    findings = found(tmp_path, *BY_GRAVITY, level_l=100.0)
    screen = words(screen_of(findings))
    assert "At this level nothing comes out" in screen
    assert "books no shortage" in warned(findings)
    assert "pump runs dry" not in screen
    assert "residual-current" not in screen
    assert findings.reach is None
    assert facts(findings)["uniformity"] is None


def test_figures_of_the_site_file_that_go_before_the_line_are_told(tmp_path):
    given = found(
        tmp_path, (r"^minutes = 5", "flow_l_min = 4.2\nminutes = 5"), (r"^area_m2 = 2.4", "share = 1\narea_m2 = 2.4")
    )
    assert "flow_l_min = 4.2, and the daily model uses that" in warned(given)
    assert "gives shares of its beds" in warned(given)


def test_far_from_what_was_tested(tmp_path):
    assert "take the figures as rough" in warned(found(tmp_path, ("^bore_mm = 13 ", "bore_mm = 32 ")))


@pytest.mark.parametrize("changes", [(), BY_GRAVITY, (("^count = 9", "count = 40"),)])
def test_the_screen_is_at_most_a_hundred_columns_wide(tmp_path, changes):
    assert max(map(len, screen_of(found(tmp_path, *changes)).splitlines())) <= 100


@pytest.mark.parametrize(
    "caution", ["Never charge below freezing", "residual-current device", "Legionella", "air gap", "frost", "leaks",
                "Local codes"]
)  # fmt: skip
def test_cautions_stand_where_the_hand_acts(tmp_path, caution):
    assert caution in screen_of(found(tmp_path)).partition("Take care")[2]


def test_which_zone_and_level(tmp_path):
    assert found(tmp_path, zone="North line").zone.name == "North line"
    with pytest.raises(InputError, match='"South line" is no zone with a'):
        found(tmp_path, zone="South line")
    with pytest.raises(InputError, match="cannot hold 1501 L; write 0 to 1500"):
        found(tmp_path, level_l=1501.0)
    with pytest.raises(InputError, match="no zone has a"):
        found(tmp_path / "none", (r"^\[\[zone.line\]\][^\0]*?\n\[\[zone\]\]", "flow_l_min = 4\n[[zone]]"))
    told = (
        "[[zone.line]]\nring = false\nbore_mm = 13\nlength_m = 12\nrise_m = 0.1\npumped = false\n"
        '[[zone.line.jets]]\nbed = "Potato bed"\ncount = 9\nk_l_h = 3'
    )
    second = (r"^flow_l_min = 5 .*", told)
    order = (r"^(\[\[zone.line\]\]\nring = false[^\0]*?k_l_h = 3\n)(minutes = 12[^\0]*?)(?=# leave_mm)", r"\2\1")
    butt = (r"^capacity_l = 350", "inner_height_m = 0.9\ncapacity_l = 350")
    with pytest.raises(InputError, match='several zones have a line; name one: "North line" or "South line"'):
        found(tmp_path / "two", second, order, butt)
