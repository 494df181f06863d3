"""Where the page can be reached: addresses of this computer, the sockets bound to them, and the key of the house."""

import errno
import secrets
import socket
from collections.abc import Iterable
from ipaddress import IPv4Address
from pathlib import Path

from waterbudget.errors import InputError, OutputError
from waterbudget.output import write_files

HERE = "127.0.0.1"
PORT = 8787
TRIES = 10  # ports after the first
LAST_PORT = 65535
KEY_BYTES = 16
OURS_ALONE = 0o600
STRANGERS = "Anyone with this square can write in the journal. Not for a network of strangers."


def addresses() -> tuple[str, ...]:
    """The IPv4 addresses of this computer in its own networks, those of the usual home networks first."""
    import ifaddr

    found = [
        IPv4Address(ip.ip)
        for adapter in ifaddr.get_adapters()
        for ip in adapter.ips
        if isinstance(ip.ip, str) and ip.is_IPv4
    ]
    near = sorted(
        {one for one in found if not (one.is_loopback or one.is_link_local)}, key=lambda one: not one.is_private
    )
    return tuple(map(str, near))


def phone_address(wanted: str | None) -> str:
    """The address for phones. wanted: the one that was named, None for the only one.

    Raises InputError where there is none, there are several, or the named one is none of them.
    """
    found = addresses()
    if wanted is not None:
        if wanted not in found:
            raise InputError(
                f"--address: {wanted} is none of this computer; "
                + (f"choose one of {', '.join(found)}" if found else "it has no network at the moment")
            )
        return wanted
    if not found:
        raise InputError(
            "--phone: this computer has no network at the moment; join the Wi-Fi first, or leave out --phone to use "
            "the page on this computer alone"
        )
    if len(found) > 1:
        raise InputError(
            f"--phone: this computer has several addresses, {', '.join(found)}; name the one in your Wi-Fi: "
            f"--address {found[0]}"
        )
    return found[0]


def bound(names: Iterable[str], port: int | None) -> tuple[tuple[socket.socket, ...], int]:
    """Sockets on the addresses, all on one port, and that port.

    port: the one that was named, 0 for any; None for the usual one, or the next that is free. Raises InputError where
    it is taken.
    """
    names = tuple(names)
    first = PORT if port is None else port
    for number in range(first, min(first + TRIES, LAST_PORT) + 1) if port is None else (first,):
        sockets: list[socket.socket] = []
        try:
            for name in names:
                sockets.append(_bound(name, sockets[0].getsockname()[1] if sockets else number))
        except OSError as error:
            for one in sockets:
                one.close()
            if error.errno not in {errno.EADDRINUSE, errno.EACCES}:
                raise InputError(f"--address: cannot be used: {error.strerror}; choose another") from error
        else:
            return tuple(sockets), int(sockets[0].getsockname()[1])
    taken = f"{first} is" if port is not None else f"{first} to {first + TRIES} are"
    raise InputError(f"--port: {taken} taken by other programs, or not for you; choose another, such as --port 8899")


def _bound(name: str, port: int) -> socket.socket:
    one = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    if not hasattr(socket, "SO_EXCLUSIVEADDRUSE"):  # elsewhere it lets a page start again at once
        one.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        one.bind((name, port))
        one.listen(100)
    except OSError:
        one.close()
        raise
    return one


def key_of_the_house(*, new: bool = False) -> str:
    """The key that phones come in with, kept for the user of this computer; new: another one, which shuts all out.

    Raises OutputError where it cannot be kept.
    """
    from platformdirs import user_data_path

    path = Path(user_data_path("waterbudget", appauthor=False)) / "key"
    try:
        kept = path.read_text("ascii").strip()
    except FileNotFoundError:
        kept = ""
    except (OSError, UnicodeDecodeError) as error:
        raise OutputError(f"{path}: the key of the page cannot be read; remove the file, and try again") from error
    if kept and not new:
        return kept
    made = secrets.token_urlsafe(KEY_BYTES)
    write_files({path: f"{made}\n".encode("ascii")}, overwrite=True)
    path.chmod(OURS_ALONE)
    return made


def square(address: str) -> str:
    """An address as a square for a phone's camera, in letters of a terminal: two rows of it a line."""
    import segno

    rows = [list(row) for row in segno.make(address, error="m", micro=False).matrix_iter(border=2)]
    if len(rows) % 2:
        rows.append([0] * len(rows[0]))
    half = {(0, 0): "\N{FULL BLOCK}", (0, 1): "\N{UPPER HALF BLOCK}", (1, 0): "\N{LOWER HALF BLOCK}", (1, 1): " "}
    lines = (zip(upper, lower, strict=True) for upper, lower in zip(rows[::2], rows[1::2], strict=True))
    return "\n".join("".join(half[int(above), int(below)] for above, below in line) for line in lines)


def square_svg(address: str) -> str:
    """The same as a picture for a page."""
    import segno

    drawn: str = segno.make(address, error="m", micro=False).svg_inline(scale=5, light="#fff", dark="#000", border=4)
    return drawn
