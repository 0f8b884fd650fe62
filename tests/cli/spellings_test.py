# oracle: tables of readings in every spelling (fixed seed); identity: `check --json` says of each what it says of the plain one
"""spellings_test.py TOOL: random pieces, written plainly and in other spellings of names, units, numbers, encodings, layouts and files."""

import concurrent.futures
import decimal
import json
import os
import pathlib
import random
import subprocess
import sys
import tempfile

SEED = "sievecloth spellings 1"
CASES = 600
JOB = "schema: sievecloth-job/1\nstandard: astm-e11-17\nsize: 75um\ngrade: inspection\nviewing: {result: passed}\n"
UNITS = {"um": decimal.Decimal(1), "mm": decimal.Decimal(1000), "in": decimal.Decimal(25400)}
SIGNS = {"um": ("um", "\u00b5m", "\u03bcm"), "mm": ("mm", "MM"), "in": ("in", "IN")}
SHAPES = ("{}_{}", "{} ({})", "{}[{}]", "{}, {}", "{} / {}")
WORDS = {"warp": ("warp", "Warp", "WARP"), "weft": ("weft", "Weft", "shute", "Shoot")}
ENCODINGS = {"utf-8": "utf-8", "utf-8 with mark": "utf-8-sig", "utf-16": "utf-16", "utf-16 big": "utf-16-be", "windows-1252": "cp1252"}
FOREIGN = {"direction": "Richtung", "aperture": "Maschenweite", "wire": "Drahtst\u00e4rke", "field": "Feld", "gap": "L\u00fccke",
           "x": "Lage x", "y": "Lage y", "role": "Art", "operator": "Pr\u00fcfer"}


def piece(rng):
    """Rows as dicts of text, lengths in um; lengths are multiples of 0.0254 um, so that they are exact in inches too."""
    columns = ["direction", "aperture"] + rng.choice(([], ["wire"], ["wire", "field"], ["gap"], ["wire", "x", "y", "role"], ["wire", "operator", "field"]))
    rows = []
    for direction in ("warp", "weft"):
        for i in range(rng.randrange(1, 9)):
            row = {"direction": direction, "aperture": rng.randrange(2700, 3200) * decimal.Decimal("0.0254")}
            row |= {"wire": rng.choice(("", rng.randrange(1900, 2100) * decimal.Decimal("0.0254")))} if "wire" in columns else {}
            row |= {"field": rng.choice(("", "F1", "F 2"))} if "field" in columns else {}
            row |= {"gap": rng.choice(("", str(i)))} if "gap" in columns else {}
            row |= {"x": str(i), "y": f"-{i}.5"} if "x" in columns else {}
            row |= {"operator": rng.choice(("Ann", "Ben", ""))} if "operator" in columns else {}
            if "role" in columns:
                row["role"] = rng.choice(("", "sample", "suspect"))
                row["wire"] = "" if row["role"] == "suspect" else row["wire"]
            rows.append(row)
    return columns, rows


class Spelling:
    """One way to write a table. `named`: with foreign names of columns, which the job then gives."""

    def __init__(self, rng):
        self.rng = rng
        self.separator = rng.choice(",;\t")
        self.mark = "." if self.separator == "," else rng.choice(".,")
        self.units = {"aperture": rng.choice(list(UNITS)), "wire": rng.choice(list(UNITS)), "x": "mm", "y": "mm"}
        self.encoding = rng.choice(list(ENCODINGS))
        self.end = rng.choice(("\n", "\r\n"))
        self.named = rng.random() < 0.4 and self.encoding != "windows-1252"
        self.bare_unit = self.named and rng.random() < 0.5  # the unit stands in the job
        if self.bare_unit:
            self.units["wire"] = self.units["aperture"]
        self.quoted = rng.random() < 0.2

    def number(self, value, what):
        if value == "":
            return ""
        text = f"{decimal.Decimal(value) / UNITS[self.units[what]] if what in ('aperture', 'wire') else decimal.Decimal(value):f}"
        if "." in text:
            text = text.rstrip("0").removesuffix(".")
        if text.startswith("0.") and self.rng.random() < 0.5:
            text = text[1:]
        return text.replace(".", self.mark)

    def name(self, what, suffix=""):
        name = (FOREIGN[what] + suffix) if self.named else self.rng.choice((what, what.capitalize(), what.upper()))
        if what not in self.units or (self.bare_unit and what in ("aperture", "wire")):
            return name
        signs = SIGNS[self.units[what]]
        return self.rng.choice(SHAPES).format(name, self.rng.choice([s for s in signs if self.encoding != "windows-1252" or s != "\u03bcm"]))

    def cell(self, row, what):
        if what == "direction":
            return self.rng.choice(WORDS[row[what]])
        return self.number(row[what], what) if what in self.units else row[what]

    def write(self, header, rows):
        def line(cells):
            return self.separator.join(f'"{cell}"' if self.quoted or self.separator in cell else cell for cell in cells) + self.end

        text = line(header) + "".join(map(line, rows))
        mark = "\ufeff" if self.encoding == "utf-16 big" else ""
        return (mark + text).encode(ENCODINGS[self.encoding])

    def mapping(self, names, wide=None):
        """The `columns` of the job: of each kind of column, its name in the header."""
        if not self.named and not wide:
            return ""
        unit = {"unit": self.units["aperture"]} if self.bare_unit else {}
        return "columns: " + json.dumps((names if self.named else {}) | (wide or {}) | unit, ensure_ascii=False) + "\n"


