"""Jobs of the page itself: a study beside its texts, the site form, the record at the machine."""

import datetime
import json
from collections.abc import Callable, Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any

from msgspec.structs import replace

from pretreat.core.results import Study, to_json
from pretreat.page import fields
from pretreat.page.fields import FieldError
from pretreat.page.folder import site_file
from pretreat.page.jobs import JSON, STUDIES, Job, study_sent
from pretreat.page.seen import seen
from pretreat.page.slide import kept_at, slid
from pretreat.page.task import Task

_RECORD = "record.csv"


def _object(value: Any) -> tuple[bytes, str]:
    return json.dumps(value, ensure_ascii=False, allow_nan=False).encode(), JSON


def _with_texts(study: Study, task: Task, **more: Any) -> tuple[bytes, str]:
    """Return a study as --json has it, beside the same as texts."""
    rest = json.dumps({"seen": seen(study, fields.units(task)), **more}, ensure_ascii=False)
    return f'{{"study":{to_json(study)},{rest[1:]}'.encode(), JSON


def _study_job(run: Callable[[Task], Study]) -> Job:
    return lambda task: _with_texts(run(_changed(task)), task)


def _run_job(run: Callable[[Task], Study]) -> Job:
    """Return a job that runs a site, and says what its draws keep at other recoveries."""

    def made(task: Task) -> tuple[bytes, str]:
        study = run(_changed(task))
        return _with_texts(study, task, kept=kept_at(study, fields.units(task)))

    return made


def _changed(task: Task) -> Task:
    """Return the task with the changes of a slider made to its site file."""
    from pretreat.page.site_form import changed

    if task.one("changes") is None:
        return task
    changes = {key: str(value) for key, value in _json(task, "changes").items()}
    text = changed(_site_text(task), changes, fields.units(task))
    return replace(
        task,
        fields=MappingProxyType({**task.fields, "site": (text,)}),
        files=tuple(file for file in task.files if file.field != "site"),
    )


def _curve(task: Task) -> Study:
    mode = task.one("mode")
    stages = [key.strip() for key in (task.one("stages") or "").split("+") if key.strip()]
    return slid(site_file(Path(), task), "rate" if mode == "rate" else "size", stages)


def _check(task: Task) -> tuple[bytes, str]:
    """Return the judgement of a report, the lines it was read from, and what may be picked."""
    from pretreat.public import picks, read_lines

    study = STUDIES["check"](task)
    report, asked = Path(fields.one_file(task, "report").name), fields.reading(task)
    whole = {k: v for k, v in asked.items() if k in {"sheet", "encoding", "decimal"}}
    return _with_texts(study, task, lines=read_lines(report, **asked), picks=picks(report, **whole))


def _texts(task: Task) -> tuple[bytes, str]:
    return _object(seen(study_sent(task), fields.units(task)))


def _form(_task: Task) -> tuple[bytes, str]:
    from pretreat.page.site_form import keys_of_the_form

    return _object(keys_of_the_form())


def _site_text(task: Task) -> str:
    sent = task.of("site")
    if not sent:
        return task.one("site") or ""
    try:
        return sent[0].content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise FieldError("the site file is not text in UTF-8") from None


def _site(task: Task) -> tuple[bytes, str]:
    """Return a site file with changes made, its values as the form shows them, what is refused."""
    from pretreat.page.site_form import parsed, values_of, with_changes

    changes = _json(task, "changes")
    text = _naming(_site_text(task), name) if (name := task.one("name")) else _site_text(task)
    text = _over_prices(text, task) if task.of("prices") else text
    text, refused = with_changes(text, {k: str(v) for k, v in changes.items()}, fields.units(task))
    water = parsed(text).get("water", {})
    report = water.get("analysis", "") if isinstance(water, Mapping) else ""
    return _object(
        {
            "site": text,
            "values": values_of(text, fields.units(task)),
            "report": str(report),
            "refused": refused,
        }
    )


def _naming(text: str, report: str) -> str:
    """Return a site file that names the report which is open."""
    from pretreat.page.site_form import parsed, to_toml

    content = parsed(text)
    water = content.setdefault("water", {})
    water.pop("analysis", None)
    content["water"] = {"analysis": report, **water}
    return to_toml(content)


def _over_prices(text: str, task: Task) -> str:
    """Return a site file laid over a price list that was sent; its own prices win."""
    from pretreat.page.site_form import parsed, to_toml
    from pretreat.quote.price_list import laid_under, read_price_list

    sent = fields.one_file(task, "prices")
    Path(sent.name).write_bytes(sent.content)
    laid = laid_under(parsed(text), read_price_list(sent.name), Path("site.toml"))
    return to_toml(laid)


