"""Every default screen of the demo can be read in a window of 80 columns and 30 lines."""

import datetime as dt

import pytest
from asking import DEMO

from waterbudget import questions
from waterbudget.render.text import text
from waterbudget.review.size import Question

COLUMNS, LINES = 80, 30
ASKED = {
    "run": ("site.toml",),
    "check": ("site.toml",),
    "minutes": ("years/site.toml",),
    "fit": ("journal/site.toml",),
    "hotspell": ("site.toml",),
    "odds": ("years/site.toml",),
    "today": ("site.toml", dt.date(2031, 7, 5)),
    "compare": ("site.toml", ["zone.South line.minutes=8", "tank.Shed butt.capacity_l=700"]),
    "size": ("years/site.toml", None, Question(tank="Shed butt")),
    "improve": ("site.toml",),
    "line": ("hose/site.toml",),
}


@pytest.mark.parametrize("question", ASKED)
def test_the_short_screen_fits_a_window(question):
    name, *others = ASKED[question]
    answer = getattr(questions, f"find_{question}")(DEMO / name, *others).answer
    lines = text(answer, COLUMNS, full=False).splitlines()
    assert len(lines) <= LINES
    assert all(len(line) <= COLUMNS or line.strip() in answer.of_kind("paste") for line in lines)
    assert lines[-1].startswith("More with --full: ")
