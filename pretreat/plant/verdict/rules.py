"""The rules of the verdict; pure, so that every one of them can be read and tested.

1. What stops the machine, or limits that hardly any draw keeps even where they are bold, is
   "does not fit".
2. An analysis whose ions do not balance is "depends", and so is what somebody has to accept
   first. A scale that could limit and was not
   judged is "depends", and so is a water that cannot be computed: what is missing is named,
   and no probability is given. Draws that are turned off are never better than "depends".
3. Limits that nine draws of ten keep even where they are cautious, in the worst season, are
   "fits", or "fits with conditions" where something that is no scale must be seen to first, or
   where a scale was not judged that at a plausible level would not limit.
4. All else is "depends".
"""

from collections.abc import Mapping

from msgspec.structs import replace

from pretreat.core.basis import Flag
from pretreat.core.tables import rows
from pretreat.plant.uncertainty.digits import probability_words, recovery_shown
from pretreat.plant.uncertainty.spread import LIKELY, UNLIKELY
from pretreat.plant.verdict.case import (
    GAP,
    Answer,
    Column,
    ScaleCase,
    SeasonCase,
    Unjudged,
    Verdict,
    VerdictCase,
)

CALCIUM = "calcium"
SAME_ODDS = 0.02  # draws that tell two scales apart no longer
SAME_RECOVERY = 1e-9  # a recovery that stands on its limit keeps it
OPEN_KINDS = frozenset({"unknown", "question"})  # of obstacles: there is no answer before
REASON, CONDITION = "reason", "condition"  # what a point of the verdict is
NOT_DRAWN = (
    "the uncertainty of the analysis was not drawn (draws are turned off), so nothing "
    "better than 'depends' can be said"
)


def verdict(case: VerdictCase) -> Verdict:
    """Return the verdict on a design.

    Parameters
    ----------
    case : VerdictCase
        Seasons, draws, limits, what was not judged and what is no scale. [-]

    Returns
    -------
    Verdict
        The answer, its reasons (gravest first), probability and what to measure next. [-]
    """
    answer = _answer(case)
    known = case.kept is not None and not _in_the_dark(case)
    card = None if answer == "fits" else _card(case)
    return Verdict(
        answer,
        _reasons(case, answer),
        case.kept["low"] if known and case.kept is not None else None,
        _measure_next(case),
        recovery_shown(case.recovery) if answer == "fits" else card,
        season_flags(case),
        _decides(case, answer),
        _answer(replace(case, obstacles=tuple(o for o in case.obstacles if not o.anyway))),
        _coded(case),
        _grave(case, answer),
    )


# Codes of what keeps a quote a draft and is no obstacle of its own.
SCALE, WANTING, UNSURE = "scale", "wanting", "unsure"
UNSEEN = "not judged, and at a plausible level over the limit"


def _blind(case: VerdictCase) -> tuple[Unjudged, ...]:
    """Return the scales that could limit and were not judged."""
    return tuple(u for u in case.unjudged if u.could_limit and not u.held)


def _held(case: VerdictCase) -> tuple[Unjudged, ...]:
    """Return those whose missing ion the softener takes with the calcium."""
    return tuple(u for u in case.unjudged if u.could_limit and u.held)


def _harmless(case: VerdictCase, *, usual: bool) -> tuple[Unjudged, ...]:
    return tuple(u for u in case.unjudged if not u.could_limit and u.usual is usual)


def _obstacles(case: VerdictCase, kind: str) -> tuple[str, ...]:
    return tuple(o.text for o in case.obstacles if o.kind == kind)


def _in_the_dark(case: VerdictCase) -> bool:
    """Tell whether the scales cannot be judged, for want of an ion or of a computable water."""
    return bool(not case.judged or _blind(case) or _obstacles(case, "unknown"))


def _conditions(case: VerdictCase) -> tuple[str, ...]:
    others = _obstacles(case, "condition")
    held = (_held_words(u) for u in _held(case))
    return (*others, *held, *(_harmless_words(u) for u in _harmless(case, usual=True)))


def _coded(case: VerdictCase) -> tuple[tuple[str, str], ...]:
    """Return code and text of all that must be seen to, gravest first; gaps under one code."""
    kinds = ("stops", "doubt", "question", "unknown", "condition")
    found = [(o.code, o.text) for kind in kinds for o in case.obstacles if o.kind == kind]
    found += [(GAP, _blind_words(u, case)) for u in _blind(case)]
    found += [(GAP, _held_words(u)) for u in _held(case)]
    return (*found, *((GAP, _harmless_words(u)) for u in _harmless(case, usual=True)))


