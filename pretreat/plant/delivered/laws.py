"""The passage of a trace from that of the salts."""

from pretreat.core.basis import cites
from pretreat.core.law import Number, law, valid


@law
@cites("PRACTICE", "solution-diffusion: passage / (1 - passage) goes with the permeability")
@valid(salt_passage="[0, 1)", permeability=[0, None], salt_permeability=(0, None))
def trace_passage(salt_passage: Number, permeability: Number, salt_permeability: Number) -> Number:
    """Passage of a trace = o / (1 + o), o = passage / (1 - passage) of salt x ratio of B.

    Worked by hand: salt passes 2 %, the trace a tenth as easily: 0.00204 / 1.00204.

    >>> round(trace_passage(0.02, 0.1, 1.0), 6)
    0.002037
    """
    odds = salt_passage / (1.0 - salt_passage) * permeability / salt_permeability
    return odds / (1.0 + odds)
