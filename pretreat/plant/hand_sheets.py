"""What stands on the pages that are filled in by hand: steps, cautions, gauges to read."""

from collections.abc import Mapping

from pretreat.core.basis import Series
from pretreat.core.results import Ledger
from pretreat.core.tables import rows

_LISTS = (
    ("start_up", "Start-up, step by step"),
    ("shutdown", "Shutdown and flush"),
    ("stop", "Stop and be careful"),
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


def enter_record_sheet(ledger: Ledger, known: Mapping[str, tuple[str, str]] | None = None) -> None:
    """Enter the gauges of the record sheet, with the figure that tells what each may show.

    Parameters
    ----------
    ledger : Ledger
        Where they go. [-]
    known : mapping of str to tuple of str, optional
        By gauge, the key of the figure expected, and of its twin on a US gauge; by default the
        figures of the design named in the table of gauges. [-]
    """
    lines = []
    for row in rows("gauges.csv"):
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
