"""The days in their order."""

from datetime import date

from plain.bed import bed_day, bed_morning
from plain.calendar import as_date, is_banned
from plain.plan import due_l, irrigation_of_beds, outlet_evening, outlet_morning, zone_asks_l
from plain.site import PlainTables, prepared_site
from plain.store import downhill_order, roof_day, tank_day, transfer_day
from plain.summary import summary


def plain_run(
    site: dict,
    weather: list[dict],
    tables: PlainTables | None = None,
    start: date | str | None = None,
    end: date | str | None = None,
) -> dict:
    """The four tables (lists of rows) and the summary of a run from `start` to `end`, both included.

    site: a parsed site file. weather: a row a day with date, rain_mm, et0_mm and, where asked for, tmax_c.
    Beside them `moved`, a row a day and transfer, and `held`, the mains water in each store in the evening.
    """
    first, last = as_date(start or weather[0]["date"]), as_date(end or weather[-1]["date"])
    garden = prepared_site(site, tables or PlainTables(), first)
    tanks = {tank["name"]: tank for tank in garden.tanks}
    stores = {name: {"level_l": tank["start_l"], "mains_l": 0.0} for name, tank in tanks.items()}
    remembered = dict.fromkeys((bed["name"] for bed in garden.beds), None)
    book = {"tanks": [], "zones": [], "beds": [], "roofs": [], "moved": [], "held": []}
    planted, fed_l, banned_days = set(), 0.0, set()

    for n, day in enumerate(weather):
        today = day["date"]
        if not first <= today <= last:
            continue
        banned = is_banned(garden.bans, today)
        if banned:
            banned_days.add(today)
        roof_rows = [roof_day(roof, day) for roof in garden.roofs]

        mornings = {bed["name"]: bed_morning(bed, garden.model, day, remembered[bed["name"]]) for bed in garden.beds}
        planted |= {(name, today) for name, morning in mornings.items() if morning["identities"]}
        outlets = [
            outlet_morning(zone, zone_asks_l(zone, garden.beds, mornings, weather, n), zone["flow_l_min"])
            for zone in garden.zones
        ] + [outlet_morning(draw, due_l(draw, today), None) for draw in garden.draws]

        moves = transfers_day(garden.transfers, tanks, stores, today)
        coming = {name: {"inflow_l": 0.0, "inflow_mains_l": 0.0} for name in tanks}
        for roof, row in zip(garden.roofs, roof_rows, strict=True):
            coming[roof["tank"]]["inflow_l"] += row["caught_l"]
        for inflow in garden.inflows:
            coming[inflow["tank"]]["inflow_l"] += due_l(inflow, today)
            fed_l += due_l(inflow, today)
        tank_rows = tanks_day(garden, stores, coming, outlets, banned=banned)
        zone_rows = [outlet_evening(outlet, today) for outlet in outlets]

        given_l = {row["zone"]: row["store_l"] + row["mains_l"] for row in zone_rows}
        irrigation_mm = irrigation_of_beds(garden.zones, garden.beds, given_l)
        for bed in garden.beds:
            name = bed["name"]
            row, remembered[name] = bed_day(bed, garden.model, mornings[name], day, irrigation_mm[name])
            book["beds"].append({"date": today, "bed": name} | row)
        book["roofs"] += roof_rows
        book["moved"] += moves
        book["tanks"] += [tank_row(today, name, tank_rows[name], moves) for name in tanks]
        book["held"] += [{"date": today, "tank": name, "mains_l": stores[name]["mains_l"]} for name in tanks]
        book["zones"] += zone_rows
    days = [day["date"] for day in weather if first <= day["date"] <= last]
    return book | {"summary": summary(book, garden, days, planted, fed_l, banned_days)}


def transfers_day(transfers, tanks, stores, today):
    """A row for each transfer, in the order of the file."""
    return [
        {
            "date": today,
            "transfer": transfer["name"],
            "from_tank": transfer["from_tank"],
            "to_tank": transfer["to_tank"],
            "moved_l": transfer_day(transfer, tanks, stores, today),
        }
        for transfer in transfers
    ]


def tanks_day(garden, stores, coming, outlets, *, banned):
    """The row of each tank; what spills runs on with its share of mains water."""
    rows = {}
    for tank in downhill_order(garden.tanks):
        name = tank["name"]
        served = [outlet for outlet in outlets if outlet["tank"] == name]
        row, mains_share = tank_day(tank, garden.model, stores[name], coming[name], served, banned=banned)
        rows[name] = row
        if "overflow_to" in tank:
            below = coming[tank["overflow_to"]]
            below["inflow_l"] += row["spilled_l"]
            below["inflow_mains_l"] += row["spilled_l"] * mains_share
    return rows


def tank_row(today, name, row, moves):
    """The columns of a tank in their order."""
    moved = {
        "moved_in_l": sum(move["moved_l"] for move in moves if move["to_tank"] == name),
        "moved_out_l": sum(move["moved_l"] for move in moves if move["from_tank"] == name),
    }
    head = {"date": today, "tank": name, "inflow_l": row["inflow_l"], "mains_l": row["mains_l"]}
    return head | moved | row
