"""How `pretreat log` writes a reading: typed, asked for or from a sheet, and what it then says."""

import datetime
import shlex
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from pretreat.core.errors import PretreatError

if TYPE_CHECKING:
    from pretreat.record.keyed.values import Typing
    from pretreat.record.readings import Reading
    from pretreat.record.store.book import Book
    from pretreat.site.design import DesignBasis


@dataclass(frozen=True)
class Logging:
    """The site file, its record, the design and what the record holds so far."""

    site: Path
    path: Path
    design: "DesignBasis"
    book: "Book"

    @property
    def us(self) -> bool:
        """Whether the site keeps US units."""
        return self.design.site.units == "us"

    def typing(self, *, bare: bool = False) -> "Typing":
        """Return how values are read; ``bare`` numbers have the unit of the record sheet."""
        from pretreat.record.keyed.values import Typing
        from pretreat.record.readings import gauges

        units = {
            g.key: g.sheet_unit_us if self.us else g.sheet_unit
            for g in gauges().values()
            if bare and g.unit != "-"
        }
        return Typing(self.design.record, units)


def moment_of(text: str, design: "DesignBasis") -> datetime.datetime:
    """Read a date; a person at a terminal is asked which day is meant where two are possible."""
    from pretreat.cli.ask import Terminal, answers
    from pretreat.record.keyed.dates import moment, moments

    found = moments(text)
    if len(found) < 2 or design.record.dates is not None:
        return moment(text, design.record.dates)
    source = answers()
    if isinstance(source, Terminal):
        days = " or ".join(f"{n}: {m.day} {m:%B %Y}" for n, m in enumerate(found, start=1))
        number = (source.next(f"'{text}': {days}? ") or "").strip()
        if number in {"1", "2"}:
            return found[int(number) - 1]
    return moment(text)


def log_entries(
    job: Logging,
    words: Sequence[str],
    moment: datetime.datetime,
    note: str,
    *,
    bare: bool = False,
) -> None:
    """Write what was typed as one reading, and say what to do now."""
    from pretreat.record.entry import entered, joined, us_units
    from pretreat.record.readings import reading

    entries = joined(words)
    found = entered(entries, job.typing(bare=bare))
    taken = reading(moment, found.values, note, 0, found.below)
    for text in found.said:
        typer.echo(text)
    _written(job, [taken], entries)
    _said(job, taken, job.us or us_units(entries))


def log_asked(job: Logging, when: str | None, now: datetime.datetime) -> bool:
    """Ask gauge by gauge and write the answers; return False where nobody answers."""
    from pretreat.cli.ask import Questions, answers, ask
    from pretreat.record.readings import RecordError

    moment = moment_of(when, job.design) if when else now
    source = answers()
    if source is None:
        return False
    asked = ask(
        Questions(job.design, job.book.readings, job.typing(bare=True), job.us, moment), source
    )
    if asked.faults:
        raise RecordError(*asked.faults)
    if not asked.entries and not asked.note:
        typer.echo("nothing was read, and nothing written")
        return True
    if asked.when and not when:
        moment = moment_of(asked.when, job.design)
    words = [f"{key}={text}" for key, text in asked.entries.items()]
    log_entries(job, words, moment, asked.note, bare=True)
    return True


def log_sheet(job: Logging, source: Path) -> None:
    """Take in a filled record sheet: all of it, or where a cell cannot be used nothing."""
    from pretreat.record.keyed.sheet import new_ones, read_record_sheet
    from pretreat.record.readings import RecordError

    found = read_record_sheet(source, job.typing(), job.design.record.dates)
    fresh, known, faults = new_ones(found, job.book)
    if faults:
        raise RecordError(*(f"{source.name}: {fault}" for fault in faults))
    for text in known:
        typer.echo(text)
    if not fresh:
        typer.echo(f"{source}: nothing in it that is not in the record already")
        return
    _written(job, [one.taken for one in fresh], ())
    earlier = list(job.book.readings)
    for one in sorted(fresh, key=lambda one: one.taken.when):
        for text in one.said:
            typer.echo(text)
        _said(job, one.taken, job.us, earlier)
        earlier = sorted([*earlier, one.taken], key=lambda r: r.when)


def _written(job: Logging, taken: "Sequence[Reading]", entries: Sequence[str]) -> None:
    """Write readings; where that fails, say how to write them again."""
    from pretreat.record.store.book import add_readings

    try:
        add_readings(job.path, *taken)
    except PretreatError:
        if entries:
            again = shlex.join([*entries, "--when", str(taken[0].when)])
            typer.echo(
                f"pretreat: not written; once the file can be written: pretreat log "
                f"{shlex.quote(str(job.site))} {again}",
                err=True,
            )
        raise


def _said(
    job: Logging, taken: "Reading", us: bool, earlier: "Sequence[Reading] | None" = None
) -> None:
    """Say what was written, what is odd about it, and in one line what to do now."""
    from pretreat.record.alarms import alarms
    from pretreat.record.entry import doubts, verdict
    from pretreat.report.text.us_words import in_us_words

    before = job.book.readings if earlier is None else earlier
    spoken = in_us_words if us else str
    odd = doubts(taken, job.design, before, datetime.datetime.now())
    for text in odd:
        typer.echo(f"pretreat: written, but look again: {spoken(text)}", err=True)
    if odd:
        moment = str(taken.when).removesuffix(":00")
        typer.echo(
            f"pretreat: if it is wrong: pretreat log {job.site} --strike '{moment}', and write it "
            "anew",
            err=True,
        )
    kind = "complete" if taken.complete else "not complete; a baseline needs all gauges marked *"
    many = len(taken.values)
    what = f"{many} gauge{'' if many == 1 else 's'}" if many else "a note"
    typer.echo(f"{job.path}: {what} written for {taken.when}" + (f" ({kind})" if many else ""))
    told = alarms(taken, [r for r in before if r.when < taken.when])
    for text in told:
        typer.echo(f"pretreat: {spoken(text)}", err=True)
    typer.echo(spoken(verdict(taken, odd, told)))
