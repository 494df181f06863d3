"""The public pictures are those of the commands and the report, and are drawn in axes of one's own where wanted."""

import datetime as dt
import functools
import inspect
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
from matplotlib.figure import Figure

import waterbudget
from waterbudget import figures

DEMO = Path(waterbudget.__file__).parents[1] / "data_demo"


def opened(name):
    return waterbudget.open_site(DEMO / name, every_year=True)


@functools.cache
def found(picture):
    """What a picture draws."""
    if picture in {"odds", "rules"}:
        return waterbudget.find_odds(opened("years/site.toml"), with_rules=picture == "rules").finding
    if picture == "batch":
        with TemporaryDirectory() as folder:
            return waterbudget.find_batch(DEMO / "sites.csv", f"{folder}/results.csv", workers=1).finding
    if picture == "sizes":
        sweep, question = waterbudget.Sweep(steps=5), waterbudget.Question(roofs=True)
        return waterbudget.find_size(opened("allotment/site.toml"), sweep, question).finding
    asked = {
        "hotspell": lambda: waterbudget.find_hotspell(opened("allotment/site.toml"), waterbudget.Spell(days=7)),
        "fit": lambda: waterbudget.find_fit(DEMO / "journal" / "site.toml"),
        "line": lambda: waterbudget.find_line(opened("hose/site.toml")),
        "compare": lambda: waterbudget.find_compare(DEMO / "allotment" / "site.toml", ["tank.Butt.capacity_l=300"]),
        "improve": lambda: waterbudget.find_improve(opened("allotment/site.toml")),
        "today": lambda: waterbudget.find_today(DEMO / "site.toml", dt.date(2031, 7, 5)),
        "minutes": lambda: waterbudget.find_minutes(opened("site.toml")),
    }
    if picture in asked:
        return asked[picture]().finding
    site = waterbudget.load_site(DEMO / "allotment" / "site.toml")
    return waterbudget.run(site, waterbudget.read_weather(DEMO / "allotment" / "weather.csv", site))


PICTURES = [name for name in figures.__all__ if name != "figure_bytes"]


def test_a_run_is_drawn_in_plain_words():
    result = found("level")
    assert len(figures.level(result)) == 2
    assert len(figures.bed(result)) == len(result.site.bed)
    assert figures.balance(result).get_title(loc="left") == "All stores together"


def words_of(panel):
    return [text.get_text() for text in (*panel.texts, panel.title, panel.xaxis.label, panel.yaxis.label)]


def drawn_in(panel):
    """What stands in axes, by kind and label, and their limits."""
    shown = [(type(each).__name__, each.get_label()) for each in (*panel.lines, *panel.collections, *panel.patches)]
    return shown, words_of(panel), panel.get_title(loc="left"), panel.get_xlim(), panel.get_ylim()


@pytest.mark.parametrize("name", PICTURES)
def test_given_axes_are_drawn_in_and_nothing_else_changes(name):
    draw = getattr(figures, name)
    own = np.ravel(draw(found(name)))
    figure = Figure(figsize=(9.0, 24.0))
    theirs = figure.subplots(len(own) + 1, 1)
    beside, given = theirs[0], theirs[1:]
    beside.plot([1.0, 2.0], [3.0, 5.0], label="mine")
    before, places = drawn_in(beside), [panel.get_position().bounds for panel in theirs]

    returned = draw(found(name), given[0] if len(given) == 1 else given)

    assert list(np.ravel(returned)) == list(given)
    assert isinstance(returned, np.ndarray) == (name != "balance")
    assert [drawn_in(panel) for panel in given] == [drawn_in(panel) for panel in own]
    assert drawn_in(beside) == before
    assert list(figure.axes) == list(theirs)
    assert (figure.texts, figure.legends, figure.lines, figure.patches) == ([], [], [], [])
    assert figure.get_size_inches().tolist() == [9.0, 24.0]
    assert figure.get_layout_engine() is None
    assert [panel.get_position().bounds for panel in theirs] == places
    assert len(figures.figure_bytes(figure, ".png")) > 5000


@pytest.mark.parametrize("name", PICTURES)
def test_too_few_or_too_many_axes_are_refused(name):
    draw = getattr(figures, name)
    number = np.size(draw(found(name)))
    for given in (number - 1, number + 1):
        axes = np.array([Figure().subplots() for _ in range(given)], dtype=object)
        with pytest.raises(waterbudget.InputError, match=f"^got {given} axes to draw in; give {number}, "):
            draw(found(name), axes)


@pytest.mark.parametrize("name", PICTURES)
def test_axes_may_be_given_in_a_list(name):
    draw = getattr(figures, name)
    number = np.size(draw(found(name)))
    given = [Figure().subplots() for _ in range(number)]
    assert list(np.ravel(draw(found(name), given))) == given


def test_every_picture_takes_axes_in_the_same_place():
    for name in PICTURES:
        _, second, *others = inspect.signature(getattr(figures, name)).parameters.values()
        assert (second.name, second.default) == ("ax", None)
        assert all(other.default is not inspect.Parameter.empty for other in others)


def test_every_public_picture_is_there():
    assert set(figures.__all__) == {
        name for name in dir(figures) if callable(getattr(figures, name)) and name.islower()
    }
