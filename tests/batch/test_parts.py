import json

import pytest

from waterbudget.batch.outcome import DATES, NUMBERS
from waterbudget.batch.partition import Ran, digest
from waterbudget.batch.parts import Parts, schema_of
from waterbudget.errors import OutputError

pq = pytest.importorskip("pyarrow.parquet")

MADE_OF = {"SITES": "abc", "--sizes": "None"}
ROW = dict.fromkeys((*NUMBERS, *DATES)) | {"name": "Plot", "days": 60, "days_lasted": 60, "error": ""}


def parts(out, partitions=3, **made_of):
    return Parts(out, MADE_OF | made_of, partitions)


def begun(out, *, finished=(), weather=None):
    some = parts(out)
    some.begin(anew=True)
    for number in finished:
        some.save(number, Ran([ROW | {"name": f"Plot {number}"}], weather or {}, {}, []), schema_of(sizes=False))
    return some


def test_nothing_to_go_on_with(tmp_path):
    out = tmp_path / "new" / "results.parquet"
    assert not parts(out).look(overwrite=False)
    assert list(tmp_path.iterdir()) == []


def test_finished_partitions_are_found_again(tmp_path):
    begun(tmp_path / "results.parquet", finished=[0, 2])
    again = parts(tmp_path / "results.parquet")
    assert again.look(overwrite=False)
    again.begin(anew=False)
    assert again.missing() == [1]


def test_another_batch_is_refused_by_name(tmp_path):
    out = tmp_path / "results.parquet"
    begun(out, finished=[0])
    other = parts(out, **{"SITES": "xyz", "--sizes": "1:2:3"})
    with pytest.raises(OutputError) as error:
        other.look(overwrite=False)
    assert str(error.value) == (
        f"{out}.parts: holds partitions of a batch that was begun with another SITES, --sizes; "
        "go on with that as it was, or begin anew with --overwrite"
    )
    assert not other.look(overwrite=True)
    other.begin(anew=True)
    assert other.missing() == [0, 1, 2]
    assert parts(out, **{"SITES": "xyz", "--sizes": "1:2:3"}).look(overwrite=False)


def test_changed_weather_is_refused(tmp_path):
    out, weather = tmp_path / "results.parquet", tmp_path / "weather.csv"
    weather.write_text("dry")
    some = begun(out, finished=[0], weather={str(weather): digest(weather)})
    assert parts(out).look(overwrite=False)
    weather.write_text("wet")
    with pytest.raises(OutputError, match=r"begun with another .*weather\.csv; go on with that"):
        parts(out).look(overwrite=False)
    with pytest.raises(OutputError, match=r"weather\.csv: was changed during the batch; put it back as it was"):
        some.save(1, Ran([ROW], {str(weather): digest(weather)}, {}, []), schema_of(sizes=False))
    assert some.missing() == [1, 2]


@pytest.mark.parametrize("content", [None, "", "{}", "[1]", '{"made_of": 1, "weather": {}}', "\udcff"])
def test_a_folder_of_somebody_else_is_left_alone(tmp_path, content):
    out = tmp_path / "results.parquet"
    folder = tmp_path / "results.parquet.parts"
    folder.mkdir()
    if content is not None:
        (folder / "batch.json").write_bytes(content.encode(errors="surrogateescape"))
    before = sorted(folder.iterdir())
    for overwrite in (False, True):
        with pytest.raises(OutputError, match="is there already and is no batch's; choose another --out"):
            parts(out).look(overwrite=overwrite)
    assert sorted(folder.iterdir()) == before


def test_a_file_in_place_of_the_folder(tmp_path):
    (tmp_path / "results.parquet.parts").write_text("mine")
    with pytest.raises(OutputError, match="is no batch's"):
        parts(tmp_path / "results.parquet").look(overwrite=True)


def test_joined_in_the_order_of_the_sites(tmp_path):
    out = tmp_path / "results.parquet"
    some = begun(out, finished=[2, 0])
    bad = [{"name": f"Bad {number}", "error": f"fault {number}"} for number in range(5)]
    short = ROW | {"name": "Short", "days_lasted": 12}
    some.save(1, Ran([short, *bad], {}, {}, []), schema_of(sizes=False))
    joined = some.join(overwrite=False)
    assert joined[:4] == (8, 5, ("fault 0", "fault 1", "fault 2"), 2)
    table = pq.read_table(out)
    assert table["name"].to_pylist() == ["Plot 0", "Short", *(row["name"] for row in bad), "Plot 2"]
    assert table["days"].to_pylist() == [60, 60, *[None] * 5, 60]
    assert table.schema.equals(schema_of(sizes=False))
    assert [path.name for path in tmp_path.iterdir()] == ["results.parquet"]


def test_an_output_that_appeared_meanwhile_is_kept(tmp_path):
    out = tmp_path / "results.parquet"
    some = begun(out, finished=[0, 1, 2])
    out.write_text("mine")
    with pytest.raises(OutputError, match="is there already"):
        some.join(overwrite=False)
    assert out.read_text() == "mine"
    assert parts(out).look(overwrite=False)
    assert some.join(overwrite=True).rows == 3


def test_only_its_own_files_are_thrown_away(tmp_path):
    some = begun(tmp_path / "results.parquet", finished=[0, 1, 2])
    (some.folder / "notes.txt").write_text("mine")
    (some.folder / ".0123456789abcdef.part").mkdir()  # of a run that was killed
    (some.folder / ".0123456789abcdef.part" / "part-000001.parquet").write_bytes(b"half")
    some.join(overwrite=False)
    assert [path.name for path in some.folder.iterdir()] == ["notes.txt"]


def test_the_book_says_what_it_is_about(tmp_path):
    some = begun(tmp_path / "results.parquet", finished=[0], weather={"/plots/weather.csv": "123"})
    kept = json.loads((some.folder / "batch.json").read_text("utf-8"))
    assert kept == {"made_of": MADE_OF, "weather": {"/plots/weather.csv": "123"}, "cells": {}}
