"""What is for sale, ranked: what it saves against what is there, and when that has paid for it."""

import math
from typing import NamedTuple

from waterbudget.sizing.study import ROUNDING, Deal, Sizing, Use


class Market(NamedTuple):
    """What is for sale for a store. water_per_m3: price of mains water, None where nobody tells."""

    found: Sizing
    water_per_m3: float | None

    @property
    def ranked(self) -> list[Deal]:
        """What is for sale, the quickest to pay back first; what saves nothing comes last, by its price."""

        def cost_of_a_litre(deal: Deal) -> float:
            return deal.choice.price / deal.best.saved_l if deal.best.saved_l > 0.0 else math.inf

        return sorted(self.found.deals, key=lambda deal: (cost_of_a_litre(deal), deal.choice.price))

    @property
    def cheapest(self) -> tuple[Deal, Use] | None:
        """The cheapest that meets the target, and where it is put; of two that cost the same the one that saves more.

        None where nothing does.
        """
        wanted = self.found.sweep.target - ROUNDING
        meeting = [(deal, use) for deal in self.found.deals for use in deal.uses if use.outcome.met[0] >= wanted]
        return min(meeting, key=lambda one: (one[0].choice.price, -one[1].saved_l), default=None)

    @property
    def is_enough(self) -> bool:
        """Whether what is there meets the target already."""
        return self.found.stands and bool(self.found.now.met[0] >= self.found.sweep.target - ROUNDING)

    @property
    def most_store(self) -> Deal | None:
        """The single piece with most litres for its price; None where none has a price."""
        singles = [deal for deal in self.found.deals if len(deal.choice.pieces) == 1 and deal.choice.price]
        return max(singles, key=lambda deal: deal.choice.capacity_l / deal.choice.price, default=None)

    def payback_years(self, deal: Deal, use: Use) -> float | None:
        """Years until the mains water saved has cost the price, infinite for never; None where no price is known."""
        return None if self.water_per_m3 is None else deal.choice.payback_years(use.saved_l, self.water_per_m3)
