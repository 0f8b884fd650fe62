#!/usr/bin/env python3
"""outside_test.py TOOL: what people who had not seen the code found: readings misread, lost or counted twice without a word.

regression: each failed before; acceptance: an answer that rests on what was not measured is worse than none. The readings are random
numbers with fixed seeds; no limit is checked here, but whether the tool notices.
"""
import json
import pathlib
import random
import subprocess
import sys
import tempfile
import unittest

TOOL = None
SIZE = ["--standard", "astm-e11-17", "--size", "75um", "--grade", "inspection", "--viewing", "passed"]


def rows(count, seed=1, direction=("warp", "weft")):
    draw = random.Random(seed)
    return [f"{d},{draw.gauss(75, 2):.1f},{draw.gauss(50, 1):.1f}" for _ in range(count) for d in direction]


class Outside(unittest.TestCase):
    def setUp(self):
        kept = tempfile.TemporaryDirectory()
        self.addCleanup(kept.cleanup)
        self.folder = pathlib.Path(kept.name)

    def put(self, name, lines, header="direction,aperture_um,wire_um"):
        (self.folder / name).write_text("\n".join([header, *lines]) + "\n", encoding="utf-8")

    def tool(self, *arguments, code):
        done = subprocess.run([TOOL, *arguments], cwd=self.folder, capture_output=True, text=True, timeout=120, check=False)
        self.assertEqual(done.returncode, code, done.stderr + done.stdout[:500])
        return done

    def job(self, *files, more=""):
        (self.folder / "job.yaml").write_text(f"schema: sievecloth-job/1\n{more}readings: [{', '.join(files)}]\n", encoding="utf-8")
        return ["job.yaml", *SIZE]

    def test_a_file_saved_while_it_grew_counts_once(self):
        # boundary: 32 apertures of a direction in common are noticed; other readings are not
        self.put("first.csv", rows(50))
        for second, code in ((rows(50) + rows(1, 2), 65), (rows(40)[10:], 65), (rows(80, 3) + rows(32), 65), (rows(60, 4), 0)):
            self.put("second.csv", second)
            done = self.tool("check", *self.job("first.csv", "second.csv"), code=code)
            if code == 65:
                self.assertIn("second.csv:", done.stderr)
                self.assertIn("first.csv, which would count twice", done.stderr)

    def test_a_block_pasted_twice_is_cautioned(self):
        self.put("d.csv", rows(50) + rows(50))
        done = self.tool("check", "d.csv", *SIZE, "--json", code=0)
        warning, = [w for w in json.loads(done.stdout)["warnings"] if w["kind"] == "repeated-run"]
        self.assertEqual(warning["line"] - warning["earlier_line"], 100)
        self.put("d.csv", rows(100))
        self.assertNotIn("repeated-run", self.tool("check", "d.csv", *SIZE, "--json", code=0).stdout)
        self.put("d.csv", [f"{d},{75 + i % 7},50" for i in range(200) for d in ("warp", "weft")])  # a made-up sequence shows nothing
        self.assertNotIn("repeated-run", self.tool("check", "d.csv", *SIZE, "--json", code=0).stdout)

    def test_one_row_in_another_unit_is_cautioned(self):
        self.put("d.csv", [*rows(100), "warp,0.0794,0.0583"])
        self.assertIn("far from what this size can have", self.tool("check", "d.csv", *SIZE, code=0).stderr)

    def test_a_row_put_out_of_use_is_no_comment(self):
        for line, code in (("#warp,150,50,dubious", 65), ("#warp,150", 65), ("# warp, at the edge", 0), ("# measured twice", 0)):
            self.put("d.csv", [*rows(100), line])
            self.tool("check", "d.csv", *SIZE, code=code)

    def test_two_units_or_a_multiple_in_one_name_are_refused(self):
        for name, code in (("Weite (mm) um", 65), ("Weite um (mm)", 65), ("Weite 10 um", 65), ("Weite x10 um", 65), ("Weite 0,1 um", 65),
                           ("Weite 1/1000 mm", 65), ("Weite thou um", 65), ("Weite (um)", 0), ("Weite 2 (um)", 65), ("W2 um", 0)):
            self.put("d.csv", rows(100), f'direction,"{name}",wire_um')
            (self.folder / "job.yaml").write_text("schema: sievecloth-job/1\nreadings: d.csv\ncolumns: {aperture: '" + name + "'}\n")
            self.tool("check", "job.yaml", *SIZE, code=code)

    def test_one_unit_serves_files_of_which_some_name_it(self):
        self.put("named.csv", rows(60))
        self.put("plain.csv", rows(60, 2), "direction,aperture,wire")
        self.tool("check", *self.job("named.csv", "plain.csv", more="unit: um\n"), code=0)
        self.tool("check", *self.job("named.csv", "plain.csv", more="unit: mm\n"), code=65)

    def test_watch_ends_at_the_first_bad_row_however_the_bytes_arrive(self):
        self.put("d.csv", ["warp,x,", "warp,150,"])
        for options in ((), ("--stop-early",)):
            self.assertEqual(self.tool("watch", "d.csv", *SIZE, *options, code=65).stdout, "")

    def test_numbers_of_options_are_decimal(self):
        self.put("d.csv", rows(100))
        self.tool("check", "d.csv", *SIZE, "--agreed-count", "0100", code=64)

    def test_one_document_on_standard_output(self):
        plan = ["plan", "--standard", "astm-e11-17", "--size", "75um", "--grade", "inspection", "--frame", "200mm"]
        for options in (("--csv", "-", "--picture", "-"), ("--csv", "-", "--json"), ("--picture", "-", "--json")):
            self.assertEqual(self.tool(*plan, *options, code=64).stdout, "")

    def test_a_plan_marks_different_wires(self):
        # acceptance: the wires beside the same gap of a roll are one wire (geometry of a weave)
        done = self.tool("plan", "--standard", "astm-e11-17", "--size", "31.5mm", "--grade", "inspection", "--width", "48in", "--length",
                         "30m", "--csv", "-", code=0)
        marked = {}
        for line in done.stdout.splitlines():
            direction, field, gap, *_ = line.split(",") + [""] * 3
            if field.endswith("w"):
                marked.setdefault((direction, field), gap)
        for direction in ("warp", "weft"):
            gaps = [gap for (d, _), gap in marked.items() if d == direction]
            self.assertGreaterEqual(len(gaps), 10)
            self.assertEqual(len(set(gaps)), len(gaps))

    def test_a_factor_that_cannot_belong_to_its_probability(self):
        # source: Student's t (JCGM 100:2008, table G.2): 95.45 %, 5 degrees of freedom: 2.65; 50: 2.05
        self.put("d.csv", rows(100))
        for stated, code in (('coverage_probability: "68.27"', 65), ('degrees_of_freedom: "5"', 65),
                             ('coverage_factor: "2", coverage_probability: "95.45", degrees_of_freedom: "5"', 65),
                             ('coverage_factor: "2.65", coverage_probability: "95.45", degrees_of_freedom: "5"', 0),
                             ('coverage_factor: "2", coverage_probability: "95.45", degrees_of_freedom: "50"', 0)):
            budget = f'measured: {{uncertainty: {{budget: U-7, mean: {{expanded: "0.4 um", {stated}}}}}}}\n'
            self.tool("check", *self.job("d.csv", more=budget), code=code)

    def test_what_was_agreed_is_the_rule_of_the_job(self):
        self.put("d.csv", rows(100))
        job = self.job("d.csv", more="decision: {rule: simple-acceptance, agreed: Weir Works}\n")
        for options, agreed in (([], True), (["--decision", "simple-acceptance"], True), (["--decision", "four-outcomes"], False)):
            done = subprocess.run([TOOL, "check", *job, *options, "--report", "p.txt", "--overwrite"], cwd=self.folder,
                                  capture_output=True, text=True, check=False)
            self.assertLess(done.returncode, 3, done.stderr)
            self.assertEqual("agreed with Weir Works" in " ".join((self.folder / "p.txt").read_text(encoding="utf-8").split()), agreed)


if __name__ == "__main__":
    TOOL = str(pathlib.Path(sys.argv.pop(1)).resolve())
    unittest.main()
