"""Fetching: beside the pages, one at a time, and never in the way of one."""

import asyncio

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from waterbudget.errors import WaterbudgetError
from waterbudget.serve.house import House
from waterbudget.serve.posting import SEE_OTHER
from waterbudget.serve.shelf import fetch

EVERY_S, PATIENCE_S = 3 * 3600.0, 60.0


class Weatherman:
    """Fetches the weather of a station's garden at the start and from time to time. fault: why the last time failed."""

    def __init__(self, house: House) -> None:
        """For a house."""
        self.house, self.fault = house, ""
        self._one_at_a_time = asyncio.Lock()

    async def go_on(self) -> None:
        """Fetch for ever."""
        while True:
            await self.fetch()
            await asyncio.sleep(EVERY_S)

    async def fetch(self) -> None:
        """Fetch now, where the garden has to; a fault is kept in words."""
        house = self.house
        garden = await house.reckon(house.shelf.garden)
        if not garden.is_of_station or garden.is_set or garden.site_faults:
            return
        async with self._one_at_a_time:
            work = asyncio.get_running_loop().run_in_executor(house.rooms.away, fetch, house.shelf.path, garden.today)
            try:
                fetched = await asyncio.wait_for(work, PATIENCE_S)
            except TimeoutError:
                self.fault = "The weather could not be fetched within a minute."
            except WaterbudgetError as error:
                self.fault = f"The weather could not be fetched: {str(error).splitlines()[0]}."
            else:
                self.fault = ""
                await house.reckon(house.shelf.bring, fetched)
            if self.fault:
                house.note(self.fault)


async def fetch_now(request: Request) -> Response:
    """Fetch the weather because somebody asks for it."""
    await request.app.state.weatherman.fetch()
    return RedirectResponse("/", SEE_OTHER)


ROUTES = [Route("/weather/fetch", fetch_now, methods=["POST"])]
