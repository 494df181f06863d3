"""The picture of odds: the chance that the stored rain still lasts, and the level of each store over all the years."""

import textwrap
from typing import TYPE_CHECKING

import numpy as np

from waterbudget.answers.english import in_words
from waterbudget.answers.summers import named, of_years, one, years_tried
from waterbudget.errors import InputError
from waterbudget.odds.chances import not_above, on_grid
from waterbudget.render.figures.panels import (
    ALERT,
    CLEAR_PT,
    DASHES,
    INK,
    MARKED,
    NAME_LETTERS,
    PALE_WATER,
    SMALL_PT,
    TEXT_PT,
    TITLE_PT,
    WATER,
    Given,
    Panels,
    draw_dates,
    draw_head,
    draw_legend,
    draw_tank,
    midnights_of,
    panels,
)
from waterbudget.weather.years import season_dates

if TYPE_CHECKING:
    from matplotlib.artist import Artist
    from matplotlib.axes import Axes
    from matplotlib.typing import LineStyleType

    from waterbudget.odds.outcomes import Odds
    from waterbudget.odds.study import OddsFinding
    from waterbudget.site.model import Tank
    from waterbudget.units import Array

MOST_STORES = 4
CHANCE_IN, STORE_IN = 2.9, 2.2  # a panel with its head
TITLE_LETTERS, FACT_LETTERS = 38, 64  # a line
TEN = 10  # years whose level the band tells of
TENTH, FIFTH = 10, 5  # of the years, beyond either side of the band
TRACES: "tuple[tuple[str, LineStyleType], ...]" = (  # for each year where they are few
    (WATER, "solid"),
    (ALERT, DASHES),
    (INK, (0, (1, 1.5))),
    (MARKED["mains_l"][0], (0, (6, 2, 1, 2))),
)
DAY_STEPS = (1, 2, 5, 10, 20, 30, 60)
MOST_DAYS = 8  # labels side by side


def odds(found: "OddsFinding", ax: Given = None) -> Panels:
    """The chance of lasting so many days over the levels of up to four stores, the first ones of the site file.

    A store has the level that half of the years do not exceed, day by day, the band of 8 of 10 years (6 of 10 where
    fewer than ten stand behind it) and the worst recorded year; where they are too few for chances, every year.
    found: of find_odds with keep_levels=True. ax: axes to draw in, one for the chance and one for each store;
    without it a new figure is made. Returns these axes. Raises InputError where no levels were kept, or the axes are
    too few or too many.
    """
    _level_l(found.asked)  # refused before anything is drawn
    first_md, last_md = (str(found.asked.years.dates[day, 0])[5:] for day in (0, -1))
    days = season_dates(first_md, last_md, 1)[:, 0]
    midnights = midnights_of(days)
    stores = found.site.tank[:MOST_STORES]
    heights_in = [CHANCE_IN, *(STORE_IN for _ in stores)]
    with panels(heights_in, ax, "for the chance and each store shown") as axes:
        draw_dates(axes[0], days, labelled=False)
        _draw_chance(axes[0], midnights, found)
        for number, (panel, store) in enumerate(zip(axes[1:], stores, strict=True)):
            _draw_store(panel, midnights, found, store, number)
            draw_dates(panel, days, labelled=True, pad_pt=CLEAR_PT)
            months = [label.get_text().partition("\n")[0] for label in panel.get_xticklabels()]  # of any year
            panel.set_xticklabels(months)
    return axes


