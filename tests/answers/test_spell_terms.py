"""A hot spell without mains water, or without anybody there, in words a gardener can act on."""

import datetime as dt
import json
from pathlib import Path

from click.testing import CliRunner
from gardens import site_of
from spell.beans import FIRST, table, weather

from waterbudget.answers.hotspell import answer, facts
from waterbudget.answers.spell_terms import away_words, saving_words
from waterbudget.answers.spell_verdict import mains
from waterbudget.cli.main import main
from waterbudget.render.text import text
from waterbudget.spell.hot import Spell
from waterbudget.spell.study import study

DEMO = Path(__file__).parent.parent.parent / "data_demo"
TEN = (FIRST, FIRST + dt.timedelta(days=9))


def asked(tables, **spell):
    return study(site_of(tables), weather(), Spell(21, 26.0, 15.0, first=FIRST, **spell))


def test_when_to_begin_saving_and_what_is_lost_then():
    found = asked(table(tank={"start_l": 600, "capacity_l": 2000}, zone={"minutes": 10}), no_mains=True)
    told, first = saving_words(found, found.saving)
    assert told.startswith("Start on ")
    assert " July with half of the minutes: then nothing is lost, without saving " in told
    assert first == "Give up first, in this order: Bean bed. A litre does least there."
    assert "Without any mains water" in text(answer(found), full=False)


def test_mains_water_that_fails_is_not_laid_to_the_site_file():
    thirsty = table(tank={"start_l": 200, "capacity_l": 2000, "mains": "direct"}, zone={"minutes": 5})
    assert mains(asked(thirsty, no_mains=True)) == "Full watering needs 850 L from the mains, and there is none."
    banned = mains(asked(thirsty, ban=(TEN[1], FIRST + dt.timedelta(days=20))))
    assert banned == "Full watering needs 850 L from the mains; your site file and the ban allow 250 L."


def test_saving_that_is_no_use_or_not_needed_is_said_so():
    scarce = asked(table(tank={"start_l": 200, "capacity_l": 2000}, zone={"minutes": 5}), no_mains=True)
    plenty = asked(table(zone={"minutes": 6}), no_mains=True)
    assert next(saving_words(scarce, scarce.saving)).startswith("Shorter runs would save nothing: ")
    assert list(saving_words(plenty, plenty.saving)) == ["Go on as now: nothing is lost."]


def test_what_being_away_takes():
    hens = [{"name": "Hens", "tank": "Butt", "l_per_day": 20}]
    found = asked(table(tank={"start_l": 700, "capacity_l": 750}, zone={"minutes": 6}, draw=hens), away=TEN)
    told = list(away_words(found, found.away))
    assert told[0] == "Somebody must see to Line on 10 days and Hens on 10 days."
    assert told[1].startswith("If nobody comes, nothing runs by itself, and ")
    assert told[-1] == "All that is asked for takes 800 L in Butt on the day you leave; Butt holds only 750 L."


def test_a_timer_that_carries_it_is_said_to():
    found = asked(table(zone={"minutes": 6}), away=TEN)
    assert "A timer at every line carries it." in list(away_words(found, found.away))


def test_facts():
    found = asked(table(zone={"minutes": 6}), away=TEN, ban=TEN)
    told = facts(found)
    assert told["away"]["period"] == {"from": "2031-07-01", "to": "2031-07-10"}
    assert told["away"]["outlets"] == [{"name": "Line", "hand_days": 10}]
    assert told["saving"]["first_day"] is None
    assert facts(asked(table()))["saving"] is None


def test_the_command_takes_them():
    args = ["hotspell", str(DEMO / "site.toml"), "--ban", "2031-07-05", "2031-07-21", "--json"]
    told = json.loads(CliRunner().invoke(main, args).stdout)
    assert told["saving"]["give_up"]
    wrong = CliRunner().invoke(main, [*args[:2], "--ban", "2031-07-05", "2031-09-21"])
    assert wrong.exit_code == 2
    assert "weather and spell have 2031-05-01 to 2031-07-21" in wrong.stderr


def test_nobody_is_away_before_the_last_dip():
    args = [
        "hotspell",
        str(DEMO / "journal" / "site.toml"),
        "--from",
        "2031-07-01",
        "--away",
        "2031-07-01",
        "2031-07-05",
    ]
    wrong = CliRunner().invoke(main, args)
    assert wrong.exit_code == 2
    assert "away begins on 2031-07-01, before the last dip of 2031-" in wrong.stderr
