"""Longer questions as pages: what they say is what the commands say."""

import json

import html5lib
import pytest
from click.testing import CliRunner

from waterbudget.cli.main import main
from waterbudget.render.html import together


@pytest.mark.parametrize("kind", ["improve", "hotspell"])
def test_a_page_says_what_the_command_says(served, kind):
    status, _, text = served.ask("GET", f"/report/{kind}", timeout=60)
    assert status == 200
    shown = CliRunner().invoke(main, [kind, str(served.site), "--json"], catch_exceptions=False)

    for sentence in json.loads(shown.stdout)["verdict"]:
        assert together(sentence).replace("'", "&#39;") in text
    parser = html5lib.HTMLParser(strict=False)
    parser.parse(text)
    assert parser.errors == []


def test_what_cannot_be_answered_yet_is_told(served):
    status, _, text = served.ask("GET", "/report/sunday", timeout=60)
    assert status == 422
    assert "holds no level that can be used" in text
    assert served.ask("GET", "/report/nothing")[0] == 404
