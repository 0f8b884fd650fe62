# source: tests/data/standards/astm-e11-17.csv, a public transcription of ASTM E11-17; boundary: docs/cli.md and docs/tables.md;
# property: seeded typing errors in one sheet and in both
"""Usage: transcribe_test.py TOOL ROOT. Names and copies are invented."""
import csv
import hashlib
import io
import json
import pathlib
import random
import re
import subprocess
import sys
import tempfile
import unittest
from decimal import Decimal

TOOL, ROOT = sys.argv[1], pathlib.Path(sys.argv[2])
E11 = "astm-e11-17"
WHO = ["--copy", "controlled copy No. 3", "--by", "A. Fenwick", "--by", "B. Orrin", "--date", "2026-11-30"]
COLUMNS = {  # head of the sheet: column of the transcription
    "alternative designation": "alternative", "Y: tolerance of the average (+/-)": "average_tolerance_um",
    "X: tolerance of the largest (+)": "maximum_tolerance_um", "w + X: maximum individual opening": "maximum_individual_um",
    "wire diameter: preferred (typical)": "wire_typical_um", "wire diameter: smallest": "wire_min_um", "wire diameter: largest": "wire_max_um"}
for grade in ("compliance", "inspection", "calibration"):
    COLUMNS[f"standard deviation ({grade})"] = f"{grade}_s_um"
    COLUMNS[f"openings to measure ({grade})"] = f"{grade}_n"
RULES = {"grades": "yes", "what the standard deviation": "s", "number of openings is (compliance)": "area of cloth",
         "number of openings is (inspection)": "fixed", "number of openings is (calibration)": "fixed", "wires to measure": "10"}
OWN_TABLE = """schema: sievecloth-table/1
standard: house
edition: "3"
title: House rules
unit: um
rests_on: our own drawing
sources: [{id: drawing, title: "Drawing 12"}]
defaults: {rows: {provenance: seen, source: drawing}}
rules: {graded: false, wire_count: {value: "12", provenance: seen, source: drawing}}
rows: [{nominal: "77", average_tolerance: "4", maximum_tolerance: "29", wire: {preferred: "50", minimum: "43", maximum: "58"}}]
"""
ACCEPTED = """schema: sievecloth-accepted/1
accepted:
  - {size: "37500", value: standard_deviation_limit.compliance, printed: "1374", reason: so it is printed}
  - {size: "31500", value: standard_deviation_limit.compliance, printed: "1066", reason: so it is printed}
"""


def transcription():
    with open(ROOT / "tests/data/standards/astm-e11-17.csv", encoding="utf-8") as file:
        rows = {Decimal(row["nominal_um"]): row for row in csv.DictReader(file)}
    rows[Decimal(19000)]["wire_max_um"] = "3600"  # as built in; the misprint is tried below
    return rows


ROWS = transcription()


def shown(um, nominal):
    """In the unit of the size, as people copy it."""
    return f"{(Decimal(um) / (1000 if nominal >= 1000 else 1)).normalize():f}"


def size_of(row):
    number, _, unit = row[0].partition(" ")
    return Decimal(number) * {"um": 1, "mm": 1000}[unit] if unit in ("um", "mm") else None


class Sheet:
    def __init__(self, text):
        self.rows = list(csv.reader(io.StringIO(text)))

    def fill(self, sizes=None, rules=True, columns=None):
        for row in self.rows[2:]:
            nominal = size_of(row)
            if nominal is None:
                row[1] = next((value for rule, value in RULES.items() if rules and row[0].startswith(f"rule: {rule}")), "")
            elif sizes is None or nominal in sizes:
                for i, head in enumerate(self.rows[0]):
                    if head not in COLUMNS or (columns and head not in columns):
                        continue
                    value = ROWS[nominal][COLUMNS[head]]
                    row[i] = shown(value, nominal) if COLUMNS[head].endswith("_um") and value else value
        return self

    def row(self, nominal):
        return next(row for row in self.rows[2:] if size_of(row) == nominal)

    def column(self, head):
        return self.rows[0].index(head)

    def text(self):
        out = io.StringIO()
        csv.writer(out, lineterminator="\n").writerows(self.rows)
        return out.getvalue()


