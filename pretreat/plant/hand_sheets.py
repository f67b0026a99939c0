"""What stands on the pages that are filled in by hand: steps, cautions, gauges to read."""

from collections.abc import Collection, Mapping

from pretreat.core.basis import Series
from pretreat.core.results import Ledger, Study
from pretreat.core.tables import rows

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
    for key, label in _LISTS:
        steps = tuple(
            (r["do"], r["until"], r["card"])
            for r in rows("operation_steps.csv")
            if r["list"] == key
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
