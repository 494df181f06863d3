"""Files are written whole or not at all, and never over another without being told to."""

import os
import tempfile
from collections.abc import Mapping
from pathlib import Path

from waterbudget.errors import OutputError


def refuse_existing(paths: list[Path], *, overwrite: bool) -> None:
    """Raises OutputError naming every path that is there already, unless told to overwrite."""
    there = [path for path in paths if path.exists()]
    if there and not overwrite:
        raise OutputError(f"{path}: is there already; choose another name or add --overwrite" for path in there)


def write_files(contents: Mapping[Path, bytes], *, overwrite: bool = False) -> None:
    """Write all files, each beside its place first and renamed only when all are written.

    Missing folders are made. Raises OutputError where a file exists and overwrite is False, or cannot be written.
    """
    refuse_existing(list(contents), overwrite=overwrite)
    beside: dict[Path, Path] = {}
    try:
        for path, content in contents.items():
            path.parent.mkdir(parents=True, exist_ok=True)
            with tempfile.NamedTemporaryFile(dir=path.parent, prefix=f".{path.name}.", delete=False) as handle:
                beside[path] = Path(handle.name)
                handle.write(content)
                handle.flush()
                os.fsync(handle.fileno())
        for path, written in beside.items():
            written.chmod(0o666 & ~_umask())
            written.replace(path)
    except OSError as error:
        raise OutputError(f"{error.filename or next(iter(contents))}: cannot be written: {error.strerror}") from error
    finally:
        for written in beside.values():
            written.unlink(missing_ok=True)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
