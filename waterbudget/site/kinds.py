"""The kinds of parts that a garden may have more of: store, roof, watering line, bed, and hens that drink."""

from collections.abc import Callable

from waterbudget.errors import InputError, Said
from waterbudget.site import replies
from waterbudget.site.dates import month_day
from waterbudget.site.edit import Change, Edit, NewTable
from waterbudget.site.parts import Known, Part, PartQuestion
from waterbudget.site.season import stages_in_season
from waterbudget.tables.covers import find_cover
from waterbudget.tables.crops import find_crop
from waterbudget.tables.drinkers import drinks_l_per_day
from waterbudget.tables.read import named, spelt_alike

NONE = "none"
MOST_HENS = 10_000


# ---- Readers that look at the garden -------------------------------------------------------------------------------


def _new_name(head: str, kind: str) -> Callable[[str, Known], str]:
    def read(words: str, known: Known) -> str:
        name = replies.name(words)
        if any(spelt_alike(name, other) for other in known.names(head)):
            raise InputError(f"{replies.quoted(name)} is a {kind} already; give this one another name")
        return name

    return read


def _free(name: str, head: str) -> Callable[[Known], str]:
    """A name that no other has: Bed, Bed 2, Bed 3 ..."""

    def suggest(known: Known) -> str:
        taken, number, free = known.names(head), 1, name
        while any(spelt_alike(free, other) for other in taken):
            number += 1
            free = f"{name} {number}"
        return free

    return suggest


def _plain(read: Callable[[str], object]) -> Callable[[str, Known], object]:
    return lambda words, _: read(words)


def _always(words: str) -> Callable[[Known], str]:
    return lambda _: words


def _named(head: str, kind: str) -> Callable[[str, Known], str]:
    return lambda words, known: named(words, known.names(head), kind)


def _named_or_none(head: str, kind: str) -> Callable[[str, Known], str | None]:
    return lambda words, known: None if words.lower() == NONE else named(words, known.names(head), kind)


def _last(head: str) -> Callable[[Known], str]:
    return lambda known: known.names(head)[-1] if known.names(head) else NONE


def _first_soil(known: Known) -> str:
    return next((bed["soil"] for bed in known.garden.get("bed", []) if "soil" in bed), "loam")


def _crop(words: str, known: Known) -> str | None:
    if words.lower() == NONE:
        return None
    crop = find_crop(words)
    stages_in_season(crop, known.latitude_deg)
    return (crop.asked_as or crop.name).lower()


def _planted(words: str, _: Known) -> str:
    try:
        return str(month_day(words))
    except ValueError:
        raise InputError(f"{replies.quoted(words)} is no day; write month and day as 05-20") from None


def _hens(words: str, _: Known) -> int:
    if not words.isdecimal() or not 1 <= int(words) <= MOST_HENS:
        raise InputError(f"{replies.quoted(words)} does not fit; write how many hens, such as 4")
    return int(words)


# ---- What is written -----------------------------------------------------------------------------------------------


def _store(known: Known) -> list[Edit]:
    said = known.replies
    table = {
        "name": said["name"],
        "capacity_l": said["capacity_l"],
        "start_l": said["start_l"],
        "mains": "direct" if said["mains_hose"] else "none",
    }
    edits: list[Edit] = [NewTable(("tank",), table)]
    if said["overflow_of"] is not None:
        number = known.names("tank").index(said["overflow_of"])
        edits.append(Change(("tank", number, "overflow_to"), said["name"]))
    return edits


def _roof(known: Known) -> list[Edit]:
    return [NewTable(("roof",), {key: known.replies[key] for key in ("name", "tank", "area_m2", "covering")})]


def _zone(known: Known) -> list[Edit]:
    said, season = known.replies, known.season
    first = next(iter(known.garden.get("zone", [{}])))
    table = {
        "name": said["name"],
        "tank": said["tank"],
        "flow_l_min": replies.flow_l_min(said["fill_10_l_s"]),
        "minutes": said["minutes"],
        "every_days": said["every_days"],
        "from": first.get("from", str(season["season_from"])),
        "to": first.get("to", str(season["season_to"])),
        "jets": said["jets"],
    }
    return [NewTable(("zone",), table)]


def _bed(known: Known) -> list[Edit]:
    said, cover = known.replies, find_cover(known.replies["cover"])
    table = {"name": said["name"], "area_m2": said["area_m2"], "soil": said["soil"]}
    if said["zone"] is not None:
        table["zone"] = said["zone"]
    if cover.et_factor < 1.0:
        table |= {"et_factor": cover.et_factor, "rain_share": cover.rain_share}
    edits: list[Edit] = [NewTable(("bed",), table)]
    if said["crop"] is not None:
        planting = {"crop": said["crop"], "planted": said["planted"]}
        edits.append(NewTable(("bed", len(known.names("bed")), "planting"), planting))
    return edits


def _flock(known: Known) -> list[Edit]:
    said = known.replies
    litres = round(said["hens"] * drinks_l_per_day("hen"), 2)
    return [NewTable(("draw",), {"name": said["name"], "tank": said["tank"], "l_per_day": litres})]


def _fill(words: str, known: Known) -> float:
    return replies.fill_10_l_s(words, known.capacity_l(known.replies["tank"]))


