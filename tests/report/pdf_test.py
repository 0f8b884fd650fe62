# oracle: poppler, qpdf and mupdf read the output of the PDF module, and the numbers of the JSON are found in its text
import json
import re
import subprocess

from support import EDITIONS, FIXTURES, ROOT, TOOL, ReportTest, main, run


def call(*command):
    done = subprocess.run(list(map(str, command)), capture_output=True, text=True)
    if done.returncode != 0:
        raise AssertionError(f"{command}: {done.stdout}{done.stderr}")
    return done


def call_bytes(*command):
    return subprocess.run(list(map(str, command)), capture_output=True, check=True).stdout


class Pdf(ReportTest):
    def pdf(self, job, *options, name="report"):
        self.report(job, "pdf", *options, name=name)
        return self.folder / f"{name}.pdf"

    def text(self, path):
        return call("pdftotext", "-layout", path, "-").stdout

    def test_independent_readers_open_it_without_warnings(self):
        for edition in EDITIONS:
            path = self.pdf(edition, "--annex", "readings")
            self.assertIn("No syntax or stream encoding errors", call("qpdf", "--check", path).stdout)
            self.assertEqual(call("pdftotext", path, "-").stderr, "")
            drawn = call("mutool", "draw", "-r", "20", "-o", self.folder / "page%d.png", path)
            said = drawn.stderr.replace("warning: ICC support is not available\n", "")  # from the reader, not about the document
            self.assertNotRegex(said, "(?i)warning|error")

    def test_it_holds_each_number_of_the_json(self):
        for edition in EDITIONS:
            words = re.sub(r"\s+", " ", self.text(self.pdf(edition)))
            document = self.document(edition)
            small = document["nominal_um"] < 1000
            computed = lambda um: f"{um:.3f}" if small else f"{um / 1000:.5f}"
            exact = lambda um: f"{um if small else um / 1000:.9f}".rstrip("0").rstrip(".")
            looked_for = [exact(document["nominal_um"])]
            for criterion in document["criteria"]:
                if criterion["outcome"] == "not-applicable":
                    continue
                looked_for += [computed(criterion["observed_um"])] if "observed_um" in criterion else []
                looked_for += [exact(criterion[key]) for key in ("lower_um", "upper_um") if key in criterion]
                looked_for += [f"{criterion['margin_um'] if small else criterion['margin_um'] / 1000:+.{3 if small else 5}f}"] if "margin_um" in criterion else []
                looked_for += [str(criterion["n"])] if "n" in criterion else []
            for side in document["samples"].values():
                for figures in side.values():
                    looked_for += [str(figures["n"]), computed(figures["mean_um"]), exact(figures["minimum_um"]), exact(figures["maximum_um"])]
                    looked_for += [computed(figures["standard_deviation_um"])] if "standard_deviation_um" in figures else []
            self.assertGreater(len(looked_for), 40, edition)
            for number in looked_for:
                self.assertRegex(words, rf"(?<![\d.]){re.escape(number)}(?![\d.]*\d)", edition)

    def test_nothing_stands_beyond_the_margins(self):
        # regression: each table column was as wide as its text
        german = ROOT / "lib/report/wording/de.yaml"
        for edition in EDITIONS:
            path = self.pdf(edition, "--how-sure", "--annex", "readings", "--language", german)
            ends = [float(end) for end in re.findall(r'xMax="([\d.]+)"', call("pdftotext", "-bbox", path, "-").stdout)]
            self.assertGreater(len(ends), 500)
            self.assertLess(max(ends), 595.3 - 48 + 0.5, edition)

    def test_signs_are_right(self):
        words = self.text(self.pdf("iso-3310-1-2016"))
        for sign in ("\u00b5m", "w \u00b1 Y", "\u2264", "\u221a", "\u03c7\u00b2", "\u2212"):
            self.assertIn(sign, words)

    def test_pages_are_counted_and_numbered(self):
        path = self.pdf("astm-e11-17", "--annex", "readings")
        pages = int(re.search(r"Pages:\s+(\d+)", call("pdfinfo", path).stdout)[1])
        self.assertGreaterEqual(pages, 6)
        for page in range(1, pages + 1):
            text = call("pdftotext", "-layout", "-f", page, "-l", page, path, "-").stdout
            self.assertIn(f"page {page} of {pages}", text)
            self.assertIn("IR-2026-031", text)

    def test_how_sure_and_the_weave_begin_a_page(self):
        # or at least begin in the upper quarter of one
        for edition in EDITIONS:
            words = re.sub(r"\s+", " ", call("pdftotext", "-bbox", self.pdf(edition, "--how-sure"), "-").stdout)
            for first, last in (("Measurement", "uncertainty"), ("Opinions", "and")):
                tops = re.findall(rf'yMin="([\d.]+)"[^>]*>{first}</word> <word [^>]*>{last}</word>', words)
                self.assertLess(min(map(float, tops)), 48 + 842 / 4, f"{edition} {last}")

    def test_the_annex_holds_every_reading(self):
        words = self.text(self.pdf("astm-e11-17", "--annex", "readings"))
        for row in self.document("astm-e11-17", "--annex", "readings")["report"]["readings"]["rows"]:
            self.assertRegex(words, rf"(?m)^\s*{row['line']}\s+{row['direction']}\s+{row['aperture_um']:g}\s")

    def test_title_author_fonts_and_date(self):
        path = self.pdf("astm-e11-17")
        about = call("pdfinfo", path).stdout
        self.assertRegex(about, r"Title:\s+Inspection report IR-2026-031: 75 \u00b5m \(No. 200\), ASTM E11-17, inspection grade")
        self.assertRegex(about, r"Author:\s+Nordwald Test Laboratory")
        self.assertRegex(about, r"CreationDate:.*Mar 10 00:00:00 2026")
        self.assertRegex(about, r"Page size:.*A4")
        rows = call("pdffonts", path).stdout.splitlines()[2:]
        self.assertTrue(rows)
        for row in rows:
            self.assertRegex(row, r"LiberationSans.* yes yes yes ")
        self.assertIn(b"/Lang", call_bytes("qpdf", "--qdf", "--object-streams=disable", path, "-"))
        self.assertNotIn("CreationDate", call("pdfinfo", self.pdf("iso-3310-1-1990")).stdout)  # not issued: no date

    def test_same_bytes_under_another_locale_zone_and_set_of_fonts(self):
        first = self.report("astm-e11-17", "pdf")
        elsewhere = {"LANG": "de_DE.UTF-8", "LC_ALL": "de_DE.UTF-8", "TZ": "Pacific/Auckland", "HOME": "/nonexistent",
                     "FONTCONFIG_FILE": "/nonexistent", "XDG_DATA_HOME": "/nonexistent"}
        self.assertEqual(first, self.report("astm-e11-17", "pdf", name="again", environment=elsewhere))

    def test_long_names_wrap(self):
        long = "Gesellschaft" * 30 + " and some more words " * 20
        path = self.pdf(self.job("astm-e11-17", {"name: Nordwald Test Laboratory": f"name: {long}", "serial: S-4711": f"serial: {'S' * 300}",
                                                 "number: IR-2026-031": f"number: {'N-' * 80}", "by: M. Okafor": f"by: {long}"}))
        boxes = call("pdftotext", "-bbox", path, "-").stdout
        edges = [(float(a), float(b)) for a, b in re.findall(r'<word xMin="([\d.]+)" yMin="[\d.]+" xMax="([\d.]+)"', boxes)]
        self.assertGreater(len(edges), 500)
        self.assertTrue(all(left >= 47 and right <= 549 for left, right in edges), [edge for edge in edges if edge[1] > 549][:3])
        self.assertEqual("".join(self.text(path).split()).count("S" * 60) > 0, True)

    def test_text_never_overlaps(self):
        # Words of the same line must not overlap: half a letter is allowed for rounding.
        for edition in EDITIONS:
            for page in re.findall(r"<page.*?</page>", call("pdftotext", "-bbox", self.pdf(edition), "-").stdout, re.S):
                words = [tuple(map(float, word)) for word in
                         re.findall(r'<word xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)"', page)]
                for i, (left, top, right, bottom) in enumerate(words):
                    for other_left, other_top, other_right, other_bottom in words[i + 1:]:
                        across = min(right, other_right) - max(left, other_left)
                        down = min(bottom, other_bottom) - max(top, other_top)
                        self.assertFalse(across > 1.5 and down > 0.6 * min(bottom - top, other_bottom - other_top), (edition, left, top))

    def test_a_logo(self):
        self.folder.joinpath("lab.yaml").write_text("schema: sievecloth-laboratory/1\nname: Weave & Wire\nlogo: logo.png\n")
        call("mutool", "draw", "-r", "30", "-o", self.folder / "logo.png", self.pdf("astm-e11-04"), 1)
        path = self.pdf("astm-e11-17", "--laboratory", self.folder / "lab.yaml", name="logo")
        self.assertIn("image", call("pdfimages", "-list", path).stdout)
        (self.folder / "logo.png").write_bytes(b"no picture")
        done = run("check", FIXTURES / "astm-e11-17.yaml", "--laboratory", self.folder / "lab.yaml", "--report", self.folder / "x.pdf", code=73)
        self.assertIn(b"logo", done.stderr)
        self.assertFalse((self.folder / "x.pdf").exists())

    def test_a_logo_with_a_link(self):
        # boundary: what cannot be part of the PDF is named
        self.folder.joinpath("lab.yaml").write_text("schema: sievecloth-laboratory/1\nname: Weave & Wire\nlogo: logo.svg\n")
        self.folder.joinpath("logo.svg").write_text('<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="100" '
                                                    'height="50"><a xlink:href="https://example.org"><rect width="50" height="50"/></a></svg>')
        done = run("check", FIXTURES / "astm-e11-17.yaml", "--report", self.folder / "q.pdf", "--laboratory", self.folder / "lab.yaml", code=None)
        self.assertTrue(done.returncode != 0 and b"a link in a logo" in done.stderr or done.returncode == 0, done.stderr)
        self.assertEqual(self.folder.joinpath("q.pdf").exists(), done.returncode == 0)

    def test_check_alone_loads_nothing_of_it(self):
        for options, loaded in (((), False), (("--report", self.folder / "x.html"), False), (("--report", self.folder / "x.pdf"), True)):
            done = subprocess.run([TOOL, "check", FIXTURES / "astm-e11-17.yaml", *map(str, options)], capture_output=True, text=True,
                                  env={"LD_DEBUG": "files", "LD_DEBUG_OUTPUT": str(self.folder / "loaded")})
            self.assertEqual(done.returncode, 0)
            log = "".join(path.read_text() for path in self.folder.glob("loaded.*"))
            for path in self.folder.glob("loaded.*"):
                path.unlink()
            self.assertEqual("libcairo" in log, loaded, options)


if __name__ == "__main__":
    main(12)
