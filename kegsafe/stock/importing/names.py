"""Finding a record by the name somebody wrote: exactly, or not at all with the nearest ones."""

import difflib
from collections import defaultdict
from collections.abc import Iterable
from typing import Generic, Protocol, TypeVar

from django.core.exceptions import ValidationError


class Named(Protocol):
    """A record of the stock room that people call by name."""

    pk: int
    name: str
    is_active: bool


Found = TypeVar("Found", bound=Named)


class NameBook(Generic[Found]):
    """The names of one kind of record at a venue. Capitals and outer spaces do not count.

    noun : how a message calls the kind: "ingredient"
    """

    def __init__(self, noun: str, records: Iterable[Found]) -> None:
        self.noun = noun
        self._by_name: dict[str, list[Found]] = defaultdict(list)
        for record in records:
            self._by_name[_key(record.name)].append(record)

    def find(self, typed: str) -> Found:
        """Return the one record of that name that is in use.

        Raises ValidationError, naming the nearest names, where there is none.
        """
        found = self._by_name.get(_key(typed), [])
        if len(found) > 1:
            found = [record for record in found if record.name == typed.strip()]
        if not found:
            raise ValidationError(self._nothing_called(typed), code="unknown_name")
        if not found[0].is_active:
            raise ValidationError(
                f"{found[0].name} is out of use. Take it into use again, or name another "
                f"{self.noun}.",
                code="out_of_use",
            )
        return found[0]

    @property
    def names(self) -> list[str]:
        """Return the names in use, in order, to choose from."""
        used = (each for group in self._by_name.values() for each in group if each.is_active)
        return sorted((record.name for record in used), key=str.casefold)

    def _nothing_called(self, typed: str) -> str:
        near = difflib.get_close_matches(_key(typed), self._by_name, n=3, cutoff=0.6)
        names = [record.name for key in near for record in self._by_name[key]]
        opening = f'There is no {self.noun} called "{typed.strip()[:60]}".'
        if names:
            return f"{opening} Did you mean {' or '.join(names)}?"
        return f"{opening} Add it to the list first, or correct the name."


def _key(name: str) -> str:
    return " ".join(name.split()).casefold()
