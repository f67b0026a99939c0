"""One block of a sheet: its column of names, and the columns that go with it."""

from msgspec import Struct, field


class Column(Struct):
    """A column with its role and what its headings say."""

    index: int
    role: str = ""
    heading: str = ""
    unit: str = ""
    fraction: str = ""
    measured_in: str = ""
    guessed: bool = False  # a column of results by nothing but its content
    exact: bool = False  # its whole heading is known, not only words of it


class Table(Struct):
    """One block of a grid: a column of names and the columns that go with it."""

    names: int
    first_row: int
    top: int = 0  # where its headings begin; what stands above are remarks
    columns: list[Column] = field(default_factory=list)
    headed_below: bool = False  # its headings stand below its first rows
    headings: tuple[tuple[str, ...], ...] = ()  # the rows of them, top first
    others: list["Table"] = field(default_factory=list)  # under other headings further down

    def role(self, role: str) -> list[Column]:
        """Return the columns of one role."""
        return [column for column in self.columns if column.role == role]
