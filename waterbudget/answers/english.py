"""Numbers, days, lists and plurals in plain English."""

import calendar
import datetime as dt
import math
from collections.abc import Sequence

import wcwidth

from waterbudget.site.model import WEEKDAYS, Draw, Inflow, MonthDay, Transfer, Zone

FINE_BELOW_L = 1000  # below this every litre shows, above it tens of litres do
PLACES = 6  # decimals that a share may need to be told from a mark
IN_A_ROW = 3  # days of the week that are told by the first and the last


def litres(amount_l: float) -> str:
    """Litres with no more precision than the model has: 87, 940, 12,340; below nought with a real minus."""
    rounded = round(amount_l) if abs(amount_l) < FINE_BELOW_L else round(amount_l, -1)
    return f"{rounded:,.0f}".replace("-", "\N{MINUS SIGN}")


def in_words(day: dt.date | str, *, year: bool = False) -> str:
    """A day as people say it: 1 July, or 1 July 2031."""
    day = dt.date.fromisoformat(day) if isinstance(day, str) else day
    return f"{day.day} {day:%B}{f' {day.year}' if year else ''}"


def span(first: dt.date | str, last: dt.date | str) -> str:
    """A period: 1 May to 30 September 2031."""
    first, last = (dt.date.fromisoformat(day) if isinstance(day, str) else day for day in (first, last))
    return f"{in_words(first, year=first.year != last.year)} to {in_words(last, year=True)}"


def dated(day: dt.date | str, first: dt.date | str, last: dt.date | str) -> str:
    """A day of a period as people say it: 20 May, or 20 May 2019 where the period touches more than one year."""
    first, last = (dt.date.fromisoformat(end) if isinstance(end, str) else end for end in (first, last))
    return in_words(day, year=first.year != last.year)


def yearly(day: MonthDay) -> str:
    """A day that comes every year: 1 July."""
    return in_words(dt.date(dt.MINYEAR, day.month, day.day))


def weekdays(named: Sequence[str]) -> str:
    """Days of the week by their short names, in words: on Monday and Thursday, from Monday to Friday."""
    numbers = sorted({WEEKDAYS.index(day) for day in named})
    days = [calendar.day_name[number] for number in numbers]
    in_a_row = len(numbers) >= IN_A_ROW and numbers[-1] - numbers[0] == len(numbers) - 1
    return f"from {days[0]} to {days[-1]}" if in_a_row else f"on {listed(days)}"


def when(rule: Zone | Draw | Inflow | Transfer) -> str:
    """The days of a zone, draw, inflow or transfer, and any season of it: every other day, 15 May to 20 September."""
    every = rule.every_days if isinstance(rule, Zone) else 1
    days = {1: "every day", 2: "every other day"}.get(every, f"every {every} days")
    if rule.weekdays:
        days = weekdays(rule.weekdays)
    if rule.season_from is None and rule.season_to is None:
        return days
    return f"{days}, {yearly(rule.season_from or MonthDay(1, 1))} to {yearly(rule.season_to or MonthDay(12, 31))}"


def count(number: int, thing: str) -> str:
    """A number of things: 1 day, 2 days, 1,234 days."""
    return f"{number:,} {thing}{'' if number == 1 else 's'}"


def listed(words: Sequence[str], last: str = "and") -> str:
    """Words in a row: a, b and c."""
    return f" {last} ".join(part for part in (", ".join(words[:-1]), *words[-1:]) if part)


def capital(words: str) -> str:
    """Words with a capital at their head."""
    return words[:1].upper() + words[1:]


def shortened(text: str, columns: int) -> str:
    """A text in so many columns of a terminal at most, cut where it is wider."""
    return text if wcwidth.width(text) <= columns else f"{wcwidth.clip(text, 0, columns - 1).rstrip()}…"


def percent(share: float | None) -> str:
    """A share as whole per cent; a dash where there is none."""
    return "–" if share is None or math.isnan(share) else f"{100 * share:z.0f} %"


def finely(share: float) -> str:
    """A share in tenths of a per cent, where whole ones would look alike."""
    return f"{100 * share:z.1f} %"


def as_given(share: float) -> str:
    """A share as somebody gave it: 95 %, or 97.5 %."""
    return f"{100 * share:zg} %"


def percent_below(share: float, mark: float) -> str:
    """A share as whole per cent, with the decimals that keep it below a mark that it does not reach."""
    shown = (f"{100 * share:.{places}f}" for places in range(PLACES))
    return f"{next((told for told in shown if float(told) < 100 * mark), f'{100 * share:g}')} %"


def money(amount: float, currency: str | None = None) -> str:
    """A price as people write it: £85 or £84.50; letters of a currency come behind, 85 EUR."""
    whole = f"{abs(amount):,.2f}"
    told = whole.removesuffix(".00")
    sign = "\N{MINUS SIGN}" if amount < 0.0 and float(whole.replace(",", "")) else ""
    if currency is None:
        return f"{sign}{told}"
    return f"{sign}{told} {currency}" if currency.isalpha() and len(currency) > 1 else f"{sign}{currency}{told}"


def weekly_work(minutes: float) -> str:
    """A person's minutes a week: about 35 minutes of your time a week."""
    whole = round(minutes)
    if minutes > 0.0 and whole == 0:
        return "less than a minute of your time a week"
    return f"about {count(whole, 'minute')} of your time a week" if whole else "none of your time"
