"""Every measure tried by itself on a site, then the best pair and triple, found greedily."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import islice

from waterbudget.change.measures import ForSale, Measure, measures_for, not_there, with_measures
from waterbudget.change.trial import Outcome, try_all
from waterbudget.plan.unaided import Unaided, unaided
from waterbudget.simulate.opened import Opened
from waterbudget.simulate.run import sky_of
from waterbudget.site.links import Raw
from waterbudget.site.override import raw_site
from waterbudget.units import L_PER_M3

YEAR_DAYS = 365.25
MOST_TOGETHER = 3
LEAST_L, LEAST_MINUTES = 0.5, 0.5  # of mains water, of a person in a week: less is no saving


@dataclass(frozen=True, eq=False)
class Tried:
    """Measures that were tried together, one to three of them, beside the site as it is.

    Of the run: saved_l of mains water, saved_money of it (None without a price); saved_week_minutes: of a person, a
    week; is_thirstier: whether the plants are noticeably worse off.
    """

    measures: tuple[Measure, ...]
    outcome: Outcome
    now: Outcome
    water_per_m3: float | None

    @property
    def is_free(self) -> bool:
        """Whether they cost nothing."""
        return all(measure.is_free for measure in self.measures)

    @property
    def price(self) -> float | None:
        """What they cost together, None where nobody tells of one."""
        costs = [measure.cost for measure in self.measures]
        known = [cost for cost in costs if cost is not None]
        return sum(known) if len(known) == len(costs) else None

    @property
    def saved_l(self) -> float:
        """Mains water saved [L]."""
        return self.now.needed_l - self.outcome.needed_l

    @property
    def saved_week_minutes(self) -> float:
        """A person's time saved [min/week]."""
        return self.now.week_minutes - self.outcome.week_minutes

    @property
    def saved_money(self) -> float | None:
        """Price of the mains water saved."""
        return None if self.water_per_m3 is None else self.saved_l / L_PER_M3 * self.water_per_m3

    @property
    def is_thirstier(self) -> bool:
        """Whether plants are noticeably worse off than now, with all their water given."""
        return self.outcome.is_thirstier_than(self.now)

    @property
    def changes(self) -> list[tuple[tuple[str | int, ...], object]]:
        """Keys with their new values, and new tables."""
        return [change for measure in self.measures for change in measure.changes]


@dataclass(frozen=True, eq=False)
class Improvement:
    """What was tried on a site.

    table: of the site file. singles: the best of each kind and thing, in the order tried. runs: how many gardens were
    run. free, any: the best single, pair and triple, of measures that cost nothing and of all; as many as add anything.
    left_out: kinds of which there is nothing to try. unaided: the site as it is on stored rain alone.
    """

    opened: Opened
    table: Raw
    now: Outcome
    singles: tuple[Tried, ...]
    free: tuple[Tried, ...]
    any: tuple[Tried, ...]
    left_out: tuple[str, ...]
    runs: int
    unaided: Unaided | None

    @property
    def years(self) -> float:
        """Years that the weather stands for; 1 for a season or less than a year."""
        return max(1.0, len(self.now.dates) / YEAR_DAYS)

    def saves_any(self, one: Tried) -> bool:
        """Whether measures save mains water or a person's time, be it at the plants' cost."""
        return one.saved_l / self.years >= LEAST_L or one.saved_week_minutes >= LEAST_MINUTES


class _Trials:
    """Runs of the site with measures, each counted."""

    def __init__(
        self, opened: Opened, table: Raw, water_per_m3: float | None, measures: Sequence[tuple[Measure, ...]]
    ) -> None:
        """Run the site as it is and, side by side with that, with each of the first measures."""
        self._opened, self._table, self._price = opened, table, water_per_m3
        self.runs = 0
        self.now, *outcomes = self._ran([(), *measures])
        self.first = self._told(measures, outcomes)

    def tried(self, together: Sequence[tuple[Measure, ...]]) -> list[Tried]:
        return self._told(together, self._ran(together)) if together else []

    def _ran(self, together: Sequence[tuple[Measure, ...]]) -> list[Outcome]:
        self.runs += len(together)
        return try_all([with_measures(self._table, measures) for measures in together], self._opened.weather)

    def _told(self, together: Sequence[tuple[Measure, ...]], outcomes: Sequence[Outcome]) -> list[Tried]:
        return [
            Tried(measures, outcome, self.now, self._price)
            for measures, outcome in zip(together, outcomes, strict=True)
        ]


