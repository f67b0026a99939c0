"""Radioactivity in the unit of the report: a report in becquerel is answered in becquerel."""

import re

from msgspec.structs import replace

from pretreat.core.basis import cites
from pretreat.core.results import Ledger
from pretreat.core.text import lazy
from pretreat.core.water import WaterAnalysis
from pretreat.lab.interpret.traces import ACTIVITY_PCI_L, PCI_PER_BQ

_PICOCURIES = lazy(r"(\d[\d,]*(?:\.\d+)?(?:e[+-]?\d+)?) pCi/L")
ROUNDED = 0.005  # NUMERICAL: of a number of three digits, at most
US = "us"  # its law is in picocuries


def in_becquerel(water: WaterAnalysis, jurisdiction: str | None) -> bool:
    """Tell whether radioactivity is told in becquerel.

    Parameters
    ----------
    water : WaterAnalysis
        The analysis. [-]
    jurisdiction : str, optional
        Whose limits bind. [-]

    Returns
    -------
    bool
        The report prints it so, and the law that binds is not in picocuries. [-]
    """
    units = {re.sub(r"\s+", "", r.unit).casefold() for r in water.readings if r.used}
    return jurisdiction != US and any(u in ACTIVITY_PCI_L and u.endswith("bq/l") for u in units)


def tell_in_becquerel(ledger: Ledger, water: WaterAnalysis, jurisdiction: str | None) -> None:
    """Tell the radioactivity of flags in becquerel where the report does.

    Parameters
    ----------
    ledger : Ledger
        With flags entered. [-]
    water : WaterAnalysis
        The analysis. [-]
    jurisdiction : str, optional
        Whose limits bind. [-]
    """
    if in_becquerel(water, jurisdiction):
        flags = ledger.study().flags
        ledger.retell(replace(f, text=becquerel_words(f.text)) for f in flags)


@cites("STOICHIOMETRY", "1 pCi is 0.037 Bq")
def becquerel_words(text: str) -> str:
    """Return a text with its picocuries as becquerel.

    Parameters
    ----------
    text : str
        Words with amounts in pCi/L. [-]

    Returns
    -------
    str
        The same in Bq/L, three digits at most. [-]
    """
    return _PICOCURIES.sub(lambda m: f"{_shown(float(m[1].replace(',', '')))} Bq/L", text)


def _shown(pci_l: float) -> str:
    """Return becquerel of a number that was rounded to three digits already."""
    exact = pci_l / PCI_PER_BQ
    plain = f"{exact:.2g}"
    return plain if abs(float(plain) - exact) <= ROUNDED * exact else f"{exact:.3g}"
