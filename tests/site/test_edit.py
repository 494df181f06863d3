"""Numbers are changed in a site file, and every other letter of it stays."""

import datetime as dt
import tomllib
from collections import Counter

import pytest
from handwritten import CHANGES, SITE
from hypothesis import given, settings
from hypothesis import strategies as st

from waterbudget.site.edit import Change, Gone, NewTable, changed, written
from waterbudget.site.keys import put


def test_only_the_lines_of_the_changes_change():
    before, after = SITE.splitlines(), changed(SITE, CHANGES).splitlines()
    added = ["runoff_coefficient = 0.716", "first_flush_l = 12"]
    assert [line for line in after if line not in before] == [
        added[0],
        "loss_l_per_day = 2.5                # dry below",
        "runoff_coefficient=0.6 # old",
        added[1],
        "flow_l_min = 8.2  # by a bucket",
    ]
    assert after[after.index(added[0]) - 1] == 'covering = "metal sheet"'
    assert [line for line in before if line not in after] == [
        "loss_l_per_day = 0                  # dry below",
        "runoff_coefficient=0.5# old",
        "flow_l_min = 10   # by a bucket",
    ]


def test_a_key_is_added_below_a_list_of_several_lines():
    after = changed(SITE, [Change(("zone", 0, "efficiency"), 0.75)])
    assert after == SITE + "efficiency = 0.75\n"


@pytest.mark.parametrize("text", [SITE, SITE.replace("\n", "\r\n")], ids=["lines", "windows"])
def test_a_key_is_added_to_a_file_without_a_last_line_end(text):
    after = changed(text.rstrip(), [Change(("zone", 0, "efficiency"), 0.75)])
    assert after == changed(text, [Change(("zone", 0, "efficiency"), 0.75)])


def test_windows_line_ends_stay():
    text = SITE.replace("\n", "\r\n")
    after = changed(text, CHANGES)
    assert after.count("\r\n") == after.count("\n") == text.count("\n") + 2
    assert after.replace("\r\n", "\n") == changed(SITE, CHANGES)


LEAK = Change(("tank", 0, "leak"), 5.0)


