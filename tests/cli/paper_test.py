#!/usr/bin/env python3
# regression: what a paper says is so, and stands where docs/reports.md says; sources: ILAC-G8:09/2019, ILAC-P14:09/2020,
# ISO/IEC 17025:2017, 7.8 (clauses as docs/reports.md lists them)
"""paper_test.py TOOL"""
import html
import json
import pathlib
import random
import re
import shutil
import struct
import subprocess
import sys
import tempfile
import unittest
import zlib

ROOT = pathlib.Path(__file__).resolve().parents[2]
TOOL = str(pathlib.Path(sys.argv.pop(1)).resolve())
HEAD = 'schema: sievecloth-job/1\nstandard: astm-e11-17\nsize: "No. 200"\ngrade: inspection\n'
# With n = 100 equal parts above and below the mean, U of the mean is the budget's.
BUDGET = 'measured: {uncertainty: {budget: U-7, mean: {expanded: "0.4 um"}, largest: {expanded: "1 um"}, ' \
         'standard_deviation: {expanded: "0.1 um"}, wire: {expanded: "0.3 um"}}}\n'


def readings(warp, weft="75", wire="50", spread=1, largest=None):
    """100 readings a direction, with this mean exactly."""
    rows = ["direction,aperture_um,wire_um"]
    for direction, mean in (("warp", warp), ("weft", weft)):
        whole = round(float(mean) * 1000)
        for i in range(100):
            value = whole + (1000 if i % 2 else -1000) * spread
            rows.append(f"{direction},{value / 1000:.3f},{wire if i < 12 else ''}")
    if largest:
        rows.append(f"warp,{largest},")
    return "\n".join(rows) + "\n"


