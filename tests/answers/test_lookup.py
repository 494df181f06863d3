"""The look-ups say what to write and the numbers that it stands for."""

import re
import tomllib
from functools import cache

import pytest

from waterbudget.answers import crops, roofs, soils
from waterbudget.errors import InputError
from waterbudget.render.text import text
from waterbudget.site.model import Bed, Planting, Roof
from waterbudget.tables.coverings import find_covering, search_coverings
from waterbudget.tables.crops import find_crop, search_crops
from waterbudget.tables.soils import find_soil, search_soils


def screen_of(question):
    return cache(lambda word=None: text(question.answer(word)))


crops_screen, soils_screen, roofs_screen = map(screen_of, (crops, soils, roofs))
CROPS = {crop.asked_as or crop.name: crop for crop in search_crops()}
SCREENS = {
    crops_screen: [None, "legumes", "a", *CROPS],
    soils_screen: [None, "coarse", *(soil.name for soil in search_soils())],
    roofs_screen: [None, "roof", *(covering.name for covering in search_coverings())],
}
OWN_DAYS = "[.., .., .., ..]"


def what_to_write(screen):
    """The lines to copy, with days put in where they are asked for."""
    first, *lines = screen.splitlines()
    assert first.startswith("Write in your site file, under the ")
    copied = "\n".join(lines[: lines.index("")])
    return tomllib.loads(copied.replace(OWN_DAYS, "[20, 30, 40, 10]"))


def rows_of(screen, start):
    return [line for line in screen.splitlines() if line.lstrip().startswith(start)]


def row_of(screen, start):
    (row,) = rows_of(screen, start)
    return row


def joined(screen):
    return " ".join(screen.split())


@pytest.mark.parametrize("screen", SCREENS)
def test_no_line_is_wider_than_100_columns(screen):
    for word in SCREENS[screen]:
        lines = screen(word).splitlines()
        assert max(len(line) for line in lines) <= 100, word
        assert all(line == line.rstrip() for line in lines)


@pytest.mark.parametrize("screen", SCREENS)
def test_sources_stand_at_the_foot_in_one_line(screen):
    for word in SCREENS[screen]:
        assert re.match("Sources?: ", screen(word).splitlines()[-1])


def test_the_sources_named_are_those_of_the_tables():
    for crop in CROPS.values():
        assert "Kc: FAO-56 Table 12" in crop.source
        assert "roots and p: FAO-56 Table 22" in crop.source
        sources = {"FAO-56 Table 11" if stages.region else "common practice, no source" for stages in crop.stages}
        assert all(any(source in stages.source for source in sources) for stages in crop.stages)
    assert all("FAO-56 Table 19, p. 144" in soil.source for soil in search_soils())
    told = " ".join(covering.source for covering in search_coverings())
    for source in ("Farreny et al. 2011", "Ragab et al. 2003", "EN 16941-1", "DIN 1986", "DIN 1989-1", "guid"):
        assert source in told


def test_what_a_crop_says_to_write_makes_a_planting_of_that_crop():
    for name in CROPS:
        screen = crops_screen(name)
        (planting,) = what_to_write(screen)["bed"]["planting"]
        crop = find_crop(planting["crop"])
        assert (crop.asked_as or crop.name).lower() == name.lower()
        assert ("days" in planting) is not bool(crop.stages), name
        Planting.model_validate(planting)


def test_a_word_that_is_no_name_shows_the_first_that_holds_it():
    (planting,) = what_to_write(crops_screen("legumes"))["bed"]["planting"]
    assert planting["crop"] == "beans, green"


def test_what_a_soil_and_a_covering_say_to_write_can_be_read():
    for soil in search_soils():
        (bed,) = what_to_write(soils_screen(soil.name))["bed"]
        assert find_soil(Bed.model_validate({"name": "x", "area_m2": 1, **bed}).soil) == soil
    for covering in search_coverings():
        (roof,) = what_to_write(roofs_screen(covering.name))["roof"]
        assert find_covering(Roof.model_validate({"name": "x", "tank": "y", "area_m2": 1, **roof}).covering) == covering


