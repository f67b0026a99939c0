"""Recalculates workbooks in LibreOffice and compares every formula cell with its cached value.

    python .ci/check_workbook.py reports/*.xlsx

Exit code 0 if every formula cell agrees to 1e-9 relative and no cell is an error.
The cached values are dropped from a copy first, so that nothing but a recalculation can
bring them back.
"""

import math
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import openpyxl

RELATIVE = 1e-9
ABSOLUTE = 1e-12
ERRORS = ("#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#REF!", "#VALUE!", "Err:")
Change = Mapping[tuple[str, str], float]


def recalculated(path: Path, folder: Path, changes: Change | None = None) -> Any:
    """Return the workbook as LibreOffice calculates it, with some cells changed before.

    ``changes`` maps (sheet, cell) to a new number.
    """
    return recalculated_each(path, folder, {path.stem: changes or {}})[path.stem]


def recalculated_each(path: Path, folder: Path, jobs: Mapping[str, Change]) -> dict[str, Any]:
    """Return one recalculated workbook per set of changes, all in one run of LibreOffice."""
    _save_bare(path, folder, jobs)
    return _converted(folder, list(jobs))


def _save_bare(path: Path, folder: Path, jobs: Mapping[str, Change]) -> None:
    """Save a copy per set of changes, without the cached values."""
    bare = folder / "bare"
    bare.mkdir(exist_ok=True)
    book = openpyxl.load_workbook(path)  # formulas only: saving it drops the cached values
    for name, changes in jobs.items():
        before = {(sheet, cell): book[sheet][cell].value for sheet, cell in changes}
        for (sheet, cell), value in changes.items():
            book[sheet][cell].value = value
        book.save(bare / f"{name}.xlsx")
        for (sheet, cell), value in before.items():
            book[sheet][cell].value = value


def _converted(folder: Path, names: list[str]) -> dict[str, Any]:
    """Return the copies as one run of LibreOffice calculates them."""
    bare, out = folder / "bare", folder / "out"
    profile = (folder / "profile").as_uri()
    files = [str(bare / f"{name}.xlsx") for name in names]
    command = ["soffice", f"-env:UserInstallation={profile}", "--headless", "--convert-to", "xlsx",
               "--outdir", str(out), *files]  # fmt: skip
    subprocess.run(command, check=True, capture_output=True, timeout=300)
    return {name: openpyxl.load_workbook(out / f"{name}.xlsx", data_only=True) for name in names}


def differences(path: Path, folder: Path, fresh: Any = None) -> Iterator[str]:
    """Yield a line per fault, then a line with the count on standard output."""
    formulas = openpyxl.load_workbook(path)
    cached = openpyxl.load_workbook(path, data_only=True)
    fresh = fresh or recalculated(path, folder)
    count = 0
    for sheet in formulas:
        for row in sheet.iter_rows():
            for cell in row:
                where = f"{path.name} {sheet.title}!{cell.coordinate}"
                now = fresh[sheet.title][cell.coordinate].value
                if isinstance(now, str) and now.startswith(ERRORS):
                    yield f"{where}: {now}"
                if cell.data_type != "f":
                    continue
                count += 1
                before = cached[sheet.title][cell.coordinate].value
                if not same(before, now):
                    yield f"{where}: cached {before!r}, recalculated {now!r}: {cell.value}"
    print(f"{path}: {count} formula cells recalculated")
    if not count:
        yield f"{path}: no formula cell"


def same(before: object, now: object) -> bool:
    """Tell whether two cell values agree."""
    if isinstance(before, int | float) and isinstance(now, int | float):
        return math.isclose(before, now, rel_tol=RELATIVE, abs_tol=ABSOLUTE)
    return (before or "") == (now or "")  # a formula may rightly give an empty text


def main(names: list[str]) -> int:
    """Check the workbooks named, print each fault; return 1 if there is one."""
    faults: list[str] = []
    paths = {Path(name).stem: Path(name) for name in names}
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for stem, path in paths.items():
            _save_bare(path, folder, {stem: {}})
        fresh = _converted(folder, list(paths)) if paths else {}
        for stem, path in paths.items():
            faults += differences(path, folder, fresh[stem])
    print("\n".join(faults) if faults else "all formula cells agree, no error cell")
    return 1 if faults or not names or len(paths) < len(names) else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
