"""Trains that the well pump of the site cannot wash, beside those that it can."""

from collections.abc import Sequence

from msgspec.structs import replace

from pretreat.plant.choices.order import Row


def without_unwashed(rows: Sequence[Row]) -> list[Row]:
    """Shut trains that the pump of the site cannot wash, where another one is feasible.

    Where none is, the want stays a condition of the train that is taken.

    Parameters
    ----------
    rows : sequence of Row
        Candidates with a first verdict. [-]

    Returns
    -------
    list of Row
        All, some with a reason why not. [-]
    """
    others = [
        row
        for row in rows
        if row.feasible
        and not (row.unwashed or row.hopeless or row.too_salty or row.spoiled)
        and row.year is not None
    ]
    return [
        replace(row, why_not=row.unwashed)
        if row.feasible
        and row.unwashed
        and any(o.exposed <= row.exposed and o.limed <= row.limed for o in others)
        else row
        for row in rows
    ]
