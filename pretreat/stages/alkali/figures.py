"""Alkali feed: the dose for a pH, what it does to the water, and its feeder."""

import math

from msgspec import Struct
from msgspec.structs import replace

from pretreat.core.errors import OutOfRangeError
from pretreat.core.units import CACO3_MG_PER_MEQ, molar_mass
from pretreat.membrane.feed import exchanged
from pretreat.stages.alkali import laws
from pretreat.stages.carbonate import (
    alkalinity_for_ph,
    carbonate_keys,
    enter_ph,
    water_needed,
)
from pretreat.stages.dosing.figures import chemicals, enter_feeder
from pretreat.stages.oxidant_feed import acid_to_come, without_metals
from pretreat.stages.stream import Stream
from pretreat.stages.train import Train

P, DOSE, TARGET = "alkali", "alkali.dose_mg_l", "alkali.target_ph"
ACID = "alkali.acid_to_come_mg_l_caco3"
PH_READ = 0.05  # PRACTICE: no meter in a plant tells less
HIGH_PH = 9.0  # PRACTICE: calcite and magnesium come down at the quill, and pumps scale
TARGET_PH = 7.5  # MEMORY: manganese on coated media, 7.5 or more
MG_PER_G = 1000.0


class Base(Struct, frozen=True):
    """A base: formula, equivalents, sodium and carbon of a mole."""

    name: str
    formula: str
    equivalents: int
    sodium: int
    carbon: int

    @property
    def alkalinity_per_mg(self) -> float:
        """Alkalinity of a milligram. [mg/mg as CaCO3]."""
        return self.equivalents * CACO3_MG_PER_MEQ / molar_mass(self.formula)

    @property
    def sodium_per_mg(self) -> float:
        """Sodium of a milligram. [mg/mg]."""
        return self.sodium * molar_mass("Na") / molar_mass(self.formula)

    @property
    def carbon_mol_mg(self) -> float:
        """Inorganic carbon of a milligram of alkalinity as CaCO3. [mol/kg per mg/L]."""
        return self.carbon / self.equivalents / CACO3_MG_PER_MEQ / MG_PER_G


BASES = {
    "caustic": Base("sodium hydroxide", "NaOH", 1, 1, 0),
    "soda_ash": Base("sodium carbonate", "Na2CO3", 2, 2, 1),
}


def treat(train: Train, stream: Stream) -> Stream:
    """Return the water behind the alkali: more alkalinity and sodium, carbon with soda ash.

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
    entries = train.entries
    base = BASES[train.design.alkali.base]
    _enter_dose(train, stream, base)
    added = entries.law(
        f"{P}.alkalinity_added_mg_l_caco3",
        laws.alkalinity_added_mg_l_caco3,
        dose_mg_l=DOSE,
        alkalinity_mg_mg=base.alkalinity_per_mg,
        label="Alkalinity that the base adds",
    )
    sodium = entries.law(
        f"{P}.na_added_mg_l",
        laws.sodium_added_mg_l,
        dose_mg_l=DOSE,
        sodium_mg_mg=base.sodium_per_mg,
        label="Sodium that the base adds",
    )
    before = stream.alkalinity_mg_l_caco3
    behind = replace(
        stream,
        mg_l={**stream.mg_l, "na": stream.mg_l.get("na", 0.0) + sodium},
        alkalinity_mg_l_caco3=None if before is None else before + added,
        carbon_lost_mol_kg=stream.carbon_lost_mol_kg - base.carbon_mol_mg * added,
    )
    enter_ph(train, behind, P, "alkali feed", DOSE)
    _note_high(train)
    return behind


def _note_high(train: Train) -> None:
    """Say where the pH between the alkali and the oxidant is higher than lime stays dissolved."""
    ph = train.entries.ledger.number(f"{P}.ph")
    if ph is None or ph <= HIGH_PH or not train.entries.ledger.number(ACID):
        return
    train.entries.flag(
        "alkali_ahead_high",
        "caution",
        f"the pH right behind the alkali feed is {ph:.1f} until the iron is oxidised: above about "
        f"{HIGH_PH:g} calcite comes down at the injection point (common practice): feed the alkali "
        "in two places, half of it behind the oxidant, or check the Langelier index there",
        f"{P}.ph",
    )


def enter(train: Train, _behind: tuple[str, ...]) -> None:
    """Enter the feeder of the alkali.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    _behind : tuple of str
        Keys of the water that stages behind it regenerate with. [-]
    """
    enter_feeder(train, P, DOSE, chemicals()[train.design.alkali.base])


def _enter_dose(train: Train, stream: Stream, base: Base) -> None:
    entries, choice = train.entries, train.design.alkali
    label = f"Dose of {base.name}, pure"
    if choice.dose_mg_l is not None:
        entries.given(DOSE, choice.dose_mg_l, "mg/L", label, origin="chosen", cites=())
        return
    water = water_needed(train, stream, P, 'dose = "20 mg/L"')
    acid = acid_to_come(train, stream, ACID)
    if acid > 0:  # dosed for the pH that the filter works at, not for the one ahead of it
        water = exchanged(water, without_metals(stream), 0.0, -acid)
    ph = entries.given(
        TARGET,
        TARGET_PH if choice.target_ph is None else choice.target_ph,
        "-",
        "pH wanted behind the oxidation" if acid > 0 else "pH wanted behind the alkali",
        origin="assumed" if choice.target_ph is None else "chosen",
        method="manganese on coated media, 7.5 or more" if choice.target_ph is None else "",
        evidence="memory",
        cites=("MEMORY",) if choice.target_ph is None else (),
    )
    added, spare = 0.0, PH_READ if choice.target_ph is None else 0.0
    if float(water.ph) < ph - spare:
        ions = {"na": base.sodium_per_mg / base.alkalinity_per_mg}
        added = alkalinity_for_ph(water, ph, ions, base.carbon_mol_mg)
    else:
        entries.flag(
            "alkali_needless",
            "info",
            f"the water is at pH {float(water.ph):.2f}{' behind the oxidation' * (acid > 0)}, not "
            f"below the {ph:g} wanted{f' by more than {spare:g}' * (spare > 0)}: no alkali",
            TARGET,
        )
    if math.isnan(added):
        raise OutOfRangeError(
            f"[alkali] target_ph = {ph:g}: no dose of {base.name} reaches it; lower it, or write "
            'base = "caustic"'
        )
    entries.computed(
        DOSE,
        added / base.alkalinity_per_mg,
        "mg/L",
        label,
        inputs=carbonate_keys(entries.ledger, stream, TARGET, ACID),
        method="speciation, closed to the air"
        + ", behind the acid that iron and manganese set free" * (acid > 0),
        cites=("WATEQ4F", "PB82"),
    )
