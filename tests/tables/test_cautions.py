import pytest

from waterbudget.tables.cautions import cautions
from waterbudget.tables.read import UnknownKeyError


def test_every_caution_is_told_once_and_in_a_sentence():
    every = cautions()
    assert len(every) == 40
    assert len({(caution.topic, caution.subject) for caution in every}) == 40
    assert all(caution.caution.endswith(".") for caution in every)


def test_topics_come_in_the_order_asked():
    assert [caution.topic for caution in cautions("weight", "Drowning", "weight")] == ["weight", "weight", "drowning"]


def test_what_can_hurt_someone_is_there():
    for topic in (
        "legionella",
        "drinking",
        "mains top-up",
        "weight",
        "drowning",
        "electricity",
        "lithium batteries",
        "hens",
    ):
        assert cautions(topic)


@pytest.mark.parametrize(
    ("topic", "figure", "where"),
    [
        ("legionella", "limit 20 °C", "RHS advice as repeated by a gardeners' association 2013"),
        ("mains top-up", "20 mm or twice the inlet bore", "Water Regs UK glossary, 'Air gap'"),
        ("mosquitoes", "1 mm or finer", "enHealth sec. 5.5"),
        ("weight", "9.8 kPa per metre", "1000 kg/m3 x 9.8 m/s2 x 1 m"),
        ("soakaway", "5 m from a building", "Eden District Council guidance note"),
    ],
)
def test_figures_of_the_most_pressing(topic, figure, where):
    assert any(figure in caution.figure for caution in cautions(topic)), where


def test_an_unknown_topic_names_the_nearest():
    with pytest.raises(UnknownKeyError, match=r'^unknown topic "legionela"; nearest: "legionella"$'):
        cautions("legionela")