def one_file(rng, folder, columns, rows):
    spelling = Spelling(rng)
    order = rng.sample(columns, len(columns))
    names = {what: spelling.name(what) for what in order}
    (folder / "a.csv").write_bytes(spelling.write(names.values(), [[spelling.cell(row, what) for what in order] for row in rows]))
    return spelling.mapping(names) + "readings: a.csv\n"


def files_of_parts(rng, folder, columns, rows):
    """Several files that follow each other."""
    spelling = Spelling(rng)
    names = {what: spelling.name(what) for what in columns}
    at = rng.randrange(1, len(rows))
    for name, part in (("a.csv", rows[:at]), ("b.csv", rows[at:])):
        (folder / name).write_bytes(spelling.write(names.values(), [[spelling.cell(row, what) for what in columns] for row in part]))
    return spelling.mapping(names) + "readings: [a.csv, b.csv]\n"


def files_of_directions(rng, folder, columns, rows):
    """A file for each direction, without or with the column that says so."""
    spelling = Spelling(rng)
    order = [what for what in columns if what != "direction" or (not spelling.named and rng.random() < 0.3)]
    if len(order) == 1:
        spelling.separator, spelling.mark = ",", "."  # alone, a comma is taken for a separator
    names = {what: spelling.name(what) for what in order}
    for direction in ("warp", "weft"):
        part = [[spelling.cell(row, what) for what in order] for row in rows if row["direction"] == direction]
        (folder / f"{direction}.csv").write_bytes(spelling.write(names.values(), part))
    return spelling.mapping(names) + "readings: {warp: warp.csv, weft: weft.csv}\n"


def wide(rng, folder, columns, rows):
    """A table with columns of each direction. What stands in a row need not belong together, but for a role and an operator."""
    if {"role", "operator"} & set(columns):
        return one_file(rng, folder, columns, rows)
    spelling = Spelling(rng)
    spelling.named = spelling.encoding != "windows-1252"
    spelling.bare_unit = False
    kinds = [what for what in columns if what != "direction"]
    names = {d: {what: (spelling.name(what, f" {d}") if spelling.named else f"{d} {what}" + ("_" + spelling.units[what] if what in spelling.units else "")) for what in kinds}
             for d in ("warp", "weft")}
    parts = [[row for row in rows if row["direction"] == direction] for direction in ("warp", "weft")]
    table = []
    for i in range(max(map(len, parts))):
        table.append([spelling.cell(part[i], what) if i < len(part) else "" for part in parts for what in kinds])
    (folder / "a.csv").write_bytes(spelling.write([names[d][what] for d in names for what in kinds], table))
    spelling.named = False
    return spelling.mapping({}, names) + "readings: a.csv\n"


def plainly(folder, columns, rows):
    units = {"aperture": "aperture_um", "wire": "wire_um", "x": "x_mm", "y": "y_mm"}
    lines = [",".join(units.get(what, what) for what in columns)] + [",".join(str(row[what]) for what in columns) for row in rows]
    (folder / "plain.csv").write_text("\n".join(lines) + "\n")
    return "readings: plain.csv\n"


def answer(tool, folder, job, more):
    (folder / "job.yaml").write_text(JOB + job, encoding="utf-8")
    return subprocess.run([tool, "check", "job.yaml", "--json", *more], cwd=folder, capture_output=True, text=True, timeout=120, check=False)


def case(tool, number):
    """None, or what is wrong."""
    rng = random.Random(f"{SEED} {number}")
    columns, rows = piece(rng)
    layout = rng.choice((one_file, one_file, files_of_parts, files_of_directions, wide))
    more = ["--how-sure"] if number % 7 == 0 and layout in (one_file, files_of_parts) else []
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        expected = answer(tool, folder, plainly(folder, columns, rows), more)
        found = answer(tool, folder, layout(rng, folder, columns, rows), more)
        if expected.returncode > 2 or found.returncode != expected.returncode or without_lines(found.stdout) != without_lines(expected.stdout):
            return f"case {number}, {layout.__name__}: {found.returncode} {found.stderr or found.stdout[:400]}\n{(folder / 'job.yaml').read_text()}"
    return None


def without_lines(text):
    """The answer without the lines of outliers, which depend on the layout."""
    document = json.loads(text) if text else None
    for sign in (document or {}).get("signs", []):
        for key in ("lines", "sentence"):
            sign.pop(key, None)
    return document


def main(tool):
    with concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as pool:
        failures = [failure for failure in pool.map(lambda number: case(tool, number), range(CASES)) if failure]
    print("\n".join(failures) or f"{CASES} spellings read alike")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main(pathlib.Path(sys.argv[1]).resolve()))
