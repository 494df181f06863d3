"""What all pictures are made with: style, panels, dates, limits, and the file."""

import datetime as dt
import io
import warnings
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray

from waterbudget.answers.english import litres
from waterbudget.errors import InputError, OutputError, shown
from waterbudget.units import Array, BoolArray, DateArray
from waterbudget.variables import REGISTER

if TYPE_CHECKING:
    from matplotlib.artist import Artist
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from waterbudget.site.model import Tank

Panels: TypeAlias = NDArray[np.object_]  # axes, as many as a picture has panels
Given: TypeAlias = "Axes | Sequence[Axes] | Panels | None"

WIDTH_IN = 7.0
GAP_IN = 0.07
DPI = 150
SMALL_PT, TEXT_PT, TITLE_PT = 11.0, 12.0, 15.0  # so large because a phone shows seven inches as two and a half
LINE_PT = 15.5
STYLE: Any = {
    "font.size": TEXT_PT,
    "text.parse_math": False,  # a name may hold dollar signs
    "text.usetex": False,
    "hatch.linewidth": 0.8,
    "axes.titley": 1.0,  # words that stand above the axes are not looked for with every title
}

# Apart for every kind of colour vision, as a test measures; hatch, mark and place say the same without any colour.
WATER, PALE_WATER, USE, INK, FAINT = "#1f6a9a", "#cfe1ec", "#55504a", "#222222", "#8a8a8a"
MARKED = {"short_l": ("#c8501e", "////", "x"), "mains_l": ("#220561", "----", "o")}  # colour, hatch, mark
ALERT = MARKED["short_l"][0]
DASHES = (0, (5, 2))  # so that a line is told without any colour

HEADROOM = 1.04  # top of a store's axis, in capacities
NAME_LETTERS = 30  # a line
LEAST_RAIN_MM = 1.0  # top of the axis of a period without rain
NEAR_PT, CLEAR_PT = 3.5, 8.0  # from the axes to the dates: matplotlib's own, and clear of the level's nought
PT_PER_IN = 72.0
LETTER, DIGIT = 0.56, 0.64  # widths in heights of the letters: of words, and of numbers
YEAR_IN = 0.2  # a second line of the dates
HEAD_PT, TITLE_LINE = 7.0, 1.25  # from the axes to the lines of a head; height of a line of its title in letters

DAY_STEPS = (1, 2, 4, 7, 14)
MONTH_STEPS = (1, 2, 3, 6, 12, 24, 48, 120, 600)
MOST_DAYS, MOST_MONTHS, MOST_YEARS = 6, 12, 8  # labels side by side; fewer where they hold years
MONTHS_A_YEAR = 12
MONTHS_BEFORE_1970 = 1970 * MONTHS_A_YEAR


class Room(NamedTuple):
    """What is kept free around panels below each other: above each of them, beside all, and under the last [in]."""

    heads_in: Sequence[float]
    left_in: float
    right_in: float
    foot_in: float


@contextmanager
def panels(
    heights_in: Sequence[float],
    ax: Given = None,
    which: str = "",
    *,
    head_in: float = 0.0,
    columns: int = 1,
    width_in: float = WIDTH_IN,
    room: Room | None = None,
) -> Iterator[Panels]:
    """The panels of a picture, with all that is drawn meanwhile in the house style.

    ax: axes to draw in, as many as there are heights; without it those of a new figure with panels so high, in so many
    columns, and with head_in above them. room: what the words around the panels take, where that is known; the heights
    are then those of the axes alone, in one column. Without it matplotlib measures the words and takes their room from
    the heights, a third of the time of a picture. which: what the axes are for. Raises InputError where they are too
    few or too many.
    """
    import matplotlib as mpl

    with mpl.rc_context(STYLE):
        if ax is not None:
            yield taken(ax, len(heights_in), which)
        elif room is not None:
            yield _placed_panels(heights_in, room, width_in)
        else:
            yield _new_panels(heights_in, head_in, columns, width_in)


