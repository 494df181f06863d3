"""The picture of a fit: the measured levels on the modelled ones, by the site file and as they fit best."""

import textwrap
from typing import TYPE_CHECKING

import numpy as np

from waterbudget.report.figures import (
    FAINT,
    GAP_IN,
    HEADROOM,
    INK,
    LEAST_RAIN_MM,
    MARKED,
    NAME_LETTERS,
    SMALL_PT,
    STYLE,
    TEXT_PT,
    TITLE_PT,
    WATER,
    WIDTH_IN,
    draw_dates,
    draw_head,
    draw_level_ticks,
    draw_limit,
    figure_bytes,
)
from waterbudget.report.words import litres, span
from waterbudget.variables import REGISTER

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from waterbudget.journal.fit import Fit
    from waterbudget.site.model import Tank
    from waterbudget.units import Array

RAIN_IN, STORE_IN = 1.6, 2.6  # a panel with its head
BEFORE, DASHES = MARKED["short_l"][0], (0, (5, 2))  # dashed, so that it shows without any colour
DATE_PAD_PT = 8.0  # clear of the level's nought


def fit_figure(fitted: "Fit") -> "Figure":
    """Rain over a panel for each store with readings: measured levels, modelled by the site file and as they fit best.

    A modelled level is drawn at the end of its day, where it was measured.
    """
    import matplotlib as mpl
    from matplotlib.figure import Figure
    from matplotlib.layout_engine import ConstrainedLayoutEngine

    days = fitted.dates.to_numpy().astype("M8[D]").astype(np.float64)  # since 1970, as matplotlib counts
    midnights = np.append(days, days[-1] + 1.0)
    stores = [(number, tank) for number, tank in enumerate(fitted.site.tank) if tank.name in fitted.readings.level_l]
    heights_in = [RAIN_IN, *(STORE_IN for _ in stores)]
    with mpl.rc_context(STYLE):
        layout = ConstrainedLayoutEngine(h_pad=GAP_IN)
        figure = Figure(figsize=(WIDTH_IN, sum(heights_in)), layout=layout)
        rain, *panels = figure.subplots(len(heights_in), 1, height_ratios=heights_in)
        _draw_rain(rain, midnights, fitted)
        for panel, (number, tank) in zip(panels, stores, strict=True):
            _draw_store(panel, midnights, fitted, tank, number)
        for panel in (rain, *panels):
            draw_dates(panel, midnights, fitted.dates, labelled=panel is not rain)
        for panel in panels:
            panel.tick_params(axis="x", pad=DATE_PAD_PT)
    return figure


def fit_picture(fitted: "Fit", suffix: str) -> bytes:
    """The picture as the content of a .png, .svg or .pdf file. Raises OutputError for another suffix."""
    return figure_bytes(fit_figure(fitted), suffix)


def _draw_rain(panel: "Axes", midnights: "Array", fitted: "Fit") -> None:
    readings = fitted.readings
    rain = REGISTER["rain_mm"]
    daily = fitted.opened.weather.between(readings.first_day, readings.last_day).daily
    panel.stairs(daily["rain_mm"], midnights, fill=True, color=WATER, label=rain.heading)
    panel.set_ylim(0.0, max(LEAST_RAIN_MM, float(daily["rain_mm"].max())))
    panel.set_ylabel(rain.heading.replace(" ", "\n"), color=INK)
    panel.locator_params(axis="y", nbins=3)
    draw_head(panel, "Measured against modelled", TITLE_PT, [span(readings.first_day, readings.last_day)])


def _draw_store(panel: "Axes", midnights: "Array", fitted: "Fit", tank: "Tank", number: int) -> None:
    evenings = midnights[1:]
    measured = [(row.date, row.measured_l) for row in fitted.compared if row.tank == tank.name]
    at = [float(np.datetime64(day, "D").astype(np.int64)) + 1.0 for day, _ in measured]
    now_l, best_l = fitted.misses_l(tank.name)
    shown = [
        *panel.plot(
            evenings, fitted.now_l[:, number], color=BEFORE, linewidth=1.5, linestyle=DASHES, label="site file"
        ),
        *panel.plot(evenings, fitted.fitted_l[:, number], color=WATER, linewidth=1.8, label="fits best"),
        *panel.plot(
            at, [level_l for _, level_l in measured], "o", ms=5, mfc="white", mec=INK, mew=1.3, clip_on=False,
            zorder=5, label="measured",
        ),
    ]  # fmt: skip
    panel.axhline(0.0, color=INK, linewidth=0.8)
    draw_limit(panel, "capacity_l", tank.capacity_l, (6, 3), "top")
    if tank.dead_l > 0.0:
        panel.axhspan(0.0, tank.dead_l, color=FAINT, alpha=0.4, linewidth=0)
        draw_limit(panel, "dead_l", tank.dead_l, (1, 2), "bottom" if tank.dead_l < tank.capacity_l / 3 else "top")
    panel.set_ylim(0.0, HEADROOM * tank.capacity_l)
    panel.set_ylabel(REGISTER["level_l"].heading, color=INK)
    draw_level_ticks(panel, tank.capacity_l)
    told = f"Off by {litres(now_l)} L by the site file, by {litres(best_l)} L where it fits best"
    draw_head(panel, textwrap.fill(tank.name, NAME_LETTERS), TEXT_PT, [told, ""])
    panel.legend(
        handles=shown,
        loc="lower left",
        bbox_to_anchor=(0.0, 1.0),
        ncols=len(shown),
        frameon=False,
        fontsize=SMALL_PT,
        labelcolor=INK,
        borderaxespad=0.0,
        borderpad=0.3,
        handlelength=1.8,
        columnspacing=1.2,
    )
