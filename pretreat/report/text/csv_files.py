"""Study -> CSV files for other programs: the numbers of the workbook, in full."""

import csv
import io
from collections.abc import Iterable, Sequence
from pathlib import Path

from pretreat.core.basis import Figure, Value
from pretreat.core.doors import csv_text, quoted, refuse_target
from pretreat.core.errors import PretreatError
from pretreat.core.results import Study
from pretreat.core.text import lazy
from pretreat.report.files import refuse_if_open, replace_file

_FIGURE_HEADS = (
    "key",
    "value",
    "unit",
    "label",
    "below",
    "origin",
    "evidence",
    "method",
    "cites",
    "inputs",
    "flags",
    "formula",
)
_KEY = lazy(r"[a-z0-9_]+(\.[a-z0-9_]+)*")


def write_csv(study: Study, folder: str | Path) -> tuple[Path, ...]:
    """Write figures, flags and each series into CSV files.

    A text that a spreadsheet would take for a formula gets an apostrophe in front.

    Parameters
    ----------
    study : Study
        The study. [-]
    folder : str or Path
        Where to; it is made if it is not there. [-]

    Returns
    -------
    tuple of Path
        The files: figures.csv, flags.csv, then one per series, named by its key. [-]

    Raises
    ------
    PretreatError
        If a file is open elsewhere or cannot be written.
    """
    home = Path(folder)
    for name in ("figures", "flags", *study.series):
        if not _KEY.fullmatch(name):
            raise PretreatError(f"{quoted(name)} is no name for a table; nothing is written")
        refuse_target(home / f"{name}.csv")
    files = [
        _write(home / "figures.csv", _FIGURE_HEADS, map(_figure_row, study.figures.values())),
        _write(
            home / "flags.csv",
            ("level", "code", "text", "figure"),
            ((f.level, f.code, f.text, f.figure) for f in study.flags),
        ),
    ]
    for key, series in study.series.items():
        heads = [
            name if unit in {"-", ""} else f"{name} [{unit}]"
            for name, unit in zip(series.columns, series.units, strict=True)
        ]
        files.append(_write(home / f"{key}.csv", heads, series.rows))
    return tuple(files)


def _figure_row(figure: Figure) -> tuple[Value, ...]:
    return (
        figure.key,
        figure.value,
        figure.unit,
        figure.label,
        figure.below,
        figure.origin,
        figure.evidence,
        figure.method,
        ";".join(figure.cites),
        ";".join(figure.inputs),
        ";".join(figure.flags),
        figure.formula,
    )


def _write(path: Path, heads: Sequence[str], rows: Iterable[Sequence[Value]]) -> Path:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(map(csv_text, heads))
    writer.writerows([_cell(value) for value in row] for row in rows)
    refuse_if_open(path)
    return replace_file(path, text.getvalue().encode("utf-8"))


def _cell(value: Value) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return csv_text(value)
    return repr(float(value))
