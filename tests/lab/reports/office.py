"""Invented reports as workbooks, pages, documents and prints, made when the tests run."""

import datetime
import io
import zipfile

from tests.lab.reports.texts import MAJOR, only, without
from tests.lab.reports.waters import MEADOW, SALINE, UPLAND, rows

M, S, U = rows(MEADOW), rows(SALINE), rows(UPLAND)
NAMED = ("Parameter", "Result", "Unit")
CASES = {}


def case(name, content, expected, **more):
    CASES[name] = (content, expected, more)


def numbers(cells):
    """Return cells with those that are numbers as numbers."""
    out = []
    for row in cells:
        out.append([_number(cell) for cell in row])
    return out


def _number(cell):
    try:
        return float(cell)
    except ValueError:
        return cell


def xlsx(cells, formats=None, merged=()):
    """Return a workbook; ``formats`` gives number formats by row and column from 1."""
    import openpyxl

    book = openpyxl.Workbook()
    page = book.active
    for row in cells:
        page.append(row)
    for (row, column), pattern in (formats or {}).items():
        page.cell(row, column).number_format = pattern
    for area in merged:
        page.merge_cells(area)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def xls(cells, formats=None, merged=()):
    import xlwt

    book = xlwt.Workbook()
    page = book.add_sheet("Results")
    for area in merged:
        page.merge(*area)
    for r, row in enumerate(cells):
        for c, cell in enumerate(row):
            if cell == "":
                continue
            style = xlwt.XFStyle()
            style.num_format_str = (formats or {}).get((r + 1, c + 1), "General")
            if isinstance(cell, datetime.date):
                style.num_format_str = "DD.MM.YYYY"
            page.write(r, c, cell, style)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def ods(cells, shown=None, tail=""):
    """Return an OpenDocument sheet; ``shown`` gives other shown texts by row and column."""
    body = ""
    for r, row in enumerate(cells):
        body += "<table:table-row>"
        for c, cell in enumerate(row):
            text = (shown or {}).get((r + 1, c + 1), cell)
            kind = (
                f'office:value-type="float" office:value="{cell}"'
                if isinstance(cell, float)
                else ""
            )
            inner = f"<text:p>{text}</text:p>" if cell != "" else ""
            body += f"<table:table-cell {kind}>{inner}</table:table-cell>"
        body += '<table:table-cell table:number-columns-repeated="16000"/></table:table-row>'
    content = (
        '<?xml version="1.0" encoding="UTF-8"?><office:document-content '
        'xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" '
        'xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" '
        'xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0"><office:body>'
        f'<office:spreadsheet><table:table table:name="Sheet1">{body}'
        '<table:table-row table:number-rows-repeated="1048000"><table:table-cell '
        f'table:number-columns-repeated="16384"/></table:table-row>{tail}</table:table>'
        "</office:spreadsheet></office:body></office:document-content>"
    )
    return archive({
        "mimetype": "application/vnd.oasis.opendocument.spreadsheet", "content.xml": content,
    })  # fmt: skip


def archive(parts):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target:
        for name, content in parts.items():
            target.writestr(name, content)
    return out.getvalue()


W = 'xmlns:w="http://schemas.openxmlformats.org/wordprocessingml/2006/main"'


def docx(body):
    return archive({
        "[Content_Types].xml": "<Types/>",
        "word/document.xml": f"<w:document {W}><w:body>{body}</w:body></w:document>",
    })  # fmt: skip


def paragraph(text):
    runs = text if text.startswith("<w:") else f"<w:r><w:t>{text}</w:t></w:r>"
    return f"<w:p>{runs}</w:p>"


def word_table(cells):
    rows_ = "".join(
        "<w:tr>"
        + "".join(f"<w:tc>{c if c.startswith('<w:tbl') else paragraph(c)}</w:tc>" for c in row)
        + "</w:tr>"
        for row in cells
    )
    return f"<w:tbl>{rows_}</w:tbl>"


def html_table(cells, **attributes):
    said = "".join(f' {key}="{text}"' for key, text in attributes.items())
    inner = "".join("<tr>" + "".join(f"<td>{c}</td>" for c in row) + "</tr>" for row in cells)
    return f"<table{said}>{inner}</table>"


def html(body):
    return f"<!DOCTYPE html><html><head><meta charset='utf-8'><style>td{{a:b}}</style></head><body>{body}</body></html>"


class Print:
    """A PDF page by page, words put at places in points."""

    def __init__(self):
        from fpdf import FPDF

        self.pdf = FPDF(unit="pt", format="A4")
        self.pdf.set_creation_date(datetime.datetime(2031, 5, 14, tzinfo=datetime.UTC))
        self.pdf.set_auto_page_break(False)
        self.page()

    def page(self):
        self.pdf.add_page()
        self.font(10)
        return self

    def font(self, size, shade=0):
        self.pdf.set_font("Helvetica", size=size)
        self.pdf.set_text_color(shade, shade, shade)
        return self

    def put(self, x, y, text):
        self.pdf.text(x, y, text)
        return self

    def table(self, cells, places, top=80, step=15, right=()):
        for n, row in enumerate(cells):
            for c, (text, x) in enumerate(zip(row, places, strict=True)):
                text = text.replace("µ", "u").replace("°", "")
                x = x - self.pdf.get_string_width(text) if c in right else x
                if text:
                    self.put(x, top + n * step, text)
        return self

    def done(self):
        return bytes(self.pdf.output())


