"""What takes long is done once, however many ask for it at once; what failed is tried again."""

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


class Turns(Generic[T]):
    """Work that must begin after somebody asked; whoever asks while it goes on waits for the next turn, all for one."""

    def __init__(self, work: Callable[[], Coroutine[Any, Any, T]]) -> None:
        """Of some work; nobody has asked yet."""
        self.work = work
        self.now: asyncio.Future[T] | None = None
        self.next: asyncio.Future[T] | None = None

    async def get(self) -> T:
        """What comes of the first turn that begins from now on."""
        if self.next is None:
            self.next = asyncio.ensure_future(self._turn(self.now))
            self.next.add_done_callback(_heard)
        return await asyncio.shield(self.next)

    async def _turn(self, before: "asyncio.Future[T] | None") -> T:
        if before is not None and not before.done():
            await asyncio.wait([before])
        self.now, self.next = self.next, None
        return await self.work()


def _heard(made: "asyncio.Future[Any]") -> None:
    """A failure belongs to who asks, if anybody still does."""
    if not made.cancelled():
        made.exception()
