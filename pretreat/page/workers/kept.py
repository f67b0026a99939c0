"""What a worker remembers of the last requests: a few values, told apart by a hash of the input.

Nothing depends on it: another worker, or the same one later, computes the same value again.
"""

import hashlib
from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import Generic, TypeVar

T = TypeVar("T")


class Kept(Generic[T]):
    """The values used last, at most so many."""

    def __init__(self, most: int) -> None:
        self.most = most
        self._values: OrderedDict[Hashable, T] = OrderedDict()

    def __len__(self) -> int:
        """Return how many are kept."""
        return len(self._values)

    def get(self, key: Hashable, make: Callable[[], T]) -> T:
        """Return the value of a key; make it where it is not kept."""
        if key not in self._values:
            self._values[key] = make()
            while len(self._values) > self.most:
                self._values.popitem(last=False)
        self._values.move_to_end(key)
        return self._values[key]


def mark(*parts: str | bytes) -> str:
    """Return a hash that tells one list of texts from every other.

    Parameters
    ----------
    *parts : str or bytes
        The texts, in order. [-]

    Returns
    -------
    str
        SHA-256 in hexadecimal. [-]
    """
    whole = hashlib.sha256()
    for part in parts:
        content = part.encode(errors="surrogatepass") if isinstance(part, str) else part
        whole.update(len(content).to_bytes(8) + content)
    return whole.hexdigest()
