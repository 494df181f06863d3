"""Crops of FAO-56: coefficients, roots, depletion fraction and stage lengths, under their names and a gardener's.

`use`, `perennial`, every alias and the stage lengths of `garden_stages.csv` are our own. `perennial` is yes where the
row stands for plants that are established when the season begins, so that their roots are at full depth: first-year
cassava and banana are not.
"""

from dataclasses import dataclass, replace
from functools import lru_cache

from waterbudget.errors import RangeError
from waterbudget.tables.read import WORDS_KEPT, find, holds, read_rows

# words of Table 11's region column, the likest to Britain first
_REGIONS = (("Europe", "High Latitudes"), ("Medit",), ("Continental",))
_MONTHS = 12
_ON_SUPPORTS_M = 1.75  # middle of the 1.5-2 m of footnote 2 of Tables 12 and 17
_ON_STAGES = "stage lengths: "  # how a note on the row of Table 11 begins
_UNDATED = _MONTHS  # further than any printed planting month, which is at most six away


@dataclass(frozen=True, slots=True)
class StageLengths:
    """One printed row of FAO-56 Table 11, or one of common practice for a name that has none there.

    days: lengths of the initial, development, mid-season and late stages [days]; late may be 0 (harvested green).
    months: planting months, 1 to 12; empty where none is printed (a season, or nothing) or told. region: as printed;
    of common practice empty, and note says what they are for.
    """

    days: tuple[int, int, int, int]
    region: str
    months: tuple[int, ...]
    source: str
    note: str = ""

    @property
    def basis(self) -> str:
        """Where the lengths come from, in words."""
        return f"printed for {self.region}" if self.region else "of common practice, no source"


@dataclass(frozen=True, slots=True)
class Crop:
    """One row of FAO-56 Tables 12 and 22, with its stage lengths.

    kc: single crop coefficients Kc ini, mid, end [-]; where a range is printed, `note` says which value was taken.
    kc_mid_staked: Kc mid on supports 1.5-2 m tall (footnote 2), None where none is printed.
    height_m: greatest plant height [m]; on supports the middle of the printed 1.5-2 m.
    p: depletion fraction without stress at ETc 5 mm/day [-].
    root_full_m, root_max_m: smaller and larger value of Table 22's range of full rooting depth [m].
    perennial: established from the first day, with roots at full depth.
    stages: rows of Table 11 with four lengths, in print order; where one printed row gives two lengths and one total,
        the lengths that make up that total come first. Where the table lacks what a gardener grows: those of common
        practice. Empty where there are none.
    asked_as: the alias that led here, None for the printed name. stand_in: the row is another crop's, `note` says why.
    on_supports: the alias names a crop grown on supports, so kc holds kc_mid_staked.
    """

    name: str
    group: str
    use: str
    kc: tuple[float, float, float]
    kc_mid_staked: float | None
    height_m: float
    p: float
    root_full_m: float
    root_max_m: float
    perennial: bool
    stages: tuple[StageLengths, ...]
    note: str
    source: str
    asked_as: str | None = None
    stand_in: bool = False
    on_supports: bool = False


@lru_cache(maxsize=WORDS_KEPT)
def find_crop(key: str) -> Crop:
    """The crop that `key` names: a name of FAO-56 or an alias, whatever its case, outer blanks and plurals.

    Raises UnknownKeyError, naming the nearest, where there is none.
    """
    crops = {row["crop"].lower(): row for row in read_rows("crops")}
    aliases = {row["alias"]: row for row in read_rows("aliases")}
    name = find(key, [*crops, *aliases], "crop")
    return _crop(crops[name]) if name in crops else _asked_as(aliases[name])


def search_crops(word: str | None = None) -> list[Crop]:
    """Crops whose name or group holds `word`, in print order, then aliases that hold it; all of them without a word."""
    named = [_crop(row) for row in read_rows("crops") if holds(word, row["crop"], row["group"])]
    return named + [_asked_as(row) for row in read_rows("aliases") if holds(word, row["alias"])]


