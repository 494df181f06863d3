"""A small town over a grid: its sums are those of single runs, by hand and by group, and its peaks are theirs."""

import csv
import threading
from collections import defaultdict
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer

import numpy as np
import pytest
import town as recipe

import waterbudget
from waterbudget.batch import partition as worker
from waterbudget.batch.outcome import DAILY, NUMBERS
from waterbudget.batch.partition import run_partition
from waterbudget.batch.run import open_batch, run_batch
from waterbudget.errors import OutputError, WeatherError
from waterbudget.weather.cf import days_of
from waterbudget.weather.files import weather_of
from waterbudget.weather.grid import Grid, Spot, open_cells

pytest.importorskip("xarray")
pytest.importorskip("netCDF4")


DAYS, FIRST = 130, "2031-05-01"
CLOSE = {"rel": 1e-9, "abs": 1e-9}


@pytest.fixture(scope="module")
def town(tmp_path_factory):
    folder = tmp_path_factory.mktemp("town")
    sheet = recipe.write_town(folder, 40)
    grid = recipe.grid_of(DAYS, rows=2, columns=2, first=FIRST)
    grid.to_netcdf(folder / "grid.nc")
    return sheet, grid


def ran(batch):
    return [run_partition(partition) for partition in batch.partitions]


def nearest(grid, row):
    """The nearest cell by the great circle's haversine, one by one."""
    lat, lon = np.radians(float(row["latitude_deg"])), np.radians(float(row["longitude_deg"]))
    lats, lons = np.radians(grid["lat"].to_numpy())[:, None], np.radians(grid["lon"].to_numpy())[None, :]
    half = np.sin((lats - lat) / 2) ** 2 + np.cos(lat) * np.cos(lats) * np.sin((lons - lon) / 2) ** 2
    return np.unravel_index(np.argmin(half), half.shape)


def single(sheet, grid, row):
    """The run of a row on its own, its weather taken from the grid by hand."""
    import pandas as pd

    at_lat, at_lon = nearest(grid, row)
    cell = grid.isel(lat=at_lat, lon=at_lon)
    daily = pd.DataFrame(
        {"rain_mm": cell["pr"], "tmin_c": cell["tasmin"] - 273.15, "tmax_c": cell["tasmax"] - 273.15},
        pd.date_range(FIRST, periods=DAYS),
    )
    keys = {head: float(value) for head, value in row.items() if "." in head}
    site = waterbudget.load_site(sheet.with_name("site.toml")).changed(keys)
    return waterbudget.run(site, weather_of(daily, Spot(float(cell["lat"]), 60.0, 2.0), "grid"))


def test_every_row_and_every_sum_is_that_of_single_runs(town):
    sheet, grid = town
    done = ran(open_batch(sheet, weather=str(sheet.with_name("grid.nc")), by="ward"))
    rows = {row["name"]: row for one in done for row in one.rows}
    sums = {name: defaultdict(float) for name in DAILY}
    with sheet.open(encoding="utf-8") as handle:
        every = list(csv.DictReader(handle))
    for row in every:
        alone = single(sheet, grid, row)
        found = rows[row["name"]]
        assert found["error"] == ""
        for name in NUMBERS:
            assert found[name] == pytest.approx(alone.summary[name], **CLOSE), name
        weight, ward = float(row["weight"]), row["ward"]
        zone, tank = alone.zones, alone.tanks
        for name, of_days in {
            "asked_l": zone["asked_l"],
            "rain_l": zone["rain_l"],
            "needed_l": tank["mains_l"] + zone["unmet_l"],
            "caught_l": alone.roofs["caught_l"],
            "to_drain_l": tank["spilled_l"],
            "level_l": tank["level_l"],
        }.items():
            sums[name][ward] = sums[name][ward] + weight * of_days.to_numpy()
    assert len({row["days_lasted"] for row in rows.values()}) > 5
    for name in DAILY:
        for ward, by_hand in sums[name].items():
            ours = sum(part.sums[name] for one in done for part in one.daily if part.group == ward)
            np.testing.assert_allclose(ours, by_hand, rtol=1e-9, atol=1e-9)


