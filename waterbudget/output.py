"""Files are written whole or not at all, and never over another without being told to."""

import os
import secrets
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

from waterbudget.errors import OutputError

PICTURES = (".png", ".svg", ".pdf")


def refuse_existing(paths: list[Path], *, overwrite: bool) -> None:
    """Raises OutputError naming every path that is there already, unless it is a file and may be overwritten."""
    faults = []
    for path in paths:  # os.path, as pathlib raises where a folder may not be looked into
        if os.path.lexists(path) and not os.path.isfile(path):  # noqa: PTH113
            faults.append(f"{path}: is a folder or the like, not a file; choose another name")
        elif os.path.lexists(path) and not overwrite:
            faults.append(f"{path}: is there already; choose another name or add --overwrite")
    if faults:
        raise OutputError(faults)


def refuse_outputs(table: Path | None, picture: Path | None, *, overwrite: bool) -> None:
    """Raises OutputError where a table or a picture that is asked for cannot be had; None is not asked for."""
    if picture is not None and picture.suffix.lower() not in PICTURES:
        raise OutputError(f"{picture}: is no picture's name; end it in {', '.join(PICTURES[:-1])} or {PICTURES[-1]}")
    if table is not None and table == picture:
        raise OutputError(f"{table}: is asked for as table and as picture; give them two names")
    refuse_existing([path for path in (table, picture) if path is not None], overwrite=overwrite)


def write_files(contents: Mapping[Path, bytes], *, overwrite: bool = False) -> None:
    """Write all files, each beside its place first and renamed only when all are written.

    Missing folders are made. Raises OutputError where a file exists and overwrite is False, or cannot be written; then
    nothing is left behind.
    """
    refuse_existing(list(contents), overwrite=overwrite)
    made = [folder for path in contents for folder in path.parents if not os.path.lexists(folder)]
    beside = {path: path.with_name(f".{secrets.token_hex(8)}.part") for path in contents}
    try:
        for path, content in contents.items():
            path.parent.mkdir(parents=True, exist_ok=True)
            with beside[path].open("xb") as handle:
                handle.write(content)
                handle.flush()
                os.fsync(handle.fileno())
        for path, written in beside.items():
            written.replace(path)
    except OSError as error:
        why = f"{path.parent} is no folder" if isinstance(error, FileExistsError) else error.strerror
        raise OutputError(f"{path}: cannot be written: {why}; choose another place") from error
    finally:
        for written in beside.values():
            with suppress(OSError):
                written.unlink()
        for folder in made:
            with suppress(OSError):  # a folder that holds a file stays
                folder.rmdir()