def taken(ax: Given, number: int, which: str) -> Panels:
    """The axes that somebody gave to draw in. Raises InputError where they are not so many."""
    axes = np.ravel(np.asarray(ax, dtype=np.object_))
    if len(axes) != number:
        raise InputError(f"got {len(axes)} axes to draw in; give {number}, {which}")
    return axes


def _new_panels(heights_in: Sequence[float], head_in: float, columns: int, width_in: float) -> Panels:
    from matplotlib.figure import Figure
    from matplotlib.layout_engine import ConstrainedLayoutEngine

    rows_in = heights_in[::columns]
    figure = Figure(figsize=(width_in, head_in + sum(rows_in)), layout=ConstrainedLayoutEngine(h_pad=GAP_IN))
    axes = np.ravel(figure.subplots(len(rows_in), columns, height_ratios=rows_in, squeeze=False))
    for spare in axes[len(heights_in) :]:
        spare.remove()
    return axes[: len(heights_in)]


def _placed_panels(heights_in: Sequence[float], room: Room, width_in: float) -> Panels:
    from matplotlib.figure import Figure

    high_in = sum(room.heads_in) + sum(heights_in) + room.foot_in
    left, wide = room.left_in / width_in, (width_in - room.left_in - room.right_in) / width_in
    figure, top_in, axes = Figure(figsize=(width_in, high_in)), high_in, []
    for head_in, height_in in zip(room.heads_in, heights_in, strict=True):
        top_in -= head_in + height_in
        axes.append(figure.add_axes((left, top_in / high_in, wide, height_in / high_in)))
    return np.array(axes, dtype=np.object_)


def head_in(title_lines: int, size_pt: float, lines: int) -> float:
    """What a head of draw_head takes above its axes [in]."""
    return (HEAD_PT + LINE_PT * lines + TITLE_LINE * size_pt * title_lines) / PT_PER_IN