def _grave(case: VerdictCase, answer: Answer) -> tuple[tuple[str, str], ...]:
    """Return code and text of all that speaks against an offer; ions where they are wanting."""
    kinds = ("stops", "doubt", "question", "unknown")
    found = [(o.code, o.text) for kind in kinds for o in case.obstacles if o.kind == kind]
    if answer == "does not fit" and _hopeless(case):
        found.insert(0, (SCALE, _hopeless_words(case)))
    found += [(WANTING, u.missing) for u in _blind(case)]
    unsure = case.kept is None or not case.kept["low"] >= LIKELY
    if answer == "depends" and unsure:
        found.append((UNSURE, ""))
    return tuple(found)


def _hopeless(case: VerdictCase) -> bool:
    """Tell whether the scales exclude the recovery, even at the bold limits."""
    if _obstacles(case, "unknown"):
        return False
    if case.kept is not None:
        return case.kept["high"] < UNLIKELY
    return case.nominal["high"] < case.recovery - SAME_RECOVERY


def _answer(case: VerdictCase) -> Answer:
    if _obstacles(case, "stops") or _hopeless(case):
        return "does not fit"
    if _obstacles(case, "doubt") or _obstacles(case, "question") or _in_the_dark(case):
        return "depends"
    if case.kept is None or not case.kept["low"] >= LIKELY:
        return "depends"
    return "fits with conditions" if _conditions(case) else "fits"


def _reasons(case: VerdictCase, answer: Answer) -> tuple[str, ...]:
    found = _gravest(case)
    if answer == "does not fit" and _hopeless(case):
        found.append(_hopeless_words(case))
    found += _obstacles(case, "unknown")
    found += [_blind_words(u, case) for u in _blind(case)]
    if answer != "does not fit":
        found += _scale_reasons(case)
    found += _conditions(case)
    found += [_harmless_words(u) for u in _harmless(case, usual=False)]
    found += _obstacles(case, "note")
    return tuple(found)


def _gravest(case: VerdictCase) -> list[str]:
    return [text for kind in ("stops", "doubt", "question") for text in _obstacles(case, kind)]


def _decides(case: VerdictCase, answer: Answer) -> tuple[tuple[str, str], ...]:
    """Return what decides, gravest first; what is only to be told stays with the reasons."""
    found = _gravest(case)
    if answer == "does not fit" and _hopeless(case):
        found.append(_hopeless_words(case))
    found += _obstacles(case, "unknown")
    blind = ", ".join(f"{_for_want(u)}{_from_words(u)}" for u in _blind(case))
    unseen = f"{UNSEEN} at {_pct(case.recovery)}: {blind}" if blind else ""
    scales = [] if answer == "does not fit" else _scale_reasons(case)
    kept = case.kept is not None and case.kept["low"] >= LIKELY
    first, second = ([unseen], scales) if kept or not scales else (scales, [unseen])
    found += [reason for reason in (*first, *second) if reason]
    asked = [o.text for o in case.obstacles if o.kind == "condition" and not o.absent]
    asked += [_held_words(u) for u in _held(case)]
    absent = ", ".join(o.absent for o in case.obstacles if o.kind == "condition" and o.absent)
    if absent:
        asked.append(f"not in the analysis: {absent}")
    usual = ", ".join(
        _for_want(u)
        for u in _harmless(case, usual=True)
        if not (_gap_questions(case) and CALCIUM in u.missing)  # the load is not known either
    )
    if usual:
        asked.append(f"not judged, and hardly in the way: {usual}")
    return (*((REASON, text) for text in found), *((CONDITION, text) for text in asked))


def _for_want(one: Unjudged) -> str:
    return f"{scale_name(one.scale)} for want of {one.missing}"


def _from_words(one: Unjudged) -> str:
    """Name the level of the well from where on it would limit."""
    return "" if one.from_mg_l is None else f" (from {one.from_mg_l:.2g} mg/L in the well)"


def _scale_reasons(case: VerdictCase) -> list[str]:
    """Return what the draws, the seasons and the band of the limits say."""
    if not case.judged:
        return ["no scale could be judged"]
    if case.kept is None:
        over = case.nominal["likely"] < case.recovery - SAME_RECOVERY
        return [*([_nominal_words(case)] if over else []), NOT_DRAWN]
    if case.kept["low"] >= LIKELY:
        worst = ", worst season included" if len(case.seasons) > 1 else ""
        return [
            f"every scale that was judged keeps its limit at {_pct(case.recovery)} recovery in "
            f"{_odds(case.kept['low'])} of the draws{worst}"
        ]
    found = [_open_words(case)]
    found += _band_words(case)
    found += _season_words(case)
    return found


