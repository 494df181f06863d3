"""waterbudget add: a part more, with every other letter of the site file as it was."""

import shutil
from difflib import unified_diff

import pytest
from click.testing import CliRunner
from readme import ROOT
from terminal import on_a_terminal

import waterbudget
from waterbudget.cli.add import KINDS
from waterbudget.cli.main import main
from waterbudget.site.kinds import PARTS
from waterbudget.site.override import raw_site
from waterbudget.site.parts import Known, replied
from waterbudget.tables.read import find


@pytest.fixture
def site(tmp_path):
    shutil.copytree(ROOT / "data_demo", tmp_path / "demo")
    return tmp_path / "demo" / "site.toml"


def add(kind, site, *said):
    words = [part for one in said for part in ("--with", one)]
    return CliRunner().invoke(main, ["add", kind, str(site), *words])


def lines_of(before, after):
    """Lines that were taken out, and lines that were added."""
    changes = list(unified_diff(before.splitlines(), after.splitlines(), n=0, lineterm=""))[2:]
    return [one[1:] for one in changes if one[0] == "-"], [one[1:] for one in changes if one[0] == "+" and one[1:]]


def test_every_kind_has_its_questions():
    assert set(KINDS) == set(PARTS)


@pytest.mark.parametrize(
    ("kind", "said", "lines"),
    [
        (
            "store",
            ("name=Bean butt", "capacity_l=200", "start_l=50"),
            ["[[tank]]", 'name = "Bean butt"', "capacity_l = 200.0", "start_l = 50.0", 'mains = "none"'],
        ),
        (
            "roof",
            ("tank=shed", "area_m2=3 x 4", "covering=tin"),
            ["[[roof]]", 'name = "Roof"', 'tank = "Shed butt"', "area_m2 = 12.0", 'covering = "metal sheet"'],
        ),
        (
            "zone",
            ("tank=class", "fill_10_l_s=60 to 56 of 100 in 10", "jets=drip"),
            [
                "[[zone]]",
                'name = "Line"',
                'tank = "Class-room tank"',
                "flow_l_min = 6.0",  # by hand: 4 % of 1,500 L in ten minutes
                "minutes = 10.0",
                "every_days = 2",
                'from = "05-15"',
                'to = "09-20"',
                'jets = "drip"',
            ],
        ),
        (
            "bed",
            ("area_m2=3.6", "zone=north", "soil=crumbles", "cover=tunnel", "crop=Beetroots"),
            [
                "[[bed]]",
                'name = "Bed"',
                "area_m2 = 3.6",
                'soil = "sandy loam"',
                'zone = "North line"',
                "et_factor = 0.75",
                "rain_share = 0.0",
                "[[bed.planting]]",
                'crop = "beetroot"',
                'planted = "05-20"',
            ],
        ),
        (
            "hens",
            ("hens=4", "tank=shed"),
            ["[[draw]]", 'name = "Hens"', 'tank = "Shed butt"', "l_per_day = 1.2"],
        ),
    ],
)
def test_a_part_more_and_no_other_letter_changed(site, kind, said, lines):
    before = site.read_text("utf-8")
    result = add(kind, site, *said)
    assert result.exit_code == 0, result.output
    gone, added = lines_of(before, site.read_text("utf-8"))
    assert not gone
    assert sorted(added) == sorted(lines)  # a difference may begin in the middle of two tables that are alike
    assert site.with_name("site.toml.bak").read_text("utf-8") == before
    assert "The old file is kept as" in result.stderr
    assert CliRunner().invoke(main, ["check", str(site)]).exit_code == 0


def test_a_store_that_takes_an_overflow_is_named_by_the_store_above_it(site):
    assert add("store", site, "name=Bean butt", "capacity_l=200", "overflow_of=shed").exit_code == 0
    tanks = {tank.name: tank for tank in waterbudget.load_site(site).tank}
    assert tanks["Shed butt"].overflow_to == "Bean butt"
    assert tanks["Bean butt"].start_l == 100.0


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("store", "Stand it on a level base|stand it on a level base"),
        ("roof", "bitumen felt"),
        ("zone", "Legionella"),
        ("hens", "bird flu"),
    ],
)
def test_what_can_hurt_is_told_where_the_hand_acts(site, kind, words):
    said = {"store": ["capacity_l=200", "mains_hose=yes"], "roof": ["area_m2=4"], "zone": ["fill_10_l_s=60"]}
    result = add(kind, site, *said.get(kind, ["hens=3"]))
    told = " ".join(result.stdout.split())
    assert any(word in told for word in words.split("|"))
    assert ("Never join rain and mains pipes" in told) is (kind == "store")