@pytest.mark.parametrize(
    ("text", "change", "after"),
    [
        # written in one line, with a remark in its column
        ('tank = [{name = "Butt", leak = 25}]  # small\n', LEAK, 'tank = [{name = "Butt", leak = 5}]   # small\n'),
        ("tank = [\n  {leak = 1.25},  # one\n  # none\n]  # all\n", LEAK,
         "tank = [\n  {leak = 5},  # one\n  # none\n]  # all\n"),
        ('tank = [{name = "Butt", start = 3}]\n', LEAK, 'tank = [{name = "Butt", start = 3, leak = 5}]\n'),
        ("pump = {shutoff_m = 10, greatest_l_h = 500}\n", Change(("pump", "greatest_l_h"), 450.0),
         "pump = {shutoff_m = 10, greatest_l_h = 450}\n"),
        # text and lists of several lines that look like heads
        ('[[tank]]\nname = """\n[[tank]]\nleak = 1\n"""\n', LEAK,
         '[[tank]]\nname = """\n[[tank]]\nleak = 1\n"""\nleak = 5\n'),
        ("[[tank]]\nname = '''\n[[tank]]'''\nleak = 1\n", LEAK, "[[tank]]\nname = '''\n[[tank]]'''\nleak = 5\n"),
        ("[[roof]]\npoints = [\n[1, 2],\n[3, 4]]\n[[tank]]\nleak = 1\n", LEAK,
         "[[roof]]\npoints = [\n[1, 2],\n[3, 4]]\n[[tank]]\nleak = 5\n"),
        # heads and keys in quotes, with blanks and remarks
        ("  [[tank]]\n", LEAK, "  [[tank]]\nleak = 5\n"),
        ('[[ "tank" ]]  # [[tank]]\n"leak" = 1\n', LEAK, '[[ "tank" ]]  # [[tank]]\n"leak" = 5\n'),
        ("[[tank]]\n'leak'\t=\t1\t# tabs\n", LEAK, "[[tank]]\n'leak'\t=\t5\t# tabs\n"),
        # dotted keys
        ("pump.shutoff_m = 10  # lift\n\n[[tank]]\n", Change(("pump", "shutoff_m"), 9.5),
         "pump.shutoff_m = 9.5 # lift\n\n[[tank]]\n"),
        ("pump.shutoff_m = 10\r\nsite.name = 'B'\r\n\r\n", Change(("pump", "greatest_l_h"), 400.0),
         "pump.shutoff_m = 10\r\nsite.name = 'B'\r\npump.greatest_l_h = 400\r\n\r\n"),
        # tables below a table, and not beside it
        ("[[zone]]\n[[zone.line]]\nk = 1\n[[bed]]\n[[zone.line]]\nk = 2\n[[zone]]\n[[zone.line]]\n",
         Change(("zone", 0, "line", 1, "k"), 3.0),
         "[[zone]]\n[[zone.line]]\nk = 1\n[[bed]]\n[[zone.line]]\nk = 3\n[[zone]]\n[[zone.line]]\n"),
        ("[[zone]]\nname = 1\n# none\n\n# the pipe\n[[zone.line]]\n", Change(("zone", 0, "flow"), 3.0),
         "[[zone]]\nname = 1\nflow = 3\n# none\n\n# the pipe\n[[zone.line]]\n"),
        ("[[zone]]\n[zone.pipe]\nk = 1\n[[zone]]\n[zone.pipe]\nk = 2\n", Change(("zone", 1, "pipe", "k"), 3.0),
         "[[zone]]\n[zone.pipe]\nk = 1\n[[zone]]\n[zone.pipe]\nk = 3\n"),
        ("[pump]  # ours\n# watts\n", Change(("pump", "shutoff_m"), 9.0), "[pump]  # ours\nshutoff_m = 9\n# watts\n"),
    ],
)  # fmt: skip
def test_whatever_the_form(text, change, after):
    assert changed(text, [change]) == after
    assert changed(f"\ufeff{text}", [change]) == f"\ufeff{after}"


@pytest.mark.parametrize("text", ["[[tank]]\n", "pump = 3\n[battery]\nvolts = 18\n"])
def test_a_table_that_is_not_there_is_not_invented(text):
    assert changed(text, [Change(("pump.", "shutoff_m"), 9.0)]) is None


# ---- Any layout ----------------------------------------------------------------------------------------------------

LINES = st.sampled_from(
    [
        "",
        "# note",
        "   # [[roof]]",
        "area = 3  # [roof]",
        'text = """\n[[roof]]\n# no remark\n"""',
        "points = [\n[1, 2],\n]",
    ]
)
BODY = st.lists(LINES, max_size=4, unique_by=lambda line: line.partition(" ")[0] if "=" in line else object())
HEADS = {
    "roof": ("[[roof]]", " [[ roof ]]  # a", '[["roof"]]'),
    "tank": ("[[tank]]", "[[ tank]] # b"),
    "zone": ("[[zone]]", "[['zone']]"),
}
VALUE = ("k = 1.25    # kept", "k=1", '"k" = 100', "\tk = 1_000\t# kept", None)


@st.composite
def layouts(draw):
    """Lines of a site file with its tables in any order, the place of a number and the row it is in or added at."""
    lines, places = draw(st.lists(LINES.filter(lambda line: "=" not in line), max_size=2)), []
    for kind in draw(st.lists(st.sampled_from(list(HEADS)), min_size=1, max_size=6)):
        number = sum(place[0] == kind for place, _, _ in places if len(place) == 2)
        for place, heads in [
            ((kind, number), HEADS[kind]),
            *(
                ((kind, number, "line", n), ("[[zone.line]]",))
                for n in range(draw(st.integers(0, 2)))
                if kind == "zone"
            ),
        ]:
            value, body = draw(st.sampled_from(VALUE)), draw(BODY)
            keys = [n + 1 for n, line in enumerate(body) if "=" in line]
            at = draw(st.integers(0, len(body))) if value else max(keys, default=0)
            body = [*body[:at], value, *body[at:]] if value else body
            lines.append(draw(st.sampled_from(heads)))
            places.append((place, len(lines) + at, value))
            lines += body
    return lines, *draw(st.sampled_from(places))


