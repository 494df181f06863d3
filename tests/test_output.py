import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from waterbudget import output
from waterbudget.errors import OutputError
from waterbudget.output import alone, refuse_existing, scratch, write_files

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


# ---- What stands there already -------------------------------------------------------------------------------------


def mode_of(path):
    return stat.S_IMODE(path.stat().st_mode)


@pytest.mark.parametrize("mode", [0o600, 0o640, 0o664])
def test_a_file_that_is_replaced_keeps_its_mode(tmp_path, mode):
    (tmp_path / "one.csv").write_bytes(b"old")
    (tmp_path / "one.csv").chmod(mode)
    write_files({tmp_path / "one.csv": b"new"}, overwrite=True)
    assert (mode_of(tmp_path / "one.csv"), (tmp_path / "one.csv").read_bytes()) == (mode, b"new")


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="only root gives files away")
def test_a_file_that_is_replaced_keeps_its_owner(tmp_path):
    (tmp_path / "one.csv").write_bytes(b"old")
    os.chown(tmp_path / "one.csv", 1234, 1235)
    write_files({tmp_path / "one.csv": b"new"}, overwrite=True)
    state = (tmp_path / "one.csv").stat()
    assert (state.st_uid, state.st_gid) == (1234, 1235)


def test_a_new_file_may_get_the_mode_of_another(tmp_path):
    (tmp_path / "one.csv").write_bytes(b"secret")
    (tmp_path / "one.csv").chmod(0o600)
    write_files({tmp_path / "two.csv": b"secret too"}, like=tmp_path / "one.csv")
    assert mode_of(tmp_path / "two.csv") == 0o600


def test_a_file_that_is_read_only_stays(tmp_path):
    (tmp_path / "one.csv").write_bytes(b"old")
    (tmp_path / "one.csv").chmod(0o444)
    before = everything(tmp_path)
    with pytest.raises(OutputError) as error:
        write_files({tmp_path / "one.csv": b"new", tmp_path / "two.csv": b"new"}, overwrite=True)
    path = tmp_path / "one.csv"
    assert str(error.value) == f"{path}: is read-only; choose another name, or let it be written to"
    assert everything(tmp_path) == before


def test_a_link_stays_one(tmp_path):
    (tmp_path / "far").mkdir()
    (tmp_path / "far" / "one.csv").write_bytes(b"old")
    (tmp_path / "near.csv").symlink_to(tmp_path / "far" / "one.csv")
    write_files({tmp_path / "near.csv": b"new"}, overwrite=True)
    assert (tmp_path / "near.csv").is_symlink()
    assert (tmp_path / "far" / "one.csv").read_bytes() == b"new"


def test_a_set_that_cannot_be_moved_as_a_whole_is_put_back(tmp_path, monkeypatch):
    """As where a spreadsheet holds the third file open, on a system that then lets nobody replace it."""
    for name in ("one.csv", "three.csv"):
        (tmp_path / name).write_bytes(b"old")
    before, replace = everything(tmp_path), Path.replace

    def held_open(self, target):
        if target == tmp_path / "three.csv":
            raise PermissionError(13, "Permission denied")
        return replace(self, target)

    monkeypatch.setattr(Path, "replace", held_open)
    contents = {tmp_path / name: b"new" for name in ("one.csv", "two.csv", "new/table.csv", "three.csv")}
    with pytest.raises(OutputError, match=r"three\.csv: cannot be written: Permission denied"):
        write_files(contents, overwrite=True)
    assert everything(tmp_path) == before


def test_a_file_that_somebody_else_writes_meanwhile_stays(tmp_path, monkeypatch):
    sync = os.fsync

    def meanwhile(handle):
        (tmp_path / "one.csv").write_bytes(b"theirs")
        sync(handle)

    monkeypatch.setattr(os, "fsync", meanwhile)
    with pytest.raises(OutputError, match=r"one\.csv: is there already"):
        write_files({tmp_path / "one.csv": b"ours"})
    assert everything(tmp_path) == {Path("one.csv"): b"theirs"}


# ---- Writers that are killed, and writers side by side -------------------------------------------------------------

WRITER = """
import os, sys, time
from pathlib import Path
from waterbudget.output import write_files

sync, place = os.fsync, Path(sys.argv[1])

def slow(handle):
    sync(handle)
    print("written", flush=True)
    sys.stdin.readline()

os.fsync = slow
write_files({place / "new" / "one.csv": b"1", place / "new" / "two.csv": b"2", place / "three.csv": b"3"})
"""


@pytest.fixture
def writer(tmp_path):
    """A process that has written the first of three files, and waits."""
    with subprocess.Popen(
        [sys.executable, "-c", WRITER, tmp_path], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as process:
        assert process.stdout.readline() == "written\n"
        yield process
        process.kill()


def test_what_a_killed_writer_left_is_cleared_by_the_next(tmp_path, writer):
    writer.kill()
    writer.wait()
    (left,) = tmp_path.iterdir()
    assert left.name.endswith(".part")
    write_files({tmp_path / "other.csv": b"1"})
    assert everything(tmp_path) == {Path("other.csv"): b"1"}


def test_a_writer_that_lives_is_let_alone(tmp_path, writer):
    write_files({tmp_path / "other.csv": b"1"})
    writer.communicate("\n\n\n\n\n\n")
    assert writer.returncode == 0
    assert everything(tmp_path) == {
        Path("new"): None,
        Path("new/one.csv"): b"1",
        Path("new/two.csv"): b"2",
        Path("three.csv"): b"3",
        Path("other.csv"): b"1",
    }


def test_a_new_folder_appears_only_with_all_that_belongs_in_it(tmp_path, monkeypatch):
    seen, sync = [], os.fsync

    def look(handle):
        seen.append((tmp_path / "new").exists())
        sync(handle)

    monkeypatch.setattr(os, "fsync", look)
    write_files({tmp_path / "new" / "deep" / "one.csv": b"1", tmp_path / "new" / "two.csv": b"2"})
    assert seen[:2] == [False, False]
    assert set(everything(tmp_path / "new")) == {Path("deep"), Path("deep/one.csv"), Path("two.csv")}


def test_only_our_own_leftovers_are_cleared(tmp_path):
    for name in (".0123456789abcdef.part", ".mine.part", "0123456789abcdef.part"):
        (tmp_path / name).mkdir()
    (tmp_path / ".fedcba9876543210.part").write_bytes(b"a file of somebody's")
    (tmp_path / ".aaaaaaaaaaaaaaaa.part").symlink_to(tmp_path / ".mine.part")
    with scratch(tmp_path) as folder:
        assert mode_of(folder) == 0o700
    assert not folder.exists()
    assert {path.name for path in tmp_path.iterdir()} == {
        ".mine.part", "0123456789abcdef.part", ".fedcba9876543210.part", ".aaaaaaaaaaaaaaaa.part"
    }  # fmt: skip


def test_a_file_has_one_writer_at_a_time(tmp_path, monkeypatch):
    monkeypatch.setattr(output, "WAIT_S", 0.05)
    path = tmp_path / "site.toml"
    (tmp_path / "link.toml").symlink_to(path)
    with (
        alone(path),
        pytest.raises(OutputError, match=r"link\.toml: somebody else is writing to it; try again in a moment"),
        alone(tmp_path / "link.toml"),
    ):
        pass
    with alone(path):
        pass
