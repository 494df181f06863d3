"""Start the page: bind its addresses, tell them, and answer until the process is told to end."""

import datetime as dt
import webbrowser
from collections.abc import Callable
from contextlib import ExitStack, chdir, suppress
from pathlib import Path
from typing import NamedTuple

from waterbudget.errors import InputError
from waterbudget.serve.address import HERE, PORT, STRANGERS, bound, key_of_the_house, phone_address, square
from waterbudget.serve.clock import Clock
from waterbudget.serve.doorman import listen
from waterbudget.serve.gate import Door, Gate
from waterbudget.serve.house import House
from waterbudget.serve.routes import application
from waterbudget.serve.shelf import Shelf
from waterbudget.simulate.opened import HERE as SITE

USUAL_PORT = 80


class Wanted(NamedTuple):
    """How the page is to be started. names: further hosts under which it is reached. opens: a browser here."""

    phone: bool
    address: str | None
    names: tuple[str, ...]
    port: int | None
    on: dt.date | None
    opens: bool
    new_key: bool


def start(path: Path | None, wanted: Wanted, say: Callable[[str], None], note: Callable[[str], None]) -> None:
    """Answer until the process ends. say: takes the addresses, note: what goes on.

    Raises InputError where the page cannot be reached under what is wanted.
    """
    path = SITE if path is None else path
    if path.is_dir():
        path /= SITE
    if not path.parent.is_dir():
        raise InputError(f"{path.parent}: there is no such folder; make it, or name another")
    if wanted.address is not None and not wanted.phone:
        raise InputError("--address: goes with --phone")
    far = phone_address(wanted.address) if wanted.phone else None
    key = key_of_the_house(new=wanted.new_key)
    sockets, port = bound([HERE, *([far] if far else [])], wanted.port)
    if wanted.port is None and port != PORT:
        note(f"Port {PORT} is taken by another program, so this page has {port}; phones that knew it scan again.")
    hosts = [HERE, "localhost", *([far] if far else []), *(name.lower() for name in wanted.names)]
    door = Door(frozenset(host_and_port(host, port) for host in hosts), key, f"garden_{port}")
    here = f"http://{HERE}:{port}/join?key={key}"
    phone = f"http://{far}:{port}/join?key={key}" if far else None
    say(here)
    if phone:
        say(phone)
        note(f"{square(phone)}\n{STRANGERS}")
    note("Press Ctrl+C to end." + ("" if wanted.phone else " For phones in the same Wi-Fi start it with --phone."))
    if wanted.opens:
        webbrowser.open(here)
    with ExitStack() as stack:
        stack.enter_context(chdir(path.parent))  # so that whatever names the garden's files names no folder
        house = House(Shelf(Path(path.name), Clock(wanted.on)), note, phone)
        for one in sockets:
            stack.enter_context(one)
        stack.enter_context(suppress(KeyboardInterrupt))
        listen(Gate(application(house), door, note), sockets)


def host_and_port(host: str, port: int) -> str:
    """As a browser names it, which leaves out the usual port."""
    return host if port == USUAL_PORT else f"{host}:{port}"
