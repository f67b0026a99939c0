"""What stands on the pages that are filled in by hand: steps, cautions, gauges to read."""

from collections.abc import Collection, Mapping, Sequence
from string import Formatter

from pretreat.core.basis import Series
from pretreat.core.results import Ledger, Study
from pretreat.core.tables import rows
from pretreat.stages import BY_KEY

_LISTS = (
    ("start_up", "Start-up, step by step"),
    ("shutdown", "Shutdown and flush"),
    ("stop", "Stop and be careful"),
    ("vacation", "Before a longer stop"),
    ("restart", "After a longer stop"),
)


def enter_steps(ledger: Ledger) -> None:
    """Enter start-up, shutdown, when to stop, and the cautions in short.

    Parameters
    ----------
    ledger : Ledger
        Where they go. [-]
    """
    words = _words_of_train(ledger)
    for key, label in _LISTS:
        steps = tuple(
            tuple(_sentence(r[name].format(**words)) for name in ("do", "until", "card"))
            for r in rows("operation_steps.csv")
            if r["list"] == key and all(words[name] for name in _named(r["do"]))
        )
        ledger.table(
            Series(
                f"settings.{key}",
                label,
                ("do", "until", "card"),
                ("-",) * 3,
                steps,
                method="common practice; the maker's instructions and local codes come first",
                cites=("PRACTICE",),
                headings=("Do", "Until", "In short"),
            )
        )
    raised = {flag.code for flag in ledger.study().flags}  # by what is in the train
    careful = tuple(
        (r["topic"].replace("_", " "), r["card"])
        for r in rows("cautions.csv")
        if r["card"] and f"safety_{r['topic']}" in raised
    )
    ledger.table(
        Series(
            "settings.careful",
            "Careful, in short",
            ("topic", "text"),
            ("-", "-"),
            careful,
            method="the cautions in full stand on their own sheet",
            cites=("SDSPRACTICE", "PRACTICE"),
            headings=("Of", "In short"),
        )
    )


# What a bed is brought back by, in the order of flow; the iron filter by its oxidant.
_BEDS = (
    ("multimedia", "backwash", "multimedia filter"),
    ("softener", "regenerate", "softener"),
    ("weak_acid", "regenerate", "weak acid exchanger"),
    ("carbon", "backwash", "carbon"),
)
_DOSED = ("acid", "alkali", "bisulfite", "chlorine", "inhibitor", "product_alkali")


def _words_of_train(ledger: Ledger) -> dict[str, str]:
    """Return what the steps say of the train; empty where it has no such thing."""
    batch = (ledger.number("iron_filter.permanganate_g_per_regeneration") or 0.0) > 0.0
    fed = _has(ledger, "permanganate")
    first = ("iron_filter", "regenerate" if batch else "backwash", "iron filter")
    beds = [(verb, name) for key, verb, name in (first, *_BEDS) if _has(ledger, key)]
    soft, iron = _has(ledger, "softener"), _has(ledger, "iron_filter")
    dosing = any(_has(ledger, key) for key in _DOSED)
    tests = [name for name, there in (("hardness", soft), ("iron", iron)) if there]
    rinsed = [
        word for word, so in (("clear", True), ("not pink", batch or fed), ("soft", soft)) if so
    ]
    tanks = [
        name
        for name, there in (
            ("salt", soft),
            ("permanganate", batch or fed),
            ("dosing tanks", dosing),
        )
        if there
    ]
    return {
        "tests": _listed([*tests, "chlorine"]),
        "flush": "soft water or product" if soft else "treated water or product",
        "oxidants": "chlorine or pink water" if batch or fed else "chlorine",
        "beds": _in_turn(beds),
        "rinsed": _listed(rinsed),
        "tanks": _listed(tanks or ["gauges"]),
        "over": " or ".join(tests or ["turbidity"]),
    }


def _has(ledger: Ledger, key: str) -> bool:
    figure = ledger.figure(f"train.{BY_KEY[key].name.replace(' ', '_')}")
    return figure is not None and str(figure.value).startswith("in: ")


def _in_turn(beds: Sequence[tuple[str, str]]) -> str:
    """Return "regenerate iron filter, then softener, then backwash carbon"."""
    said, before = [], ""
    for verb, name in beds:
        said.append(name if verb == before else f"{verb} the {name}")
        before = verb
    return ", then ".join(said)


def _listed(words: Sequence[str]) -> str:
    *most, last = words
    return f"{', '.join(most)} and {last}" if most else last


def _named(text: str) -> tuple[str, ...]:
    """Return the places of a text that are to be filled."""
    return tuple(name for _, name, _, _ in Formatter().parse(text) if name)


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:] if text[:1].islower() and text.endswith(".") else text


def gauges_left_out(study: Ledger | Study) -> frozenset[str]:
    """Return the gauges that a site does not have: those of stages that are not in its train.

    Parameters
    ----------
    study : Ledger or Study
        Figures of the site. [-]

    Returns
    -------
    frozenset of str
        Gauges. [-]
    """
    out = {g for key, those in _OF.items() if study.number(key) is None for g in those}
    oxidants = ("carbon.media_volume_l", "chlorine.dose_mg_l", "iron_filter.media_volume_l")
    if all(study.number(key) is None for key in oxidants):
        out.add("chlorine_mg_l")
    if study.number("machine.recycle_flow_m3_h") == 0.0:
        out.add("recycle_flow_m3_h")
    if study.number("machine.stages") == 1.0:
        out.add("interstage_pressure_bar")
    return frozenset(out)


_OF = {  # figure that is there with a stage: its gauges
    "iron_filter.media_volume_l": (
        "iron_filter_in_bar",
        "iron_filter_out_bar",
        "iron_out_mg_l",
        "permanganate_filled_kg",
    ),
    "softener.resin_filled_l": (
        "softener_out_bar",
        "soft_hardness_mg_l_caco3",
        "softened_m3",
        "regenerations",
        "salt_filled_kg",
    ),
    "cartridge.number": ("cartridge_in_bar", "cartridge_out_bar"),
}


def enter_record_sheet(
    ledger: Ledger,
    known: Mapping[str, tuple[str, str]] | None = None,
    left_out: Collection[str] = (),
) -> None:
    """Enter the gauges of the record sheet, with the figure that tells what each may show.

    Parameters
    ----------
    ledger : Ledger
        Where they go. [-]
    known : mapping of str to tuple of str, optional
        By gauge, the key of the figure expected, and of its twin on a US gauge; by default the
        figures of the design named in the table of gauges. [-]
    left_out : collection of str
        Gauges that the site does not have. [-]
    """
    lines = []
    for row in rows("gauges.csv"):
        if row["key"] in left_out:
            continue
        figure, twin = row["figure"], row["figure_us"] or row["figure"]
        if known is not None:
            figure, twin = known.get(row["key"], ("", ""))
        star = "* " if row["baseline"] else ""
        lines.append(
            (
                star + row["label"],
                row["sheet_unit"],
                row["sheet_unit_us"],
                row["section"],
                row["words"],
                figure,
                twin,
            )
        )
    names = ("gauge", "unit", "unit_us", "section", "words", "figure", "figure_us")
    ledger.table(
        Series(
            "settings.record_sheet",
            "What is read, and written on the record sheet",
            names,
            ("-",) * len(names),
            tuple(lines),
            method="* is needed for the baseline",
            cites=("PRACTICE",),
            headings=(
                "Gauge",
                "Unit",
                "US unit",
                "Of",
                "Expected",
                "Figure",
                "Figure on a US gauge",
            ),
        )
    )
