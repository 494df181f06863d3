import csv
import datetime as dt
import shutil

import pytest

from waterbudget.batch.sites import folder_sites, sheet_sites
from waterbudget.errors import InputError, SiteError
from waterbudget.site.keys import columns_of
from waterbudget.site.model import Site
from waterbudget.site.read import load_site


def sites_of(sheet, template=None):
    source, entries = sheet_sites(sheet, template)
    return [source.site_of(entry) for entry in entries]


def fault_of(sheet, template=None):
    source, (entry, *_) = sheet_sites(sheet, template)
    with pytest.raises(SiteError) as error:
        source.site_of(entry)
    return str(error.value)


def refused(sheet, template=None):
    with pytest.raises(InputError) as error:
        sheet_sites(sheet, template)
    return str(error.value)


def test_a_blank_row_is_the_template_under_another_name(garden):
    (site,) = sites_of(garden.sheet(["name", "roof.Shed roof.area_m2"], ["Shed plot", ""]))
    template = load_site(garden.template)
    assert site.site.name == "Shed plot"
    assert site.model_copy(update={"site": template.site}) == template


@pytest.mark.parametrize(
    ("head", "cell", "key"),
    [
        ("tank.No. 2 butt.capacity_l", "500", lambda site: site.tank[1].capacity_l == 500.0),  # a name with a dot
        ("roof.Class-room roof.covering", "clay tile", lambda site: site.roof[0].covering == "clay tile"),
        ("zone.North line.every_days", "3", lambda site: site.zone[0].every_days == 3),
        ("zone.South line.weekdays", '["sat"]', lambda site: site.zone[1].weekdays == ["sat"]),
        ("zone.North line.from", "05-15", lambda site: str(site.zone[0].season_from) == "05-15"),
        ("zone.North line.every_from", "2031-05-15", lambda site: site.zone[0].every_from == dt.date(2031, 5, 15)),
        ("model.adjust_p", "FALSE", lambda site: site.model.adjust_p is False),  # as spreadsheets write it
        ("model.release", "before_spill", lambda site: site.model.release == "before_spill"),  # [model] is not there
        ("site.latitude_deg", "-33.9", lambda site: site.is_south),
        ("weather.gauge", "2031", lambda site: site.weather.gauge == "2031"),  # digits, but a name
        ("bed.Bean bed.planting.1.planted", "05-20", lambda site: str(site.bed[0].planting[0].planted) == "05-20"),
        ("bed.Bean bed.planting.1.kc", "[0.4, 1.0, 0.8]", lambda site: site.bed[0].planting[0].kc == [0.4, 1.0, 0.8]),
    ],
)
def test_a_column_changes_its_key(garden, head, cell, key):
    (site,) = sites_of(garden.sheet(["name", head], ["Plot", cell]))
    assert key(site)


def test_each_key_of_the_template_has_a_column(garden):
    known = columns_of(Site, garden.table)
    for kind in ("roof", "tank", "zone", "draw", "bed"):
        for table in garden.table[kind]:
            for key, value in table.items():
                if key != "planting":
                    column = known[f"{kind}.{table['name']}.{key}"]
                    assert (column.is_text, column.place[-1]) == (isinstance(value, str), key)
    assert known["bed.Potato bed.planting.1.p"].place == ("bed", 1, "planting", 0, "p")
    assert not any(head.endswith((".planting", ".roof")) for head in known)


def test_rows_do_not_change_each_other(garden):
    one, two = sites_of(garden.sheet(["name", "tank.Class-room tank.dead_l"], ["One", "100"], ["Two", ""]))
    assert (one.tank[0].dead_l, two.tank[0].dead_l) == (100.0, 40.0)


@pytest.mark.parametrize(
    ("head", "cell", "said"),
    [
        ("tank.No. 2 butt.capacity_l", "-5", "tank.No. 2 butt.capacity_l: is -5; write a number above 0"),
        ("tank.No. 2 butt.capacity_l", "1,5,0", 'tank.No. 2 butt.capacity_l: is "1,5,0"; write a number'),
        ("tank.No. 2 butt.capacity_l", "nan", "tank.No. 2 butt.capacity_l: is nan; write a number"),
        ("zone.North line.tank", "Class-room tnk", 'zone.North line.tank: is "Class-room tnk", but no tank has'),
        ("zone.North line.plan", "wet", 'zone.North line.plan: is "wet"; write one of "timer", "dry", "refill"'),
        ("bed.Bean bed.planting.1.crop", "beens", "bed.Bean bed.planting.1.crop: is"),
        ("bed.Bean bed.planting.1.kc", '[1, "x", 1]', 'bed.Bean bed.planting.1.kc.2: is "x"; write a number'),
        ("tank.Class-room tank.start_l", "1501", "tank.Class-room tank.start_l: is 1501; write at most capacity_l"),
        ("site.latitude_deg", "91", "site.latitude_deg: is 91; write a number up to 90"),
    ],
)
def test_a_fault_names_row_and_column(garden, head, cell, said):
    fault = fault_of(garden.sheet(["name", head], ["Plot", cell]))
    assert fault.startswith(f"sites.csv: row 2: {said}")
    assert "\n" not in fault


def test_all_faults_of_a_row_are_told(garden):
    heads = ["name", "roof.Shed roof.area_m2", "bed.Bean bed.zone"]
    assert len(fault_of(garden.sheet(heads, ["Plot", "0", "West line"])).splitlines()) == 2


