"""Tables headed by parameter codes: a value column p00915 and a remark column r00915."""

import re

from pretreat.core.text import lazy
from pretreat.lab.read.layout import Layout
from pretreat.lab.read.report import Grid, PrintedResult
from pretreat.lab.read.wording import column_role

_VALUE = lazy(r"^[pP](\d{2,5})$")
_WIDTH = lazy(r"^\d+[sdnSDN]$")


def coded(grid: Grid) -> Layout:
    """Read a grid whose headings are parameter codes.

    Parameters
    ----------
    grid : Grid
        The cells. [-]

    Returns
    -------
    Layout
        Results found; empty where no codes head the columns. [-]
    """
    header = grid.rows[0]
    values = {i: m.group(1).zfill(5) for i, h in enumerate(header) if (m := _VALUE.match(h))}
    if len(values) < 2:
        return _down_codes(grid)
    remarks = {h[1:].zfill(5): i for i, h in enumerate(header) if re.match(r"^[rR]\d{2,5}$", h)}
    labels = {
        i: column_role(h)
        for i, h in enumerate(header)
        if column_role(h) in {"site", "date", "sample"}
    }
    results: list[PrintedResult] = []
    for row in range(1, len(grid.rows)):
        if all(not cell or _WIDTH.match(cell) for cell in grid.rows[row]):
            continue
        said = {role: grid.cell(row, i) for i, role in labels.items()}
        for index, code in values.items():
            remark = grid.cell(row, remarks.get(code, -1))
            results.append(
                PrintedResult(
                    grid.place(row, index),
                    header[index],
                    grid.cell(row, index),
                    code=code,
                    qualifier=remark,
                    header=True,
                    **said,  # type: ignore[arg-type]
                )
            )
    return Layout("coded", tuple(results), grid.remarks)


def _down_codes(grid: Grid) -> Layout:
    """Read a table with one result per row, named by its parameter code only."""
    roles = {
        column_role(h): i for i, h in reversed(list(enumerate(grid.rows[0]))) if column_role(h)
    }
    if not {"code", "value"} <= set(roles) or "name" in roles:
        return Layout("coded")
    results = []
    for row in range(1, len(grid.rows)):
        code = grid.cell(row, roles["code"])
        if not code.isdigit():
            continue
        said = {key: grid.cell(row, roles.get(key, -1)) for key in ("site", "date", "sample")}
        results.append(
            PrintedResult(
                grid.place(row, roles["value"]),
                code,
                grid.cell(row, roles["value"]),
                code=code,
                qualifier=grid.cell(row, roles.get("qualifier", -1)),
                sample=said["sample"],
                site=said["site"],
                date=said["date"],
            )
        )
    return Layout("coded down", tuple(results), grid.remarks)
