"""The pictures of a run. Each function draws a result and returns its axes; figure_bytes makes a file of a figure."""

import io
import textwrap
import warnings
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from waterbudget.errors import InputError, OutputError
from waterbudget.simulate.result import Result
from waterbudget.simulate.totals import SHORT_L
from waterbudget.units import Array, BoolArray
from waterbudget.variables import REGISTER

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDTH_IN = 7.0
HEAD_IN, LEVEL_IN, ROW_IN = 1.6, 1.45, 0.25  # title, rain and dates; a store's name and level; a row under it
GAP_IN = 0.07
DPI = 150
SMALL_PT, TEXT_PT, TITLE_PT = 10.0, 11.0, 14.0  # a phone shows seven inches as two and a half
STYLE: dict[str, Any] = {
    "font.size": TEXT_PT,
    "text.parse_math": False,  # a name may hold dollar signs
    "text.usetex": False,
    "hatch.linewidth": 0.8,
}

# The hues keep apart for every kind of colour vision; hatch, mark and place say the same without any colour.
WATER, PALE_WATER, USE, INK, FAINT = "#1f6a9a", "#cfe1ec", "#55504a", "#222222", "#8a8a8a"
BARRED = {"inflow_l": WATER, "drawn_l": USE}
MARKED = {"short_l": ("#c8501e", "////", "x"), "mains_l": ("#5d4a8c", "----", "o")}  # colour, hatch, mark

HEADROOM = 1.04  # top of a store's axis, in capacities
ROW, ROW_STEP = 0.17, 0.25  # height of a row, and with the gap above it, in capacities
NAME_LETTERS = 34  # a line, beside what is told of the store

DAY_STEPS = (1, 2, 4, 7, 14)
MONTH_STEPS = (1, 2, 3, 6, 12, 24, 60, 120, 600)
MOST_DAYS, MOST_MONTHS = 6, 12  # labels side by side
MONTHS_A_YEAR = 12
WHOLE_LITRES = 10.0  # below this decimals matter
LEAST_RAIN_MM = 1.0  # top of the axis of a period without rain


def level(result: Result, ax: NDArray[np.object_] | None = None) -> NDArray[np.object_]:
    """The level of every store over the period, with rain, catch, draws and the days short or with mains water.

    ax: axes to draw in, one for the rain and one for each store; without it a new figure is made. Returns these axes.
    A store's rows (water in, drawn and, where there are such days, short and mains) are child axes of its own.
    Raises InputError where the result has no daily tables, or the axes are too few or too many.
    """
    import matplotlib as mpl
    from matplotlib.dates import date2num

    if result.tanks.empty:
        raise InputError("there are no daily tables to draw; run with daily=True")
    books = [book for _, book in result.tanks.groupby("tank", sort=False)]
    with mpl.rc_context(STYLE):
        axes = _new_axes([len(_rows(book)) for book in books]) if ax is None else np.ravel(ax)
        if len(axes) != 1 + len(books):
            raise InputError(f"got {len(axes)} axes to draw in; give {1 + len(books)}, for the rain and each store")
        dates = result.weather.daily.index
        midnights = np.append(date2num(dates), date2num(dates[-1]) + 1.0)
        _draw_rain(axes[0], midnights, result)
        tanks = zip(axes[1:], result.summary["tanks"], result.site.tank, books, strict=True)
        for panel, tank, site_tank, book in tanks:
            _draw_store(panel, midnights, tank, site_tank.dead_l, book)
        for panel in axes:
            _draw_dates(panel, midnights, dates, labelled=panel is axes[-1])
    return axes


def figure_bytes(figure: "Figure", suffix: str) -> bytes:
    """A figure as the content of a .png, .svg or .pdf file: the same bytes each time, with its title for screen readers.

    Raises OutputError for another suffix.
    """
    import matplotlib as mpl

    undated: dict[str, dict[str, str | None]] = {
        ".png": {"Software": None},
        ".svg": {"Date": None, "Creator": None},
        ".pdf": {"CreationDate": None, "Creator": None, "Producer": None},
    }
    if suffix.lower() not in undated:
        raise OutputError(f'"{suffix}" is no kind of picture; choose .png, .svg or .pdf')
    title = next((panel.get_title(loc="left") for panel in figure.axes), "")
    content = io.BytesIO()
    with mpl.rc_context({"svg.hashsalt": "waterbudget"}), warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing")  # boxes stand for letters that the font lacks
        _settle(figure)
        figure.savefig(
            content, format=suffix.lower()[1:], dpi=DPI, metadata={"Title": title, **undated[suffix.lower()]}
        )
    return content.getvalue()


