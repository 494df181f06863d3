"""What people reply to a question about their garden: each reader gives the value, or says in one line what is wrong.

All raise InputError for words that they cannot take.
"""

import json
import math
import re
from collections.abc import Callable

from waterbudget.errors import InputError
from waterbudget.site.usual import FOUR, Usual
from waterbudget.tables.coverings import find_covering
from waterbudget.tables.covers import find_cover
from waterbudget.tables.jets import find_jets
from waterbudget.tables.soils import find_soil
from waterbudget.units import S_PER_MIN

BUCKET_L = 10.0
DROP_MIN = 10.0  # minutes of a drop test that tells no other
LONGEST_NAME = 80  # letters, as the site file allows
MOST_DAYS = 366  # from one watering to the next, as the site file allows
SHOWN_LETTERS = 40
SKIP = "skip"
COVERINGS = "Such as tin, roof tiles, slate, felt or glass"  # for who is asked what lies on a roof
AMOUNT = r"([0-9]*\.?[0-9]+)"
DROP = re.compile(
    rf"{AMOUNT} *(?:cm)? +to +{AMOUNT} *(?:cm)? +of +{AMOUNT} *(?:cm)?(?: +in +{AMOUNT} *(?:min\w*)?)?", re.IGNORECASE
)
A_MINUTE = re.compile(rf"{AMOUNT} *l/min", re.IGNORECASE)


def number(words: str, wanted: str) -> float:
    """A finite number; wanted: what would be right."""
    try:
        value = float(words)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        point = ", with a point for decimals and no comma" if "," in words else ""
        raise InputError(f"{quoted(words)} is no number; write {wanted}{point}")
    return value


def above_0(words: str, wanted: str) -> float:
    """A number above 0."""
    value = number(words, wanted)
    if value <= 0:
        raise InputError(f"{quoted(words)} is not above 0; write {wanted}")
    return value


def positive(wanted: str) -> Callable[[str], float]:
    """A reader of numbers above 0."""
    return lambda words: above_0(words, wanted)


def within(words: str, limit: float, beyond: str, wanted: str) -> float:
    """A number from -limit to limit; beyond: where any other would be."""
    value = number(words, wanted)
    if abs(value) > limit:
        raise InputError(f"{quoted(words)} is {beyond}; write {wanted}")
    return value


def name(words: str) -> str:
    """A name on one line."""
    if not 0 < len(words) <= LONGEST_NAME or not words.isprintable():
        raise InputError(f"{quoted(words)} is no name; write 1 to {LONGEST_NAME} letters")
    return words


def latitude(words: str) -> float:
    """Degrees north."""
    return within(words, 90.0, "beyond the poles", "degrees from -90 to 90, such as 52.9")


def longitude(words: str) -> float | None:
    """Degrees east; None where it is left out."""
    wanted = f"degrees from -180 to 180, such as -0.8, or {SKIP}"
    return None if words == SKIP else within(words, 180.0, "more than half round the earth", wanted)


def area(words: str) -> float:
    """Square metres, also as length x width."""
    wanted = "square metres, such as 38, or length x width in metres, such as 8 x 4.75"
    sides = re.split(r"[xX*\u00d7]", words)
    if len(sides) > 2:  # noqa: PLR2004 -- length and width
        raise InputError(f"{quoted(words)} has more than length and width; write {wanted}")
    return above_0(f"{math.prod(above_0(side.strip(), wanted) for side in sides):.6g}", wanted)


def start_l(words: str, capacity_l: float) -> float:
    """Litres in a store that holds so many."""
    wanted = f"litres from 0 to the store's {capacity_l:g}"
    value = number(words, wanted)
    if not 0 <= value <= capacity_l:
        raise InputError(f"{quoted(words)} does not fit; write {wanted}")
    return value


def fill_10_l_s(words: str, capacity_l: float) -> float:
    """Seconds in which a flow fills a 10-litre bucket, by the bucket, by a known flow, or by the drop in the store.

    capacity_l: of the straight-sided store whose level drops. "62 to 57.8 of 95 in 10": from 62 cm to 57.8 cm, of 95 cm
    when full, in 10 minutes.
    """
    flow, drop = A_MINUTE.fullmatch(words), DROP.fullmatch(words)
    if flow:
        return S_PER_MIN * BUCKET_L / above_0(flow[1], "litres a minute, such as 12 L/min")
    if drop:
        before_cm, after_cm, full_cm = map(float, drop.groups()[:3])
        minutes = float(drop[4] or DROP_MIN)
        if not after_cm < before_cm <= full_cm or minutes <= 0:
            raise InputError(
                f"{quoted(words)} is no drop; write the depth before, the lower one after and that of the full store, "
                "in cm, and the minutes, such as 62 to 57.8 of 95 in 10"
            )
        return S_PER_MIN * BUCKET_L * minutes * full_cm / ((before_cm - after_cm) * capacity_l)
    return above_0(words, "seconds, such as 60")


def flow_l_min(fill_s: float) -> float:
    """The flow that fills a 10-litre bucket in so many seconds, in the three figures that a bucket is good for."""
    return float(f"{S_PER_MIN * BUCKET_L / fill_s:.3g}")


def every_days(words: str) -> int:
    """Whole days from one watering to the next."""
    if not re.fullmatch(r"[0-9]{1,3}", words) or not 1 <= int(words) <= MOST_DAYS:
        raise InputError(f"{quoted(words)} does not fit; write whole days from 1 to 366, 2 for every other day")
    return int(words)


def soil(words: str) -> str:
    """A soil of the table, also by how a squeezed pinch behaves."""
    return find_soil(words).name.lower()


def covering(words: str) -> str:
    """A roof covering of the table."""
    return find_covering(words).name


def jets(words: str) -> str:
    """A kind of jets."""
    return find_jets(words).name


def cover(words: str) -> str:
    """What lies over a bed."""
    return find_cover(words).name


def usual(words: str) -> tuple[float, ...] | None:
    """Four usual temperatures in °C: a July afternoon and night, a January afternoon and night; None if left out."""
    if words == SKIP:
        return None
    wanted = f"four numbers, a July and a January day and night each, such as 21 12 7 1, or {SKIP}"
    values = tuple(number(word, wanted) for word in words.split())
    if len(values) != len(FOUR):
        raise InputError(f"{quoted(words)} are not four; write {wanted}")
    try:
        Usual.model_validate(dict(zip(FOUR, values, strict=True)))
    except ValueError:
        raise InputError(f"{quoted(words)} are no such temperatures; write {wanted}, the night the cooler") from None
    return values


def yes(words: str) -> bool:
    """Yes or no."""
    if words.lower() not in {"y", "yes", "n", "no"}:
        raise InputError(f"{quoted(words)} is neither; write yes or no")
    return words.lower().startswith("y")


def quoted(words: str) -> str:
    """Words as a message repeats them."""
    return json.dumps(words if len(words) <= SHOWN_LETTERS else f"{words[:SHOWN_LETTERS]}...", ensure_ascii=False)
