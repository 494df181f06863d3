"""The sites of a batch: rows of a CSV file that change a template, or the site files of a folder."""

import math
from collections.abc import Iterator, Sequence
from copy import deepcopy
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

from waterbudget.errors import InputError, SiteError, shown
from waterbudget.rows.cells import doubled_heads, number_in, ragged
from waterbudget.rows.sheet import Row, read_sheet
from waterbudget.site.keys import Column, columns_of
from waterbudget.site.links import Raw
from waterbudget.site.model import Site
from waterbudget.site.override import checked_site, override, raw_site
from waterbudget.site.read import load_site
from waterbudget.tables.read import nearest

TEMPLATE = "site.toml"  # looked for beside the CSV file
NAME, SIZE_TANK, CELL, WEIGHT = "name", "size_tank", "cell", "weight"
LARGEST_WEIGHT = 1e9
OWN = {  # columns beside those of the template's keys
    NAME: Column(NAME, None, is_text=True),
    SIZE_TANK: Column(SIZE_TANK, None, is_text=True),
    CELL: Column(CELL, None, is_text=True),
    WEIGHT: Column(WEIGHT, None, is_text=False),
    "latitude_deg": Column("latitude_deg", ("site", "latitude_deg"), is_text=False),
    "longitude_deg": Column("longitude_deg", ("site", "longitude_deg"), is_text=False),
}


class Entry(NamedTuple):
    """One site as it was found.

    cells: of its row, () for a site file; fault: what is wrong with the row itself. weight: how many gardens it stands
    for; group: that it is summed in. at: the number of the cell that its weather comes from, None for its own file.
    """

    name: str
    where: str
    cells: tuple[str, ...] = ()
    fault: str = ""
    weight: float = 1.0
    group: str = ""
    at: int | None = None


@dataclass(frozen=True)
class Sheet:
    """What the rows of a CSV file have in common: the template's tables, its folder and the columns."""

    template: Raw
    folder: Path
    columns: tuple[Column, ...]

    def site_of(self, entry: Entry) -> Site:
        """The checked site of a row. Raises SiteError with every fault, in lines that name row and column."""
        if entry.fault:
            raise SiteError(f"{entry.where}: {entry.fault}")
        table = deepcopy(self.template)
        table["site"]["name"] = entry.name
        for column, cell in zip(self.columns, entry.cells, strict=True):
            if column.place is not None and cell:
                override(table, column, cell)
        return checked_site(table, entry.where)

    def cell(self, entry: Entry, head: str) -> str:
        """The cell of a row under a head; empty where there is no such column."""
        return next((cell for column, cell in zip(self.columns, entry.cells, strict=False) if column.head == head), "")

    def place_of(self, entry: Entry) -> dict[str, float | None]:
        """Latitude and longitude of a row [degrees], those of the template where it has none of its own."""
        place: dict[str, float | None] = {
            key: self.template["site"].get(key) for key in ("latitude_deg", "longitude_deg")
        }
        for column, cell in zip(self.columns, entry.cells, strict=False):
            if column.place is not None and column.place[0] == "site" and column.place[1] in place and cell:
                number = number_in(cell)
                place[str(column.place[1])] = number if math.isfinite(number) else None
        return place

    def folder_of(self, _entry: Entry) -> Path:
        """Where the weather file of a row is looked for: beside the template."""
        return self.folder

    def size_tank_of(self, entry: Entry, site: Site) -> int:
        """The number of the tank that is tried in many sizes. Raises SiteError where there is none or it is unclear."""
        names = [tank.name for tank in site.tank]
        given = self.cell(entry, SIZE_TANK)
        listed = ", ".join(f'"{name}"' for name in names)
        if given and given not in names:
            meant = [f'did you mean "{name}"?' for name in nearest(given, names)[:1]]
            raise SiteError(
                f"{entry.where}: {SIZE_TANK}: {shown(given)} is no tank; {[*meant, f'there is {listed}'][0]}"
            )
        if not given and len(names) > 1:
            raise SiteError(f"{entry.where}: {SIZE_TANK}: is missing; write which tank the sizes are for: {listed}")
        return names.index(given) if given else 0


@dataclass(frozen=True)
class Folder:
    """Site files, each of them whole."""

    def site_of(self, entry: Entry) -> Site:
        """The checked site of a file. Raises SiteError with every fault."""
        return load_site(entry.where)

    def folder_of(self, entry: Entry) -> Path:
        """Where the weather file of a site is looked for: beside its file."""
        return Path(entry.where).parent

    def size_tank_of(self, entry: Entry, site: Site) -> int:
        """The number of the only tank. Raises SiteError where there are more."""
        if len(site.tank) > 1:
            raise SiteError(
                f"{entry.where}: has {len(site.tank)} tanks, and sizes are tried of one; leave the sizes out, "
                f"or write a CSV file of sites with the column {SIZE_TANK}"
            )
        return 0