class Desk(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = pathlib.Path(folder.name)

    def run_tool(self, *arguments):
        done = subprocess.run([TOOL, *arguments], capture_output=True, encoding="utf-8", cwd=self.folder)
        return done.returncode, done.stdout, done.stderr

    def blank(self, *more, standard=E11):
        code, out, err = self.run_tool("transcribe", "--blank", "--standard", standard, *more)
        self.assertEqual((code, err), (0, ""))
        return Sheet(out)

    def transcribe(self, first, second, *more, standard=E11, accepted=ACCEPTED, who=WHO):
        (self.folder / "out.yaml").unlink(missing_ok=True)
        (self.folder / "a.csv").write_text(first)
        (self.folder / "b.csv").write_text(second)
        if accepted:
            (self.folder / "accept.yaml").write_text(accepted)
            more += ("--accept", "accept.yaml")
        result = self.run_tool("transcribe", "a.csv", "b.csv", "--standard", standard, *who, "--output", "out.yaml", *more)
        self.assertEqual((self.folder / "out.yaml").exists(), result[0] == 0, result)
        return result

    def both(self, **which):
        return self.blank().fill(**which), self.blank("--order", "shuffled").fill(**which)


class Blank(Desk):
    def test_a_row_for_each_size_and_rule(self):
        sheet = self.blank()
        self.assertEqual([size_of(row) for row in sheet.rows[2:] if size_of(row)], sorted(ROWS, reverse=True))
        self.assertTrue(all(cell == "" for row in sheet.rows[1:] for cell in row[1:]))
        self.assertTrue(set(COLUMNS) <= set(sheet.rows[0]))
        self.assertEqual(sum(row[0].startswith("rule: ") for row in sheet.rows), 12)

    def test_another_order_of_the_same_rows(self):
        first, second = self.blank(), self.blank("--order", "shuffled")
        self.assertNotEqual(first.rows, second.rows)
        self.assertEqual(sorted(first.rows), sorted(second.rows))
        self.assertEqual(second.rows, self.blank("--order", "shuffled").rows)

    def test_sizes(self):
        self.assertEqual([row[0] for row in self.blank("--size", "No. 200", "--size", "4.75mm").rows[2:4]], ["75 um", "4.75 mm"])
        self.assertEqual(self.blank(standard="astm-e11-29").rows, self.blank().rows)
        self.assertEqual(self.run_tool("transcribe", "--blank", "--standard", "house-3")[0], 64)
        self.assertEqual(self.run_tool("transcribe", "--blank", "--standard", E11, "--size", "77 furlongs")[0], 64)


class Copies(Desk):
    def test_cells_that_differ_are_named_with_both_places(self):
        first, second = self.both()
        second.row(Decimal(75))[second.column("Y: tolerance of the average (+/-)")] = "4.7"
        first.row(Decimal(90))[first.column("X: tolerance of the largest (+)")] = ""
        code, out, err = self.transcribe(first.text(), second.text())
        self.assertEqual((code, out), (65, ""))
        lines = [sheet.rows.index(sheet.row(Decimal(75))) + 1 for sheet in (first, second)]
        self.assertRegex(err, rf"a\.csv:{lines[0]}:\d+: 75 µm, Y.*'4\.1'.*'4\.7', as in b\.csv:{lines[1]}:\d+")
        self.assertRegex(err, r"b\.csv:\d+:\d+: 90 µm, X.*empty")

    def test_units_and_spellings_of_one_value(self):
        first, second = self.both()
        second.row(Decimal(75))[second.column("X: tolerance of the largest (+)")] = "0.029 mm"
        second.row(Decimal(75))[second.column("alternative designation")] = "#200"
        first.rows[1][first.column("wire diameter: largest")] = "mm"
        for row in first.rows[2:]:
            if size_of(row) and size_of(row) < 1000:
                row[first.column("wire diameter: largest")] = f"{Decimal(row[first.column('wire diameter: largest')]) / 1000:f}"
        self.assertEqual(self.transcribe(first.text(), second.text())[0], 0)

    def test_two_people_two_sheets(self):
        first, second = self.both()
        self.assertEqual(self.transcribe(first.text(), second.text(), who=WHO[:2] + ["--by", "A. Fenwick", "--by", " a. fenwick"] + WHO[6:])[0], 64)
        self.assertEqual(self.transcribe(first.text(), second.text(), who=WHO[:4] + WHO[6:])[0], 64)
        self.assertEqual(self.transcribe(first.text(), second.text(), who=WHO[:-1] + ["2026-11-31"])[0], 64)
        self.assertEqual(self.transcribe(first.text(), first.text())[0], 65)  # a copy of the first
        self.assertEqual(self.run_tool("transcribe", "a.csv", "a.csv", "--standard", E11, *WHO, "--output", "out.yaml")[0], 65)
        self.assertEqual(self.run_tool("transcribe", "a.csv", "b.csv", "--standard", E11, *WHO, "--output", "a.csv", "--overwrite")[0], 73)

    def test_what_is_no_sheet(self):
        first, second = self.both()
        for change in (lambda t: t.replace("size or rule", "size", 1), lambda t: t.replace("75 um", "75", 1), lambda t: t + "75 um" + "," * 14 + "\n",
                       lambda t: t.replace("rule: wires", "rule: wire", 1), lambda t: t.replace(",29,", ",29,,", 1), lambda t: t.replace(",29,", ",2 9,", 1)):
            code, _, err = self.transcribe(change(first.text()), second.text())
            self.assertEqual(code, 65)
            self.assertRegex(err, r"^a\.csv:\d+:\d+: ")


class Findings(Desk):
    def test_what_looks_wrong_is_accepted_with_a_reason(self):
        first, second = self.both()
        code, _, err = self.transcribe(first.text(), second.text(), accepted=None)
        self.assertEqual(code, 65)
        self.assertEqual([line.split(": ")[1] for line in err.splitlines() if "looks wrong" in line],
                         ["37.5 mm, standard deviation (compliance) looks wrong", "31.5 mm, standard deviation (compliance) looks wrong"])
        self.assertEqual(self.transcribe(first.text(), second.text())[0], 0)

    def test_what_differs_from_the_built_in_table(self):
        first, second = self.both()
        for sheet in (first, second):
            sheet.row(Decimal(19000))[sheet.column("wire diameter: largest")] = "3.5"  # the misprint of the public transcription
        code, _, err = self.transcribe(first.text(), second.text())
        self.assertEqual(code, 65)
        self.assertRegex(err, r"a\.csv:\d+:\d+: 19 mm.*\(wire\.maximum\).*'3500'.*3600, as astm-e11-17 has it")
        entry = '  - {size: "19000", value: wire.maximum, printed: "3500", reason: looked at by both}\n'
        code, _, err = self.transcribe(first.text(), second.text(), accepted=ACCEPTED + entry)
        self.assertEqual(code, 0, err)
        errata = json.loads(self.run_tool("size", "19 mm", "--standard", E11, "--tables", "out.yaml", "--json")[1])["editions"][0]["errata"]
        self.assertTrue(any("looked at by both (the built-in table astm-e11-17 has 3600)" == erratum["reason"] for erratum in errata), errata)

    def test_nothing_is_accepted_without_need_or_of_another_value(self):
        first, second = self.both()
        entry = '  - {size: "75", value: average_tolerance, printed: "4.1", reason: because}\n'
        self.assertIn("nothing looks wrong there", self.transcribe(first.text(), second.text(), accepted=ACCEPTED + entry)[2])
        self.assertEqual(self.transcribe(first.text(), second.text(), accepted=ACCEPTED.replace("1374", "1347"))[0], 65)
        self.assertEqual(self.transcribe(first.text(), second.text(), accepted=ACCEPTED.replace("so it is printed", '""'))[0], 65)


class Table(Desk):
    def test_the_same_limits_counts_and_rules(self):
        first, second = self.both()
        self.assertEqual(self.transcribe(first.text(), second.text())[0], 0)
        digest = hashlib.sha256((self.folder / "out.yaml").read_bytes()).hexdigest()

        def plain(document):
            """Without what says where a value comes from."""
            if isinstance(document, dict):
                return {key: plain(value) for key, value in document.items() if key not in ("provenance", "source", "errata", "sources", "table_set", "rests_on", "values", "also")}
            return [plain(item) for item in document] if isinstance(document, list) else document

        for nominal in ROWS:
            before, after = (json.loads(self.run_tool("size", f"{nominal}um", "--standard", E11, "--json", *tables)[1]) for tables in ([], ["--tables", "out.yaml"]))
            self.assertEqual(plain(before), plain(after))
            self.assertEqual(set(re.findall(r'"provenance": ?"([a-z-]+)"', json.dumps(after))), {"seen"})
        before, after = (json.loads(self.run_tool("editions", "--json", *tables)[1])["editions"] for tables in ([], ["--tables", "out.yaml"]))
        self.assertEqual(plain(before), plain(after))
        edition = next(edition for edition in after if edition["standard"] == E11)
        self.assertEqual({rule["provenance"] for rule in edition["rules"]}, {"seen"})
        self.assertEqual(edition["table_set"], f"transcribed from controlled copy No. 3 by A. Fenwick, verified by B. Orrin, 2026-11-30; SHA-256 {digest}")

    def test_a_plain_conforms(self):
        first, second = self.both()
        self.assertEqual(self.transcribe(first.text(), second.text())[0], 0)
        example = str(ROOT / "docs/examples/good-75um.yaml")
        code, out, err = self.run_tool("check", example, "--tables", "out.yaml", "--report", "p.txt", "--report", "p.json")
        self.assertEqual((code, err), (0, ""))
        self.assertTrue(out.startswith("conforms: 75 µm (No. 200), ASTM E11-17"), out)
        digest = hashlib.sha256((self.folder / "out.yaml").read_bytes()).hexdigest()
        for text in (out, (self.folder / "p.txt").read_text(), (self.folder / "p.json").read_text()):
            for words in ("controlled copy No. 3", "A. Fenwick", "B. Orrin", "2026-11-30", digest):
                self.assertIn(words, " ".join(text.split()).replace(" ", "") if words == digest else " ".join(text.split()))
        self.assertIs(json.loads(self.run_tool("check", example, "--tables", "out.yaml", "--json")[1])["provisional"], False)
        self.assertIn("conforms (provisional)", self.run_tool("check", example)[1])

    def test_what_was_not_copied_keeps_its_provenance(self):
        for which in (dict(sizes=[Decimal(75)], rules=False), dict(sizes=[Decimal(75)], rules=False, columns=["wire diameter: smallest"]), dict(sizes=[])):
            first, second = self.both(**which)
            code, _, err = self.transcribe(first.text(), second.text(), accepted=None)
            self.assertEqual(code, 0, err)
            code, out, _ = self.run_tool("check", str(ROOT / "docs/examples/good-75um.yaml"), "--tables", "out.yaml")
            self.assertEqual((code, out.startswith("conforms (provisional)")), (0, True))
        first, second = self.both(sizes=[Decimal(75)], rules=False, columns=["wire diameter: smallest"])
        self.assertEqual(self.transcribe(first.text(), second.text(), accepted=None)[0], 0)
        wire = json.loads(self.run_tool("size", "75um", "--standard", E11, "--tables", "out.yaml", "--json")[1])["editions"][0]["wire"]
        self.assertEqual({name: value["provenance"] for name, value in wire.items()}, {"minimum": "seen", "preferred": "second-hand", "maximum": "second-hand"})
        self.assertIn("library", wire["maximum"]["source"])

    def test_a_part_lies_over_a_part(self):
        """Two tables of one edition, each copied in part: both count, whatever their order, and both are named."""
        parts = []
        for name, which in (("row.yaml", dict(sizes=[Decimal(75)], rules=False)), ("rules.yaml", dict(sizes=[]))):
            first, second = self.both(**which)
            code, _, err = self.transcribe(first.text(), second.text(), accepted=None)
            self.assertEqual(code, 0, err)
            (self.folder / "out.yaml").rename(self.folder / name)
            parts.append(name)
        digests = [hashlib.sha256((self.folder / name).read_bytes()).hexdigest() for name in parts]
        for order in (parts, parts[::-1]):
            tables = [word for name in order for word in ("--tables", name)]
            code, out, err = self.run_tool("check", str(ROOT / "docs/examples/good-75um.yaml"), *tables, "--json")
            self.assertEqual((code, err), (0, ""))
            document = json.loads(out)
            self.assertIs(document["provisional"], False)
            for digest in digests:
                self.assertIn(digest, document["table_set"])
            editions = json.loads(self.run_tool("editions", *tables, "--json")[1])["editions"]
            self.assertEqual([edition["standard"] for edition in editions].count(E11), 1)
        code, out, err = self.run_tool("editions", "--compare", E11, E11, "--tables", parts[0])
        self.assertEqual((code, out, err), (0, "ASTM E11-17 -> ASTM E11-17, transcribed, lengths in um\nno difference\n", ""))

    def test_two_tables_of_one_name_are_refused(self):
        """Unless both are transcriptions."""
        (self.folder / "own.yaml").write_text(OWN_TABLE)
        code, out, err = self.run_tool("editions", "--tables", "own.yaml", "--tables", "own.yaml")
        self.assertEqual((code, out), (65, ""))
        self.assertIn("the name of another one", err)
        (self.folder / "other.yaml").write_text(OWN_TABLE.replace('edition: "3"', 'edition: "4"'))
        code, out, err = self.run_tool("editions", "--tables", "own.yaml", "--tables", "other.yaml", "--json")
        self.assertEqual((code, [edition["standard"] for edition in json.loads(out)["editions"]][-2:]), (0, ["house-3", "house-4"]))

    def test_each_copied_value_decides(self):
        """Here at 1 pm either side of a limit that differs from the built-in table's."""
        head = "X: tolerance of the largest (+)"
        first, second = self.both(sizes=[Decimal(75)], rules=False, columns=[head])
        for sheet in (first, second):
            sheet.row(Decimal(75))[sheet.column(head)] = "31"
        accepted = 'schema: sievecloth-accepted/1\naccepted: [{size: "75", value: maximum_tolerance, printed: "31", reason: tried}]\n'
        code, _, err = self.transcribe(first.text(), second.text(), accepted=accepted)
        self.assertEqual(code, 0, err)
        for aperture, expected in (("106", 2), ("106.000001", 1)):
            (self.folder / "r.csv").write_text(f"direction,aperture_um\nwarp,{aperture}\nweft,75\n")
            code, out, _ = self.run_tool("check", "r.csv", "--standard", E11, "--size", "75um", "--grade", "inspection", "--tables", "out.yaml")
            self.assertEqual((code, "tried (the built-in table astm-e11-17 has 29)" in out), (expected, True), out)

    def test_an_altered_table_is_refused(self):
        first, second = self.both(sizes=[Decimal(75)], rules=False)
        self.assertEqual(self.transcribe(first.text(), second.text(), accepted=None)[0], 0)
        table = (self.folder / "out.yaml").read_text()
        for altered in (table.replace('"4.1"', '"4.9"'), table[: table.rindex("#")], table + "\n"):
            (self.folder / "out.yaml").write_text(altered)
            code, _, err = self.run_tool("size", "75um", "--tables", "out.yaml")
            self.assertEqual((code, "altered" in err), (65, True), err)

    def test_a_new_edition(self):
        first, second = self.both(sizes=[Decimal(75), Decimal(90)])
        code, _, err = self.transcribe(first.text(), second.text(), accepted=None, standard="astm-e11-29")
        self.assertEqual(code, 0, err)
        code, out, _ = self.run_tool("check", str(ROOT / "docs/examples/good-75um.yaml"), "--standard", "astm-e11-29", "--tables", "out.yaml")
        self.assertEqual((code, out.splitlines()[0]), (0, "conforms: 75 µm (No. 200), ASTM E11-29, inspection grade"))
        first, second = self.both(sizes=[Decimal(75)], rules=False)
        self.assertEqual(self.transcribe(first.text(), second.text(), accepted=None, standard="astm-e11-29")[0], 65)


KINDS = ("digits swapped", "decimal lost", "column shifted", "row doubled", "unit wrong")


def mistype(sheet, kind, seed):
    """Returns the names of the cells that changed."""
    draw = random.Random(seed)
    while True:
        rows = [row for row in sheet.rows[2:] if size_of(row)]
        at = draw.randrange(1, len(rows))
        row, before = rows[at], list(rows[at])
        filled = [i for i, cell in enumerate(row) if i > 2 and cell and cell != "all"]
        i = draw.choice(filled)
        if kind == "digits swapped" and len(row[i].replace(".", "")) > 1:
            digits = [k for k, c in enumerate(row[i]) if c != "."]
            k = draw.randrange(len(digits) - 1)
            cell = list(row[i])
            cell[digits[k]], cell[digits[k + 1]] = cell[digits[k + 1]], cell[digits[k]]
            row[i] = "".join(cell)
        elif kind == "decimal lost":
            row[i] = row[i].replace(".", "")
        elif kind == "column shifted":
            row[i:] = ["", *row[i:-1]]
        elif kind == "row doubled":
            above = max(rows, key=lambda other: (size_of(other) < size_of(row), size_of(other)))
            row[2:] = above[2:]
        elif kind == "unit wrong":
            row[i] += " um" if size_of(row) >= 1000 else " mm"
        if row != before and not (kind == "unit wrong" and "openings" in sheet.rows[0][i]):
            return [(size_of(row), sheet.rows[0][k], before[k], row[k]) for k in range(len(row)) if row[k] != before[k]]
        row[:] = before


def loosens(changes):
    """Whether a limit became wider, or a count smaller; a cell of another unit counts as 1000 times as large."""
    for size, head, before, after in changes:
        if not before or not after or "all" in (before, after) or "designation" in head:
            continue
        factor = {"um": Decimal("0.001"), "mm": Decimal(1000)}.get(after.partition(" ")[2], 1)
        grows = Decimal(after.split()[0]) * factor - Decimal(before)
        if grows != 0 and (grows > 0) != ("smallest" in head or "measure" in head):
            return True
    return False


class TypingErrors(Desk):
    def test_none_in_one_sheet_passes(self):
        for seed in range(200):
            first, second = self.both()
            changes = mistype(second if seed % 2 else first, KINDS[seed % len(KINDS)], seed)
            self.assertEqual(self.transcribe(first.text(), second.text())[0], 65, changes)

    def test_few_in_both_sheets_pass(self):
        base = self.both()
        accepted = {E11: ACCEPTED, "house-17": ACCEPTED}
        passed = {E11: [], "house-17": []}
        loosened = 0
        for standard in accepted:
            code, _, err = self.transcribe(base[0].text(), base[1].text(), standard=standard, accepted=accepted[standard])
            self.assertEqual(code, 0, err)
        for seed in range(200):
            first, second = self.both()
            changes, again = (mistype_same(sheet, KINDS[seed % len(KINDS)], seed) for sheet in (first, second))
            self.assertEqual(changes, again)
            loosened += loosens(changes)
            for standard in passed:
                if self.transcribe(first.text(), second.text(), standard=standard, accepted=accepted[standard])[0] == 0:
                    passed[standard].append((KINDS[seed % len(KINDS)], loosens(changes), changes))
        for standard, through in passed.items():
            print(f"{standard}: the same misreading in both sheets: {len(through)} of 200 pass, {sum(loose for _, loose, _ in through)} of {loosened} that loosen a limit")
            for entry in through:
                print("   ", *entry)
        # Where an edition of the name is built in, only a cell that was lost passes: its value is the built-in one, not verified.
        self.assertEqual([entry for entry in passed[E11] if any(after for *_, after in entry[2])], [])
        self.assertLessEqual(sum(loose for _, loose, _ in passed["house-17"]), loosened * 0.02)  # plausibility alone


def mistype_same(sheet, kind, seed):
    """The same in each order of the rows."""
    order, sheet.rows[2:] = sheet.rows[2:], sorted(sheet.rows[2:], key=lambda row: (-(size_of(row) or 0), row[0]))
    changes = mistype(sheet, kind, seed)
    sheet.rows[2:] = order
    return changes


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1] + sys.argv[3:])