# --- workbooks -------------------------------------------------------------------------------
case(
    "less_than_by_number_format.xlsx",
    xlsx(
        [NAMED, *numbers([r[:3] for r in S])],
        {
            (2 + [r[0] for r in S].index("Iron"), 2): '"< "0.000',
            (2 + [r[0] for r in S].index("Barium"), 2): '"<"0.000',
        },
    ),
    without(SALINE, "fe", "ba") | {"fe": "<0.042", "ba": "<0.031"},
)
case(
    "condition_in_number_format.xlsx",
    xlsx(
        [NAMED, ["Iron", 0.01, "mg/L"], ["Calcium", 88.4, "mg/L"], ["Chloride", 71.3, "mg/L"]],
        {(2, 2): '[<0.05]"<0.05";0.00'},
    ),
    {"fe": "<0.05", "ca": 88.4, "cl": 71.3},
)
case(
    "error_cell.xlsx",
    xlsx([NAMED, ["Calcium", 88.4, "mg/L"], ["Iron", "#N/A", "mg/L"], ["Chloride", 71.3, "mg/L"]]),
    only(MEADOW, "ca", "cl"),
    doubtful=True,
)
case(
    "percent_beside_results.xlsx",
    xlsx(
        [
            ("Parameter", "Unit", "Of all ions", "Result"),
            *[[n, u, 0.12, float(v)] for n, v, u, _, _ in M],
        ],
        {(r, 3): "0%" for r in range(2, 20)},
    ),
    MEADOW,
)
case(
    "limit_first.xlsx",
    xlsx(
        [
            ("Parameter", "Max. allowed", "Your result", "Unit"),
            *numbers([(n, lim, v, u) for n, v, u, lim, _ in M]),
        ]
    ),
    MEADOW,
)
case(
    "title_merged_above.xlsx",
    xlsx(
        [
            ["Report of Ferry Lane"],
            ["all results in mg/L unless stated"],
            NAMED,
            *numbers([r[:3] for r in U]),
        ],
        merged=("A1:C1", "A2:C2"),
    ),
    UPLAND,
)
case(
    "samples_in_rows.xlsx",
    xlsx(
        [
            ("Well", "Depth (m)", "Ca (mg/L)", "Mg (mg/L)", "Na (mg/L)", "Cl (mg/L)", "Fe (ug/L)"),
            ["Ferry Lane", 42, 88.4, 31.2, 54.6, 71.3, 870],
        ]
    ),
    only(MEADOW, "ca", "mg", "na", "cl", "fe"),
)
case("plain.xls", xls([NAMED, *numbers([r[:3] for r in M])]), MEADOW)
case(
    "less_than_by_number_format.xls",
    xls(
        [NAMED, ["Iron", 0.02, "mg/L"], *numbers([r[:3] for r in rows(SALINE, keys=MAJOR)])],
        {(2, 2): '"< "0.00'},
    ),
    only(SALINE, *MAJOR) | {"fe": "<0.02"},
)
case(
    "limit_first_and_date.xls",
    xls(
        [
            ["Sampled", datetime.date(2031, 5, 14)],
            ["Parameter", "Limit", "Result", "Unit"],
            *numbers([(n, lim, v, u) for n, v, u, lim, _ in U]),
        ]
    ),
    UPLAND,
)
case("plain.ods", ods([NAMED, *numbers([r[:3] for r in M])]), MEADOW)
case(
    "shown_less_than.ods",
    ods(
        [NAMED, ["Iron", 0.02, "mg/L"], *numbers([r[:3] for r in rows(SALINE, keys=MAJOR)])],
        {(2, 2): "&lt; 0.02"},
    ),
    only(SALINE, *MAJOR) | {"fe": "<0.02"},
)
case(
    "limit_first_rounded.ods",
    ods(
        [
            ("Parameter", "Guideline", "Result", "Unit"),
            *numbers([(n, lim, v, u) for n, v, u, lim, _ in U]),
        ],
        {(2, 3): "6.4"},
    ),
    UPLAND,
)

