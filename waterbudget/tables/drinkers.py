"""What animals of a garden drink."""

from waterbudget.tables.read import find, read_rows


def drinks_l_per_day(animal: str) -> float:
    """Litres a day that one of them takes. Raises UnknownKeyError. Source: common practice, no source."""
    rows = {row["drinker"]: row for row in read_rows("drinkers")}
    return float(rows[find(animal, rows, "animal")]["l_per_day"])
