"""The number of a result, out of its cell and the columns that qualify it."""

import re

from msgspec.structs import replace

from pretreat.core.text import lazy
from pretreat.lab.read.numbers import PrintedNumber, printed_number
from pretreat.lab.read.report import PrintedResult

# Limits that say nothing about what the method can see.
_NO_LIMIT = r"standard|criteri|upper|maximum|holding|uncertain|confidence|workplan|taxonomic|calibr"
_NOT_FOUND = lazy(
    r"not detected|below|between|non-?detect|<ql|trace|not quantified|not present|undetected",
    re.I,
    needs="eEoOqQ",
)


_UNSEEN_MARK = lazy(r"U|UJ|ND|BDL|BRL|BQL|<", needs="UDL<")


def number_of(result: PrintedResult, decimal: str) -> PrintedNumber:
    """Read the result cell together with its qualifier, condition and limit columns.

    Parameters
    ----------
    result : PrintedResult
        The result as printed. [-]
    decimal : str
        The decimal mark of the file. [-]

    Returns
    -------
    PrintedNumber
        What the cells say together. [-]
    """
    number = printed_number(result.text, decimal)
    condition = result.condition.strip()
    mark = result.qualifier.strip()
    unseen = _blank_beside_limit(result) or condition == "1" or _UNSEEN_MARK.fullmatch(mark)
    if _NOT_FOUND.search(condition) or (unseen and number.kind == "missing"):
        number = replace(number, kind="below")
    elif re.search(r"above", condition, re.IGNORECASE):
        number = replace(number, kind="above")
    elif number.kind == "value" and mark:
        number = _marked(number, mark)
    if number.kind == "below" and number.number is None:
        number = _with_limit(number, result, decimal)
    return number


def _blank_beside_limit(result: PrintedResult) -> bool:
    """Tell an empty result whose limit alone has a unit: not detected, not left out.

    A condition such as "Not Reported" or "Present Above Quantification Limit" says otherwise.
    """
    bare = not (result.text or result.unit or result.condition.strip())
    return bool(bare and result.limit and result.limit_unit)


def _marked(number: PrintedNumber, mark: str) -> PrintedNumber:
    if mark.startswith(("<", "≤")) or _UNSEEN_MARK.fullmatch(mark):
        return replace(number, kind="below", qualifier=mark)
    if mark.startswith((">", "≥")):
        return replace(number, kind="above", qualifier=mark)
    return replace(number, qualifier=number.qualifier or mark)


def _with_limit(number: PrintedNumber, result: PrintedResult, decimal: str) -> PrintedNumber:
    """Take the limit of a non-detect from the limit column, unless it is a quality standard."""
    if not result.limit or re.search(_NO_LIMIT, result.limit_type, re.IGNORECASE):
        return number
    limit = printed_number(result.limit, decimal)
    if limit.number is None:
        return number
    return replace(number, number=limit.number, unit=limit.unit or result.limit_unit or number.unit)
