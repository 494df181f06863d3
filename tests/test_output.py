import os
import stat
from pathlib import Path

import pytest

from waterbudget.errors import OutputError
from waterbudget.output import refuse_existing, write_files

UMASK = 0o027


def everything(folder):
    return {path.relative_to(folder): path.read_bytes() if path.is_file() else None for path in folder.rglob("*")}


@pytest.fixture
def umask():
    before = os.umask(UMASK)
    yield UMASK
    os.umask(before)


def test_files_are_written_as_given(tmp_path):
    write_files({tmp_path / "one.csv": b"a,b\r\n", tmp_path / "two.svg": b""})
    assert everything(tmp_path) == {Path("one.csv"): b"a,b\r\n", Path("two.svg"): b""}


def test_no_files_are_nothing_to_do(tmp_path):
    write_files({})
    assert everything(tmp_path) == {}


def test_missing_folders_are_made(tmp_path):
    write_files({tmp_path / "a" / "b" / "one.csv": b"1", tmp_path / "a" / "two.csv": b"2"})
    assert everything(tmp_path) == {
        Path("a"): None,
        Path("a/b"): None,
        Path("a/b/one.csv"): b"1",
        Path("a/two.csv"): b"2",
    }


def test_a_name_in_this_folder_needs_no_path(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    write_files({Path("one.csv"): b"1"})
    assert everything(tmp_path) == {Path("one.csv"): b"1"}


def test_permissions_follow_the_umask(tmp_path, umask):
    write_files({tmp_path / "new" / "one.csv": b"1"})
    assert stat.S_IMODE((tmp_path / "new" / "one.csv").stat().st_mode) == 0o666 & ~umask
    assert stat.S_IMODE((tmp_path / "new").stat().st_mode) == 0o777 & ~umask


def test_every_file_that_is_there_is_named_and_none_is_written(tmp_path):
    for name in ("one.csv", "three.csv"):
        (tmp_path / name).write_bytes(b"mine")
    before = everything(tmp_path)
    with pytest.raises(OutputError) as error:
        write_files({tmp_path / f"{name}.csv": b"new" for name in ("one", "two", "three")})
    assert error.value.faults == tuple(
        f"{tmp_path / name}: is there already; choose another name or add --overwrite"
        for name in ("one.csv", "three.csv")
    )
    assert everything(tmp_path) == before


def test_files_are_replaced_when_told_to(tmp_path):
    (tmp_path / "one.csv").write_bytes(b"old and longer")
    write_files({tmp_path / "one.csv": b"new"}, overwrite=True)
    assert everything(tmp_path) == {Path("one.csv"): b"new"}


def test_a_folder_is_never_replaced_and_nothing_beside_it(tmp_path):
    (tmp_path / "two.csv").mkdir()
    (tmp_path / "one.csv").write_bytes(b"old")
    before = everything(tmp_path)
    with pytest.raises(OutputError, match=r"two\.csv: is a folder or the like, not a file; choose another name"):
        write_files({tmp_path / "one.csv": b"new", tmp_path / "two.csv": b"new"}, overwrite=True)
    assert everything(tmp_path) == before


def test_a_link_to_nowhere_is_something_that_is_there(tmp_path):
    (tmp_path / "one.csv").symlink_to(tmp_path / "gone.csv")
    with pytest.raises(OutputError, match=r"one\.csv: "):
        refuse_existing([tmp_path / "one.csv"], overwrite=False)


def test_a_file_where_a_folder_belongs_leaves_nothing_behind(tmp_path):
    (tmp_path / "file").write_bytes(b"mine")
    before = everything(tmp_path)
    contents = {tmp_path / "new" / "one.csv": b"1", tmp_path / "file" / "two.csv": b"2", tmp_path / "three.csv": b"3"}
    with pytest.raises(OutputError) as error:
        write_files(contents)
    assert str(error.value) == (
        f"{tmp_path / 'file' / 'two.csv'}: cannot be written: {tmp_path / 'file'} is no folder; choose another place"
    )
    assert everything(tmp_path) == before


def test_a_full_disk_leaves_nothing_behind(tmp_path, monkeypatch):
    """The second file fails half written; the one that stood there before stays as it was."""
    (tmp_path / "two.csv").write_bytes(b"old")
    before = everything(tmp_path)
    synced = []

    def full(handle):
        synced.append(handle)
        if len(synced) == 2:
            raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    contents = {tmp_path / "new" / "one.csv": b"1", tmp_path / "two.csv": b"2", tmp_path / "three.csv": b"3"}
    with pytest.raises(OutputError) as error:
        write_files(contents, overwrite=True)
    assert str(error.value) == (
        f"{tmp_path / 'two.csv'}: cannot be written: No space left on device; choose another place"
    )
    assert everything(tmp_path) == before


def test_a_folder_that_may_not_be_written_to_is_told(tmp_path, monkeypatch):
    def denied(*_args, **_kwargs):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", denied)
    with pytest.raises(OutputError, match=r"one\.csv: cannot be written: Permission denied; choose another place"):
        write_files({tmp_path / "new" / "one.csv": b"1"})
    assert everything(tmp_path) == {}


def test_what_breaks_off_leaves_nothing_behind(tmp_path, monkeypatch):
    def interrupted(_handle):
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", interrupted)
    with pytest.raises(KeyboardInterrupt):
        write_files({tmp_path / "new" / "one.csv": b"1"})
    assert everything(tmp_path) == {}
