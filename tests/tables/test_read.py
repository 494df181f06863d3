import subprocess
import sys
from pathlib import Path

import pytest

from waterbudget import tables
from waterbudget.errors import InputError
from waterbudget.tables.read import UnknownKeyError, find, holds, named, nearest, read_rows

CHECKOUT = Path(tables.__file__).parents[2]


def test_rows_are_read_once():
    assert read_rows("soils") is read_rows("soils")


@pytest.mark.parametrize(
    ("word", "name"),
    [
        ("CARROT", "carrots"),
        ("  tomatoes ", "tomato"),
        ("radishes", "radish"),
        ("gooseberries", "gooseberry"),
        ("lambs lettuce", "lamb's lettuce"),
        ("sweet-corn", "sweet corn"),
        ("sweetcorn", "sweet corn"),
        ("Gooseberry  ", "gooseberry"),
        ("squash zucchini", "squash, zucchini"),
        ("asparagus", "asparagus"),
    ],
)
def test_case_blanks_punctuation_and_plurals_do_not_matter(word, name):
    known = [
        "carrots",
        "tomato",
        "radish",
        "gooseberry",
        "lamb's lettuce",
        "sweet corn",
        "squash, zucchini",
        "asparagus",
    ]
    assert find(word, known, "crop") == name


def test_an_unknown_word_names_the_nearest():
    with pytest.raises(UnknownKeyError) as caught:
        find("tomatto", ["potato", "tomato", "leek"], "crop")
    assert (caught.value.kind, caught.value.key) == ("crop", "tomatto")
    assert caught.value.nearest == ["tomato", "potato"]
    assert str(caught.value) == 'unknown crop "tomatto"; nearest: "tomato", "potato"'


@pytest.mark.parametrize("word", ["xyzzy", "", "  "])
def test_a_word_like_nothing_says_so(word):
    with pytest.raises(UnknownKeyError, match="nothing is spelt like it") as caught:
        find(word, ["potato", "tomato"], "crop")
    assert caught.value.nearest == []


def test_an_unknown_key_is_for_the_user_to_mend_and_passes_through_validators():
    assert issubclass(UnknownKeyError, InputError)
    assert issubclass(UnknownKeyError, ValueError)  # pydantic turns only these into faults of a key


def test_names_that_hold_the_word_come_after_those_spelt_like_it():
    assert nearest("tile", ["concrete tile", "clay tile", "tiles", "slate"]) == ["tiles", "clay tile", "concrete tile"]


def test_at_most_five_are_named():
    assert len(nearest("bean", [f"bean {letter}" for letter in "abcdefgh"])) == 5


def test_search_compares_as_finding_does():
    assert holds("Beans", "runner bean")
    assert holds("tomatoes", "legumes", "bush tomato")
    assert not holds("beet", "runner bean")
    assert holds(None, "anything")


def test_looking_up_loads_neither_pandas_nor_numpy():
    program = (
        "import sys\n"
        "from waterbudget.tables.cautions import cautions\n"
        "from waterbudget.tables.coverings import find_covering\n"
        "from waterbudget.tables.crops import find_crop\n"
        "from waterbudget.tables.soils import find_soil\n"
        "find_crop('courgette'), find_soil('loam'), find_covering('slate'), cautions('frost')\n"
        "print(sorted({'pandas', 'numpy', 'pydantic', 'matplotlib'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", program], cwd=CHECKOUT, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize(
    ("word", "meant"),
    [
        ("Shed butt", "Shed butt"),
        ("shed", "Shed butt"),
        ("BUTT", "Shed butt"),
        ("shed bu", "Shed butt"),
        ("class", "Class-room tank"),
        ("room", "Class-room tank"),
        ("class room tanks", "Class-room tank"),
        ("North", "North"),
        ("north l", "North line"),
    ],
)
def test_a_name_is_meant_by_any_beginning_that_no_other_has(word, meant):
    assert named(word, ["Shed butt", "Class-room tank", "North", "North line"], "thing") == meant


@pytest.mark.parametrize(
    ("word", "said"),
    [
        ("nor", '"nor" may be "North" or "North line"; write more of the name'),
        ("beds", '"beds" is no thing; there is "Shed butt", "North", "North line"'),
        ("noth", '"noth" is no thing; did you mean "North"?'),
        ("xyz", '"xyz" is no thing; there is "Shed butt", "North", "North line"'),
        ("", '"" is no thing; there is "Shed butt", "North", "North line"'),
    ],
)
def test_a_name_that_nobody_or_several_have_is_refused(word, said):
    with pytest.raises(InputError) as error:
        named(word, ["Shed butt", "North", "North line"], "thing")
    assert str(error.value) == said
