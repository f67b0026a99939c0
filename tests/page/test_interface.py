"""The HTTP interface answers what the commands answer, and says faults in their words."""

import io
import json

import openpyxl
import pytest
from pdfminer.high_level import extract_text

from tests.page.conftest import ANALYSES, SITES, alike, command, form_of

WELL = "quarrow_vale_well_2.csv"


@pytest.mark.parametrize("site", SITES)
def test_a_site_is_answered_as_by_the_command(client, site):
    job = "rate" if site.endswith("installed") else "size"
    answer = client.post(f"/api/{job}", **form_of(site))
    assert answer.status_code == 200, answer.text
    assert alike(answer.json(), command(job, f"{site}.toml"))


@pytest.mark.parametrize("report", [WELL, "drover_flat.csv", "ashfell_ridge.xlsx"])
def test_a_report_is_judged_as_by_the_command(client, report):
    files = {"report": (report, (ANALYSES / report).read_bytes())}
    assert client.post("/api/check", files=files).json() == command("check", report)
    asked = {"recovery": "0.7", "temperature": "18", "inhibitor": "true"}
    options = ("--recovery", "0.7", "--temperature", "18", "--inhibitor")
    answer = client.post("/api/scaling", files=files, data=asked)
    assert answer.json() == command("scaling", report, *options)


def test_scaling_by_measured_flows(client):
    files = {"report": (WELL, (ANALYSES / WELL).read_bytes())}
    asked = {"product": "6 gpm", "drain": "4 gpm", "draws": "64", "salt_passage": "0.02"}
    options = ("--product", "6 gpm", "--drain", "4 gpm", "--draws", "64", "--salt-passage", "0.02")
    answer = client.post("/api/scaling", files=files, data=asked)
    assert answer.json() == command("scaling", WELL, *options)


def test_a_test_kit_needs_no_report_and_no_multipart(client):
    site = (
        '[water]\nhardness = "21 gpg"\niron = "0.1 mg/L"\n[machine]\nproduct_flow = "6 gpm"\n'
        'recovery = 0.5\nhours_per_day = 12\n[softener]\nresin_volume = "2 ft3"\n'
        "salt_dose_g_l = 160\n"
    )
    answer = client.post("/api/rate", data={"site": site})
    assert answer.status_code == 200, answer.text
    assert answer.json()["figures"]["softener.interval_d"]["value"] > 0


@pytest.mark.parametrize("units", ["si", "us"])
def test_workbook_from_the_json(client, units):
    study = client.post("/api/rate", **form_of("quarrow_vale_installed")).content
    answer = client.post(f"/api/workbook?units={units}&date=2031-05-14", content=study)
    assert answer.status_code == 200, answer.text
    book = openpyxl.load_workbook(io.BytesIO(answer.content))
    assert "Settings card" in book.sheetnames


def _lines(answer, status=422):
    assert answer.status_code == status, answer.text
    lines = answer.json()["errors"]
    assert lines
    assert all(isinstance(line, str) and "\n" not in line for line in lines)
    assert not any("Traceback" in line or "/tmp" in line for line in lines)
    return lines


def test_a_report_that_is_named_but_not_sent(client):
    answer = client.post("/api/size", data=form_of("quarrow_vale")["data"])
    (line,) = _lines(answer)
    assert line.startswith(WELL)
    assert "does not exist; check the name of the lab report" in line


def test_faults_of_a_site_file_come_one_by_one(client):
    site = "[machine]\nproduct_flow = 2\nrecovry = 0.5\nhours_per_day = 30\n"
    lines = _lines(client.post("/api/size", data={"site": site}))
    assert len(lines) >= 4
    assert any("did you mean 'recovery'" in line for line in lines)


@pytest.mark.parametrize(
    ("job", "data", "said"),
    [
        ("check", {}, "report is missing"),
        ("size", {}, "site is missing"),
        ("size", {"site": "a = ["}, "line 1 cannot be read"),
        ("scaling", {"recovery": "1.2"}, "report is missing"),
    ],
)
def test_missing_fields(client, job, data, said):
    assert said in _lines(client.post(f"/api/{job}", data=data))[0]


@pytest.mark.parametrize(
    ("data", "said"),
    [
        ({}, "recovery"),
        ({"recovery": "65"}, "write 0.65 for 65 %"),
        ({"recovery": "nan"}, "not a recovery"),
        ({"recovery": "much"}, "is no number"),
        ({"recovery": "0.5", "draws": "1000"}, "power of two"),
        ({"recovery": "0.5", "draws": "9999999999"}, "power of two"),
        ({"recovery": "0.5", "temperature": "90"}, "from 0 to 60"),
        ({"recovery": "0.5", "inhibitor": "perhaps"}, "true or false"),
        ({"product": "6 gpm"}, "both product and drain"),
        ({"recovery": "0.5", "decimal": "x"}, "decimal"),
    ],
)
def test_fields_out_of_range(client, data, said):
    files = {"report": (WELL, (ANALYSES / WELL).read_bytes())}
    assert said in _lines(client.post("/api/scaling", files=files, data=data))[0]


@pytest.mark.parametrize(
    "body",
    [b"", b"{}", b"[]", b"null", b"\xff\xfe\x00", b'{"schema": "x"}', b"[" * 100_000],
    ids=["empty", "object", "list", "null", "no text", "schema", "deep"],
)
def test_documents_that_are_no_study(client, body):
    _lines(client.post("/api/workbook", content=body))


def test_a_study_with_its_parts_broken(client):
    study = command("check", WELL)
    study["figures"]["water.ph"]["value"] = [1]
    study["series"]["water.trail"]["rows"] = [[1]]
    _lines(client.post("/api/workbook", content=json.dumps(study)))


def test_description(client):
    found = client.get("/api/openapi.json").json()
    assert found["openapi"].startswith("3.1")
    jobs = ("check", "scaling", "size", "rate", "workbook", "quote", "card")
    assert set(found["paths"]) == {f"/api/{job}" for job in jobs}


@pytest.mark.parametrize("units", ["si", "us"])
def test_card_and_quote_as_pdf(client, units):
    study = client.post("/api/size", **form_of("quarrow_vale")).content
    for job in ("card", "quote"):
        answer = client.post(f"/api/{job}?units={units}&date=2031-05-14", content=study)
        assert answer.status_code == 200, answer.text
        assert answer.content.startswith(b"%PDF")
        assert answer.headers["content-type"] == "application/pdf"


def test_the_quote_has_the_date_of_the_site_file_unless_another_is_asked(client):
    """Before: the page's quote was dated today whatever stood in the site file."""
    form = form_of("quarrow_vale")
    form["data"]["site"] += '\n[quote]\ndate = "2031-05-14"\n'
    study = client.post("/api/size", **form).content
    for asked, said in (("", "14 May 2031"), ("?date=2032-01-09", "9 January 2032")):
        answer = client.post(f"/api/quote{asked}", content=study)
        assert said in extract_text(io.BytesIO(answer.content))