def _draw_chance(panel: "Axes", midnights: "Array", found: "OddsFinding") -> None:
    answer = found.asked
    behind = answer.years.years_behind
    lasted = answer.chance_of_lasting(np.arange(len(midnights)))
    facts = textwrap.wrap(years_tried(found).replace(" °C", "\N{NO-BREAK SPACE}°C"), FACT_LETTERS)
    if len(found.site.tank) > MOST_STORES:
        facts.append(f"Below: the first {MOST_STORES} of {len(found.site.tank)} stores")
    share = on_grid(lasted.share, behind)
    if answer.is_few:
        panel.step(midnights, share * behind, where="pre", color=WATER, linewidth=2.0, clip_on=False)
        panel.set_ylim(0.0, behind * 1.04)
        panel.set_yticks(range(behind + 1))
        panel.set_ylabel(f"{one(found).capitalize()}s in which\nthe rain lasts", color=INK)
    else:
        facts.append(f"Pale: what the chance could be with {behind} years (95 %)")
        low, high = 100.0 * lasted.low, 100.0 * lasted.high
        panel.fill_between(midnights, low, high, step="pre", color=PALE_WATER, linewidth=0)
        panel.step(midnights, 100.0 * share, where="pre", color=WATER, linewidth=2.0, clip_on=False)
        panel.set_ylim(0.0, 104.0)
        panel.set_yticks(range(0, 101, 25), [f"{tick} %" for tick in range(0, 101, 25)])
        panel.set_ylabel("Chance that the\nstored rain lasts", color=INK)
    step = next(step for step in DAY_STEPS if len(midnights) <= step * MOST_DAYS)
    panel.set_xticks(midnights[::step], [f"{day}" for day in range(0, len(midnights), step)])
    panel.set_xlabel(f"so many days from {in_words(found.first)}", fontsize=SMALL_PT, color=INK)
    draw_head(panel, textwrap.fill(_title(found), TITLE_LETTERS), TITLE_PT, facts)


def _title(found: "OddsFinding") -> str:
    answer, years = found.asked, f"{one(found)}s"
    if not answer.asked_l.any():
        return "No water was asked for"
    if not answer.runs_short.any():
        return f"Stored rain lasts in {of_years(answer, ~answer.runs_short)} {years}"
    return f"Runs short in {of_years(answer, answer.runs_short)} {years}"


def _draw_store(panel: "Axes", midnights: "Array", found: "OddsFinding", store: "Tank", number: int) -> None:
    traces = _draw_years if found.asked.is_few else _draw_fan
    shown = traces(panel, midnights, found, number)
    draw_tank(panel, store)
    draw_head(panel, textwrap.fill(store.name, NAME_LETTERS), TEXT_PT, [""])
    draw_legend(panel, shown)


def _draw_fan(panel: "Axes", midnights: "Array", found: "OddsFinding", number: int) -> "list[Artist]":
    answer, recorded = found.asked, found.recorded
    level_l = _level_l(answer)[:, number]
    in_order, tail = np.sort(level_l, axis=1), TENTH if answer.years.years_behind >= TEN else FIFTH
    left_out = in_order.shape[1] // tail
    band = panel.fill_between(
        midnights, in_order[:, left_out], in_order[:, -1 - left_out], color=PALE_WATER, linewidth=0
    )
    band.set_label(f"{TEN - 2 * TEN // tail} of {TEN} {one(found)}s")
    shown: list[Artist] = [*panel.plot(midnights, not_above(level_l, 1, 2), color=WATER, linewidth=2.0, label="middle")]
    shown.append(band)
    if recorded.needs_mains.any():
        worst = int(recorded.worst_first()[0])
        shown += panel.plot(
            midnights,
            _level_l(recorded)[:, number, worst],
            color=ALERT,
            linewidth=1.5,
            linestyle=DASHES,
            label=f"worst{'' if found.is_changed else ' recorded'}, {named(recorded, worst)}",
        )
    return shown


def _draw_years(panel: "Axes", midnights: "Array", found: "OddsFinding", number: int) -> "list[Artist]":
    recorded = found.recorded
    level_l = _level_l(recorded)[:, number]
    shown: list[Artist] = []
    for year, (colour, dashes) in zip(range(level_l.shape[1]), TRACES, strict=False):
        name = named(recorded, year)
        shown += panel.plot(midnights, level_l[:, year], color=colour, linewidth=1.6, linestyle=dashes, label=name)
    return shown


def _level_l(answer: "Odds") -> "Array":
    if answer.level_l is None:
        raise InputError("there are no levels to draw; run find_odds with keep_levels=True")
    return answer.level_l
