"""What the commands do, from paths or from objects: the calls of a script or a notebook."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from pretreat import asked
from pretreat.core.errors import PretreatError
from pretreat.core.results import Study
from pretreat.core.water import WaterAnalysis
from pretreat.site.design import DesignBasis, LimitChoices, WaterBasis

if TYPE_CHECKING:
    import pandas as pd

Report = str | Path | WaterAnalysis
Site = str | Path | DesignBasis


def check(report: Report, *, sample: str | None = None, **reading: Any) -> Study:
    """Read and judge a lab report.

    Parameters
    ----------
    report : str, Path or WaterAnalysis
        File of the report, or an analysis already read. [-]
    sample : str, optional
        Which sample of a report that holds several. [-]
    **reading
        ``sheet``, ``encoding``, ``decimal`` and ``asked``, as for `pretreat.lab.read_analysis`. [-]

    Returns
    -------
    Study
        The analysis as read, its sums and its flags. [-]

    Raises
    ------
    PretreatError
        If the report cannot be read.
    """
    from pretreat.study import run_check

    asked.reading(reading, of_file=not isinstance(report, WaterAnalysis))
    if isinstance(report, WaterAnalysis):
        asked.water(report)
        return run_check(report)
    from pretreat.lab import read_site_samples

    found = read_site_samples(report, sample=sample, **reading)
    return run_check(found.chosen, samples=found.repeated)


def scaling(
    report: Report,
    recovery: float | tuple[float, float],
    *,
    temperature_c: float | None = None,
    salt_passage: float | Mapping[str, float] = 0.0,
    limits: LimitChoices | None = None,
    draws: int = 1024,
    **reading: Any,
) -> Study:
    """Return the concentrate of a water, its scaling indexes and how far recovery may go.

    Parameters
    ----------
    report : str, Path or WaterAnalysis
        File of the report, or an analysis already read. [-]
    recovery : float or tuple of float
        Product / feed [-], or the measured flows of product and drain [m3/h].
    temperature_c : float, optional
        Operating temperature; that of the report if omitted. [°C]
    salt_passage : float or mapping of str to float
        Permeate / feed of the array, for all ions or by ion. [-]
    limits : LimitChoices, optional
        Limits of scaling; without an inhibitor if omitted. [-]
    draws : int
        Draws of what is uncertain, a power of two; 0 for none. [-]
    **reading
        ``sample`` and the others, as for `check`. [-]

    Returns
    -------
    Study
        Concentrate, indexes and limits. [-]

    Raises
    ------
    PretreatError
        If the report cannot be read or a choice is out of range.
    """
    from pretreat.study import run_scaling

    asked.recovery("recovery", recovery)
    if temperature_c is not None:
        asked.number("temperature_c", temperature_c, *asked.TEMPERATURE_C)
    asked.passage(salt_passage)
    asked.limits(limits)
    asked.draws(draws)
    asked.reading(reading, of_file=not isinstance(report, WaterAnalysis))
    water = report
    if not isinstance(water, WaterAnalysis):
        from pretreat.lab import read_analysis

        water = read_analysis(water, **reading)
    asked.water(water)
    from pretreat.membrane.balance import NamedPassage

    passage = (
        NamedPassage(salt_passage)
        if isinstance(salt_passage, Mapping)
        else {"default": salt_passage}
    )
    return run_scaling(
        water, recovery, WaterBasis(operating_temperature_c=temperature_c), passage, limits, draws
    )


def size(site: Site, water: WaterAnalysis | None = None, *, draws: int = 1024) -> Study:
    """Size the whole train of a site.

    Parameters
    ----------
    site : str, Path or DesignBasis
        Site file, or the engineer's choices. [-]
    water : WaterAnalysis, optional
        The analysis; the one that the site names if omitted. [-]
    draws : int
        Draws of what is uncertain, a power of two; 0 for none. [-]

    Returns
    -------
    Study
        Everything that is reported. [-]

    Raises
    ------
    PretreatError
        If the site or its report cannot be used.
    """
    from pretreat.study import run_size

    asked.draws(draws)
    return run_size(*_waters(site, water, needed=True), draws)


def rate(site: Site, water: WaterAnalysis | None = None, *, draws: int = 1024) -> Study:
    """Rate the vessels that a site has.

    Parameters
    ----------
    site : str, Path or DesignBasis
        Site file, or the engineer's choices. [-]
    water : WaterAnalysis, optional
        The analysis; the one that the site names if omitted. [-]
    draws : int
        Draws of what is uncertain, a power of two; 0 for none. [-]

    Returns
    -------
    Study
        Everything that is reported. [-]

    Raises
    ------
    PretreatError
        If the site or its report cannot be used.
    """
    from pretreat.study import run_rate

    asked.draws(draws)
    return run_rate(*_waters(site, water, needed=False), draws)


def read_lines(report: str | Path, **reading: Any) -> list[dict[str, Any]]:
    """Return the lines of a report beside what was made of each.

    Parameters
    ----------
    report : str or Path
        File of the report. [-]
    **reading
        ``sample`` and the others, as for `check`. [-]

    Returns
    -------
    list of dict
        Place, line as printed, what was understood, how surely, other numbers of the line. [-]
    """
    from pretreat.lab import read_report, read_site_samples
    from pretreat.lab.trail import trail

    found = read_site_samples(report, **reading)
    as_printed = read_report(report, **{k: v for k, v in reading.items() if k != "sample"})
    return [
        {
            "place": line.place,
            "printed": line.printed,
            "understood": line.understood,
            "confidence": line.confidence,
            "rivals": list(line.rivals),
        }
        for line in trail(found.chosen, as_printed)
    ]


def picks(report: str | Path, **reading: Any) -> dict[str, list[str]]:
    """Return what may be picked of a report: its samples and its columns of results.

    Parameters
    ----------
    report : str or Path
        File of the report. [-]
    **reading
        ``sheet``, ``encoding`` and ``decimal``, as for `check`. [-]

    Returns
    -------
    dict of str to list of str
        ``samples`` and ``columns``. [-]
    """
    from pretreat.lab import read_report
    from pretreat.lab.interpret.sampling import samples_of

    found = read_report(report, **reading)
    columns = dict.fromkeys(r.column for r in found.results if r.column and not r.header)
    return {"samples": [s.name for s in samples_of(found)], "columns": list(columns)}


def corrected_csv(report: str | Path, changes: Mapping[str, str], **reading: Any) -> str:
    """Return an analysis with some readings corrected, as a CSV that is read back the same.

    Parameters
    ----------
    report : str or Path
        File of the report. [-]
    changes : mapping of str to str
        Number by analyte, in the unit of the program; empty takes the result out. [-]
    **reading
        ``sample`` and the others, as for `check`. [-]

    Returns
    -------
    str
        CSV. [-]
    """
    from pretreat.lab import read_analysis, write_analysis_csv
    from pretreat.lab.corrected import corrected

    water = corrected(read_analysis(report, **reading), changes)
    path = Path(report).with_name("corrected.csv")
    write_analysis_csv(water, path)
    try:
        return path.read_text("utf-8")
    finally:
        path.unlink()


def record(site: str | Path, readings: str | Path) -> Study:
    """Return what the record of a site says: trends and findings.

    Parameters
    ----------
    site : str or Path
        Site file. [-]
    readings : str or Path
        The record, as the command ``log`` writes it. [-]

    Returns
    -------
    Study
        Of kind "record". [-]

    Raises
    ------
    PretreatError
        If the site or the record cannot be used.
    """
    from pretreat.lab import read_design_water
    from pretreat.record.figures import run_record
    from pretreat.record.running import mode_of, run_running
    from pretreat.record.store.book import read_book
    from pretreat.stages.site import read_site
    from pretreat.study import run_study

    design = read_site(site, water_needed=False)
    if mode_of(design) == "size":
        design = read_site(site)
    water, _ = read_design_water(design.water)
    job = run_running(water, design, run_study)
    return run_record(read_book(readings), job, design=design)


def _waters(
    site: Site, water: WaterAnalysis | None, *, needed: bool
) -> tuple[WaterAnalysis | None, DesignBasis, Sequence[WaterAnalysis]]:
    if isinstance(site, DesignBasis):
        design = site
    else:
        from pretreat.stages.site import read_site

        design = read_site(site, water_needed=needed)
    if water is not None:
        asked.water(water)
        return water, design, ()
    from pretreat.lab import read_design_water

    found, samples = read_design_water(design.water)
    return found, design, samples


def screen(
    frame: "pd.DataFrame",
    recoveries: Sequence[float] = (0.5, 0.75),
    *,
    salt_passage: float | Mapping[str, float] = 0.0,
    limits: LimitChoices | None = None,
) -> "pd.DataFrame":
    """Screen many waters: a frame in, a frame out, and nothing else changes.

    The columns are those of the table that the command ``screen`` reads (``id``, ``pH``,
    ``temperature_c``, ``Ca``, ``Alkalinity [mg/L as CaCO3]`` ...), its result has the columns of
    the table that it writes. Each row stands alone, so that an engine that maps a function over
    the partitions of a large frame gives the same rows.

    Parameters
    ----------
    frame : pandas.DataFrame
        One water per row; numbers, or texts such as "<0.02". [as the headings]
    recoveries : sequence of float
        Recoveries; 0 is the feed itself. [-]
    salt_passage : float or mapping of str to float
        Permeate / feed of the array, for all ions or by ion. [-]
    limits : LimitChoices, optional
        Limits of scaling; without an inhibitor if omitted. [-]

    Returns
    -------
    pandas.DataFrame
        One row per water and recovery, in order. [-]

    Raises
    ------
    PretreatError
        If no column is an ion, a unit is not known or a recovery is out of range.
    """
    from pretreat.lab.screen import screen_frame
    from pretreat.membrane.balance import NamedPassage
    from pretreat.membrane.limits import limits_from

    if not hasattr(frame, "columns"):
        raise PretreatError(f"{frame!r} is no frame: give a pandas.DataFrame, one water a row")
    asked.recoveries(recoveries)
    asked.passage(salt_passage)
    asked.limits(limits)
    choices = limits or LimitChoices()
    passage = (
        NamedPassage(salt_passage)
        if isinstance(salt_passage, Mapping)
        else {"default": salt_passage}
    )
    return screen_frame(frame, recoveries, passage, limits_from(choices, choices.inhibitor))


def quote(site: Site, path: str | Path, *, draws: int = 256, **more: Any) -> Study:
    """Write the quote of a site as a PDF: rated where vessels are given, else sized.

    Parameters
    ----------
    site : str, Path or DesignBasis
        Site file, or the engineer's choices; the terms stand in its [quote]. [-]
    path : str or Path
        The PDF to write. [-]
    draws : int
        Draws of what is uncertain behind the sentence on the water; 0 for none. [-]
    **more
        As for `pretreat.report.write_quote`: ``look``, ``date``, ``number``. [-]

    Returns
    -------
    Study
        What the quote rests on; its money stands in ``quote.net`` and the like. [-]

    Raises
    ------
    PretreatError
        If the site cannot be used, or nothing that is offered has a price.
    """
    from pretreat.quote.offer import as_quoted, mode_of
    from pretreat.report import write_quote
    from pretreat.report.hand.quote_pdf import Look
    from pretreat.study import run_study

    water, design, samples = _waters(site, None, needed=False)
    design = as_quoted(design)
    study = run_study(water, design, mode_of(design), samples, draws)
    more.setdefault("look", Look(logo=design.quote.logo, font=design.quote.font))
    write_quote(study, path, **more)
    return study


def write_workbook(
    study: Study, path: str | Path, *, units: Literal["si", "us"] = "si", **more: Any
) -> Path:
    """Write the workbook of a study.

    Parameters
    ----------
    study : Study
        The study. [-]
    path : str or Path
        File to write. [-]
    units : {"si", "us"}
        Units of the reader. [-]
    **more
        As for `pretreat.report.write_workbook`. [-]

    Returns
    -------
    Path
        The file written. [-]
    """
    from pretreat.report import write_workbook as write

    written: Path = write(study, path, units=units, **more)
    return written
