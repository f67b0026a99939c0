"""Whether the chlorine in the water is chloramine, which carbon and bisulfite take slowly."""

from pretreat.core.basis import cites
from pretreat.core.text import lazy
from pretreat.lab.hazards import AMMONIA_MATTERS_MG_N_L, N_PER_NH4
from pretreat.stages.train import Train

COMBINED = lazy("chlor(amine|ine)|gesamtchlor|combined")  # total chlorine beside none free


@cites("STOICHIOMETRY", "ammonia and chlorine form chloramine")
def chloramine_words(train: Train) -> str:
    """Return why the chlorine behind the filters is chloramine, in words.

    Parameters
    ----------
    train : Train
        With its stages ahead entered. [-]

    Returns
    -------
    str
        Empty where it is none: no chlorine, or no ammonia that is left beside it. [-]
    """
    ledger, raw, choice = train.entries.ledger, train.raw, train.design.carbon
    if choice.chloramine_mg_l:
        if raw.oxidants and not all(COMBINED.search(name.casefold()) for name in raw.oxidants):
            named = ", ".join(raw.oxidants)
            return f"oxidants ({named}) of {choice.chloramine_mg_l:.3g} mg/L as chlorine"
        return f"chloramine of {choice.chloramine_mg_l:.3g} mg/L"
    nitrogen = (raw.mg_l.get("nh4") or 0.0) * N_PER_NH4
    chlorine = train.free_chlorine_mg_l
    if nitrogen < AMMONIA_MATTERS_MG_N_L or not chlorine > 0:
        return ""
    if ledger.number("chlorine.ammonia_left_n_mg_l") == 0.0:  # fed beyond the breakpoint
        return ""
    return (
        f"chlorine of {chlorine:g} mg/L beside ammonia of {nitrogen:.2g} mg/L as N is mostly "
        "chloramine"
    )
