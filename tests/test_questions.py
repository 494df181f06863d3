"""A question asked in Python is answered with the finding, and prints as its screen."""

import datetime as dt

import numpy as np
import pytest
from asking import DEMO, Asker
from matplotlib.figure import Figure

from waterbudget import questions
from waterbudget.blocks import Answer
from waterbudget.cli.main import main
from waterbudget.questions import Reply

ASKED = {
    "run": (("site.toml",), ["site.toml"]),
    "check": (("site.toml",), ["site.toml"]),
    "minutes": (("site.toml", "Bean bed"), ["site.toml", "--bed", "Bean bed"]),
    "fit": (("journal/site.toml",), ["journal/site.toml"]),
    "hotspell": (("allotment/site.toml",), ["allotment/site.toml"]),
    "odds": (("years/site.toml",), ["years/site.toml"]),
    "today": (("site.toml", dt.date(2031, 7, 5)), ["site.toml", "--on", "2031-07-05"]),
    "compare": (
        ("allotment/site.toml", ["tank.Butt.capacity_l=300"]),
        ["allotment/site.toml", "--with", "tank.Butt.capacity_l=300"],
    ),
    "size": (("allotment/site.toml",), ["allotment/site.toml"]),
    "improve": (("allotment/site.toml",), ["allotment/site.toml"]),
    "line": (("hose/site.toml", "North line", 200.0), ["hose/site.toml", "North line", "--level-l", "200"]),
}


@pytest.fixture(scope="module", params=ASKED)
def question(request):
    return request.param


@pytest.fixture(scope="module")
def reply(question):
    name, *others = ASKED[question][0]
    return getattr(questions, f"find_{question}")(DEMO / name, *others)


def test_it_prints_as_the_screen_of_its_command(question, reply):
    name, *others = ASKED[question][1]
    result = Asker(main.commands[question])(DEMO / name, *others, "--full")
    assert str(reply) == result.stdout.rstrip("\n")


def test_its_short_form_is_one_line_with_the_verdict(question, reply):
    assert repr(reply) == f"<{question}: {reply.answer.verdict[0]}>"


def test_a_notebook_shows_all_of_it(reply):
    html = reply._repr_html_()
    assert "<table>" in html
    assert ("data:image/svg+xml;base64," in html) == (reply.draw is not None)


def test_its_frame_holds_unrounded_numbers(reply):
    frame = reply.to_frame()
    (table, *_) = reply.answer.tables
    assert list(frame.columns) == [column.quantity for column in table.columns]
    assert len(frame) == sum(len(row) == len(table.columns) for row in table.rows)


def test_it_is_drawn_in_axes_of_one_s_own(reply):
    if reply.draw is None:
        pytest.skip("it has no picture")
    own = reply.plot()
    given = np.ravel(np.array([Figure().subplots() for _ in own], dtype=object))
    assert list(reply.plot(given)) == list(given)
    assert [panel.get_xlim() for panel in given] == [panel.get_xlim() for panel in own]


def test_its_facts_name_the_site(reply):
    assert reply.facts["site"]
    assert reply.facts is reply.answer.facts


def test_where_there_is_no_picture_it_says_so():
    reply = Reply(None, Answer("log", "", ("Done.",), (), {}))
    with pytest.raises(LookupError, match="log has no picture"):
        reply.plot()
    with pytest.raises(LookupError, match="log has no table"):
        reply.to_frame()
