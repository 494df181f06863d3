"""Every key of the site file has a box, and a form that nobody touched changes nothing."""

import datetime as dt
import re
import tomllib

import pytest
from places import all_places
from readme import ROOT

from waterbudget.site.boxes import (
    added,
    boxes,
    filled,
    head_of,
    inner_heads,
    needed_inside,
    table_at,
    words_of,
)
from waterbudget.site.edit import Change, Gone, NewTable, changed
from waterbudget.site.read import TABLES, site_of

DEMO = (ROOT / "data_demo" / "site.toml").read_text("utf-8")
SITES = [DEMO, (ROOT / "data_demo" / "hose" / "site.toml").read_text("utf-8")]
UNIT = re.compile(r"_(mm_m|l_min|l_per_day|l_h|m_s|m2|mm|m|l|cm|c|pct|minutes|w|deg)$")
TOLD_BY = {  # how a label tells a unit that it does not write as the key does
    "l_min": "L a minute",
    "l_per_day": "a day",
    "l_h": "L an hour",
    "mm_m": "mm a metre",
    "m2": "m²",
    "m_s": "m/s",
    "c": "°C",
    "pct": "%",
    "minutes": "minutes",
    "w": "watts",
    "l": "L",
    "deg": "degrees",
}


def told_of(garden, place):
    """The words that an untouched form sends."""
    table = table_at(garden, place) or {}
    return {box.key: words_of(table.get(box.key)) for box in boxes(head_of(place), garden)}


@pytest.mark.parametrize("head", [head for head in TABLES if head])
def test_every_key_has_a_box_or_a_page_of_its_own(head):
    keys = {field.alias or name for name, field in TABLES[head].model_fields.items()}
    there = {box.key for box in boxes(head, tomllib.loads(DEMO))}
    pages = {inner.rpartition(".")[2] for inner in inner_heads(head)}
    assert there | pages == keys
    assert not there & pages


def test_every_table_of_a_garden_is_reached_from_another_or_from_the_garden():
    assert {head for head in TABLES if head and "." not in head} == set(inner_heads("")) | set()
    reached = {""}
    for _ in range(4):
        reached |= {inner for head in reached for inner in inner_heads(head)}
    assert reached == set(TABLES)


@pytest.mark.parametrize("text", SITES, ids=["garden", "hose"])
def test_a_form_that_nobody_touched_changes_nothing(text):
    garden = tomllib.loads(text)
    places = list(all_places(garden))
    assert len(places) > 20
    for place in places:
        assert filled(garden, place, told_of(garden, place)) == ([], {})


@pytest.mark.parametrize("head", [head for head in TABLES if head])
def test_units_stand_in_the_labels(head):
    for box in boxes(head, tomllib.loads(DEMO)):
        unit = UNIT.search(box.key)
        if unit is not None and box.kind in {"number", "numbers"}:
            told = TOLD_BY.get(unit[1], unit[1]).lower()
            assert re.search(rf"(?<!\w){re.escape(told)}(?!\w)", box.label.lower()), box


NEW_WORDS = [  # place, key, words, what the file then has
    (("tank", 0), "capacity_l", "1600", 1600),
    (("tank", 0), "capacity_l", "1234.56", 1234.56),
    (("tank", 1), "mains", "none", "none"),
    (("tank", 0), "overflow_to", "", None),
    (("site",), "elevation_m", "91.25", 91.25),
    (("zone", 0), "weekdays", "mon\nthu", ["mon", "thu"]),
    (("zone", 0), "every_from", "2031-05-15", dt.date(2031, 5, 15)),
    (("zone", 0), "from", "05-20", "05-20"),
    (("model",), "adjust_p", "no", False),
    (("bed", 1, "planting", 0), "days", "20 30 60 20", [20, 30, 60, 20]),
    (("bed", 1, "planting", 0), "planted", "2031-05-20", dt.date(2031, 5, 20)),
    (("weather",), "gauge", "gauge.csv", "gauge.csv"),
    (("effort",), "by_can", "Class cans\nSouth line", ["Class cans", "South line"]),
    (("pump",), "points", "0 14\n400 11", [[0, 14], [400, 11]]),
]


