"""The keys of the site file as people see them: label, example, help, unit and bounds of each."""

from collections.abc import Mapping

from msgspec import Struct

from pretreat.core.tables import rows
from pretreat.site.keys import Read, Table, flag, known_keys
from pretreat.site.limits import LIMIT_KEYS
from pretreat.site.quote_keys import PACKAGES
from pretreat.site.readers import Number, Word

CHOICES = ("yes", "no")


class Entry(Struct, frozen=True):
    """A key, or with an empty key the head of its table; ``unit`` is empty of a bare value.

    ``toml`` is "start" where the file of a new site has it without #, "yes" where it has it.
    """

    table: str
    key: str
    sheet: str
    toml: str
    label: str
    example: str
    us: str
    help: str
    field: str = ""
    read: Read | None = None
    unit: str = ""

    @property
    def choices(self) -> tuple[str, ...]:
        """Words of which one is meant; none where the value is free."""
        if self.read is flag:
            return CHOICES
        return self.read.known if isinstance(self.read, Word) else ()

    @property
    def percent(self) -> bool:
        """Whether its number is in percent, as its name says: 10 is 10 %."""
        return self.key.endswith(("_percent", "_pct")) or self.key.startswith("pct_")

    @property
    def bounds(self) -> tuple[float, float] | None:
        """Lowest and highest value of a number, in the unit; None of anything else."""
        return (self.read.low, self.read.high) if isinstance(self.read, Number) else None

    def shown(self, us: bool) -> str:
        """Return the example in the units of the site."""
        return (self.us if us else "") or self.example


def catalogue(tables: Mapping[str, Table]) -> tuple[Entry, ...]:
    """Return the keys in the order of the form.

    Parameters
    ----------
    tables : mapping of str to Table
        Tables of the unit processes by their keys. [-]

    Returns
    -------
    tuple of Entry
        Keys, each table behind its head. [-]
    """
    known = {**known_keys(tables), "limits": LIMIT_KEYS, "packages": PACKAGES}
    found = []
    for row in rows("site_keys.csv"):
        field, read, unit = known[row["table"]][row["key"]] if row["key"] else ("", None, "")
        entry = Entry(
            table=row["table"],
            key=row["key"],
            sheet=row["sheet"],
            toml=row["toml"],
            label=row["label"],
            example=row["example"],
            us=row["us"],
            help=row["help"],
            field=field,
            read=read,
            unit="" if unit == "bare" else unit,
        )
        found.append(entry)
    return tuple(found)