def stage_days(crop: Crop, month: int, *, south: bool = False) -> StageLengths | None:
    """The row of a crop's stage lengths that fits a planting in `month` (1 to 12) best; None where the crop has none.

    Taken is the row with the printed planting month nearest to `month`, counted round the year; for the southern
    hemisphere `month` is first shifted by six. Rows without a printed month come after all that have one. Between
    equals the region decides: Europe or High Latitudes, then Mediterranean, then Continental, then print order.
    Raises RangeError for any other month.
    """
    if not 1 <= month <= _MONTHS:
        raise RangeError(f"month must be 1 to 12, not {month}")
    northern = month + _MONTHS // 2 if south else month

    def distance(stages: StageLengths) -> int:
        apart = [abs(northern - printed) % _MONTHS for printed in stages.months]
        return min((min(months, _MONTHS - months) for months in apart), default=_UNDATED)

    return min(crop.stages, key=lambda stages: (distance(stages), _region_rank(stages.region)), default=None)


def _region_rank(region: str) -> int:
    ranks = (rank for rank, words in enumerate(_REGIONS) if any(word in region for word in words))
    return next(ranks, len(_REGIONS))


def _crop(row: dict[str, str]) -> Crop:
    notes = (row["kc_rule"] if row["kc_rule"] != "as printed" else "", row["note"])
    return Crop(
        name=row["crop"],
        group=row["group"],
        use=row["use"],
        kc=(float(row["kc_ini"]), float(row["kc_mid"]), float(row["kc_end"])),
        kc_mid_staked=float(row["kc_mid_staked"]) if row["kc_mid_staked"] else None,
        height_m=float(row["height_m"]),
        p=float(row["p"]),
        root_full_m=float(row["root_min_m"]),
        root_max_m=float(row["root_max_m"]),
        perennial=row["perennial"] == "yes",
        stages=_stages(row["stages_key"]) if row["stages_key"] else _practice(row["crop"]),
        note="; ".join(note for note in notes if note),
        source=f"Kc: {row['source']}, p. {row['page']}; roots and p: {row['root_source']}, p. {row['root_page']}",
    )


def _stages(stages_key: str) -> tuple[StageLengths, ...]:
    names = stages_key.split("; ")
    rows = [row for row in read_rows("stages") if row["stages_key"] in names and row["late_days"]]
    rows.sort(key=lambda row: (int(row["print_row"]), sum(_days(row)) != int(row["total_printed_days"])))
    return tuple(
        StageLengths(
            days=_days(row),
            region=row["region"],
            months=_months(row),
            source=f"{row['source']}, p. {row['page']}",
        )
        for row in rows
    )


def _practice(name: str) -> tuple[StageLengths, ...]:
    """Stage lengths of common practice; none of a plant that has none."""
    return tuple(
        StageLengths(_days(row), "", _months(row), row["source"], row["note"])
        for row in read_rows("garden_stages")
        if name.lower() in row["names"].split("; ")
    )


def _months(row: dict[str, str]) -> tuple[int, ...]:
    return tuple(int(month) for month in row["months"].split(";") if month)


def _days(row: dict[str, str]) -> tuple[int, int, int, int]:
    return int(row["ini_days"]), int(row["dev_days"]), int(row["mid_days"]), int(row["late_days"])


def _asked_as(alias: dict[str, str]) -> Crop:
    crop = next(_crop(row) for row in read_rows("crops") if row["crop"] == alias["crop"])
    on_supports = alias["on_supports"] == "yes"
    kc_ini, kc_mid, kc_end = crop.kc
    notes = [alias["note"], *crop.note.split("; ")]
    if alias["stages"] != "yes":
        notes = [note for note in notes if not note.startswith(_ON_STAGES)]
    return replace(
        crop,
        kc=(kc_ini, crop.kc_mid_staked if on_supports and crop.kc_mid_staked else kc_mid, kc_end),
        height_m=_ON_SUPPORTS_M if on_supports else crop.height_m,
        stages=crop.stages if alias["stages"] == "yes" else _practice(alias["alias"]),
        note="; ".join(note for note in notes if note),
        source=f"{crop.source}; everyday name: {alias['source']}",
        asked_as=alias["alias"],
        stand_in=alias["kind"] == "stand-in",
        on_supports=on_supports,
    )
