"""The screens of log and fit say what was written down and what it tells, and the picture draws it."""

import datetime as dt
import json
from dataclasses import replace

import numpy as np
import pytest
from journal.invented import DEMO, journal

from waterbudget.errors import InputError, OutputError
from waterbudget.example import site_path
from waterbudget.journal.book import read_journal
from waterbudget.journal.entries import Said
from waterbudget.journal.fit import Alike, Logged, Rival, fit
from waterbudget.report.journal import (
    Asked,
    answer_log,
    assumptions,
    beside,
    doubts,
    fit_json,
    fit_screen,
    journal_screen,
    own_site,
    picture,
    readings,
    values,
    verdict,
)
from waterbudget.report.journal_figure import fit_figure, fit_picture
from waterbudget.report.odd import oddities
from waterbudget.report.words import WIDTH
from waterbudget.simulate.opened import open_site
from waterbudget.simulate.run import run
from waterbudget.site.read import load_site


@pytest.fixture(scope="module")
def demo():
    return fit(open_site(DEMO / "site.toml"), read_journal(DEMO / "journal.csv"))


def told(fitted, **changes):
    """The fit with changes to one of its numbers, by key."""
    rows = [one._replace(**changes.get(one.quantity.key, {})) for one in fitted.told]
    return replace(fitted, told=tuple(rows))


# ---- The journal ----


@pytest.fixture
def garden(tmp_path):
    """The class-room side and its journal of four lines, in a folder of its own."""
    (tmp_path / "site.toml").write_bytes((DEMO / "site.toml").read_bytes())
    lines = [
        (dt.date(2031, 6, 5), "level", "Class-room tank", 38, "cm", "by Ash"),
        (dt.date(2031, 6, 7), "level", "Class-room tank", 750, "L"),
        (dt.date(2031, 6, 1), "gauge", "", 6.5, "mm"),
        (dt.date(2031, 6, 8), "undo", "", 2, "line"),
    ]
    (tmp_path / "journal.csv").write_text(journal(lines), "utf-8")
    return tmp_path


def screen_of(folder):
    return journal_screen(load_site(folder / "site.toml"), read_journal(folder / "journal.csv")).splitlines()


def test_the_journal_is_shown_newest_last_with_depths_and_litres(garden):
    """38 cm of a cylinder of 1.3 m is pi/4 x 1.3 x 1.3 x 380 = 504.4 L, and 750 L of it are 56.5 cm deep."""
    head, _, columns, *rows = screen_of(garden)
    assert head.endswith("journal.csv: 4 lines, 2 of them count")
    assert columns.split() == ["Line", "day", "what", "of", "amount", "depth", "remark"]
    assert [" ".join(row.split()) for row in rows] == [
        "3 2031-06-01 rain in the gauge 6.5 mm",
        "1 2031-06-05 level Class-room tank 504 L 38.0 cm by Ash",
        "2 2031-06-07 level Class-room tank 750 L 56.5 cm undone by line 4",
        "4 2031-06-08 undoes line 2",
    ]


def test_a_level_of_a_tank_that_is_gone_is_shown_without_litres(garden):
    path = garden / "site.toml"
    path.write_text(path.read_text("utf-8").replace("Class-room tank", "Cistern"), "utf-8")
    assert [" ".join(row.split()) for row in screen_of(garden)[4:6]] == [
        "1 2031-06-05 level Class-room tank – by Ash",
        "2 2031-06-07 level Class-room tank – undone by line 4",
    ]


def test_long_remarks_are_cut_at_the_screen_s_edge(garden):
    long = (dt.date(2031, 6, 9), "gauge", "", 1, "mm", "x" * 200)
    (garden / "journal.csv").write_text(journal([long]))
    assert max(map(len, screen_of(garden)[1:])) == WIDTH


def test_an_empty_journal_says_how_to_begin(garden):
    (garden / "journal.csv").unlink()
    assert screen_of(garden) == [f"{garden / 'journal.csv'} holds no line yet. What to log: waterbudget log"]