def test_without_a_word_there_is_an_answer_too():
    assert what_to_write(crops_screen())["bed"]["planting"][0]["crop"] == "tomato"
    assert what_to_write(soils_screen())["bed"][0]["soil"] == "loam"
    assert what_to_write(roofs_screen())["roof"][0]["covering"] == "hard roof"


def test_every_name_can_be_found_without_a_word():
    of_soils, of_roofs = joined(soils_screen()), joined(roofs_screen())
    names = " ".join([*(label for label, _ in crop_rows(None)), joined(crops_screen())])
    assert not [crop.name for crop in search_crops() if crop.asked_as is None and crop.name not in names]
    assert not [name for name, crop in CROPS.items() if crop.use == "garden" and name not in names]
    assert all(soil.name in of_soils for soil in search_soils())
    assert all(covering.name in of_roofs for covering in search_coverings())


def test_numbers_of_a_crop_as_printed():
    screen = crops_screen("tomato")
    # FAO-56 Table 12, p. 110: 0.6, 1.15 and 0.70-0.90, of which the middle; footnote 2: 1.20 on supports. Table 22,
    # p. 163: roots 0.7-1.5 m, of which the smaller; p 0.40. Table 11, p. 104: Mediterranean, April/May.
    # Table 17, p. 137: 0.15, 1.10 and 0.60-0.80; footnote 2: 1.15 on supports, 1.5-2 m tall.
    plain, plain_basal = rows_of(screen, "Tomato; bush tomato")
    staked, staked_basal = rows_of(screen, "cordon tomato")
    assert plain.split()[-5:] == ["0.60", "1.15", "0.80", "0.40", "0.7"]
    assert staked.split()[-5:] == ["0.60", "1.20", "0.80", "0.40", "0.7"]
    assert plain_basal.split()[-4:] == ["0.15", "1.10", "0.70", "0.60"]
    assert staked_basal.split()[-4:] == ["0.15", "1.15", "0.70", "1.75"]
    assert row_of(screen, "Mediterranean; Apr, May").split()[3:] == ["30", "40", "45", "30", "145"]


def test_numbers_of_a_soil_as_printed():
    # FAO-56 Table 19, p. 144: loam, difference of the water contents 0.13-0.18 m3/m3.
    # REW 8-10 mm and TEW 16-22 mm.
    assert row_of(soils_screen(), "Loam ").split() == ["Loam", "155", "130", "to", "180", "9.0", "19.0"]


def test_numbers_of_a_covering_with_their_spread_and_basis():
    # Ragab et al. 2003, abstract: 0.61-0.91; Victoria DPI 2011: 0.95; Farreny et al. 2011, abstract: above 0.90.
    row = row_of(roofs_screen(), "clay tile")
    assert row.split()[2:] == ["0.97", "0.3", "0.90", "0.61", "to", "0.95", "measured"]
    for covering in search_coverings():
        row = row_of(roofs_screen(covering.name), f"{covering.name} ")
        told = f"{covering.runoff_coefficient:.2f} {covering.loss_mm:.1f} {covering.yearly_coefficient:.2f} "
        assert f"{told}{covering.low:.2f} to {covering.high:.2f}" in joined(row)
        assert covering.basis in row


def test_points_stand_below_each_other():
    for word in (None, "legumes", "sunflower"):
        _, table = crops_screen(word).split("\nWrite any of these names", 1)
        rows = [line for line in table.split("\n\n")[0].splitlines() if len(re.findall(r"\d\.\d\d", line)) == 4]
        assert len({tuple(match.start() for match in re.finditer(r"\d\.\d", row)) for row in rows}) == 1
        assert len(rows) >= 1


def test_units_stand_in_the_heads():
    lines = crops_screen("courgette").splitlines()
    head = next(n for n, line in enumerate(lines) if line.startswith("Write any of these names"))
    assert lines[head + 1].rstrip().endswith("m")
    assert lines[head + 1].index("m") == lines[head].index("roots") + len("root")
    stages = next(n for n, line in enumerate(lines) if line.startswith("Stages,"))
    assert lines[stages + 1].split() == ["days"] * 5
    assert soils_screen().splitlines()[5].split() == ["mm/m", "mm/m", "mm", "mm"]


