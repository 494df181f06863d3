"""Files are written whole or not at all, by one writer at a time, and never over another without being told to."""

import os
import re
import secrets
import shutil
import stat
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path

from waterbudget.errors import OutputError

CACHE = "WATERBUDGET_CACHE"  # names the folder, where it is set
PICTURES = (".png", ".svg", ".pdf")
WAIT_S = 10.0  # for another writer
WRITABLE = stat.S_IWUSR | stat.S_IWGRP | stat.S_IWOTH
SCRATCH = re.compile(r"\.[0-9a-f]{16}\.part")
HELD = "lock"  # in a scratch folder: whoever holds it lives


def cache_folder() -> Path:
    """Where what can be had again is kept: the folder of WATERBUDGET_CACHE, else one of the user's cache folder."""
    import platformdirs

    return Path(os.environ.get(CACHE) or platformdirs.user_cache_dir("waterbudget"))


def refuse_existing(paths: list[Path], *, overwrite: bool) -> None:
    """Raises OutputError naming every path that is there already, unless it is a file and may be overwritten."""
    faults = []
    for path in paths:  # os.path, as pathlib raises where a folder may not be looked into
        if os.path.lexists(path) and not os.path.isfile(path):  # noqa: PTH113
            faults.append(f"{path}: is a folder or the like, not a file; choose another name")
        elif os.path.lexists(path) and not overwrite:
            faults.append(f"{path}: is there already; choose another name or add --overwrite")
        elif os.path.lexists(path) and not _is_writable(path):
            faults.append(f"{path}: is read-only; choose another name, or let it be written to")
    if faults:
        raise OutputError(faults)


def refuse_outputs(table: Path | None, picture: Path | None, *, overwrite: bool) -> None:
    """Raises OutputError where a table or a picture that is asked for cannot be had; None is not asked for."""
    if picture is not None and picture.suffix.lower() not in PICTURES:
        kind = picture.suffix or "a file without an ending"
        raise OutputError(f"{picture}: can't draw {kind}; use {', '.join(PICTURES[:-1])} or {PICTURES[-1]}")
    if table is not None and table == picture:
        raise OutputError(f"{table}: is asked for as table and as picture; give them two names")
    refuse_existing([path for path in (table, picture) if path is not None], overwrite=overwrite)


def write_files(contents: Mapping[Path, bytes], *, overwrite: bool = False, like: Path | None = None) -> None:
    """Write all files into scratch folders beside their places first, and move them only when all are written.

    A folder that is missing is made with all that belongs in it, and moved as one. A file that is replaced keeps its
    mode and owner, and so do links to it; a new one gets those of `like`, by default the usual ones. Raises OutputError
    where a file exists and overwrite is False, is read-only, or cannot be written; then nothing is left behind.
    """
    refuse_existing(list(contents), overwrite=overwrite)
    with ExitStack() as stack:
        scratches: dict[Path, Path] = {}
        moves: dict[Path, Path] = {}
        for path, content in contents.items():
            with _told(path):
                place = Path(os.path.realpath(path)) if path.is_symlink() else path
                top = next((folder for folder in reversed(place.parents) if not os.path.lexists(folder)), place)
                if not top.parent.is_dir():
                    raise OutputError(f"{path}: cannot be written: {top.parent} is no folder; choose another place")
                if top.parent not in scratches:
                    scratches[top.parent] = stack.enter_context(scratch(top.parent))
                moves[top] = scratches[top.parent] / "new" / top.name
                whole = scratches[top.parent] / "new" / place.relative_to(top.parent)
                _write(whole, content, place if place.is_file() else like)
        _move(moves, overwrite=overwrite)
        for folder in scratches:
            sync_folder(folder)


