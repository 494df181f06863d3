"""What is laid out as columns is what each row gives on its own, for every key that may be; faults are told alike."""

import pytest

import waterbudget
from waterbudget.batch import partition as worker
from waterbudget.batch.columns import SIZES
from waterbudget.batch.outcome import NUMBERS
from waterbudget.batch.partition import Partition, run_partition
from waterbudget.batch.sites import sheet_sites

MORE = """
[[inflow]]
name = "Spring"
tank = "No. 2 butt"
l_per_day = 4

[[transfer]]
name = "Carry"
from_tank = "Class-room tank"
to_tank = "No. 2 butt"
l_per_day = 30
below_l = 200
"""
ITEM = {
    "roof": "Shed roof",
    "tank": "No. 2 butt",
    "inflow": "Spring",
    "transfer": "Carry",
    "zone": "North line",
    "draw": "Cans",
    "bed": "Potato bed",
}
VALUES = {  # of each key some that differ
    "area_m2": (3, 8.5, 21),
    "runoff_coefficient": (0.5, 0.75, 1),
    "loss_mm": (0, 0.5, 2),
    "first_flush_l": (0, 5, 12.5),
    "filter_efficiency": (0.6, 0.9, 1),
    "capacity_l": (300, 350.5, 900),
    "dead_l": (0, 20, 45),
    "start_l": (20, 120, 350),
    "loss_l_per_day": (0, 1.5, 8),
    "float_below_l": (15, 60, 100),
    "float_to_l": (60, 120, 300),
    "l_per_day": (0, 9.5, 40),
    "keep_l": (0, 300, 1200),
    "below_l": (80, 200, 330),
    "flow_l_min": (2, 9.5, 30),
    "minutes": (0, 8, 25),
    "hot_minutes": (0, 12, 40),
    "hot_above_c": (14, 25, 31),
    "dry_at": (0.1, 0.8, 1.4),
    "leave_mm": (0, 3, 12),
    "efficiency": (0.5, 0.85, 1),
    "et_factor": (0.4, 1, 1.6),
    "start_depleted": (0, 0.4, 1),
    "rain_share": (0, 0.5, 1),
    "latitude_deg": (-33, 51.2, 51.4),
    "longitude_deg": (-3, 0, 7),
}
KEYS = [(kind, key) for kind, keys in SIZES.items() for key in sorted(keys)]


@pytest.fixture
def template(garden):
    plans = garden.template.read_text("utf-8").replace("minutes = 8\n", "minutes = 8\nefficiency = 0.8\n")
    garden.template.write_text(plans + MORE, "utf-8")
    return garden


@pytest.fixture
def whole(monkeypatch):
    """How many rows went through the whole model."""
    checked = []

    def counted(number, partition, ran):
        checked.append(number)
        return before(number, partition, ran)

    before = worker._ready  # noqa: SLF001 - it is counted
    monkeypatch.setattr(worker, "_ready", counted)
    return checked


def head_of(kind, key):
    return f"{kind}.{key}" if kind == "site" else f"{kind}.{ITEM[kind]}.{key}"


def ran(sheet):
    source, entries = sheet_sites(sheet, None)
    return run_partition(Partition(source, entries, None)).rows


def alone(sheet):
    """Each row by the whole model and a run of its own."""
    source, entries = sheet_sites(sheet, None)
    for entry in entries:
        site = source.site_of(entry)
        yield waterbudget.run(site, waterbudget.read_weather(source.folder / site.weather.file, site)).summary


@pytest.mark.parametrize(("kind", "key"), KEYS, ids=[head_of(*key) for key in KEYS])
def test_rows_of_a_key_are_their_own_runs(template, whole, kind, key):
    values = VALUES[key]
    rows = [[f"{kind} {value}", value] for value in (*values, "")]
    sheet = template.sheet(["name", head_of(kind, key)], *rows)
    found = ran(sheet)
    layouts = len({str(value).startswith("-") for value in values}) if key == "latitude_deg" else 1
    given = key in template.template.read_text(
        "utf-8"
    )  # a blank cell without a value in the template is another layout
    assert len(whole) <= layouts + (not given) + 1
    for row, summary in zip(found, alone(sheet), strict=True):
        assert row["error"] == ""
        for name in NUMBERS:
            assert row[name] == (
                pytest.approx(summary[name], rel=1e-12, abs=1e-12)
                if isinstance(summary[name], float)
                else summary[name]
            ), name


@pytest.mark.parametrize(("kind", "key"), KEYS, ids=[head_of(*key) for key in KEYS])
@pytest.mark.parametrize("written", ["-1e99", "x", "1e9999", "nan", "1_000_000_000_000"])
def test_a_fault_among_columns_is_told_as_by_the_whole_model(template, kind, key, written):
    good = VALUES[key][1]
    head = head_of(kind, key)
    among = template.sheet(["name", head], ["A", good], ["Bad", written], ["B", good])
    (_, bad, _) = ran(among)
    source, entries = sheet_sites(among, None)
    with pytest.raises(waterbudget.errors.SiteError) as told:
        source.site_of(entries[1])
    assert bad["error"] == " | ".join(str(told.value).splitlines())
    assert f"row 3: {head}" in bad["error"]


def test_what_holds_across_the_keys_of_a_tank_holds_in_columns(template):
    head = "tank.No. 2 butt."
    sheet = template.sheet(
        ["name", f"{head}capacity_l", f"{head}start_l", f"{head}float_below_l", f"{head}float_to_l"],
        ["Fine", 400, 100, 60, 100],
        ["Overfull", 400, 401, 60, 100],
        ["Upside down", 400, 100, 100, 60],
        ["Too high", 90, 80, 60, 100],
        ["Fine too", 500, 500, 100, 100],
    )
    errors = {row["name"]: row["error"] for row in ran(sheet)}
    assert [name for name, error in errors.items() if not error] == ["Fine", "Fine too"]
    assert "start_l: is 401; write at most capacity_l, 400" in errors["Overfull"]
    assert "float_to_l: is 60; write at least float_below_l, 100" in errors["Upside down"]
    assert "float_to_l: is 100; write at most capacity_l, 90" in errors["Too high"]


def test_numbers_that_are_written_unusually_still_count(template, whole):
    head = "tank.Class-room tank.capacity_l"
    sheet = template.sheet(["name", head], ["A", "1500"], ["B", "1.6e3"], ["C", "+1700.0"], ["D", "1_800"])
    capacities = [row["caught_l"] - row["spilled_l"] for row in ran(sheet)]
    assert len(whole) == 4
    assert len(set(capacities)) == 4