def test_stand_ins_and_crops_without_stage_lengths_are_marked_and_explained():
    for name, crop in CROPS.items():
        screen = crops_screen(name)
        marks = marks_of(name, name)
        assert marks == [
            word
            for word, true in (("stays", crop.perennial), ("days", not crop.stages), ("stand-in", crop.stand_in))
            if true
        ], name
        for mark in marks:
            assert f"\n{mark}: " in screen
        assert ("The four days, in order" in screen) is any("days" in others for _, others in crop_rows(name))


def crop_rows(word):
    """Label and marks of each row of the crops table."""
    rows = crops.answer(word).tables[0].rows
    return [(row[0], row[-1].split(", ") if row[-1] else []) for row in rows if len(row) > 1]


def marks_of(word, name):
    """Marks of the one row that names the crop, the names of other crops in brackets left aside."""
    own = [(re.sub(r" \((numbers of )?[A-Z].*\)$", "", label), label, marks) for label, marks in crop_rows(word)]
    (marks,) = [marks for short, label, marks in own if name in {*short.split("; "), *label.split("; ")}]
    return marks


def test_a_stand_in_says_whose_numbers_it_has():
    ((label, _),) = [row for row in crop_rows("kale") if row[0].startswith("kale")]
    assert label == "kale; curly kale; cavolo nero (numbers of Brussels sprouts)"
    assert "Note on kale; curly kale; cavolo nero: not in FAO-56" in joined(crops_screen("kale"))


def test_stage_lengths_come_with_a_narrow_word_only():
    hint = "A narrower word tells more, stage lengths too: waterbudget crops courgette"
    assert "Stages, where and when planted" in crops_screen("courgette")
    assert hint not in crops_screen("courgette")
    for word in (None, "legumes"):
        assert "Stages, where and when planted" not in crops_screen(word)
        assert hint in crops_screen(word)


def test_every_printed_stage_length_is_shown():
    for name, crop in CROPS.items():
        rows = [line.split() for line in crops_screen(name).splitlines()]
        if len(crop_rows(name)) <= 6:
            for stages in crop.stages:
                assert any(row[-5:] == [*map(str, stages.days), str(sum(stages.days))] for row in rows), name


def test_roofs_that_do_not_suit_vegetables_are_marked_and_the_reason_told():
    assert [covering.name for covering in search_coverings() if covering.edible_crop_caution]
    for word in (None, *(covering.name for covering in search_coverings())):
        screen = roofs_screen(word)
        for covering in search_coverings(word):
            marked = row_of(screen, f"{covering.name}  ").endswith("caution")
            assert marked is bool(covering.edible_crop_caution)
            assert (f"{covering.name}: {covering.edible_crop_caution}." in joined(screen)) is marked
        assert "Local advice comes first" in joined(screen)


def test_asbestos_is_left_to_a_licensed_firm():
    assert "leave any work on it to a licensed firm" in joined(roofs_screen("asbestos"))


@pytest.mark.parametrize(
    ("screen", "word", "line"),
    [
        (crops_screen, "tomatto", 'no crop is called "tomatto"; nearest: "Tomato", '),
        (crops_screen, "moonweed", 'no crop is called "moonweed"; waterbudget crops lists them all'),
        (soils_screen, "lome", 'no soil is called "lome"; nearest: "Loam"; waterbudget soils lists them all'),
        (roofs_screen, "slates and tyles", 'no covering is called "slates and tyles"; '),
        (roofs_screen, "slade", 'no covering is called "slade"; nearest: "slate"; waterbudget roofs lists them all'),
    ],
)
def test_a_word_that_nothing_answers_to_names_the_nearest(screen, word, line):
    with pytest.raises(InputError) as told:
        screen(word)
    (fault,) = told.value.faults
    assert fault.startswith(line)
    assert "\n" not in fault
