"""A site file is rewritten whole, by one writer at a time, and its old self is kept."""

import os
import stat
import subprocess
import sys
from contextlib import ExitStack
from pathlib import Path

import pytest
from handwritten import CHANGES, SITE

from waterbudget.errors import OutputError, SiteError
from waterbudget.example import site_path
from waterbudget.site.edit import Change, Gone, NewTable
from waterbudget.site.read import load_site
from waterbudget.site.write import put_back, write_changes

HOSE = Path(__file__).parent.parent.parent / "data_demo" / "hose" / "site.toml"
LEAK_PLACE = ("tank", 0, "loss_l_per_day")
LOCK = ".site.toml.lock"


def names_in(folder):
    """What lies in a folder beside the lock of its site file."""
    return sorted(entry.name for entry in folder.iterdir() if entry.name != LOCK)


@pytest.fixture
def path(tmp_path):
    (tmp_path / "site.toml").write_text(SITE, "utf-8")
    return tmp_path / "site.toml"


def test_the_file_is_written_and_its_old_self_kept(tmp_path):
    path = tmp_path / "site.toml"
    path.write_bytes(b"\xef\xbb\xbf" + SITE.encode())
    for litres, copy in enumerate(("site.toml.bak", "site.toml.bak2", "site.toml.bak3")):
        before = path.read_bytes()
        assert write_changes(path, load_site(path), [*CHANGES[:-2], Change(LEAK_PLACE, 0.5 + litres), CHANGES[-1]]) == (
            tmp_path / copy
        )
        assert (tmp_path / copy).read_bytes() == before
    site = load_site(path)
    assert [roof.runoff for roof in site.roof] == [0.716, 0.6]
    assert (site.tank[0].loss_l_per_day, site.zone[0].flow_l_min) == (2.5, 8.2)
    assert path.read_bytes().startswith(b"\xef\xbb\xbf# a garden")


def test_the_example_is_changed_where_it_should_be(tmp_path):
    path = tmp_path / "site.toml"
    path.write_bytes(site_path().read_bytes())
    changes = [Change(("roof", 1, "first_flush_l"), 4.0), Change(("zone", 1, "flow_l_min"), 5.5)]
    write_changes(path, load_site(path), changes)
    site = load_site(path)
    assert (site.roof[1].first_flush_l, site.zone[1].flow_l_min) == (4.0, 5.5)
    assert len(path.read_text("utf-8").splitlines()) == len(site_path().read_text("utf-8").splitlines()) + 1


def test_jets_and_pump_are_changed_in_their_own_lines(tmp_path):
    path = tmp_path / "site.toml"
    path.write_bytes(HOSE.read_bytes())
    changes = [Change(("zone", 0, "line", 0, "jets", 2, "k_l_h"), 2.5), Change(("pump", "greatest_l_h"), 431.7)]
    write_changes(path, load_site(path), changes)
    site = load_site(path)
    assert [jets.k_l_h for jets in site.zone[0].hose.jets] == [3, 3, 2.5, 3]
    assert (site.pump.shutoff_m, site.pump.greatest_l_h) == (10, 432)
    pairs = zip(HOSE.read_text("utf-8").splitlines(), path.read_text("utf-8").splitlines(), strict=True)
    assert [pair for pair in pairs if pair[0] != pair[1]] == [
        ("k_l_h = 3", "k_l_h = 2.5"),
        ("greatest_l_h = 500                  # how much it moves without lifting",
         "greatest_l_h = 432                  # how much it moves without lifting"),
    ]  # fmt: skip


def test_a_file_that_became_another_is_left_alone(tmp_path):
    path = tmp_path / "site.toml"
    path.write_text(SITE)
    site = load_site(path)
    path.write_text(SITE.replace("area_m2 = 8", "area_m2 = 9"))
    with pytest.raises(SiteError, match="was changed in the meantime"):
        write_changes(path, site, CHANGES)
    assert names_in(tmp_path) == ["site.toml"]


def test_what_cannot_be_written_is_told_for_doing_by_hand(tmp_path):
    path = tmp_path / "site.toml"
    path.write_text(SITE)
    with pytest.raises(
        SiteError, match=r"not written.* change by hand: tank\[1\]\.loss_l_per_day = 2\.5, zone\[1\]\.pipe\.bore"
    ):
        write_changes(path, load_site(path), [CHANGES[3], Change(("zone", 0, "pipe", "bore_mm"), 13.0)])
    assert path.read_text() == SITE
    assert names_in(tmp_path) == ["site.toml"]


