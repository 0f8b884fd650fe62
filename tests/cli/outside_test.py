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
            watched = self.tool("watch", "d.csv", *SIZE, code=0 if outcome == "met" else 2).stdout.splitlines()[-1]
            self.assertEqual(json.loads(watched)["verdict"], "conforms" if outcome == "met" else "undecided")
            sizes = json.loads(self.tool("match", "d.csv", "--viewing", "passed", "--json", code=0).stdout)["matches"]
            fits = [size for size in sizes if (size["standard"], size.get("grade")) == ("astm-e11-17", "inspection")]
            self.assertEqual({size["verdict"] for size in fits if size["designation"].startswith("75 ")},
                             {"conforms" if outcome == "met" else "undecided"})

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

    # ---- what people write

    def test_a_size_as_it_is_printed_is_read(self):
        # identity: the names that `size` itself prints, and fractions as one character; boundary: two names of two sizes
        for size, designation in (("75 \u00b5m (No. 200)", "75 \u00b5m"), ("4.75 mm (No. 4)", "4.75 mm"), ("100 mm (4 in.)", "100 mm"),
                                  ("1\u00bc in.", "31.5 mm"), ("\u00bc\"", "6.3 mm"), ("No. 200 (75 um)", "75 \u00b5m")):
            self.assertTrue(self.tool("size", size, "--standard", "astm-e11-17", code=0).stdout.startswith(designation), size)
        self.tool("size", "75 um (No. 200)", "--standard", "iso-3310-1-2016", code=0)
        for edition in ("astm-e11-17", "iso-3310-1-2016"):
            done = self.tool("size", "75 um (No. 100)", "--standard", edition, code=64)
            self.assertIn("names of two sizes", done.stderr)
            self.assertIn("150 \u00b5m", done.stderr)

    def test_a_sieve_number_in_other_words_is_answered(self):
        for size in ("Nr. 200", "No. 200 mesh", "ASTM No. 200", "number 200"):
            self.assertIn("expected 'No. 200'", self.tool("size", size, "--standard", "astm-e11-17", code=64).stderr)
        self.assertNotIn("expected 'No.", self.tool("size", "No. 200 or 100", "--standard", "astm-e11-17", code=64).stderr)

    def test_lengths_with_the_units_that_people_write(self):
        plan = ["plan", "--standard", "astm-e11-17", "--size", "75um", "--grade", "inspection", "--frame"]
        expected = self.tool(*plan, "8in", code=0).stdout
        for frame in ("8 in.", "8\"", "8 inch", "8 inches", "8\u2033"):
            self.assertEqual(self.tool(*plan, frame, code=0).stdout, expected)
        self.assertEqual(self.tool(*plan, "20 cm", code=0).stdout, self.tool(*plan, "200 mm", code=0).stdout)
        self.assertNotIn("column", self.tool(*plan, "20000 m", code=64).stderr)

    def test_the_unit_of_a_job_has_its_sign(self):
        self.put("d.csv", rows(100), header="direction,aperture,wire")
        for unit in ("um", "\u00b5m", "\u03bcm"):
            self.tool("check", *self.job("d.csv", more=f"unit: {unit}\n"), code=0)

    def test_a_job_that_is_not_saved_as_it_must_be(self):
        self.put("d.csv", rows(100))
        text = "schema: sievecloth-job/1\nstandard: astm-e11-17\nsize: #200\ngrade: inspection\nreadings: d.csv\n"
        (self.folder / "job.yaml").write_text(text, encoding="utf-8")
        self.assertIn("in quotes", self.tool("check", "job.yaml", code=65).stderr)
        for encoding in ("utf-16", "utf-16-le", "cp1252"):
            (self.folder / "job.yaml").write_bytes(text.replace("#200", "75 \u00b5m").encode(encoding))
            self.assertIn("UTF-8", self.tool("check", "job.yaml", code=65).stderr.split("expected", 1)[1])

    def test_what_is_no_table_is_named(self):
        for begin in (b"PK\x03\x04", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"):
            for name in ("d.xlsx", "d.csv"):
                (self.folder / name).write_bytes(begin + bytes(range(256)) * 4)
                done = self.tool("check", name, *SIZE, code=65)
                self.assertIn("a spreadsheet's own file", done.stderr)
                self.assertIn("CSV UTF-8", done.stderr)

    def test_a_header_that_is_none_is_one_complaint(self):
        for header, said in (("#direction,aperture_um,wire_um", "readings where the names of columns should be"),
                             ('"direction;aperture_um;wire_um"', "the whole line in quotes"),
                             (",aperture_um,wire_um", "a column without a name")):
            self.put("d.csv", rows(100), header=header)
            done = self.tool("check", "d.csv", *SIZE, code=65)
            self.assertIn(said, done.stderr.splitlines()[0])
            self.assertLessEqual(len(done.stderr.splitlines()), 2)

    def test_a_summary_is_a_table_or_a_text(self):
        self.put("d.csv", rows(100))
        for name in ("s.json", "s.xlsx", "-"):
            done = self.tool("check", "d.csv", *SIZE, "--summary", name, code=64)
            self.assertIn(".csv or .txt", done.stderr)
            self.assertFalse((self.folder / name).exists())
        self.tool("check", "d.csv", *SIZE, "--summary", "s.CSV", "--summary", "s.txt", code=0)

    # ---- gauge

    def study(self, *people, trials=3, field=True, operator=False):
        draw = random.Random(11)
        true = [draw.gauss(75, 2) for _ in range(8)]
        for person in people:
            lines = [f"warp,{value + draw.gauss(0, 0.3):.2f},A{i}" for i, value in enumerate(true) for _ in range(trials)]
            self.put(f"{person}.csv", lines, header="direction,aperture_um,field")
        return [f"{person}.csv" for person in people]

    def test_a_study_that_is_not_even_says_whose_aperture(self):
        files = self.study("anna", "ben", "carla")
        lines = (self.folder / "ben.csv").read_text().splitlines()
        (self.folder / "ben.csv").write_text("\n".join(line for i, line in enumerate(lines) if i != 13) + "\n")
        done = self.tool("gauge", *files, code=65)
        self.assertTrue(done.stderr.startswith("ben.csv: "), done.stderr)
        self.assertIn("'A4'", done.stderr)
        self.assertRegex(done.stderr, "2 .*3")

    def test_a_copy_is_no_second_person(self):
        files = self.study("anna", "ben")
        (self.folder / "carla.csv").write_bytes((self.folder / "anna.csv").read_bytes() + b"")
        done = self.tool("gauge", *files, "carla.csv", code=65)
        self.assertTrue(done.stderr.startswith("carla.csv: "), done.stderr)
        self.assertIn("anna", done.stderr)

    def test_people_are_told_apart_by_the_column_operator(self):
        # identity: one file with a column of names is the files of these people
        files = self.study("anna", "ben", "carla")
        apart = json.loads(self.tool("gauge", *files, "--json", code=0).stdout)
        lines = [f"{line},{name[:-4]}" for name in files for line in (self.folder / name).read_text().splitlines()[1:]]
        self.put("all.csv", lines, header="direction,aperture_um,field,operator")
        self.assertEqual(json.loads(self.tool("gauge", "all.csv", "--json", code=0).stdout), apart)
        self.put("half.csv", [line if i % 2 else line.rsplit(",", 1)[0] + "," for i, line in enumerate(lines)],
                 header="direction,aperture_um,field,operator")
        self.assertIn("half.csv:2", self.tool("gauge", "half.csv", code=65).stderr)

    def test_a_study_of_another_size_is_cautioned(self):
        files = self.study("anna", "ben", "carla")
        fits = ["--standard", "astm-e11-17", "--size", "75um"]
        other = ["--standard", "astm-e11-17", "--size", "150um"]
        self.assertNotIn("warning", self.tool("gauge", *files, *fits, code=0).stderr)
        done = self.tool("gauge", *files, *other, code=0)
        self.assertIn("75 \u00b5m", done.stderr)


if __name__ == "__main__":
    TOOL = str(pathlib.Path(sys.argv.pop(1)).resolve())
    unittest.main()
