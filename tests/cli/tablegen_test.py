# boundary: the output of tablegen, its stream and exit code; the mistakes are introduced here, one at a time.
"""Usage: tablegen_test.py TABLEGEN TABLES OBJECT, the object being what the build made of the tables."""
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import unittest

TABLEGEN, TABLES, OBJECT = sys.argv[1], pathlib.Path(sys.argv[2]), sys.argv[3]
FILES = sorted(TABLES.glob("*/*.yaml"))


def run(*arguments):
    done = subprocess.run([TABLEGEN, *map(str, arguments)], capture_output=True, encoding="utf-8")
    return done.returncode, done.stdout, done.stderr


class Usage(unittest.TestCase):
    def expect_usage(self, *arguments):
        code, out, err = run(*arguments)
        self.assertEqual((code, out), (64, ""))
        self.assertIn("usage: tablegen --check", err)

    def test_nothing_to_do(self):
        self.expect_usage()

    def test_unknown_option(self):
        self.expect_usage("--verify", FILES[0])

    def test_no_tables(self):
        self.expect_usage("--check")
        self.expect_usage("--output", "x.cpp")
        self.expect_usage("--output")

    def test_help(self):
        code, out, err = run("--help")
        self.assertEqual((code, err), (0, ""))
        self.assertTrue(out.startswith("usage: tablegen --check"))


class Files(unittest.TestCase):
    def test_missing(self):
        code, out, err = run("--check", "no-such.yaml")
        self.assertEqual((code, out), (66, ""))
        self.assertEqual(err, "tablegen: no-such.yaml: No such file or directory\n")

    def test_directory(self):
        code, _, err = run("--check", TABLES)
        self.assertEqual(code, 66)
        self.assertIn("is a directory", err)

    def test_output_cannot_be_created(self):
        code, _, err = run("--output", "/no-such-folder/x.cpp", *FILES)
        self.assertEqual(code, 73)
        self.assertIn("/no-such-folder/x.cpp", err)


class Tables(unittest.TestCase):
    def test_nothing_that_their_errata_do_not_list(self):
        self.assertTrue(FILES)
        code, out, err = run("--check", *FILES)
        self.assertEqual((code, err), (0, ""))
        findings = [line for line in out.splitlines() if line.startswith("  ") and " times " not in line]
        self.assertIn("  38 \u00b5m, wire.preferred: 32 \u00b5m: 28 is above 25 of 38 \u00b5m (in the errata)", findings)  # both rows of a pair
        for finding in findings:
            self.assertTrue(finding.endswith("(in the errata)"), finding)

    def test_a_table_stands_where_its_name_says(self):
        for file in FILES:
            text = file.read_text("utf-8")
            standard = re.search(r"^standard: (.+)$", text, re.M).group(1)
            edition = re.search(r'^edition: "(.+)"$', text, re.M).group(1)
            self.assertEqual(file.relative_to(TABLES), pathlib.Path(standard) / f"{edition}.yaml")

    def test_output_is_the_same_each_time_and_ascii(self):
        with tempfile.TemporaryDirectory() as folder:
            texts = []
            for name in ("a.cpp", "b.cpp"):
                self.assertEqual(run("--output", f"{folder}/{name}", *FILES), (0, "", ""))
                texts.append(pathlib.Path(folder, name).read_bytes())
            self.assertEqual(texts[0], texts[1])
            self.assertTrue(texts[0].isascii())

    def test_editions_stand_in_the_order_of_their_years(self):
        with tempfile.TemporaryDirectory() as folder:
            shutil.copytree(TABLES, f"{folder}/tables")
            older = pathlib.Path(folder, "tables/astm-e11/98.yaml")
            older.write_text(pathlib.Path(folder, "tables/astm-e11/04.yaml").read_text("utf-8").replace('edition: "04"', 'edition: "98"'), "utf-8")
            files = sorted(pathlib.Path(folder, "tables").glob("*/*.yaml"))
            self.assertEqual(run("--output", f"{folder}/a.cpp", *reversed(files)), (0, "", ""))
            names = re.findall(r'^    "((?:astm-e11|iso-3310-1)-\d+)", ', pathlib.Path(folder, "a.cpp").read_text(), re.M)
        self.assertEqual(len(names), len(files))
        years = [(standard, int(year) if len(year) == 4 else 1900 + int(year) if year > "50" else 2000 + int(year))
                 for standard, year in (name.rsplit("-", 1) for name in names)]
        self.assertEqual(years, sorted(years))
        self.assertLess(names.index("astm-e11-98"), names.index("astm-e11-04"))

    def test_built_tables_need_no_start_up_code(self):
        sections = subprocess.run(["objdump", "-h", OBJECT], capture_output=True, text=True, check=True).stdout
        self.assertIn(".data.rel.ro", sections)
        for name in (".init_array", ".ctors", ".text.startup"):
            self.assertNotIn(name, sections)