def test_a_folder_that_takes_no_file_keeps_its_own(tmp_path, monkeypatch):
    path, opened = tmp_path / "site.toml", Path.open
    path.write_text(SITE)
    site = load_site(path)

    def read_only(self, mode="r", *others, **named):
        if "r" not in mode:
            raise PermissionError(13, "Permission denied")
        return opened(self, mode, *others, **named)

    monkeypatch.setattr(Path, "open", read_only)  # as the bits of a folder do not hold for root
    with pytest.raises(OutputError, match=r"site\.toml\.bak: cannot be written: Permission denied"):
        write_changes(path, site, CHANGES)
    monkeypatch.undo()
    assert path.read_text() == SITE
    assert names_in(tmp_path) == ["site.toml"]


@pytest.mark.parametrize("mode", [0o600, 0o640, 0o664])
def test_the_file_and_its_copy_have_the_mode_that_it_had(path, mode):
    path.chmod(mode)
    copy = write_changes(path, load_site(path), CHANGES)
    assert [stat.S_IMODE(one.stat().st_mode) for one in (path, copy)] == [mode, mode]


def test_a_file_that_is_read_only_is_not_replaced(path, tmp_path):
    path.chmod(0o444)
    with pytest.raises(OutputError, match=r"site\.toml: is read-only; choose another name, or let it be written to"):
        write_changes(path, load_site(path), CHANGES)
    assert path.read_text() == SITE
    assert names_in(tmp_path) == ["site.toml"]


@pytest.mark.parametrize(
    ("change", "fault"),
    [
        (Change(("zone", 0, "flow_l_min"), 0.0), r"zone\[1\]\.flow_l_min: is 0; write a number above 0 .*; nothing"),
        (Change(("tank", 0, "start_l"), 351.0), r"tank\[1\]\.start_l: is 351; write at most capacity_l, 350; nothing"),
        (Change(("roof", 0, "first_flush"), 2.0), r"roof\[1\]\.first_flush: unknown key; .*; nothing"),
    ],
)
def test_what_no_command_could_read_is_not_written(path, tmp_path, change, fault):
    with pytest.raises(SiteError, match=rf"site\.toml: {fault} was written"):
        write_changes(path, load_site(path), [CHANGES[0], change])
    assert path.read_text() == SITE
    assert names_in(tmp_path) == ["site.toml"]


def test_the_last_five_copies_are_kept(path, tmp_path):
    texts = []
    for litres in range(1, 9):
        texts.append(path.read_text())
        copy = write_changes(path, load_site(path), [Change(LEAK_PLACE, litres)])
        assert copy.name == f"site.toml.bak{litres if litres > 1 else ''}"
    assert names_in(tmp_path) == ["site.toml", *(f"site.toml.bak{number}" for number in range(4, 9))]
    assert [(tmp_path / f"site.toml.bak{number}").read_text() for number in range(4, 9)] == texts[3:]


def test_other_files_of_like_names_are_no_copies(path, tmp_path):
    others = ["site.toml.bak0", "site.toml.bakery", "site.toml.bak2.old", "site.toml~", "xsite.toml.bak"]
    for name in others:
        (tmp_path / name).write_text("mine")
    for litres in range(1, 8):
        write_changes(path, load_site(path), [Change(LEAK_PLACE, litres)])
    assert all((tmp_path / name).read_text() == "mine" for name in others)


def test_a_copy_that_a_killed_writer_made_is_taken(path, tmp_path):
    (tmp_path / "site.toml.bak").write_text("an earlier one")
    (tmp_path / "site.toml.bak2").write_text(SITE)
    assert write_changes(path, load_site(path), CHANGES) == tmp_path / "site.toml.bak2"
    assert names_in(tmp_path) == ["site.toml", "site.toml.bak", "site.toml.bak2"]


WRITER = """
import sys
from pathlib import Path
from waterbudget.errors import SiteError
from waterbudget.site.read import load_site
from waterbudget.site.edit import Change, Gone, NewTable
from waterbudget.site.write import put_back, write_changes

path, kind, key = Path(sys.argv[1]), sys.argv[2], sys.argv[3]
for value in range(1, 1 + int(sys.argv[4])):
    site = load_site(path)
    print("read", flush=True)
    sys.stdin.readline()
    try:
        write_changes(path, site, [Change((kind, 0, key), float(value))])
        print("written", flush=True)
    except SiteError as error:
        print(error, flush=True)
"""


