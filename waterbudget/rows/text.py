"""The bytes and the text of a file that somebody wrote: no more of it than a file of its kind can hold."""

import codecs
import re
import stat
from pathlib import Path

from waterbudget.errors import InputError, Said

BYTES_PER_MB = 1e6
MOST_BYTES = 100_000_000  # a million rows and more
KINDS = {  # how a file begins that is no text, and what it is
    b"\x89PNG": "a picture",
    b"\xff\xd8\xff": "a picture",
    b"GIF8": "a picture",
    b"RIFF": "a picture or a recording",
    b"II*\0": "a picture",
    b"MM\0*": "a picture",
    b"%PDF": "a PDF",
    b"PK\x03\x04": "a workbook or another packed file",
    b"\xd0\xcf\x11\xe0": "a workbook of the old kind",
    b"\x1f\x8b": "a packed file",
}
MARKS = {  # of the encodings that set one; that of UTF-32 begins like one of UTF-16
    codecs.BOM_UTF8: "utf-8-sig",
    codecs.BOM_UTF32_LE: "utf-32",
    codecs.BOM_UTF32_BE: "utf-32",
    codecs.BOM_UTF16_LE: "utf-16",
    codecs.BOM_UTF16_BE: "utf-16",
}
NO_LETTER = re.compile("[\x00-\x08\x0e-\x1f\x7f]")  # stands in no text, but in pictures and programs


def read_content(
    path: Path, thing: str, missing: str, fault: type[InputError] = InputError, most_bytes: int = MOST_BYTES
) -> bytes:
    """The content of a file that somebody wrote.

    thing: what is to be named, such as: site file; missing: what to do where there is none.
    Raises fault, in one line, where it is not there, cannot be read, is larger than most_bytes, or is a pipe or a
    device, which may never end.
    """
    try:
        kind = path.stat().st_mode  # before it is opened, for a pipe may never be
        if stat.S_ISDIR(kind):
            raise fault(f"{path}: is a folder; name the {thing} in it")
        if not stat.S_ISREG(kind):
            raise fault(f"{path}: is a pipe or a device; save what it holds as a file, and name that")
        with path.open("rb") as handle:
            content = handle.read(most_bytes + 1)
    except FileNotFoundError:
        raise fault(Said(f"{path}: there is no such file; {missing}", f"{path.name} is not there.")) from None
    except (OSError, ValueError) as error:  # ValueError: a name that no file can have
        why = getattr(error, "strerror", None) or error
        raise fault(f"{path}: cannot be read: {why}; name a {thing} that can") from None
    if len(content) > most_bytes:
        raise fault(f"{path}: is larger than {most_bytes / BYTES_PER_MB:,.0f} MB; name a {thing}")
    return content


def read_text(
    path: Path,
    thing: str,
    missing: str,
    save: str,
    fault: type[InputError] = InputError,
    most_bytes: int = MOST_BYTES,
) -> str:
    """The text of a file that somebody wrote.

    save: how to save it; all else as for `read_content`. Raises fault also where it is no UTF-8 text.
    """
    try:
        text = read_content(path, thing, missing, fault, most_bytes).decode("utf-8-sig")
    except UnicodeDecodeError:
        raise fault(f"{path}: is not UTF-8 text; {save}") from None
    if "\0" in text:  # as in UTF-16, or in a picture
        raise fault(f"{path}: is not UTF-8 text; {save}")
    return text


def text_of(content: bytes) -> str:
    """The text of a sheet: UTF-8, whatever else sets a mark at its head, or the western code page of old spreadsheets.

    Raises ValueError saying what the content is instead.
    """
    for begins, kind in KINDS.items():
        if content.startswith(begins):
            raise ValueError(f"is {kind}, not a table in plain text")
    marked = next((name for mark, name in MARKS.items() if content.startswith(mark)), None)
    for encoding in [marked] if marked else ["utf-8", "cp1252"]:
        try:
            text = content.decode(encoding)
        except UnicodeDecodeError:
            continue
        if not NO_LETTER.search(text) if encoding == "cp1252" else "\0" not in text:
            return text
    raise ValueError("is no text")