TANK = PartQuestion(
    "tank",
    "Which store",
    "The store that it belongs to; any beginning of its name will do.",
    _named("tank", "store"),
    _last("tank"),
)
PARTS = {
    part.kind: part
    for part in (
        Part(
            "store",
            "tank",
            (
                PartQuestion(
                    "name",
                    "Name of the store",
                    "So that you know it from the others.",
                    _new_name("tank", "store"),
                    _free("Butt", "tank"),
                ),
                PartQuestion(
                    "capacity_l",
                    "It holds, in litres",
                    "Its label says it. Stand it on a level base: a litre "
                    "weighs a kilogram, and a lid keeps children out.",
                    _plain(replies.positive("litres, such as 200")),
                    _always(""),
                ),
                PartQuestion(
                    "start_l",
                    "In it now, in litres",
                    "Dip a stick to its floor: wet height / full height x what it holds.",
                    lambda words, known: replies.start_l(words, known.replies["capacity_l"]),
                    lambda known: f"{known.replies['capacity_l'] / 2:g}",
                ),
                PartQuestion(
                    "overflow_of",
                    "Which store overflows into it",
                    "A store by its name; none where it has a roof of its own.",
                    _named_or_none("tank", "store"),
                    _always(NONE),
                ),
                PartQuestion(
                    "mains_hose",
                    "May a mains hose help out when it is short, yes or no",
                    "Never join its pipe to the store's, nor let its end hang in stored water: that may flow "
                    "back into the mains.",
                    _plain(replies.yes),
                    _always("no"),
                ),
            ),
            _store,
        ),
        Part(
            "roof",
            "roof",
            (
                PartQuestion(
                    "name",
                    "Name of the roof",
                    "So that you know it from the others.",
                    _new_name("roof", "roof"),
                    _free("Roof", "roof"),
                ),
                TANK._replace(ask="Which store does it fill"),
                PartQuestion(
                    "area_m2",
                    "Roof area in m²",
                    "On the ground: length x width of the part that drains into the store, its slope left aside.",
                    _plain(replies.area),
                    _always(""),
                ),
                PartQuestion(
                    "covering",
                    "What lies on it",
                    Said(
                        f"{replies.COVERINGS}; `waterbudget roofs` lists all, and which do not suit vegetables.",
                        f"{replies.COVERINGS}.",
                    ),
                    _plain(replies.covering),
                    _always("hard roof"),
                ),
            ),
            _roof,
        ),
        Part(
            "zone",
            "zone",
            (
                PartQuestion(
                    "name",
                    "Name of the watering line",
                    "So that you know it from the others.",
                    _new_name("zone", "watering line"),
                    _free("Line", "zone"),
                ),
                TANK._replace(ask="Which store does it draw from"),
                PartQuestion(
                    "fill_10_l_s",
                    "Seconds to fill a 10-litre bucket",
                    "Or the drop in the store: dip it, run "
                    "the line for 10 minutes, dip again: 62 to 57.8 of 95 in 10\n"
                    "(cm before, after and when full, and minutes; straight sides, and no rain meanwhile).",
                    _fill,
                    _always(""),
                ),
                PartQuestion(
                    "minutes",
                    "Minutes of one watering",
                    "How long the water runs each time.",
                    _plain(replies.positive("minutes, such as 10")),
                    _always("10"),
                ),
                PartQuestion(
                    "every_days",
                    "Watering every how many days",
                    "1 is every day, 2 every other day.",
                    _plain(replies.every_days),
                    _always("2"),
                ),
                PartQuestion(
                    "jets",
                    "How the water comes out",
                    "mist, spray, drip or can. No mist or fine spray from a store warmer than 20 °C.",
                    _plain(replies.jets),
                    _always("spray"),
                ),
            ),
            _zone,
        ),
        Part(
            "bed",
            "bed",
            (
                PartQuestion(
                    "name",
                    "Name of the bed",
                    "So that you know it from the others.",
                    _new_name("bed", "bed"),
                    _free("Bed", "bed"),
                ),
                PartQuestion(
                    "area_m2",
                    "Bed area in m²",
                    "Tape measure: length x width of the soil.",
                    _plain(replies.area),
                    _always(""),
                ),
                PartQuestion(
                    "zone",
                    "Which line waters it",
                    "A watering line by its name; none where it lives on rain.",
                    _named_or_none("zone", "watering line"),
                    _last("zone"),
                ),
                PartQuestion(
                    "soil",
                    "Soil",
                    "Squeeze a damp pinch: it falls apart, crumbles, holds together, feels "
                    "soapy, or rolls to a sticky worm? Write that, or its name.",
                    _plain(replies.soil),
                    _first_soil,
                ),
                PartQuestion(
                    "cover",
                    "What lies over it",
                    "none, bird net, insect net, fleece, shade net or tunnel.",
                    _plain(replies.cover),
                    _always(NONE),
                ),
                PartQuestion(
                    "crop", "First crop", "An everyday name, such as tomato; none if it is empty.", _crop, _always(NONE)
                ),
                PartQuestion(
                    "planted",
                    "Day of sowing or planting out",
                    "Month and day, such as 05-20.",
                    _planted,
                    lambda known: str(known.season["planted"]),
                ),
            ),
            _bed,
        ),
        Part(
            "hens",
            "draw",
            (
                PartQuestion(
                    "hens",
                    "How many hens",
                    "They drink best from the mains: roof water may hold droppings of wild birds.",
                    _hens,
                    _always(""),
                ),
                PartQuestion(
                    "name",
                    "A name for their water",
                    "It stands with the other uses of the store.",
                    _new_name("draw", "use"),
                    _free("Hens", "draw"),
                ),
                TANK._replace(ask="Which store do they drink from"),
            ),
            _flock,
        ),
    )
}
