"""waterbudget check."""

from pathlib import Path

import click

from waterbudget.cli.options import site_argument, tell


@click.command()
@site_argument
def check(site: Path | None) -> None:
    """Read a site and its weather, and say what was understood, what was assumed and what looks odd.

    SITE is a site file; without it site.toml of this folder is taken, else the built-in example.

    \b
    Example: waterbudget check data_demo/site.toml
    """  # noqa: D301
    from waterbudget.report.answer import answer_check

    answer = answer_check(site)
    tell(answer)
