"""The site file with the tables of every unit process."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from pretreat.core.errors import PretreatError
from pretreat.site import file
from pretreat.site.design import DesignBasis, Machine
from pretreat.site.keys import Table
from pretreat.stages import ORDER, discharge, resolve
from pretreat.stages.fixed import TABLE, settled


@lru_cache(maxsize=1)
def tables() -> Mapping[str, Table]:
    """Return the tables of the site file that the train and its unit processes read, by key.

    Returns
    -------
    mapping of str to Table
        Tables, in the order of flow. [-]
    """
    own = {"train": TABLE, "discharge": discharge.TABLE}
    return MappingProxyType({**own, **{s.key: resolve(s.site) for s in ORDER if s.site}})


def read_site(path: str | Path, *, water_needed: bool = True) -> DesignBasis:
    """Read a site file (see `pretreat.site.file.read_site`).

    Parameters
    ----------
    path : str or Path
        The TOML file. [-]
    water_needed : bool
        False where the vessels installed will do without any water. [-]

    Returns
    -------
    DesignBasis
        The engineer's choices, in canonical units. [-]
    """
    return settled(file.read_site(path, tables(), water_needed=water_needed))


@contextmanager
def faults_in_cells(path: Path) -> Iterator[None]:
    """Name the cell of the form in faults that a run finds later; of a TOML file nothing changes.

    Parameters
    ----------
    path : Path
        The site file, or the form. [-]

    Raises
    ------
    PretreatError
        The fault of the block, of the same kind.
    """
    try:
        yield
    except PretreatError as problem:
        if path.suffix.casefold() == ".toml" or not path.exists():
            raise
        _, places = file.read_content(path, tables())
        told = [file.in_cell(fault, places) for fault in problem.faults]
        raise type(problem)(*told) from None


def design_from(
    content: Mapping[str, Any], base: Path, name: str = "site file", *, water_needed: bool = True
) -> DesignBasis:
    """Build a design basis from the content of a site file.

    Parameters
    ----------
    content : mapping
        Tables of the site file. [-]
    base : Path
        Folder to which paths are relative. [-]
    name : str
        Name of the file, for messages. [-]
    water_needed : bool
        As in `read_site`. [-]

    Returns
    -------
    DesignBasis
        The engineer's choices. [-]
    """
    return settled(file.design_from(content, base, tables(), name, water_needed=water_needed))


def basis(machine: Machine, **sections: Any) -> DesignBasis:
    """Return a design basis with the defaults of every unit process that is not given.

    Parameters
    ----------
    machine : Machine
        The reverse-osmosis machine. [-]
    **sections
        Records by section or key of a unit process. [-]

    Returns
    -------
    DesignBasis
        The engineer's choices. [-]
    """
    stages = {
        key: sections.pop(key) if key in sections else table.record()
        for key, table in tables().items()
    }
    return DesignBasis(machine, stages=MappingProxyType(stages), **sections)