def improve(
    opened: Opened,
    for_sale: Sequence[ForSale] = (),
    prices: Mapping[str, float] | None = None,
    water_per_m3: float | None = None,
) -> Improvement:
    """Try every measure by itself, then greedily the best two and three that go together.

    for_sale: sizes of butts and their prices. prices: of the measures of a kind, in all, in any money; 0 makes them
    free. water_per_m3: price of mains water, None for that of the site.
    """
    table = raw_site(opened.path)
    price = opened.site.prices.water_per_m3 if water_per_m3 is None else water_per_m3
    measures = [_priced(measure, prices or {}) for measure in measures_for(opened.site, for_sale)]
    trials = _Trials(opened, table, price, [(measure,) for measure in measures])
    singles = _best_of_each(trials.first)
    free, of_all = _greedy(trials, [one for one in singles if one.is_free], singles)
    return Improvement(
        opened,
        table,
        trials.now,
        tuple(singles),
        free,
        of_all,
        tuple(not_there(opened.site, for_sale)),
        trials.runs,
        unaided(opened.site, opened.weather.date_column, sky_of(opened.site, opened.weather)),
    )


def gain(tried: Tried) -> tuple[bool, float, float]:
    """How good it is: not at the plants' cost, then mains water saved, then a person's time saved."""
    return not tried.is_thirstier, round(tried.saved_l, 6), round(tried.saved_week_minutes, 6)


def helps(tried: Tried) -> bool:
    """Whether it saves mains water, not at the plants' cost."""
    return not tried.is_thirstier and tried.saved_l >= LEAST_L


def _priced(measure: Measure, prices: Mapping[str, float]) -> Measure:
    if measure.kind not in prices:
        return measure
    return replace(measure, price=prices[measure.kind], is_free=prices[measure.kind] == 0.0)


def _best_of_each(every: Sequence[Tried]) -> list[Tried]:
    """Of the ways of one measure the best; where each is at the plants' cost the mildest, which comes first."""
    ways: dict[tuple[str, str], list[Tried]] = {}
    for one in every:
        measure = one.measures[0]
        ways.setdefault((measure.kind, measure.thing), []).append(one)
    return [
        ways_of_one[0] if all(way.is_thirstier for way in ways_of_one) else max(ways_of_one, key=gain)
        for ways_of_one in ways.values()
    ]


def _greedy(trials: _Trials, *choices: Sequence[Tried]) -> list[tuple[Tried, ...]]:
    """Of each choice the best one, the best two that hold it, and the best three that hold these.

    Each only where it adds a saving. What all choices want tried next is tried side by side.
    """
    helping = [[one for one in singles if not one.is_thirstier] for singles in choices]
    chains: list[list[Tried]] = [[] for _ in choices]
    candidates = helping
    while any(candidates):
        wanted: list[list[tuple[Measure, ...]]] = []
        for chain, found, singles in zip(chains, candidates, helping, strict=True):
            best = max((one for one in found if not one.is_thirstier), key=gain, default=None)
            if best is None or not _adds(best, chain):
                wanted.append([])
                continue
            chain.append(best)
            wanted.append([] if len(chain) == MOST_TOGETHER else _one_more(best.measures, singles))
        tried = iter(trials.tried([measures for more in wanted for measures in more]))
        candidates = [list(islice(tried, len(more))) for more in wanted]
    return [tuple(chain) for chain in chains]


def _one_more(held: tuple[Measure, ...], singles: Sequence[Tried]) -> list[tuple[Measure, ...]]:
    """Measures with every other one that goes with all of them."""
    others = [one.measures[0] for one in singles]
    return [(*held, other) for other in others if all(other.goes_with(measure) for measure in held)]


def _adds(best: Tried, chain: Sequence[Tried]) -> bool:
    before_l, before_minutes = (chain[-1].saved_l, chain[-1].saved_week_minutes) if chain else (0.0, 0.0)
    more_l = best.saved_l - before_l
    return more_l >= LEAST_L or (more_l >= -LEAST_L and best.saved_week_minutes > before_minutes + LEAST_MINUTES)
