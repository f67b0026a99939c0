"""Mutate lab files and read them: no traceback, no hang, no value that is not in the file.

Usage: python benchmarks/fuzz_lab_files.py [--count 100000] [--seed 1] [--folder tests/lab/files]

Each mutant is a damaged copy of one of the example files: bytes flipped, cut, doubled or
spliced, lines shuffled, delimiters and encodings changed, the XML of a workbook edited. It must
be read, or refused with an error of our own, within five seconds; and each value must equal
the number printed in the file times its factor.
"""

import argparse
import io
import random
import sys
import tempfile
import time
import traceback
import zipfile
from collections import Counter
from pathlib import Path

from pretreat.core.errors import PretreatError
from pretreat.core.water import WaterAnalysis
from pretreat.lab import read_samples
from pretreat.lab.read.formats.encodings import decoded
from pretreat.lab.read.numbers import plain, printed_number

SLOWEST_S = 5.0
FAILURES = ("broken trail", "bad message", "traceback", "hang")
SPICE = [
    *(b"<", b">", b",", b";", b"\t", b'"', b"\r", b"\n", b"\x00", b"\xff", b"=cmd|' /C calc'!A0"),
    *(
        b"1e999",
        b"-",
        b"NaN",
        b"\xc2\xb5",
        b"mg/L",
        b"ug/L",
        b"CaCO3",
        b"N/A",
        b"(",
        b"[",
        b"9" * 40,
    ),
    *(b"%s", b".", b"*", b"as N", b"0", b"-5", b"pH", b"Calcium", b"|", b"'", b"\xe2\x81\xbb"),
    *(b"meq/L", b"ND", b"#"),
]


def mutated_bytes(  # noqa: C901, PLR0912  # one branch per kind of damage
    data: bytes, rng: random.Random
) -> bytes:
    """Damage a text or a piece of XML."""
    for _ in range(rng.choice((1, 1, 1, 2, 4, 12))):
        if not data:
            break
        at, end = sorted((rng.randrange(len(data) + 1), rng.randrange(len(data) + 1)))
        end = min(end, at + rng.choice((1, 3, 10, 60, 400)))
        kind = rng.randrange(9)
        if kind == 0:
            data = data[:at] + bytes([rng.randrange(256)]) + data[at + 1 :]
        elif kind == 1:
            data = data[:at] + data[end:]
        elif kind == 2:
            data = data[:end] + data[at:end] + data[end:]
        elif kind == 3:
            data = data[:at] + rng.choice(SPICE) + data[at:]
        elif kind == 4:
            data = data[:at] + rng.choice(SPICE) + data[end:]
        elif kind == 5:
            lines = data.split(b"\n")
            rng.shuffle(lines)
            data = b"\n".join(lines)
        elif kind == 6:
            old, new = rng.sample([b",", b";", b"\t", b"|", b".", b" "], 2)
            data = data.replace(old, new, rng.choice((1, 5, -1)))
        elif kind == 7:
            data = (
                data[:at]
                + bytes(rng.randrange(256) for _ in range(rng.randrange(1, 8)))
                + data[end:]
            )
        else:
            digits = [i for i, b in enumerate(data) if 48 <= b <= 57]
            if digits:
                i = rng.choice(digits)
                data = data[:i] + str(rng.randrange(10)).encode() + data[i + 1 :]
    return data


def reencoded(data: bytes, rng: random.Random) -> bytes:
    """Write a text in another encoding, with other line ends."""
    try:
        text, _ = decoded("x", data)
    except PretreatError:
        return data
    text = text.replace("\n", rng.choice(("\n", "\r\n", "\r")))
    encoding = rng.choice(
        ("utf-8", "utf-8-sig", "utf-16", "utf-16-be", "cp1252", "cp1254", "latin-1", "utf-32")
    )
    return text.encode(encoding, "replace")


