"""Words of the lab's own quality control: blanks, spikes, duplicates and the like."""

import re
from functools import lru_cache

from pretreat.core.text import lazy

_KIND = lazy(
    r"\b(?:blanks?|spike[sd]?|spk|dup(?:licate)?s?|replicate|lcsd?|msd?|surrogate|surr|"
    r"qc|quality control|calibration|ccv|icv|crm|reference material|rejected|sediment|soil|"
    r"leachate|sludge|tissue|air|laboratory control|blanco|blancos|blanc|blindwert|blindprobe|"
    r"leerprobe|bianco|duplicado|doppelprobe|doublon|duplicato|duplikat|ślepa|kör|blanko)\b",
    re.IGNORECASE,
)
_SAMPLE = lazy(
    r"^(?:MB|LCSD?|TB|FB|EB|RB|CCV|CCB|ICV|ICB|SURR|FD|DUP|BLK)[-_ ]?\d*$|"
    r"[-_ ./](?:DUP|FD|MSD?|SPK|BLK)[-_ ]?\d*$|^(?:DUP|FD|BLK|MS|MSD)[-_ ]|"
    r"\bblanks?\b|\bmatrix spike\b|\blab(?:oratory)? control\b|\bduplicates?\b|\breplicate\b|"
    r"\bsurrogate\b|\bblind ?dup|\bsplit sample\b|\bblanco\b|\bblindwert\b|\bblindprobe\b|"
    r"\bmetodblank\b|\bmetodblind\b|\bblindprov\b|\bslepý\b|\bvakpróba\b|空白样|холостая|"
    r"слепа проба|slijepa proba|nullproov|"
    r"\bduplicado\b|\bdoppelprobe\b|\bdoublon\b|\bbianco\b|\bduplicato\b|\bblanc de terrain\b",
    re.IGNORECASE,
)
# A cell under any heading that says nothing but what kind of sample the row is.
_CELL = lazy(
    r"(?:(?:field|trip|travel|equipment|rinse|rinsate|method|lab(?:oratory)?|filter|reagent)"
    r"[ _-]*)?"
    r"(?:blank|blanco|blanc|blindwert|bianco)(?: sample)?|"
    r"(?:field|lab(?:oratory)?|blind|sample)?[ _-]*(?:duplicate|dup|replicate|duplicado|"
    r"doppelprobe|doublon|duplicato)(?: sample| of .{1,30})?|matrix spike(?: duplicate)?|"
    r"lab(?:oratory)? control(?: sample)?|(?:qa|qc|qa/qc)(?: sample)?",
    re.IGNORECASE,
)


@lru_cache(maxsize=4096)
def names_control(kind: str, sample: str) -> bool:
    """Tell whether the kind or the name of a sample says that it is not the water itself."""
    return bool((kind and _KIND.search(kind)) or (sample and _SAMPLE.search(sample)))


@lru_cache(maxsize=4096)
def is_control_cell(text: str) -> bool:
    """Tell a cell such as "Field blank" or "duplicate", wherever it stands in a row."""
    return len(text) < 60 and bool(_CELL.fullmatch(text.strip()))


QUALITY_CONTROL = "quality control"
_SECTION = lazy(
    r"quality (?:control|assurance)|\bQA ?/ ?QC\b|\bQC (?:batch|data|results|summary)\b|"
    r"qualitäts(?:kontrolle|sicherung)|contrôle (?:de )?qualité|control de calidad|"
    r"controle de qualidade|controllo (?:di )?qualità|kontrola jakości",
    re.IGNORECASE,
)


def names_a_control_section(row: tuple[str, ...]) -> bool:
    """Tell the heading of a table of the lab's own quality control."""
    return any(_SECTION.search(cell) for cell in row)
