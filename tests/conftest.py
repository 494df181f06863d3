"""Options of the test run."""

import os
import tempfile

from hypothesis import HealthCheck, settings

os.environ["COLUMNS"] = "100"  # screens of one width, whatever window the tests run in
CACHE = tempfile.TemporaryDirectory()  # gone with the test run, so that nothing kept by an earlier one is believed
os.environ["WATERBUDGET_CACHE"] = CACHE.name

# How long an example takes tells of the machine and what else it does, not of the code.
settings.register_profile("any machine", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("any machine")


def pytest_addoption(parser):
    parser.addoption("--validity", action="store_true", help="print every published figure beside ours at the end")


def pytest_terminal_summary(terminalreporter, config):
    if config.getoption("--validity"):
        from reference.prints import validity

        terminalreporter.section("published figures")
        for line in validity():
            terminalreporter.write_line(line)
