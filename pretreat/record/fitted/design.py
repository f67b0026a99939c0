"""The site with A and B of its elements from the readings, where its file asks for it."""

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from pretreat.core.basis import Flag
from pretreat.core.results import Ledger, Study
from pretreat.membrane.elements.machine import Machine, machine_of
from pretreat.site.design import DesignBasis

if TYPE_CHECKING:
    from pretreat.record.fitted.fits import Fits, ReadingFit
    from pretreat.record.readings import Reading

BASELINE, LAST = "baseline", "last"


class Fitted(Struct, frozen=True):
    """What the record named in the site file says of the elements; ``used`` makes set points."""

    design: DesignBasis
    fits: "Fits | None" = None
    used: "ReadingFit | None" = None
    flags: tuple[Flag, ...] = ()


def with_readings(design: DesignBasis, run: Callable[[DesignBasis], Study]) -> Fitted:
    """Return a site with the readings of the record that it names.

    Parameters
    ----------
    design : DesignBasis
        The engineer's choices. [-]
    run : callable
        Studies a site, for the water onto its elements. [-]

    Returns
    -------
    Fitted
        The same site where no record or no element is named. [-]

    Raises
    ------
    RecordError
        If the record cannot be read, or set points are asked from a reading that does not
        serve; one line that says why.
    """
    path, wanted = design.record.file, design.record.set_points_from
    if path is None:
        return Fitted(design)
    from pretreat.record.fitted.fits import fits_of
    from pretreat.record.readings import RecordError
    from pretreat.record.store.book import read_book

    machine = machine_of(design)
    if machine is None:
        if wanted is not None:
            raise RecordError(f"{_asked(wanted)}: no element is named; give element in [machine]")
        return Fitted(design)
    if not path.exists():
        if wanted is not None:
            raise RecordError(f"{_asked(wanted)}: there is no record {path.name} yet; log readings")
        text = f"there is no record {path.name} yet: A and B of the elements stay those given"
        return Fitted(design, flags=(Flag("fit_open", "info", text),))
    plain = replace(design, record=replace(design.record, file=None, set_points_from=None))
    readings = read_book(path).readings
    fits = fits_of(readings, design, run(plain))
    if wanted is None:
        return Fitted(design, fits, None, () if fits is None else fits.flags)
    used, flags = _used(fits, readings, machine, design)
    text = (
        f"set points rest on A {used.membrane.water_lmh_bar:.3g} L/(m2·h·bar) and B "
        f"{used.membrane.salt_lmh:.3g} L/(m2·h), fitted to the reading of {used.stamp}"
    )
    told = Flag("set_points_fitted", "info", text, "machine.feed_pressure_bar")
    return Fitted(as_fitted(design, used), fits, used, (told, *flags))


def _asked(wanted: str) -> str:
    return f'[record] set_points_from = "{wanted}"'


def _used(
    fits: "Fits | None", readings: tuple["Reading", ...], machine: Machine, design: DesignBasis
) -> tuple["ReadingFit", tuple[Flag, ...]]:
    """Return the fit that the set points are made from, and the flags of the record."""
    from pretreat.record.fitted.fits import fit_of_day
    from pretreat.record.keyed.dates import moment
    from pretreat.record.readings import RecordError

    wanted = str(design.record.set_points_from)
    if fits is None:
        raise RecordError(
            f"{_asked(wanted)}: no reading of the record is complete, or the water onto the "
            "elements is not known"
        )
    found, flags = (fits.baseline if wanted == BASELINE else fits.newest), fits.flags
    if wanted not in (BASELINE, LAST):
        try:
            found, more = fit_of_day(fits, readings, machine, moment(wanted, design.record.dates))
        except RecordError as problem:
            raise RecordError(f"{_asked(wanted)}: {problem}") from None
        flags = (*flags, *more)
    if found is None:
        raise RecordError(f"{_asked(wanted)}: {'; '.join(f.text for f in flags)}")
    return found, flags


def as_fitted(design: DesignBasis, fit: "ReadingFit") -> DesignBasis:
    """Return a site whose elements have the A, B and pressure drop of a reading.

    Parameters
    ----------
    design : DesignBasis
        The engineer's choices. [-]
    fit : ReadingFit
        The fit. [-]

    Returns
    -------
    DesignBasis
        The same site; B of ions that its file gives one by one stay as given. [-]
    """
    salt = design.machine.salt_permeability_lmh
    one_by_one = dict(salt) if isinstance(salt, Mapping) else {}
    membrane = fit.membrane
    return design.change(
        "machine",
        water_permeability_lmh_bar=float(membrane.water_lmh_bar),
        salt_permeability_lmh={**one_by_one, "default": float(membrane.salt_lmh)},
        drop_factor=float(membrane.drop_factor),
        fitted_to=fit.stamp,
    )


def enter_fitted(ledger: Ledger, fitted: Fitted) -> None:
    """Enter what the record that the site file names says of the elements, flags included."""
    ledger.flag(*fitted.flags)
    if fitted.fits is not None:
        from pretreat.record.fitted.figures import enter_fits

        enter_fits(ledger, fitted.fits)
