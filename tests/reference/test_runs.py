"""Both programs, the package and the plain one of the tests, against printed answers, in whole runs."""

import pytest
from gardens import site_of, weather_of
from plain import plain_run
from reference.prints import printed
from reference.runs import RUNS

import waterbudget


def by_the_package(site, weather):
    return waterbudget.run(site_of(site), weather_of(weather)).beds.to_dict("records")


def by_the_plain_program(site, weather):
    return plain_run(site, weather)["beds"]


@pytest.mark.parametrize("program", [by_the_package, by_the_plain_program])
@pytest.mark.parametrize("case", RUNS, ids=lambda case: case.source.split(",")[0])
def test_a_printed_run(case, program):
    rows = program(case.site, case.weather)
    for column, figures in case.figures.items():
        for number, (row, figure) in enumerate(zip(rows, figures, strict=True), start=1):
            if figure:
                assert row[column] == printed(figure), f"{case.source}, {column} on day {number}"
