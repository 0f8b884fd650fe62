#!/usr/bin/env python3
"""figures_test.py TOOL ROOT: how numbers, lengths and terms are printed.

property, acceptance: a figure ends at the place of its uncertainty, which has two significant digits (JCGM 100:2008, 7.2.6);
extremes and readings keep the digits that were read (common practice); terms of ASTM E11 and ISO 3310-1 (titles of their clauses).
The model here is Python's decimal arithmetic on the JSON document, which keeps all digits.
"""
import decimal
import html
import random
import re
import subprocess

from support import ROOT, ReportTest, main, run

D = decimal.Decimal
SECTION = re.compile(r'<section id="criteria">(.*?)</section>', re.S)
HEAD = 'schema: sievecloth-job/1\nstandard: astm-e11-17\nsize: "No. 200"\ngrade: inspection\nviewing: {result: passed}\n'


def places(text):
    return len(text.partition(".")[2])


def expected(value, least, limits):
    """The value with at least so many places, and as many more as keep it on its side of each limit."""
    for number in range(least, 13):
        shown = value.quantize(D(1).scaleb(-number), decimal.ROUND_HALF_EVEN)
        if all((value > limit) == (shown > limit) and (value < limit) == (shown < limit) for limit in limits):
            return shown
    raise AssertionError(value)


class Figures(ReportTest):
    def answer(self, rows, more, head=HEAD):
        """The JSON document, and the rows of its table of results in the direction of the warp."""
        (self.folder / "r.csv").write_text("direction,aperture_um\n" + "\n".join(rows) + "\n")
        job = self.folder / "job.yaml"
        job.write_text(head + more + "readings: r.csv\n")
        document = self.document(job)
        table = SECTION.search(self.report(job, "html").decode())[1]
        titles = re.findall(r"<th scope=\"col\"[^>]*>(.*?)</th>", table)
        results, inside = {}, False
        for row in re.findall(r"<tr.*?</tr>", table, re.S):
            if "rowgroup" in row:
                inside = "parallel to the warp" in row
            elif inside:
                cells = [html.unescape(re.sub(r"<[^>]*>", "", cell)) for cell in re.findall(r"<td.*?</td>", row, re.S)]
                results[cells[0]] = dict(zip(titles, cells))
        return document, results

    @staticmethod
    def criterion(document, name):
        return next(c for c in document["criteria"] if c["id"] == name and c.get("direction") == "warp")

    def compare(self, document, results, least, criterion="average-aperture", name="Average opening"):
        judged, shown = self.criterion(document, criterion), results[name]
        limits = [D(str(judged[key])) for key in ("lower_um", "upper_um", "acceptance_lower_um", "acceptance_upper_um")
                  if judged.get(key) is not None]
        value = D(repr(judged["observed_um"]))
        wanted = expected(value, least, limits)
        self.assertEqual(shown["Measured"].split(" ")[0], str(wanted), (shown, judged))
        self.assertEqual(places(shown["Margin"]), places(str(wanted)), shown)
        self.assertLessEqual(abs(D(shown["Margin"]) - D(repr(judged["margin_um"]))), D(1).scaleb(-places(str(wanted))) / 2)

    def test_a_figure_ends_at_the_place_of_its_uncertainty(self):
        rows = [f"{d},{75 + (i % 7) * 0.31 + 0.0137:.4f}" for d in ("warp", "weft") for i in range(111)]
        for stated, least in (("0.04", 3), ("0.4", 2), ("1", 1), ("2.5", 1), ("9.99", 0), ("12", 0)):
            with self.subTest(stated):
                document, results = self.answer(rows, f'measured: {{resolution: "0.1 um", uncertainty: {{budget: U-1, mean: '
                                                      f'{{expanded: "{stated} um"}}}}}}\n')
                self.assertEqual(places(results["Average opening"]["U"]), least)
                self.compare(document, results, least)

    def test_without_uncertainty_one_place_after_the_resolution(self):
        rows = [f"{d},{75 + i % 7}" for d in ("warp", "weft") for i in range(111)]
        for resolution, least in (('measured: {resolution: "1 um"}\n', 1), ('measured: {resolution: "0.1 um"}\n', 2),
                                  ('measured: {resolution: "0.25 um"}\n', 3), ("", 1)):
            with self.subTest(resolution):
                self.compare(*self.answer(rows, resolution), least)

    def test_no_figure_is_rounded_to_a_limit_or_beyond(self):
        seeded = random.Random(20261130)
        for _ in range(120):
            limit = seeded.choice([70.9, 79.1])
            offset = seeded.choice([0, 0.04, 0.004, 0.0004, 0.049, 0.0499]) * seeded.choice([-1, 1])
            rows = [f"{d},{limit + offset + (2 if i % 2 else -2):.4f}" for d in ("warp", "weft") for i in range(100)]
            guard = seeded.choice(["", "decision: {rule: guarded-acceptance}\n"])
            budget = f', uncertainty: {{budget: U-1, mean: {{expanded: "{seeded.choice([0.05, 0.4, 1, 1.03, 2])} um"}}, ' \
                     'largest: {expanded: "1 um"}, standard_deviation: {expanded: "0.1 um"}}' if guard or seeded.random() < 0.5 else ""
            document, results = self.answer(rows, f'measured: {{resolution: "0.1 um"{budget}}}\n{guard}')
            mean = results["Average opening"]
            self.compare(document, results, places(mean["U"]) if budget else 2)

    def test_readings_and_extremes_keep_their_digits(self):
        job = HEAD + 'measured: {resolution: "0.1 um"}\nreadings: r.csv\n'
        (self.folder / "r.csv").write_text("direction,aperture_um,wire_um\n" + "warp,75.0,50.0\nweft,76.0,\n" * 100)
        (self.folder / "job.yaml").write_text(job)
        text = self.report(self.folder / "job.yaml", "txt", "--annex", "readings").decode()
        self.assertRegex(text, r"Largest opening +100 +75\.0 ")
        self.assertRegex(text, r"\n +2 +75\.0 +50\.0\n")
        # in millimetres, read to the micrometre; the resolution is not known
        self.report(self.coarse(), "txt")
        text = (self.folder / "report.txt").read_text()
        self.assertRegex(text, r"Smallest \[mm\]")
        self.assertRegex(text, r"Aperture +20 +15\.8775 +0\.1308 +15\.750 +16\.005")

    def coarse(self):
        job = self.folder / "coarse.yaml"
        job.write_text('schema: sievecloth-job/1\nstandard: iso-3310-1-2016\nsize: "16 mm"\ngrade: inspection\n'
                       'viewing: {result: passed}\nreadings: c.csv\n')
        (self.folder / "c.csv").write_text("direction,aperture_mm\n" + "warp,15.750\nwarp,16.005\nweft,16.0\n" * 10)
        return job

    def test_a_frame_is_printed_as_written(self):
        for written in ("8 in.", "8 in", "203 mm"):
            rows = [f"{d},75" for d in ("warp", "weft") for _ in range(100)]
            self.answer(rows, f'piece: {{frame: {{shape: round, diameter: "{written}", depth: "2 in."}}}}\n')
            self.assertIn(f"<dt>Frame</dt><dd>round, {written}, 2 in. deep</dd>", (self.folder / "report.html").read_text())

    def test_each_standard_in_its_own_terms(self):
        for edition in ("astm-e11-17", "iso-3310-1-2016"):
            size = re.search(r'^size: .*$', HEAD, re.M)[0]
            job = self.folder / "job.yaml"
            rows = [f"{d},{75 + i % 7},50" for d in ("warp", "weft") for i in range(100)]
            (self.folder / "r.csv").write_text("direction,aperture_um,wire_um\n" + "\n".join(rows) + "\n")
            job.write_text(HEAD.replace("astm-e11-17", edition).replace(size, 'size: "75 um"') + "readings: r.csv\n")
            text = self.report(job, "html", "--how-sure").decode().lower()
            body = re.sub(r"<[^>]*>", " ", text[text.index("<body>"):])
            here, there = ("shute", "weft") if edition.startswith("astm") else ("weft", "shute")
            self.assertIn(here, body)
            self.assertNotIn(there, body)
            self.assertIn("opening" if edition.startswith("astm") else "aperture", body)
            self.assertEqual("aperture" in body, not edition.startswith("astm"), edition)