def figure_bytes(figure: "Figure", suffix: str, *, outlined: bool = True) -> bytes:
    """A figure as the content of a .png, .svg or .pdf file: always the same bytes, and its title for screen readers.

    outlined: letters of an SVG are drawn as shapes, alike wherever they are seen; else it holds words, which whoever
    shows it draws in a font of its own: sooner, and in two thirds of the bytes.
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
        raise OutputError(f"{shown(suffix)} is no kind of picture; choose .png, .svg or .pdf")
    title = next((panel.get_title(loc="left") for panel in figure.axes), "")
    content = io.BytesIO()
    fixed: Any = {
        "svg.hashsalt": "waterbudget",
        "svg.fonttype": "path" if outlined else "none",
        "figure.autolayout": False,
        "figure.constrained_layout.use": False,
    }
    with mpl.rc_context(fixed), warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing")  # boxes stand for letters that the font lacks
        _settle(figure)
        figure.savefig(content, format=kind[1:], dpi=DPI, metadata={"Title": title, **undated[kind]})
    return content.getvalue()


def _settle(figure: "Figure") -> None:
    """Lay the figure out for good, rounded: the solver's last digits differ at times, and an SVG's ids with them."""
    if engine := figure.get_layout_engine():
        engine.execute(figure)
        figure.set_layout_engine(None)  # with any engine, even one that does nothing, all is drawn once more to no end
    for panel in figure.axes:
        left, bottom, width, height = (round(part, 6) for part in panel.get_position().bounds)
        panel.set_position((left, bottom, width, height))


def midnights_of(days: DateArray) -> Array:
    """Midnights before, between and after some days, one more than there are days, in days since 1970."""
    return np.append(days, days[-1] + 1).astype(np.float64)  # so matplotlib counts


def dates_in(days: DateArray, line_in: float) -> float:
    """What the dates take under panels [in]: line_in, and a line of years where they are of several."""
    return line_in if spans_one_year(days) else line_in + YEAR_IN


def draw_head(panel: "Axes", title: str, size_pt: float, lines: list[str]) -> None:
    """A bold title with plain lines under it, above the axes and flush with them."""
    pad_pt = HEAD_PT + LINE_PT * len(lines)
    panel.set_title(title, loc="left", fontsize=size_pt, fontweight="bold", color=INK, pad=pad_pt)
    panel.annotate("\n".join(lines), (0, 1), (0, 6), "axes fraction", "offset points", color=INK)


def draw_legend(panel: "Axes", handles: "Iterable[Artist] | None" = None, **changes: Any) -> None:  # noqa: ANN401
    """What the marks mean, all that have a label where none are named, in one line between the head and the axes.

    changes: of how matplotlib's legend is laid out.
    """
    shown = panel.get_legend_handles_labels()[0] if handles is None else list(handles)
    laid_out: dict[str, Any] = {
        "loc": "lower left",
        "bbox_to_anchor": (0.0, 1.0),
        "ncols": len(shown),
        "frameon": False,
        "fontsize": SMALL_PT,
        "labelcolor": INK,
        "borderaxespad": 0.0,
        "borderpad": 0.3,
        "handlelength": 1.8,
        "columnspacing": 1.2,
    }
    panel.legend(handles=shown, **laid_out | changes)


def draw_dates(panel: "Axes", days: DateArray, *, labelled: bool, pad_pt: float = NEAR_PT) -> None:
    """The days along the foot of a panel, from the first midnight to the last, and the look of its axes."""
    midnights = midnights_of(days)
    ticks, labels = _date_ticks(midnights, days)
    panel.set_xlim(midnights[0], midnights[-1])
    panel.set_xticks(ticks, labels if labelled else [""] * len(labels))
    draw_plain(panel)
    panel.tick_params(axis="x", length=0, pad=pad_pt)
    panel.grid(axis="x", color=FAINT, alpha=0.35, linewidth=0.6)


def draw_plain(panel: "Axes") -> None:
    """Faint ticks with dark words, behind the data, and no frame."""
    panel.tick_params(labelsize=SMALL_PT, labelcolor=INK, color=FAINT)
    panel.set_axisbelow(True)
    panel.spines[["top", "right"]].set_visible(False)


def draw_days(panel: "Axes", midnights: Array, amounts: Array, colour: str, label: str) -> None:
    """A bar for each day; the panel's limits are set by who draws, as to look for them takes longer than to draw."""
    from matplotlib.patches import StepPatch

    panel.add_artist(StepPatch(amounts, midnights, color=colour, label=label))


def draw_rain(panel: "Axes", midnights: Array, rain_mm: Array) -> None:
    """The rain of each day."""
    rain = REGISTER["rain_mm"]
    draw_days(panel, midnights, rain_mm, WATER, rain.heading)
    panel.set_ylim(0.0, max(LEAST_RAIN_MM, float(rain_mm.max())))
    panel.set_ylabel(rain.heading.replace(" ", "\n"), color=INK)
    panel.locator_params(axis="y", nbins=3)


def draw_tank(panel: "Axes", tank: "Tank") -> None:
    """What a level is read against: the floor of a store, its outlet, and full."""
    panel.axhline(0.0, color=INK, linewidth=0.8)
    draw_limit(panel, "capacity_l", tank.all_l, (6, 3), "top")
    if tank.all_dead_l > 0.0:
        draw_dead(panel, tank.all_dead_l, "bottom" if tank.all_dead_l < tank.all_l / 3 else "top")
    panel.set_ylim(0.0, HEADROOM * tank.all_l)
    panel.set_ylabel(REGISTER["level_l"].heading, color=INK)
    draw_level_ticks(panel, tank.all_l)


def draw_level_ticks(panel: "Axes", capacity_l: float) -> None:
    """Litres from nothing to full, and no further."""
    panel.set_yticks(*zip(*level_ticks(capacity_l), strict=True))
    panel.spines["bottom"].set_visible(False)
    panel.spines["left"].set_bounds(0.0, capacity_l)


