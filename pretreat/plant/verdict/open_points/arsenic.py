"""What turns arsenite into arsenate, which membranes hold: an oxidant that the train feeds."""

from pretreat.core.results import Ledger

FED = ("chlorine.dose_mg_l", "permanganate.dose_mg_l")  # figures of what oxidises it
PROVED = (
    "this train feeds an oxidant, and chlorine and permanganate turn arsenite into arsenate (air "
    "hardly; common practice): prove it by the form behind the filter"
)


def remedy_of_arsenite(ledger: Ledger) -> str:
    """Return what to do where an arsenic may be arsenite.

    Parameters
    ----------
    ledger : Ledger
        With the train entered. [-]

    Returns
    -------
    str
        To prove what the train does, or to oxidise it ahead. [-]
    """
    if any(key in ledger for key in FED):
        return PROVED
    return "oxidise it ahead, and let no oxidant reach the membranes"
