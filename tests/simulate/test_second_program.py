"""The package against a second, plain program of the same model, written without sight of it."""

import datetime as dt

import pandas as pd
import pytest
from gardens import site_of, weather_of
from hypothesis import given, settings
from plain import plain_run
from strategies import cases

import waterbudget

NAMED = {"tanks": "tank", "zones": "zone", "beds": "bed", "roofs": "roof"}


def about(value):
    return pytest.approx(value, rel=1e-9, abs=1e-9) if isinstance(value, float) else value


@settings(max_examples=150, deadline=None)
@given(cases())
def test_every_cell_agrees(case):
    table, rows = case
    plain = plain_run(table, rows)
    result = waterbudget.run(site_of(table), weather_of(rows))
    for kind, name in NAMED.items():
        frame, expected = getattr(result, kind), pd.DataFrame(plain[kind])
        assert len(frame) == len(expected)
        if not len(expected):
            continue
        assert list(frame.columns) == list(expected.columns)
        assert [day.date() for day in frame["date"]] == list(expected["date"])
        assert list(frame[name]) == list(expected[name])
        quantities = frame.columns[2:]
        pd.testing.assert_frame_equal(
            frame[quantities], expected[quantities].astype("float64"), check_exact=False, rtol=1e-9, atol=1e-9
        )
    for key, value in plain["summary"].items():
        if key not in NAMED:
            assert result.summary[key] == about(value), key
    for kind in ("tanks", "zones", "beds"):
        for ours, theirs in zip(result.summary[kind], plain["summary"][kind], strict=True):
            for key in set(ours) & set(theirs):
                assert ours[key] == about(theirs[key]), key


def test_the_cases_reach_every_branch():
    """What hypothesis draws must not pass by the parts of the model it is meant to try."""
    seen = set()

    @settings(max_examples=150, deadline=None, database=None)
    @given(cases())
    def look(case):
        table, rows = case
        result = plain_run(table, rows)
        seen.update(f"mains {tank.get('mains', 'none')}" for tank in table["tank"])
        seen.update(f"plan {zone.get('plan', 'timer')}" for zone in table["zone"])
        seen.add(table.get("model", {}).get("release", "after_spill"))
        seen.update("spill into another" for tank in table["tank"] if "overflow_to" in tank)
        seen.update(
            f"{column}"
            for rows in (result["tanks"], result["beds"])
            for row in rows
            for column, value in row.items()
            if not isinstance(value, str | dt.date) and value > 0
        )
        seen.update("stress" for row in result["beds"] if row["ks"] < 1)
        seen.update("subsoil gives" for row in result["beds"] if row["subsoil_mm"] > 0)
        seen.update("subsoil takes" for row in result["beds"] if row["subsoil_mm"] < 0)

    look()
    assert seen >= {
        "mains none", "mains direct", "mains float", "plan timer", "plan dry", "plan refill", "after_spill",
        "before_spill", "spill into another", "stress", "subsoil gives", "subsoil takes",
        "inflow_l", "mains_l", "asked_l", "drawn_l", "short_l", "spilled_l", "lost_l", "level_l",
        "irrigation_mm", "drained_mm", "depletion_mm",
    }  # fmt: skip