@pytest.mark.parametrize(
    ("row", "said"),
    [
        (["Plot"], "has 1 value under 2 column names; leave a cell blank"),
        (["Plot", "1", "5"], "has 3 values under 2 column names; write decimals with a point"),
        (["", "5"], "name: is blank"),
        (["x" * 81, "5"], 'site.name: is "xxxx'),
    ],
)
def test_a_row_at_fault_is_no_end_of_the_run(garden, row, said):
    assert fault_of(garden.sheet(["name", "roof.Shed roof.area_m2"], row)).startswith(f"sites.csv: row 2: {said}")


def test_two_rows_of_one_name_are_told_apart(garden):
    source, entries = sheet_sites(garden.sheet(["name"], ["Plot"], [""], ["Plot"]), None)
    assert source.site_of(entries[0]).site.name == "Plot"
    with pytest.raises(SiteError, match=r'^sites\.csv: row 4: name: is "Plot", like that of row 2; give each its own'):
        source.site_of(entries[-1])


@pytest.mark.parametrize(
    ("heads", "said"),
    [
        (["name", "tank.No. 2 but.capacity_l"], 'row 1: "tank.No. 2 but.capacity_l" is no key of'),
        (["name", "tank.No. 2 but.capacity_l"], 'did you mean "tank.No. 2 butt.capacity_l"?'),
        (["name", "roof area"], "is no key of"),
        (["name", "zzz"], "such keys look like"),
        (["Name"], 'did you mean "name"?'),
        (["roof.Shed roof.area_m2"], "row 1: the column name is missing; give each site a name"),
        (["name", "roof.Shed roof.area_m2", "roof.Shed roof.area_m2"], "stands there 2 times; keep one"),
        (["name", ""], "row 1: column 2 has no head"),
    ],
)
def test_a_header_at_fault_ends_the_run(garden, heads, said):
    assert said in refused(garden.sheet(heads, ["5"] * len(heads)))


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "is empty"),
        (b"\n\n", "is empty"),
        (b"name\n", "holds no sites"),
        ("name\nPlot\n".encode("utf-16-le"), "is no text; save the sheet as CSV in UTF-8"),
        (b'name\n"Plot\n', "row 2: is no CSV"),
    ],
)
def test_a_file_that_is_no_sheet_ends_the_run(garden, content, said):
    path = garden.folder / "sites.csv"
    path.write_bytes(content)
    assert refused(path).startswith(f"{path}: {said}")


def test_a_sheet_needs_its_template(garden):
    sheet = garden.sheet(["name"], ["Plot"])
    elsewhere = garden.template.rename(garden.folder / "other.toml")
    assert refused(sheet).endswith("name the site file that the rows change, with --template")
    assert refused(garden.folder / "none.csv").startswith(f"{garden.folder / 'none.csv'}: there is no such file")
    assert sites_of(sheet, elsewhere)[0].site.name == "Plot"
    elsewhere.write_text(elsewhere.read_text("utf-8").replace("capacity_l = 1500", "capacity_l = 0"), "utf-8")
    assert "tank[1].capacity_l: is 0" in refused(sheet, elsewhere)


def test_a_byte_order_mark_and_blank_rows_do_no_harm(garden):
    path = garden.folder / "sites.csv"
    path.write_bytes("\ufeffname\n\nPlot\n,\n".encode())
    assert [site.site.name for site in sites_of(path)] == ["Plot"]


@pytest.mark.parametrize(
    ("cell", "said"),
    [
        ("No. 2 but", 'size_tank: "No. 2 but" is no tank; did you mean "No. 2 butt"?'),
        ("Zeppelin", 'size_tank: "Zeppelin" is no tank; there is "Class-room tank", "No. 2 butt"'),
        ("", 'size_tank: is missing; write which tank the sizes are for: "Class-room tank", "No. 2 butt"'),
    ],
)
def test_which_tank_the_sizes_are_for(garden, cell, said):
    source, (bad, good) = sheet_sites(garden.sheet(["name", "size_tank"], ["A", cell], ["B", "No. 2 butt"]), None)
    assert source.size_tank_of(good, source.site_of(good)) == 1
    with pytest.raises(SiteError) as error:
        source.size_tank_of(bad, source.site_of(bad))
    assert str(error.value) == f"sites.csv: row 2: {said}"


def test_a_folder_is_searched_to_its_depth(garden):
    folder = garden.folder / "plots"
    (folder / "north").mkdir(parents=True)
    shutil.copy(garden.template, folder / "b.toml")
    shutil.copy(garden.template, folder / "north" / "a.toml")
    (folder / "notes.txt").write_text("mine")
    (folder / "folder.toml").mkdir()
    source, entries = folder_sites(folder)
    assert [entry.name for entry in entries] == ["b.toml", "north/a.toml"]
    site = source.site_of(entries[1])
    assert source.folder_of(entries[1]) == folder / "north"
    with pytest.raises(SiteError, match=r"a\.toml: has 2 tanks, and sizes are tried of one"):
        source.size_tank_of(entries[1], site)
    assert source.size_tank_of(entries[1], site.model_copy(update={"tank": site.tank[:1]})) == 0


def test_a_folder_without_sites(tmp_path):
    with pytest.raises(InputError, match="holds no site files"):
        folder_sites(tmp_path)


def test_the_demo_sheet_fits_the_demo_garden(request):
    demo = request.config.rootpath / "data_demo" / "sites.csv"
    with demo.open(encoding="utf-8", newline="") as handle:
        rows = list(csv.DictReader(handle))
    sites = sites_of(demo)
    assert [site.site.name for site in sites] == [row["name"] for row in rows]
    assert len({repr(site.model_copy(update={"site": None})) for site in sites}) == len(sites)
