"""Options of the test run."""


def pytest_addoption(parser):
    parser.addoption("--validity", action="store_true", help="print every published figure beside ours at the end")


def pytest_terminal_summary(terminalreporter, config):
    if config.getoption("--validity"):
        from reference.prints import validity

        terminalreporter.section("published figures")
        for line in validity():
            terminalreporter.write_line(line)
