# property: of several pieces, the worst verdict decides; oracle: Python's csv module reads the summary
import csv
import io
import json

from support import EDITIONS, FIXTURES, ReportTest, main, run


class Batch(ReportTest):
    CODES = {"astm-e11-17": 0, "iso-3310-1-2016": 2, "iso-3310-1-1990": 1, "astm-e11-04": 1}

    def jobs(self, *editions):
        return [FIXTURES / f"{edition}.yaml" for edition in editions]

    def test_the_worst_verdict_is_the_exit_code(self):
        good, undecided, bad = "astm-e11-17", "iso-3310-1-2016", "iso-3310-1-1990"
        for editions, code in (((good, good), 0), ((good, undecided), 2), ((undecided, bad), 1), ((bad, undecided, good), 1)):
            run("check", *self.jobs(*editions), code=code)
        broken = self.folder / "broken.csv"
        broken.write_text("direction,aperture_um\nwarp,x\n")
        for files, code in (([*self.jobs(good), self.folder / "none.yaml"], 66), ([self.folder / "none.yaml", *self.jobs(bad)], 66)):
            done = run("check", *files, code=code)
            self.assertIn(b"none.yaml", done.stderr)
            self.assertIn(files[1 if code == 66 and "none" in str(files[0]) else 0].name.encode(), done.stdout)

    def test_one_report_for_each_piece(self):
        done = run("check", *self.jobs(*EDITIONS), self.folder / "none.yaml", "--report", self.folder / "{}.txt", "--report",
                   self.folder / "{}.json", "--summary", self.folder / "all.csv", "--summary", self.folder / "all.txt", code=66)
        for edition in EDITIONS:
            self.assertEqual((self.folder / f"{edition}.txt").read_bytes(), self.report(edition, "txt", name="alone"))
        self.assertEqual((self.folder / "all.txt").read_bytes(), done.stdout)
        self.assertFalse(list(self.folder.glob("none.*")))

    def test_two_reports_never_share_a_file(self):
        done = run("check", *self.jobs("astm-e11-17", "astm-e11-04"), "--report", self.folder / "r.txt", code=73)
        self.assertIn(b"{}", done.stderr)
        self.assertFalse((self.folder / "r.txt").exists())

    def test_the_summary_names_the_margin_that_decides_first(self):
        run("check", *self.jobs(*EDITIONS), "--summary", self.folder / "all.csv", code=1)
        rows = list(csv.DictReader(io.StringIO((self.folder / "all.csv").read_text())))
        self.assertEqual([row["piece"] for row in rows], [str(job) for job in self.jobs(*EDITIONS)])
        for row, edition in zip(rows, EDITIONS):
            answer = self.document(edition)
            self.assertEqual(row["verdict"], answer["verdict"])
            nominal = answer["nominal_um"]
            shares = {}
            for criterion in answer["criteria"]:
                if criterion["outcome"] == "not-applicable" or "margin_um" not in criterion:
                    continue
                both = "lower_um" in criterion
                allowed = (criterion["upper_um"] - criterion["lower_um"]) / 2 if both else criterion["upper_um"]
                if criterion["id"] == "maximum-aperture":
                    allowed -= nominal
                shares[criterion["id"], criterion["direction"]] = criterion["margin_um"] / allowed
            worst = min(shares, key=shares.get)
            self.assertEqual((row["worst_margin"], row["direction"]), worst)
            self.assertAlmostEqual(float(row["share_of_allowance"]), shares[worst], places=9)

    def test_the_verdict_by_another_edition_stands_beside(self):
        # identity: the same verdict as of a check by that edition alone; the exit code is that of --standard
        jobs, summary = self.jobs("astm-e11-17", "astm-e11-17"), self.folder / "both.csv"
        for other in ("iso-3310-1-2016", "astm-e11-17"):
            alone = json.loads(run("check", jobs[0], "--standard", other, "--size", "75 um", "--json", code=None).stdout)
            done = run("check", *jobs, "--standard", "astm-e11-17", "--compare-standard", other, "--summary", summary, "--overwrite", code=0)
            rows = list(csv.DictReader(io.StringIO(summary.read_text())))
            not_met = [f"{c['id']} {c['direction']}" for c in alone["criteria"] if c["outcome"] == "not-met"]
            for row in rows:
                self.assertEqual((row["verdict"], row["other_standard"], row["other_verdict"], row["other_not_met"]),
                                 ("conforms", other, alone["verdict"], "; ".join(not_met)))
            differ = 2 * (alone["verdict"] != "conforms")
            self.assertIn(f"another verdict by the other edition: {differ}\n".encode(), done.stdout)
            self.assertIn(f"{alone['verdict']} by {other}".encode(), done.stdout)
            document = json.loads(run("check", *jobs, "--compare-standard", other, "--summary", summary, "--overwrite", "--json", code=0).stdout)
            self.assertEqual({p["compared"]["verdict"] for p in document["pieces"]}, {alone["verdict"]})

    def test_another_edition_that_cannot_judge(self):
        # boundary: an edition without grades cannot judge a job with one; that is said, and changes no exit code
        summary = self.folder / "s.csv"
        run("check", *self.jobs("astm-e11-17"), "--compare-standard", "iso-3310-1-1990", "--summary", summary, code=0)
        row = next(csv.DictReader(io.StringIO(summary.read_text())))
        self.assertEqual((row["verdict"], row["other_verdict"]), ("conforms", "error"))
        self.assertIn("has no grades", row["other_error"])
        run("check", *self.jobs("astm-e11-17"), "--compare-standard", "astm-e11", "--summary", self.folder / "n.csv", code=64)
        run("check", *self.jobs("astm-e11-17"), "--compare-standard", "astm-e11-04", code=64)
        run("check", "-", "--compare-standard", "astm-e11-04", "--summary", self.folder / "n.csv", code=64)

    def test_the_summary_says_what_is_open_and_why(self):
        job = ("schema: sievecloth-job/1\nstandard: astm-e11-17\nsize: \"No. 200\"\ngrade: inspection\npiece: {serial: \"T-1, blue\"}\n"
               "report: {number: IR-1}\nreadings: r.csv\n")
        (self.folder / "job.yaml").write_text(job)
        rows = "".join(f"{d},{80 + i % 3}\n" for d in ("warp", "weft") for i in range(110 if d == "warp" else 3))
        (self.folder / "r.csv").write_text("direction,aperture_um\n" + rows)
        done = run("check", "job.yaml", "none.yaml", "--summary", "all.csv", "--summary", "all.txt", cwd=self.folder, code=66)
        row, broken = csv.DictReader(io.StringIO((self.folder / "all.csv").read_text()))
        self.assertEqual([row[key] for key in ("serial", "size", "grade", "report", "verdict")],
                         ["T-1, blue", "75 \u00b5m", "inspection", "IR-1", "does-not-conform"])
        answer = json.loads(run("check", "job.yaml", "--json", cwd=self.folder, code=1).stdout)
        for column, outcome in (("not_met", "not-met"), ("undecided", "undecided")):
            names = [f"{c['id']} {c.get('direction', '')}".strip() for c in answer["criteria"] if c["outcome"] == outcome]
            self.assertTrue(names)
            self.assertEqual(row[column].split("; "), names)
        # the limit is that of E11-17, 75 + 4.1 um
        self.assertIn("average-aperture warp: 81.0 \u00b5m, allowed 70.9 to 79.1 \u00b5m", row["reasons"])
        self.assertIn("viewing: ", row["reasons"])
        self.assertIn("3 of 100", row["reasons"])
        self.assertEqual((broken["verdict"], broken["serial"], broken["not_met"]), ("error", "", ""))
        self.assertIn("none.yaml", broken["error"])
        text = (self.folder / "all.txt").read_text()
        self.assertEqual(text.splitlines()[-1], "2 pieces: 0 conforms, 0 undecided, 1 does-not-conform, 1 error")
        self.assertEqual(text.encode(), done.stdout)
        for word in ("T-1, blue", "IR-1", "reason: job.yaml: average-aperture warp"):
            self.assertIn(word, text)

    def test_the_csv_has_a_row_for_each_piece_and_no_other(self):
        run("check", *self.jobs(*EDITIONS), "--summary", self.folder / "all.csv", code=1)
        self.assertEqual(len(list(csv.DictReader(io.StringIO((self.folder / "all.csv").read_text())))), len(EDITIONS))

    def test_no_cell_is_a_formula(self):
        for name in ("=1+1.csv", "+a.csv", "@x.csv", "a,b\"c.csv"):
            (self.folder / name).write_text("direction,aperture_um\nwarp,75\nweft,75\n")
        run("check", "=1+1.csv", "+a.csv", "@x.csv", "a,b\"c.csv", "--standard", "astm-e11-17", "--size", "75um", "--grade", "inspection",
            "--summary", "all.csv", cwd=self.folder, code=2)
        rows = list(csv.DictReader(io.StringIO((self.folder / "all.csv").read_text())))
        self.assertEqual([row["piece"] for row in rows], ["'=1+1.csv", "'+a.csv", "'@x.csv", "a,b\"c.csv"])

    def test_one_document_of_json(self):
        done = run("check", *self.jobs("astm-e11-17"), self.folder / "none.yaml", "--json", code=66)
        document = json.loads(done.stdout)
        self.assertEqual(document["schema"], "sievecloth-batch/1")
        self.assertEqual(document["pieces"][0]["assessment"]["verdict"], "conforms")
        self.assertEqual(document["pieces"][1]["errors"][0]["code"], 501)
        self.assertEqual([error["code"] for error in json.loads(done.stderr)["errors"]], [501])


if __name__ == "__main__":
    main(8)
