"""The pictures of the page, drawn once for desk, phone and paper, each with what it shows in words."""

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple, cast

from waterbudget.answers.english import count, listed, litres
from waterbudget.answers.page import MOST_BEDS, Table
from waterbudget.render.figures.balance import balance, balance_of, title_of
from waterbudget.render.figures.bed import BANDS, beds_alone, driest
from waterbudget.render.figures.level import level
from waterbudget.render.figures.panels import figure_bytes
from waterbudget.render.html import PNG, SVG, address
from waterbudget.simulate.books import SHORT_L
from waterbudget.simulate.result import Result
from waterbudget.site.model import Tank

if TYPE_CHECKING:
    from matplotlib.figure import Figure

BALANCE_IN, LEVEL_IN = 4.8, 5.6  # no wider, so that a phone shows the words large enough
MOST_LINE_DAYS = 400


@dataclass(frozen=True)
class Picture:
    """A picture as the page holds it.

    src: a data address. alt: the picture in words. name: what a button calls it. span: where the days begin and end, as
    shares of its width.
    """

    src: str
    alt: str
    name: str = ""
    span: tuple[float, float] | None = None


class BedPictures(NamedTuple):
    """What the colours of the beds mean, and the beds one by one."""

    key: Picture
    beds: list[Picture]


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
    rain = level(result, width_in=LEVEL_IN)[0]
    title, box = rain.get_title(loc="left").replace("\n", " "), rain.get_position()
    told = [
        f"{row['name']} holds {litres(row['capacity_l'])} L, starts with {litres(row['start_l'])} L, "
        f"is lowest with {litres(row['lowest_l'])} L and ends with {litres(row['end_l'])} L"
        for row in result.summary["tanks"]
    ]
    alt = f"The level of {name[0].lower() + name[1:] if name == 'All stores' else name} from day to day, with rain. "
    src = _address(rain.figure, _kind(result))
    return Picture(src, f"{alt}{title}. {'; '.join(told)}.", name, (box.x0, box.x1))


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
    drawn = cast("Figure", balance(result, store=store, width_in=BALANCE_IN).figure)
    return Picture(_address(drawn), alt, "All stores" if store is None else store)


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


def bed_pictures(result: Result) -> BedPictures:
    """The soil water of every bed, or of the driest where there are many, each by itself."""
    rows = {row["name"]: row for row in result.summary["beds"]}
    names, kind = driest(result, MOST_BEDS), _kind(result)
    key, drawn = beds_alone(result, names)
    words = f"The colours mean {listed([*BANDS, 'nothing grows'])}; a line is the water left, hatching a thirsty day."
    beds = [
        Picture(_address(figure, kind), _alt(name, rows[name]["stress_days"]))
        for name, figure in zip(names, drawn, strict=True)
    ]
    return BedPictures(Picture(_address(key), words), beds)


def _alt(name: str, thirsty: int) -> str:
    told = f"thirsty on {count(thirsty, 'day')}" if thirsty else "never thirsty"
    return f"The water left in the soil of {name} from day to day, in per cent. {name} is {told}."


def _address(figure: "Figure", kind: str = SVG) -> str:
    return address(figure_bytes(figure, kind, outlined=False), kind)


def _kind(result: Result) -> str:
    """How a picture of every day is kept: drawn as lines, or as dots where many days make lines heavier than those."""
    return SVG if result.summary["days"] <= MOST_LINE_DAYS else PNG
