"""Activity, speciation, carbonate system, minerals and indexes: arrays in, arrays out."""

from pretreat.chemistry.speciation import Speciation, molal_totals, speciate

__all__ = ["Speciation", "molal_totals", "speciate"]
