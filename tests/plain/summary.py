"""The run in one dictionary, ready for JSON: dates as text, and null where there is nothing to divide by."""

NOTICED_L = 1e-6  # a shortage, a move, a top-up or a demand of no more than this is rounding
THIRSTY = 1 - 1e-9

TANK_SUMS = (
    "inflow_l",
    "mains_l",
    "moved_in_l",
    "moved_out_l",
    "asked_l",
    "drawn_l",
    "drawn_mains_l",
    "short_l",
    "spilled_l",
    "lost_l",
)
ZONE_SUMS = ("asked_l", "store_l", "rain_l", "mains_l", "unmet_l", "minutes_run")
BED_SUMS = ("etc_mm", "eta_mm", "e_mm", "rain_mm", "irrigation_mm", "drained_mm")


def summary(book, garden, days, planted, fed_l, banned_days):
    kind_of_mains = {tank["name"]: tank["mains"] for tank in garden.tanks}
    short, mains, needed, demand, opened = set(), set(), set(), set(), set()
    for row in book["tanks"]:
        kind, today = kind_of_mains[row["tank"]], row["date"]
        if row["short_l"] > NOTICED_L:
            short.add(today)
            if kind == "none" or today in banned_days:
                needed.add(today)
        if row["mains_l"] > NOTICED_L:
            mains.add(today)
            if kind == "float":
                opened.add(today)
        if row["asked_l"] > NOTICED_L:
            demand.add(today)
    asked_l, store_l = total(book["zones"], "asked_l"), total(book["zones"], "store_l")
    rain_l = store_l - total(book["tanks"], "drawn_mains_l")
    failed = short | opened
    tanks, zones = grouped(book["tanks"], "tank"), grouped(book["zones"], "zone")
    moves, beds = grouped(book["moved"], "transfer"), grouped(book["beds"], "bed")
    return {
        "start": days[0].isoformat(),
        "end": days[-1].isoformat(),
        "days": len(days),
        "days_lasted": (min(failed) - days[0]).days if failed else len(days),
        "first_short": first_of(short),
        "first_mains": first_of(mains | needed),
        "mains_l": total(book["tanks"], "mains_l"),
        "mains_days": len(mains),
        "ban_days": len(banned_days),
        "asked_l": asked_l,
        "store_l": store_l,
        "rain_l": rain_l,
        "unmet_l": total(book["zones"], "unmet_l"),
        "caught_l": total(book["roofs"], "caught_l"),
        "fed_l": fed_l,
        "transferred_l": total(book["moved"], "moved_l"),
        "spilled_l": total(book["tanks"], "spilled_l"),
        "volume_reliability": rain_l / asked_l if asked_l > 0 else None,
        "day_reliability": len(demand - short) / len(demand) if demand else None,
        "tanks": [tank_summary(tank, tanks[tank["name"]]) for tank in garden.tanks],
        "zones": [
            {"name": outlet["name"]} | totals(zones[outlet["name"]], ZONE_SUMS)
            for outlet in (*garden.zones, *garden.draws)
        ],
        "transfers": [transfer_summary(transfer, moves[transfer["name"]]) for transfer in garden.transfers],
        "beds": [bed_summary(bed, beds[bed["name"]], planted) for bed in garden.beds],
    }


def tank_summary(tank, rows):
    return {
        "name": tank["name"],
        "capacity_l": tank["capacity_l"],
        "start_l": tank["start_l"],
        "end_l": rows[-1]["level_l"],
        "lowest_l": min(tank["start_l"], *(row["level_l"] for row in rows)),
        "first_short": first_of(row["date"] for row in rows if row["short_l"] > NOTICED_L),
    } | totals(rows, TANK_SUMS)


def transfer_summary(transfer, rows):
    return {
        "name": transfer["name"],
        "moved_l": total(rows, "moved_l"),
        "days": sum(1 for row in rows if row["moved_l"] > NOTICED_L),
    }


def bed_summary(bed, rows, planted):
    stands = [row for row in rows if (bed["name"], row["date"]) in planted]
    thirsty = [row["date"] for row in stands if row["ks"] < THIRSTY]
    etc_mm = total(rows, "etc_mm")
    return (
        {
            "name": bed["name"],
            "planted_days": len(stands),
            "stress_days": len(thirsty),
            "first_stress": first_of(thirsty),
            "eta_over_etc": total(rows, "eta_mm") / etc_mm if etc_mm > 0 else None,
        }
        | totals(rows, BED_SUMS)
        | {"overwatered_mm": sum(min(row["drained_mm"], row["irrigation_mm"]) for row in rows)}
    )


def first_of(days):
    first = min(days, default=None)
    return first.isoformat() if first else None


def grouped(rows, kind):
    """The rows of each item, a day each, by its name."""
    groups = {}
    for row in rows:
        groups.setdefault(row[kind], []).append(row)
    return groups


def totals(rows, columns):
    return {column: total(rows, column) for column in columns}


def total(rows, column):
    return sum(row[column] for row in rows)