@pytest.mark.parametrize(("place", "key", "words", "value"), NEW_WORDS)
def test_words_become_the_value_and_no_other_line_changes(place, key, words, value):
    garden = tomllib.loads(DEMO)
    wanted = filled(garden, place, told_of(garden, place) | {key: words})
    assert wanted.faults == {}
    after = changed(DEMO, wanted.edits)
    table = table_at(tomllib.loads(after), place)
    assert table.get(key) == value
    assert type(table.get(key)) is type(value)
    lines, left = DEMO.splitlines(), after.splitlines()
    assert sum(line not in left for line in lines) <= 1


def test_a_key_that_is_not_told_stays():
    garden = tomllib.loads(DEMO)
    assert filled(garden, ("tank", 0), {"start_l": "800"}).edits == [Change(("tank", 0, "start_l"), 800, None)]


def test_a_new_name_goes_along_to_whoever_names_it():
    garden = tomllib.loads(DEMO)
    text = changed(DEMO, filled(garden, ("zone", 0), {"name": "Long line"}).edits)
    after = tomllib.loads(text)
    assert site_of(after)[1] == []
    assert after["effort"]["by_hose"] == ["Long line"]
    assert "North line" not in re.sub("#.*", "", text)
    text = changed(DEMO, filled(garden, ("tank", 1), {"name": "Bean butt"}).edits)
    assert site_of(tomllib.loads(text))[1] == []


def test_an_optional_table_comes_and_goes_with_its_boxes():
    garden = tomllib.loads(DEMO)
    four = {"july_high_c": "21", "july_low_c": "12", "january_high_c": "7", "january_low_c": "1"}
    text = changed(DEMO, filled(garden, ("usual",), four).edits)
    with_usual = tomllib.loads(text)
    assert with_usual["usual"] == {key: int(words) for key, words in four.items()}
    gone = filled(with_usual, ("usual",), dict.fromkeys(four, ""))
    assert gone.edits == [Gone(("usual",))]
    assert tomllib.loads(changed(text, gone.edits)) == garden


def test_a_pipe_comes_with_its_first_jets():
    garden = tomllib.loads(DEMO)
    assert needed_inside("zone.line") == ["zone.line.jets"]
    told = {"ring": "no", "bore_mm": "13", "length_m": "20", "rise_m": "0.4"}
    told |= {"jets.bed": "Potato bed", "jets.count": "20", "jets.k_l_h": "3"}
    wanted = added(garden, ("zone", 1, "line"), told)
    assert wanted.faults == {}
    assert isinstance(wanted.edits[0], NewTable)
    after = tomllib.loads(changed(DEMO, wanted.edits))
    assert after["zone"][1]["line"][0]["jets"] == [{"bed": "Potato bed", "count": 20, "k_l_h": 3}]
    jets = {"bed": "Courgette bed", "count": "5", "k_l_h": "3"}
    more = added(after, ("zone", 1, "line", 0, "jets"), jets)
    assert len(tomllib.loads(changed(changed(DEMO, wanted.edits), more.edits))["zone"][1]["line"][0]["jets"]) == 2


@pytest.mark.parametrize(
    ("place", "key", "words", "said"),
    [
        (("tank", 0), "capacity_l", "", "it cannot be left empty"),
        (("tank", 0), "capacity_l", "many", '"many" is no number; write a number, such as 12 or 0.5'),
        (("tank", 0), "capacity_l", "nan", '"nan" is no number; write a number, such as 12 or 0.5'),
        (("model",), "adjust_p", "perhaps", '"perhaps" is neither; write yes or no'),
        *(
            (
                ("weather",),
                "file",
                words,
                "write the name of a table that lies beside the garden's file, such as weather.csv",
            )
            for words in ("/etc/passwd", "../weather.csv", "a\\b.csv", "C:x.csv", "site.toml", "journal.csv", ".csv")
        ),
    ],
)
def test_words_that_are_no_value(place, key, words, said):
    assert filled(tomllib.loads(DEMO), place, {key: words}) == ([], {key: said})