@contextmanager
def alone(path: Path) -> Iterator[None]:
    """Hold the lock beside a file that others may write to as well; the system lets go of it when its holder dies.

    A missing folder is made. Raises OutputError where somebody else holds the lock for long, or it cannot be had.
    """
    from filelock import FileLock, Timeout

    place = Path(os.path.realpath(path))
    lock = FileLock(place.with_name(f".{place.name}.lock"), timeout=WAIT_S)
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        lock.acquire()
    except Timeout:
        raise OutputError(f"{path}: somebody else is writing to it; try again in a moment") from None
    except (OSError, NotImplementedError) as error:
        why = getattr(error, "strerror", None) or error
        raise OutputError(f"{path}: cannot be written: {why}; take a folder of your own") from error
    try:
        yield
    finally:
        lock.release()


@contextmanager
def scratch(within: Path) -> Iterator[Path]:
    """A folder for what is not whole yet, gone in the end; those of writers that were killed are cleared away first.

    A writer holds a lock in its own as long as it lives, which tells it from those. Raises OutputError where it cannot
    be made.
    """
    from filelock import FileLock, Timeout

    clear_scratch(within)
    while True:
        folder = within / f".{secrets.token_hex(8)}.part"
        with _told(within):
            folder.mkdir(mode=stat.S_IRWXU)
        lock = FileLock(folder / HELD, timeout=0)
        try:
            lock.acquire()
        except (Timeout, FileNotFoundError):
            continue  # somebody took it for a dead one
        except (OSError, NotImplementedError):
            pass  # no locks here, so nobody can take it for one
        if folder.exists():
            break
    try:
        yield folder
    finally:
        lock.release()
        shutil.rmtree(folder, ignore_errors=True)


def clear_scratch(within: Path) -> None:
    """Remove the scratch folders of writers that were killed."""
    from filelock import FileLock, Timeout

    for folder in within.glob(".*.part"):
        if SCRATCH.fullmatch(folder.name) and _is_own_folder(folder):
            with suppress(Timeout, OSError, NotImplementedError):
                with FileLock(folder / HELD, timeout=0):
                    shutil.rmtree(folder, ignore_errors=True)
                shutil.rmtree(folder, ignore_errors=True)  # Windows keeps a file that is open


def sync_folder(folder: Path) -> None:
    """See on the disk which files a folder holds."""
    if os.name == "nt":  # opens no folders
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _is_own_folder(path: Path) -> bool:
    """Whether it is a folder of this user's; others may set traps in a temporary folder that all can write to."""
    with suppress(OSError):
        state = path.lstat()
        return stat.S_ISDIR(state.st_mode) and state.st_uid == getattr(os, "geteuid", int)()
    return False


def _is_writable(path: Path) -> bool:
    return bool(path.stat().st_mode & WRITABLE) and os.access(path, os.W_OK)


@contextmanager
def _told(path: Path) -> Iterator[None]:
    """Tell in words what the system says of a path."""
    try:
        yield
    except OSError as error:
        raise OutputError(f"{path}: cannot be written: {error.strerror}; choose another place") from error


def _write(path: Path, content: bytes, model: Path | None) -> None:
    """Write a file and its folders, and see it on the disk; model: whose mode and owner it gets."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("xb") as handle:
        handle.write(content)
        handle.flush()
        os.fsync(handle.fileno())
    if model is not None:
        state = model.stat()
        if hasattr(os, "chown"):
            with suppress(OSError):  # only root gives files away
                os.chown(path, state.st_uid, state.st_gid)
        path.chmod(stat.S_IMODE(state.st_mode))


def _move(moves: Mapping[Path, Path], *, overwrite: bool) -> None:
    """Move what is whole to its places; where one fails, those before it get back what they had."""
    with ExitStack() as undo:
        for place, whole in moves.items():
            with _told(place):
                if place.is_file():
                    refuse_existing([place], overwrite=overwrite)
                before = Path(shutil.copy2(place, f"{whole}.before")) if place.is_file() and len(moves) > 1 else None
                whole.replace(place)
                undo.callback(before.replace if before else place.replace, place if before else whole)
        undo.pop_all()
