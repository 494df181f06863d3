"""What a process of its own begins with: it loads what questions take, gives way to pages, and ends with the page."""

import os
import signal
import threading
from multiprocessing import parent_process

NICER = 5  # than what answers pages, to the system's scheduler


def begin() -> None:
    """Be ready for the first question."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl+C is for the page, which ends this one
    threading.Thread(target=_end_with_parent, daemon=True).start()
    if hasattr(os, "nice"):
        os.nice(NICER)
    import pandas as pd  # noqa: F401 - these are what takes long to load
    import pyet  # noqa: F401
    import scipy.optimize  # noqa: F401
    from matplotlib.figure import Figure  # noqa: F401

    import waterbudget.questions  # noqa: F401


def _end_with_parent() -> None:
    """A page that is killed takes its processes along, which would else wait for ever."""
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
