"""Requests that mean harm, or are broken: refused in one line, or shown as text; 200 and more."""

import io
import json
import os
import tempfile
import zipfile
from pathlib import Path

import pytest

from tests.page.conftest import ANALYSES, HOME, form_of

WELL = (ANALYSES / "quarrow_vale_well_2.csv").read_bytes()
SITE = form_of("quarrow_vale")["data"]["site"]
JOBS = ("check", "scaling", "size", "rate", "workbook", "quote", "card")
REFUSED = {400, 403, 404, 405, 408, 413, 422}
POLICY = "content-security-policy"


def _refused(answer, *status):
    assert answer.status_code in (status or REFUSED), (answer.status_code, answer.text)
    _safe(answer)
    faults = answer.json()["errors"]
    assert faults, answer.text
    for line in faults:
        assert "\n" not in line
        assert "Traceback" not in line
        assert tempfile.gettempdir() not in line
        assert "root:" not in line


def _safe(answer):
    policy = answer.headers[POLICY]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["content-type"].startswith("application/json")


STRANGE_HOSTS = (
    "example.test",
    "127.0.0.1.example.test",
    "localhost.example.test",
    "127.0.0.2",
    "0.0.0.0",
    "[::2]",
    "192.0.2.7:8765",
    "",
    "localhost@example.test",
    "example.test:80@127.0.0.1",
    "127.0.0.1:80:80",
    "localhost:abc",
    "local host",
    "..",
    "%31%32%37.0.0.1",
)


@pytest.mark.parametrize("job", ["check", "size"])
@pytest.mark.parametrize("host", STRANGE_HOSTS)
def test_another_host_name(client, host, job):
    _refused(client.post(f"/api/{job}", headers={"host": host}), 403)


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost", "LOCALHOST:8765", "[::1]:80"])
def test_own_host_name(client, host):
    assert client.get("/api/openapi.json", headers={"host": host}).status_code == 200


STRANGE_ORIGINS = (
    "http://example.test",
    "https://example.test",
    "null",
    "http://127.0.0.1:9999",
    "http://127.0.0.1.example.test",
    "http://example.test/127.0.0.1",
    "file://",
    "http://",
    "",
    "javascript:alert(1)",
    "ftp://127.0.0.1",
    "http://user@127.0.0.1",
)


@pytest.mark.parametrize("job", JOBS)
@pytest.mark.parametrize("origin", STRANGE_ORIGINS)
def test_a_post_from_another_site(client, origin, job):
    _refused(client.post(f"/api/{job}", headers={"origin": origin}), 403)


@pytest.mark.parametrize("kind", ["cross-site", "same-site", "strange"])
def test_a_post_that_the_browser_calls_foreign(client, kind):
    _refused(client.post("/api/check", headers={"sec-fetch-site": kind}), 403)


def test_a_post_from_the_page(client):
    files = {"report": ("r.csv", WELL)}
    headers = {"origin": HOME, "sec-fetch-site": "same-origin"}
    assert client.post("/api/check", files=files, headers=headers).status_code == 200


PATHS = (
    "/etc/passwd",
    "/etc/hostname",
    "../../../../etc/passwd",
    "..\\..\\windows\\win.ini",
    "C:\\windows\\win.ini",
    "\\\\server\\share\\x.csv",
    "//etc/passwd",
    "/proc/self/environ",
    "/dev/zero",
    "a/../../b.csv",
    "file:///etc/passwd",
    "~/.ssh/config",
    "$HOME/x.csv",
    "nul\u0000.csv",
    "x" * 5000 + ".csv",
    ".",
    "..",
)
PLACES = (
    ("[water]\nanalysis = {}\n", "water"),
    ('[water]\nanalysis = "well.csv"\n[limits]\nfile = {}\n', "limits"),
    ('[water]\nanalysis = "well.csv"\n[limits]\nsdsi_k_chart = {}\n', "chart"),
    ('[water]\nanalysis = "well.csv"\n[softener]\nresin_table = {}\n', "resin"),
)
MACHINE = '[machine]\nproduct_flow = "1.6 m3/h"\nrecovery = 0.65\nhours_per_day = 16\n'


