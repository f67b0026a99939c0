"""What each chart shows: which columns of which series, and how much room it takes."""

from typing import Literal

from msgspec import Struct

from pretreat.core.basis import Series
from pretreat.core.results import Study

SWEEP = "scaling.sweep"
LIMITS = "scaling.limits"
SATURATION_CHARTS = {"scaling": "", "untreated_scaling": "untreated."}  # prefix of their series
RECOVERY_COLUMN = "recovery"
RECOVERY_KEYS = ("machine.recovery", "concentrate.recovery", "scaling.recovery")
PICTURE_ROWS = 24
_SATURATION = "pct_"
_PERCENT = "%"
_MEASURE = "measure"
_FEW_SCALES = 2
LIMIT_COLUMN = "limit"


class Plain(Struct, frozen=True):
    """A chart of one series: the first column across, columns of some units up.

    ``names`` narrows the columns by their names, ``units`` by their units; empty means any.
    ``without`` leaves a column out, such as the sum of a stack.
    """

    title: str
    series: tuple[str, ...]
    kind: Literal["column", "stacked", "line"]
    names: tuple[str, ...] = ()
    units: tuple[str, ...] = ()
    without: tuple[str, ...] = ()


PLAIN: dict[str, Plain] = {
    "composition": Plain(
        "Composition in milliequivalents per litre",
        ("concentrate.composition",),
        "column",
        units=("meq/L",),
    ),
    "lsi": Plain(
        "Langelier and Stiff-Davis index against recovery", (SWEEP,), "line", names=("lsi", "sdsi")
    ),
    "week": Plain(
        "Time out of service by day",
        ("programme.week", "programme.days"),
        "stacked",
        units=("min", "h"),
        without=("total_min",),
    ),
    "tanks": Plain(
        "Water in the tanks", ("tanks.levels", "storage.levels", "supply.levels"), "line"
    ),
    "cost": Plain(
        "Estimated cost by year", ("quote.years",), "stacked", names=("consumables", "media")
    ),
    "trend_membranes": Plain(
        "Normalised flow and salt passage, percent of the baseline",
        ("record.trend_membranes",),
        "line",
    ),
    "trend_drops": Plain("Normalised pressure drops", ("record.trend_drops",), "line"),
    "trend_pretreatment": Plain(
        "Hardness and iron behind the pretreatment", ("record.trend_pretreatment",), "line"
    ),
    "sensitivity": Plain(
        "Interval when the water or the hours change", ("sensitivity.interval",), "line"
    ),
}


_AXES = {"-": "", "d": "days", "min": "minutes", "h": "hours"}


def axis_name(unit: str) -> str:
    """Return the name of an axis that shows quantities of a unit.

    Parameters
    ----------
    unit : str
        Unit of the series. [-]

    Returns
    -------
    str
        The name. [-]
    """
    return _AXES.get(unit, unit)


def recovery_key(study: Study) -> str | None:
    """Return the key of the figure that holds the recovery set, if there is one.

    Parameters
    ----------
    study : Study
        The study. [-]

    Returns
    -------
    str or None
        Key of the figure. [-]
    """
    return next((k for k in RECOVERY_KEYS if study.number(k) is not None), None)


def design_row(study: Study, sweep: str) -> int | None:
    """Return the row of a recovery table that stands at the recovery set, if one does.

    Parameters
    ----------
    study : Study
        The study. [-]
    sweep : str
        Key of the recovery table. [-]

    Returns
    -------
    int or None
        Row of the table from zero. [-]
    """
    key, series = recovery_key(study), study.series.get(sweep)
    if key is None or series is None or RECOVERY_COLUMN not in series.columns:
        return None
    points = series.column(RECOVERY_COLUMN)
    value = study.number(key)
    return points.index(value) if value in points else None


def saturation_columns(study: Study, sweep: str) -> tuple[str, ...]:
    """Return the columns of a recovery table that hold percent saturations.

    Parameters
    ----------
    study : Study
        The study. [-]
    sweep : str
        Key of the recovery table. [-]

    Returns
    -------
    tuple of str
        Names of the columns. [-]
    """
    series = study.series.get(sweep)
    if series is None or RECOVERY_COLUMN not in series.columns:
        return ()
    return tuple(
        name
        for name in series.columns
        if name.startswith(_SATURATION) and len(_numbers(series, name)) > 1
    )


def limit_cells(study: Study, limits: str) -> tuple[tuple[float, int, str], ...]:
    """Return each different limit in percent of saturation, from low to high.

    Parameters
    ----------
    study : Study
        The study. [-]
    limits : str
        Key of the table of limits. [-]

    Returns
    -------
    tuple
        Limit [%], its row in the table, and the scales it holds for. [-]
    """
    series = study.series.get(limits)
    if series is None or not {LIMIT_COLUMN, _MEASURE} <= set(series.columns):
        return ()
    found: dict[str, tuple[float, int, list[str]]] = {}
    pairs = zip(series.column(_MEASURE), series.column(LIMIT_COLUMN), strict=True)
    for row, (measure, value) in enumerate(pairs):
        if isinstance(value, float) and value > 0 and str(measure).startswith(_PERCENT):
            entry = found.setdefault(f"{value:.6g}", (value, row, []))
            entry[2].append(str(series.rows[row][0]))
    return tuple(
        (v, row, ", ".join(n.replace("_", " ") for n in names))
        for v, row, names in sorted(found.values())
    )


def limit_name(value: float, scales: str) -> str:
    """Return the name of a limit line; many scales are left to the table under the chart.

    Parameters
    ----------
    value : float
        The limit. [%]
    scales : str
        Names of the scales it holds for. [-]

    Returns
    -------
    str
        Name for the legend. [-]
    """
    few = scales.count(",") < _FEW_SCALES
    return f"limit {value:,.4g} %" + (f": {scales}" if few else "")


def plain_columns(name: str, study: Study) -> tuple[Series, tuple[str, ...]] | None:
    """Return the series of a plain chart and the columns it draws, None if there are none.

    Parameters
    ----------
    name : str
        Name of the chart. [-]
    study : Study
        The study. [-]

    Returns
    -------
    tuple or None
        Series and names of its columns. [-]
    """
    plan = PLAIN[name]
    series = next((study.series[k] for k in plan.series if k in study.series), None)
    if series is None or len(series.rows) < 2:
        return None
    columns = tuple(
        column
        for column, unit in zip(series.columns[1:], series.units[1:], strict=True)
        if (not plan.units or unit in plan.units)
        and (not plan.names or column in plan.names)
        and column not in plan.without
        and _numbers(series, column)
    )
    return (series, columns) if columns else None


def _numbers(series: Series, name: str) -> list[float]:
    return [v for v in series.column(name) if isinstance(v, float)]


def chart_rows(name: str, study: Study) -> int:
    """Return the rows a chart takes on its sheet, 0 if the study has nothing for it.

    Parameters
    ----------
    name : str
        Name of the chart, or an empty text. [-]
    study : Study
        The study. [-]

    Returns
    -------
    int
        Rows. [-]
    """
    if name in SATURATION_CHARTS:
        prefix = SATURATION_CHARTS[name]
        lines = len(limit_cells(study, prefix + LIMITS))
        lines += 2 * (design_row(study, prefix + SWEEP) is not None)
        return PICTURE_ROWS + 1 + lines if saturation_columns(study, prefix + SWEEP) else 0
    if name in PLAIN and plain_columns(name, study):
        return PICTURE_ROWS
    return 0
