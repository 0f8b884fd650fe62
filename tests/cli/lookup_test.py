# boundary: the output of `size` and `editions`, its stream and exit code, against docs/cli.md and docs/tables.md
"""Usage: lookup_test.py TOOL DATA. The values themselves are compared with the tables' sources elsewhere, but for a few rows here."""
import csv
import json
import pathlib
import re
import subprocess
import sys
import tempfile
import unittest
from decimal import Decimal

TOOL, DATA = sys.argv[1], pathlib.Path(sys.argv[2])
TABLES = pathlib.Path(__file__).resolve().parents[2] / "tables"


def by_year(file):
    """`04` is 2004 and `98` is 1998."""
    year = int(file.stem)
    return file.parent.name, year if year >= 100 else 1900 + year if year >= 50 else 2000 + year


EDITIONS = [f"{file.parent.name}-{file.stem}" for file in sorted(TABLES.glob("*/*.yaml"), key=by_year)]
OWN_TABLE = """schema: sievecloth-table/1
standard: house
edition: "3"
title: House rules 3
unit: um
rests_on: our own drawing
sources: [{id: drawing, title: "Drawing 12"}]
defaults: {rows: {provenance: seen, source: drawing}}
rules:
  graded: false
  wire_count: {value: "12", provenance: seen, source: drawing}
rows:
  - {nominal: "77", alternative: "No. 195", average_tolerance: "4", maximum_tolerance: "29", wire: {preferred: "50", minimum: "43", maximum: "58"}}
"""


def run(*arguments):
    done = subprocess.run([TOOL, *arguments], capture_output=True, encoding="utf-8")
    return done.returncode, done.stdout, done.stderr


def document(*arguments):
    code, out, err = run(*arguments, "--json")
    assert (code, err) == (0, ""), (code, err)
    return json.loads(out)


class Size(unittest.TestCase):
    def test_every_edition_that_has_it(self):
        found = document("size", "No. 200")
        self.assertEqual(found["schema"], "sievecloth-size/1")
        self.assertEqual((found["designation"], found["nominal_um"]), ("75 µm", 75))
        self.assertEqual([row["standard"] for row in found["editions"]], EDITIONS)
        found = document("size", "2.5 mm")
        self.assertEqual([row["standard"] for row in found["editions"]], ["iso-3310-1-1990", "iso-3310-1-2016"])

    def test_one_edition(self):
        found = document("size", "75um", "--standard", "iso-3310-1-2016")
        self.assertEqual([row["standard"] for row in found["editions"]], ["iso-3310-1-2016"])

    def test_the_row_of_a_transcription(self):
        with open(DATA / "standards" / "astm-e11-17.csv", encoding="utf-8") as file:
            rows = {row["alternative"]: row for row in csv.DictReader(file)}
        for size in ("No. 200", "No. 4", "1/2 in."):
            printed, row = rows[size], document("size", size, "--standard", "astm-e11-17")["editions"][0]
            nominal, average = float(printed["nominal_um"]), float(printed["average_tolerance_um"])
            self.assertEqual(row["alternative"], size)
            self.assertAlmostEqual(row["average_aperture"]["lower_um"], nominal - average, 9)
            self.assertAlmostEqual(row["average_aperture"]["upper_um"], nominal + average, 9)
            self.assertEqual(row["maximum_aperture"]["upper_um"], float(printed["maximum_individual_um"]))
            for grade in ("compliance", "inspection", "calibration"):
                self.assertEqual(row["standard_deviation_limit"][grade]["value_um"], float(printed[f"{grade}_s_um"]))
                self.assertEqual(row["counts"][grade]["value"], int(printed[f"{grade}_n"]))
                self.assertEqual(row["counts"][grade]["source"], "sieve data of the library fluids (MIT licence)")
            self.assertEqual(row["wire"]["maximum"]["value_um"], float(printed["wire_max_um"]))
            self.assertEqual(row["wire"]["maximum"]["provenance"], "second-hand")

    def test_all_apertures_and_what_is_not_asked(self):
        row = document("size", "125 mm", "--standard", "astm-e11-17")["editions"][0]
        self.assertEqual(row["counts"]["inspection"], {"all_apertures": True, "provenance": "second-hand", "source": "sieve data of the library fluids (MIT licence)"})
        self.assertNotIn("standard_deviation_limit", row)
        row = document("size", "75 um", "--standard", "iso-3310-1-1990")["editions"][0]
        self.assertEqual(row["intermediate_limit"]["value_um"], 91)
        self.assertNotIn("counts", row)
        self.assertNotIn("alternative", row)

    def test_text_names_limit_provenance_and_source_in_each_line(self):
        code, out, err = run("size", "#200", "--standard", "astm-e11-17")
        self.assertEqual((code, err), (0, ""))
        lines = out.splitlines()
        self.assertEqual(lines[0], "75 µm (No. 200) in ASTM E11-17, astm-e11-17")
        self.assertRegex(lines[1], r"^  average aperture +70\.9 to 79\.1 µm +second-hand \(.+\)$")
        self.assertRegex(lines[2], r"^  maximum aperture +at most 104 µm +second-hand \(.+\)$")
        self.assertEqual(len(lines), 12)
        for line in lines[1:]:
            self.assertRegex(line, r" (seen|second-hand|computed|inferred|doubtful|memory) \(.+\)$")

    def test_errata_of_the_row_and_of_no_other(self):
        errata = document("size", "19 mm", "--standard", "astm-e11-17")["editions"][0]["errata"]
        self.assertEqual([(e["where"], e["printed"], e["used"]) for e in errata], [("19 mm, wire.maximum", "3500", "3600")])
        self.assertIn("  erratum: 19 mm, wire.maximum: printed 3500, used 3600 (2026-11-25). ", run("size", "19 mm")[1])
        self.assertEqual(document("size", "16 mm", "--standard", "astm-e11-17")["editions"][0]["errata"], [])

    def test_a_size_above_1_mm_is_shown_in_mm(self):
        self.assertIn("  average aperture                   4.6 to 4.9 mm", run("size", "No. 4", "--standard", "astm-e11-17")[1])

    def expect_usage(self, words, *arguments):
        code, out, err = run(*arguments)
        self.assertEqual((code, out), (64, ""))
        self.assertIn(words, err)
        code, out, err = run(*arguments, "--json")
        self.assertEqual((code, out), (64, ""))
        json.loads(err)

    def test_errors(self):
        self.expect_usage("expected 200 µm or 75 µm (No. 200)", "size", "200")
        self.expect_usage("the nearest are 80 µm above and 75 µm (No. 200) below", "size", "76 um")
        self.expect_usage("in ASTM E11-17 this is 75 µm", "size", "No. 200", "--standard", "iso-3310-1-2016")
        self.expect_usage("ASTM E11-17 has no such size", "size", "2.5 mm", "--standard", "astm-e11-17")
        self.expect_usage("one of astm-e11-04, astm-e11-17, iso-3310-1-1990, iso-3310-1-2016", "size", "75um", "--standard", "astm-e11")
        self.expect_usage("not a size", "size", "")
        self.expect_usage("SIZE", "size")


