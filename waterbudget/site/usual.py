"""The temperatures that are usual at a place, for gardens that measure no more than rain."""

from typing import Annotated, Self

from pydantic import Field, model_validator

from waterbudget.site.table import Table

Celsius = Annotated[float, Field(ge=-60, le=60)]
Months = Annotated[list[Celsius], Field(min_length=12, max_length=12)]
FOUR = ("july_high_c", "july_low_c", "january_high_c", "january_low_c")
TWELVE = ("high_c", "low_c")


class Usual(Table):
    """Usual temperatures: four numbers that a person knows, or twelve monthly means."""

    july_high_c: Celsius | None = Field(
        title="A July afternoon, °C", default=None, description="a usual July afternoon, °C"
    )
    july_low_c: Celsius | None = Field(title="A July night, °C", default=None, description="a usual July night, °C")
    january_high_c: Celsius | None = Field(
        title="A January afternoon, °C", default=None, description="a usual January afternoon, °C"
    )
    january_low_c: Celsius | None = Field(
        title="A January night, °C", default=None, description="a usual January night, °C"
    )
    high_c: Months | None = Field(
        title="Twelve months' highs, °C",
        default=None,
        description="monthly means of the day's highest, January first, °C",
    )
    low_c: Months | None = Field(
        title="Twelve months' lows, °C",
        default=None,
        description="monthly means of the day's lowest, January first, °C",
    )

    @model_validator(mode="after")
    def _is_whole(self) -> Self:
        given = {key for key in (*FOUR, *TWELVE) if getattr(self, key) is not None}
        wanted = TWELVE if given & {*TWELVE} else FOUR
        if given - {*wanted}:
            raise ValueError(f"gives {_listed(FOUR)} as well as {_listed(TWELVE)}; leave out one of the two")
        if missing := [key for key in wanted if key not in given]:
            raise ValueError(f"lacks {_listed(missing)}; give {_listed(wanted)}")
        for low_c, high_c in zip(self.lows_c, self.highs_c, strict=True):
            if low_c > high_c:
                raise ValueError(f"has a low of {low_c:g} above a high of {high_c:g}; swap or correct them")
        return self

    @property
    def highs_c(self) -> tuple[float, ...]:
        """The usual highest: of twelve months, or of January and July."""
        return tuple(self.high_c) if self.high_c else (self.january_high_c or 0.0, self.july_high_c or 0.0)

    @property
    def lows_c(self) -> tuple[float, ...]:
        """The usual lowest: of twelve months, or of January and July."""
        return tuple(self.low_c) if self.low_c else (self.january_low_c or 0.0, self.july_low_c or 0.0)


def _listed(keys: tuple[str, ...] | list[str]) -> str:
    return f"{', '.join(keys[:-1])} and {keys[-1]}" if len(keys) > 1 else keys[0]