def level_ticks(capacity_l: float) -> list[tuple[float, str]]:
    """Litres from nothing to full, and as they are written."""
    from matplotlib.ticker import MaxNLocator

    ticks_l = MaxNLocator(4, steps=[1, 2, 5, 10]).tick_values(0.0, capacity_l)
    return [(tick_l, f"{tick_l:,.10g}") for tick_l in ticks_l if tick_l <= capacity_l]


def draw_limit(panel: "Axes", name: str, limit_l: float, dashes: tuple[int, int], side: str) -> None:
    """A line at so many litres, with its name from the register beside it."""
    limit = REGISTER[name]
    panel.axhline(limit_l, color=INK, linewidth=1.0, linestyle=(0, dashes), label=limit.heading)
    draw_beside(panel, f"{limit.label}\n{litres(limit_l)} L", limit_l, side)


def draw_beside(panel: "Axes", words: str, height: float, side: str) -> None:
    """Words to the right of the axes at a height of the data."""
    where = ((1.0, height), (4, 0), panel.get_yaxis_transform(), "offset points")
    panel.annotate(words, *where, va=side, fontsize=SMALL_PT, color=INK)


def draw_dead(panel: "Axes", dead_l: float, side: str) -> None:
    """What stays below the outlet of a store."""
    panel.axhspan(0.0, dead_l, color=FAINT, alpha=0.4, linewidth=0)
    draw_limit(panel, "dead_l", dead_l, (1, 2), side)


def draw_hatch(panel: "Axes", midnights: Array, days: BoolArray, height: float, name: str, label: str) -> None:
    """Hatch the days from the foot to the height as MARKED says, each spell of days in one piece."""
    colour, hatch, _ = MARKED[name]
    turns = np.flatnonzero(np.diff(days, prepend=False, append=False)).reshape(-1, 2)
    spells = [(midnights[first], midnights[after] - midnights[first]) for first, after in turns]
    panel.broken_barh(spells, (0.0, height), facecolor="none", edgecolor=colour, hatch=hatch, linewidth=0, label=label)


def _date_ticks(midnights: Array, days: DateArray) -> tuple[Array, list[str]]:
    """Middays of a short period, firsts of the month of a long one or of the year, few enough to stand side by side."""
    is_one_year = spans_one_year(days)
    if len(days) <= MOST_DAYS * DAY_STEPS[-1]:
        step = next(step for step in DAY_STEPS if len(days) <= MOST_DAYS * step)
        ticks, shown = midnights[:-1:step] + 0.5, days[::step].tolist()
        labels = [f"{date.day} {date:%b}" for date in shown]
    else:
        month = days.astype("M8[M]")
        is_first, most = days == month, MOST_MONTHS if is_one_year else MOST_YEARS
        step = next(step for step in MONTH_STEPS if is_first.sum() <= most * step)
        is_tick = is_first & ((month.astype(np.int64) + MONTHS_BEFORE_1970) % step == 0)
        ticks, shown = midnights[:-1][is_tick], days[is_tick].tolist()
        if step >= MONTHS_A_YEAR:
            return ticks, [str(date.year) for date in shown]
        labels = [f"{date:%b}" for date in shown]
    return ticks, labels if is_one_year else _with_years(labels, shown)


def spans_one_year(days: DateArray) -> bool:
    """Whether all of the days, one after the other, are of one calendar year."""
    return bool(days[0].astype("M8[Y]") == days[-1].astype("M8[Y]"))


def _with_years(labels: list[str], dates: list[dt.date]) -> list[str]:
    """The labels, the first one of each year with the year below it."""
    years = [str(date.year) for date in dates]
    return [
        f"{label}\n{year}" if year != before else label
        for label, year, before in zip(labels, years, ["", *years], strict=False)
    ]
