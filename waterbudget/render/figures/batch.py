"""The picture of very many gardens: litres of store against the worst day's mains water, or that of every day."""

from typing import TYPE_CHECKING

import numpy as np

from waterbudget.answers.english import litres
from waterbudget.errors import InputError
from waterbudget.render.figures.panels import (
    ALERT,
    DASHES,
    INK,
    PALE_WATER,
    TITLE_PT,
    WATER,
    Given,
    Panels,
    draw_dates,
    draw_head,
    draw_legend,
    draw_plain,
    midnights_of,
    panels,
)
from waterbudget.units import L_PER_M3, WEEK_DAYS

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from waterbudget.batch.run import Done

HEIGHT_IN = 4.2


def batch(done: "Done", ax: Given = None) -> Panels:
    """With sizes the worst day of mains water over litres of store at each garden; else the mains water of every day.

    Both beside what it would be without stores. ax: one axes to draw in; without it a new figure is made. Returns these
    axes. Raises InputError where no site ran, or the axes are too many.
    """
    if not done.together:
        raise InputError("no site ran, so there is nothing to draw; see the column error of the results")
    with panels([HEIGHT_IN], ax, "for the mains water") as axes:
        (_draw_sizes if done.sizes else _draw_days)(axes[0], done)
    return axes


def _draw_sizes(panel: "Axes", done: "Done") -> None:
    every = [one for one in done.together if not one.group]
    store_l = [one.capacity_l or 0.0 for one in every]
    day_m3 = [one.day.litres / L_PER_M3 for one in every]
    week_m3 = [one.week.litres / L_PER_M3 / WEEK_DAYS for one in every]
    draw_head(panel, "Mains water on the worst day, by size of store", TITLE_PT, [""])
    panel.axhline(every[0].bare_day.litres / L_PER_M3, color=ALERT, linestyle=DASHES, label="worst, no stores")
    panel.plot(store_l, day_m3, "o-", color=WATER, linewidth=2, label="worst day")
    panel.plot(store_l, week_m3, "s:", color=INK, linewidth=1.5, label="mean of worst week")
    panel.set(xlabel="Store at each garden (L)", ylabel="Mains water (m³ a day)")
    panel.set_ylim(bottom=0.0)
    panel.set_xticks(store_l, [litres(size) for size in store_l], rotation=30)
    draw_plain(panel)
    draw_legend(panel)


def _draw_days(panel: "Axes", done: "Done") -> None:
    summed = done.daily.groupby("date")[["asked_l", "needed_l"]].sum() / L_PER_M3
    days = summed.index.to_numpy().astype("M8[D]")
    noons = midnights_of(days)[:-1] + 0.5
    draw_head(panel, "Mains water of all gardens, day by day", TITLE_PT, [""])
    panel.fill_between(
        noons, summed["asked_l"].to_numpy(np.float64), color=PALE_WATER, step="mid", label="without stores"
    )
    panel.plot(noons, summed["needed_l"], color=WATER, linewidth=1.5, label="with their stores")
    draw_dates(panel, days, labelled=True)
    panel.set(ylabel="Mains water (m³ a day)")
    panel.set_ylim(bottom=0.0)
    draw_plain(panel)
    draw_legend(panel)
