"""Numbers that cannot be: refused, or taken as not detected, with a remark."""

from msgspec import Struct, field
from msgspec.structs import replace

from pretreat.core.tables import analytes
from pretreat.core.water import OtherLine, Reading
from pretreat.lab.interpret.measures import MASSES, PLAIN
from pretreat.lab.interpret.traces import traces
from pretreat.lab.read.report import one_line

# A blank-corrected trace result may come out slightly below zero; more than this is an error.
BLANK_CORRECTION_MG_L = 0.2
TEMPERATURES_C = (-2.0, 110.0)  # a liquid natural water
MOST_MG_L = 1e6  # a litre of water weighs as much
TRACES = frozenset({"fe", "mn", "al", "as", "ba", "sr", "b", "br", "f", "nh4", "no2", "po4"})
ZERO_IS_A_RESULT = frozenset({"co3", "hco3"})


class Findings(Struct):
    """What comes out of the results of one sample."""

    readings: list[Reading] = field(default_factory=list)
    remarks: list[tuple[str, str]] = field(default_factory=list)  # flag code and text
    faults: list[str] = field(default_factory=list)
    others: list[OtherLine] = field(default_factory=list)
    unread: dict[str, str] = field(default_factory=dict)  # key of an analyte: the line


def checked(reading: Reading, key: str, findings: Findings) -> Reading:
    """Refuse impossible numbers; take zero and slightly negative traces as not detected."""
    value = reading.value if reading.value is not None else 0.0
    shown = _Shown(reading)
    if key == "ph" and not 0 < value < 14:
        findings.faults.append(f"{shown}; a pH lies between 0 and 14: correct the report")
    elif key == "temperature" and not TEMPERATURES_C[0] <= value <= TEMPERATURES_C[1]:
        findings.remarks.append(("impossible_temperature", str(shown)))
        return replace(reading, value=None, note=_and(reading.note, "impossible, not used"))
    elif value < 0 and key not in {"temperature", "orp"}:
        indirect = (
            reading.note.startswith("named ")
            or reading.basis == "as S"
            or key in MASSES
            or key in PLAIN
            or key in traces()
        )
        if indirect or (key in TRACES and value > -BLANK_CORRECTION_MG_L):
            findings.remarks.append(("negative_result", str(shown)))
            return replace(
                reading, value=None, below=None, note=_and(reading.note, "negative: not detected")
            )
        findings.faults.append(f"{shown}; a concentration cannot be negative: correct the report")
    elif value > MOST_MG_L and key not in {"ec", "orp"}:
        findings.faults.append(
            f"{shown}; no water holds more than {MOST_MG_L:g} mg/L: correct the report"
        )
    elif value == 0 and key in analytes() and key not in ZERO_IS_A_RESULT:
        findings.remarks.append(("zero_result", str(shown)))
        return replace(
            reading, value=None, below=None, note=_and(reading.note, "zero: not detected")
        )
    return reading


class _Shown(Struct, frozen=True):
    """The words for a reading in a message, put together only where there is one."""

    of: Reading

    def __str__(self) -> str:
        printed = " ".join(one_line(t) for t in (self.of.text, self.of.unit))
        return f"{self.of.place}: {one_line(self.of.name)} is {printed}".rstrip()


def _and(note: str, more: str) -> str:
    return f"{note}; {more}" if note else more