def _open_words(case: VerdictCase) -> str:
    kept = case.kept or {}
    scale = _decisive(case)
    which = f"{scale_name(scale.scale)} decides" if scale else "the scales decide"
    spread = ""
    if case.p10_p90 is not None:
        low, high = (recovery_shown(p) for p in case.p10_p90)
        spread = f"; at the usual limits {_pct(low)} to {_pct(high)} can be reached (P10 to P90)"
    return (
        f"{_pct(case.recovery)} recovery depends on {_left_open(case)}: {which}, all "
        f"limits are kept in {_odds(kept['low'])} of the draws at the cautious limits{spread}"
    )


def _left_open(case: VerdictCase) -> str:
    """Say what is open: the analysis, or the limit and the recovery where hardly a draw differs."""
    kept = case.kept or {}
    if not any(UNLIKELY <= share < LIKELY for share in kept.values()):
        return "the limit that is taken and on the recovery wanted, not on the analysis"
    if kept["low"] < UNLIKELY:
        return "the limit that is taken and on the recovery wanted, more than on the analysis"
    return "what the analysis leaves open"


def _band_words(case: VerdictCase) -> list[str]:
    kept = case.kept or {}
    if not (kept["low"] < LIKELY <= kept["high"]):
        return []
    scale = _decisive(case)
    of = f" of {scale_name(scale.scale)}" if scale else ""
    return [
        f"it hangs on the limit{of}{' with inhibitor' if case.inhibitor else ''} (common practice, "
        f"no published source): kept in {_odds(kept['low'])} of the draws at the cautious limits, "
        f"{_odds(kept['likely'])} at the usual ones, {_odds(kept['high'])} at the bold ones"
    ]


def _season_words(case: VerdictCase) -> list[str]:
    """Name the season that is worse than the operating water."""
    found = []
    for season in case.seasons:
        if season.name != "operating" and _worse(season, case):
            found.append(
                f"the {season.name} water ({season.temp_c:g} °C) allows "
                f"{_pct(recovery_shown(season.recovery_max))} ({scale_name(season.limited_by)} "
                f"limits), less than the {_pct(case.recovery)} wanted"
            )
    return found


def _worse(season: SeasonCase, case: VerdictCase) -> bool:
    return season.recovery_max < case.recovery - SAME_RECOVERY


def _hopeless_words(case: VerdictCase) -> str:
    worst = _worst_season(case)
    which, where = "a scale", ""
    if worst is not None:
        which = scale_name(worst.limited_by)
        where = "" if worst.name == "operating" else f" in the {worst.name} water"
    shown = _pct(recovery_shown(case.nominal["likely"]))
    odds = ""
    if case.kept is not None:
        odds = (
            f"; even at the boldest limits every scale keeps its limit in only "
            f"{_odds(case.kept['high'])} of the draws"
        )
    return (
        f"{which} limits recovery to {shown}{where} at the usual limits; "
        f"{_pct(case.recovery)} is wanted{odds}"
    )


def _nominal_words(case: VerdictCase) -> str:
    worst = _worst_season(case)
    which = scale_name(worst.limited_by) if worst is not None else "a scale"
    return (
        f"{which} limits recovery to {_pct(recovery_shown(case.nominal['likely']))} at the usual "
        f"limits; {_pct(case.recovery)} is wanted"
    )


def _worst_season(case: VerdictCase) -> SeasonCase | None:
    return min(case.seasons, key=lambda s: s.recovery_max, default=None)


def _weakest(scales: tuple[ScaleCase, ...], column: Column) -> ScaleCase | None:
    return min(scales, key=lambda s: s.kept[column], default=None)


def _decisive(case: VerdictCase) -> ScaleCase | None:
    """Return the scale kept least often; of near equals, what limits in the worst season."""
    least, worst = _weakest(case.scales, "low"), _worst_season(case)
    if least is None or worst is None:
        return least
    for one in case.scales:
        if one.scale == worst.limited_by and one.kept["low"] <= least.kept["low"] + SAME_ODDS:
            return one
    return least


def _is_absent(one: Unjudged) -> str:
    return "could not be read from the report" if one.unread else "is not in the analysis"


def _blind_words(one: Unjudged, case: VerdictCase) -> str:
    return (
        f"{scale_name(one.scale)} was not judged: {one.missing} {_is_absent(one)}, and at a "
        f"plausible level{_from_words(one)} it would limit recovery below {_pct(case.recovery)}"
    )


def _held_words(one: Unjudged) -> str:
    return (
        f"{scale_name(one.scale)} was not judged: {one.missing} {_is_absent(one)}; the "
        "softener takes barium and strontium with the calcium, so long as it is regenerated in "
        "time: have it measured"
    )


