"""Many phones at once, and a computer that dies in the middle: nothing is lost, nothing doubled. Loopback alone.

The full measure, 100 entries and ten kills, is `tests/benchmark.py page`.
"""

from collections import Counter

import pytest
from crowd import crowd, kills, p95, written
from serving import garden, started


@pytest.fixture
def own(tmp_path):
    folder = tmp_path / "garden"
    folder.mkdir()
    garden(folder)
    return folder


def test_fifty_phones_look_and_five_write(served):
    heard = crowd(served, each=4)
    print(heard)  # noqa: T201 - for whoever runs it with -s
    assert len(heard.keys) == 20
    assert Counter(written(served)) == Counter(heard.keys)
    assert len(heard.pages_s) == 50
    assert p95(heard.polls_s + heard.posts_s) < 5.0, "far above what is aimed at, as a busy machine is no fault"


def test_a_computer_that_dies_loses_and_doubles_nothing(own):
    first = started(own)
    served, keys = kills(lambda: started(own, port=first.port), first, times=3)
    served.process.kill()
    served.process.wait()
    served.process.stdout.close()
    found = Counter(written(served))
    assert len(keys) > 5
    assert set(keys) <= set(found), "what was acknowledged is there"
    assert set(found.values()) == {1}, "and nothing twice"