# --- pages -----------------------------------------------------------------------------------
case(
    "page.html",
    html("<h1>Report</h1><p>Sample: Ferry Lane</p>" + html_table([NAMED, *[r[:3] for r in M]])),
    MEADOW,
)
case("page_named.xls", html(html_table([NAMED, *[r[:3] for r in S]])), SALINE)
case(
    "nested_tables.html",
    html(
        html_table(
            [
                [
                    "Laboratory",
                    html_table(
                        [
                            ("Parameter", "Limit", "Result", "Unit"),
                            *[(n, lim, v, u) for n, v, u, lim, _ in M],
                        ]
                    ),
                ],
                ["", "end"],
            ]
        )
    ),
    MEADOW,
)
case(
    "hidden_and_footnotes.html",
    html(
        '<div style="display:none">'
        + html_table([NAMED, ("Calcium", "999", "mg/L")])
        + "</div>"
        + html_table(
            [
                NAMED,
                ("Calcium", "88.4<sup>a</sup>", "mg/L"),
                ("Chloride", "71.3", "mg/L"),
                ("SO<sub>4</sub><sup>2-</sup>", "96.5", "mg/L"),
            ]
        )
    ),
    only(MEADOW, "ca", "cl", "so4"),
)
case(
    "two_tables_two_units.html",
    html(
        "<h2>Majors</h2>"
        + html_table([("Parameter", "Result (mg/L)"), ("Calcium", "88.4"), ("Chloride", "71.3")])
        + "<h2>Metals</h2>"
        + html_table([("Parameter", "Result (&micro;g/L)"), ("Iron", "870"), ("Barium", "63")])
    ),
    only(MEADOW, "ca", "cl", "fe", "ba"),
)

# --- documents -------------------------------------------------------------------------------
case(
    "table.docx",
    docx(paragraph("Sample: Ferry Lane") + word_table([NAMED, *[r[:3] for r in M]])),
    MEADOW,
)
case(
    "limit_first.docx",
    docx(
        word_table(
            [
                ("Parameter", "Limit value", "Result", "Unit"),
                *[(n, lim, v, u) for n, v, u, lim, _ in S],
            ]
        )
    ),
    SALINE,
)
case(
    "nested_table.docx",
    docx(word_table([("Report", word_table([NAMED, *[r[:3] for r in U]]))])),
    UPLAND,
)
case(
    "tracked_changes.docx",
    docx(
        word_table(
            [
                NAMED,
                (
                    "Calcium",
                    "<w:del><w:r><w:delText>75</w:delText></w:r></w:del><w:ins><w:r><w:t>88.4</w:t></w:r></w:ins>",
                    "mg/L",
                ),
                ("Chloride", "71.3", "mg/L"),
            ]
        )
    ),
    only(MEADOW, "ca", "cl"),
    doubtful=True,
)
case(
    "tabbed_text.docx",
    docx(
        "".join(
            paragraph(
                "<w:r><w:t>{}</w:t><w:tab/><w:t>{}</w:t><w:tab/><w:t>{}</w:t></w:r>".format(*r[:3])
            )
            for r in [NAMED, *M]
        )
    ),
    MEADOW,
)

# --- prints ----------------------------------------------------------------------------------
case(
    "plain.pdf",
    Print()
    .font(14)
    .put(60, 50, "Report of analysis")
    .font(10)
    .table([NAMED, *[r[:3] for r in M]], (60, 250, 340))
    .done(),
    MEADOW,
)
case(
    "limit_first.pdf",
    Print()
    .table(
        [("Analyte", "MCL", "Result", "Units"), *[(n, lim, v, u) for n, v, u, lim, _ in M]],
        (60, 250, 340, 420),
    )
    .done(),
    MEADOW,
)
case(
    "right_aligned.pdf",
    Print()
    .table(
        [("Parameter", "Limit", "Result", "Unit"), *[(n, dl, v, u) for n, v, u, _, dl in S]],
        (60, 290, 370, 400),
        right=(1, 2),
    )
    .done(),
    SALINE,
)
case(
    "two_pages.pdf",
    Print()
    .table([NAMED, *[r[:3] for r in S[:9]]], (60, 250, 340))
    .put(280, 820, "Page 1 of 2")
    .page()
    .table([NAMED, *[r[:3] for r in S[9:]]], (60, 250, 340))
    .put(280, 820, "Page 2 of 2")
    .done(),
    SALINE,
)
case(
    "panels.pdf",
    Print()
    .table(
        [(*NAMED, *NAMED), *[(*a[:3], *b[:3]) for a, b in zip(M[:8], M[8:16], strict=True)]],
        (40, 150, 210, 300, 450, 520),
    )
    .done(),
    dict(list(MEADOW.items())[:16]),
)
case(
    "white_and_tiny_text.pdf",
    Print()
    .table([NAMED, *[r[:3] for r in U]], (60, 250, 340))
    .font(10, 255)
    .put(60, 500, "Calcium")
    .put(250, 500, "999")
    .put(340, 500, "mg/L")
    .font(2)
    .put(60, 520, "Sodium")
    .put(250, 520, "888")
    .done(),
    UPLAND,
    doubtful=True,
)
case(
    "raised_marks.pdf",
    Print()
    .table(
        [
            NAMED,
            ("Calcium", "88.4", "mg/L"),
            ("Chloride", "71.3", "mg/L"),
            ("Sodium", "54.6", "mg/L"),
        ],
        (60, 250, 340),
    )
    .font(6)
    .put(271, 91, "1")
    .done(),
    only(MEADOW, "ca", "cl", "na"),
)
case(
    "limit_and_less_than.pdf",
    Print()
    .table(
        [
            ("Analyte", "RL", "Result", "Units"),
            *[(n, dl, "<" + dl if n == "Iron" else v, u) for n, v, u, _, dl in S],
        ],
        (60, 250, 330, 420),
    )
    .done(),
    without(SALINE, "fe") | {"fe": "<0.02"},
)