@pytest.mark.parametrize(("place", "name"), PLACES, ids=[name for _, name in PLACES])
@pytest.mark.parametrize("path", PATHS, ids=range(len(PATHS)))
def test_a_site_file_that_names_a_file_of_the_machine(client, path, place, name):
    site = place.format(json.dumps(path)) + MACHINE
    files = [("report", ("well.csv", WELL))]
    _refused(client.post("/api/size", data={"site": site}, files=files), 422)


@pytest.mark.parametrize(
    "name",
    [
        "../../../tmp/evil.csv",
        "/etc/cron.d/evil.csv",
        "..\\evil.csv",
        "<script>alert(1)</script>.csv",
        '"><img src=x onerror=alert(1)>.csv',
        "a\r\nSet-Cookie: x=1.csv",
        "site.toml",
        "-rf.csv",
        "%2e%2e%2fevil.csv",
        "\u202ecsv.exe",
        "y" * 3000 + ".csv",
        "..",
        "CON.csv",
    ],
)
def test_a_report_with_a_strange_name(client, name):
    answer = client.post("/api/check", files={"report": (name, WELL)})
    assert answer.status_code in {200, 422}
    _safe(answer)
    assert not Path("/tmp/evil.csv").exists()
    named = name.replace("\\", "/").rsplit("/", 1)[-1]
    answer = client.post("/api/size", data={"site": SITE}, files=[("report", (named, WELL))])
    _refused(answer, 422)


