"""Files that somebody wrote: their text, the rows of a CSV as an editor counts them, and their faults in words."""

import csv
import io
import math
import stat
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

from waterbudget.errors import InputError

SEPARATORS = {";": "semicolons", "\t": "tabs", "|": "bars"}
SHOWN_LETTERS = 40
BYTES_PER_MB = 1e6
MOST_BYTES = 500_000_000  # some million rows


class Row(NamedTuple):
    """The number of a row's first line, and its cells without the blanks around them."""

    number: int
    cells: tuple[str, ...]


def read_rows(path: Path, header: str, each: str) -> list[Row]:
    """The rows that are not blank, the header first.

    header: the columns that are needed, as they would stand there. each: what a row holds, such as: an offer.
    Raises InputError where the file is not there, is no UTF-8 text or no CSV, is empty, or has no commas in its header.
    """
    text = read_text(path, "CSV file", f"write one with the columns {header}", "save the sheet as CSV in UTF-8")
    reader = csv.reader(io.StringIO(text, newline=""), strict=True, skipinitialspace=True)
    rows, number = [], 1
    try:
        for cells in reader:
            rows.append(Row(number, tuple(cell.strip() for cell in cells)))
            number = reader.line_num + 1
    except csv.Error as error:
        raise InputError(f"{path}: row {number}: is no CSV ({error}); check its quotation marks") from None
    rows = [row for row in rows if any(row.cells)]
    if not rows:
        raise InputError(f"{path}: is empty; write the header {header} and {each} a row")
    number, heads = rows[0]
    for separator, words in SEPARATORS.items():
        if len(heads) == 1 and separator in heads[0]:
            raise InputError(
                f"{path}: row {number}: the columns are separated by {words}; "
                "separate them by commas, and write decimals with a point"
            )
    return rows


def read_content(
    path: Path, thing: str, missing: str, fault: type[InputError] = InputError, most_bytes: int = MOST_BYTES
) -> bytes:
    """The content of a file that somebody wrote.

    thing: what is to be named, such as: site file; missing: what to do where there is none.
    Raises fault, in one line, where it is not there, cannot be read, is larger than most_bytes, or is a pipe or a
    device, which may never end.
    """
    try:
        kind = path.stat().st_mode  # before it is opened, for a pipe may never be
        if stat.S_ISDIR(kind):
            raise fault(f"{path}: is a folder; name the {thing} in it")
        if not stat.S_ISREG(kind):
            raise fault(f"{path}: is a pipe or a device; save what it holds as a file, and name that")
        with path.open("rb") as handle:
            content = handle.read(most_bytes + 1)
    except FileNotFoundError:
        raise fault(f"{path}: there is no such file; {missing}") from None
    except (OSError, ValueError) as error:  # ValueError: a name that no file can have
        why = getattr(error, "strerror", None) or error
        raise fault(f"{path}: cannot be read: {why}; name a {thing} that can") from None
    if len(content) > most_bytes:
        raise fault(f"{path}: is larger than {most_bytes / BYTES_PER_MB:,.0f} MB; name a {thing}")
    return content


def read_text(
    path: Path,
    thing: str,
    missing: str,
    save: str,
    fault: type[InputError] = InputError,
    most_bytes: int = MOST_BYTES,
) -> str:
    """The text of a file that somebody wrote.

    save: how to save it; all else as for `read_content`. Raises fault also where it is no UTF-8 text.
    """
    try:
        text = read_content(path, thing, missing, fault, most_bytes).decode("utf-8-sig")
    except UnicodeDecodeError:
        raise fault(f"{path}: is not UTF-8 text; {save}") from None
    if "\0" in text:  # as in UTF-16, or in a picture
        raise fault(f"{path}: is not UTF-8 text; {save}")
    return text


def missing_heads(heads: Sequence[str], needed: Sequence[str]) -> Iterator[str]:
    """A line for each column that is needed and does not stand in the header."""
    for name in needed:
        if name not in heads:
            yield f"the column {name} is missing; write the header {','.join(needed)}"


def doubled_heads(heads: Sequence[str]) -> Iterator[str]:
    """A line for each column that stands in the header more than once; columns without a name may."""
    for name in dict.fromkeys(heads):
        if name and heads.count(name) > 1:
            yield f"the column {name} stands there {heads.count(name)} times; keep one"


def ragged(cells: Sequence[str], heads: Sequence[str], few: str) -> str:
    """What is wrong with a row that has not one cell a column, else nothing; few: advice where some are missing."""
    if len(cells) == len(heads):
        return ""
    many = "write decimals with a point, thousands with nothing, and text with a comma in quotes"
    values = f"{len(cells)} value{'' if len(cells) == 1 else 's'}"
    return f"has {values} under {len(heads)} column names; {many if len(cells) > len(heads) else few}"


def number_in(cell: str) -> float:
    """The number that a cell holds; not a number where it holds none, so that it lies within no limits."""
    try:
        return float(cell if cell.isascii() and "_" not in cell else "nan")  # Python reads 1_0 and other digits too
    except ValueError:
        return math.nan


def unfit(column: str, cell: str, wanted: str) -> str:
    """What is wrong with a cell that is blank or holds something else than is wanted."""
    found = f'"{cell[:SHOWN_LETTERS]}"' if cell else "blank"
    return f"{column} is {found}; write {wanted}"