@pytest.mark.parametrize(
    ("said", "asked", "line"),
    [
        (Said(gauge_mm=1.0), Asked(undo=True), "--undo: stands alone"),
        (Said(), Asked(show=True, number=3), "--line: goes with --undo"),
        (Said(note="a"), Asked(), "--note and --on: go with a reading"),
        (Said(day=dt.date(2031, 6, 1)), Asked(show=True), "--note and --on: go with a reading"),
    ],
)
def test_what_does_not_go_together_is_refused(garden, said, asked, line):
    with pytest.raises(InputError, match=line):
        answer_log(garden / "site.toml", said, asked)


def test_without_anything_it_says_what_to_log_in_the_garden_s_own_words(garden):
    text, notes = answer_log(garden / "site.toml", Said(), Asked())
    assert "--tank 'Class-room tank=38cm'" in text
    assert "--ran 'North line=10'" in text
    assert notes == ()
    text, _ = answer_log(site_path(), Said(), Asked())  # its tanks have no shape
    assert "--tank 'Class-room tank=750L'" in text
    assert all(len(line) <= WIDTH or line.startswith("    waterbudget") for line in text.splitlines())


def test_without_a_site_it_speaks_of_the_example(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    text, (note,) = answer_log(None, Said(), Asked())
    assert "waterbudget log --gauge 6.5" in text
    assert "built-in example" in note
    with pytest.raises(InputError, match=r"site\.toml: there is none here; name your site file, or start one"):
        own_site(None)
    assert not list(tmp_path.iterdir())


# ---- The fit ----


def test_the_screen_of_the_demo(demo):
    text = fit_screen(demo, is_written=False)
    assert max(map(len, text.splitlines())) <= WIDTH
    assert text.startswith("Brackenfold, class-room side, 4 May to 29 September 2031: measured against modelled")
    for words in ("by 238 L", "by 12 L", "fits best", "Logged beside the levels", "Assumed"):
        assert words in text
    assert text.endswith("--write")
    assert "Doubts" not in text
    assert "Doubts\n  * Leak of" in fit_screen(replace(demo, alike=(Alike((2, 3), -0.97),)), is_written=False)
    assert fit_screen(demo, is_written=True).endswith(f"Next: waterbudget run {DEMO / 'site.toml'}")


def test_the_verdict_names_both_misses(demo):
    now_l, fitted_l = demo.misses_l("Class-room tank")
    (sentence,) = verdict(demo)
    assert f"misses 38 measured levels by {now_l:.0f} L" in sentence
    assert f"and by {fitted_l:.0f} L with what fits best" in sentence


def test_a_line_for_each_number(demo):
    rows = values(demo)
    assert len(rows) == 1 + 4  # the first level is no number of the garden
    for row, one in zip(rows[1:], demo.told, strict=False):
        *_, now, best, error = row.split()
        assert float(now) == one.quantity.now
        assert float(best) == pytest.approx(one.fitted, rel=0.005)
        assert float(error) == pytest.approx(one.error, rel=0.05)


def test_what_is_not_told_is_said(demo):
    fitted = told(demo, flow_l_min={"error": None, "fitted": 3.2})
    row = values(fitted)[4].split()
    assert row[-4:] == ["3.2", "not", "told", "–"]
    said = " ".join(doubts(fitted))
    assert "Flow of North line cannot be told from these levels: changing it by 0.16 moves none of them" in said
    silent = replace(demo, told=tuple(one._replace(error=None) for one in demo.told))
    assert fit_screen(silent, is_written=False).endswith("so there is nothing to write.")


def test_an_error_beyond_all_bounds_is_no_number(demo):
    assert values(told(demo, flow_l_min={"error": 1e6}))[4].split()[-1] == "–"


def test_a_number_at_its_highest_is_doubted_and_none_at_nothing(demo):
    high = told(demo, runoff_coefficient={"fitted": 1.0, "at_bound": True})
    assert "Runoff coefficient of Class-room roof went up to the highest value that was tried, 1:" in " ".join(
        doubts(high)
    )
    low = told(demo, loss_l_per_day={"fitted": 0.0, "at_bound": True})
    assert list(doubts(low)) == list(doubts(demo))


def test_what_cannot_be_told_apart_is_said(demo):
    fitted = replace(demo, alike=(Alike((2, 3), -0.97), Alike((0, 1), 0.96), Alike((0, 1, 2), None)))
    apart, together, mixed = doubts(fitted)
    assert apart.startswith(
        "Leak of Class-room tank and flow of North line cannot well be told apart (correlation -0.97)"
    )
    assert "more of one and less of the other" in apart
    assert "more of both" in together
    assert mixed.startswith("Runoff coefficient of Class-room roof, first flush of Class-room roof and leak of")


def test_other_answers_are_told_once(demo):
    fitted = replace(demo, alike=(), rivals=(Rival(3, 1.351), Rival(3, 1.3511), Rival(0, 0.5)))
    flow, runoff = doubts(fitted)
    assert flow.startswith("Flow of North line could as well be 1.35 L/min, with other values beside it.")
    assert runoff.startswith("Runoff coefficient of Class-room roof could as well be 0.5, with other values")


def test_measured_and_modelled_levels_stand_side_by_side(demo):
    *_, last, more = readings(demo)
    row = demo.compared[-1]
    measured, now, best, off = (int(cell.replace(",", "")) for cell in last.split()[-4:])
    assert (measured, now, best) == (round(row.measured_l), round(row.now_l), round(row.fitted_l))
    assert off == round(row.fitted_l - row.measured_l)
    assert more == "... and 14 earlier levels; --json has all."


def test_the_text_picture_shows_a_mark_for_each_measurement(demo):
    _, modelled, measured, _ = picture(demo)
    columns = measured.split("|")[1]
    assert len(columns) == len(modelled.split("|")[1]) <= 60
    assert sum(mark != "·" for mark in columns) == 38
    agree = [mark == block for mark, block in zip(columns, modelled.split("|")[1], strict=True) if mark != "·"]
    assert np.mean(agree) > 0.8


def test_what_was_logged_beside_the_levels(demo):
    ran, mains, rain = beside(demo)
    assert ran == (
        "North line ran 185 minutes on 10 days as logged; on 85 other days it ran by its plan, for "
        f"{demo.logged[0].other:.0f} minutes."
    )
    assert mains == "240 L of mains water were let into Class-room tank on 1 day as logged."
    assert rain == "Rain on 7 days is that of your gauge, 74.0 mm, where the weather has 78.1 mm."
    (never,) = beside(replace(demo, logged=(Logged("ran", "North line", 2, 30.0, 0, 0.0),)))
    assert never == "North line ran 30 minutes on 2 days as logged; its plan opened it on no other day."


@pytest.mark.parametrize(
    ("mains", "words"), [("float", "its float valve let in"), ("direct", "its hose gave the lines")]
)
def test_mains_water_that_the_model_takes_by_itself(demo, mains, words):
    (tank,) = demo.site.tank
    site = demo.site.model_copy(update={"tank": [tank.model_copy(update={"mains": mains})]})
    fitted = replace(
        demo,
        opened=replace(demo.opened, site=site),
        logged=(Logged("mains", tank.name, 2, 300.0, 5, 250.0),),
    )
    (said,) = beside(fitted)
    assert said == (
        "300 L of mains water were logged for Class-room tank on 2 days; they are not let in a second time, as in the "
        f"model {words} 250 L on 5 days by itself."
    )


def test_what_the_lines_ran_by_is_said(demo):
    as_logged = "A line ran as logged, and by its plan on days without a line in the journal."
    assert as_logged in " ".join(assumptions(demo))
    assert "A reading of the gauge is the rain of its day." in assumptions(demo)
    assert assumptions(demo)[0].startswith("Weather: weather.csv, with the rain of the logged gauge on 7 days.")
    without = " ".join(assumptions(replace(demo, logged=())))
    assert "The lines ran by their plan, as no run was logged." in without
    assert "gauge is the rain" not in without


def test_the_json_holds_everything(demo):
    summary = json.loads(fit_json(demo))
    assert [row["key"] for row in summary["quantities"]] == [
        "roof[1].runoff_coefficient",
        "roof[1].first_flush_l",
        "tank[1].loss_l_per_day",
        "zone[1].flow_l_min",
        "tank[1].start_l",
    ]
    assert [row["standard_error"] for row in summary["quantities"]] == [one.error for one in demo.told]
    assert len(summary["levels"]) == summary["stores"][0]["levels"] == 38
    assert summary["levels"][0]["date"] == summary["first"] == "2031-05-04"
    assert [row["kind"] for row in summary["logged"]] == ["ran", "mains", "gauge"]


# ---- The picture ----


def test_the_picture_draws_what_was_measured_and_modelled(demo):
    rain, store = fit_figure(demo).axes
    lines = {line.get_label(): line for line in store.get_lines()}
    np.testing.assert_allclose(lines["fits best"].get_ydata(), demo.fitted_l[:, 0])
    np.testing.assert_allclose(lines["site file"].get_ydata(), demo.now_l[:, 0])
    measured = lines["measured"]
    np.testing.assert_allclose(measured.get_ydata(), [row.measured_l for row in demo.compared])
    # a level is that of the evening: the points lie on the line where the model is right
    on_line = np.interp(measured.get_xdata(), lines["fits best"].get_xdata(), lines["fits best"].get_ydata())
    np.testing.assert_allclose(on_line, [row.fitted_l for row in demo.compared])
    assert store.get_title(loc="left") == "Class-room tank"
    assert lines["site file"].get_linestyle() != lines["fits best"].get_linestyle()  # told apart without colour
    assert rain.get_xlim() == store.get_xlim()


def test_the_picture_is_a_file_of_its_kind(demo):
    assert fit_picture(demo, ".png").startswith(b"\x89PNG")
    with pytest.raises(OutputError, match=r"choose \.png, \.svg or \.pdf"):
        fit_picture(demo, ".gif")


# ---- A shape that does not fit its tank ----


def odd(tmp_path, text):
    path = tmp_path / "site.toml"
    path.write_text(text, "utf-8")
    (tmp_path / "weather.csv").write_bytes((DEMO.parent / "weather.csv").read_bytes())
    site = open_site(path)
    return [line for line in oddities(run(site.site, site.weather)) if "shape" in line or "inner_" in line]


@pytest.mark.parametrize(
    ("capacity_l", "is_odd"), [(1500, False), (1365, False), (1360, True), (1660, False), (1670, True)]
)
def test_a_shape_that_holds_another_volume_looks_odd(tmp_path, capacity_l, is_odd):
    """The cylinder holds pi/4 x 1.3 x 1.3 x 1.13 = 1.4999 m3."""
    text = (DEMO / "site.toml").read_text("utf-8").replace("../weather.csv", "weather.csv")
    said = odd(tmp_path, text.replace("capacity_l = 1500", f"capacity_l = {capacity_l}"))
    assert len(said) == is_odd
    for line in said:
        assert line.startswith(
            f"Class-room tank holds {round(capacity_l, -1):,} L by capacity_l and 1,500 L by its shape"
        )


def test_sizes_without_effect_look_odd(tmp_path):
    text = (DEMO / "site.toml").read_text("utf-8").replace("../weather.csv", "weather.csv")
    assert odd(tmp_path, text) == []
    assert odd(tmp_path, text.replace('shape = "upright-cylinder"', "")) == [
        "Class-room tank has inner_diameter_m and inner_height_m, which have no effect without shape."
    ]
    assert odd(tmp_path, text.replace("inner_height_m", "inner_width_m = 2\ninner_height_m")) == [
        'Class-room tank has inner_width_m, which has no effect beside shape = "upright-cylinder".'
    ]