class Editions(unittest.TestCase):
    def test_what_each_rests_on(self):
        found = document("editions")
        self.assertEqual(found["schema"], "sievecloth-editions/1")
        self.assertEqual([edition["standard"] for edition in found["editions"]], EDITIONS)
        self.assertEqual([edition["sizes"] for edition in found["editions"]], [56, 56, 99, 99])
        self.assertEqual([edition["graded"] for edition in found["editions"]], [False, True, False, True])
        for edition in found["editions"]:
            self.assertTrue(edition["rests_on"] and edition["sources"] and edition["errata"] and edition["rules"])
            self.assertGreater(sum(edition["values"].values()), 300)

    def test_text(self):
        code, out, err = run("editions")
        self.assertEqual((code, err), (0, ""))
        self.assertEqual(re.findall(r"^(\S+): .* sizes from ", out, re.M), EDITIONS)
        self.assertIn("    19 mm, wire.maximum: printed 3500, used 3600 (2026-11-25). ", out)
        self.assertIn("    share: at most 6 % of the apertures above the intermediate limit - seen (European Pharmacopoeia", out)

    def test_owners_table(self):
        with tempfile.TemporaryDirectory() as folder:
            file = pathlib.Path(folder, "own.yaml")
            file.write_text(OWN_TABLE, "utf-8")
            own = document("editions", "--tables", str(file))["editions"][-1]
            self.assertEqual((own["standard"], own["table_set"], own["sources"]), ("house-3", "own table", ["Drawing 12"]))
            self.assertEqual(document("size", "No. 195", "--tables", str(file))["nominal_um"], 77)
            self.assertEqual(document("size", "77 um", "--tables", str(file), "--standard", "house-3")["designation"], "77 µm")
            self.assertEqual(len(document("size", "75 um", "--tables", str(file))["editions"]), len(EDITIONS))
            file.write_text(OWN_TABLE.replace('"77"', "77"), "utf-8")
            code, out, err = run("editions", "--tables", str(file))
            self.assertEqual((code, out), (65, ""))
            self.assertIn('own.yaml:13:15: a number without quotes: found \'77\', expected "77"', err)
            self.assertEqual(run("size", "77 um", "--tables", folder)[0], 66)
            self.assertEqual(run("size", "77 um", "--tables", f"{folder}/none.yaml")[0], 66)