def folder_sites(folder: Path) -> tuple[Folder, list[Entry]]:
    """All site files of a folder and the folders in it, each named by its path in there.

    Raises InputError where there is none.
    """
    found = [path for path in sorted(folder.rglob("*.toml")) if path.is_file()]
    if not found:
        raise InputError(f"{folder}: holds no site files (.toml); waterbudget new FOLDER makes one")
    return Folder(), [Entry(path.relative_to(folder).as_posix(), str(path.resolve())) for path in found]


def sheet_sites(path: Path, template: Path | None, by: str | None = None) -> tuple[Sheet, list[Entry]]:
    """The rows of a CSV file of sites, and what they have in common.

    template: site file that the rows change, by default site.toml beside the CSV file. by: a column of groups.
    Raises InputError where the file, its header or the template is at fault; a row that is keeps its fault.
    """
    if not path.exists():
        raise InputError(f"{path}: there is no such file or folder; name a CSV file of sites")
    sheet = read_sheet(path, NAME, "a site")
    template = path.with_name(TEMPLATE) if template is None else template
    if not template.exists():
        raise InputError(f"{template}: there is no such file; name the site file that the rows change, with --template")
    table, heads = raw_site(template), sheet.heads
    if faults := [
        f"{path}: row {sheet.header.number}: {fault}" for fault in _header_faults(heads, table, template, by)
    ]:
        raise InputError(faults)
    if not sheet.rows:
        raise InputError(f"{path}: holds no sites; write one a row under the header")
    known = columns_of(Site, table)
    columns = tuple(known.get(head) or OWN.get(head) or Column(head, None, is_text=True) for head in heads)
    rows = sheet.plain(numbers=[column.head for column in columns if not column.is_text]).rows
    return Sheet(table, template.resolve().parent, columns), list(_entries(path, heads, rows, by))


def _header_faults(heads: Sequence[str], table: Raw, template: Path, by: str | None) -> Iterator[str]:
    yield from doubled_heads(heads)
    known = columns_of(Site, table)
    for head in dict.fromkeys(heads):
        if not head:
            yield f"column {heads.index(head) + 1} has no head; write {NAME} or a key of {template}"
        elif head not in known and head not in OWN and head != by:
            near = nearest(head, [*OWN, *known])[:1]
            advice = f'did you mean "{near[0]}"?' if near else f'such keys look like "{next(reversed(known))}"'
            yield f"{shown(head)} is no key of {template}; {advice}"
    if NAME not in heads:
        yield f"the column {NAME} is missing; give each site a name"
    if by is not None and by not in heads:
        near = nearest(by, heads)[:1]
        advice = f"did you mean {shown(near[0])}?" if near else "add it, or leave --by out"
        yield f"the column {shown(by)} of --by is missing; {advice}"


def _entries(path: Path, heads: Sequence[str], rows: Sequence[Row], by: str | None) -> Iterator[Entry]:
    column, first = heads.index(NAME), dict[str, int]()
    weight_in = heads.index(WEIGHT) if WEIGHT in heads else None
    group_in = None if by is None else heads.index(by)
    for number, cells in rows:
        name = cells[column] if column < len(cells) else ""
        fault = ragged(cells, heads, "leave a cell blank where the template's value stands")
        if not fault and not name:
            fault = f"{NAME}: is blank; give the site a name"
        elif not fault and first.setdefault(name, number) != number:
            fault = f"{NAME}: is {shown(name)}, like that of row {first[name]}; give each its own name"
        weight, group = 1.0, ""
        if not fault and weight_in is not None:
            weight, fault = _weight(cells[weight_in])
        if not fault and group_in is not None:
            group = cells[group_in]
            fault = "" if group else f"{by}: is blank; write the group of the site, or leave --by out"
        yield Entry(name, f"{path.name}: row {number}", cells, fault, weight, group)


def _weight(cell: str) -> tuple[float, str]:
    """How many gardens a row stands for, 1 where it is blank; and what is wrong with it."""
    weight = number_in(cell) if cell else 1.0
    if 0.0 <= weight <= LARGEST_WEIGHT:
        return weight, ""
    return 0.0, f"{WEIGHT}: is {shown(cell)}; write how many gardens the row stands for, 0 or more"
