"""Warnings told once: one line a cause, what decides first, no news of a raw water dealt with."""

from collections.abc import Sequence

from msgspec.structs import replace

from pretreat.core.basis import Flag
from pretreat.core.results import Ledger
from pretreat.core.tables import analytes
from pretreat.membrane.limits import NEEDED

RAW = "untreated."
NO_VALUE = ": not computable"
ASK = "ask the lab for "
OF_SCALE = ("scaling.", "concentrate.", "recovery.")
MANY = 3  # of one kind, from here on one line names them all
NAMED = 8
NEEDS_ALKALINITY = ("ca",)  # calcite besides
# What decides, the gravest first; all else keeps its place behind.
FIRST = (
    "unsafe_train",
    "stage_missing",
    "stage_overruled",
    "h2s_gas",
    "unjudged_scale",
    "coldest_limits",
    "warmest_limits",
    "supersaturated_feed",
    "ammonia_takes_chlorine",
    "membrane_feed",
    "health_limit",
    "product_target",
    "well_too_small",
    "pump_below_feed",
    "pump_too_small",
    "pump_beside_wash",
    "no_setting",
)


def tell_once(ledger: Ledger) -> None:
    """Tell each cause once, and what decides first.

    Parameters
    ----------
    ledger : Ledger
        With every section entered. [-]
    """
    flags = ledger.study().flags
    flags = _without_value(ledger, flags)
    flags = _unjudged(flags)
    flags = _asked(flags)
    flags = _once(_dealt_with(ledger, flags))
    places = {code: n for n, code in enumerate(FIRST)}
    ledger.retell(sorted(flags, key=lambda f: places.get(f.code, len(places))))


def _missing(flags: Sequence[Flag]) -> list[str]:
    """Return keys of what was not measured and a scale needs."""
    ions = {key for needed in NEEDED.values() for key in needed}
    wanted = {f"water.{key}_mg_l": key for key in (*ions, *NEEDS_ALKALINITY)}
    wanted |= {"water.alkalinity_mg_l_caco3": "alkalinity", "water.ph": "pH"}
    found = {wanted[f.figure] for f in flags if f.code == "not_measured" and f.figure in wanted}
    return [key for key in wanted.values() if key in found]


def _without_value(ledger: Ledger, flags: Sequence[Flag]) -> tuple[Flag, ...]:
    """Say once what cannot be computed for want of what was not measured."""
    blank = [
        f
        for f in flags
        if f.code == "not_computable"
        and f.text.endswith(NO_VALUE)
        and (f.figure or "").removeprefix(RAW).startswith(OF_SCALE)
    ]
    missing = _missing(flags)
    if len(blank) < MANY or not missing:
        return tuple(flags)
    names = {k: analytes()[k].name for k in missing if k in analytes()}
    labels = dict.fromkeys(
        f.text.removesuffix(NO_VALUE).removesuffix(", raw water")
        for f in blank
        if not f.text.startswith("Saturation, ")
    )
    text = (
        f"not computable for want of {_listed([names.get(k, k) for k in missing])}: "
        f"{_some(list(labels))}"
    )
    for flag in blank:
        if flag.figure is not None:
            figure = ledger.figure(flag.figure)
            codes = () if figure is None else figure.flags
            ledger.amend(flag.figure, flags=(*codes, "not_computable"))
    gone = {id(f) for f in blank}
    first = flags.index(blank[0])
    one = Flag("not_computable", "caution", text)
    return (*(f for f in flags[:first]), one, *(f for f in flags[first:] if id(f) not in gone))


def _unjudged(flags: Sequence[Flag]) -> tuple[Flag, ...]:
    """Leave to the unjudged scales what other lines say of the same gap."""
    if not any(f.code == "unjudged_scale" for f in flags):
        return tuple(flags)
    same = ("maximum recovery holds at most", "alkalinity was not measured")
    named = "no scale could be judged, so none is named"
    return tuple(
        replace(f, level="info")
        if (f.code == "not_measured" and f.text.startswith(same)) or f.text.startswith(named)
        else f
        for f in flags
    )


def _asked(flags: Sequence[Flag]) -> tuple[Flag, ...]:
    """Name in one line what the laboratory is asked for, where it is much."""
    asked = [f for f in flags if f.code == "not_measured" and f.text.startswith(ASK)]
    if len(asked) < MANY:
        return tuple(flags)
    names = [f.text.removeprefix(ASK).partition(":")[0] for f in asked]
    one = Flag("not_measured", "caution", f"{ASK}{_listed(names)}; the remarks say what for")
    quiet = {id(f) for f in asked} | {id(f) for f in flags if f.code == "balance_not_judged"}
    told = [replace(f, level="info") if id(f) in quiet else f for f in flags]
    told.insert(list(flags).index(asked[0]), one)
    return tuple(told)


def _dealt_with(ledger: Ledger, flags: Sequence[Flag]) -> tuple[Flag, ...]:
    """Take the raw water out of the news where the water behind the train is judged by itself."""
    return tuple(
        replace(f, level="info")
        if f.figure is not None
        and f.figure.startswith(RAW)
        and f.level != "info"
        and f.figure.removeprefix(RAW) in ledger
        else f
        for f in flags
    )


def _once(flags: Sequence[Flag]) -> tuple[Flag, ...]:
    """Say aloud once what is said word for word of several figures."""
    said: set[tuple[str, str]] = set()
    found = []
    for flag in flags:
        again = flag.level != "info" and (flag.code, flag.text) in said
        if flag.level != "info":
            said.add((flag.code, flag.text))
        found.append(replace(flag, level="info") if again else flag)
    return tuple(found)


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _some(names: Sequence[str]) -> str:
    more = len(names) - NAMED
    return ", ".join(names[:NAMED]) + (f" and {more} more" if more > 0 else "")
