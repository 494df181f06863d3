"""What the text of a site file may hold: names on one line, keys of the packaged tables, words of a short list."""

import re
from collections.abc import Callable
from typing import Annotated, Any, Literal, get_args

from pydantic import AfterValidator, BeforeValidator, Field, ValidationInfo

from waterbudget.errors import Said
from waterbudget.tables.coverings import find_covering
from waterbudget.tables.crops import find_crop
from waterbudget.tables.read import UnknownKeyError, spelt_alike
from waterbudget.tables.soils import find_soil

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
LONGEST_NAME = 80  # letters
NAMED_AT_MOST = 3  # words that may have been meant

CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029]")
STATION_ID = re.compile("[0-9A-Za-z]+")


def _on_one_line(text: str) -> str:
    if not text.strip():
        raise ValueError("write something between the quotes")
    if CONTROL.search(text):
        raise ValueError("write it without line breaks, tabs and other control characters")
    return text


def _names_a_day(weekdays: list[str]) -> list[str]:
    if not weekdays:
        raise ValueError('name at least one day, such as ["mon"], or leave the key out')
    return weekdays


def _key_of(find: Callable[[str], object], all_of_them: str) -> AfterValidator:
    """A check that a table has the key; all_of_them: where they are listed."""

    def check(key: str) -> str:
        try:
            find(key)
        except UnknownKeyError as error:
            near = " or ".join(f'"{name}"' for name in error.nearest[:NAMED_AT_MOST])
            advice = f"did you mean {near}?" if near else "nothing is spelt like it"
            unknown = f"unknown {error.kind}; {advice}"
            raise ValueError(Said(f"{unknown} ({all_of_them})", unknown)) from None
        return key

    return AfterValidator(check)


def _station_id(text: str) -> str:
    if not STATION_ID.fullmatch(text):
        letters = "write letters and digits"
        raise ValueError(Said(f"{letters}; waterbudget weather lists the stations near by", letters))
    return text


def one_of(words: Any) -> BeforeValidator:  # noqa: ANN401 -- a special form of typing
    """Let a word of a Literal be written in any case, with any blanks and marks, and in the plural."""

    def spelt(value: object) -> object:
        return next((word for word in get_args(words) if isinstance(value, str) and spelt_alike(value, word)), value)

    return BeforeValidator(spelt)


def is_left_out(key: str, info: ValidationInfo) -> bool:
    """Whether an earlier key is absent, which is not so when it is there with a fault."""
    return key in info.data and info.data[key] is None


Text = Annotated[str, AfterValidator(_on_one_line)]
FileName = Annotated[str, AfterValidator(_on_one_line), "a file"]
StationId = Annotated[str, AfterValidator(_station_id)]
Name = Annotated[str, Field(max_length=LONGEST_NAME), AfterValidator(_on_one_line)]
CoveringKey = Annotated[str, _key_of(find_covering, "waterbudget roofs lists all")]
CropKey = Annotated[str, _key_of(find_crop, "waterbudget crops lists all")]
SoilKey = Annotated[str, _key_of(find_soil, "waterbudget soils lists all")]

_Weekday = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
_CropCoefficient = Literal["single", "dual"]
_Release = Literal["after_spill", "before_spill"]
_Mains = Literal["none", "direct", "float"]
_Shape = Literal["upright-cylinder", "box", "tapered", "lying-cylinder"]
_Plan = Literal["timer", "dry", "refill"]
_JetKind = Literal["mist", "spray", "drip", "can"]

Weekdays = Annotated[list[Annotated[_Weekday, one_of(_Weekday)]], AfterValidator(_names_a_day)]
CropCoefficient = Annotated[_CropCoefficient, one_of(_CropCoefficient)]
Release = Annotated[_Release, one_of(_Release)]
Mains = Annotated[_Mains, one_of(_Mains)]
ShapeName = Annotated[_Shape, one_of(_Shape)]
Plan = Annotated[_Plan, one_of(_Plan)]
JetKind = Annotated[_JetKind, one_of(_JetKind)]
