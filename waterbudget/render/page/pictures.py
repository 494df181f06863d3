"""The pictures of the page, each as wide as a desk and as a phone, with what it shows in words."""

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, cast

from waterbudget.answers.english import count, listed, litres
from waterbudget.answers.page import MOST_BEDS, Table, few_of
from waterbudget.render.figures.balance import balance, balance_of, title_of
from waterbudget.render.figures.bed import bed as draw_beds
from waterbudget.render.figures.bed import driest
from waterbudget.render.figures.level import level
from waterbudget.render.figures.panels import WIDTH_IN, figure_bytes
from waterbudget.render.html import PNG, SVG, address
from waterbudget.simulate.books import SHORT_L
from waterbudget.simulate.result import Result
from waterbudget.site.model import Tank

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

NARROW_IN, NARROW_LEVEL_IN = 4.3, 5.6  # widths of the pictures for a phone
MOST_LINE_DAYS = 400


@dataclass(frozen=True)
class Picture:
    """A picture as the page holds it.

    wide: a data address; narrow: another for a phone, or empty. alt: the picture in words. name: what a button calls
    it. span and narrow_span: where the days begin and end in either, as shares of its width.
    """

    wide: str
    alt: str
    narrow: str = ""
    name: str = ""
    span: tuple[float, float] | None = None
    narrow_span: tuple[float, float] | None = None


def levels(result: Result) -> list[Picture]:
    """The level of all stores and, where there are several, that of each by itself."""
    views = [("All stores", result)]
    if len(result.site.tank) > 1:
        views += [(tank.name, of_store(result, tank)) for tank in result.site.tank]
    return [_level_picture(name, view) for name, view in views]


def of_store(result: Result, tank: Tank) -> Result:
    """The run as one of its stores saw it."""
    number = result.names.tanks.index(tank.name)
    row = result.summary["tanks"][number]
    each = {name: book[:, [number]] if name.startswith("tanks.") else book for name, book in result.each.items()}
    is_mains = each["tanks.mains_l"][:, 0] > SHORT_L
    ended = (each["tanks.short_l"][:, 0] > SHORT_L) | (is_mains & (tank.mains == "float"))
    own = {
        "tanks": [row],
        "asked_l": row["asked_l"],
        "first_short": row["first_short"],
        "days_lasted": int(ended.argmax()) if ended.any() else len(ended),
        "mains_days": int(is_mains.sum()),
    }
    site, names = result.site.model_copy(update={"tank": [tank]}), result.names._replace(tanks=(tank.name,))
    return replace(result, site=site, names=names, each=each, summary=result.summary | own)


def _level_picture(name: str, result: Result) -> Picture:
    rain = level(result)[0]
    wide, span_ = _address(rain.figure, _kind(result)), _span(rain)
    title, rain = rain.get_title(loc="left").replace("\n", " "), level(result, width_in=NARROW_LEVEL_IN)[0]
    narrow, narrow_span = _address(rain.figure, _kind(result)), _span(rain)
    told = [
        f"{row['name']} holds {litres(row['capacity_l'])} L, starts with {litres(row['start_l'])} L, "
        f"is lowest with {litres(row['lowest_l'])} L and ends with {litres(row['end_l'])} L"
        for row in result.summary["tanks"]
    ]
    alt = f"The level of {name[0].lower() + name[1:] if name == 'All stores' else name} from day to day, with rain. "
    return Picture(wide, f"{alt}{title}. {'; '.join(told)}.", narrow, name, span_, narrow_span)


def _span(panel: "Axes") -> tuple[float, float]:
    box = panel.get_position()
    return box.x0, box.x1


def balances(result: Result) -> list[Picture]:
    """Where the water came from and went, of all stores and, where there are several, of each."""
    return [_balance_picture(result, store) for store in _views(result)]


def _views(result: Result) -> list[str | None]:
    names = [tank.name for tank in result.site.tank]
    return [None, *(names if len(names) > 1 else [])]


def _balance_picture(result: Result, store: str | None) -> Picture:
    told = balance_of(result, store)
    came, went = (listed([f"{part.name} {litres(part.amount_l)} L" for part in side]) or "nothing" for side in told)
    alt = f"{title_of(store)}: the water came from {came}; it went to {went}."
    wide, narrow = (balance(result, store=store, width_in=width_in).figure for width_in in (WIDTH_IN, NARROW_IN))
    name = "All stores" if store is None else store
    return Picture(_address(cast("Figure", wide)), alt, _address(cast("Figure", narrow)), name)


def balance_tables(result: Result) -> list[Table]:
    """The balances in litres."""
    tables = []
    for store in _views(result):
        told = balance_of(result, store)
        rows = [
            [f"{heading}: {part.name}", litres(part.amount_l)]
            for heading, side in (("from", told.came), ("to", told.went))
            for part in side
        ]
        tables.append(Table(title_of(store), ["Water", "L"], rows))
    return tables


def bed_picture(result: Result) -> Picture:
    """The soil water of every bed, or of the driest where there are many."""
    rows = {row["name"]: row for row in result.summary["beds"]}
    names = driest(result, MOST_BEDS)
    told = [
        f"{name} is "
        + (f"thirsty on {count(rows[name]['stress_days'], 'day')}" if rows[name]["stress_days"] else "never thirsty")
        for name in names
    ]
    which = "each bed" if len(names) == len(rows) else f"each of {few_of(result)}"
    alt = f"The water left in the soil of {which} from day to day, in per cent. {'; '.join(told)}."
    wide = draw_beds(result, names=names)[0].figure
    narrow = draw_beds(result, names=names, columns=1, width_in=NARROW_IN)[0].figure
    return Picture(_address(wide, _kind(result)), alt, _address(narrow, _kind(result)))


def _address(figure: "Figure", kind: str = SVG) -> str:
    return address(figure_bytes(figure, kind), kind)


def _kind(result: Result) -> str:
    """How a picture of every day is kept: drawn as lines, or as dots where many days make lines heavier than those."""
    return SVG if result.summary["days"] <= MOST_LINE_DAYS else PNG
