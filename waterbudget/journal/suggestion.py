"""Which one number of a garden is most worth changing after its levels were fitted."""

from collections.abc import Iterator
from dataclasses import dataclass

from waterbudget.journal.fit import Estimate, Fit
from waterbudget.journal.quantities import Quantity
from waterbudget.site.edit import written

SURE_ERRORS = 2.0  # standard errors between what the site says and what fits; common practice, no source
WORTH_IT = 0.9  # of the present miss may be left, at most; ours
FIGURES = 2  # of a value that is suggested, which nobody reads off a stick any finer


@dataclass(frozen=True)
class Suggestion:
    """One change. value: what the quantity seems to be; left: share of the present miss that is left with it alone."""

    quantity: Quantity
    value: float
    left: float

    @property
    def key(self) -> str:
        """What it is a change of, whatever the order of the site file: "zone.North line.flow_l_min"."""
        return f"{self.quantity.kind}.{self.quantity.name}.{self.quantity.key}"


def suggestions(fitted: Fit) -> tuple[Suggestion, ...]:
    """The changes that are sure and help alone, the one that helps most first."""
    return tuple(sorted(_sure(fitted), key=lambda one: one.left))


def _sure(fitted: Fit) -> Iterator[Suggestion]:
    unclear = {place for group in fitted.confounded for place in group.places}
    unclear |= {other.place for other in fitted.alternatives}
    for place, (one, left) in enumerate(zip(fitted.estimates, fitted.left_alone, strict=True)):
        value = float(written(one.fitted, FIGURES))
        if place not in unclear and _is_sure(one) and left <= WORTH_IT and value != one.quantity.now:
            yield Suggestion(one.quantity, value, left)


def _is_sure(one: Estimate) -> bool:
    if one.error is None or one.quantity.is_start or (one.at_bound and one.fitted > one.quantity.low):
        return False
    apart = abs(one.fitted - one.quantity.now)
    return apart > SURE_ERRORS * one.error and apart >= one.quantity.notable