@settings(deadline=None)
@given(layouts(), st.floats(0.001, 1e5), st.sampled_from(["\n", "\r\n"]), st.sampled_from(["", "\ufeff"]))
def test_in_any_layout_one_line_changes(layout, number, line_end, mark):
    lines, place, row, value = layout
    before = "\n".join([*lines, ""]).replace("\n", line_end)
    wanted = tomllib.loads(before)
    put(wanted, (*place, "k"), float(written(number)))
    after = changed(mark + before, [Change((*place, "k"), number)])
    assert tomllib.loads(after.removeprefix(mark)) == wanted
    new_line = after.removeprefix(mark).split(line_end)[sum(line.count("\n") + 1 for line in lines[:row])]
    kept = lines[:row], lines[row + (value is not None) :]
    assert after == mark + "\n".join([*kept[0], new_line, *kept[1], ""]).replace("\n", line_end)
    assert new_line.endswith("# kept") == (value or "").endswith("# kept")
    if value and "    #" in value and len(written(number)) <= 6:
        assert new_line.index("#") == value.index("#")


# ---- Numbers -------------------------------------------------------------------------------------------------------


@given(st.floats(1e-6, 1e6))
def test_numbers_are_written_in_three_figures(value):
    text = written(value)
    assert "e" not in text or value < 1e-4
    assert float(text) == pytest.approx(value, rel=0.005)
    assert tomllib.loads(f"a = {text}")["a"] == float(text)


@pytest.mark.parametrize(
    ("value", "text"), [(0.0, "0"), (0.71649, "0.716"), (2.0, "2"), (34.66, "34.7"), (1234.5, "1234"), (0.01, "0.01")]
)
def test_numbers_look_like_those_that_people_write(value, text):
    assert written(value) == text


# ---- Text, and keys that go ----

STATION = """[site]
name = "Brackenfold"

[weather]  # near by
nearest = true  # or a file
fill = true

[[tank]]
name = "Butt"
"""
FILE = [
    Change(("weather", "file"), "weather.csv"),
    Change(("weather", "nearest"), None),
    Change(("weather", "fill"), None),
]


def test_text_is_written_and_keys_are_taken_out():
    assert changed(STATION, FILE) == (
        '[site]\nname = "Brackenfold"\n\n[weather]  # near by\nfile = "weather.csv"\n\n[[tank]]\nname = "Butt"\n'
    )
    assert changed(STATION, [Change(("weather", "station"), None)]) == STATION
    assert [str(change) for change in FILE[:2]] == ['weather.file = "weather.csv"', "take out weather.nearest"]


@pytest.mark.parametrize("end", ["", "\n"])
def test_a_table_that_is_not_there_is_added_below_all_others(end):
    site = f'[site]\nname = "Brackenfold"\n\n[[tank]]\nname = "Butt"{end}'
    changes = [*FILE, Change(("weather", "wind_height_m"), 10.0)]
    assert changed(site, changes) == (
        '[site]\nname = "Brackenfold"\n\n[[tank]]\nname = "Butt"\n\n[weather]\n'
        'file = "weather.csv"\nwind_height_m = 10\n'
    )
    assert changed(site, FILE[1:]) == site


@given(st.text())
def test_any_text_is_written_so_that_it_is_read_back(text):
    after = changed(STATION, [Change(("weather", "file"), text)])
    assert tomllib.loads(after)["weather"]["file"] == text


# ---- Tables that come and go ----

BEDS = """\
# a garden
[site]
name = "Brackenfold"

[[bed]]
name = "Beans"
# deep: true

[[bed.planting]]
crop = "tomato"

# ---- Prices ----
#[prices]

[weather]
file = "w.csv"
"""


