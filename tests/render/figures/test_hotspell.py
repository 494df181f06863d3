"""The picture of a hot spell draws the stores and the soil under each plan."""

import numpy as np
import pytest
from pictures import assert_words_stand_apart
from spell.hot_gardens import allotment, beans, longest_words, school

from waterbudget.answers.spell_plans import groups
from waterbudget.answers.spell_verdict import lasts_in_short
from waterbudget.errors import OutputError
from waterbudget.render.figures.hotspell import LOOKS, worst_beds


def lines_of(panel):
    return {line.get_label(): line for line in panel.get_lines()}


def test_the_lines_are_the_levels_and_the_soil_of_each_plan():
    found = school().finding
    axes = school().plot()
    stores, soils = axes[:2], axes[2:]
    for group in groups(found):
        for number, panel in enumerate(stores):
            np.testing.assert_array_equal(
                lines_of(panel)[group.label].get_ydata(), group.named.course.level_l[:, number]
            )
        for bed, panel in zip(worst_beds(found), soils, strict=True):
            np.testing.assert_allclose(
                lines_of(panel)[group.label].get_ydata(), 100.0 * group.named.course.soil[:, bed], rtol=1e-12
            )
            assert panel.get_title(loc="left").startswith(found.site.bed[bed].name)


def test_the_worst_bed_of_each_zone_is_drawn():
    assert [school().finding.site.bed[bed].name for bed in worst_beds(school().finding)] == ["Potato bed", "Carrot bed"]


def test_the_title_is_the_answer():
    panel = school().plot()[0]
    assert panel.get_title(loc="left") == lasts_in_short(school().finding) == "The stored rain lasts 3 of 21 days"
    assert lasts_in_short(beans(zone={"minutes": 5}).finding) == "The stored rain lasts all 21 days"


def test_plans_differ_without_colour():
    panel = school().plot()[0]
    shown = [lines_of(panel)[group.label] for group in groups(school().finding)]
    assert not shown[0].is_dashed()
    assert len({str(dashes) for _, dashes, _ in LOOKS.values()}) == len(LOOKS)
    assert [text.get_text() for text in panel.get_legend().get_texts()] == [line.get_label() for line in shown]


@pytest.mark.parametrize("findings", [school, allotment, beans, longest_words])
def test_no_text_leaves_the_picture_or_meets_another(findings):
    assert_words_stand_apart(findings().plot()[0].figure)


@pytest.mark.parametrize(("suffix", "begins"), [(".png", b"\x89PNG"), (".svg", b"<?xml"), (".pdf", b"%PDF")])
def test_a_picture_is_made_in_each_kind_and_always_the_same(suffix, begins):
    picture = allotment().picture(suffix)
    assert picture.startswith(begins)
    assert picture == allotment().picture(suffix)


def test_another_kind_is_refused():
    with pytest.raises(OutputError, match=r"choose \.png, \.svg or \.pdf"):
        allotment().picture(".gif")
