"""What takes long is made once, however many ask for it at once; what failed is tried again."""

import asyncio
from collections.abc import Callable, Coroutine
from typing import Any, Generic, TypeVar

T = TypeVar("T")


class Once(Generic[T]):
    """The last thing that was made, or is being made, kept under what it is of."""

    def __init__(self) -> None:
        """With nothing yet."""
        self.of: object = None
        self.making: asyncio.Future[T] | None = None

    def begun(self, of: object, make: Callable[[], Coroutine[Any, Any, T]]) -> "asyncio.Future[T]":
        """The thing that is of something, made or being made; it goes on being made when who asked goes away."""
        making = self.making
        if making is None or self.of != of or (making.done() and (making.cancelled() or making.exception())):
            making = asyncio.ensure_future(make())
            making.add_done_callback(_heard)
            self.of, self.making = of, making
        return asyncio.shield(making)

    async def get(self, of: object, make: Callable[[], Coroutine[Any, Any, T]]) -> T:
        """The thing as soon as it is made."""
        return await self.begun(of, make)


def _heard(made: "asyncio.Future[Any]") -> None:
    """A failure belongs to who asks, if anybody still does."""
    if not made.cancelled():
        made.exception()
