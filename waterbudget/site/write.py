"""Write changes into a site file: checked whole before it is replaced, with the file as it was laid beside it."""

import re
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path

from waterbudget.errors import SiteError
from waterbudget.output import alone, write_files
from waterbudget.site.edit import BOM, Edit, changed
from waterbudget.site.model import Site
from waterbudget.site.read import load_site, site_in

KEPT_COPIES = 5


def write_changes(path: Path, site: Site, changes: Sequence[Edit]) -> Path:
    """Write the changes into a site file; returns the copy of the file as it was, which is laid beside it.

    site: as it was read from the file. Of several copies the last few are kept. Raises SiteError where the file has
    become another one, the changes cannot be had without touching something else, or would make it a file that nobody
    can read; OutputError where it cannot be written. Then it stays as it is.
    """
    with alone(path):
        if load_site(path) != site:
            raise SiteError(f"{path}: was changed in the meantime; try again")
        before = path.read_bytes()
        after = changed(before.decode("utf-8"), changes)
        if after is None:
            by_hand = ", ".join(map(str, changes))
            raise SiteError(
                f"{path}: not written, as its tables stand there in an unusual form; change by hand: {by_hand}"
            )
        _refuse_unreadable(after, path)
        return _replaced(path, before, after.encode("utf-8"))


def put_back(path: Path) -> Path:
    """Let a site file be again what its newest copy is; returns that copy, which now holds what the file was.

    Raises SiteError where there is no copy, or nobody can read it; OutputError where it cannot be written.
    """
    with alone(path):
        newest = newest_copy(path)
        if newest is None:
            raise SiteError(f"{path}: no copy of it lies beside it, so there is nothing to put back")
        now, then = path.read_bytes(), newest.read_bytes()
        _refuse_unreadable(then.decode("utf-8"), newest)
        write_files({newest: now, path: then}, overwrite=True, like=path)
    return newest


def newest_copy(path: Path) -> Path | None:
    """The copy that the last change of a site file laid beside it, if there is one."""
    copies = _copies(path)
    return copies[max(copies)] if copies else None


def _replaced(path: Path, before: bytes, after: bytes) -> Path:
    """The copy of the file as it was before; older ones than the last few go."""
    copies = _copies(path)
    last = max(copies, default=0)
    if last and copies[last].read_bytes() == before:  # as a writer leaves it that was killed
        write_files({path: after}, overwrite=True)
    else:
        last += 1
        copies[last] = path.with_name(f"{path.name}.bak{last if last > 1 else ''}")
        write_files({copies[last]: before, path: after}, overwrite=True, like=path)
    for number in sorted(copies)[:-KEPT_COPIES]:
        with suppress(OSError):
            copies[number].unlink()
    return copies[last]


def _refuse_unreadable(text: str, path: Path) -> None:
    """Raises SiteError where the text is no site file that the next command could read."""
    try:
        site_in(text.removeprefix(BOM), path)
    except SiteError as error:
        raise SiteError((f"{fault}; nothing was written" for fault in error.faults), error.places) from error


def _copies(path: Path) -> dict[int, Path]:
    """The copies that are there, by their number: site.toml.bak, site.toml.bak2 ..."""
    name = re.compile(re.escape(path.name) + r"\.bak([1-9][0-9]{0,8})?")
    found = ((name.fullmatch(one.name), one) for one in path.parent.iterdir())
    return {int(match[1] or 1): one for match, one in found if match}
