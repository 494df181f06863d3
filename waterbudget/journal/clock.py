"""The one clock of what is logged and of what is asked about today."""

import datetime as dt


def real_today() -> dt.date:
    """The day that it is here, by this computer."""
    return dt.datetime.now().astimezone().date()
