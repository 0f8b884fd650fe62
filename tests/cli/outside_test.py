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

    def write_job(self, more, readings="d.csv", name="job.yaml"):
        (self.folder / name).write_text(f"schema: sievecloth-job/1\n{more}\nreadings: {readings}\n", encoding="utf-8")

    def paper(self, *options, code=0, job="job.yaml", name="p.txt", size=None):
        done = self.tool("check", job, *(SIZE if size is None else size), "--report", name, "--overwrite", *options, code=code)
        return " ".join((self.folder / name).read_text(encoding="utf-8").split()), done.stderr

    def test_a_recorded_visual_examination_counts(self):
        # --measured-only does without one that nobody recorded; what was examined and passed is no "measured quantities only"
        self.put("d.csv", rows(100))
        for options, criterion in ((["--viewing", "passed"], "met"), ([], "not-applicable")):
            done = self.tool("check", "d.csv", *SIZE[:-2], "--measured-only", *options, "--json", code=0)
            answer = json.loads(done.stdout)
            self.assertEqual(answer["measured_only"], not options)
            self.assertEqual([c["outcome"] for c in answer["criteria"] if c["id"] == "viewing"], [criterion])
        self.write_job("measured_only: true")
        paper, _ = self.paper()
        self.assertNotIn("left out", paper)

    def test_wires_of_one_gap_are_one_wire(self):
        # source: the trade's geometry: readings along one gap cross the same wire; boundary: nine and ten different gaps
        for gaps, outcome in ((9, "undecided"), (10, "met"), (None, "met")):
            lines = [f"{d},{75 + i % 7 / 10},{50 + i % 3 / 10 if i < 20 else ''},{i % gaps + 1 if gaps else ''}" for i in range(110)
                     for d in ("warp", "weft")]
            self.put("d.csv", lines, "direction,aperture_um,wire_um,gap")
            done = self.tool("check", "d.csv", *SIZE, "--json", code=0 if outcome == "met" else 2)
            wires = [c for c in json.loads(done.stdout)["criteria"] if c["id"] == "wire-diameter"]
            self.assertEqual([c["outcome"] for c in wires], [outcome] * 2)
            self.assertEqual([c["n"] for c in wires], [20] * 2)
            if outcome == "undecided":
                self.assertEqual(wires[0]["reasons"], ["too-few-different-wires"])

    def test_a_correction_is_that_of_a_reading(self):
        self.put("d.csv", [*rows(100), "warp,76.35,50.2"])
        line = "corrected: [{reading: line 202, was: 67.35 um, now: %s, reason: digits swapped, by: A. Weir, date: '2026-11-20'}]"
        for now, code in (("76.35 um", 0), ("0.07635 mm", 0), ("50.2 um", 0), ("76.36 um", 65), ("76.35", 65)):
            self.write_job(line % f"'{now}'")
            done = self.tool("check", "job.yaml", *SIZE, code=code)
            if now == "76.36 um":
                self.assertIn("job.yaml:2:", done.stderr)
                self.assertIn("no reading is 76.36 µm", done.stderr)

    def test_the_lines_of_a_budget_add_up(self):
        # source: JCGM 100:2008, 5.1.2 and 6.2.1: u_c is the root sum of squares of c u, U = k u_c; here 0.3, 0.4 and 0.5
        self.put("d.csv", rows(100))
        line = '{source: %s, value: "%s", distribution: normal, sensitivity: "%s", contribution: "%s"}'
        scale, other = line % ("scale", "0.3 um", "1", "0.3 um"), line % ("edges", "0.2 um", "2", "0.4 um")
        for expanded, lines, code in (("1.0 um", [scale, other], 0), ("1.1 um", [scale, other], 0), ("0.9 um", [scale, other], 65),
                                      ("1.0 um", [scale, line % ("edges", "0.2 um", "1", "0.4 um")], 65),
                                      ("1.0 um", [scale, line % ("heat", "0.5 K", "0.8 um/K", "0.4 um")], 0),
                                      ("1.0 um", [scale, line % ("heat", "0.5 K", "0.8 um/K", "0.5 um")], 65),
                                      ("1.0 um", [scale, line % ("edges", "some", "1", "0.4 um")], 65),
                                      ("1.0 um", [scale, line % ("edges", "400 nm", "1", "0.4 um")], 0),
                                      ("1.0 um", [scale, line % ("edges", "0.4 um", "1", "0.4")], 65)):
            self.write_job(f'measured: {{uncertainty: {{budget: U-7, expanded: "{expanded}", coverage_factor: "2", '
                           f"lines: [{', '.join(lines)}]}}}}")
            self.tool("check", "job.yaml", *SIZE, code=code)

    def test_a_failed_further_examination_stands_with_the_verdict(self):
        self.put("d.csv", rows(100))
        for record, said in (("result: dented, limit: none, outcome: not met", True), ("result: failed, limit: none", True),
                             ("result: no dents, limit: none, outcome: met", False), ("result: no dents", False)):
            self.write_job(f"examined: [{{what: frame, {record}}}]")
            paper, stderr = self.paper()
            head = paper[:paper.index(" Item ")]
            self.assertEqual("Not met in the further examinations: frame" in head, said)
            self.assertEqual("further examinations" in stderr, said)

    def test_a_complaint_about_a_date_stands_at_its_key(self):
        self.put("d.csv", rows(100))
        self.write_job("piece: {received: '2026-11-21'}\nmeasured:\n  date: '2026-11-20'\nviewing: {result: passed, date: '2026-11-22'}\n"
                       "report:\n  issued: '2026-11-22'\n  recalibration_agreed: '2026-11-20'")
        done = self.tool("check", "job.yaml", *SIZE, code=65)
        self.assertRegex(done.stderr, r"job.yaml:4:9: measured before the piece was received")
        self.assertRegex(done.stderr, r"job.yaml:8:25: recalibration before the report is issued")

    def test_the_frame_of_the_job_is_not_another_one(self):
        self.put("d.csv", rows(100))
        self.write_job("piece: {frame: {shape: round, diameter: 8 in}}")
        for frame, code in (("8in", 0), ("203.2mm", 0), ("200mm", 64)):
            done = self.tool("check", "job.yaml", *SIZE, "--frame", frame, code=code)
            self.assertEqual("contradicts the job file" in done.stderr, code == 64)

    def test_an_uncertainty_of_the_wire_as_large_as_the_wire(self):
        # boundary: the preferred wire of 75 um is 50 um
        self.put("d.csv", rows(100))
        for expanded, code in (("50 um", 65), ("49 um", 0)):
            self.write_job(f'measured: {{uncertainty: {{budget: U-7, wire: {{expanded: "{expanded}"}}}}}}')
            self.tool("check", "job.yaml", *SIZE, code=code)

    def test_a_scope_that_holds_nothing(self):
        self.put("d.csv", rows(100))
        self.write_job("")
        for smallest, largest, code in (("20 um", "125 mm", 0), ("75 um", "75 um", 0), ("125 mm", "20 um", 65)):
            (self.folder / "lab.yaml").write_text("schema: sievecloth-laboratory/1\nname: Weir Laboratory\n"
                                                  f"scope: {{smallest: {smallest}, largest: {largest}}}\n", encoding="utf-8")
            self.paper("--laboratory", "lab.yaml", code=code) if code == 0 else self.tool(
                "check", "job.yaml", *SIZE, "--report", "p.txt", "--overwrite", "--laboratory", "lab.yaml", code=code)

    def test_a_short_report_has_no_room_for_what_is_asked_beside_it(self):
        self.put("d.csv", rows(100))
        self.write_job("report: {short_agreed: Weir Works}")
        for option in ("--how-sure", "--opinions"):
            self.tool("check", "job.yaml", *SIZE, "--report", "p.txt", "--short", option, code=64)
        self.paper("--short")

    def test_what_a_document_lacks_is_said_on_the_terminal_and_in_the_summary(self):
        self.put("d.csv", rows(100))
        self.write_job("document: inspection-certificate")
        _, stderr = self.paper()
        self.assertIn("the following is missing", stderr)
        summary = self.tool("check", "job.yaml", *SIZE, "--summary", "s.csv", code=0)
        self.assertIn("the following is missing", (self.folder / "s.csv").read_text(encoding="utf-8"), summary.stdout)

    def test_the_summary_tells_as_found_from_as_left(self):
        self.put("d.csv", rows(100))
        self.put("e.csv", rows(100, 2))
        self.write_job("piece: {serial: S-1, state: as found}", name="found.yaml")
        self.write_job("piece: {serial: S-1, state: as left}", readings="e.csv", name="left.yaml")
        done = self.tool("check", "found.yaml", "left.yaml", *SIZE, "--summary", "s.csv", code=0)
        for text in (done.stdout, (self.folder / "s.csv").read_text(encoding="utf-8")):
            self.assertIn("as found", text)
            self.assertIn("as left", text)


if __name__ == "__main__":
    TOOL = str(pathlib.Path(sys.argv.pop(1)).resolve())
    unittest.main()