def test_sites_without_weather_are_rows_with_their_distance(town):
    sheet, _ = town
    text = sheet.read_text("utf-8").splitlines()
    far = [*text[1].split(",")]
    far[0], far[3] = "Far", "57.0"
    blank = [*text[2].split(",")]
    blank[0], blank[2] = "Blank", ""
    minus = [*text[3].split(",")]
    minus[0], minus[1] = "Minus", "-2"
    bad = sheet.with_name("bad.csv")
    bad.write_text("\n".join([*text[:4], *(",".join(row) for row in (far, blank, minus))]), "utf-8")
    batch = open_batch(bad, weather=str(sheet.with_name("grid.nc")), by="ward")
    errors = {row["name"]: row["error"] for one in ran(batch) for row in one.rows if row["error"]}
    assert set(errors) == {"Far", "Blank", "Minus"}
    assert "km from the nearest cell of" in errors["Far"]
    assert "ward: is blank" in errors["Blank"]
    assert 'weight: is "-2"; write how many gardens' in errors["Minus"]


def test_a_cell_without_weather_is_told_by_its_sites_alone(town, tmp_path):
    sheet, grid = town
    sea = grid.copy(deep=True)
    sea["pr"][:, 0, 0] = np.nan
    sea["tasmax"][7, 1, 1] = np.nan
    sea.to_netcdf(tmp_path / "sea.nc")
    rows = [row for one in ran(open_batch(sheet, weather=str(tmp_path / "sea.nc"), by="ward")) for row in one.rows]
    errors = {row["error"].partition("cell ")[2] for row in rows if row["error"]}
    assert errors == {
        "51.1 -1.6: has no weather; choose a cell on land with the column cell",
        "51.9 -0.4: 2031-05-08: tmax_c is nan; give -60 to 60",
    }
    assert 0 < sum(bool(row["error"]) for row in rows) < len(rows)


@pytest.mark.parametrize("kind", ["zarr", "folder"])
def test_other_weather_by_place_gives_the_same(town, kind, tmp_path):
    sheet, grid = town
    as_grid = [
        row for one in ran(open_batch(sheet, weather=str(sheet.with_name("grid.nc")), by="ward")) for row in one.rows
    ]
    if kind == "zarr":
        pytest.importorskip("zarr")
        grid.to_zarr(tmp_path / "grid.zarr", zarr_format=2)
        other = open_batch(sheet, weather=str(tmp_path / "grid.zarr"), by="ward")
        assert [row for one in ran(other) for row in one.rows] == as_grid
        return
    cells = open_cells(str(sheet.with_name("grid.nc")))
    folder = tmp_path / "cells"
    folder.mkdir()
    for number in range(len(cells.names)):
        daily = cells.weather(number, Spot(51.5, 60.0, 2.0)).daily[["rain_mm", "et0_mm", "tmin_c", "tmax_c"]]
        daily.to_csv(folder / f"cell {number}.csv", index_label="date")
    with sheet.open(encoding="utf-8") as handle:
        rows = list(csv.reader(handle))
    named = [[*rows[0], "cell"]]
    for row in rows[1:]:
        at = np.ravel_multi_index(nearest(grid, dict(zip(rows[0], row, strict=True))), (2, 2))
        named.append([*row, f"cell {at}"])
    own = tmp_path / "sites.csv"
    own.write_text("\n".join(",".join(row) for row in named), "utf-8")
    batch = open_batch(own, template=sheet.with_name("site.toml"), weather=str(folder), by="ward")
    for ours, theirs in zip((row for one in ran(batch) for row in one.rows), as_grid, strict=True):
        assert ours["mains_l"] == pytest.approx(theirs["mains_l"], **CLOSE)
        assert ours["name"] == theirs["name"]


def test_sizes_stand_side_by_side_and_none_is_no_store(town):
    sheet, _ = town
    batch = open_batch(sheet, weather=str(sheet.with_name("grid.nc")), by="ward", sizes="0,200,1000")
    done = ran(batch)
    bare = [part for one in done for part in one.daily if part.capacity_l == 0.0]
    for part in bare:
        np.testing.assert_allclose(part.sums["needed_l"], part.sums["asked_l"], rtol=1e-12)
        np.testing.assert_allclose(part.sums["to_drain_l"], part.sums["caught_l"], rtol=1e-12)
    mains = [
        sum(p.sums["needed_l"].sum() for one in done for p in one.daily if p.capacity_l == s) for s in (0, 200, 1000)
    ]
    assert mains[0] > mains[1] > mains[2]


