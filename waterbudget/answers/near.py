"""Days near by and minutes, as people say them."""

import datetime as dt

LONG_MINUTES = 10.0
THIS_WEEK = 6  # days for which the name of the day is enough


def minutes(number: float) -> str:
    """Minutes, whole where they are long."""
    shown = f"{number:.0f}" if number >= LONG_MINUTES else f"{round(number, 1):g}"
    return f"{shown} minute{'' if shown == '1' else 's'}"


def ago(day: dt.date, today: dt.date) -> str:
    """How long ago a day was: today, yesterday, 3 days ago."""
    away = (today - day).days
    return {0: "today", 1: "yesterday"}.get(away, f"{away:,} days ago")


def day_near(today: dt.date, day: dt.date) -> str:
    """A day to come: tomorrow, Sunday, 18 July."""
    away = (day - today).days
    if away == 1:
        return "tomorrow"
    return f"{day:%A}" if away <= THIS_WEEK else dated_near(day, today)


def since(day: dt.date, today: dt.date) -> str:
    """A day that has passed, or is today: today, yesterday, Tuesday, 3 June."""
    away = (today - day).days
    if away <= 1:
        return ago(day, today)
    return f"{day:%A}" if away <= THIS_WEEK else dated_near(day, today)


def dated_near(day: dt.date, today: dt.date) -> str:
    """A day by its date, with its year where that is not this one."""
    return f"{day.day} {day:%B}{'' if day.year == today.year else f' {day.year}'}"
