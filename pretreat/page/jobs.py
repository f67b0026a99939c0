"""What a worker can be asked: each job takes a task and gives content and its kind."""

import datetime
import json
from collections.abc import Callable, Mapping
from pathlib import Path
from types import MappingProxyType

from pretreat.core.errors import DesignError
from pretreat.core.results import Study, from_json, to_json
from pretreat.page import fields
from pretreat.page.documents import pdf_of
from pretreat.page.folder import site_file, write_files
from pretreat.page.task import Task
from pretreat.page.workers.kept import Kept, mark

JSON = "application/json"
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
PDF = "application/pdf"

Job = Callable[[Task], tuple[bytes, str]]
MOST_KEPT = 6  # studies; one takes some two megabytes
_studies: Kept[Study] = Kept(MOST_KEPT)


def _report(task: Task) -> Path:
    """Write the report of a task into the current folder; return its name."""
    write_files(Path(), task.files)
    return Path(fields.one_file(task, "report").name)


def check_study(task: Task) -> Study:
    """Return the judgement of a report."""
    from pretreat.public import check

    return check(_report(task), **fields.reading(task))


def scaling_study(task: Task) -> Study:
    """Return concentrate, indexes and limits of a water."""
    from pretreat.public import scaling

    report, wanted = _report(task), fields.recovery(task)
    return scaling(
        report,
        wanted,
        temperature_c=fields.temperature_c(task),
        salt_passage=fields.salt_passage(task),
        limits=fields.limits(task, Path()),
        draws=fields.draws(task),
        **fields.reading(task),
    )


def _once(task: Task, mode: str, run: Callable[[], Study]) -> Study:
    """Return a study; one asked for a moment ago, in other units say, is not run again."""
    said = [part for name in ("site", "draws") for part in (name, *(task.fields.get(name, ())))]
    sent = [part for file in task.files for part in (file.field, file.name, file.content)]
    today = datetime.date.today().isoformat()
    return _studies.get(mark(mode, today, *said, "files", *sent), run)


def size_study(task: Task) -> Study:
    """Return the whole job of a site."""
    from pretreat.public import size

    return _once(task, "size", lambda: size(site_file(Path(), task), draws=fields.draws(task)))


def rate_study(task: Task) -> Study:
    """Return the rating of the vessels of a site."""
    from pretreat.public import rate

    return _once(task, "rate", lambda: rate(site_file(Path(), task), draws=fields.draws(task)))


STUDIES: Mapping[str, Callable[[Task], Study]] = MappingProxyType(
    {"check": check_study, "scaling": scaling_study, "size": size_study, "rate": rate_study}
)


def _study_job(study: Callable[[Task], Study]) -> Job:
    return lambda task: (to_json(study(task)).encode(), JSON)


def study_sent(task: Task) -> Study:
    """Return the study whose JSON was sent."""
    raw = fields.one_file(task, "study").content
    try:
        text = raw.decode(json.detect_encoding(raw))
    except UnicodeDecodeError:
        raise DesignError("the document is not text in UTF-8; send what --json prints") from None
    return from_json(text)


def _of_a_document(job: Job) -> Job:
    """Blame the document sent where a page cannot be made of it: it is nobody's run."""

    def made(task: Task) -> tuple[bytes, str]:
        try:
            return job(task)
        except (ArithmeticError, AttributeError, LookupError, TypeError, ValueError) as problem:
            raise DesignError(
                f"the document is no study of this program ({type(problem).__name__}); send what "
                "--json prints, unchanged"
            ) from None

    return made


def workbook(task: Task) -> tuple[bytes, str]:
    """Return the workbook of a study sent as JSON."""
    from pretreat.report import workbook_bytes

    study, units, date = study_sent(task), fields.units(task), fields.date(task)
    content: bytes = workbook_bytes(study, units=units, date=date or datetime.date.today())
    return content, XLSX


def _document(what: str) -> Job:
    def made(task: Task) -> tuple[bytes, str]:
        study, units, date = study_sent(task), fields.units(task), fields.date(task)
        return pdf_of(what, study, units, date), PDF

    return _of_a_document(made)


def unknown(task: Task) -> tuple[bytes, str]:
    """Refuse a job that there is none of."""
    raise DesignError(f"there is no job {task.job}")


JOBS: Mapping[str, Job] = MappingProxyType(
    {
        **{name: _study_job(study) for name, study in STUDIES.items()},
        "workbook": _of_a_document(workbook),
        "quote": _document("quote"),
        "card": _document("card"),
    }
)
