"""Numbers are changed in a site file, and every other letter of it stays."""

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from waterbudget.errors import SiteError
from waterbudget.example import site_path
from waterbudget.journal.keys import Change, changed, write_changes, written
from waterbudget.site.read import load_site

SITE = """\
# a garden
[site]
name = "Brackenfold"

[[roof]]
name = "Roof"  # of the shed
tank = "Butt"
area_m2 = 8
covering = "metal sheet"
# runoff_coefficient = 0.9

# ---- Stores ----
[[tank]]
name = "Butt"
capacity_l = 350
start_l = 260
loss_l_per_day = 0                  # dry below

# the lean-to
[[ roof ]]
name = "[[tank]]"
tank = "Butt"
area_m2 = 3
runoff_coefficient=0.5# old

[[zone]]
name = "Line"
tank = "Butt"
flow_l_min = 10   # by a bucket
minutes = 5
weekdays = [
  "mon",
  "thu",
]
"""
CHANGES = [
    Change("roof", 0, "runoff_coefficient", 0.71649),
    Change("roof", 1, "runoff_coefficient", 0.6),
    Change("roof", 1, "first_flush_l", 12.0),
    Change("tank", 0, "loss_l_per_day", 2.5),
    Change("zone", 0, "flow_l_min", 8.2),
]


def test_only_the_lines_of_the_changes_change():
    before, after = SITE.splitlines(), changed(SITE, CHANGES).splitlines()
    added = ["runoff_coefficient = 0.716", "first_flush_l = 12"]
    assert [line for line in after if line not in before] == [
        added[0],
        "loss_l_per_day = 2.5                # dry below",
        "runoff_coefficient=0.6# old".replace("# old", " # old"),
        added[1],
        "flow_l_min = 8.2  # by a bucket",
    ]
    assert after[after.index(added[0]) - 1] == 'covering = "metal sheet"'
    assert [line for line in before if line not in after] == [
        "loss_l_per_day = 0                  # dry below",
        "runoff_coefficient=0.5# old",
        "flow_l_min = 10   # by a bucket",
    ]


def test_a_key_is_added_above_a_list_of_several_lines():
    after = changed(SITE, [Change("zone", 0, "efficiency", 0.75)])
    assert "minutes = 5\nefficiency = 0.75\nweekdays = [\n" in after


def test_windows_line_ends_stay():
    text = SITE.replace("\n", "\r\n")
    after = changed(text, CHANGES)
    assert after.count("\r\n") == after.count("\n") == text.count("\n") + 2
    assert after.replace("\r\n", "\n") == changed(SITE, CHANGES)


@pytest.mark.parametrize(
    "text",
    [
        'roof = [{name = "Roof", tank = "Butt", area_m2 = 8}]\n',
        '[[tank]]\nname = """\n[[roof]]\n"""\n[[roof]]\nname = "Roof"\n',
        "[[roof]]\nfirst_flush_l = [\n1, 2]\n",
    ],
)
def test_unusual_forms_are_left_alone(text):
    assert changed(text, [Change("roof", 0, "first_flush_l", 5.0)]) is None


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


def test_the_file_is_written_and_its_old_self_kept(tmp_path):
    path = tmp_path / "site.toml"
    path.write_bytes(b"\xef\xbb\xbf" + SITE.encode())
    for copy in ("site.toml.bak", "site.toml.bak2", "site.toml.bak3"):
        before = path.read_bytes()
        assert write_changes(path, load_site(path), CHANGES) == tmp_path / copy
        assert (tmp_path / copy).read_bytes() == before
    site = load_site(path)
    assert [roof.runoff for roof in site.roof] == [0.716, 0.6]
    assert (site.tank[0].loss_l_per_day, site.zone[0].flow_l_min) == (2.5, 8.2)
    assert path.read_bytes().startswith(b"\xef\xbb\xbf# a garden")


def test_the_example_is_changed_where_it_should_be(tmp_path):
    path = tmp_path / "site.toml"
    path.write_bytes(site_path().read_bytes())
    write_changes(
        path, load_site(path), [Change("roof", 1, "first_flush_l", 4.0), Change("zone", 1, "flow_l_min", 5.5)]
    )
    site = load_site(path)
    assert (site.roof[1].first_flush_l, site.zone[1].flow_l_min) == (4.0, 5.5)
    assert len(path.read_text("utf-8").splitlines()) == len(site_path().read_text("utf-8").splitlines()) + 1


def test_a_file_that_became_another_is_left_alone(tmp_path):
    path = tmp_path / "site.toml"
    path.write_text(SITE)
    site = load_site(path)
    path.write_text(SITE.replace("area_m2 = 8", "area_m2 = 9"))
    with pytest.raises(SiteError, match="was changed in the meantime"):
        write_changes(path, site, CHANGES)
    assert [entry.name for entry in tmp_path.iterdir()] == ["site.toml"]


def test_what_cannot_be_written_is_told_for_doing_by_hand(tmp_path):
    path = tmp_path / "site.toml"
    path.write_text('tank = [{name = "Butt", capacity_l = 9, start_l = 1}]\n[site]\nname = "Brackenfold"\n')
    with pytest.raises(SiteError, match=r"not written.* change by hand: tank\[1\]\.loss_l_per_day = 2\.5"):
        write_changes(path, load_site(path), CHANGES[3:4])
    assert [entry.name for entry in tmp_path.iterdir()] == ["site.toml"]
