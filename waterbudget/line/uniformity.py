"""How evenly a zone waters; flows or catches (..., jet), results (...,), in per cent where the name ends in pct.

counted: the jets or cups that count, all of them if left out. Flows may stand in any unit.
"""

import numpy as np

from waterbudget.units import Array, BoolArray


def mean(values: Array, counted: BoolArray | None = None) -> Array:
    """Mean of the counted values."""
    average: Array = np.mean(values, axis=-1, where=_counted(values, counted))
    return average


def low_quarter(values: Array, counted: BoolArray | None = None) -> Array:
    """Mean of the lowest quarter; where a quarter is no whole number, the last value counts by its fraction.

    So the lowest quarter of six values is the lowest one and half of the next, over 1.5.
    """
    counts = _counted(values, counted)
    quarter = np.sum(counts, axis=-1, keepdims=True) / 4.0
    ranked = np.sort(np.where(counts, values, np.inf), axis=-1)
    weight = np.clip(quarter - np.arange(values.shape[-1]), 0.0, 1.0)
    weighted = np.multiply(ranked, weight, out=np.zeros_like(ranked), where=weight > 0.0)
    lowest: Array = np.sum(weighted, axis=-1) / quarter[..., 0]
    return lowest


def du_low_quarter_pct(values: Array, counted: BoolArray | None = None) -> Array:
    """Distribution uniformity DUlq [%]: mean of the lowest quarter (see `low_quarter`) over the mean.

    Source: Merriam and Keller 1978, Farm irrigation system evaluation (from memory).
    """
    return 100.0 * low_quarter(values, counted) / mean(values, counted)


def cu_pct(values: Array, counted: BoolArray | None = None) -> Array:
    """Christiansen's uniformity coefficient CU [%]. Source: Christiansen 1942, California AES Bulletin 670."""
    counts, average = _counted(values, counted), mean(values, counted)
    off: Array = np.mean(np.abs(values - average[..., np.newaxis]), axis=-1, where=counts)
    return 100.0 * (1.0 - off / average)


def coefficient_of_variation(values: Array, counted: BoolArray | None = None) -> Array:
    """Standard deviation of a sample (n - 1) over its mean [-]; two values at least."""
    spread: Array = np.std(values, axis=-1, ddof=1, where=_counted(values, counted))
    return spread / mean(values, counted)


def emission_uniformity_pct(
    flow: Array, jets_per_plant: Array, maker_cv: Array, counted: BoolArray | None = None
) -> Array:
    """Emission uniformity EU [%] = 100 (1 - 1.27 CV / sqrt(n)) qmin / qmean.

    jets_per_plant: n. maker_cv: coefficient of variation of new jets as made. Source: ASAE EP405, as quoted.
    """
    least: Array = np.min(flow, axis=-1, where=_counted(flow, counted), initial=np.inf)
    return 100.0 * (1.0 - 1.27 * maker_cv / np.sqrt(jets_per_plant)) * least / mean(flow, counted)


def christiansen_f(outlets: Array, m: Array) -> Array:
    """Friction in a pipe with equal outlets, over that of the same pipe with all the flow to its end.

    m: exponent of the flow in the loss. The first outlet stands a whole spacing from the inlet.
    Source: Christiansen 1942, California AES Bulletin 670.
    """
    return 1.0 / (m + 1.0) + 1.0 / (2.0 * outlets) + np.sqrt(m - 1.0) / (6.0 * outlets * outlets)


def _counted(values: Array, counted: BoolArray | None) -> BoolArray:
    return np.ones(values.shape, dtype=np.bool_) if counted is None else counted
