"""PDF, pages, documents and sheets meant to fill memory or time: refused in one line, in time."""

import io
import time
import zipfile
import zlib

import pytest

from pretreat.core.errors import AnalysisError
from pretreat.lab import read_analysis
from tests.lab.reports import office

FONT = b"<</Type/Font/Subtype/Type1/BaseFont/Helvetica>>"
WORDS = b"BT /F1 10 Tf 50 700 Td (Calcium 142 mg/L) Tj ET "
SLOWEST_S = 8.0  # on a slow machine


def pdf(*objects):
    out, at = b"%PDF-1.4\n", []
    for n, content in enumerate(objects, 1):
        at.append(len(out))
        out += b"%d 0 obj\n" % n + content + b"\nendobj\n"
    table = b"".join(b"%010d 00000 n \n" % n for n in at)
    start = b"xref\n0 %d\n0000000000 65535 f \n" % (len(at) + 1) + table
    end = b"trailer <</Size %d /Root 1 0 R>>\nstartxref\n%d\n%%%%EOF" % (len(at) + 1, len(out))
    return out + start + end


def stream(data, more=b""):
    return b"<</Length %d %s>>\nstream\n" % (len(data), more) + data + b"\nendstream"


def page_of(contents, *more, kids=b"3 0 R", count=1, resources=b"/Font<</F1 5 0 R>>"):
    return pdf(
        b"<</Type/Catalog/Pages 2 0 R>>", b"<</Type/Pages/Kids[%s]/Count %d>>" % (kids, count),
        b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 600 800]/Contents %s/Resources<<%s>>>>"
        % (contents, resources), *more,
    )  # fmt: skip


def doubled():
    drawings = [
        stream(
            b"/X Do /X Do",
            b"/Type/XObject/Subtype/Form/BBox[0 0 600 800]/Resources<</XObject<</X %d 0 R>>>>"
            % (6 + n),
        )
        for n in range(30)
    ]
    last = stream(b"q Q", b"/Type/XObject/Subtype/Form/BBox[0 0 600 800]")
    return page_of(b"4 0 R", stream(b"/X Do"), *drawings, last, resources=b"/XObject<</X 5 0 R>>")


def merged():
    import openpyxl

    book = openpyxl.Workbook()
    book.active.append(["Calcium", 142, "mg/L"])
    first, out = io.BytesIO(), io.BytesIO()
    book.save(first)
    with zipfile.ZipFile(first) as source, zipfile.ZipFile(out, "w") as target:
        for name in source.namelist():
            area = (
                b'</sheetData><mergeCells count="1"><mergeCell ref="A1:XFD1048576"/></mergeCells>'
            )
            target.writestr(name, source.read(name).replace(b"</sheetData>", area))
    return out.getvalue()


PACKED = zlib.compress(b"0" * 120_000_000)
ROW = '<table:table-row table:number-rows-repeated="1000000"><table:table-cell table:number-columns-repeated="16384"><text:p>1</text:p></table:table-cell></table:table-row>'
REFUSED = {
    "bomb.pdf": page_of(b"4 0 R", stream(PACKED, b"/Filter/FlateDecode"), FONT),
    "bomb in a bomb.pdf": page_of(
        b"4 0 R", stream(zlib.compress(PACKED), b"/Filter[/FlateDecode/FlateDecode]"), FONT
    ),
    "contents repeated.pdf": page_of(b"[" + b"4 0 R " * 50_000 + b"]", stream(WORDS * 50), FONT),
    "drawings in drawings.pdf": doubled(),
    "much drawing.pdf": page_of(b"4 0 R", stream(b"q Q " * 1_000_000), FONT),
    "damaged.pdf": office.CASES["plain.pdf"][0][:900],
    "no text.pdf": page_of(b"4 0 R", stream(b"q Q"), FONT),
    "without ink.pdf": page_of(b"4 0 R", stream(WORDS.replace(b"Td", b"Td 3 Tr")), FONT),
    "nested.html": b"<table><tr><td>" * 5000,
    "wide.html": office.html(
        "<table><tr>" + "<td colspan=9999>x</td>" * 3000 + "</tr></table>"
    ).encode(),
    "nested.docx": office.docx("<w:tbl><w:tr><w:tc>" * 300 + "</w:tc></w:tr></w:tbl>" * 300),
    "entities.docx": office.archive(
        {
            "[Content_Types].xml": "<Types/>",
            "word/document.xml": "<!DOCTYPE x [<!ENTITY a 'b'>]><x/>",
        }
    ),
    "filled.ods": office.ods([["Calcium", 142.0, "mg/L"]], tail=ROW),
    "bomb.ods": office.archive({"mimetype": "x", "content.xml": b" " * 60_000_000}),
    "merged.xlsx": merged(),
    "cut.xls": office.CASES["plain.xls"][0][:3000],
}


@pytest.mark.parametrize("name", sorted(REFUSED))
def test_hostile_document_is_refused_in_time(tmp_path, name):
    path = tmp_path / name
    path.write_bytes(REFUSED[name])
    start = time.perf_counter()
    with pytest.raises(AnalysisError) as caught:
        read_analysis(path)
    assert time.perf_counter() - start < SLOWEST_S
    assert all("\n" not in fault and len(fault) < 400 for fault in caught.value.faults)


def test_endless_pages_are_cut_with_a_warning(tmp_path):
    path = tmp_path / "long.pdf"
    made = office.Print().put(60, 60, "Calcium 142 mg/L")
    for _ in range(60):
        made.page().put(60, 60, "Laboratory")
    path.write_bytes(made.done())
    water = read_analysis(path)
    assert water.mg_l["ca"] == 142
    assert any(f.code == "reading_guessed" and "first 60 pages" in f.text for f in water.flags)


def test_encrypted_print_is_refused_with_a_remedy(tmp_path):
    from fpdf.enums import EncryptionMethod

    made = office.Print().put(60, 60, "Calcium 142 mg/L")
    made.pdf.set_encryption("owner", "user", EncryptionMethod.RC4)
    path = tmp_path / "locked.pdf"
    path.write_bytes(made.done())
    with pytest.raises(AnalysisError, match="encrypted"):
        read_analysis(path)
