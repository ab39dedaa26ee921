"""What is heavy and follows from one state of the book, kept by the process while that stands.

The state is the book's revision, the parameters in force, and the figures that stand beside it. As
soon as it has moved on, all that was kept of the one before goes. What is kept is shared by
threads: nobody may change it.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import ClassVar, Generic, TypeVar, cast

from django.db.models import Subquery

from genetics.models import FitUse, Reckoning
from herdbook.book.models import Book

Value = TypeVar("Value")
State = tuple[object, ...]


def book_revision() -> int:
    """How often the book has been written to, by its own count."""
    return Book.objects.filter(pk=1).values_list("revision", flat=True).first() or 0


def records_of_book() -> State:
    """What a reading depends on, in one query: the revision and the parameters in force; nothing
    of a book that is still empty."""
    used = Subquery(FitUse.objects.values("pk")[:1])
    return Book.objects.filter(pk=1).values_list("revision", used).first() or ()


def state_of_book() -> State:
    """The same with the figures that stand beside the records."""
    figures = Reckoning.objects.filter(pk=1)
    state = Book.objects.filter(pk=1).values_list(
        "revision",
        Subquery(FitUse.objects.values("pk")[:1]),
        *(Subquery(figures.values(field)) for field in ("revision", "engine", "made_at")),
    )
    return state.first() or ()


class _Place:
    """Room for one value, and who is making it."""

    def __init__(self) -> None:
        self.making = threading.Lock()
        self.made = False
        self.value: object = None


class Kept(Generic[Value]):
    """At most so many values of one kind: the one that was asked for least lately goes first.

    ``state`` gives what they depend on: by default all of the book, and its figures.
    """

    all: ClassVar[list[Kept]] = []

    def __init__(self, most: int, state: Callable[[], State] = state_of_book) -> None:
        self.most = most
        self._state_now = state
        self._lock = threading.Lock()
        self._state: State = ()
        self._places: OrderedDict[Hashable, _Place] = OrderedDict()
        Kept.all.append(self)

    def get(self, key: Hashable, make: Callable[[], Value]) -> Value:
        """The value of a key in the book's state; made by one thread while others wait for it.

        A value that was made while the book moved on is given out and not kept.
        """
        state = self._state_now()
        place = self._place(state, key)
        with place.making:
            if not place.made:
                place.value = make()
                place.made = self._state_now() == state
                if not place.made:
                    self._drop(place)
            return cast(Value, place.value)

    def forget(self) -> None:
        """Keep nothing any longer."""
        with self._lock:
            self._places.clear()

    def __len__(self) -> int:
        return sum(place.made for place in self._places.values())

    def _place(self, state: State, key: Hashable) -> _Place:
        with self._lock:
            if state != self._state:
                self._places.clear()
                self._state = state
            place = self._places.setdefault(key, _Place())
            self._places.move_to_end(key)
            while len(self._places) > self.most:
                self._places.popitem(last=False)
            return place

    def _drop(self, place: _Place) -> None:
        with self._lock:
            for key in [key for key, one in self._places.items() if one is place]:
                del self._places[key]