def _bomb() -> bytes:
    memory = io.BytesIO()
    with zipfile.ZipFile(memory, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("[Content_Types].xml", "<Types/>")
        archive.writestr("xl/workbook.xml", b"\0" * 200_000_000)
    return memory.getvalue()


_ENTITIES = (
    '<?xml version="1.0"?><!DOCTYPE l [<!ENTITY a "aaaaaaaaaa">'
    + "".join(
        f'<!ENTITY {b} "{"&" + a + ";" * 1}{("&" + a + ";") * 9}">'
        for a, b in zip("abcdefgh", "bcdefghi", strict=False)
    )
    + "]><html><body>&i;</body></html>"
)
UPLOADS = {
    "empty": b"",
    "nothing": b"\0" * 1000,
    "noise": os.urandom(20_000),
    "half a pdf": b"%PDF-1.7\n1 0 obj\n<< /Type /Catalog",
    "half a zip": b"PK\x03\x04" + b"\0" * 30,
    "bomb": _bomb(),
    "gzip": b"\x1f\x8b" + b"\0" * 100,
    "entities": _ENTITIES.encode(),
    "outside entity": b'<?xml version="1.0"?><!DOCTYPE l [<!ENTITY a SYSTEM "file:///etc/passwd">]><l>&a;</l>',
    "one long line": b"a," * 500_000,
    "many lines": b"x\n" * 400_000,
    "nested": b"[" * 200_000,
    "quotes": b'"' * 100_001,
    "picture": b"\x89PNG\r\n\x1a\n" + b"\0" * 100,
    "old sheet": b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600,
    "surrogates": b"\xed\xa0\x80\xed\xb0\x80,1,mg/L\n",
}


@pytest.mark.parametrize("suffix", ["csv", "xlsx", "pdf", "html"])
@pytest.mark.parametrize("name", UPLOADS)
def test_malformed_reports(client, name, suffix):
    answer = client.post("/api/check", files={"report": (f"r.{suffix}", UPLOADS[name])})
    _refused(answer, 422, 503)


@pytest.mark.parametrize(
    "form",
    [
        b"",
        b"--x\r\n",
        b"--x\r\nContent-Disposition: form-data\r\n\r\nabc\r\n--x--\r\n",
        b"--y\r\n\r\n--y--",
        b'--x\r\nContent-Disposition: form-data; name="report"; filename="a.csv"\r\n\r\nCa,1',
        b"\0" * 100,
        b"--x\r\n" + b"A" * 100_000,
    ],
    ids=range(7),
)
@pytest.mark.parametrize("kind", ["multipart/form-data; boundary=x", "multipart/form-data"])
def test_broken_forms(client, form, kind):
    answer = client.post("/api/check", content=form, headers={"content-type": kind})
    _refused(answer, 422)


@pytest.mark.parametrize("kind", ["text/plain", "application/json", "application/xml", "x"])
def test_other_kinds_of_body(client, kind):
    _refused(client.post("/api/size", content=b"{}", headers={"content-type": kind}), 422)


def test_too_many_files_and_fields(client):
    files = [("report", (f"{n}.csv", b"x")) for n in range(30)]
    _refused(client.post("/api/size", data={"site": SITE}, files=files), 422)
    _refused(
        client.post("/api/check", files=[("report", ("a", b"x")), ("report", ("b", b"x"))]), 422
    )
    many = {f"f{n}": "x" for n in range(500)}
    _refused(client.post("/api/check", files={"report": ("a", WELL)}, data=many), 422)
    twice = [("report", ("well.csv", WELL)), ("report", ("well.csv", WELL))]
    _refused(client.post("/api/size", data={"site": SITE}, files=twice), 422)


@pytest.mark.parametrize("job", JOBS)
def test_too_much(client, job):
    _refused(client.post(f"/api/{job}", content=b"x" * (17 * 1024 * 1024)), 413)


@pytest.mark.parametrize("job", JOBS)
def test_too_much_in_pieces(client, job):
    def pieces():
        for _ in range(17):
            yield b"x" * (1024 * 1024)

    kind = (
        "application/json"
        if job in {"workbook", "quote", "card"}
        else "multipart/form-data; boundary=x"
    )
    answer = client.post(f"/api/{job}", content=pieces(), headers={"content-type": kind})
    _refused(answer, 413, 422)
    if "json" in kind:
        assert answer.status_code == 413


@pytest.mark.parametrize("job", ["check", "size"])
def test_too_much_in_pieces_of_a_form(client, job):
    def pieces():
        yield b'--x\r\nContent-Disposition: form-data; name="report"; filename="a.csv"\r\n\r\n'
        for _ in range(20):
            yield b"x" * (1024 * 1024)

    kind = {"content-type": "multipart/form-data; boundary=x"}
    _refused(client.post(f"/api/{job}", content=pieces(), headers=kind), 413)


@pytest.mark.parametrize(
    "words",
    [
        "<script>alert(1)</script>",
        '"><svg onload=alert(1)>',
        "{{7*7}}",
        "=HYPERLINK(1)",
        "\u202eabc",
        "a\\u0000b",
        "%s%s%n",
        "'; DROP TABLE x; --",
    ],
)
def test_scripts_in_names_are_text(client, words):
    site = SITE.replace("Quarrow Vale Orchards, packing house", words.replace('"', '\\"'))
    answer = client.post("/api/size", data={"site": site}, files=form_of("quarrow_vale")["files"])
    assert answer.status_code == 200
    _safe(answer)
    assert answer.json()["figures"]["site.name"]["value"]
    book = client.post("/api/workbook", content=answer.content)
    assert book.status_code == 200


@pytest.mark.parametrize(
    "path", ["/nothing", "/api/nothing", "/static/../app.py", "/..%2f..%2fetc/passwd"]
)
def test_addresses_that_are_not_there(client, path):
    _refused(client.get(path), 404)


@pytest.mark.parametrize("method", ["GET", "PUT", "DELETE", "PATCH", "TRACE"])
def test_other_methods(client, method):
    _refused(client.request(method, "/api/size"), 405)


def test_nothing_stays_on_disk(client):
    from pretreat.page.workers.pool import leftover_folders

    client.post("/api/size", **form_of("quarrow_vale"))
    client.post("/api/check", files={"report": ("r.pdf", b"%PDF-1.4")})
    assert leftover_folders() == []