def _harmless_words(one: Unjudged) -> str:
    return (
        f"{scale_name(one.scale)} was not judged: {one.missing} {_is_absent(one)}; at a "
        "plausible level it would not limit here: have it measured"
    )


def _measure_next(case: VerdictCase) -> str:
    blind = _blind(case)
    if _obstacles(case, "doubt"):
        return "a new full analysis: the ions do not balance"
    if _gap_questions(case):
        return _gap_questions(case)[0]
    if blind and not _obstacles(case, "stops"):
        return blind[0].missing
    asked = next((o.measure for o in case.obstacles if o.measure), "")
    open_kinds = [o.measure for o in case.obstacles if o.measure and o.kind in OPEN_KINDS]
    lacking = [o.measure for o in case.obstacles if o.measure and o.code == GAP]
    if (open_kinds or lacking) and not _obstacles(case, "stops"):
        return (open_kinds or lacking)[0]
    kept = case.kept is not None and case.kept["low"] >= LIKELY  # then no scale decides
    return asked if settled(case) or (kept and asked) else case.measure_next or asked


def _gap_questions(case: VerdictCase) -> tuple[str, ...]:
    """Return what is to be measured before there is an answer at all."""
    return tuple(o.measure for o in case.obstacles if o.kind == "question" and o.code == GAP)


def settled(case: VerdictCase) -> bool:
    """Tell whether every draw agrees, so that no measurement would change the verdict.

    Parameters
    ----------
    case : VerdictCase
        With its draws. [-]

    Returns
    -------
    bool
        The machine is stopped, or all draws keep the cautious limits, or none the bold ones. [-]
    """
    if _obstacles(case, "stops"):
        return True
    if case.kept is None or _in_the_dark(case):
        return False
    return case.kept["low"] >= 1.0 or case.kept["high"] <= 0.0


def no_card_words(case: VerdictCase) -> str:
    """Say why there is no recovery for the settings card.

    Parameters
    ----------
    case : VerdictCase
        That leaves none. [-]

    Returns
    -------
    str
        What stops it, what it could not be judged for want of, or that few draws keep any. [-]
    """
    if _obstacles(case, "stops"):
        return "the design cannot run so: see the reasons of the verdict"
    blind = dict.fromkeys([*_gap_questions(case), *(u.missing for u in _blind(case))])
    if blind:
        return f"it could not be judged for want of {', '.join(blind)}: do not run until measured"
    if _in_the_dark(case) or case.kept is None:
        return "it could not be judged: see the reasons of the verdict; do not run until it is"
    return "no recovery is kept in 90 % of the draws: do not run"


def _card(case: VerdictCase) -> float | None:
    """Return the recovery that a settings card may order; None where there is none.

    What stops the machine leaves none, and so does a scale that could limit and that nobody
    judged: no recovery is known to keep it.
    """
    dark = _in_the_dark(case) or _gap_questions(case)
    if _obstacles(case, "stops") or dark or case.safe_recovery is None:
        return None
    shown = recovery_shown(min(case.safe_recovery, case.recovery))
    return shown if shown > 0.0 else None


def season_flags(case: VerdictCase) -> tuple[Flag, ...]:
    """Return the flags of seasons that do not keep the limits that the operating water keeps.

    Parameters
    ----------
    case : VerdictCase
        With the water as analysed in every season. [-]

    Returns
    -------
    tuple of Flag
        `coldest_limits`, `warmest_limits`. [-]
    """
    operating = [s for s in case.seasons if s.name == "operating"]
    if not operating or _worse(operating[0], case):
        return ()
    return tuple(
        Flag(
            f"{s.name}_limits",
            "warning",
            f"the operating water ({operating[0].temp_c:g} °C) keeps the limits at "
            f"{_pct(case.recovery)} recovery, the {s.name} ({s.temp_c:g} °C) does not: "
            f"{scale_name(s.limited_by)} limits it to {_pct(recovery_shown(s.recovery_max))}",
            "recovery.max",
        )
        for s in case.seasons
        if s.name != "operating" and _worse(s, case)
    )


def scale_name(scale: str) -> str:
    """Return a scale in words.

    Parameters
    ----------
    scale : str
        Name of a scale. [-]

    Returns
    -------
    str
        Such as "calcium carbonate". [-]
    """
    return _names().get(scale, scale.replace("_", " "))


def _names() -> Mapping[str, str]:
    found = {r["criterion"]: r["name"] for r in rows("limits.csv")}
    return found | {"calcite": "calcium carbonate", "calcium_phosphate": "calcium phosphate"}


def _odds(probability: float) -> str:
    return probability_words(probability)


def _pct(recovery: float) -> str:
    return f"{100.0 * recovery:.4g} %"