def changed(grid, change):
    other = grid.copy(deep=True)
    change(other)
    return other


def units_of(value):
    def change(grid):
        grid["pr"].attrs.pop("units") if value is None else grid["pr"].attrs.update(units=value)

    return change


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (units_of(None), "pr: units are missing; set the attribute units to mm"),
        (units_of("inches"), 'pr: units are "inches"; multiply by 25.4 and set them to mm'),
        (units_of("furlongs"), 'pr: units are "furlongs"; bring them to mm'),
        (lambda grid: grid["time"].attrs.update(calendar="360_day"), 'time: calendar is "360_day"'),
        (lambda grid: grid["tasmin"].attrs.update(cell_methods="time: mean"), None),
    ],
)
def test_a_grid_that_does_not_serve_is_told_in_one_line(town, tmp_path, change, said):
    path = tmp_path / "bad.nc"
    changed(town[1], change).to_netcdf(path)
    if said is None:  # the name of the variable is what is left to go by
        assert {reading.name for reading in open_cells(str(path)).readings} == {"rain_mm", "tmin_c", "tmax_c"}
        return
    with pytest.raises(WeatherError) as told:
        open_cells(str(path))
    assert said in str(told.value)
    assert "\n" not in str(told.value)


def test_a_day_that_lacks_is_told(town, tmp_path):
    path = tmp_path / "gap.nc"
    town[1].isel(time=[n for n in range(DAYS) if n != 9]).to_netcdf(path)
    with pytest.raises(WeatherError, match="2031-05-11 comes after 2031-05-09; give every day once"):
        open_cells(str(path))


def test_days_may_be_counted_in_hours_from_noon(town):
    hours = town[1].copy()
    hours["time"] = ("time", np.arange(DAYS) * 24.0 + 12.0, {"units": f"hours since {FIRST} 00:00:00"})
    assert str(days_of(hours, "time", "grid")[3].date()) == "2031-05-04"


def test_the_whole_town_as_files(town, scheduler, tmp_path):
    import pandas as pd

    sheet, _ = town
    batch = open_batch(sheet, weather=str(sheet.with_name("grid.nc")), by="ward", partition=5)
    out, series = tmp_path / "town.csv", tmp_path / "daily.parquet"
    done = run_batch(batch, out, series=series, scheduler=scheduler)
    rows, daily = pd.read_csv(out), pd.read_parquet(series)
    assert len(rows) == done.rows == 40
    assert {"latitude_deg", "longitude_deg", "ward"} & set(rows) == {"latitude_deg", "longitude_deg"}
    assert set(rows["group"]) == set(recipe.WARDS)
    both = (rows["mains_l"] + rows["unmet_l"]) @ rows["weight"]
    assert daily["needed_l"].sum() == pytest.approx(both, rel=1e-9)
    by_day = daily.groupby("date")["needed_l"].sum()
    every, *wards = done.together
    assert (every.group, [one.group for one in wards]) == ("", sorted(recipe.WARDS))
    assert every.day.litres == pytest.approx(by_day.max())
    assert every.week.litres == pytest.approx(by_day.rolling(7).sum().max())
    assert every.week.first == by_day.rolling(7).sum().idxmax().date() - pd.Timedelta(days=6)
    caught = daily.groupby("date")["caught_l"].sum().nlargest(10)
    assert every.storm_caught_l == pytest.approx(caught.sum())
    assert set(every.storms) == {day.date() for day in caught.index}


def test_a_store_behind_an_address_is_read_as_one_on_disk(town, tmp_path):
    pytest.importorskip("aiohttp")
    pytest.importorskip("zarr")
    sheet, grid = town
    grid.to_zarr(tmp_path / "grid.zarr", zarr_format=2)
    asked = []

    class Store(SimpleHTTPRequestHandler):
        def __init__(self, *args):
            super().__init__(*args, directory=str(tmp_path))

        def log_message(self, _form, *args):
            asked.append(str(args[0]))

    with ThreadingHTTPServer(("127.0.0.1", 0), Store) as server:
        serving = threading.Thread(target=server.serve_forever)
        serving.start()
        try:
            address = f"http://127.0.0.1:{server.server_port}/grid.zarr"
            there = ran(open_batch(sheet, weather=address, by="ward"))
        finally:
            server.shutdown()
            serving.join()
    here = ran(open_batch(sheet, weather=str(tmp_path / "grid.zarr"), by="ward"))
    assert [row for one in there for row in one.rows] == [row for one in here for row in one.rows]
    assert any("grid.zarr/pr/" in line for line in asked)
    assert not any(row["error"] for one in there for row in one.rows)