def level_picture(result: Result, suffix: str) -> bytes:
    """The picture of the levels as the content of a .png, .svg or .pdf file. Raises OutputError for another suffix."""
    return figure_bytes(level(result)[0].figure, suffix)


def _settle(figure: "Figure") -> None:
    """Lay the figure out for good: the solver's last digits, and the ids in an SVG with them, change from time to time."""
    if engine := figure.get_layout_engine():
        engine.execute(figure)
        figure.set_layout_engine("none")
    for panel in figure.axes:
        left, bottom, width, height = (round(part, 6) for part in panel.get_position().bounds)
        panel.set_position((left, bottom, width, height))


def _new_axes(rows: list[int]) -> NDArray[np.object_]:
    from matplotlib.figure import Figure

    heights_in = [LEVEL_IN + ROW_IN * number for number in rows]
    figure = Figure(figsize=(WIDTH_IN, HEAD_IN + sum(heights_in)), layout="constrained")
    figure.get_layout_engine().set(h_pad=GAP_IN)
    return np.ravel(figure.subplots(1 + len(rows), 1, height_ratios=[0.5 * LEVEL_IN, *heights_in]))


def _draw_rain(panel: "Axes", midnights: Array, result: Result) -> None:
    rain, rain_mm = REGISTER["rain_mm"], result.weather.daily["rain_mm"]
    panel.stairs(rain_mm, midnights, fill=True, color=WATER, label=rain.heading)
    panel.set_ylim(0.0, max(LEAST_RAIN_MM, rain_mm.max()))
    panel.set_ylabel(rain.heading.replace(" ", "\n"), color=INK)
    panel.locator_params(axis="y", nbins=3)
    _head(panel, _verdict(result), TITLE_PT, _facts(result))


def _draw_store(panel: "Axes", midnights: Array, tank: dict[str, Any], dead_l: float, book: "pd.DataFrame") -> None:
    from matplotlib.ticker import MaxNLocator

    capacity_l = tank["capacity_l"]
    level_l = np.append(tank["start_l"], book["level_l"])  # every evening, after the level at the start
    short, mains = _marked(book, "short_l"), _marked(book, "mains_l")
    panel.fill_between(midnights, level_l, color=PALE_WATER, linewidth=0)
    _hatch(panel, midnights, short & ~mains, capacity_l, "short_l")
    _hatch(panel, midnights, mains, capacity_l, "mains_l")
    panel.plot(midnights, level_l, color=WATER, linewidth=1.6, label=REGISTER["level_l"].heading)
    panel.axhline(0.0, color=INK, linewidth=0.8)
    _draw_limit(panel, "capacity_l", capacity_l, (6, 3), "bottom")
    if dead_l > 0.0:
        panel.axhspan(0.0, dead_l, color=FAINT, alpha=0.4, linewidth=0)
        _draw_limit(panel, "dead_l", dead_l, (1, 2), "bottom" if dead_l < capacity_l / 2 else "top")

    rows = _rows(book)
    below = ROW_STEP * len(rows)
    height = HEADROOM + below
    panel.set_ylim(-below * capacity_l, HEADROOM * capacity_l)
    panel.set_ylabel(REGISTER["level_l"].heading, y=(below + 0.5) / height, color=INK)
    ticks = [tick for tick in MaxNLocator(4, steps=[1, 2, 5, 10]).tick_values(0.0, capacity_l) if tick <= capacity_l]
    panel.set_yticks(ticks, [f"{tick:,.10g}" for tick in ticks])
    panel.spines["bottom"].set_visible(False)
    panel.spines["left"].set_bounds(0.0, capacity_l)
    for number, name in enumerate(rows, 1):
        row = panel.inset_axes((0.0, (below - ROW_STEP * number) / height, 1.0, ROW / height))
        _draw_row(row, midnights, name, book)
    _head(panel, textwrap.fill(_plain(tank["name"]), NAME_LETTERS), TEXT_PT, [_told(book)])


def _head(panel: "Axes", title: str, size_pt: float, lines: list[str]) -> None:
    """A bold title with plain lines under it, above the axes and flush with them."""
    panel.set_title(title, loc="left", fontsize=size_pt, fontweight="bold", color=INK, pad=7.0 + 14.5 * len(lines))
    panel.annotate("\n".join(lines), (0, 1), (0, 6), "axes fraction", "offset points", color=INK)


