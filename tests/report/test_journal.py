"""The screens of log and fit say what was written down and what it tells, and the picture draws it."""

import datetime as dt

import pytest
from journal.invented import DEMO, journal

from waterbudget.errors import InputError
from waterbudget.example import site_path
from waterbudget.journal.book import read_journal
from waterbudget.journal.entries import Said
from waterbudget.report.journal import (
    Asked,
    answer_log,
    journal_screen,
    own_site,
)
from waterbudget.report.odd import oddities
from waterbudget.report.words import WIDTH
from waterbudget.simulate.opened import open_site
from waterbudget.simulate.run import run
from waterbudget.site.read import load_site

# ---- The journal ----


@pytest.fixture
def garden(tmp_path):
    """The class-room side and its journal of four lines, in a folder of its own."""
    (tmp_path / "site.toml").write_bytes((DEMO / "site.toml").read_bytes())
    lines = [
        (dt.date(2031, 6, 5), "level", "Class-room tank", 38, "cm", "by Ash"),
        (dt.date(2031, 6, 7), "level", "Class-room tank", 750, "L"),
        (dt.date(2031, 6, 1), "gauge", "", 6.5, "mm"),
        (dt.date(2031, 6, 8), "undo", "", 2, "line"),
    ]
    (tmp_path / "journal.csv").write_text(journal(lines), "utf-8")
    return tmp_path


def screen_of(folder):
    return journal_screen(load_site(folder / "site.toml"), read_journal(folder / "journal.csv")).splitlines()


def test_the_journal_is_shown_newest_last_with_depths_and_litres(garden):
    """38 cm of a cylinder of 1.3 m is pi/4 x 1.3 x 1.3 x 380 = 504.4 L, and 750 L of it are 56.5 cm deep."""
    head, _, columns, *rows = screen_of(garden)
    assert head.endswith("journal.csv: 4 lines, 2 of them count")
    assert columns.split() == ["Line", "day", "what", "of", "amount", "depth", "remark"]
    assert [" ".join(row.split()) for row in rows] == [
        "3 2031-06-01 rain in the gauge 6.5 mm",
        "1 2031-06-05 level Class-room tank 504 L 38.0 cm by Ash",
        "2 2031-06-07 level Class-room tank 750 L 56.5 cm undone by line 4",
        "4 2031-06-08 undoes line 2",
    ]


def test_a_level_of_a_tank_that_is_gone_is_shown_without_litres(garden):
    path = garden / "site.toml"
    path.write_text(path.read_text("utf-8").replace("Class-room tank", "Cistern"), "utf-8")
    assert [" ".join(row.split()) for row in screen_of(garden)[4:6]] == [
        "1 2031-06-05 level Class-room tank – by Ash",
        "2 2031-06-07 level Class-room tank – undone by line 4",
    ]


def test_long_remarks_are_cut_at_the_screen_s_edge(garden):
    long = (dt.date(2031, 6, 9), "gauge", "", 1, "mm", "x" * 200)
    (garden / "journal.csv").write_text(journal([long]))
    assert max(map(len, screen_of(garden)[1:])) == WIDTH


def test_an_empty_journal_says_how_to_begin(garden):
    (garden / "journal.csv").unlink()
    assert screen_of(garden) == [f"{garden / 'journal.csv'} holds no line yet. What to log: waterbudget log"]


@pytest.mark.parametrize(
    ("said", "asked", "line"),
    [
        (Said(gauge_mm=1.0), Asked(undo=True), "--undo: stands alone"),
        (Said(), Asked(show=True, number=3), "--line: goes with --undo"),
        (Said(note="a"), Asked(), "--note and --on: go with a reading"),
        (Said(day=dt.date(2031, 6, 1)), Asked(show=True), "--note and --on: go with a reading"),
    ],
)
def test_what_does_not_go_together_is_refused(garden, said, asked, line):
    with pytest.raises(InputError, match=line):
        answer_log(garden / "site.toml", said, asked)


def test_without_anything_it_says_what_to_log_in_the_garden_s_own_words(garden):
    text, notes = answer_log(garden / "site.toml", Said(), Asked())
    assert "--tank 'Class-room tank=38cm'" in text
    assert "--ran 'North line=10'" in text
    assert notes == ()
    text, _ = answer_log(site_path(), Said(), Asked())  # its tanks have no shape
    assert "--tank 'Class-room tank=750L'" in text
    assert all(len(line) <= WIDTH or line.startswith("    waterbudget") for line in text.splitlines())


def test_without_a_site_it_speaks_of_the_example(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    text, (note,) = answer_log(None, Said(), Asked())
    assert "waterbudget log --gauge 6.5" in text
    assert "built-in example" in note
    with pytest.raises(InputError, match=r"site\.toml: there is none here; name your site file, or start one"):
        own_site(None)
    assert not list(tmp_path.iterdir())


# ---- A shape that does not fit its tank ----


def odd(tmp_path, text):
    path = tmp_path / "site.toml"
    path.write_text(text, "utf-8")
    (tmp_path / "weather.csv").write_bytes((DEMO.parent / "weather.csv").read_bytes())
    site = open_site(path)
    return [line for line in oddities(run(site.site, site.weather)) if "shape" in line or "inner_" in line]


@pytest.mark.parametrize(
    ("capacity_l", "is_odd"), [(1500, False), (1365, False), (1360, True), (1660, False), (1670, True)]
)
def test_a_shape_that_holds_another_volume_looks_odd(tmp_path, capacity_l, is_odd):
    """The cylinder holds pi/4 x 1.3 x 1.3 x 1.13 = 1.4999 m3."""
    text = (DEMO / "site.toml").read_text("utf-8").replace("../weather.csv", "weather.csv")
    said = odd(tmp_path, text.replace("capacity_l = 1500", f"capacity_l = {capacity_l}"))
    assert len(said) == is_odd
    for line in said:
        assert line.startswith(
            f"Class-room tank holds {round(capacity_l, -1):,} L by capacity_l and 1,500 L by its shape"
        )


def test_sizes_without_effect_look_odd(tmp_path):
    text = (DEMO / "site.toml").read_text("utf-8").replace("../weather.csv", "weather.csv")
    assert odd(tmp_path, text) == []
    assert odd(tmp_path, text.replace('shape = "upright-cylinder"', "")) == [
        "Class-room tank has inner_diameter_m and inner_height_m, which have no effect without shape."
    ]
    assert odd(tmp_path, text.replace("inner_height_m", "inner_width_m = 2\ninner_height_m")) == [
        'Class-room tank has inner_width_m, which has no effect beside shape = "upright-cylinder".'
    ]
