"""Questions of `pretreat log`, gauge by gauge, at a terminal or from a pipe; never a wait."""

import os
import re
import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Protocol

import typer

if TYPE_CHECKING:
    import datetime

    from pretreat.record.keyed.values import Typing
    from pretreat.record.readings import Gauge, Reading
    from pretreat.site.design import DesignBasis

PIPE_WAIT_S = 3.0  # a pipe that says nothing for so long has nothing to say
ENDS = (".", "end", "done", "q", "quit")


class Answers(Protocol):
    """Where answers come from; ``person`` where one can be asked again."""

    person: bool

    def next(self, prompt: str) -> str | None:
        """Return the next answer, None where there are no more."""


@dataclass
class Terminal:
    """A person at a terminal."""

    person: bool = True

    def next(self, prompt: str) -> str | None:
        """Ask; an end of input or Ctrl-C ends the questions, and loses nothing typed."""
        typer.echo(prompt, nl=False)
        try:
            line = sys.stdin.readline()
        except KeyboardInterrupt:
            line = ""
        if not line:
            typer.echo()
            return None
        return line.rstrip("\r\n")


@dataclass
class Pipe:
    """Lines that came through a pipe."""

    lines: Iterator[str]
    person: bool = False

    def next(self, prompt: str) -> str | None:  # nobody reads it
        """Return the next line."""
        return next(self.lines, None)


def answers() -> Answers | None:
    """Return where answers come from, None where nobody is there and nothing was piped in."""
    if sys.stdin is None:
        return None
    if sys.stdin.isatty():
        return Terminal()
    text = _piped()
    return Pipe(iter(text.splitlines())) if text.strip() else None


def _piped() -> str:
    """Return all that comes through the pipe; a pipe that stays open and silent is not waited for.

    Systems that cannot tell whether a pipe has something read it to its end.
    """
    try:
        import select

        handle = sys.stdin.fileno()
        if sys.platform == "win32":
            return sys.stdin.read()
        found = b""
        while select.select([handle], [], [], PIPE_WAIT_S)[0]:
            data = os.read(handle, 65536)
            if not data:
                break
            found += data
        return found.decode("utf-8", "replace")
    except (OSError, ValueError):  # no file behind it
        try:
            return sys.stdin.read()
        except (OSError, ValueError):
            return ""


@dataclass
class Asked:
    """What was answered: entries as on the command line, note, date, faults of a pipe."""

    entries: dict[str, str] = field(default_factory=dict)
    note: str = ""
    when: str = ""
    faults: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Questions:
    """The site and its record, units shown, and how values are read."""

    design: "DesignBasis"
    earlier: "Sequence[Reading]"
    typing: "Typing"
    us: bool
    now: "datetime.datetime"

    def gauges(self) -> "list[Gauge]":
        """Return the gauges of this site: not those of a stage that it does without."""
        from pretreat.record.readings import gauges

        stages: Mapping[str, object] = self.design.stages
        return [
            gauge
            for gauge in gauges().values()
            if getattr(stages.get(gauge.stage), "include", None) is not False
        ]

    def prompt(self, gauge: "Gauge") -> str:
        """Return the question of a gauge, with the last value shown."""
        from pretreat.record.keyed.shown import shown_value

        unit = gauge.sheet_unit_us if self.us else gauge.sheet_unit
        star = "*" if gauge.baseline else " "
        named = f"{star} {gauge.code:3s}{gauge.label}" + ("" if unit == "-" else f" [{unit}]")
        last = next((r for r in reversed(self.earlier) if gauge.key in r.values), None)
        if last is None:
            return f"{named}: "
        return f"{named}, last {shown_value(gauge, last, self.us)} on {last.when:%F}: "


def ask(questions: Questions, source: Answers) -> Asked:
    """Ask gauge by gauge; Enter skips, a full stop ends, and what was typed is kept."""
    asked = Asked()
    if source.person:
        typer.echo(
            "Enter skips a gauge, a full stop ends. * is needed for a baseline. A bare number has "
            "the unit shown; another unit may be typed behind it: 28 psi."
        )
    for gauge in questions.gauges():
        if gauge.key in asked.entries:
            continue
        if not _ask_one(questions, gauge, source, asked):
            return asked
    asked.note = asked.note or (source.next("Note, or Enter: ") or "").strip()
    return asked


def _ask_one(questions: Questions, gauge: "Gauge", source: Answers, asked: Asked) -> bool:
    """Ask for one gauge until the answer can be used; return False where the questions end."""
    text = source.next(questions.prompt(gauge))
    while text is not None and text.strip().casefold() not in ENDS:
        text = text.strip()
        if not text:
            return True
        if _named(questions, text, source, asked):
            if gauge.key in asked.entries:
                return True
            text = source.next(questions.prompt(gauge))
            continue
        text, again = _tried(questions, gauge, text, source)
        if again and source.person:
            typer.echo("\n".join(f"    {line}" for line in again))
            answer = source.next(
                "    type it again, or Enter to keep it: " if text else "  again: "
            )
            if answer is None or (text and not answer.strip()):
                _keep(asked, gauge, text)
                return answer is not None
            text = answer
            continue
        if text:
            _keep(asked, gauge, text)
        else:
            asked.faults += again
        return True
    return False


def _keep(asked: Asked, gauge: "Gauge", text: str) -> None:
    if text:
        asked.entries[gauge.key] = text


def _named(questions: Questions, text: str, source: Answers, asked: Asked) -> bool:
    """Take an answer that names what it is: "pf = 26 L/min", "pf 26 L/min", "note = ..."."""
    from pretreat.record.entry import gauge_of

    found = re.match(r"^([A-Za-z_]+)\s*(?:=\s*(.*)|\s([<\d].*))$", text)
    if found is None:
        return False
    name, value = found[1], (found[2] or found[3] or "").strip()
    if name.casefold() in {"note", "when"} and found[2]:
        setattr(asked, name.casefold(), value)
        return True
    gauge = gauge_of(name)
    if gauge is None:
        return False
    value, odd = _tried(questions, gauge, value, source)
    _keep(asked, gauge, value)
    if source.person:
        typer.echo("".join(f"    {line}\n" for line in odd), nl=False)
    elif not value:
        asked.faults += odd
    return True


def _tried(
    questions: Questions, gauge: "Gauge", text: str, source: Answers
) -> tuple[str, tuple[str, ...]]:
    """Return a value as it can be used, and what is odd about it; empty where it cannot."""
    from pretreat.core.errors import PretreatError
    from pretreat.record.entry import doubts, short_name
    from pretreat.record.keyed.values import BagError, faults_of, typed
    from pretreat.record.readings import reading

    try:
        found = typed(gauge, text, questions.typing)
        taken = reading(questions.now, {gauge.key: found.value})
    except BagError as problem:
        each = (
            source.next("    what does one hold, as in 25 kg or 40 lb? ") if source.person else ""
        )
        if not (each or "").strip():
            return "", faults_of(short_name(gauge), problem)
        many = re.match(r"^\s*[\d.,]+|^\s*\w+", text)
        return _tried(questions, gauge, f"{many[0] if many else ''} x {each}", source)
    except PretreatError as problem:
        return "", faults_of(short_name(gauge), problem)
    if found.said and source.person:
        typer.echo(f"    {found.said}")
    odd = doubts(taken, questions.design, questions.earlier) if found.below is None else ()
    return text, odd
