import datetime as dt
import math
import shutil

import numpy as np
import pytest

import waterbudget
from waterbudget.batch import partition as worker
from waterbudget.batch.outcome import DATES, NUMBERS
from waterbudget.batch.partition import Partition, run_partition
from waterbudget.batch.sites import folder_sites, sheet_sites

CARRIED = ("name", "weight", "group", "latitude_deg", "longitude_deg")
SIZES = np.array([300.0, 1500.0, 2600.0])


def ran(sheet, capacity_l=None):
    source, entries = sheet_sites(sheet, None)
    return run_partition(Partition(source, entries, capacity_l)).rows


def own_run(sheet):
    """Each site without a fault as `waterbudget run` has it."""
    source, entries = sheet_sites(sheet, None)
    for entry in entries:
        try:
            site = source.site_of(entry)
        except waterbudget.errors.SiteError:
            continue
        weather = waterbudget.read_weather(source.folder / site.weather.file, site)
        yield waterbudget.run(site, weather, daily=False).summary


def same(row, summary):
    assert row["error"] == ""
    assert {name: row[name] for name in NUMBERS} == {name: summary[name] for name in NUMBERS}
    assert {name: row[name] and row[name].isoformat() for name in DATES} == {name: summary[name] for name in DATES}


@pytest.mark.parametrize("lanes", [7, 1000])
def test_each_row_is_the_run_of_its_site(garden, monkeypatch, lanes):
    monkeypatch.setattr(worker, "LANES_AT_ONCE", lanes)
    rows = ran(garden.plots(45))
    assert [row["name"] for row in rows] == [f"Plot {number}" for number in range(1, 46)]
    assert [row["name"] for row in rows if row["error"]] == ["Plot 20", "Plot 40"]
    fine = [row for row in rows if not row["error"]]
    for row, summary in zip(fine, own_run(garden.folder / "sites.csv"), strict=True):
        same(row, summary)
    assert len({row["days_lasted"] for row in fine}) > 5


def test_unlike_sites_stand_in_one_partition(garden):
    heads = [
        "name",
        "tank.No. 2 butt.overflow_to",
        "bed.Potato bed.root_limit_m",
        "weather.file",
        "zone.South line.plan",
    ]
    heads += ["model.release", "site.latitude_deg"]
    garden.write_weather("wet.csv", [row | {"rain_mm": row["rain_mm"] + 1.0} for row in garden.weather])
    garden.write_weather("short.csv", garden.weather[:40])
    warm = [{key: value for key, value in row.items() if key != "et0_mm"} for row in garden.weather]
    garden.write_weather("warm.csv", warm)
    table = garden.template.read_text("utf-8").replace('name = "Brackenfold"', 'name = "Brackenfold"\nelevation_m = 90')
    garden.template.write_text(table.replace('overflow_to = "No. 2 butt"', ""), "utf-8")
    sheet = garden.sheet(
        heads,
        ["As it is", "", "", "", "", "", ""],
        ["Spilling", "Class-room tank", "", "", "", "", ""],
        ["Shallow", "", "0.08", "", "", "", ""],
        ["Wet", "", "", "wet.csv", "", "", ""],
        ["Short", "", "", "short.csv", "", "", ""],
        ["Timed", "", "", "", "timer", "", ""],
        ["Cautious", "", "", "", "", "before_spill", ""],
        ["North", "", "", "warm.csv", "", "", "58"],
        ["South", "", "", "warm.csv", "", "", "-33"],
    )
    rows = ran(sheet)
    for row, summary in zip(rows, own_run(sheet), strict=True):
        same(row, summary)
    assert [row["days"] for row in rows] == [60, 60, 60, 60, 40, 60, 60, 60, 60]
    assert len({(row["store_l"], row["spilled_l"]) for row in rows}) == len(rows)


def test_a_row_for_each_size_of_one_tank(garden):
    heads = ["name", "size_tank", "tank.Class-room tank.capacity_l", "tank.Class-room tank.start_l"]
    source_rows = [["Small", "Class-room tank", "400", "100"], ["Large", "Class-room tank", "2000", "1000"]]
    rows = ran(garden.sheet(heads, *source_rows, ["Unclear", "", "", ""]), SIZES)
    assert [row["name"] for row in rows] == ["Small"] * 3 + ["Large"] * 3 + ["Unclear"]
    assert rows[-1].keys() == {*CARRIED, "error"}
    assert "size_tank: is missing" in rows[-1]["error"]
    assert [row["capacity_l"] for row in rows[:-1]] == SIZES.tolist() * 2
    assert {row["tank"] for row in rows[:-1]} == {"Class-room tank"}
    as_sites = [
        [f"{row[0]} {size}", "", size, size * float(row[3]) / float(row[2])] for row in source_rows for size in SIZES
    ]
    for row, alone in zip(rows, ran(garden.sheet(heads, *as_sites)), strict=False):
        for name in (*NUMBERS, *DATES):
            assert row[name] == (
                pytest.approx(alone[name], rel=1e-12) if isinstance(alone[name], float) else alone[name]
            )


