"""One page for all tests of a session; each begins with the garden as it was."""

import pytest
from serving import garden, serving


@pytest.fixture(scope="session")
def page(tmp_path_factory):
    folder = tmp_path_factory.mktemp("page") / "garden"
    folder.mkdir()
    garden(folder)
    with serving(folder) as served:
        yield served


@pytest.fixture
def served(page):
    page.put_back()
    return page