class Mistakes(unittest.TestCase):
    """Each in a copy of a good table."""

    def check(self, table, old, new):
        with tempfile.TemporaryDirectory() as folder:
            shutil.copytree(TABLES, f"{folder}/tables")
            file = pathlib.Path(folder, "tables", table)
            text = file.read_text("utf-8")
            self.assertEqual(text.count(old), 1, old)
            file.write_text(text.replace(old, new), "utf-8")
            code, out, err = run("--check", file)
            return code, out.replace(folder, ""), err.replace(folder, "")

    ROW = '{nominal: "75",     average_tolerance: "3.7",  maximum_tolerance: "26",   standard_deviation_limit: "9.1"'

    def expect_finding(self, old, new, finding):
        code, out, err = self.check("iso-3310-1/2016.yaml", self.ROW, self.ROW.replace(old, new))
        self.assertEqual((code, err), (65, ""))
        self.assertIn(f"  {finding}\n", out)

    def test_syntax_and_strictness_name_the_place(self):
        code, out, err = self.check("iso-3310-1/2016.yaml", self.ROW, self.ROW.replace('"3.7"', "3.7"))
        self.assertEqual((code, out), (65, ""))
        self.assertRegex(err, r'^/tables/iso-3310-1/2016.yaml:207:44: a number without quotes: found \'3.7\', expected "3.7"\n$')

    def test_a_tolerance_of_another_size(self):
        self.expect_finding('"3.7"', '"7.3"', "75 µm, average_tolerance: 7.3 is above 3.9 of 80 µm")
        self.expect_finding('"3.7"', '"1.7"', "75 µm, average_tolerance: 0.41 times the formula of ISO 3310-1, not about 0.90")
        self.expect_finding('"26"', '"16"', "75 µm, maximum_tolerance: 0.56 times the formula of ISO 3310-1, not about 0.90")

    def test_a_limit_that_does_not_fit_the_tolerances(self):
        self.expect_finding('"9.1"', '"8.1"', "75 µm, standard_deviation_limit.compliance: (X + Y)/s x (1 + w/125 mm) is 3.67, not 3.05 to 3.45")

    def test_a_wire_with_two_ranges(self):
        old = '{preferred: "500", minimum: "430", maximum: "580"}}\n  - {nominal: "800"'
        code, out, _ = self.check("iso-3310-1/2016.yaml", old, old.replace("580", "590"))
        self.assertEqual(code, 65)
        self.assertIn("  900 µm, wire.maximum: 580 is 590 at 850 µm for the same wire\n", out)

    def test_a_wire_range_that_is_too_wide(self):
        old = '{preferred: "80", minimum: "68", maximum: "92"}'
        code, out, _ = self.check("iso-3310-1/2016.yaml", old, old.replace("92", "99"))
        self.assertEqual(code, 65)
        self.assertIn("  112 µm, wire.maximum: 1.238 of the preferred wire, not 1 to 1.22\n", out)

    def test_a_count_that_falls(self):
        old = 'counts: {compliance: "1000", inspection: "100", calibration: "300"}, wire: {preferred: "30"'
        code, out, _ = self.check("astm-e11/17.yaml", old, old.replace("300", "30"))
        self.assertEqual(code, 65)
        self.assertIn("  38 µm, counts.calibration: does not go on from the next larger size\n", out)

    def test_an_erratum_less(self):
        code, out, _ = self.check("iso-3310-1/1990.yaml", 'sizes: ["900"]\n    value: average_tolerance\n    date: "2026-11-25"\n    used: "31"',
                                  'sizes: ["800"]\n    value: average_tolerance\n    date: "2026-11-25"\n    used: "28"')
        self.assertEqual(code, 65)
        self.assertIn("  900 µm, average_tolerance: 31 is above 30 of 1 mm\n", out)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1])
