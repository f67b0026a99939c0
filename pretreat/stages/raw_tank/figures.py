"""A vented raw water tank: carbon dioxide lost, pH gained, iron oxidised."""

from pretreat.chemistry.carbonate import ph_from_alkalinity_and_co2
from pretreat.core.units import CACO3_MG_PER_MEQ
from pretreat.stages.iron_filter.oxidation import oxidant_demand_mg_l
from pretreat.stages.raw_tank.laws import CO2_MG_PER_MOL, co2_left_mg_l, co2_of_air_mg_l
from pretreat.stages.train import Train

STRIPPED = 0.5  # PRACTICE: a tank filled from above loses about half; spray aeration more
OXYGEN_MG_L = 8.0  # MEMORY: water that fell through air takes up most of 9 to 11 mg/L


def enter_raw_tank(train: Train) -> None:
    """Enter what a vented raw tank does to carbon dioxide, pH and iron, where there is one.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    """
    if not train.design.supply.vented_raw_tank:
        return
    _enter_oxygen(train)
    entries, raw = train.entries, train.raw
    co2 = entries.ledger.number("water.co2_mg_l")
    strength = entries.ledger.number("water.ionic_strength_mol_kg")
    if co2 is None or strength is None or raw.alkalinity_mg_l_caco3 is None or raw.ph is None:
        return
    air = entries.calc("train.co2_of_air_mg_l", co2_of_air_mg_l(raw.temperature_c), "mg/L",
                       "Carbon dioxide in equilibrium with air", by=(co2_of_air_mg_l,),
                       inputs=("water.operating_temperature_c",))  # fmt: skip
    share = entries.given("train.co2_stripped", STRIPPED, "-",
                          "Part of the excess carbon dioxide that the raw tank loses")  # fmt: skip
    left = entries.calc("train.tank_co2_mg_l", co2_left_mg_l(co2, air, share), "mg/L",
                        "Carbon dioxide behind the raw tank",
                        "{water.co2_mg_l}-{train.co2_stripped}"
                        "*MAX({water.co2_mg_l}-{train.co2_of_air_mg_l},0)")  # fmt: skip
    alkalinity = raw.alkalinity_mg_l_caco3 / CACO3_MG_PER_MEQ / 1000.0

    def ph_at(co2_mg_l: float) -> float:
        co2_mol_l = co2_mg_l / CO2_MG_PER_MOL
        return float(ph_from_alkalinity_and_co2(alkalinity, co2_mol_l, strength, raw.temperature_c))

    for name, amount, label in (
        ("tank_ph", left, "pH behind the raw tank"),
        ("tank_ph_most", min(air, co2), "pH if the tank lost all excess carbon dioxide"),
    ):
        entries.calc(f"train.{name}", ph_at(amount), "-", label, by=(ph_from_alkalinity_and_co2,),
                     inputs=("water.alkalinity_mg_l_caco3", "train.tank_co2_mg_l"),
                     method="alkalinity kept, carbon dioxide lost")  # fmt: skip
    rise = ph_at(left) - ph_at(co2)
    entries.flag("vented_tank", "caution",
                 f"the vented raw tank raises the pH by about {rise:.1f}: the Langelier index does "
                 "so too; the scaling shown keeps the pH of the report: measure it behind the "
                 "tank and use that", "train.tank_ph")  # fmt: skip


def _enter_oxygen(train: Train) -> None:
    entries, raw = train.entries, train.raw
    iron, manganese = raw.mg_l.get("fe", 0.0), raw.mg_l.get("mn", 0.0)
    need = oxidant_demand_mg_l(iron, 0.0, raw.h2s_mg_l, "air")
    entries.calc("train.oxygen_needed_mg_l", need, "mg/L",
                 "Oxygen that iron and sulfide take up in the raw tank",
                 by=(oxidant_demand_mg_l,), inputs=(entries.dissolved(raw, "fe"),),
                 method="electron balance")  # fmt: skip
    if iron <= 0:
        return
    ending = "" if need <= OXYGEN_MG_L else "; more than air gives in one fall"
    entries.flag("iron_oxidises_in_tank", "info",
                 f"air in the raw tank turns dissolved iron into rust ({need:.2f} mg/L oxygen"
                 f"{ending}), fast above pH 7.2 (from memory): it settles and is filtered, but the "
                 "softener must never see it; manganese "
                 f"({manganese:.2g} mg/L) stays dissolved", "train.oxygen_needed_mg_l")  # fmt: skip