class Short(ReportTest):
    """ISO/IEC 17025:2017, 7.8.1.3: a simplified report, if the customer agreed."""

    def test_only_where_it_was_agreed(self):
        job = self.whole(agreed="")
        done = run("check", job, "--short", "--report", self.folder / "s.pdf", code=65)
        self.assertIn("short_agreed", done.stderr.decode())
        self.assertFalse((self.folder / "s.pdf").exists())

    def whole(self, agreed='short_agreed: "Osterby Mills, 2026-01-10"', number="C-1", name="job"):
        text = (ROOT / "tests/data/report/certificate.yaml").read_text()
        self.assertIn('short_agreed: "Osterby Mills, 2026-01-10"', text)
        text = text.replace('short_agreed: "Osterby Mills, 2026-01-10"', agreed)
        (self.folder / "good-75um.csv").write_text((ROOT / "docs/examples/good-75um.csv").read_text())
        path = self.folder / f"{name}.yaml"
        path.write_text(text)
        return path

    def test_one_page_with_all_that_is_required(self):
        job = self.whole()
        pdf = self.folder / "s.pdf"
        run("check", job, "--short", "--report", pdf, code=0)
        self.assertIn(b"Pages:           1", subprocess.run(["pdfinfo", pdf], capture_output=True, check=True).stdout)
        words = " ".join(subprocess.run(["pdftotext", "-layout", pdf, "-"], capture_output=True, text=True, check=True).stdout.split())
        for needed in ("Calibration certificate", "C-1", "Pellanvoe Sieve Laboratory (invented)", "4 Tidemill Row", "Norrisholt, room 2",
                       "Osterby Mills (invented)", "9 Quarry Lane", "L. Wend", "BW-75-0417", "0417", "as new, no damage", "as found",
                       "2026-11-18", "2026-11-20", "2026-11-22", "20.3 °C", "45 %", "SM-2211", "traceable to the SI",
                       "guarded acceptance", "agreed with Osterby Mills, 2026-01-10", "k = 2.00", "coverage probability 95.45 %",
                       "T. Halloran", "head of laboratory", "relate only to the item", "except in full", "7.8.1.3", "End of report C-1"):
            self.assertIn(needed, words)

    def test_what_it_says_the_full_report_says_too(self):
        job = self.whole()
        for name, options in (("short", ["--short"]), ("full", [])):
            run("check", job, *options, "--report", self.folder / f"{name}.txt", code=0)
        short, full = ((self.folder / f"{name}.txt").read_text() for name in ("short", "full"))
        table = re.compile(r"Results and limits\n-+\n(.*?)\n\n", re.S)
        rows = [[line for line in table.search(text)[1].splitlines() if re.match(r"  \S", line)][:14] for text in (short, full)]
        self.assertEqual(*rows)
        self.assertLess(len(short), len(full))


if __name__ == "__main__":
    main(9)
