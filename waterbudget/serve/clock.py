"""The one clock of the page: asked anew with every request, as the page lives past midnight."""

import datetime as dt
from dataclasses import dataclass

from waterbudget.journal.clock import real_today


@dataclass(frozen=True)
class Clock:
    """What day it is. on: the day that is taken for today, None for the real one."""

    on: dt.date | None = None

    @staticmethod
    def now() -> dt.datetime:
        """The time of this computer, with its zone."""
        return dt.datetime.now().astimezone()

    def today(self) -> dt.date:
        """Today."""
        return self.on or real_today()

    def day(self, today: dt.date, ago_s: float) -> dt.date:
        """The day on which it was so many seconds ago [s]. today: as the garden has it."""
        now = self.now()
        return today - (now.date() - (now - dt.timedelta(seconds=ago_s)).date())
