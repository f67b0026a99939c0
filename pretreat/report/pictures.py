"""The charts of the workbook as pictures for a report in another program."""

import io
from itertools import cycle
from pathlib import Path
from typing import Any, Literal

from pretreat.core.basis import Series
from pretreat.core.errors import PretreatError
from pretreat.core.results import Study
from pretreat.report.files import replace_file
from pretreat.report.plots import (
    LIMITS,
    PLAIN,
    RECOVERY_COLUMN,
    SATURATION_CHARTS,
    SWEEP,
    axis_name,
    chart_rows,
    design_row,
    limit_cells,
    limit_name,
    plain_columns,
    recovery_key,
    saturation_columns,
)
from pretreat.report.workbook.charts import COLOURS, WHOLE_AXES, numbers_of
from pretreat.report.workbook.styles import INK

_SIZE_INCH = (8.0, 4.8)
_DPI = 120
_DASHES = ("-", "--", "-.", (0, (8, 2)), (0, (2, 1)), (0, (8, 2, 2, 2)), ":")
_MARKERS = ("o", "s", "^", "D", "x", "+", "*")
_HATCHES = ("", "///", "...", "---", "xxx")


def write_figures(
    study: Study, folder: str | Path, fmt: Literal["png", "svg"] = "png"
) -> tuple[Path, ...]:
    """Draw every chart that the study has numbers for.

    Parameters
    ----------
    study : Study
        The study. [-]
    folder : str or Path
        Where to; it is made if it is not there. [-]
    fmt : str
        "png" or "svg". [-]

    Returns
    -------
    tuple of Path
        One file per chart. [-]

    Raises
    ------
    PretreatError
        If matplotlib is not installed, the format is another, or a file cannot be written.
    """
    if fmt not in {"png", "svg"}:
        raise PretreatError(f"pictures are written as png or svg, not as '{fmt}'")
    try:
        import matplotlib as mpl
        from matplotlib.figure import Figure as Canvas
    except ImportError as problem:
        raise PretreatError(
            "pictures need matplotlib, which is not installed: pip install 'pretreat[figures]'"
        ) from problem
    files: list[Path] = []
    # Text as shapes and a fixed salt: the same study gives the same bytes.
    with mpl.rc_context({"svg.hashsalt": "pretreat", "font.size": 9}):
        for name in (*SATURATION_CHARTS, *PLAIN):
            if chart_rows(name, study):
                canvas = Canvas(figsize=_SIZE_INCH, layout="constrained")
                axes: Any = canvas.subplots()
                _draw(axes, name, study)
                files.append(replace_file(Path(folder) / f"{name}.{fmt}", _bytes(canvas, fmt)))
    return tuple(files)


def _bytes(canvas: Any, fmt: str) -> bytes:
    memory = io.BytesIO()
    stamp = {"Software": None} if fmt == "png" else {"Date": None}
    canvas.savefig(memory, format=fmt, dpi=_DPI, metadata=stamp)
    return memory.getvalue()


def _draw(axes: Any, name: str, study: Study) -> None:
    if name in SATURATION_CHARTS:
        _saturation(axes, study, SATURATION_CHARTS[name])
    else:
        _plain(axes, name, study)
    axes.spines[["top", "right"]].set_visible(False)
    axes.grid(color="#D5DADC", linewidth=0.5)
    axes.set_axisbelow(True)
    axes.legend(frameon=False, fontsize=8, loc="center left", bbox_to_anchor=(1.0, 0.5))


def _saturation(axes: Any, study: Study, prefix: str) -> None:
    series = study.series[prefix + SWEEP]
    recovery = series.column(RECOVERY_COLUMN)
    for i, name in enumerate(saturation_columns(study, series.key)):
        axes.plot(recovery, _gaps(series, name), label=_heading(series, name), **_look(i))
    for value, _, minerals in limit_cells(study, prefix + LIMITS):
        axes.axhline(value, color=INK, linewidth=1.6, label=limit_name(value, minerals))
    key = recovery_key(study)
    if key is not None and design_row(study, series.key) is not None:
        axes.axvline(study.number(key), color=INK, linewidth=1, linestyle=":", label="recovery set")
    axes.set_yscale("log")
    axes.set_ylim(bottom=1)
    axes.yaxis.set_major_formatter("{x:,.0f}")
    axes.set_xlim(0, 1)
    axes.set_xlabel("recovery (product / feed)")
    axes.set_ylabel("percent saturation, 100 × 10^SI [%]")
    water = "concentrate" if not prefix else "concentrate of the raw water"
    axes.set_title(f"Percent saturation of the {water} against recovery")


def _gaps(series: Series, name: str) -> list[float]:
    return [v if isinstance(v, float) else float("nan") for v in series.column(name)]


def _heading(series: Series, name: str) -> str:
    if series.headings:
        return series.headings[series.columns.index(name)]
    return name.replace("_", " ")


def _look(i: int) -> dict[str, Any]:
    return {
        "color": COLOURS[i % len(COLOURS)],
        "linestyle": _DASHES[i % len(_DASHES)],
        "marker": _MARKERS[i % len(_MARKERS)],
        "markersize": 4,
        "markerfacecolor": "white",
    }


def _plain(axes: Any, name: str, study: Study) -> None:
    found = plain_columns(name, study)
    if found is None:
        return
    series, columns = found
    plan = PLAIN[name]
    across = series.column(series.columns[0])
    if plan.kind == "line":
        for i, column in enumerate(columns):
            axes.plot(across, _gaps(series, column), label=_heading(series, column), **_look(i))
    else:
        _bars(axes, series, columns, stacked=plan.kind == "stacked")
    unit = series.units[series.columns.index(columns[0])]
    axes.set_xlabel(_heading(series, series.columns[0]))
    axes.set_ylabel(axis_name(unit))
    axes.set_title(plan.title)
    if plan.kind == "line" and series.columns[0] in WHOLE_AXES:
        most, step = max(numbers_of(series)), WHOLE_AXES[series.columns[0]]
        axes.set_xlim(0, most)
        axes.set_xticks([i * step for i in range(int(most / step) + 1)])
    elif plan.kind == "stacked":
        axes.yaxis.set_major_formatter("{x:,.0f}")


def _bars(axes: Any, series: Series, columns: tuple[str, ...], *, stacked: bool) -> None:
    places = range(len(series.rows))
    base = [0.0] * len(series.rows)
    width = 0.7 if stacked else 0.8 / len(columns)
    for i, (column, hatch) in enumerate(zip(columns, cycle(_HATCHES), strict=False)):
        heights = [v if isinstance(v, float) else 0.0 for v in series.column(column)]
        shift = 0.0 if stacked else (i - (len(columns) - 1) / 2) * width
        axes.bar(
            [p + shift for p in places],
            heights,
            width,
            bottom=base if stacked else None,
            label=_heading(series, column),
            color="white",
            edgecolor=COLOURS[i % len(COLOURS)],
            hatch=hatch or None,
        )
        if stacked:
            base = [b + h for b, h in zip(base, heights, strict=True)]
    axes.set_xticks(
        list(places),
        [f"{v:g}" if isinstance(v, float) else str(v) for v in series.column(series.columns[0])],
    )
