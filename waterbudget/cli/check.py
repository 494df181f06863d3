"""waterbudget check."""

from pathlib import Path

import click

from waterbudget.cli.deliver import deliver
from waterbudget.cli.options import full_option, json_option, site_argument


@click.command()
@site_argument
@full_option
@json_option
def check(site: Path | None, *, full: bool, as_json: bool) -> None:
    """Read a site and its weather, and say what was understood, what was assumed and what looks odd.

    SITE is a site file; without it site.toml of this folder is taken, else the built-in example.

    \b
    Example: waterbudget check data_demo/site.toml
    Example: waterbudget check data_demo/site.toml --full
    """  # noqa: D301
    from waterbudget.answers.check import answer
    from waterbudget.review.check import find_check
    from waterbudget.simulate.opened import open_site

    deliver(answer(find_check(open_site(site))), as_json=as_json, full=full)