def test_of_two_writers_one_is_refused_and_no_change_is_lost(path):
    """Both have read the file when both are let go; whoever comes second is told so, and its change was not written."""
    rounds, things = 15, [("tank", "loss_l_per_day"), ("zone", "flow_l_min")]
    with ExitStack() as stack:
        writers = [
            stack.enter_context(
                subprocess.Popen(
                    [sys.executable, "-c", WRITER, path, *thing, str(rounds)],
                    stdin=subprocess.PIPE,
                    stdout=subprocess.PIPE,
                    text=True,
                )
            )
            for thing in things
        ]
        wanted = {"tank": 0.0, "zone": 10.0}
        for value in range(1, 1 + rounds):
            assert [writer.stdout.readline() for writer in writers] == ["read\n"] * 2
            for writer in writers:
                writer.stdin.write("\n")
                writer.stdin.flush()
            told = {kind: writer.stdout.readline() for (kind, _), writer in zip(things, writers, strict=True)}
            (first,) = (kind for kind, line in told.items() if line == "written\n")
            (second,) = told.keys() - {first}
            assert told[second] == f"{path}: was changed in the meantime; try again\n"
            wanted[first] = float(value)
            site = load_site(path)
            assert {"tank": site.tank[0].loss_l_per_day, "zone": site.zone[0].flow_l_min} == wanted


KILLS = 40
KILLER = """
import os, random, signal, sys, time
from pathlib import Path
from waterbudget.site.read import load_site
from waterbudget.site.edit import Change, Gone, NewTable
from waterbudget.site.write import put_back, write_changes

path, kills, random = Path(sys.argv[1]), int(sys.argv[2]), random.Random(1)

def write(litres):
    write_changes(path, load_site(path), [Change(("tank", 0, "loss_l_per_day"), float(litres))])

write(1)  # loads what is loaded late, before any fork
for kill in range(kills):
    process = os.fork()
    if process == 0:
        while True:
            for litres in range(1, 100):
                write(litres)
    time.sleep(random.uniform(0.0, 0.1))
    os.kill(process, signal.SIGKILL)
    os.waitpid(process, 0)
    for whole in path.parent.glob("site.toml*"):
        load_site(whole)
    print(len(list(path.parent.glob(".*.part"))))
write(0.5)
"""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="this system does not fork")
def test_no_kill_leaves_half_a_file_or_more_than_the_next_writer_clears(path, tmp_path):
    done = subprocess.run([sys.executable, "-c", KILLER, path, str(KILLS)], capture_output=True, check=True, text=True)
    left = list(map(int, done.stdout.split()))
    assert (len(left), max(left)) == (KILLS, 1)  # some were killed while they wrote
    assert load_site(path).tank[0].loss_l_per_day == 0.5
    copies = [name for name in names_in(tmp_path) if name != "site.toml"]
    assert len(copies) <= 5
    assert all(name.startswith("site.toml.bak") for name in copies)


def test_tables_come_and_go_in_a_file_and_are_checked(path):
    tank = NewTable(("tank",), {"name": "Tank", "capacity_l": 500.0, "start_l": 0.0})
    write_changes(path, load_site(path), [tank])
    assert [tank.name for tank in load_site(path).tank] == ["Butt", "Tank"]
    write_changes(path, load_site(path), [Gone(("tank", 1))])
    assert path.read_text("utf-8") == SITE
    with pytest.raises(SiteError, match=r"roof\[1\].tank.*nothing was written") as fault:
        write_changes(path, load_site(path), [Gone(("tank", 0)), tank])
    assert ("roof", 0, "tank") in fault.value.places
    assert path.read_text("utf-8") == SITE


def test_the_newest_copy_is_put_back_and_again(path):
    write_changes(path, load_site(path), [Change(LEAK_PLACE, 0.5)])
    write_changes(path, load_site(path), [Change(LEAK_PLACE, 1.5)])
    assert put_back(path).name == "site.toml.bak2"
    assert load_site(path).tank[0].loss_l_per_day == 0.5
    put_back(path)
    assert load_site(path).tank[0].loss_l_per_day == 1.5


def test_without_a_copy_nothing_is_put_back(path):
    with pytest.raises(SiteError, match="no copy of it"):
        put_back(path)
    assert path.read_text("utf-8") == SITE
