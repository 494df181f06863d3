"""The pictures of a run. Each function draws a result and returns its axes; figure_bytes makes a file of a figure."""

import io
import textwrap
import warnings
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from waterbudget.errors import InputError, OutputError
from waterbudget.report.words import count, in_words, litres
from waterbudget.simulate.result import Result
from waterbudget.simulate.totals import SHORT_L
from waterbudget.units import Array, BoolArray
from waterbudget.variables import REGISTER

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDTH_IN = 7.0
HEAD_IN, RAIN_IN, LEVEL_IN, ROW_IN = 0.9, 0.7, 1.45, 0.25  # title and dates; rain; a store's level; a row under it
GAP_IN = 0.07
DPI = 150
SMALL_PT, TEXT_PT, TITLE_PT = 11.0, 12.0, 15.0  # so large because a phone shows seven inches as two and a half
LINE_PT = 15.5
STYLE: Any = {
    "font.size": TEXT_PT,
    "text.parse_math": False,  # a name may hold dollar signs
    "text.usetex": False,
    "hatch.linewidth": 0.8,
}

# Apart for every kind of colour vision, as a test measures; hatch, mark and place say the same without any colour.
WATER, PALE_WATER, USE, INK, FAINT = "#1f6a9a", "#cfe1ec", "#55504a", "#222222", "#8a8a8a"
BARRED = {"inflow_l": WATER, "drawn_l": USE}
MARKED = {"short_l": ("#c8501e", "////", "x"), "mains_l": ("#220561", "----", "o")}  # colour, hatch, mark

HEADROOM = 1.04  # top of a store's axis, in capacities
ROW, ROW_STEP = 0.18, 0.26  # height of a row, and with the gap above it, in capacities
NAME_LETTERS = 30  # a line
LEAST_RAIN_MM = 1.0  # top of the axis of a period without rain

DAY_STEPS = (1, 2, 4, 7, 14)
MONTH_STEPS = (1, 2, 3, 6, 12, 24, 60, 120, 600)
MOST_DAYS, MOST_MONTHS = 6, 12  # labels side by side
MONTHS_A_YEAR = 12


def level(result: Result, ax: NDArray[np.object_] | None = None) -> NDArray[np.object_]:
    """The level of every store over the period, with rain, catch, draws and the days short or with mains water.

    ax: axes to draw in, one for the rain and one for each store; without it a new figure is made. Returns these axes.
    A store's rows (water in, drawn and, where there are such days, short and mains) are child axes of its own.
    Raises InputError where the result has no daily tables, or the axes are too few or too many.
    """
    import matplotlib as mpl
    import pandas as pd

    if result.tanks.empty:
        raise InputError("there are no daily tables to draw; run with daily=True")
    books = [book for _, book in result.tanks.groupby("tank", sort=False)]
    dates = pd.DatetimeIndex(result.weather.daily.index)
    days = dates.to_numpy().astype("M8[D]").astype(np.float64)  # since 1970, as matplotlib counts
    midnights = np.append(days, days[-1] + 1.0)
    with mpl.rc_context(STYLE):
        axes = _new_axes([len(_rows(book)) for book in books]) if ax is None else np.ravel(ax)
        if len(axes) != 1 + len(books):
            raise InputError(f"got {len(axes)} axes to draw in; give {1 + len(books)}, for the rain and each store")
        _draw_rain(axes[0], midnights, result)
        tanks = zip(axes[1:], result.summary["tanks"], result.site.tank, books, strict=True)
        for panel, tank, site_tank, book in tanks:
            _draw_store(panel, midnights, tank, site_tank.dead_l, book)
        for panel in axes:
            draw_dates(panel, midnights, dates, labelled=panel is axes[-1])
    return axes


def figure_bytes(figure: "Figure", suffix: str) -> bytes:
    """A figure as the content of a .png, .svg or .pdf file: always the same bytes, and its title for screen readers.

    The layout is settled by it: text that changes afterwards is not made room for. Raises OutputError for another
    suffix.
    """
    import matplotlib as mpl

    undated: dict[str, dict[str, str | None]] = {
        ".png": {"Software": None},
        ".svg": {"Date": None, "Creator": None},
        ".pdf": {"CreationDate": None, "Creator": None, "Producer": None},
    }
    kind = suffix.lower()
    if kind not in undated:
        raise OutputError(f'"{suffix}" is no kind of picture; choose .png, .svg or .pdf')
    title = next((panel.get_title(loc="left") for panel in figure.axes), "")
    content = io.BytesIO()
    with mpl.rc_context({"svg.hashsalt": "waterbudget"}), warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing")  # boxes stand for letters that the font lacks
        _settle(figure)
        figure.savefig(content, format=kind[1:], dpi=DPI, metadata={"Title": title, **undated[kind]})
    return content.getvalue()


def level_picture(result: Result, suffix: str) -> bytes:
    """The picture of the levels as the content of a .png, .svg or .pdf file. Raises OutputError for another suffix."""
    return figure_bytes(level(result)[0].figure, suffix)


