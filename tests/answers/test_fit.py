"""The answer of a fit says how far the model is off, what fits best, and what the levels cannot tell."""

import json
from dataclasses import replace

import numpy as np
import pytest
from journal.invented import DEMO

from waterbudget.answers.fit import answer, assumptions, beside, doubts, levels, picture, values, verdict
from waterbudget.journal.fit import AlternativeOptimum, Confounded, Logged, find_fit
from waterbudget.render.json import to_json
from waterbudget.render.text import WIDEST, strip, text


@pytest.fixture(scope="module")
def demo():
    return find_fit(DEMO / "site.toml")


def with_estimates(fitted, **changes):
    """The fit with changes to one of its numbers, by key."""
    rows = [one._replace(**changes.get(one.quantity.key, {})) for one in fitted.estimates]
    return replace(fitted, estimates=tuple(rows))


def test_the_screen_of_the_demo(demo):
    screen = text(answer(demo))
    assert max(map(len, screen.splitlines())) <= WIDEST
    assert screen.startswith("Brackenfold, class-room side, 4 May to 29 September 2031: measured against modelled")
    for words in ("by 297 L", "by 12 L", "fits best", "Logged beside the levels", "Assumed"):
        assert words in screen
    assert screen.endswith("--write")
    assert max(map(len, text(answer(demo), full=False).splitlines()[:-1])) <= WIDEST
    assert "Doubts" not in screen
    assert "Doubts\n  * Leak of" in text(answer(replace(demo, confounded=(Confounded((2, 3), -0.97),))))
    assert text(answer(demo, copy=DEMO / "site.toml.bak")).endswith(f"Next: waterbudget run {DEMO / 'site.toml'}")


def test_the_verdict_names_both_misses(demo):
    now_l, fitted_l = demo.misses_l("Class-room tank")
    (sentence,) = verdict(demo)
    assert f"misses 38 measured levels by {now_l:.0f} L" in sentence
    assert f"and by {fitted_l:.0f} L with what fits best" in sentence


def test_a_line_for_each_number(demo):
    table = values(demo)
    assert len(table.rows) == 4  # the first level is no number of the garden
    for row, one in zip(table.rows, demo.estimates, strict=False):
        assert row[2:] == (one.quantity.now, one.fitted, one.error)
        now, best, error = (column.cell(cell) for column, cell in zip(table.columns[2:], row[2:], strict=True))
        assert float(now) == one.quantity.now
        assert float(best) == pytest.approx(one.fitted, rel=0.005)
        assert float(error) == pytest.approx(one.error, rel=0.05)


def test_what_is_not_told_is_said(demo):
    fitted = with_estimates(demo, flow_l_min={"error": None, "fitted": 3.2})
    table = values(fitted)
    assert [column.cell(cell) for column, cell in zip(table.columns, table.rows[3], strict=True)][2:] == [
        "3.2",
        "not told",
        "–",
    ]
    said = " ".join(doubts(fitted))
    assert "Flow of North line cannot be told from these levels: changing it by 0.16 moves none of them" in said
    silent = replace(demo, estimates=tuple(one._replace(error=None) for one in demo.estimates))
    assert text(answer(silent)).endswith("so there is nothing to write.")


def test_an_error_beyond_all_bounds_is_no_number(demo):
    assert values(with_estimates(demo, flow_l_min={"error": 1e6})).rows[3][-1] is None


def test_a_number_at_its_highest_is_doubted_and_none_at_nothing(demo):
    high = with_estimates(demo, runoff_coefficient={"fitted": 1.0, "at_bound": True})
    assert "Runoff coefficient of Class-room roof went up to the highest value that was tried, 1:" in " ".join(
        doubts(high)
    )
    low = with_estimates(demo, loss_l_per_day={"fitted": 0.0, "at_bound": True})
    assert list(doubts(low)) == list(doubts(demo))


def test_what_cannot_be_told_apart_is_said(demo):
    fitted = replace(
        demo, confounded=(Confounded((2, 3), -0.97), Confounded((0, 1), 0.96), Confounded((0, 1, 2), None))
    )
    apart, together, mixed = doubts(fitted)
    assert apart.startswith(
        "Leak of Class-room tank and flow of North line cannot well be told apart (correlation -0.97)"
    )
    assert "more of one and less of the other" in apart
    assert "more of both" in together
    assert mixed.startswith("Runoff coefficient of Class-room roof, first flush of Class-room roof and leak of")