def test_a_cell_is_read_once_and_its_readings_are_noted(town, monkeypatch):
    sheet, _ = town
    read = []

    def counted(cells, cell, spot):
        read.append(cell)
        return before(cells, cell, spot)

    before = Grid.weather
    monkeypatch.setattr(Grid, "weather", counted)
    worker._cell_weather.cache_clear()  # noqa: SLF001 - so that others' reading does not count
    batch = open_batch(sheet, weather=str(sheet.with_name("grid.nc")), by="ward", partition=3)
    done = ran(batch)
    assert len(batch.partitions) > 4
    assert sorted(read) == [0, 1, 2, 3]
    assert len({cell for one in done for cell in one.cells}) == 4
    assert all(len(one.cells) == 1 for one in done)


def test_a_town_that_was_stopped_is_gone_on_with_bit_for_bit(town, scheduler, tmp_path):
    sheet, _ = town
    batch = open_batch(sheet, weather=str(sheet.with_name("grid.nc")), by="ward", sizes="0,350", partition=4)
    files = [(tmp_path / f"{kind}.parquet", tmp_path / f"{kind}.csv") for kind in ("whole", "stopped")]
    run_batch(batch, files[0][0], series=files[0][1], scheduler=scheduler)
    left = [3]

    def stop(sites):
        left[0] -= sites > 0
        if not left[0]:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        run_batch(batch, files[1][0], series=files[1][1], scheduler=scheduler, progress=stop)
    assert not files[1][1].exists()
    done = run_batch(batch, files[1][0], series=files[1][1], scheduler=scheduler)
    assert done.kept > 0
    for ours, theirs in zip(*files, strict=True):
        assert ours.read_bytes() == theirs.read_bytes()


def test_another_grid_is_no_going_on(town, scheduler, tmp_path):
    sheet, grid = town
    path = tmp_path / "grid.nc"
    grid.to_netcdf(path)
    out = tmp_path / "results.parquet"

    left = [1]

    def stop(sites):
        left[0] -= sites > 0
        if not left[0]:
            raise KeyboardInterrupt

    asked = {"by": "ward", "partition": 4}
    with pytest.raises(KeyboardInterrupt):
        run_batch(open_batch(sheet, weather=str(path), **asked), out, scheduler=scheduler, progress=stop)
    other = tmp_path / "other.nc"
    wetter = grid.copy(deep=True)
    wetter["pr"] = wetter["pr"] * 1.5
    wetter["pr"].attrs = dict(grid["pr"].attrs)
    wetter.to_netcdf(other)
    with pytest.raises(OutputError, match="was begun with another --weather; go on with that as it was"):
        run_batch(open_batch(sheet, weather=str(other), **asked), out, scheduler=scheduler)


def test_the_compiled_engine_gives_the_same(town, monkeypatch):
    pytest.importorskip("jax")
    sheet, _ = town
    batch = open_batch(sheet, weather=str(sheet.with_name("grid.nc")), by="ward", sizes="0,350")
    partition = batch.partitions[0]
    found = {}
    for engine in ("numpy", "jax"):
        monkeypatch.setenv("WATERBUDGET_ENGINE", engine)
        found[engine] = run_partition(partition)
    for ours, theirs in zip(found["jax"].rows, found["numpy"].rows, strict=True):
        assert ours["days_lasted"] == theirs["days_lasted"]
        for name in ("mains_l", "rain_l", "caught_l", "spilled_l"):
            assert ours[name] == pytest.approx(theirs[name], **CLOSE)
    for ours, theirs in zip(found["jax"].daily, found["numpy"].daily, strict=True):
        for name in DAILY:
            np.testing.assert_allclose(ours.sums[name], theirs.sums[name], rtol=1e-9, atol=1e-8)