def _settle(figure: "Figure") -> None:
    """Lay the figure out for good, rounded: the solver's last digits differ at times, and an SVG's ids with them."""
    if engine := figure.get_layout_engine():
        engine.execute(figure)
        figure.set_layout_engine("none")
    for panel in figure.axes:
        left, bottom, width, height = (round(part, 6) for part in panel.get_position().bounds)
        panel.set_position((left, bottom, width, height))


def _new_axes(rows: list[int]) -> NDArray[np.object_]:
    from matplotlib.figure import Figure
    from matplotlib.layout_engine import ConstrainedLayoutEngine

    heights_in = [RAIN_IN, *(LEVEL_IN + ROW_IN * number for number in rows)]
    figure = Figure(figsize=(WIDTH_IN, HEAD_IN + sum(heights_in)), layout=ConstrainedLayoutEngine(h_pad=GAP_IN))
    return np.ravel(figure.subplots(len(heights_in), 1, height_ratios=heights_in))


def _draw_rain(panel: "Axes", midnights: Array, result: Result) -> None:
    rain, rain_mm = REGISTER["rain_mm"], result.weather.daily["rain_mm"]
    panel.stairs(rain_mm, midnights, fill=True, color=WATER, label=rain.heading)
    panel.set_ylim(0.0, max(LEAST_RAIN_MM, rain_mm.max()))
    panel.set_ylabel(rain.heading.replace(" ", "\n"), color=INK)
    panel.locator_params(axis="y", nbins=3)
    draw_head(panel, _verdict(result), TITLE_PT, _facts(result))


def _draw_store(panel: "Axes", midnights: Array, tank: dict[str, Any], dead_l: float, book: "pd.DataFrame") -> None:
    capacity_l = tank["capacity_l"]
    level_l = np.append(tank["start_l"], book["level_l"])  # every evening, after the level at the start
    short, mains = _marked(book, "short_l"), _marked(book, "mains_l")
    panel.fill_between(midnights, level_l, color=PALE_WATER, linewidth=0)
    _hatch(panel, midnights, short & ~mains, capacity_l, "short_l")
    _hatch(panel, midnights, mains, capacity_l, "mains_l")
    panel.plot(midnights, level_l, color=WATER, linewidth=1.6, label=REGISTER["level_l"].heading)
    panel.axhline(0.0, color=INK, linewidth=0.8)
    draw_limit(panel, "capacity_l", capacity_l, (6, 3), "bottom")
    if dead_l > 0.0:
        panel.axhspan(0.0, dead_l, color=FAINT, alpha=0.4, linewidth=0)
        draw_limit(panel, "dead_l", dead_l, (1, 2), "bottom" if dead_l < capacity_l / 2 else "top")
    draw_head(panel, textwrap.fill(tank["name"], NAME_LETTERS), TEXT_PT, [_told(book)])

    rows = _rows(book)
    below = ROW_STEP * len(rows)  # the foot of the panel is theirs
    height = HEADROOM + below
    panel.set_ylim(-below * capacity_l, HEADROOM * capacity_l)
    panel.set_ylabel(REGISTER["level_l"].heading, y=(below + 0.5) / height, color=INK)
    draw_level_ticks(panel, capacity_l)
    for number, name in enumerate(rows, 1):
        row = panel.inset_axes((0.0, (below - ROW_STEP * number) / height, 1.0, ROW / height))
        _draw_row(row, midnights, name, book)


def draw_level_ticks(panel: "Axes", capacity_l: float) -> None:
    from matplotlib.ticker import MaxNLocator

    ticks = [tick for tick in MaxNLocator(4, steps=[1, 2, 5, 10]).tick_values(0.0, capacity_l) if tick <= capacity_l]
    panel.set_yticks(ticks, [f"{tick:,.10g}" for tick in ticks])
    panel.spines["bottom"].set_visible(False)
    panel.spines["left"].set_bounds(0.0, capacity_l)


def draw_limit(panel: "Axes", name: str, limit_l: float, dashes: tuple[int, int], side: str) -> None:
    limit = REGISTER[name]
    panel.axhline(limit_l, color=INK, linewidth=1.0, linestyle=(0, dashes), label=limit.heading)
    panel.annotate(
        f"{limit.label}\n{litres(limit_l)} L",
        (1.0, limit_l),
        (4, 0),
        panel.get_yaxis_transform(),
        "offset points",
        va=side,
        fontsize=SMALL_PT,
        color=INK,
    )


def _draw_row(row: "Axes", midnights: Array, name: str, book: "pd.DataFrame") -> None:
    quantity = REGISTER[name]
    if name in BARRED:
        most_l = float(book[name].max())
        row.stairs(book[name], midnights, fill=True, color=BARRED[name], label=quantity.heading)
        top_l = most_l or 1.0
        row.set_ylim(0.0, top_l)
        row.set_yticks([top_l], [f"to {litres(most_l)} L" if most_l else "none"], va="top")
        row.yaxis.tick_right()
    else:
        colour, _, mark = MARKED[name]
        middays = midnights[:-1][_marked(book, name)] + 0.5
        row.plot(middays, np.zeros_like(middays), mark, ms=5, mfc="none", color=colour, label=quantity.heading)
        row.set_yticks([])
        row.spines["bottom"].set_visible(False)
    row.set_xlim(midnights[0], midnights[-1])
    row.set_xticks([])
    row.patch.set_visible(False)
    row.tick_params(axis="y", labelsize=SMALL_PT, length=0, labelcolor=INK)
    row.spines[["left", "top", "right"]].set_visible(False)
    row.set_ylabel(quantity.label, rotation=0, ha="right", va="center", color=INK)