def test_other_answers_are_told_once(demo):
    others = tuple(AlternativeOptimum(*one) for one in ((3, 1.351), (3, 1.3511), (0, 0.5)))
    fitted = replace(demo, confounded=(), alternatives=others)
    flow, runoff = doubts(fitted)
    assert flow.startswith("Flow of North line could as well be 1.35 L/min, with other values beside it.")
    assert runoff.startswith("Runoff coefficient of Class-room roof could as well be 0.5, with other values")


def test_measured_and_modelled_levels_stand_side_by_side(demo):
    table, row = levels(demo), demo.compared[-1]
    assert table.rows[-1] == (*row, row.fitted_l - row.measured_l)
    assert table.below == ("... and 14 earlier levels; --json has all.",)
    assert table.columns[-1].cell(-9.6) == "-10"


def test_the_text_picture_shows_a_mark_for_each_measurement(demo):
    _, modelled, measured, _ = strip(picture(demo).strip, WIDEST)
    columns = measured.split("|")[1]
    assert len(columns) == len(modelled.split("|")[1]) <= 60
    assert sum(mark != "·" for mark in columns) == 38
    agree = [mark == block for mark, block in zip(columns, modelled.split("|")[1], strict=True) if mark != "·"]
    assert np.mean(agree) > 0.8


def test_what_was_logged_beside_the_levels(demo):
    ran, mains, rain = beside(demo)
    assert ran == (
        "North line ran 185 minutes on 10 days as logged; on 85 other days it ran by its plan, for "
        f"{demo.logged[0].other:.0f} minutes."
    )
    assert mains == "240 L of mains water were let into Class-room tank on 1 day as logged."
    assert rain == "Rain on 7 days is that of your gauge, 74.0 mm, where the weather has 78.1 mm."
    (never,) = beside(replace(demo, logged=(Logged("ran", "North line", 2, 30.0, 0, 0.0),)))
    assert never == "North line ran 30 minutes on 2 days as logged; its plan opened it on no other day."


@pytest.mark.parametrize(
    ("mains", "words"), [("float", "its float valve let in"), ("direct", "its hose gave the lines")]
)
def test_mains_water_that_the_model_takes_by_itself(demo, mains, words):
    (tank,) = demo.site.tank
    site = demo.site.model_copy(update={"tank": [tank.model_copy(update={"mains": mains})]})
    fitted = replace(
        demo,
        opened=replace(demo.opened, site=site),
        logged=(Logged("mains", tank.name, 2, 300.0, 5, 250.0),),
    )
    (said,) = beside(fitted)
    assert said == (
        "300 L of mains water were logged for Class-room tank on 2 days; they are not let in a second time, as in the "
        f"model {words} 250 L on 5 days by itself."
    )


def test_what_the_lines_ran_by_is_said(demo):
    as_logged = "A line ran as logged, and by its plan on days without a line in the journal."
    assert as_logged in " ".join(assumptions(demo))
    assert "A reading of the gauge is the rain of its day." in assumptions(demo)
    assert next(assumptions(demo)).startswith("Weather: weather.csv, with the rain of the logged gauge on 7 days.")
    without = " ".join(assumptions(replace(demo, logged=())))
    assert "The lines ran by their plan, as no run was logged." in without
    assert "gauge is the rain" not in without


def test_the_json_holds_everything(demo):
    summary = json.loads(to_json(answer(demo)))
    assert [row["key"] for row in summary["quantities"]] == [
        "roof[1].runoff_coefficient",
        "roof[1].first_flush_l",
        "tank[1].loss_l_per_day",
        "zone[1].flow_l_min",
        "tank[1].start_l",
    ]
    assert [row["standard_error"] for row in summary["quantities"]] == [one.error for one in demo.estimates]
    assert len(summary["levels"]) == summary["stores"][0]["levels"] == 38
    assert summary["levels"][0]["date"] == summary["period"]["from"] == "2031-05-04"
    assert [row["kind"] for row in summary["logged"]] == ["ran", "mains", "gauge"]


def test_the_short_screen_fits_a_window_and_says_what_is_left_out(demo):
    lines = text(answer(demo), 80, full=False).splitlines()
    assert len(lines) <= 30
    assert lines[-1] == "More with --full: details and what is assumed."
    assert "  waterbudget fit" in lines[-2]
