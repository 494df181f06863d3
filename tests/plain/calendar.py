"""Days: seasons, weekdays, rhythms, bans, and what stands in a bed."""

from datetime import date

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
SEASON = {"from": "01-01", "to": "12-31"}
COMMON_YEAR, DAYS_A_YEAR = 2031, 365  # any year without a leap day


def as_date(value):
    return value if isinstance(value, date) else date.fromisoformat(value)


def is_every_year(day):
    return isinstance(day, str) and len(day) == len("MM-DD")


def in_season(rule, today):
    """Whether today lies between from and to, both included; a season may pass New Year."""
    now = today.isoformat()[5:]
    if rule["from"] <= rule["to"]:
        return rule["from"] <= now <= rule["to"]
    return now >= rule["from"] or now <= rule["to"]


def on_weekday(rule, today):
    return WEEKDAYS[today.weekday()] in rule.get("weekdays", WEEKDAYS)


def is_banned(bans, today):
    """Whether the mains is shut today."""
    return any(
        in_season(ban, today) if is_every_year(ban["from"]) else as_date(ban["from"]) <= today <= as_date(ban["to"])
        for ban in bans
    )


def is_due(zone, today):
    if "weekdays" in zone:
        return on_weekday(zone, today)
    return (today - zone["every_from"]).days % zone["every_days"] == 0


def is_skipped(zone, weather, n):
    """Whether the days before day n, as far as the file has them, brought enough rain."""
    if "skip_rain_mm" not in zone:
        return False
    before = weather[max(0, n - zone["skip_rain_days"]) : n]
    return not sum(day["rain_mm"] for day in before) < zone["skip_rain_mm"] - 1e-9


def standing(plantings, today):
    """What stands today: (planting, day number, day on which it was planted), in the order of the file."""
    stands = []
    for planting in plantings:
        number, planted = since(planting["planted"], today)
        if 1 <= number <= sum(planting["days"]):
            stands.append((planting, number, planted))
    return stands


def since(planted, today):
    """The day number in a planting, 1 on the planting day, and that day; 29 February repeats the number before."""
    if not is_every_year(planted):
        return (today - as_date(planted)).days + 1, as_date(planted)
    year = today.year if today.isoformat()[5:] >= planted else today.year - 1
    sown = date.fromisoformat(f"{COMMON_YEAR}-{planted}")
    number = (in_common_year(today) - sown).days % DAYS_A_YEAR + 1
    return number, sown.replace(year=year)


def in_common_year(today):
    is_leap_day = (today.month, today.day) == (2, 29)
    return today.replace(year=COMMON_YEAR, day=28 if is_leap_day else today.day)