def test_a_table_is_added_behind_the_last_of_its_kind_and_before_what_heads_the_next():
    new = NewTable(("bed",), {"name": 'Ki"ng', "area_m2": 3.5, "days": [1, 2], "open": True})
    lines = '\n[[bed]]\nname = "Ki\\"ng"\narea_m2 = 3.5\ndays = [1, 2]\nopen = true\n'
    assert changed(BEDS, [new]) == BEDS.replace("\n# ---- Prices", f"{lines}\n# ---- Prices")
    assert changed(BEDS.replace("\n", "\r\n"), [new]) == changed(BEDS, [new]).replace("\n", "\r\n")


def test_a_table_is_added_inside_another():
    new = NewTable(("bed", 0, "planting"), {"crop": "leek", "planted": dt.date(2031, 5, 1)})
    lines = '\n[[bed.planting]]\ncrop = "leek"\nplanted = 2031-05-01\n'
    assert changed(BEDS, [new]) == BEDS.replace("\n# ---- Prices", f"{lines}\n# ---- Prices")
    assert changed(BEDS, [NewTable(("bed", 1, "planting"), {"crop": "leek"})]) is None


@pytest.mark.parametrize("end", ["", "\n", "\n\n"])
def test_a_table_of_a_new_kind_is_added_at_the_end(end):
    text = f'[site]\nname = "Brackenfold"{end}'
    after = changed(text, [NewTable(("tank",), {"name": "Butt"})])
    assert after == f'[site]\nname = "Brackenfold"\n\n[[tank]]\nname = "Butt"\n{end[1:]}'


def test_a_table_goes_with_those_inside_it_and_what_heads_the_next_stays():
    kept = '# a garden\n[site]\nname = "Brackenfold"\n\n# ---- Prices ----\n#[prices]\n\n[weather]\nfile = "w.csv"\n'
    assert changed(BEDS, [Gone(("bed", 0))]) == kept
    without = BEDS.replace('[[bed.planting]]\ncrop = "tomato"\n\n', "")
    assert changed(BEDS, [Gone(("bed", 0, "planting", 0))]) == without
    assert changed(BEDS, [Gone(("bed", 1))]) is None


def test_a_table_that_stands_in_one_line_with_others_is_left_to_its_owner():
    text = 'tank = [{name = "Butt"}, {name = "Tank"}]\n'
    assert changed(text, [Gone(("tank", 0))]) is None
    assert changed(text, [NewTable(("tank",), {"name": "Third"})]) is None


@settings(deadline=None)
@given(layouts(), st.sampled_from(["\n", "\r\n"]), st.data())
def test_in_any_layout_tables_come_and_go(layout, line_end, data):
    lines, place, *_ = layout
    before = "\n".join([*lines, ""]).replace("\n", line_end)
    there = tomllib.loads(before)
    values = data.draw(st.dictionaries(st.sampled_from(["name", "text", "k"]), st.text() | st.integers(0, 9)))
    added = changed(before, [NewTable(place[:-1], values)])
    wanted = tomllib.loads(before)
    rows = wanted
    for part in place[:-1]:
        rows = rows[part]
    rows.append(values)
    assert tomllib.loads(added) == wanted
    old = before.splitlines()
    assert not Counter(old) - Counter(added.splitlines())
    assert tomllib.loads(changed(added, [Gone((*place[:-1], len(rows) - 1))])) == there
    gone = changed(before, [Gone(place)])
    assert gone is not None
    assert not Counter(gone.splitlines()) - Counter(old)


@pytest.mark.parametrize("line_end", ["\n", "\r\n"])
def test_a_last_table_that_goes_leaves_no_blank_line(line_end):
    before = '[site]\nname = "Brackenfold"\n\n[[tank]]\nname = "Butt"\n'.replace("\n", line_end)
    added = changed(before, [NewTable(("tank",), {"name": "Second"})])
    assert changed(added, [Gone(("tank", 1))]) == before
