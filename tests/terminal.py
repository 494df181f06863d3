"""A program on a pseudo terminal, for tests that type to it."""

import os
import select
import signal
import subprocess
import sys
import time
from contextlib import contextmanager

import pytest

pty = pytest.importorskip("pty", reason="pseudo terminals are a Unix matter")

SECONDS = 60
# A test run in the background may hand down an ignored Ctrl-C, which a terminal would not.
PROGRAM = (
    "import signal; signal.signal(signal.SIGINT, signal.default_int_handler); "
    "from waterbudget.cli.main import main; main()"
)


class Terminal:
    """A program on a pseudo terminal: what it showed, and typing to it."""

    def __init__(self, master):
        self.master = master
        self.shown = ""

    def wait_for(self, text):
        """What was shown up to and with `text`, once it is."""
        until = time.monotonic() + SECONDS
        while text not in self.shown:
            assert time.monotonic() < until, f"never showed {text!r}: {self.shown}"
            self._take()
        before, _, self.shown = self.shown.partition(text)
        return before + text

    def to_the_end(self):
        while self._take():
            pass
        return self.shown

    def type(self, text):
        os.write(self.master, text.encode(errors="surrogateescape"))

    def _take(self):
        if not select.select([self.master], [], [], SECONDS)[0]:
            pytest.fail(f"nothing more was shown for {SECONDS} s: {self.shown}")
        try:
            part = os.read(self.master, 65536)
        except OSError:  # Linux tells so that the other end is closed
            return False
        self.shown += part.decode(errors="replace").replace("\r\n", "\n")
        return bool(part)


@contextmanager
def on_a_terminal(*arguments, stdin=None, stdout=None):
    """The program with all of its streams on a pseudo terminal, but for those named."""
    master, slave = pty.openpty()
    try:
        program = subprocess.Popen(
            [sys.executable, "-c", PROGRAM, *map(str, arguments)],
            stdin=slave if stdin is None else stdin,
            stdout=slave if stdout is None else stdout,
            stderr=slave,
            env={**os.environ, "TERM": "dumb", "PYTHONIOENCODING": "utf-8:strict"},
        )
        os.close(slave)
        try:
            yield program, Terminal(master)
            program.wait(SECONDS)
        finally:
            program.kill()
            program.wait()
            if program.stdout:
                program.stdout.close()
    finally:
        os.close(master)


def press_ctrl_c(program):
    """Until it is heard: a signal that comes just before the program waits for a line is not."""
    for _ in range(SECONDS // 5):
        program.send_signal(signal.SIGINT)
        try:
            program.wait(5)
        except subprocess.TimeoutExpired:
            continue
        return
