"""A recycling array by PHREEQC alone: mixed, speciated, concentrated, until it feeds itself.

An outside reference: wateq4f.dat of PHREEQC 3.8.6 for the chemistry, the balance of each ion
solved here by its own arithmetic (marching the loop round by round, or a bracketed root).
"""

from scipy.optimize import brentq

from pretreat.core.tables import analytes
from tests.chemistry.phreeqc_reference import ELEMENT, Reference

COMPONENT_KEY = {a.component: k for k, a in analytes().items() if a.component}


class Loop:
    """One water in one machine; ``passage`` by analyte key, "hco3" for the alkalinity."""

    def __init__(self, reference: Reference, totals, fresh, temp_c, machine) -> None:
        self.reference, self.temp_c = reference, temp_c
        self.recovery, self.rho, self.passage = machine
        self.carbon, self.co2 = fresh["C(4)(mol/kgw)"], fresh["m_CO2(mol/kgw)"]
        self.alkalinity = fresh["Alk(eq/kgw)"]
        self.totals = {
            COMPONENT_KEY[n]: float(v) for n, v in totals.items() if n != "CO3" and v > 0
        }

    def balance(self, key):
        """Return array feed and concentrate per fresh feed: two linear balances of one salt."""
        y, rho, sp = self.recovery, self.rho, self.passage.get(key, 0.0)
        # fresh = Y product + (1 - Y) drain;  product = sp * array;  array = (1-rho) + rho * drain
        drain = (1 - y * sp * (1 - rho)) / (1 - y + y * sp * rho)
        return (1 - rho) + rho * drain, drain

    def solution(self, which, carbon):
        lines = ["SOLUTION 1", "units mol/kgw", f"temp {self.temp_c:.10g}", "pH 7.6"]
        lines.append(f"C(4) {carbon:.14g}")
        lines.append(f"Alkalinity {self.alkalinity * self.balance('hco3')[which]:.14g}")
        for key, amount in self.totals.items():
            name = ELEMENT.get(key, analytes()[key].symbol)
            lines.append(f"{name} {amount * self.balance(key)[which]:.14g}")
        return self.reference.run("\n".join(lines) + "\n")

    def next_drain(self, drain):
        """Carbon of the drain after one more turn of the loop."""
        mixed = (1 - self.rho) * self.carbon + self.rho * drain
        co2 = self.solution(0, mixed)["m_CO2(mol/kgw)"]
        array_recovery, sp = self.recovery * (1 - self.rho), self.passage.get("hco3", 0.0)
        held = (mixed - co2) * (1 - array_recovery * sp) / (1 - array_recovery)
        return held + co2

    def drain_by_root(self):
        """Carbon of the drain at which one more turn changes nothing."""
        bound = self.alkalinity * self.balance("hco3")[1]
        low, high = bound * 0.52, bound + self.co2 / (1 - self.recovery)
        return brentq(lambda b: self.next_drain(b) - b, low, high, xtol=1e-13, rtol=1e-12)

    def drain_by_turns(self, most=6000):
        """The same by plainly turning the loop, hundreds of times if need be."""
        drain = self.carbon
        for _ in range(most):
            following = self.next_drain(drain)
            if abs(following - drain) < 1e-9 * drain:
                return following
            drain = following
        raise AssertionError("the loop does not settle")

    def drain_ph(self, carbon):
        return self.solution(1, carbon)["pH"]
