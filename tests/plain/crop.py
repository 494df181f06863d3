"""What stands in a bed on a day: coefficient, height, roots."""

P_BARE = 0.5


def climatic(model, height_m):
    """What wind and dry air add to a coefficient over a stand of this height; Eq. 70 and 72."""
    wind, dryness = model["mean_wind_m_s"] - 2, model["mean_rh_min_pct"] - 45
    return (0.04 * wind - 0.004 * dryness) * (height_m / 3) ** 0.3


def coefficient_on(planting, number):
    """Kc or Kcb on a day of the planting; Eq. 66."""
    (ini, mid, end), (l_ini, l_dev, l_mid, l_late) = planting["k"], planting["days"]
    if number <= l_ini:
        return ini
    if number <= l_ini + l_dev:
        return ini + (number - l_ini) / l_dev * (mid - ini)
    if number <= l_ini + l_dev + l_mid:
        return mid
    return mid + (number - l_ini - l_dev - l_mid) / l_late * (end - mid)


def height_on(planting, number):
    """Height on a day of the planting [m]; p. 277."""
    mid = planting["k"][1]
    growing = number <= planting["days"][0] + planting["days"][1]
    if planting["perennial"] or not growing or mid == 0:
        return planting["height_m"]
    return planting["height_m"] * min(1.0, coefficient_on(planting, number) / mid)


def roots_on(planting, number):
    """Root depth on a day of the planting [m]."""
    start_m, full_m = planting["root_m"]
    growing_days = planting["days"][0] + planting["days"][1]
    if planting["perennial"] or growing_days == 0:
        return full_m
    return start_m + (full_m - start_m) * min(1.0, number / growing_days)


def stand_on(stands, model):
    """The stand of a bed as one: K and p of the table as means, height and roots as the largest, the share it takes.

    stands: (planting, day number, day planted) of all that stands; none is bare ground.
    """
    if not stands:
        return {"k": 0.0, "p": P_BARE, "height_m": 0.0, "root_m": model["root_start_m"], "share": 0.0}
    heights_m = [height_on(planting, number) for planting, number, _ in stands]
    shares = [planting["ground_share"] for planting, _, _ in stands]
    weights = [share * height_m for share, height_m in zip(shares, heights_m, strict=True)]  # Eq. 104
    if not any(heights_m):
        weights = shares
    return {
        "k": mean([coefficient_on(planting, number) for planting, number, _ in stands], weights),
        "p": mean([planting["p"] for planting, _, _ in stands], weights),
        "height_m": max(heights_m),
        "root_m": max(roots_on(planting, number) for planting, number, _ in stands),
        "share": sum(shares),
    }


def mean(values, weights):
    if len(values) == 1:
        return values[0]
    return sum(value * weight for value, weight in zip(values, weights, strict=True)) / sum(weights)
