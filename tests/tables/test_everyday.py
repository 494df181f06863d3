"""What gardeners call coverings and soils. That the words mean these rows: common practice, no source."""

from collections import Counter

import pytest

from waterbudget.tables.coverings import find_covering, search_coverings
from waterbudget.tables.everyday import everyday_words
from waterbudget.tables.read import UnknownKeyError, read_rows, spelt_alike
from waterbudget.tables.soils import find_soil, search_soils

FIND = {"covering": find_covering, "soil": find_soil}


@pytest.mark.parametrize("row", read_rows("everyday"), ids=lambda row: row["word"])
def test_every_word_stands_for_a_row_and_says_that_it_has_no_source(row):
    assert FIND[row["kind"]](f" {row['word'].upper()} ").name == row["name"]
    assert (row["source"], row["page"]) == ("common practice, no source", "none")


@pytest.mark.parametrize("kind", FIND)
def test_no_word_is_another_s_too(kind):
    names = {"covering": [one.name for one in search_coverings()], "soil": [one.name for one in search_soils()]}[kind]
    words = [*names, *(one.word for one in everyday_words(kind))]
    assert not [(one, other) for n, one in enumerate(words) for other in words[:n] if spelt_alike(one, other)]
    assert max(Counter(words).values()) == 1


@pytest.mark.parametrize(
    ("word", "name"),
    [
        ("tin", "metal sheet"),
        ("Corrugated iron", "metal sheet"),
        ("bitumen sheets", "bitumen felt"),
        ("roof tiles", "concrete tile"),
        ("Greenhouse", "glass"),
        ("fibre-cement sheet", "fibre cement sheet"),
    ],
)
def test_coverings_by_everyday_words(word, name):
    assert find_covering(word).name == name
    assert name in [covering.name for covering in search_coverings(word)]


@pytest.mark.parametrize(
    ("word", "name"), [("heavy clay", "Clay"), ("Clay loam", "Silt clay loam"), ("topsoil", "Loam")]
)
def test_soils_by_everyday_words(word, name):
    assert find_soil(word).name == name
    assert name in [soil.name for soil in search_soils(word)]


def test_a_misspelt_word_names_the_nearest():
    with pytest.raises(UnknownKeyError, match='unknown covering "greenhuose"; nearest: "greenhouse"'):
        find_covering("greenhuose")