def _draw_limit(panel: "Axes", name: str, litres: float, dashes: tuple[int, int], side: str) -> None:
    limit = REGISTER[name]
    panel.axhline(litres, color=INK, linewidth=1.0, linestyle=(0, dashes), label=limit.heading)
    panel.annotate(
        f"{limit.label}\n{_litres(litres)}",
        (1.0, litres),
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
        litres, most_l = book[name], float(book[name].max())
        row.stairs(litres, midnights, fill=True, color=BARRED[name], label=quantity.heading)
        top_l = most_l or 1.0
        row.set_ylim(0.0, top_l)
        row.set_yticks([top_l], [f"to {_litres(most_l)}" if most_l else "none"], va="top")
        row.yaxis.tick_right()
    else:
        colour, _, mark = MARKED[name]
        middays = midnights[:-1][_marked(book, name)] + 0.5
        row.plot(
            middays,
            np.zeros_like(middays),
            mark,
            color=colour,
            markersize=4.5,
            fillstyle="none",
            label=quantity.heading,
        )
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
    panel.broken_barh(spells, (0.0, height_l), facecolor="none", edgecolor=colour, hatch=hatch, linewidth=0)


def _draw_dates(panel: "Axes", midnights: Array, dates: "pd.DatetimeIndex", *, labelled: bool) -> None:
    panel.set_xlim(midnights[0], midnights[-1])
    ticks, labels = _date_ticks(dates)
    panel.set_xticks(ticks, labels if labelled else [""] * len(ticks))
    panel.tick_params(labelsize=SMALL_PT, labelcolor=INK, color=FAINT)
    panel.tick_params(axis="x", length=0)
    panel.grid(axis="x", color=FAINT, alpha=0.35, linewidth=0.6)
    panel.set_axisbelow(True)
    panel.spines[["top", "right"]].set_visible(False)


def _date_ticks(dates: "pd.DatetimeIndex") -> tuple["pd.DatetimeIndex", list[str]]:
    """Days of a short period or firsts of the month of a long one, few enough to stand side by side."""
    import pandas as pd

    if len(dates) <= MOST_DAYS * DAY_STEPS[-1]:
        step = next(step for step in DAY_STEPS if len(dates) <= MOST_DAYS * step)
        return dates[::step] + pd.Timedelta(hours=12), [_day_month(date) for date in dates[::step]]
    firsts = dates[dates.day == 1]
    step = next(step for step in MONTH_STEPS if len(firsts) <= MOST_MONTHS * step)
    firsts = firsts[(firsts.year * MONTHS_A_YEAR + firsts.month - 1) % step == 0]
    if step >= MONTHS_A_YEAR:
        return firsts, [str(first.year) for first in firsts]
    one_year = dates[0].year == dates[-1].year
    return firsts, [f"{first:%b}" if one_year or first.month > 1 else f"{first:%b}\n{first.year}" for first in firsts]


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
        return f"{year}: enough{' with mains' if summary['mains_days'] else ''} for {_days(summary['days'])}"
    if summary["days_lasted"] == 0:
        return f"{year}: short from the first day"
    return f"{year}: the water lasts {_days(summary['days_lasted'])}"


def _facts(result: Result) -> list[str]:
    """When and how often the stores were short, and what the mains gave; no lines where there is nothing to tell."""
    tanks, days = result.tanks, result.summary["days"]
    one_year = result.summary["start"][:4] == result.summary["end"][:4]
    facts = []
    for name, words in (("short_l", "Short of"), ("mains_l", "Mains gave")):
        marked = tanks.loc[_marked(tanks, name), "date"].unique()
        if len(marked):
            first = _day_month(marked[0]) if one_year else f"{_day_month(marked[0])} {marked[0].year}"
            facts.append(f"{words} {_litres(tanks[name].sum())} on {len(marked):,} of {_days(days)}, first on {first}")
    return facts


def _told(book: "pd.DataFrame") -> str:
    short, mains = (int(_marked(book, name).sum()) for name in MARKED)
    told = f"Short of {_litres(book['short_l'].sum())} on {_days(short)}" if short else "Never short"
    return f"{told}, mains {_litres(book['mains_l'].sum())}" if mains else told


def _plain(name: str) -> str:
    """On one line, and nothing in it that a picture cannot hold."""
    return "".join(letter if letter.isprintable() else "?" for letter in " ".join(name.split()))


def _days(number: int) -> str:
    return "1 day" if number == 1 else f"{number:,} days"


def _day_month(date: "pd.Timestamp") -> str:
    return f"{date.day} {date:%b}"


def _number(number: float) -> str:
    return f"{number:,.10g}"


def _litres(litres: float) -> str:
    return f"{litres:,.0f} L" if litres >= WHOLE_LITRES else f"{litres:.2g} L"