def _hatch(panel: "Axes", midnights: Array, days: BoolArray, height_l: float, name: str) -> None:
    """Hatch the days from the foot to the height, each spell of days in one piece."""
    colour, hatch, _ = MARKED[name]
    turns = np.flatnonzero(np.diff(days, prepend=False, append=False)).reshape(-1, 2)
    spells = [(midnights[first], midnights[after] - midnights[first]) for first, after in turns]
    label = REGISTER[name].heading
    panel.broken_barh(
        spells, (0.0, height_l), facecolor="none", edgecolor=colour, hatch=hatch, linewidth=0, label=label
    )


def draw_head(panel: "Axes", title: str, size_pt: float, lines: list[str]) -> None:
    """A bold title with plain lines under it, above the axes and flush with them."""
    panel.set_title(title, loc="left", fontsize=size_pt, fontweight="bold", color=INK, pad=7.0 + LINE_PT * len(lines))
    panel.annotate("\n".join(lines), (0, 1), (0, 6), "axes fraction", "offset points", color=INK)


def draw_dates(panel: "Axes", midnights: Array, dates: "pd.DatetimeIndex", *, labelled: bool) -> None:
    ticks, labels = _date_ticks(midnights, dates)
    panel.set_xlim(midnights[0], midnights[-1])
    panel.set_xticks(ticks, labels if labelled else [""] * len(labels))
    panel.tick_params(labelsize=SMALL_PT, labelcolor=INK, color=FAINT)
    panel.tick_params(axis="x", length=0)
    panel.grid(axis="x", color=FAINT, alpha=0.35, linewidth=0.6)
    panel.set_axisbelow(True)
    panel.spines[["top", "right"]].set_visible(False)


def _date_ticks(midnights: Array, dates: "pd.DatetimeIndex") -> tuple[Array, list[str]]:
    """Middays of a short period or firsts of the month of a long one, few enough to stand side by side."""
    if len(dates) <= MOST_DAYS * DAY_STEPS[-1]:
        step = next(step for step in DAY_STEPS if len(dates) <= MOST_DAYS * step)
        return midnights[:-1:step] + 0.5, [f"{date.day} {date:%b}" for date in dates[::step]]
    is_first = dates.day == 1
    step = next(step for step in MONTH_STEPS if is_first.sum() <= MOST_MONTHS * step)
    is_tick = is_first & ((dates.year * MONTHS_A_YEAR + dates.month - 1) % step == 0)
    if step >= MONTHS_A_YEAR:
        return midnights[:-1][is_tick], [str(date.year) for date in dates[is_tick]]
    one_year = dates[0].year == dates[-1].year
    labels = [f"{date:%b}" if one_year or date.month > 1 else f"{date:%b}\n{date.year}" for date in dates[is_tick]]
    return midnights[:-1][is_tick], labels


def _rows(book: "pd.DataFrame") -> list[str]:
    return [*BARRED, *(name for name in MARKED if _marked(book, name).any())]


def _marked(book: "pd.DataFrame", name: str) -> BoolArray:
    return (book[name] > SHORT_L).to_numpy()


def _verdict(result: Result) -> str:
    summary = result.summary
    first, last = (summary[end][:4] for end in ("start", "end"))
    year = first if first == last else f"{first}\N{EN DASH}{last}"
    if summary["asked_l"] == 0.0:
        return f"{year}: no water was asked for"
    if summary["first_short"] is None:
        mains = " with mains water" if summary["mains_days"] else ""
        return f"{year}: enough{mains} for {count(summary['days'], 'day')}"
    if summary["days_lasted"] == 0:
        return f"{year}: short from the first day"
    return f"{year}: the stored rain lasts {count(summary['days_lasted'], 'day')}"


def _facts(result: Result) -> list[str]:
    """How much and how often the stores were short, and what the mains gave; no line where there is nothing to tell."""
    tanks, summary = result.tanks, result.summary
    more_years = summary["start"][:4] != summary["end"][:4]
    facts = []
    for name, words in (("short_l", "Short of"), ("mains_l", "Mains gave")):
        days = tanks.loc[_marked(tanks, name), "date"].unique()
        if len(days):
            of_all = f"{len(days):,} of {count(summary['days'], 'day')}"
            first = in_words(days[0].date(), year=more_years)
            facts.append(f"{words} {litres(tanks[name].sum())} L on {of_all}, first on {first}")
    return facts


def _told(book: "pd.DataFrame") -> str:
    short, mains = (int(_marked(book, name).sum()) for name in MARKED)
    told = f"Short of {litres(book['short_l'].sum())} L on {count(short, 'day')}" if short else "Never short"
    return f"{told}, mains {litres(book['mains_l'].sum())} L" if mains else told