def test_lanes_do_not_mix_sizes_and_weather(garden, monkeypatch):
    garden.write_weather("wet.csv", [row | {"rain_mm": row["rain_mm"] + 1.0} for row in garden.weather])
    sheet = garden.sheet(
        ["name", "size_tank", "weather.file"],
        ["Dry", "Class-room tank", ""],
        ["Wet", "Class-room tank", "wet.csv"],
        ["Dry too", "Class-room tank", "weather.csv"],
    )
    together = ran(sheet, SIZES)
    monkeypatch.setattr(worker, "LANES_AT_ONCE", 1)
    assert ran(sheet, SIZES) == together
    dry, wet, dry_too = together[:3], together[3:6], together[6:]
    assert all(a["caught_l"] < b["caught_l"] for a, b in zip(dry, wet, strict=True))
    assert [row | {"name": "Dry"} for row in dry_too] == dry


def test_a_weather_file_is_read_once(garden, monkeypatch):
    read = []

    def counted(path):
        read.append(path.name)
        return waterbudget.weather.files.read_daily(path)

    monkeypatch.setattr(worker, "read_daily", counted)
    heads = ["name", "site.latitude_deg", "site.longitude_deg"]
    sheet = garden.sheet(heads, ["A", "50", "1"], ["B", "50", "2"], ["C", "51", ""])
    before = ran(sheet)
    assert read == ["weather.csv"]
    garden.write_weather("weather.csv", [row | {"rain_mm": 0.0} for row in garden.weather])
    assert ran(sheet)[0]["caught_l"] == 0.0 < before[0]["caught_l"]
    assert read == ["weather.csv"] * 2


def test_the_gauge_stands_in_for_the_rain(garden):
    rain = [{"date": row["date"], "rain_mm": 9.0} for row in garden.weather[:10]]
    garden.write_weather("gauge.csv", rain)
    sheet = garden.sheet(["name", "weather.gauge"], ["Without", ""], ["With", "gauge.csv"])
    source, entries = sheet_sites(sheet, None)
    done = run_partition(Partition(source, entries, None))
    without, with_gauge = done.rows
    # 42 m2 x 0.9 and 8 m2 x 0.95 past a wetting loss of 0.3 mm, of which the filter lets 0.9 pass
    more_mm = [(9.0 - row["rain_mm"], 8.7 - max(0.0, row["rain_mm"] - 0.3)) for row in garden.weather[:10]]
    more_l = sum(0.9 * (42 * 0.9 * school + 8 * 0.95 * shed) for school, shed in more_mm)
    assert math.isclose(with_gauge["caught_l"] - without["caught_l"], more_l, rel_tol=1e-9)
    assert {path.rpartition("/")[2] for path in done.weather} == {"weather.csv", "gauge.csv"}


@pytest.mark.parametrize(
    ("head", "cell", "said"),
    [
        ("weather.file", "none.csv", "none.csv: there is no such file"),
        ("weather.file", "sites.csv", "the column date is missing"),
        ("weather.gauge", "none.csv", "none.csv"),
        ("roof.Shed roof.area_m2", "0", "sites.csv: row 2: roof.Shed roof.area_m2: is 0; write a number above 0"),
    ],
)
def test_a_fault_is_a_row(garden, head, cell, said):
    bad, good = ran(garden.sheet(["name", head], ["Bad", cell], ["Good", ""]))
    assert bad.keys() == {*CARRIED, "error"}
    assert said in bad["error"]
    assert "\n" not in bad["error"]
    assert good["error"] == ""


def test_hot_days_need_their_temperatures(garden):
    garden.write_weather(
        "weather.csv", [{key: row[key] for key in ("date", "rain_mm", "et0_mm")} for row in garden.weather]
    )
    (row,) = ran(garden.sheet(["name"], ["Plot"]))
    assert "hot_above_c needs a tmax_c column" in row["error"]


def test_weather_comes_from_files_alone(garden):
    garden.template.write_text(
        garden.template.read_text("utf-8").replace('file = "weather.csv"', "nearest = true"), "utf-8"
    )
    (row,) = ran(garden.sheet(["name"], ["Plot"]))
    assert row["error"].startswith(
        "sites.csv: row 2: weather.file: is missing, and a batch takes its weather from files"
    )


def test_the_sites_of_a_folder(garden):
    folder = garden.folder / "plots"
    (folder / "north").mkdir(parents=True)
    for path in (folder / "b.toml", folder / "north" / "a.toml"):
        shutil.copy(garden.template, path)
        shutil.copy(garden.folder / "weather.csv", path.parent)
    (folder / "c.toml").write_text("[site]\n", "utf-8")
    source, entries = folder_sites(folder)
    good, bad, north = run_partition(Partition(source, entries, None)).rows
    (as_template,) = own_run(garden.sheet(["name"], ["b.toml"]))
    same(good, as_template)
    same(north, as_template)
    assert [row["name"] for row in (good, bad, north)] == ["b.toml", "c.toml", "north/a.toml"]
    assert bad["error"].count(" | ") == 1
    assert f"{folder / 'c.toml'}: site.name: is missing" in bad["error"]


def test_dates_are_dates(garden):
    (row,) = ran(garden.sheet(["name", "tank.Class-room tank.start_l"], ["Dry", "0"]))
    assert row["first_short"] == dt.date(2031, 5, 1) + dt.timedelta(row["days_lasted"])
