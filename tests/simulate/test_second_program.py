"""The package against a second, plain program of the same model, written without sight of it."""

import datetime as dt
from math import pi
from pathlib import Path

import pandas as pd
import pytest
from gardens import site_of, weather_of
from hypothesis import given, settings
from plain import plain_run, top_layer
from plain.calendar import is_banned, standing
from plain.lookup import read_tables
from strategies import named_runs, runs

import waterbudget

NAMED = {"tanks": "tank", "zones": "zone", "beds": "bed", "roofs": "roof"}
TABLES = read_tables(Path(waterbudget.__file__).parent / "tables")
LISTS = ("tanks", "zones", "transfers", "beds")
COLUMNS = {
    "tanks": (
        "date", "tank", "inflow_l", "mains_l", "moved_in_l", "moved_out_l", "asked_l", "drawn_l", "drawn_mains_l",
        "short_l", "spilled_l", "lost_l", "level_l",
    ),
    "zones": ("date", "zone", "asked_l", "store_l", "rain_l", "mains_l", "unmet_l", "minutes_run"),
    "beds": (
        "date", "bed", "kc", "kcb", "ke", "etc_mm", "ks", "eta_mm", "e_mm", "rain_mm", "irrigation_mm", "drained_mm",
        "subsoil_mm", "taw_mm", "raw_mm", "depletion_mm", "de_mm",
    ),
    "roofs": ("date", "roof", "on_roof_l", "caught_l", "flushed_l", "filter_l", "kept_l"),
}  # fmt: skip


def about(value):
    return pytest.approx(value, rel=1e-9, abs=1e-9) if isinstance(value, float) else value


@settings(max_examples=150, deadline=None)
@given(runs())
def test_every_cell_agrees(case):
    assert_agree(*case)


@settings(max_examples=60, deadline=None)
@given(named_runs(TABLES))
def test_every_cell_agrees_where_the_tables_give_the_numbers(case):
    assert_agree(*case, TABLES)


def assert_agree(table, rows, start, tables=None):
    plain = plain_run(table, rows, tables, start=start)
    result = waterbudget.run(site_of(table), weather_of(rows).between(start, None))
    for kind, name in NAMED.items():
        frame, expected = getattr(result, kind), pd.DataFrame(plain[kind], columns=COLUMNS[kind])
        assert tuple(frame.columns) == COLUMNS[kind]
        assert len(frame) == len(expected)
        if not len(expected):
            continue
        assert [day.date() for day in frame["date"]] == list(expected["date"])
        assert list(frame[name]) == list(expected[name])
        quantities = frame.columns[2:]
        pd.testing.assert_frame_equal(
            frame[quantities], expected[quantities].astype("float64"), check_exact=False, rtol=1e-9, atol=1e-9
        )
    for key, value in plain["summary"].items():
        if key not in LISTS:
            assert result.summary[key] == about(value), key
    for kind in LISTS:
        for ours, theirs in zip(result.summary[kind], plain["summary"][kind], strict=True):
            for key, value in theirs.items():
                assert ours[key] == about(value), f"{key} of {theirs['name']}"


def test_the_plain_program_writes_the_same_columns():
    site = {
        "roof": [{"name": "roof", "tank": "store", "area_m2": 1, "runoff_coefficient": 1}],
        "tank": [{"name": "store", "capacity_l": 1, "start_l": 0}],
        "draw": [{"name": "can", "tank": "store", "l_per_day": 1}],
        "bed": [{"name": "bed", "area_m2": 1, "available_water_mm_m": 100}],
    }
    plain = plain_run(site, [{"date": dt.date(2031, 5, 1), "rain_mm": 0, "et0_mm": 0}])
    for kind, columns in COLUMNS.items():
        assert tuple(plain[kind][0]) == columns


REACHED = {
    "mains none", "mains direct", "mains float", "plan timer", "plan dry", "plan refill", "after_spill",
    "before_spill", "spill into another", "stress", "subsoil gives", "subsoil takes", "single", "dual",
    "jets mist", "jets spray", "jets drip", "jets can", "joined", "pots", "wide pots", "pots under leaves",
    "mulch", "exposed", "side by side", "a part of the ground", "perennial", "kc", "kcb", "a year long",
    "a leap day", "begins later", "skipped by rain before the run", "ban", "ban every year", "hose shut",
    "valve shut", "late", "into the store", "transfer", "transfers in a row", "to the brim", "not below the level",
    "mains moved", "mains spilled on", "fed", "beyond REW", "layer emptied", "layer empty", "seldom", "often",
    "bare",
    *(column for kind in ("tanks", "zones", "beds") for column in COLUMNS[kind][2:]),
}  # fmt: skip


def test_the_cases_reach_every_branch():
    """What hypothesis draws must not pass by the parts of the model it is meant to try."""
    seen = set()

    @settings(max_examples=600, deadline=None, database=None, derandomize=True)
    @given(runs())
    def look(case):
        if seen >= REACHED:
            return
        table, rows, start = case
        result = plain_run(table, rows, start=start)
        seen.update(drawn(table, rows, start))
        seen.update(
            column
            for kind in ("tanks", "zones", "beds")
            for row in result[kind]
            for column, value in row.items()
            if not isinstance(value, str | dt.date) and value > 0
        )
        seen.update(into_stores(table, result))
        seen.update(through_beds(table, rows, result))
        if start > rows[0]["date"]:
            alone = plain_run(table, [row for row in rows if row["date"] >= start])
            seen.update("skipped by rain before the run" for _ in range(alone["zones"] != result["zones"]))

    look()
    assert seen >= REACHED


