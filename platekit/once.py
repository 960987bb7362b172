"""Worked out once for each value, when first asked for: `functools.cached_property` without its lock."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Generic, TypeVar, overload

Found = TypeVar("Found")


class once(Generic[Found]):  # noqa: N801, as it is used like `property`
    """A property that is kept with its value (which needs `dict=True`), and found there the next time.

    Up to Python 3.11 `functools.cached_property` takes a lock that all values share, which is half of its time: a plate
    asks for hundreds at each move of a drag. Here two threads may both work one out; they find the same.
    """

    def __init__(self, tell: Callable[[Any], Found]) -> None:
        """Keeps what `tell` says."""
        self._tell = tell
        self.__doc__ = tell.__doc__

    def __set_name__(self, owner: type, name: str) -> None:
        """The name under which it is kept."""
        self._name = name

    @overload
    def __get__(self, value: None, owner: type) -> once[Found]: ...
    @overload
    def __get__(self, value: object, owner: type) -> Found: ...
    def __get__(self, value: object | None, owner: type) -> once[Found] | Found:
        """Only asked where the value does not have it yet."""
        if value is None:
            return self
        found = value.__dict__[self._name] = self._tell(value)
        return found
