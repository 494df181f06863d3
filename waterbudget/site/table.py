"""What the tables of the site file have in common: how strict they are, and the ranges of plain quantities."""

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

MOST = 100_000  # of anything that is counted
LARGEST = 1e9  # of any quantity: beyond every garden, and far from where sums and products lose their litres

Share = Annotated[float, Field(gt=0, le=1)]
Fraction = Annotated[float, Field(ge=0, le=1)]
Positive = Annotated[float, Field(gt=0, le=LARGEST)]
NotNegative = Annotated[float, Field(ge=0, le=LARGEST)]
Count = Annotated[int, Field(ge=1, le=MOST)]


class Table(BaseModel):
    """What every table of the site file has in common: frozen, strict, no unknown key, no infinite number."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False)
