# oracle: poppler, qpdf and mupdf read the output of the PDF module, and the numbers of the JSON are found in its text
import decimal
import html
import json
import re
import subprocess

from support import EDITIONS, FIXTURES, ROOT, TOOL, ReportTest, doubtful, main, run

FOOTER = 842 - 62  # points from the top
DIRECTIONS = ("parallel to the warp (openings between shute wires)", "parallel to the shute (openings between warp wires)", "whole piece")


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
            numbers = re.findall(r"(?<![\d.])[+-]?\d+(?:\.\d+)?(?![\d.]*\d)", words)
            document = self.document(edition)
            unit = 1 if document["nominal_um"] < 1000 else 1000

            def holds(value, sign="", least=0):
                """Whether the page holds the number, rounded to as many places as it is printed with."""
                value = decimal.Decimal(repr(value))
                places = (-decimal.Decimal(number.lstrip("+-")).as_tuple().exponent for number in numbers)
                return any(f"{round(value, place):{sign}f}" in numbers for place in set(places) if place >= least)
            exact = lambda um: f"{um / unit:.9f}".rstrip("0").rstrip(".") in numbers
            found = [exact(document["nominal_um"])]
            for criterion in document["criteria"]:
                if criterion["outcome"] == "not-applicable":
                    continue
                found += [holds(criterion["observed_um"] / unit, least=1)] if criterion["id"].startswith("average") and "observed_um" in criterion else []
                found += [exact(criterion[key]) for key in ("lower_um", "upper_um") if key in criterion]
                found += [holds(criterion["margin_um"] / unit, sign="+")] if "margin_um" in criterion else []
                found += [str(criterion["n"]) in numbers] if "n" in criterion else []
            for side in document["samples"].values():
                for figures in side.values():
                    found += [str(figures["n"]) in numbers, holds(figures["mean_um"] / unit, least=1)]
                    found += [holds(figures[key] / unit) for key in ("minimum_um", "maximum_um")]
                    found += [holds(figures["standard_deviation_um"] / unit, least=1)] if "standard_deviation_um" in figures else []
            self.assertGreater(len(found), 40, edition)
            self.assertEqual(found.count(False), 0, (edition, found))

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

    def pages(self, path):
        """Of each page its lines, without the footer, as (top, text) from top to bottom."""
        pages = []
        for page in re.findall(r"<page.*?</page>", call("pdftotext", "-bbox", path, "-").stdout, re.S):
            lines = {}
            for left, top, bottom, word in re.findall(r'<word xMin="([\d.]+)" yMin="([\d.]+)" xMax="[\d.]+" yMax="([\d.]+)">(.*?)</word>', page):
                if float(bottom) < FOOTER:
                    lines.setdefault(round(float(bottom)), []).append((float(left), html.unescape(word)))
            pages.append([(bottom, " ".join(word for _, word in sorted(words))) for bottom, words in sorted(lines.items())])
        return pages

    def shifted(self, lines, *options, job="sure"):
        """A report whose contents begin lower by so many lines of address."""
        (self.folder / "lab.yaml").write_text("schema: sievecloth-laboratory/1\nname: Weave Laboratory\naddress: [" + ", ".join(["Mill Lane"] * max(1, lines)) + "]\n")
        return self.pdf(job, "--laboratory", self.folder / "lab.yaml", *options, name="shifted")

    def test_no_heading_is_parted_from_what_it_heads(self):
        # boundary: every distance of a heading from the end of its page, by steps of a line
        job, _ = doubtful(self.folder)["whole budget"]
        titles = set(re.findall(r"<h2>(.*?)</h2>", self.report(job, "html", "--how-sure", "--annex", "readings").decode()))
        self.assertGreater(len(titles), 10)
        heads = ("Requirement n", "Requirement Decision", "Figure parallel", "Quantity n", "Line Opening")
        seen = 0
        for lines in range(1, 62):
            for page in self.pages(self.shifted(lines, "--how-sure", "--annex", "readings", job=job)):
                for text in (text for _, text in page[-1:]):
                    self.assertNotIn(text, titles, lines)
                    self.assertFalse(text in DIRECTIONS or text.startswith(heads), (lines, text))
                seen += sum(text in titles for _, text in page)
        self.assertGreater(seen, 600)

    def test_a_table_that_goes_on_repeats_its_headings(self):
        # boundary: each row of the criteria is the first of a page at some distance
        job, _ = doubtful(self.folder)["whole budget"]
        split = 0
        for lines in range(1, 62):
            for page in self.pages(self.shifted(lines, job=job)):
                texts = [text for _, text in page]
                rows = [i for i, text in enumerate(texts) if re.match(r"(Average|Largest|Number of|Standard)( [a-z]+)* \d+ [\d.]+ ", text)]
                if not rows:
                    continue
                before = texts[:rows[0]]
                heads = [i for i, text in enumerate(before) if text.startswith("Requirement n")]
                self.assertTrue(heads, (lines, texts[:rows[0] + 1]))
                self.assertTrue(any(text in DIRECTIONS for text in before[heads[0]:]), (lines, before))
                split += heads[0] == 0 or texts[0].startswith(("Between", "Lower", "Upper"))
        self.assertGreater(split, 5)

    def test_numbers_of_a_wide_table_stay_whole(self):
        # regression: the German table of the criteria with guard bands broke numbers and words in the middle
        job, _ = doubtful(self.folder)["whole budget"]
        words = self.text(self.pdf(job, "--language", ROOT / "lib/report/wording/de.yaml"))
        seen = 0
        for criterion in self.document(job)["criteria"]:
            if "margin_um" in criterion and criterion["id"] != "aperture-standard-deviation":
                margin, printed = criterion["margin_um"], re.findall(rf"(?<!\S){criterion['n']} [^\n]* \+(\d+(?:,\d+)?)(?!\S)", words)
                self.assertTrue(any(float(number.replace(",", ".")) == round(margin, len(number.partition(",")[2])) for number in printed), (margin, printed))
                seen += 1
        self.assertEqual(seen, 6)

    def test_no_page_is_left_half_empty(self):
        # boundary: no section insists on a page of its own; the last page may be short
        for edition in EDITIONS:
            for options in ((), ("--how-sure",), ("--annex", "readings"), ("--how-sure", "--annex", "readings")):
                for page in self.pages(self.pdf(edition, *options))[:-1]:
                    self.assertGreater(page[-1][0], 48 + 0.55 * (FOOTER - 48), (edition, options, page[-1]))

    def test_the_annex_holds_every_reading(self):
        words = self.text(self.pdf("astm-e11-17", "--annex", "readings"))
        words = words[words.rindex("Annex: all readings"):]
        for row in self.document("astm-e11-17", "--annex", "readings")["report"]["readings"]["rows"]:
            self.assertRegex(words, rf"(?<![\d.]){row['line']}\s+{row['aperture_um']:g}(\.0)?\s")

    def test_five_hundred_readings_fill_at_most_three_pages(self):
        # boundary: wherever the annex begins; each reading stands there once
        readings = "direction,aperture_um,wire_um\n" + "".join(f"{d},{70 + i % 10}.{i % 7}5,{50 + i % 3}\n" for d in ("warp", "weft") for i in range(250))
        (self.folder / "r.csv").write_text(readings)
        job = self.job("astm-e11-17", {}, name="many")
        job.write_text(job.read_text().split("readings: |")[0] + "readings: r.csv\n")
        for lines in (1, 10, 20, 30, 40, 50):
            pages = [[text for _, text in page] for page in self.pages(self.shifted(lines, "--annex", "readings", job=job))]
            first = next(i for i, page in enumerate(pages) if "Annex: all readings" in page)
            self.assertLessEqual(len(pages) - first, 3)
            annex = [text for page in pages[first:] for text in page]
            annex = " ".join(annex[annex.index("Annex: all readings"):])
            found = sorted(int(line) for line in re.findall(r"(?<![\d.])(\d+) \d\d\.\d5 ", annex + " "))
            self.assertEqual(found, list(range(2, 502)))

    def test_characters_that_the_first_font_lacks(self):
        # oracle: poppler reads them back; what no font has is named, never printed as a box in silence
        names = {"serial: S-4711": "serial: 编号七", "by: A. Lind": "by: 青木 and やまだ", "customer: Fenwick Aggregates": "customer: Ткань Λαμπ"}
        (self.folder / "r.pdf").unlink(missing_ok=True)
        done = run("check", self.job("astm-e11-17", names), "--report", self.folder / "r.pdf")
        text = self.text(self.folder / "r.pdf")
        for name in ("编号七", "青木", "やまだ", "Ткань Λαμπ"):
            self.assertIn(name, text)
        self.assertNotIn(b"U+", done.stderr)
        self.assertIn("DroidSansFallback", call("pdffonts", self.folder / "r.pdf").stdout)
        self.assertLess((self.folder / "r.pdf").stat().st_size, len(self.report("astm-e11-17", "pdf")) + 30_000)
        arabic = "\u0645\u0631\u062d\u0628\u0627 \U0001f600"
        done = run("check", self.job("astm-e11-17", {"serial: S-4711": f"serial: {arabic} 编"}), "--report", self.folder / "a.pdf")
        self.assertIn("a.pdf: boxes stand for characters that the fonts of PDF lack: U+0645, U+0631, U+062D, U+0628, U+0627, U+1F600\n", done.stderr.decode())
        letters = "".join(chr(0x1200 + i) for i in range(12))
        done = run("check", self.job("astm-e11-17", {"serial: S-4711": f"serial: {letters}"}), "--report", self.folder / "b.pdf")
        self.assertIn("U+1209 and 2 more\n", done.stderr.decode())

    def test_a_roll_lies_across_the_page(self):
        # property: six lanes of a roll 30 m long and 1.2 m wide are six distinct levels, wherever its length points
        for turned in (False, True):
            rows = ["direction,aperture_mm,field,x_mm,y_mm"]
            for lane in range(6):
                for place in range(12):
                    across, along = 100 + 200 * lane, 1000 + 2500 * place
                    for i in range(4):
                        x, y = (along + i, across + i) if turned else (across + i, along + i)
                        rows.append(f"{('warp', 'weft')[i % 2]},{5.6 + 0.01 * i:.3f},L{lane}F{place},{x},{y}")
            (self.folder / "r.csv").write_text("\n".join(rows) + "\n")
            (self.folder / "roll.yaml").write_text('schema: sievecloth-job/1\nstandard: astm-e11-17\nsize: "5.6 mm"\ngrade: inspection\n'
                                                   'piece: {roll: {width: "1220 mm", length: "30 m"}}\nreadings: r.csv\n')
            drawn = self.report(self.folder / "roll.yaml", "html").decode()
            wide = re.findall(r'<figure class="wide">(.*?)</figure>', drawn, re.S)
            self.assertEqual(len(wide), 2)
            width = float(re.search(r'viewBox="0 0 ([\d.]+)', wide[0])[1])
            circles = [(float(x), float(y)) for x, y in re.findall(r'<circle cx="([\d.]+)" cy="([\d.]+)"', wide[0])]
            self.assertEqual(len(circles), 72)  # one for each field
            levels = sorted({round(y) for _, y in circles})
            self.assertGreater(levels[-1] - levels[0], 70)
            self.assertEqual(len({round((y - levels[0]) / ((levels[-1] - levels[0]) / 5)) for _, y in circles}), 6)
            xs = [x for x, _ in circles]
            self.assertGreater(max(xs) - min(xs), 0.7 * width)
            self.assertIn("The axes have scales of their own", wide[0])

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
    main(20)
