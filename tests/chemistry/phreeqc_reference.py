"""PHREEQC 3.8.6 with wateq4f.dat on the same input, as the outside reference of the tests."""

import numpy as np

from pretreat.core.tables import analytes

PHASES = {
    "calcite": "Calcite", "gypsum": "Gypsum", "barite": "Barite", "celestite": "Celestite",
    "fluorite": "Fluorite", "silica": "SiO2(a)",
}  # fmt: skip
ELEMENT = {"fe": "Fe(2)", "mn": "Mn(2)", "nh4": "N(-3)", "so4": "S(6)", "no3": "N(5)",
           "no2": "N(3)", "sio2": "Si", "po4": "P"}  # fmt: skip
AS = {"nh4": "NH4", "so4": "SO4", "no3": "NO3", "no2": "NO2", "sio2": "SiO2", "po4": "PO4"}
OUTPUT = (
    "SELECTED_OUTPUT\n-reset false\n-high_precision true\n-pH true\n-alkalinity true\n"
    "-ionic_strength true\n-totals C(4)\n-molalities CO2\n-saturation_indices "
    + " ".join(PHASES.values())
    + "\nEND\n"
)


class Reference:
    """Runs one water at a time; keeps the feed to build the concentrate from it."""

    def __init__(self, database: str = "wateq4f.dat") -> None:
        import phreeqc

        self.engine = phreeqc.Phreeqc()
        if self.engine.LoadBuiltInDatabase(database) != 0:
            raise RuntimeError(self.engine.GetErrorString())

    def run(self, text: str) -> dict[str, float]:
        if self.engine.RunString(text + OUTPUT) != 0:
            raise RuntimeError(self.engine.GetErrorString())
        return {k: v[-1] for k, v in self.engine.GetSelectedOutput().items()}

    def feed(self, mg_l, alkalinity_mg_l_caco3, ph, temp_c) -> dict[str, float]:
        lines = ["SOLUTION 1", "units mg/l", f"temp {temp_c:.10g}", f"pH {ph:.10g}"]
        if alkalinity_mg_l_caco3 > 0:
            lines.append(f"Alkalinity {alkalinity_mg_l_caco3 * 1.2192714:.10g} as HCO3")
        for key, amount in mg_l.items():
            if amount > 0:
                basis = f" as {AS[key]}" if key in AS else ""
                lines.append(f"{ELEMENT.get(key, analytes()[key].symbol)} {amount:.10g}{basis}")
        return self.run("\n".join(lines) + "\n")

    def concentrate(self, feed, totals, factor, temp_c) -> dict[str, float]:
        """CO2 passes the membrane; the rest is multiplied by the concentration factor."""
        co2, carbon = feed["m_CO2(mol/kgw)"], feed["C(4)(mol/kgw)"]
        lines = ["SOLUTION 1", "units mol/kgw", f"temp {temp_c:.10g}", "pH 7.6"]
        if carbon > 0:
            lines.append(f"C(4) {(carbon - co2) * factor + co2:.14g}")
            lines.append(f"Alkalinity {feed['Alk(eq/kgw)'] * factor:.14g}")
        names = {a.component: k for k, a in analytes().items() if a.component}
        for component, amount in totals.items():
            if amount > 0 and component != "CO3":
                key = names[component]
                lines.append(f"{ELEMENT.get(key, analytes()[key].symbol)} {amount * factor:.14g}")
        return self.run("\n".join(lines) + "\n")


def si_of(row, mineral: str) -> float:
    value = row[f"si_{PHASES[mineral]}"]
    return value if value > -99 else np.nan