class Paper(unittest.TestCase):
    def setUp(self):
        self.temporary = tempfile.TemporaryDirectory()
        self.folder = pathlib.Path(self.temporary.name)
        self.put("r.csv", readings("75"))

    def tearDown(self):
        self.temporary.cleanup()

    def put(self, name, text):
        (self.folder / name).write_text(text, encoding="utf-8")

    def run_tool(self, *arguments, code=None):
        done = subprocess.run([TOOL, *arguments], cwd=self.folder, capture_output=True, text=True, timeout=120, check=False)
        if code is not None:
            self.assertEqual(done.returncode, code, (arguments, done.stdout[-400:], done.stderr[-800:]))
        return done

    def check(self, job, code=0, report="p.txt", more=()):
        """The JSON answer and the text of the report."""
        self.put("job.yaml", job)
        done = self.run_tool("check", "job.yaml", "--json", "--report", report, "--overwrite", *more, code=code)
        return json.loads(done.stdout), (self.folder / report).read_text(encoding="utf-8")

    def refused(self, job, words, more=()):
        self.put("job.yaml", job)
        done = self.run_tool("check", "job.yaml", *more, code=65)
        for word in words:
            self.assertIn(word, done.stderr)
        self.assertRegex(done.stderr, r"job\.yaml:\d+:\d+: ")

    # ---- decision rules

    def test_guarded_acceptance_on_both_sides(self):
        job = HEAD + "viewing: {result: passed}\ndecision: {rule: guarded-acceptance}\n" + BUDGET + "readings: r.csv\n"
        # tolerance to 79.1, U = 0.4: acceptance to 78.7
        for mean, statement, code, margin in (("78.7", "conforms", 0, 0), ("78.701", "not-accepted", 1, -0.001),
                                              ("79.1", "not-accepted", 1, -0.4), ("79.101", "does-not-conform", 1, -0.401)):
            self.put("r.csv", readings(mean))
            answer, paper = self.check(job, code)
            with self.subTest(mean):
                self.assertEqual(answer["statement"], statement)
                self.assertEqual(answer["verdict"], "conforms" if code == 0 else "does-not-conform")
                row = next(c for c in answer["criteria"] if c["id"] == "average-aperture" and c["direction"] == "warp")
                self.assertEqual((row["lower_um"], row["upper_um"]), (70.9, 79.1))
                self.assertEqual((row["acceptance_lower_um"], row["acceptance_upper_um"], row["guard_um"]), (71.3, 78.7, 0.4))
                self.assertAlmostEqual(row["margin_um"], margin, 12)
                self.assertEqual(row["statement"], "not-accepted" if statement == "not-accepted" else row["outcome"])
                self.assertEqual("Not accepted: inside the tolerance, within the guard band" in paper, statement == "not-accepted")
                self.assertEqual("Does not conform" in paper, statement == "does-not-conform")
                self.assertIn("decision rule: guarded acceptance", paper)
                self.assertIn("71.3 to 78.7", paper)

    def test_one_criterion_beyond_its_limit_is_enough(self):
        job = HEAD + "viewing: {result: passed}\ndecision: {rule: guarded-acceptance}\n" + BUDGET + "readings: r.csv\n"
        self.put("r.csv", readings("78.75", largest="104.001"))  # the mean in its guard band, the largest beyond w + X = 104
        self.assertEqual(self.check(job, 1)[0]["statement"], "does-not-conform")
        self.put("r.csv", readings("78.75", largest="104"))
        self.assertEqual(self.check(job, 1)[0]["statement"], "not-accepted")

    def test_four_outcomes_by_name(self):
        job = HEAD + "viewing: {result: passed}\ndecision: {rule: four-outcomes}\n" + BUDGET + "readings: r.csv\n"
        expected = (("78.7", "pass", 0), ("78.701", "conditional-pass", 2), ("79.1", "conditional-pass", 2),
                    ("79.101", "conditional-fail", 2), ("79.5", "conditional-fail", 2), ("79.501", "fail", 1))
        for mean, statement, code in expected:
            self.put("r.csv", readings(mean))
            answer, paper = self.check(job, code)
            self.assertEqual(answer["statement"], statement, mean)
            self.assertIn(f"\n{statement.replace('-', ' ').capitalize()}\n", paper)
        # evidence that is missing leaves the piece undecided, whatever the rest says
        answer, paper = self.check(job.replace("viewing: {result: passed}\n", ""), 1)
        self.assertEqual(answer["statement"], "fail")
        self.put("r.csv", readings("78.8"))
        answer, paper = self.check(job.replace("viewing: {result: passed}\n", ""), 2)
        self.assertEqual(answer["statement"], "undecided")
        self.assertIn("\nUndecided\n", paper)

    def test_statement_repeats_the_verdict(self):
        answer, paper = self.check(HEAD + "viewing: {result: passed}\nreadings: r.csv\n")
        self.assertEqual(answer["statement"], "conforms")
        self.assertTrue(all("statement" not in criterion for criterion in answer["criteria"]))
        self.assertIn("decision rule: simple acceptance", paper)

    # ---- uncertainty

    def test_the_larger_uncertainty_is_the_one(self):
        sources = 'uncertainty: {scale_factor: "0", scale_offset: "0.1 um", repeatability: "1 um"}\n'
        # U of the mean: k = 2.000 of 0.1 and 0.1 = 1/sqrt(100), with a resolution of 0.1 um: 0.2829; worked by hand (JCGM 100)
        for stated, used, warned in (("0.2 um", 0.2829, True), ("0.5 um", 0.5, False)):
            job = (HEAD + f'viewing: {{result: passed}}\nmeasured: {{resolution: "0.1 um", uncertainty: {{budget: U-7, mean: '
                   f'{{expanded: "{stated}"}}}}}}\n' + sources + "readings: r.csv\n")
            answer, paper = self.check(job)
            mean = answer["uncertainty"]["warp"]["mean"]
            self.assertAlmostEqual(mean["expanded_um"], used, 3)
            self.assertEqual(mean["from_budget"], not warned)
            self.assertEqual(any(w["kind"] == "budget-is-smaller" for w in answer["warnings"]), warned)
            self.assertEqual("budget states less" in paper.replace("\n", " "), warned)

    def test_uncertainty_that_cannot_be(self):
        job = HEAD + 'viewing: {{result: passed}}\nmeasured: {{uncertainty: {{budget: U-7, expanded: "{}"}}}}\nreadings: r.csv\n'
        self.refused(job.format("6 mm"), ["as large as the aperture", "6000 um", "75"])
        self.refused(job.format("75 um"), ["as large as the aperture"])
        answer, _ = self.check(job.format("4.1 um"))
        self.assertTrue(any(w["kind"] == "too-uncertain" for w in answer["warnings"]))
        answer, _ = self.check(job.format("4.09 um"))
        self.assertFalse(any(w["kind"] == "too-uncertain" for w in answer["warnings"]))

    def test_a_factor_says_what_it_covers(self):
        job = HEAD + "viewing: {{result: passed}}\nmeasured: {{uncertainty: {{budget: U-7, mean: {{expanded: \"0.6 um\"{}}}}}}}\n" \
                     "readings: r.csv\n"
        # source: JCGM 100:2008, G.3: k = 1 covers 68.27 %, 2 covers 95.45 %, 3 covers 99.73 % of a normal distribution
        for more, expected in (("", 0.6), (", coverage_factor: \"1\"", 1.2), (", coverage_factor: \"3\"", 0.4),
                               (", coverage_factor: \"1.65\", coverage_probability: \"95\"", 0.6)):
            answer, _ = self.check(job.format(more))
            self.assertAlmostEqual(answer["uncertainty"]["warp"]["mean"]["expanded_um"], expected, 4, more)
        self.refused(job.format(", coverage_factor: \"1.5\", coverage_probability: \"95\""), ["too small for its probability"])

    def test_an_uncertainty_from_the_sources_is_bounded_too(self):
        job = HEAD + 'viewing: {{result: passed}}\nmeasured: {{resolution: "0.1 um"}}\nuncertainty: {{scale_factor: "{}", ' \
                     'repeatability: "0.1 um"}}\nreadings: r.csv\n'
        self.put("job.yaml", job.format("0.9"))
        self.assertIn("as large as the aperture", self.run_tool("check", "job.yaml", code=65).stderr)
        self.check(job.format("0.0005"))

    def test_the_guard_band_of_k_s_is_how_far_its_limit_moved(self):
        job = HEAD.replace("astm-e11-17", "iso-3310-1-2016").replace('"No. 200"', "75um") + \
            'viewing: {result: passed}\ndecision: {rule: guarded-acceptance, guard_factor: "1.5"}\n' + BUDGET + "readings: r.csv\n"
        for spread in (1, 4, 6):
            self.put("r.csv", readings("75", spread=spread))
            self.put("job.yaml", job)
            answer = json.loads(self.run_tool("check", "job.yaml", "--json").stdout)
            for row in answer["criteria"]:
                if row["id"] != "aperture-standard-deviation":
                    continue
                self.assertAlmostEqual(row["guard_um"], row.get("factor", 1) * 0.15, 5)
                self.assertAlmostEqual(row["acceptance_upper_um"], row["upper_um"] - row["guard_um"], 9)
                self.assertEqual(row["statement"] == "not-accepted", row["acceptance_upper_um"] < row["observed_um"] <= row["upper_um"])

    def test_blanks_are_no_text(self):
        self.refused(HEAD + 'viewing: {result: passed}\nreport: {number: "  "}\nreadings: r.csv\n', ["nothing but blanks"])
        self.refused(HEAD + 'viewing: {result: passed}\nreport: {number: N-1, replaces: " N-1 "}\nreadings: r.csv\n', ["replace itself"])
        self.refused(HEAD + "viewing: {result: passed}\nreport: {amendment: name}\nreadings: r.csv\n", ["without the report it amends"])

    def test_an_exact_guard_band_is_exact(self):
        # 1.5 times 0.14 um is 0.21 um: 103.79 um is accepted, limits being included
        job = HEAD + 'viewing: {result: passed}\ndecision: {rule: guarded-acceptance, guard_factor: "1.5"}\n' + \
            BUDGET.replace('largest: {expanded: "1 um"}', 'largest: {expanded: "0.14 um"}') + "readings: r.csv\n"
        for largest, statement, code in (("103.79", "conforms", 0), ("103.790001", "not-accepted", 1)):
            self.put("r.csv", readings("75", largest=largest))
            self.assertEqual(self.check(job, code)[0]["statement"], statement)

    def test_accredited_capability(self):
        job = HEAD + 'viewing: {{result: passed}}\nmeasured: {{uncertainty: {{budget: U-7, expanded: "{}"}}}}\nreadings: r.csv\n'
        self.put("lab.yaml", 'schema: sievecloth-laboratory/1\nname: Weir Mesh Laboratory\ncmc: {mean: {expanded: "0.4 um"}}\n'
                             'scope: {standards: [astm-e11-17], figures: [mean]}\n')
        self.refused(job.format("0.399 um"), ["below the laboratory's accredited capability", "0.399", "0.4"],
                     ["--laboratory", "lab.yaml"])
        _, paper = self.check(job.format("0.4 um"), more=["--laboratory", "lab.yaml"])
        self.assertIn("not within the laboratory's accredited scope: Largest opening", paper.replace("\n", " ").replace("  ", " "))
        self.assertNotRegex(paper, r"Average opening +0\.40 .*not within")

    def test_the_laboratory_s_budget_is_used_where_the_job_has_none(self):
        self.put("lab.yaml", 'schema: sievecloth-laboratory/1\nname: Weir Mesh Laboratory\nuncertainty: {mean: {expanded: "0.7 um"}}\n')
        answer, _ = self.check(HEAD + "viewing: {result: passed}\nreadings: r.csv\n", more=["--laboratory", "lab.yaml"])
        self.assertEqual(answer["uncertainty"]["weft"]["mean"]["expanded_um"], 0.7)

    # ---- dates and numbers

    def test_dates_that_contradict_each_other(self):
        job = (HEAD + 'viewing: {{result: passed, date: "{viewed}"}}\npiece: {{received: "{received}"}}\nsampled: {{date: "{sampled}"}}\n'
               'measured: {{date: "{date}", until: "{until}"}}\n'
               'report: {{number: N-1, issued: "{issued}", recalibration_agreed: "{again}"}}\nreadings: r.csv\n')
        good = {name: "2026-11-10" for name in ("viewed", "received", "sampled", "date", "until", "issued", "again")}
        self.check(job.format(**good))
        for name, day in (("issued", "2026-11-09"), ("received", "2026-11-11"), ("sampled", "2026-11-11"), ("again", "2026-11-09"),
                          ("until", "2026-11-09"), ("viewed", "2026-11-11")):
            with self.subTest(name):
                self.refused(job.format(**{**good, name: day}), ["2026-11-1"])

    def test_a_report_does_not_replace_itself(self):
        self.refused(HEAD + "viewing: {result: passed}\nreport: {number: N-1, replaces: N-1}\nreadings: r.csv\n", ["replace itself"])

    def test_numbers_and_serials_of_a_batch(self):
        job = HEAD + 'viewing: {{result: passed}}\npiece: {{serial: {}, state: {}}}\nreport: {{number: {}}}\nreadings: {}\n'
        self.put("s.csv", readings("75.1"))
        self.put("a.yaml", job.format("T-1", "as found", "N-1", "r.csv"))
        self.put("b.yaml", job.format("T-2", "as found", "N-1", "s.csv"))
        done = self.run_tool("check", "a.yaml", "b.yaml", "--report", "{}.txt", code=65)
        self.assertIn("the same report number as a.yaml", done.stderr)
        self.assertFalse((self.folder / "a.txt").exists())
        self.put("b.yaml", job.format("T-1", "as found", "N-2", "r.csv"))
        done = self.run_tool("check", "a.yaml", "b.yaml", code=0)
        self.assertIn("the same serial number as a.yaml", done.stderr)
        self.assertIn("the same file of readings as a.yaml", done.stderr)
        for files in (["r.csv", "./r.csv"], ["a.yaml", "r.csv"], ["r.csv", "a.yaml"]):  # by whatever way it is named
            done = self.run_tool("check", *files, "--standard", "astm-e11-17", "--size", "75um", "--grade", "inspection", "--viewing", "passed", code=0)
            self.assertIn(f"the same file of readings as {files[0]}", done.stderr)
        self.put("b.yaml", job.format("T-1", "as left", "N-2", "s.csv"))  # two reports on one piece, as meant
        self.assertNotIn("as a.yaml", self.run_tool("check", "a.yaml", "b.yaml", code=0).stderr)

    # ---- what was done

    def test_a_certificate_without_number_or_date_is_a_draft(self):
        for number, issued, draft in (("", "2026-11-11", True), ("N-1", "", True), ("N-1", "2026-11-11", False)):
            paper = "".join([f"number: {number}, " if number else "", f'issued: "{issued}", ' if issued else "", "customer: C"])
            job = HEAD + f"viewing: {{result: passed}}\ndocument: inspection-certificate\nreport: {{{paper}}}\nreadings: r.csv\n"
            _, text = self.check(job)
            self.assertEqual(text.startswith("DRAFT\n"), draft)
            _, page = self.check(job, report="p.html")
            self.assertEqual('@top-center { content: "DRAFT"' in page, draft)
        self.assertFalse(self.check(HEAD + "viewing: {result: passed}\nreadings: r.csv\n")[1].startswith("DRAFT"))  # a record

    def test_sentences_follow_from_what_was_done(self):
        """500 jobs in which random parts are left out."""
        chance = random.Random(20261130)
        header = "direction,aperture_um,wire_um\n"
        for number in range(500):
            has = {name: chance.random() < 0.5 for name in ("viewing", "wires", "apertures_only", "warp", "budget", "trace", "examined",
                                                            "supplied", "agreed", "frame", "number", "external", "corrected")}
            rows = readings("75").splitlines()[1:]
            if not has["wires"]:
                rows = [row.rsplit(",", 1)[0] + "," for row in rows]
            if not has["warp"]:
                rows = [row for row in rows if row.startswith("weft")]
            self.put("r.csv", header + "\n".join(rows) + "\n")
            job = HEAD + "readings: r.csv\n"
            job += "viewing: {result: passed}\n" if has["viewing"] else ""
            job += "apertures_only: true\n" if has["apertures_only"] else ""
            measured = ['uncertainty: {budget: U-7, mean: {expanded: "0.4 um"}}'] if has["budget"] else []
            measured += ["scale: {certificate: C-1, traceability: to the metre by C-1}"] if has["trace"] else []
            job += f"measured: {{{', '.join(measured)}}}\n" if measured else ""
            job += "examined: [{what: joint, result: closed}]\n" if has["examined"] else ""
            job += 'corrected: [{reading: line 2, was: "67 um", now: "76 um", reason: swapped, by: A, date: "2026-11-01"}]\n' \
                if has["corrected"] else ""
            job += "decision: {rule: simple-acceptance, agreed: Weir Works}\n" if has["agreed"] else ""
            job += "piece: {material: bronze}\n"
            paper = ["supplied_by_customer: [material]"] if has["supplied"] else []
            paper += ["number: N-7"] if has["number"] else []
            paper += ["external: [alloy by Weir Works]"] if has["external"] else []
            job += f"report: {{{', '.join(paper)}}}\n" if paper else ""
            self.put("job.yaml", job)
            done = self.run_tool("check", "job.yaml", "--json", "--report", "p.txt", "--overwrite")
            self.assertIn(done.returncode, (0, 1, 2), done.stderr)
            answer = json.loads(done.stdout)
            text = " ".join((self.folder / "p.txt").read_text(encoding="utf-8").split())
            wires = has["wires"]  # measured, whether they are judged or not
            for sentence, expected in (
                    ("visual examination of all openings (both tests)", has["viewing"]),
                    ("Openings and wire diameters measured", wires),
                    ("Openings measured", not wires),
                    ("separately parallel to the warp and to the shute", has["warp"]),
                    ("Expanded measurement uncertainty of each figure", has["budget"]),
                    ("budget of the laboratory", has["budget"]),
                    ("Metrological traceability to the metre", has["trace"]),
                    ("No certificate of the length standard is stated", not has["trace"]),
                    ("Frame, marking, cleanliness and the joint of cloth and frame were not examined", not has["examined"]),
                    ("Nothing was examined besides what is listed here", has["examined"]),
                    ("Material (supplied by the customer) bronze", has["supplied"]),
                    ("can affect the validity of the results", has["supplied"]),
                    ("agreed with Weir Works", has["agreed"]),
                    ("End of report N-7", has["number"]),
                    ("End of report sievecloth-report/1", not has["number"]),
                    ("Results from external providers", has["external"]),
                    ("Corrected readings", has["corrected"])):
                self.assertEqual(sentence in text, expected, (number, sentence, has))
            self.assertEqual("mean" in answer["uncertainty"]["weft"], has["budget"])

    def test_where_all_were_measured_all_are_required(self):
        self.put("r.csv", readings("75"))
        job = HEAD + 'viewing: {result: passed}\nall_apertures: true\napertures_in_piece: 100\nreadings: r.csv\n'
        self.put("job.yaml", job.replace("inspection", "compliance"))
        self.run_tool("check", "job.yaml", "--report", "p.txt")
        text = (self.folder / "p.txt").read_text(encoding="utf-8")
        self.assertRegex(text, r"Number of openings +100 +100 +all ")
        self.assertIn("Every full opening", text)
        self.assertNotIn("At least", text)

    def test_a_correction_changes_something(self):
        row = 'corrected: [{{reading: line 2, was: "{} um", now: "{} um", reason: swapped, by: A, date: "2026-11-01"}}]\n'
        self.put("r.csv", readings("75"))
        self.refused(HEAD + row.format("76", "76") + "readings: r.csv\n", ["corrected to the same value"])
        self.check(HEAD + "viewing: {result: passed}\n" + row.format("67", "76") + "readings: r.csv\n")

    def test_the_process_is_stated_where_its_risks_are(self):
        # acceptance: JCGM 106:2012, 9.5: a global risk means nothing without the distribution that it is taken of
        job = HEAD + 'viewing: {result: passed}\nuncertainty: {scale_factor: "0", scale_offset: "0.1 um", repeatability: "1 um"}\n' \
            'measured: {resolution: "0.1 um"}\nprocess: {mean: "75.2 um", standard_deviation: "0.9 um"}\nreadings: r.csv\n'
        self.put("r.csv", readings("75"))
        self.put("job.yaml", job)
        for option, stated in ((["--how-sure"], True), ([], False)):
            self.run_tool("check", "job.yaml", *option, "--report", "p.txt", "--overwrite", code=0)
            text = " ".join((self.folder / "p.txt").read_text(encoding="utf-8").split())
            self.assertEqual("consumer's risk" in text, stated)
            self.assertEqual("mean 75.2 \u00b5m, standard deviation 0.9 \u00b5m" in text, stated)

    # ---- as documented

    def test_the_documented_job_and_laboratory_work_as_printed(self):
        def block(page, schema):
            return re.search(rf"```yaml\n(schema: {schema}.*?)```", (ROOT / page).read_text(encoding="utf-8"), re.S)[1]

        self.put("job.yaml", block("docs/cli.md", "sievecloth-job/1"))
        self.put("lab.yaml", block("docs/reports.md", "sievecloth-laboratory/1"))
        self.put("readings.csv", (ROOT / "docs/examples/good-75um.csv").read_text(encoding="utf-8"))
        shutil.copy(ROOT / "lib/report/wording/de.yaml", self.folder / "de.yaml")
        pixel = b"\0\0\0\0"  # one grey pixel behind its filter byte
        chunks = ((b"IHDR", struct.pack(">IIBBBBB", 1, 1, 8, 2, 0, 0, 0)), (b"IDAT", zlib.compress(pixel)), (b"IEND", b""))
        png = b"".join(struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data)) for kind, data in chunks)
        (self.folder / "logo.png").write_bytes(b"\x89PNG\r\n\x1a\n" + png)
        done = self.run_tool("check", "job.yaml", "--laboratory", "lab.yaml", "--report", "p.txt", "--report", "p.html", code=0)
        self.assertNotIn("error", done.stderr)
        self.assertIn("Konform", (self.folder / "p.txt").read_text(encoding="utf-8"))

    # ---- clause by clause

    def table(self):
        text = (ROOT / "docs/reports.md").read_text(encoding="utf-8")
        rows = re.findall(r"^\| ([^|]+) \| ([^|]+) \| `([a-z_.]+)` \| ([a-z]+) \|$", text, re.M)
        self.assertGreater(len(rows), 35)
        return rows

    def whole_job(self):
        """A job with every key, each with a value of its own."""
        dates = {"piece.received": "2026-01-02", "sampled.date": "2026-01-03", "measured.date": "2026-01-04",
                 "measured.until": "2026-01-05", "report.issued": "2026-01-06"}
        special = {"document": "calibration-certificate", "piece.state": "as left", "report.supplied_by_customer": "material",
                   "measured.uncertainty.lines": "L", "corrected": "C", "examined": "E"}
        shown = {"document": "Calibration certificate", "piece.state": "as left",
                 "report.supplied_by_customer": "Material (supplied by the customer)"}
        tokens = {}
        for i, (_, _, key, _) in enumerate(self.table()):
            tokens[key] = dates.get(key) or special.get(key) or f"Zz{i:02}q"
        t = tokens
        job = f"""{HEAD}document: {t['document']}
viewing: {{result: passed}}
laboratory: {{name: {t['laboratory.name']}}}
piece: {{identification: {t['piece.identification']}, serial: {t['piece.serial']}, condition: {t['piece.condition']},
  received: "{t['piece.received']}", heat: {t['piece.heat']}, state: {t['piece.state']}, material: bronze}}
sampled: {{date: "{t['sampled.date']}", by: {t['sampled.by']}, plan: {t['sampled.plan']}, seed: {t['sampled.seed']}}}
measured:
  place: {t['measured.place']}
  method: {t['measured.method']}
  date: "{t['measured.date']}"
  until: "{t['measured.until']}"
  temperature: {t['measured.temperature']}
  humidity: {t['measured.humidity']}
  scale: {{certificate: {t['measured.scale.certificate']}, issuer: {t['measured.scale.issuer']},
    traceability: {t['measured.scale.traceability']}}}
  uncertainty:
    budget: {t['measured.uncertainty.budget']}
    mean: {{expanded: "0.4 um"}}
    lines: [{{source: {t['measured.uncertainty.lines']}Zq, value: "1"}}]
examined: [{{what: {t['examined']}Zq, result: good}}]
corrected: [{{reading: {t['corrected']}Zq, was: "67 um", now: "76 um", reason: r, by: b, date: "2026-01-05"}}]
decision: {{rule: simple-acceptance, agreed: {t['decision.agreed']}}}
report:
  number: {t['report.number']}
  customer: {t['report.customer']}
  customer_address: {t['report.customer_address']}
  customer_contact: {t['report.customer_contact']}
  issued: "{t['report.issued']}"
  deviations: [{t['report.deviations']}]
  authorised_by: {t['report.authorised_by']}
  authorised_as: {t['report.authorised_as']}
  external: [{t['report.external']}]
  supplied_by_customer: [material]
  opinions_by: {t['report.opinions_by']}
  short_agreed: {t['report.short_agreed']}
  replaces: {t['report.replaces']}
  amendment: {t['report.amendment']}
  changed: [{t['report.changed']}]
readings: r.csv
"""
        for key in ("measured.uncertainty.lines", "examined", "corrected"):
            tokens[key] += "Zq"
        return job, {**tokens, **shown}

    def test_every_clause_has_its_place(self):
        job, tokens = self.whole_job()
        self.put("job.yaml", job)
        self.run_tool("check", "job.yaml", "--how-sure", "--opinions", "--report", "p.html", "--report", "p.pdf", code=0)
        page = html.unescape((self.folder / "p.html").read_text(encoding="utf-8"))
        sections = dict(re.findall(r'<section id="([a-z-]+)"[^>]*>(.*?)</section>', page, re.S))
        sections["head"] = page[page.index("<body>"):page.index("<section")]
        for clause, what, key, section in self.table():
            if section != "short":
                self.assertIn(tokens[key], sections[section], (clause, what, key))
        if shutil.which("pdftotext"):
            text = subprocess.run(["pdftotext", "-layout", str(self.folder / "p.pdf"), "-"], capture_output=True, text=True, check=True)
            words = " ".join(text.stdout.split())
            for clause, what, key, section in self.table():
                if section != "short":
                    self.assertIn(tokens[key].split(" (")[0], words, (clause, what, key))
        # opinions do not stand on a certificate unless asked for
        self.run_tool("check", "job.yaml", "--how-sure", "--report", "q.html", code=0)
        self.assertNotIn('<section id="weave"', (self.folder / "q.html").read_text(encoding="utf-8"))

    def test_a_short_report_lacks_only_what_may_be_kept_available(self):
        job, tokens = self.whole_job()
        self.put("job.yaml", job)
        self.run_tool("check", "job.yaml", "--short", "--report", "p.html", code=0)
        page = html.unescape((self.folder / "p.html").read_text(encoding="utf-8"))
        absent = {key for _, _, key, _ in self.table() if tokens[key] not in page}
        self.assertEqual(absent, {"measured.uncertainty.lines", "report.opinions_by"})

    def test_what_a_document_lacks_is_said(self):
        for kind, missing in (("certificate-3.1", "Heat number"), ("calibration-certificate", "Metrological traceability"),
                              ("declaration-of-compliance", "Person who authorises it")):
            _, text = self.check(HEAD + f"viewing: {{result: passed}}\ndocument: {kind}\nreadings: r.csv\n")
            text = " ".join(text.split())
            self.assertIn("the following is missing", text)
            self.assertIn(missing, text)
        job, _ = self.whole_job()
        self.put("whole.yaml", job)
        self.run_tool("check", "whole.yaml", "--report", "w.txt", code=0)
        self.assertNotIn("the following is missing: Number", " ".join((self.folder / "w.txt").read_text(encoding="utf-8").split()))


if __name__ == "__main__":
    unittest.main()
