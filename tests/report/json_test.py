# oracle: the published JSON Schema (draft 2020-12), checked by python3-jsonschema; the digest by Python's hashlib
import copy
import hashlib
import json

import jsonschema

from support import EDITIONS, FIXTURES, ROOT, ReportTest, doubtful, main, run


def closed(schema):
    """The schema with every object shut, so that a field nobody described is found."""
    if isinstance(schema, dict):
        if "properties" in schema:
            schema["additionalProperties"] = False
        for value in schema.values():
            closed(value)
    elif isinstance(schema, list):
        for value in schema:
            closed(value)
    return schema


GERMAN = ROOT / "lib/report/wording/de.yaml"
SCHEMA = json.loads((ROOT / "docs/assessment.schema.json").read_text())


class Json(ReportTest):
    def validator(self):
        jsonschema.Draft202012Validator.check_schema(SCHEMA)
        return jsonschema.Draft202012Validator(closed(copy.deepcopy(SCHEMA)))

    def test_answers_and_reports_fit_the_schema(self):
        for edition in EDITIONS:
            with self.subTest(edition):
                answer = json.loads(run("check", FIXTURES / f"{edition}.yaml", "--json").stdout)
                report = self.document(edition, "--annex", "readings")
                self.validator().validate(answer)
                self.validator().validate(report)

    def test_how_sure_fits_the_schema(self):
        for name, (job, options) in doubtful(self.folder).items():
            with self.subTest(name):
                answer = json.loads(run("check", job, "--how-sure", "--json", *options).stdout)
                self.validator().validate(answer)
                self.assertIn("how_sure_weft", answer)
                self.assertEqual(len(answer["signs"]), 48)  # eleven kinds for each quantity and direction, two between the directions; none is left out
                report = self.document(job, "--how-sure", *options)
                self.validator().validate(report)
                self.assertEqual(report["how_sure_warp"], answer["how_sure_warp"])
                german = self.document(job, "--how-sure", *options, "--language", GERMAN)
                self.assertEqual(german["report"]["language"], "de")
                self.assertNotEqual(german.pop("report")["cautions"], report["report"]["cautions"])
                self.assertEqual(german, answer)  # outside the report the text is English

    def test_a_camera_s_readings_count_by_gap(self):
        # boundary: more than a million readings of one sieve, 640 in each of 800 gaps in either direction, are worth about 800
        rows = ["direction,aperture_um,x_mm,y_mm"]
        for direction in ("warp", "weft"):
            for gap in range(800):
                value = 72 + gap * 7 % 11 * 0.6
                for i in range(640):
                    x, y = (i / 8, gap / 8) if direction == "warp" else (gap / 8, i / 8)
                    rows.append(f"{direction},{value + i % 3 * 0.01:.2f},{x},{y}")
        (self.folder / "r.csv").write_text("\n".join(rows) + "\n")
        answer = json.loads(run("check", self.folder / "r.csv", "--standard", "astm-e11-17", "--size", "75um", "--grade", "inspection",
                                "--viewing", "passed", "--apertures-only", "--how-sure", "--json", code=0).stdout)
        for direction in ("warp", "weft"):
            effective = answer[f"how_sure_{direction}"]["effective_n"]
            self.assertEqual(effective["groups"], 800)
            self.assertAlmostEqual(effective["value"], 800, delta=1)
        self.assertTrue(all(sign["n"] <= 1600 for sign in answer["signs"] if sign["kind"] != "coarse-step"), answer["signs"])

    def test_the_schema_finds_a_broken_document(self):
        report = self.document("astm-e11-17")
        for change in ({"verdict": "fine"}, {"surplus": 1}, {"criteria": [{"id": "average-aperture"}]}, {"nominal_um": "75"}):
            self.assertFalse(self.validator().is_valid({**report, **change}), change)

    def test_the_report_is_the_answer_and_more(self):
        for edition in EDITIONS:
            answer = json.loads(run("check", FIXTURES / f"{edition}.yaml", "--json").stdout)
            report = self.document(edition)
            self.assertTrue(report.pop("report"))
            self.assertEqual(report, answer)

    def test_the_digest_is_of_the_bytes_read(self):
        own = FIXTURES / "astm-e11-17.yaml"
        self.assertEqual(self.document("astm-e11-17")["report"]["readings"],
                         {"file": own.name, "sha256": hashlib.sha256(own.read_bytes()).hexdigest()})
        readings = b"\xef\xbb\xbfdirection,aperture_um\r\n" + b"warp,75.1\r\nweft,74.9\r\n" * 40000
        (self.folder / "r.csv").write_bytes(readings)
        run("check", self.folder / "r.csv", "--standard", "astm-e11-17", "--size", "75um", "--grade", "inspection", "--viewing",
            "passed", "--report", self.folder / "r.json", code=2)
        document = json.loads((self.folder / "r.json").read_text())
        self.assertEqual(document["report"]["readings"], {"file": "r.csv", "sha256": hashlib.sha256(readings).hexdigest()})

    def test_the_annex_holds_every_reading(self):
        rows = self.document("astm-e11-17", "--annex", "readings")["report"]["readings"]["rows"]
        lines = (FIXTURES / "astm-e11-17.yaml").read_text().split("readings: |\n")[1].splitlines()
        self.assertEqual(len(rows), len(lines) - 1)
        for row, line in zip(rows, lines[1:]):
            direction, aperture, wire, x, y, role = line.strip().split(",")
            self.assertEqual((row["direction"], row["role"], row["aperture_um"]), (direction, role, float(aperture)))
            self.assertEqual(row.get("wire_um"), float(wire) if wire else None)
            self.assertEqual((row["x_um"], row["y_um"]), (float(x) * 1000, float(y) * 1000))

    def test_what_the_paper_is_called(self):
        self.assertEqual(self.document("astm-e11-17")["report"]["title"], "Inspection report")
        self.assertEqual(self.document("iso-3310-1-2016")["report"]["title"], "Inspection record")
        budgeted = self.job("iso-3310-1-2016", {"  resolution: 1 um\n": "  resolution: 1 um\n  uncertainty: {budget: U-7}\n"})
        self.assertEqual(self.document(budgeted)["report"]["title"], "Calibration certificate")

    def cautions(self, job):
        return [caution["id"] for caution in self.document(job)["report"]["cautions"]]

    def test_an_instrument_past_its_due_date(self):
        due = "due: 2026-06-01"
        for date, past in (("2026-03-08", True), ("2026-03-09", False), ("2026-03-10", False)):  # measured on 2026-03-09
            job = self.job("astm-e11-17", {due: f"due: {date}"})
            self.assertEqual("past-due" in self.cautions(job), past, date)
            qualifiers = " ".join(self.document(job)["report"]["qualifiers"])
            self.assertEqual("the length standard was overdue" in qualifiers, past, date)

    def test_cautions_follow_the_record(self):
        self.assertIn("correction-not-applied", self.cautions("iso-3310-1-2016"))
        self.assertIn("no-budget", self.cautions("iso-3310-1-2016"))
        self.assertIn("replaced-report", self.cautions("iso-3310-1-2016"))
        self.assertIn("no-scale", self.cautions("astm-e11-04"))
        self.assertIn("viewing-not-recorded", self.cautions("astm-e11-04"))
        for edition in EDITIONS:
            for always in ("item-only", "replaces-nothing", "not-inspected", "in-full"):
                self.assertIn(always, self.cautions(edition))


if __name__ == "__main__":
    main(9)
