"""waterbudget fit end to end on the demo journal."""

import json
import shutil

import pytest
from asking import Asker
from journal.invented import DEMO, TRUE

from waterbudget.cli.fit import fit
from waterbudget.site.read import load_site

ask = Asker(fit)


@pytest.fixture
def garden(tmp_path):
    shutil.copytree(DEMO, tmp_path / "journal")
    shutil.copy(DEMO.parent / "weather.csv", tmp_path)
    return tmp_path / "journal"


def test_nothing_is_written_unless_told(garden):
    before = {path.name: path.read_bytes() for path in garden.iterdir()}
    result = ask(garden / "site.toml")
    assert result.exit_code == 0
    assert not result.stderr
    assert "Nothing was written" in result.stdout
    assert {path.name: path.read_bytes() for path in garden.iterdir()} == before


def test_what_fits_best_is_written_with_a_copy_of_the_old_file(garden):
    path, plot = garden / "site.toml", garden / "fit.svg"
    before = path.read_bytes()
    result = ask(path, "--write", "--plot", plot, "--json")
    copy = garden / "site.toml.bak"
    assert result.stderr.splitlines() == [f"Written: {path}; as it was before: {copy}", f"Written: {plot}"]
    assert copy.read_bytes() == before
    assert plot.read_bytes().startswith(b"<?xml")
    site = load_site(path)
    for one in json.loads(result.stdout)["quantities"][:-1]:
        kind, _, key = one["key"].partition("[1].")
        assert getattr(getattr(site, kind)[0], key) == pytest.approx(one["fitted"], rel=0.005)
        assert abs(one["fitted"] - TRUE[kind, 0, key]) < 3.0 * one["standard_error"]
    assert site.tank[0].start_l == load_site(copy).tank[0].start_l
    assert site.roof[0].wetting_loss_mm == load_site(copy).roof[0].wetting_loss_mm > 0  # stays beside the coefficient
    remarks = [line.partition("#")[2] for line in before.decode().splitlines() if "#" in line]
    assert [line.partition("#")[2] for line in path.read_text("utf-8").splitlines() if "#" in line] == remarks


def test_a_picture_that_is_there_is_kept_unless_told(garden):
    plot = garden / "fit.png"
    plot.write_text("mine")
    assert ask.told(garden / "site.toml", "--plot", plot).endswith(
        "is there already; choose another name or add --overwrite"
    )
    assert plot.read_text() == "mine"


def test_another_kind_of_picture_is_refused_before_anything_is_written(garden):
    before = (garden / "site.toml").read_bytes()
    told = ask.told(garden / "site.toml", "--plot", garden / "fit.gif", "--write")
    assert "can't draw .gif; use .png, .svg or .pdf" in told
    assert (garden / "site.toml").read_bytes() == before


def test_a_journal_with_too_few_levels_is_refused(garden):
    path = garden / "journal.csv"
    path.write_text("\n".join(path.read_text("utf-8").splitlines()[:5]) + "\n", "utf-8")
    assert ask.told(garden / "site.toml") == (
        f"{path}: Class-room tank: 4 of the 8 levels that a fit of it needs; log 4 more, some of them soon after rain"
    )


def test_a_garden_without_a_journal_is_refused(garden):
    (garden / "journal.csv").unlink()
    assert "journal.csv: holds no level that can be used; log some" in ask.told(garden / "site.toml")


def test_a_folder_without_a_site_is_refused(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert ask.told().startswith("site.toml: there is none here; name your site file, or start one")