def printed(name, *columns):
    """The values of a transcription, by nominal aperture."""
    with open(DATA / "standards" / f"{name}.csv", encoding="utf-8") as file:
        return {Decimal(row["nominal_um"]): [Decimal(row[column]) for column in columns] for row in csv.DictReader(file)}


class Comparison(unittest.TestCase):
    # source: tests/data/standards/*.csv, compared here by other code
    COLUMNS = {"average_tolerance": "average_tolerance_um", "maximum_tolerance": "maximum_tolerance_um"}

    def test_every_change_and_no_other(self):
        changes = document("editions", "--compare", "astm-e11-17", "iso-3310-1-2016")["changes"]
        e11, iso = (printed(name, *self.COLUMNS.values()) for name in ("astm-e11-17", "iso-3310-1-2016"))
        for i, value in enumerate(self.COLUMNS):
            expected = {(w, e11[w][i], iso[w][i]) for w in e11 if w in iso and e11[w][i] != iso[w][i]}
            found = {(Decimal(str(c["nominal_um"])), Decimal(c["first"]), Decimal(c["second"])) for c in changes if c["value"] == value}
            self.assertEqual(found, expected)
            self.assertGreater(len(found), 40)
        new = {Decimal(str(c["nominal_um"])) for c in changes if c["value"] == "nominal" and "first" not in c}
        gone = {Decimal(str(c["nominal_um"])) for c in changes if c["value"] == "nominal" and "second" not in c}
        self.assertEqual((new, gone), (set(iso) - set(e11), set(e11) - set(iso)))

    def test_the_other_way_round_is_the_same_reversed(self):  # property
        forward = document("editions", "--compare", "iso-3310-1-1990", "astm-e11-17")["changes"]
        back = document("editions", "--compare", "astm-e11-17", "iso-3310-1-1990")["changes"]
        key = lambda c, a, b: (c.get("nominal_um"), c["value"], c.get(a), c.get(b))
        self.assertEqual([key(c, "first", "second") for c in forward], [key(c, "second", "first") for c in back])

    def test_csv_and_text_say_the_same(self):
        changes = document("editions", "--compare", "iso-3310-1-1990", "iso-3310-1-2016")["changes"]
        code, out, err = run("editions", "--compare", "iso-3310-1-1990", "iso-3310-1-2016", "--csv")
        self.assertEqual((code, err), (0, ""))
        rows = list(csv.DictReader(out.splitlines()))
        self.assertEqual([(r["size"], r["value"], r["first"], r["second"]) for r in rows],
                         [(c.get("designation", ""), c["value"], c.get("first", ""), c.get("second", "")) for c in changes])
        code, text, err = run("editions", "--compare", "iso-3310-1-1990", "iso-3310-1-2016")
        self.assertEqual((code, err), (0, ""))
        lines = text.splitlines()
        self.assertEqual(lines[0], "ISO 3310-1:1990 -> ISO 3310-1:2016, lengths in um")
        self.assertEqual(lines[1].split(";")[:2], ["rules: graded no -> yes", " spread none -> K s from 0.005 / 0.005 / 0.00135"])
        self.assertRegex(text, r"(?m)^75 µm: average tolerance 4\.1 -> 3\.7; maximum tolerance 29 -> 26; ")
        self.assertEqual(len(lines), 2 + 99)

    def test_nothing_differs_from_itself(self):
        self.assertEqual(run("editions", "--compare", "astm-e11-04", "astm-e11-04"), (0, "ASTM E11-04 -> ASTM E11-04, lengths in um\nno difference\n", ""))

    def test_errors(self):
        for arguments in (["--compare"], ["--compare", "astm-e11-17"], ["--compare", *["astm-e11-17"] * 3], ["astm-e11-17"],
                          ["--compare", "astm-e11", "astm-e11-17"], ["--csv"], ["--compare", "astm-e11-17", "astm-e11-04", "--csv", "--json"]):
            code, out, err = run("editions", *arguments)
            self.assertEqual((code, out), (64, ""), arguments)
            self.assertTrue(err)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
