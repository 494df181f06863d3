"""How well stick and reckoning agree, and the one change that is suggested, in words."""

import math
from collections.abc import Callable, Iterator, Mapping

from waterbudget.answers.english import count, litres, percent
from waterbudget.journal.fit import Fit
from waterbudget.journal.suggestion import Suggestion

STEP_L = 5.0  # finer is nobody's stick
FAR = 0.1  # of a store, beyond which nobody would call it agreement; ours


def agreement(fitted: Fit) -> str:
    """How far the reckoning is from the stick as a rule, at most of any store."""
    all_l = {tank.name: tank.all_l for tank in fitted.site.tank}
    missed_l = {tank: fitted.misses_l(tank)[0] for tank in fitted.readings.level_l}
    most = f"{_upward(max(missed_l.values()))} L"
    if any(miss_l > FAR * all_l[tank] for tank, miss_l in missed_l.items()):
        return f"The stick and the reckoning are as much as {most} apart."
    return f"The stick and the reckoning agree to within {most}."


def each_store(fitted: Fit) -> Iterator[str]:
    """The same of each store: root mean squares over its dips."""
    for tank, levels in fitted.readings.level_l.items():
        now_l, _ = fitted.misses_l(tank)
        yield f"{tank}: within {_upward(now_l)} L, as a rule of {count(len(levels), 'dip')}."


def _upward(amount_l: float) -> str:
    return litres(STEP_L * math.ceil(amount_l / STEP_L))


def suggested(one: Suggestion) -> str:
    """What a quantity seems to be, against what the garden file says."""
    return SAYS[one.quantity.key](one.quantity.name, one.value, one.quantity.now)


def _flow(name: str, value: float, now: float) -> str:
    return f"{name} seems to give {value:g} L a minute, not {now:g}."


def _runoff(name: str, value: float, now: float) -> str:
    return f"{name} seems to hand on {percent(value)} of the rain, not {percent(now)}."


def _flush(name: str, value: float, now: float) -> str:
    return f"{name} seems to throw away {value:g} L before its store gets any, not {now:g}."


def _leak(name: str, value: float, now: float) -> str:
    look = " Look for a leak." if value > now else ""
    return f"{name} seems to lose {value:g} L a day, not {now:g}.{look}"


SAYS: Mapping[str, Callable[[str, float, float], str]] = {
    "flow_l_min": _flow,
    "runoff_coefficient": _runoff,
    "first_flush_l": _flush,
    "loss_l_per_day": _leak,
}
