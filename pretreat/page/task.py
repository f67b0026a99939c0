"""A computation to be made in a worker process, and its answer."""

from collections.abc import Mapping
from typing import Literal

from msgspec import Struct, field


class Sent(Struct, frozen=True):
    """A file as it was sent: under which field, its name made harmless, its content."""

    field: str
    name: str
    content: bytes


class Task(Struct, frozen=True):
    """What is asked: the job, the fields of the form, the files."""

    job: str
    fields: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    files: tuple[Sent, ...] = ()

    def one(self, name: str) -> str | None:
        """Return the text of a field, None where it was not sent or is empty."""
        sent = self.fields.get(name, ())
        return sent[0] if sent and sent[0].strip() else None

    def of(self, name: str) -> tuple[Sent, ...]:
        """Return the files sent under a field."""
        return tuple(file for file in self.files if file.field == name)


class Answer(Struct, frozen=True):
    """What came out: the content with its kind, or what is wrong, one line per fault.

    ``outcome`` is "fault" where the input is wrong, "busy" where there was no worker in time,
    "ended" where the computation was stopped, "broken" where the program is to blame.
    """

    outcome: Literal["done", "fault", "busy", "ended", "broken"]
    content: bytes = b""
    kind: str = "application/json"
    faults: tuple[str, ...] = ()