def _words(task: Task) -> tuple[bytes, str]:
    """Return faults in the words of the form, with the fields that they speak of."""
    from pretreat.page.words import in_page_words

    said = [in_page_words(line) for line in task.fields.get("line", ())]
    named = [name for _, names in said for name in names]
    return _object({"errors": [text for text, _ in said], "fields": list(dict.fromkeys(named))})


def _json(task: Task, name: str) -> dict[str, Any]:
    try:
        found = json.loads(task.one(name) or "{}")
    except ValueError:
        found = None
    if not isinstance(found, dict):
        raise FieldError(f"the field {name} is not an object in JSON")
    return found


def _correct(task: Task) -> tuple[bytes, str]:
    """Return the analysis as CSV with some readings corrected."""
    from pretreat.public import corrected_csv

    changes = {str(k): str(v) for k, v in _json(task, "changes").items()}
    report = fields.one_file(task, "report")
    Path(report.name).write_bytes(report.content)
    text = corrected_csv(Path(report.name), changes, **fields.reading(task))
    return _object({"name": f"{Path(report.name).stem}_corrected.csv", "csv": text})


def _log(task: Task) -> tuple[bytes, str]:
    """Add a reading to a record; say what looks odd and what must be done now."""
    from pretreat.record.alarms import alarms
    from pretreat.record.entry import doubts, joined, read_entries
    from pretreat.record.readings import baseline_of, reading
    from pretreat.record.store.book import add_readings, read_book

    design = _design(task)
    entries = joined(list(task.fields.get("entry", ())))
    moment = _moment(task)
    taken = reading(moment, read_entries(entries), task.one("note") or "")
    path = _book_path(task)
    earlier = read_book(path).readings if path.exists() else ()
    add_readings(path, taken)
    now = datetime.datetime.now().replace(microsecond=0)
    base = baseline_of(read_book(path).readings)
    return _object(
        {
            "record": path.read_text("utf-8"),
            "when": str(taken.when),
            "baseline": str(base.when) if base else "",
            "doubts": list(doubts(taken, design, earlier, now)) if design else [],
            "alarms": list(alarms(taken, [r for r in earlier if r.when < taken.when])),
            "complete": taken.complete,
        }
    )


def _strike(task: Task) -> tuple[bytes, str]:
    """Withdraw a reading of a record; it stays in the file, unused."""
    from pretreat.record.store.book import strike_readings

    path = _book_path(task)
    if not path.exists():
        raise FieldError("there is no reading yet: write the first one down")
    struck = strike_readings(path, _moment(task), task.one("note") or "")
    return _object({"record": path.read_text("utf-8"), "when": str(struck[0].when)})


def _design(task: Task) -> Any:
    from pretreat.stages.site import read_site

    return read_site(site_file(Path(), task), water_needed=False)


def _book_path(task: Task) -> Path:
    text = task.one("record")
    if text is not None:
        Path(_RECORD).write_text(text, "utf-8", newline="")
    return Path(_RECORD)


def _moment(task: Task) -> datetime.datetime:
    text = fields.needed(task, "when", "2031-05-14T09:30")
    try:
        return datetime.datetime.fromisoformat(text).replace(tzinfo=None)
    except ValueError:
        raise FieldError(f"'{text[:20]}' is not a date; write 2031-05-14 09:30") from None


def _record(task: Task) -> tuple[bytes, str]:
    """Return what the record says, the last values beside the baseline, and its readings."""
    from pretreat.public import record
    from pretreat.record.readings import baseline_of
    from pretreat.record.store.book import read_book
    from pretreat.report.text.record import against_baseline

    path = _book_path(task)
    if not path.exists():
        raise FieldError("there is no reading yet: write the first one down")
    site = site_file(Path(), task)
    readings = read_book(path).readings
    base = baseline_of(readings)
    study = record(site, path)
    return _with_texts(
        study,
        task,
        against=[list(row) for row in against_baseline(study, us=fields.units(task) == "us")],
        readings=[
            {"when": str(r.when), "note": r.note, "baseline": base is not None and r == base}
            for r in reversed(readings)
        ],
    )


VIEW_JOBS: Mapping[str, Job] = MappingProxyType(
    {
        **{f"view_{name}": _run_job(study) for name, study in STUDIES.items() if name != "check"},
        "view_check": _check,
        "view_curve": _study_job(_curve),
        "view_record": _record,
        "texts": _texts,
        "form": _form,
        "site": _site,
        "correct": _correct,
        "log": _log,
        "strike": _strike,
        "words": _words,
    }
)
