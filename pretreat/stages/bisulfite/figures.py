"""The feed of bisulfite ahead of the membranes: dose against free chlorine, and its feeder."""

from msgspec.structs import replace

from pretreat.stages.bisulfite import laws
from pretreat.stages.chloramine import chloramine_words
from pretreat.stages.dosing.figures import chemicals, enter_feeder
from pretreat.stages.stream import Stream
from pretreat.stages.train import Train

P, DOSE, CHLORINE = "bisulfite", "bisulfite.dose_mg_l", "bisulfite.chlorine_in_mg_l"
EXCESS = 1.5  # PRACTICE: ahead of membranes 1.5 to 2 times theory, with an alarm


def treat(train: Train, stream: Stream) -> Stream:
    """Return the water behind the feed: no oxidant, a little more sulfate and sodium.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    stream : Stream
        The water ahead. [-]

    Returns
    -------
    Stream
        The water behind it. [-]
    """
    _enter_dose(train, stream)
    entries = train.entries
    for name, law, label in (
        ("so4_added_mg_l", laws.sulfate_added_mg_l, "Sulfate that the bisulfite ends as"),
        ("na_added_mg_l", laws.sodium_added_mg_l, "Sodium that the bisulfite brings"),
        (
            "alkalinity_used_mg_l_caco3",
            laws.alkalinity_used_mg_l_caco3,
            "Alkalinity that the bisulfite uses, at most",
        ),
    ):
        entries.law(f"{P}.{name}", law, dose_mg_l=DOSE, label=label)
    mg_l = dict(stream.mg_l)
    for ion in ("so4", "na"):
        mg_l[ion] = mg_l.get(ion, 0.0) + entries.value(f"{P}.{ion}_added_mg_l")
    before = stream.alkalinity_mg_l_caco3
    used = entries.value(f"{P}.alkalinity_used_mg_l_caco3")
    return replace(
        stream,
        mg_l=mg_l,
        alkalinity_mg_l_caco3=None if before is None else max(before - used, 0.0),
        oxidant="",
        free_chlorine_mg_l=0.0,
    )


def enter(train: Train, _behind: tuple[str, ...]) -> None:
    """Enter the feeder of bisulfite.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    _behind : tuple of str
        Keys of the water that stages behind it regenerate with. [-]
    """
    enter_feeder(train, P, DOSE, chemicals()["bisulfite"])


def _enter_dose(train: Train, stream: Stream) -> None:
    entries, choice = train.entries, train.design.bisulfite
    chlorine = stream.free_chlorine_mg_l
    if chlorine > 0:  # the site's own figure governs where water with chlorine comes here
        chlorine = max(chlorine, train.design.carbon.free_chlorine_mg_l or 0.0)
    chlorine += train.design.carbon.chloramine_mg_l or 0.0
    entries.given(
        CHLORINE,
        chlorine,
        "mg/L",
        "Chlorine ahead of the bisulfite, chloramine with it",
        evidence="computed",
        method="what the stages ahead leave",
    )
    label = "Dose of sodium bisulfite"
    if choice.dose_mg_l is not None:
        entries.given(DOSE, choice.dose_mg_l, "mg/L", label, origin="chosen", cites=())
    else:
        entries.given(
            f"{P}.excess",
            EXCESS if choice.excess is None else choice.excess,
            "-",
            "Bisulfite over theory",
            origin="assumed" if choice.excess is None else "chosen",
        )
        entries.law(
            DOSE,
            laws.bisulfite_dose_mg_l,
            chlorine_mg_l=CHLORINE,
            excess=f"{P}.excess",
            label=label,
        )
    theory = chlorine * laws.NAHSO3_PER_CL2
    if entries.value(DOSE) < theory:
        entries.flag(
            "bisulfite_too_little",
            "warning",
            f"bisulfite of {entries.value(DOSE):.3g} mg/L does not take the {chlorine:.3g} mg/L of "
            f"chlorine, which needs {theory:.3g} mg/L by theory: chlorine destroys membranes; "
            "raise the dose",
            DOSE,
        )
    entries.flag(
        "bisulfite_feed",
        "caution",
        "bisulfite: behind the last tank with a static mixer, redox alarm that stops the machine; "
        "excess feeds growth, and with iron or copper can oxidise membranes; chloramine takes "
        "longer; ask whether it suits the inhibitor",
        DOSE,
    )
    chloramine = chloramine_words(train)
    if chloramine:
        entries.flag(
            "chloramine",
            "caution",
            f"bisulfite: {chloramine}, which takes longer than free chlorine: before the machine "
            "runs test total chlorine, not free chlorine alone, behind the bisulfite",
            CHLORINE,
        )