def drawn(table, rows, start):
    """What the site file and the weather have."""
    yield table["model"]["release"]
    yield table["model"]["crop_coefficient"]
    yield from ("begins later" for _ in range(start > rows[0]["date"]))
    yield from (f"mains {tank['mains']}" for tank in table["tank"])
    yield from ("spill into another" for tank in table["tank"] if "overflow_to" in tank)
    yield from ("joined" for tank in table["tank"] if tank["joined"] > 1)
    yield from ("ban every year" for ban in table.get("ban", ()) if len(str(ban["from"])) == len("MM-DD"))
    for zone in table["zone"]:
        yield f"plan {zone['plan']}"
        yield f"jets {zone['jets']}"
    for bed in table["bed"]:
        yield from (key for key in ("pots", "exposed") if key in bed)
        if "pots" in bed and "area_m2" in bed:
            opening_m2 = bed["pots"] * pi / 4 * (bed["pot_diameter_cm"] / 100) ** 2
            yield "wide pots" if opening_m2 > bed["area_m2"] else "pots under leaves"
        yield from ("mulch" for _ in range(bed["mulch_cover"] > 0))
        for planting in bed["planting"]:
            yield from (key for key in ("kc", "kcb") if key in planting)
            yield from ("perennial" for _ in range(planting["perennial"]))
            yield from ("a part of the ground" for _ in range(planting["ground_share"] < 1))
            yield from ("a year long" for _ in range(sum(planting["days"]) == 365))


def into_stores(table, result):
    """What happened in and between the stores."""
    summary = result["summary"]
    yield from ("fed" for _ in range(summary["fed_l"] > 0))
    yield from ("ban" for _ in range(summary["ban_days"] > 0))
    yield from ("transfer" for _ in range(summary["transferred_l"] > 0))
    for tank in table["tank"]:
        before_l, before_mains_l = tank["start_l"] * tank["joined"], 0.0
        rows = (row for row in result["tanks"] if row["tank"] == tank["name"])
        for row, held in zip(rows, (row for row in result["held"] if row["tank"] == tank["name"]), strict=True):
            level_l = before_l + row["moved_in_l"] - row["moved_out_l"]
            yield from tank_day_marks(tank, table, row, level_l)
            if row["moved_out_l"] > 0 and before_mains_l > 0:
                yield "mains moved"
            if row["spilled_l"] > 0 and held["mains_l"] > 0 and "overflow_to" in tank:
                yield "mains spilled on"
            before_l, before_mains_l = row["level_l"], held["mains_l"]
    for transfer in table["transfer"]:
        moved_l = [row["moved_l"] for row in result["moved"] if row["transfer"] == transfer["name"]]
        every_day = not {"weekdays", "from", "to"} & transfer.keys()
        if "below_l" in transfer and every_day and max(moved_l) > 0 and min(moved_l) == 0:
            yield "not below the level"


def tank_day_marks(tank, table, row, level_l):
    """What a tank did on a day, by its row and its level after the transfers."""
    let_in_l = 0.0
    banned = is_banned(table.get("ban", ()), row["date"])
    if tank["mains"] == "float" and not banned and level_l < tank["float_below_l"] * tank["joined"]:
        let_in_l = tank["float_to_l"] * tank["joined"] - level_l
        yield "into the store"
    if tank["mains"] == "float" and row["mains_l"] > let_in_l + 1e-6:
        yield "late"
    if banned and row["short_l"] > 1e-6:
        yield {"none": "short", "direct": "hose shut", "float": "valve shut"}[tank["mains"]]
    if row["moved_in_l"] > 0 and row["moved_out_l"] > 0:
        yield "transfers in a row"
    if row["moved_in_l"] > 0 and level_l == pytest.approx(tank["capacity_l"] * tank["joined"]):
        yield "to the brim"


def through_beds(table, rows, result):
    """What happened in the beds."""
    et0_mm = {row["date"]: row["et0_mm"] for row in rows}
    for bed in table["bed"]:
        usual = top_layer(bed["available_water_mm_m"]) | bed
        before_mm = bed["start_depleted"] * usual["tew_mm"]
        for row in (row for row in result["beds"] if row["bed"] == bed["name"]):
            stands = standing(bed["planting"], row["date"])
            yield ("bare", "planted", "side by side", "side by side")[len(stands)]
            if stands and (row["date"].month, row["date"].day) == (2, 29):
                yield "a leap day"
            if row["ks"] < 1:
                yield "stress"
            if row["subsoil_mm"] != 0:
                yield "subsoil gives" if row["subsoil_mm"] > 0 else "subsoil takes"
            if table["model"]["crop_coefficient"] == "dual" and et0_mm[row["date"]] > 0:
                yield from layer_marks(usual, row, before_mm)
            before_mm = row["de_mm"]


def layer_marks(bed, row, before_mm):
    """What the top layer did on a day, by its row and its depletion in the evening before."""
    tew_mm = pytest.approx(bed["tew_mm"])
    if row["ke"] > 0 and row["de_mm"] > bed["rew_mm"]:
        yield "beyond REW"
    if row["de_mm"] == tew_mm and before_mm != tew_mm:
        yield "layer emptied"
    if row["ke"] == 0 and row["de_mm"] == tew_mm:
        yield "layer empty"
    if row["kcb"] == 0 and row["ke"] in {1.1, 1.2}:
        yield "often" if row["ke"] == 1.1 else "seldom"
