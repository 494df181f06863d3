"""What becomes of the present plan in a hot spell: how long the stored rain lasts, what it takes, what goes thirsty."""

from collections.abc import Iterator

from waterbudget.answers.english import count, finely, in_words, listed, litres, percent, span, weekly_work
from waterbudget.answers.spell_best import closeness
from waterbudget.answers.spell_plans import day, ends, said_day
from waterbudget.simulate.books import SHORT_L
from waterbudget.simulate.keep import NEVER
from waterbudget.spell.study import Study

KEPT = 0.05  # of the yield at risk at most, where a plan keeps the crops: ours


def title(found: Study) -> str:
    """The garden and the spell."""
    first, last = ends(found)
    spell = found.spell
    when = span(first, last) if spell.days > 1 else in_words(first, year=True)
    rain = f"{spell.rain_mm:g} mm of rain a day" if spell.rain_mm > 0.0 else "no rain"
    return f"{found.site.site.name}, a hot spell laid on {when}: {spell.high_c:zg}\N{NO-BREAK SPACE}°C by day, {rain}"


def verdict(found: Study) -> Iterator[str]:
    """How long the stored rain lasts; the mains water and what the crops risk; what goes thirsty first; the work."""
    yield " ".join(told for told in (lasting(found), mains(found)) if told)
    yield " ".join(told for told in (risk(found), without(found), others(found), thirst(found), *_work(found)) if told)


def lasting(found: Study) -> str:
    """How long the stored rain lasts under the present plan, and what ends it."""
    lasted = int(found.found.trial.days_lasted[0])
    if lasted == found.spell.days:
        return f"{lasts_in_short(found)}: no mains water is needed."
    how = lasts_in_short(found) if lasted else "The stored rain does not last the first day"
    return f"{how}: {listed([*_opened(found), *_short(found)])}."


def lasts_in_short(found: Study) -> str:
    """The answer in a few words."""
    lasted = int(found.found.trial.days_lasted[0])
    if lasted == found.spell.days:
        return f"The stored rain lasts {f'all {lasted} days' if lasted > 1 else 'the day'}"
    return f"The stored rain lasts {lasted} of {count(found.spell.days, 'day')}"


def _opened(found: Study) -> Iterator[str]:
    """The float valves that let mains water in, and from when where that comes before any store is short."""
    trial = found.found.trial
    stores = zip(found.site.tank, trial.tank_lasts[0], trial.tank_short[0], strict=True)
    names = [tank.name for tank, lasts, short in stores if tank.mains == "float" and not lasts and short == NEVER]
    if names:
        lasted = trial.days_lasted[0]
        since = f" from {_on(found, lasted)}" if lasted < trial.tank_short[0].min() else ""
        yield f"its float valve tops {listed(names)} up{since}"


def _short(found: Study) -> Iterator[str]:
    """The stores that run short, and from when."""
    runs = "runs short on"
    for number, name in sorted(zip(found.found.trial.tank_short[0], found.eve.garden.names.tanks, strict=True)):
        if number != NEVER:
            yield f"{name} {runs} {_on(found, number)}"
            runs = "on"


def mains(found: Study) -> str:
    """The mains water that full watering takes, and what there is of it; empty where it takes none."""
    trial = found.found.trial
    needed_l, given_l, unmet_l = (float(part[0]) for part in (trial.needed_l, trial.from_mains_l, trial.unmet_l))
    if needed_l <= SHORT_L:
        return ""
    needs = f"Full watering needs {litres(needed_l)} L from the mains"
    if unmet_l <= SHORT_L:
        return f"{needs}."
    if found.spell.no_mains:
        return f"{needs}, and there is none."
    allow = "your site file and the ban allow" if found.spell.ban else "your site file allows"
    return f"{needs}; {allow} {'none' if given_l <= SHORT_L else f'{litres(given_l)} L'}."


def risk(found: Study) -> str:
    """Whether the present plan keeps the crops, with the mains water that it asks for and with what it gets."""
    trial = found.with_mains
    harm, with_mains = float(trial.harm[0]), trial.needed_l[0] > SHORT_L
    gets = float(found.found.trial.harm[0])
    if harm <= KEPT < gets and with_mains:
        return f"With all of it your plan would keep the crops; as it is, {percent(gets)} of the yield is at risk."
    if harm <= KEPT and with_mains and found.found.trial.from_mains_l[0] <= SHORT_L:
        return "Even without it your plan keeps the crops."
    if harm <= KEPT:
        return f"{'With that water y' if with_mains else 'Y'}our plan keeps the crops."
    return f"{'Even with that water y' if with_mains else 'Y'}our plan puts {percent(harm)} of the yield at risk."


def without(found: Study) -> str:
    """What the best plan loses, without mains water where the present one takes any, and what the best there can be."""
    harm = found.found.least_harm
    told = closeness(found)
    if found.with_mains.needed_l[0] <= SHORT_L or found.found.doomed:
        return f"The best plan found loses {finely(harm)} of the yield{told}." if told else ""
    shown = finely(harm) if told else percent(harm)
    return f"Without mains water, the best plan that never runs short loses {shown} of the yield{told}."


def others(found: Study) -> str:
    """Why there is no better plan; empty where there is one."""
    if found.found.doomed:
        names = listed([found.eve.garden.names.tanks[column] for column in found.found.doomed])
        return f"No plan lasts: even with no zone watering, other draws leave {names} short."
    if not found.site.zone:
        return "There is no zone whose plan could be changed."
    if set(found.found.least.values()) == {0}:
        return f"None of {count(len(found.found.plans), 'plan')} tried takes less work or water or does less harm."
    return ""


def thirst(found: Study) -> str:
    """Which watered bed goes thirsty first and when, and which of those that live on rain."""
    told = []
    if first := _first_thirsty(found, watered=True):
        names, number = first
        goes, is_ = ("goes", "is") if len(names) == 1 else ("go", "are")
        if number == NEVER:
            told.append("No watered bed goes thirsty.")
        elif number == 0:
            told.append(f"{listed(names)} {is_} thirsty from the first day.")
        else:
            told.append(f"{listed(names)} {goes} thirsty first, on {_on(found, number)}.")
    first = _first_thirsty(found, watered=False)
    if first and first[1] != NEVER:
        names, number = first
        suffers = "suffers" if len(names) == 1 else "suffer"
        told.append(f"Of the unwatered beds, {listed(names)} {suffers} first, on {_on(found, number)}.")
    return " ".join(told) or "No bed grows anything in these days."


def _first_thirsty(found: Study, *, watered: bool) -> tuple[list[str], float] | None:
    """The beds that are thirsty first and since when; None where nothing grows in any."""
    firsts = {
        bed.name: float(found.found.trial.first_stress[0, column])
        for column, bed in enumerate(found.site.bed)
        if (bed.zone is not None) == watered and found.sensitivity.responses[column]
    }
    if not firsts:
        return None
    first = min(firsts.values())
    return [name for name, number in firsts.items() if number == first], first


def _work(found: Study) -> list[str]:
    minutes = float(found.found.trial.week_minutes[0])
    return [f"The plan takes {weekly_work(minutes)}."] if found.site.zone or minutes else []


def _on(found: Study, number: float) -> str:
    date = day(found, number)
    return "" if date is None else said_day(found, date)
