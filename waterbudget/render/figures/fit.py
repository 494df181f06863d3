"""The picture of a fit: the measured levels on the modelled ones, by the site file and as they fit best."""

import textwrap
from typing import TYPE_CHECKING

import numpy as np

from waterbudget.answers.english import litres, span
from waterbudget.render.figures.panels import (
    ALERT,
    CLEAR_PT,
    DASHES,
    INK,
    NAME_LETTERS,
    TEXT_PT,
    TITLE_PT,
    WATER,
    Given,
    Panels,
    draw_dates,
    draw_head,
    draw_legend,
    draw_rain,
    draw_tank,
    midnights_of,
    panels,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from waterbudget.journal.fit import Fit
    from waterbudget.site.model import Tank
    from waterbudget.units import Array

RAIN_IN, STORE_IN = 1.6, 2.6  # a panel with its head


def fit(fitted: "Fit", ax: Given = None) -> Panels:
    """Rain over a panel for each store with readings: measured levels, modelled by the site file and as they fit best.

    ax: axes to draw in, one for the rain and one for each such store; without it a new figure is made. Returns these
    axes. A modelled level is drawn at the end of its day, where it was measured. Raises InputError where the axes are
    too few or too many.
    """
    readings = fitted.readings
    weather = fitted.opened.weather.between(readings.first_day, readings.last_day)
    midnights = midnights_of(weather.days)
    stores = [(number, tank) for number, tank in enumerate(fitted.site.tank) if tank.name in fitted.readings.level_l]
    heights_in = [RAIN_IN, *(STORE_IN for _ in stores)]
    with panels(heights_in, ax, "for the rain and each store with readings") as axes:
        draw_rain(axes[0], midnights, weather.readings["rain_mm"])
        draw_head(axes[0], "Measured against modelled", TITLE_PT, [span(readings.first_day, readings.last_day)])
        for panel, (number, tank) in zip(axes[1:], stores, strict=True):
            _draw_store(panel, midnights, fitted, tank, number)
        for panel in axes:
            draw_dates(panel, weather.days, labelled=panel is not axes[0], pad_pt=CLEAR_PT)
    return axes


def _draw_store(panel: "Axes", midnights: "Array", fitted: "Fit", tank: "Tank", number: int) -> None:
    evenings = midnights[1:]
    measured = [(row.date, row.measured_l) for row in fitted.compared if row.tank == tank.name]
    at = [float(np.datetime64(day, "D").astype(np.int64)) + 1.0 for day, _ in measured]
    now_l, best_l = fitted.misses_l(tank.name)
    shown = [
        *panel.plot(
            evenings, fitted.now_l[:, number], color=ALERT, linewidth=1.5, linestyle=DASHES, label="site file"
        ),
        *panel.plot(evenings, fitted.fitted_l[:, number], color=WATER, linewidth=1.8, label="fits best"),
        *panel.plot(
            at, [level_l for _, level_l in measured], "o", ms=5, mfc="white", mec=INK, mew=1.3, clip_on=False,
            zorder=5, label="measured",
        ),
    ]  # fmt: skip
    draw_tank(panel, tank)
    told = f"Off by {litres(now_l)} L by the site file, by {litres(best_l)} L where it fits best"
    draw_head(panel, textwrap.fill(tank.name, NAME_LETTERS), TEXT_PT, [told, ""])
    draw_legend(panel, shown)