@pytest.mark.parametrize(
    ("kind", "said", "line"),
    [
        ("bed", ("are_m2=1",), 'bed: "are_m2" is nothing that is asked; did you mean area_m2?'),
        ("bed", (), 'bed: area_m2 is missing; add --with "area_m2=…" (bed area in m²)'),
        ("bed", ("area_m2",), '"area_m2" is no reply; write KEY=VALUE'),
        ("bed", ("area_m2=1", "crop=moonweed"), 'bed: crop: unknown crop "moonweed"'),
        ("bed", ("area_m2=1", "crop=parsnip"), 'bed: crop: no stage lengths are printed for "Parsnip"'),
        ("bed", ("area_m2=1", "planted=31 May"), 'bed: planted: "31 May" is no day; write month and day as 05-20'),
        ("bed", ("area_m2=1", "zone=line"), 'bed: zone: "line" may be "North line" or "South line"'),
        ("bed", ("area_m2=1", "name=bean BED"), 'bed: name: "bean BED" is a bed already; give this one another name'),
        ("roof", ("area_m2=1", "tank=bath"), 'roof: tank: "bath" is no store; '),
        ("store", ("capacity_l=100", "start_l=101"), 'store: start_l: "101" does not fit; write litres from 0 to'),
        ("hens", ("hens=some",), 'hens: hens: "some" does not fit; write how many hens, such as 4'),
    ],
)
def test_what_cannot_be_is_told_in_one_line_and_nothing_is_written(site, kind, said, line):
    before = site.read_bytes()
    result = add(kind, site, *said)
    assert (result.exit_code, result.stdout, result.stderr.count("\n")) == (2, "", 1)
    assert line in result.stderr
    assert site.read_bytes() == before
    assert not site.with_name("site.toml.bak").exists()


def test_replies_can_stand_in_a_file(site, tmp_path):
    replies = tmp_path / "butt.toml"
    replies.write_text('name = "Bean butt"\ncapacity_l = 200\nmains_hose = true\n', "utf-8")
    result = CliRunner().invoke(main, ["add", "store", str(site), "--from", str(replies), "--with", "start_l=7"])
    assert result.exit_code == 0, result.output
    tank = waterbudget.load_site(site).tank[-1]
    assert (tank.name, tank.capacity_l, tank.start_l, tank.mains) == ("Bean butt", 200.0, 7.0, "direct")
    replies.write_text("name = Bean butt\n", "utf-8")
    result = CliRunner().invoke(main, ["add", "store", str(site), "--from", str(replies)])
    assert (result.exit_code, result.stdout, result.stderr.count("\n")) == (2, "", 1)


def test_what_stands_in_brackets_answers_every_question_that_has_it(site):
    garden = raw_site(site)
    told = {"capacity_l": "200", "area_m2": "4", "fill_10_l_s": "60", "hens": "3"}
    for part in PARTS.values():
        known = Known(garden, {})
        for question in part.questions:
            assert question.suggest(known) or question.key in told
            known = question.answered(question.suggest(known) or told[question.key], known)
        assert known == replied(part, garden, {key: words for key, words in told.items() if key in known.replies})


def test_names_that_are_suggested_are_free(site):
    for number in ("", " 2", " 3"):
        assert add("bed", site, "area_m2=1").exit_code == 0
        assert waterbudget.load_site(site).bed[-1].name == f"Bed{number}"


def test_on_a_terminal_each_question_is_asked_until_it_is_answered(site):
    with on_a_terminal("add", "roof", site) as (program, terminal):
        terminal.wait_for("Name of the roof [Roof]: ")
        terminal.type("Green house\n")
        terminal.wait_for("Which store does it fill [Shed butt]: ")
        terminal.type("bath\n")
        assert '"bath" is no store' in terminal.wait_for("Which store does it fill [Shed butt]: ")
        terminal.type("class\n")
        terminal.wait_for("Roof area in m²: ")
        terminal.type("2 x 3\n")
        terminal.wait_for("What lies on it [hard roof]: ")
        terminal.type("greenhouse\n")
        terminal.to_the_end()
    assert program.returncode == 0
    roof = waterbudget.load_site(site).roof[-1]
    assert (roof.name, roof.tank, roof.area_m2, roof.covering) == ("Green house", "Class-room tank", 6.0, "glass")
    assert find(roof.covering, ["glass"], "covering")