def mutated_workbook(data: bytes, rng: random.Random) -> bytes:
    """Damage one part inside a workbook, or the archive itself."""
    if rng.random() < 0.3:
        return mutated_bytes(data, rng)
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as source, zipfile.ZipFile(out, "w") as target:
        names = source.namelist()
        victim = rng.choice(
            [n for n in names if "sheet" in n or "Strings" in n or rng.random() < 0.2] or names
        )
        for name in names:
            content = source.read(name)
            target.writestr(name, mutated_bytes(content, rng) if name == victim else content)
    return out.getvalue()


def broken_trails(water: WaterAnalysis, data: bytes) -> list[str]:
    """Return what is wrong with the trail of a water."""
    wrong = []
    text = None
    if data[:2] != b"PK":
        text = plain(decoded("x", data)[0].replace('""', '"'))
    for reading in water.readings:
        if text is not None and reading.text and plain(reading.text) not in text:
            wrong.append(f"{reading.place}: {reading.text!r} is not in the file")
        value = reading.value if reading.value is not None else reading.below
        if value is None or reading.factor is None:
            continue
        limit = [
            part.removeprefix("limit ")
            for part in reading.note.split("; ")
            if part.startswith("limit ")
        ]
        printed = limit[0] if limit and reading.value is None else reading.text
        numbers = [printed_number(printed, mark).number for mark in ".,"]
        if not any(
            n is not None and abs(n * reading.factor - value) <= 1e-9 * abs(value) for n in numbers
        ):
            wrong.append(f"{reading.place}: {reading.text!r} x {reading.factor:g} is not {value!r}")
    return wrong


def mutant_of(path: Path, data: bytes, rng: random.Random) -> bytes:
    """Return a damaged copy of one example."""
    if path.suffix == ".xlsx":
        return mutated_workbook(data, rng)
    data = mutated_bytes(data, rng)
    return reencoded(data, rng) if rng.random() < 0.1 else data


def outcomes(mutant: Path, data: bytes) -> list[tuple[str, str]]:
    """Read one mutant; return what happened, and what of it is a failure, with its text."""
    try:
        waters = read_samples(mutant)
    except PretreatError as error:
        bad = [f for f in error.faults if len(f) > 2000 or not f.strip() or "\n" in f]
        wrong = bad or not error.faults
        return [("refused", "")] + ([("bad message", str(error)[:300])] if wrong else [])
    except Exception:  # noqa: BLE001
        return [("traceback", traceback.format_exc(limit=-4))]
    broken = [wrong for water in waters for wrong in broken_trails(water, data)]
    return [("read", ""), *(("broken trail", wrong) for wrong in broken)]


def run(count: int, seed: int, folder: Path) -> int:
    """Fuzz and report; return the number of failures."""
    rng = random.Random(seed)
    files = sorted(p for p in folder.iterdir() if p.suffix in {".csv", ".txt", ".xlsx"})
    originals = {path: path.read_bytes() for path in files}
    texts = [path for path in files if path.suffix != ".xlsx"]
    tally: Counter[str] = Counter()
    slowest = 0.0
    with tempfile.TemporaryDirectory() as place:
        for number in range(count):
            # Workbooks take thirty times as long as text: one mutant in seventy.
            path = rng.choice(files if number % 10 == 0 else texts)
            data = mutant_of(path, originals[path], rng)
            mutant = Path(place) / f"mutant{path.suffix}"
            mutant.write_bytes(data)
            start = time.perf_counter()
            happened = outcomes(mutant, data)
            took = time.perf_counter() - start
            slowest = max(slowest, took)
            happened += [("hang", f"{took:.1f} s")] if took > SLOWEST_S else []
            for kind, text in happened:
                tally[kind] += 1
                if text:
                    print(f"{number} {path.name}: {kind}: {text}", flush=True)
    failures = sum(tally[kind] for kind in FAILURES)
    print(
        f"{count} mutants, seed {seed}: {dict(tally)}, slowest {slowest:.2f} s, {failures} failures"
    )
    return failures


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument(
        "--folder", type=Path, default=Path(__file__).parents[1] / "tests" / "lab" / "files"
    )
    given = parser.parse_args()
    sys.exit(1 if run(given.count, given.seed, given.folder) else 0)
