# golden: tests/report/golden, refreshed only by tools/dev/refresh_golden; property: the same input gives the same bytes
import json
import pathlib
import re
import shutil
import sys

from support import EDITIONS, FIXTURES, ROOT, ReportTest, doubtful, main, run

GOLDEN = pathlib.Path(__file__).parent / "golden"
GERMAN = ROOT / "lib/report/wording/de.yaml"
GOLDEN_FILES = [(f"{edition}.{ending}", edition, ending, ()) for edition in EDITIONS for ending in ("txt", "json", "html")]
GOLDEN_FILES += [("astm-e11-17.md", "astm-e11-17", "md", ()),
                 ("iso-3310-1-2016.de.txt", "iso-3310-1-2016", "txt", ("--language", GERMAN))]


class Text(ReportTest):
    def test_golden_files(self):
        for name, edition, ending, options in GOLDEN_FILES:
            with self.subTest(name):
                self.assertEqual(self.report(edition, ending, *options), (GOLDEN / name).read_bytes())

    def test_same_bytes_under_another_locale_zone_and_folder(self):
        elsewhere = {"LANG": "de_DE.UTF-8", "LC_ALL": "de_DE.UTF-8", "LC_NUMERIC": "de_DE.UTF-8", "TZ": "Pacific/Auckland",
                     "HOME": "/nonexistent", "SOURCE_DATE_EPOCH": "1"}
        for ending in ("txt", "md", "json", "html"):
            first = self.report("astm-e11-17", ending, "--annex", "readings")
            self.assertEqual(first, self.report("astm-e11-17", ending, "--annex", "readings", name="again", environment=elsewhere))

    def test_checklist_of_what_a_report_must_say(self):
        text = self.report("astm-e11-17", "txt").decode()
        text = re.sub(r"\s+", " ", text)
        for said in ("IR-2026-031", "2026-03-02", "2026-03-09", "2026-03-10", "clean, cloth taut", "relate only to the item",
                     "Simple acceptance", "50 %", "Authorised by M. Okafor", "C-2031, 2025-06-01", "Scale correction applied",
                     "even back light", "10x", "Suspect openings 2", "75 \u00b5m", "No. 200", "S-4711", "round, 200 mm, 50 mm deep",
                     "stainless steel 1.4401", "ASTM E11-17", "inspection", "Nordwald Test Laboratory", "Resolution 0.5 \u00b5m",
                     "20.4 degrees Celsius", "45 %", "parallel to the warp (openings between shute wires)", "parallel to the shute (openings between warp wires)",
                     "70.9 79.1", "not verified", "does not replace the standard", "Table set",
                     "sievecloth 0.", "SHA-256"):
            self.assertIn(said, text)
        amended = re.sub(r"\s+", " ", self.report("iso-3310-1-2016", "txt").decode())
        self.assertIn("replaces report IR-2026-029", amended)
        self.assertIn("4 \u00b5m (1 \u00b5m or Y/4, whichever is greater)", amended)
        self.assertIn("caution: The certificate of the length standard was due on 2026-03-01", amended)
        self.assertIn("not recorded", self.report("astm-e11-04", "txt").decode())

    def test_states_the_rule_of_decision_that_judged_and_no_other(self):
        # regression: simple acceptance was stated in every report
        rules = {"simple-acceptance": "Simple acceptance:", "guarded-acceptance": "Guarded acceptance:", "four-outcomes": "Four outcomes (ILAC-G8):"}
        job, _ = doubtful(self.folder)["whole budget"]
        for rule in rules:
            text = re.sub(r"\s+", " ", self.report(job, "txt", "--decision", rule).decode())
            self.assertEqual([name for name, words in rules.items() if words in text], [rule])
            self.assertIn("nothing is rounded before", text)

    def test_what_nobody_examined_is_listed_and_what_nobody_asks_is_not(self):
        # boundary: "Not examined" lists what the edition requires and nobody examined
        everything = self.report("astm-e11-17", "txt").decode()
        self.assertNotIn("Not examined\n", everything)
        self.assertNotIn("intermediate limit", everything)  # E11-17 has none
        left_out = re.sub(r"\s+", " ", self.report("astm-e11-17", "txt", "--apertures-only").decode())
        self.assertIn("Average wire diameter parallel to the warp (openings between shute wires): left out: openings only", left_out)

    def test_an_agreed_count_says_with_whom_and_when(self):
        # boundary: each part of the record may be missing
        def agreed(record):
            job = self.job("iso-3310-1-1990", {"schema: sievecloth-job/1\n": f"schema: sievecloth-job/1\nagreed_count: {record}\n"})
            return re.sub(r"\s+", " ", self.report(job, "txt").decode()), self.document(job)["report"]["agreed_count"]
        text, document = agreed('{value: "20", with: "Tolvane Mills", date: "2026-11-02"}')
        self.assertIn("Tolvane Mills", text)
        self.assertEqual(document, {"value": 20, "with": "Tolvane Mills", "date": "2026-11-02"})
        text, document = agreed('{value: "20", date: "2026-11-02"}')
        self.assertIn("agreed with the customer, 2026-11-02", text)
        self.assertEqual(document, {"value": 20, "date": "2026-11-02"})
        text, _ = agreed('{value: "20"}')
        self.assertIn("agreed with the customer", text)

    def test_what_does_not_apply_is_not_called_unverified(self):
        # boundary: the wires' limits are no basis for a verdict that left the wires out
        for options, named in (((), True), (("--apertures-only",), False)):
            text = run("check", FIXTURES / "astm-e11-17.yaml", *options, code=0).stdout.decode()
            self.assertEqual("wire-diameter" in text[text.index("Provisional:"):text.index("\nNote")], named)

    def test_nothing_from_outside_moves_a_terminal(self):
        # boundary: an escape sequence in the name of a column or a file
        readings = "col\x1bour,direction,aperture_um\n" + "x,warp,75\n" * 10 + "x,weft,75\n" * 10
        (self.folder / "a\x1b[2J.csv").write_text(readings)
        arguments = ("--standard", "astm-e11-17", "--size", "75um", "--grade", "inspection", "--ignore-columns", "--report")
        batch = run("check", "a\x1b[2J.csv", "a\x1b[2J.csv", *arguments[:-1], cwd=self.folder, code=2)
        self.assertIn(b"caution: a", batch.stdout + batch.stderr)
        single = run("check", "a\x1b[2J.csv", *arguments, "r.txt", cwd=self.folder, code=2)
        report = (self.folder / "r.txt").read_bytes()
        self.assertIn(b"our", report)
        for text in (batch.stdout, batch.stderr, single.stdout, single.stderr, report):
            self.assertNotIn(b"\x1b", text)

    def test_no_recalibration_date_unless_agreed(self):
        self.assertNotIn(b"ecalibration", self.report("astm-e11-17", "txt"))
        agreed = self.job("astm-e11-17", {"  order: 88-1203\n": "  order: 88-1203\n  recalibration_agreed: 2027-03-10\n"})
        self.assertIn(b"2027-03-10", self.report(agreed, "txt"))

    def test_millimetres_from_one_millimetre(self):
        text = self.report("iso-3310-1-1990", "txt").decode()
        self.assertIn("Mean [mm]", text)
        self.assertNotIn("Mean [\u00b5m]", text)
        self.assertIn("Mean [\u00b5m]", self.report("astm-e11-04", "txt").decode())

    def test_another_language_is_complete(self):
        for edition in EDITIONS:
            german = self.report(edition, "txt", "--language", GERMAN).decode()
            english = self.report(edition, "txt").decode()
            self.assertNotRegex(german, r"\b(Requirement|Measured|Outcome|undecided|along warp|limit:|apertures|Not|The)\b")
            numbers = lambda text: re.findall(r"[+-]\d+[.,]\d+", text)
            self.assertEqual([n.replace(",", ".") for n in numbers(german)], numbers(english))

    def test_how_sure_is_german_too(self):
        for name, (job, options) in doubtful(self.folder).items():
            with self.subTest(name):
                german = self.report(job, "txt", "--how-sure", *options, "--language", GERMAN).decode()
                english = self.report(job, "txt", "--how-sure", *options).decode()
                self.assertIn("Vertrauensbereiche der Stichprobe", german)
                self.assertNotRegex(german, r"\b(How|apertures|readings|with|nothing|limit|piece|tests|sure|worth|at most)\b")
                self.assertNotRegex(english + german, r"(?i)\b(nan|inf)\b|\{\w+\}")
                for line in german.splitlines():
                    self.assertNotRegex(line, r"\d\.\d+ (µm|mm|%)")

    def test_a_broken_wording_is_refused_where_it_stands(self):
        lines = GERMAN.read_text().splitlines(keepends=True)
        row = next(i for i, line in enumerate(lines) if "  page:" in line)
        for broken, word in (([*lines[:row], '  page: "Seite {page}"\n', *lines[row + 1:]], "{pages}"), ([*lines, '  page2: "x"\n'], "page2"),
                             ([*lines[:row], '  page2: "x"\n', *lines[row + 1:]], "page2")):
            (self.folder / "x.yaml").write_text("".join(broken))
            done = run("check", FIXTURES / "astm-e11-17.yaml", "--language", self.folder / "x.yaml", "--report", self.folder / "x.txt", code=65)
            self.assertIn(word, done.stderr.decode())
            self.assertIn("x.yaml:", done.stderr.decode())
            self.assertLess(len(done.stderr), 400)  # of several hundred keys the nearest is offered, not all
            self.assertFalse((self.folder / "x.txt").exists())

    def test_a_wording_may_change_a_single_text(self):
        # boundary: what is missing stays English and is named, the first ten of it; nothing is said where nothing is missing
        own = self.folder / "own.yaml"
        head = 'schema: sievecloth-wording/1\nlanguage: en-GB\ndecimal_mark: "."\ntexts:\n'
        own.write_text(head + '  title.report: "Report of inspection"\n')
        done = run("check", FIXTURES / "astm-e11-17.yaml", "--language", own, "--report", self.folder / "x.txt")
        plain = self.report("astm-e11-17", "txt").decode()
        self.assertEqual((self.folder / "x.txt").read_text().replace("Report of inspection\n====================", "Inspection report\n================="), plain)
        self.assertRegex(done.stderr.decode(), r"own.yaml: \d{3} of its texts are missing and stay English: title.record, (\S+, ){8}\S+ and \d{3} more\n")
        whole = [line for line in GERMAN.read_text().splitlines(keepends=True) if not line.startswith(("  page:", "  dash:"))]
        own.write_text("".join(whole))
        done = run("check", FIXTURES / "astm-e11-17.yaml", "--language", own, "--report", self.folder / "y.txt")
        self.assertIn("own.yaml: 2 of its texts are missing and stay English: page, dash\n", done.stderr.decode())
        done = run("check", FIXTURES / "astm-e11-17.yaml", "--language", GERMAN, "--report", self.folder / "z.txt")
        self.assertNotIn("missing", done.stderr.decode())

    def test_sources_are_german_too(self):
        # property: no title of a source and no sentence on what a table rests on stays English
        titles = re.findall(r'title: "(.*?)"', (ROOT / "tables/sources.yaml").read_text())
        self.assertGreater(len(titles), 9)
        for edition in EDITIONS:
            german = re.sub(r"\s+", " ", self.report(edition, "txt", "--language", GERMAN).decode())
            for title in titles:
                if re.search(r"\b(the|of|in|clause|wires|Annex|at|for)\b", title):
                    self.assertNotIn(f"({title})", german)
            self.assertNotRegex(german, r"\b(transcribed|counts|memory|corrections)\b")

    def test_how_sure_has_a_column_for_each_direction(self):
        # identity: the figures of the JSON document, side by side; tests that found nothing are named in a sentence
        job, _ = doubtful(self.folder)["whole budget"]
        document = self.document(job, "--how-sure")
        rows = self.report(job, "md", "--how-sure").decode().splitlines()
        self.assertIn("| Figure | parallel to the warp | parallel to the shute | What it means |", rows)
        names = set()
        for id, figure in document["how_sure_warp"].items():
            if id != "notes":
                cells = next(row for row in rows if row.startswith("| **") and f"| {figure['shown']} | {document['how_sure_weft'][id]['shown']} |" in row)
                names.add(cells)
        self.assertGreater(len(names), 10)
        quiet = [sign for sign in document["signs"] if not sign["flagged"] and "not_tested" not in sign]
        self.assertTrue(quiet)
        self.assertEqual(sum(row.startswith("- Tests that found nothing:") for row in rows), 1)

    def test_errata_of_the_row_are_told_everywhere(self):
        # regression: for a row within a list or range of an erratum's sizes, the erratum was not reported
        readings = self.folder / "d.csv"
        for standard, size, words in (("astm-e11-17", "19 mm", "Taken for a misprint"), ("astm-e11-17", "31.5 mm", "Off trend on the loose side"),
                                      ("iso-3310-1-2016", "45 um", "repeats the largest wire")):
            readings.write_text("direction,aperture_mm\n" + "".join(f"{d},{size.split()[0]}\n" for d in ("warp", "weft")))
            options = ["--standard", standard, "--size", size, "--grade", "inspection"]
            for ending in ("txt", "md", "json", "html"):
                with self.subTest(f"{size} {ending}"):
                    text = re.sub(r"\s+", " ", self.report(readings, ending, *options).decode())
                    self.assertIn(words, text)
            for more in ((), ("--json",)):
                self.assertIn(words, re.sub(r"\s+", " ", run("check", readings, *options, *more, code=None).stdout.decode()))
            errata = json.loads(run("check", readings, *options, "--json", code=None).stdout)["errata"]
            self.assertTrue(all(set(erratum) == {"where", "printed", "used", "reason"} for erratum in errata) and errata)
        self.assertEqual(json.loads(run("check", readings, "--standard", "astm-e11-17", "--size", "75um", "--grade", "inspection", "--json", code=None).stdout)["errata"], [])

    def test_ignored_columns_are_named(self):
        # regression: an ignored column was not mentioned
        readings = self.folder / "d.csv"
        readings.write_text("direction,aperture_um,colour\nwarp,75,red\nweft,76,blue\n")
        options = ["--standard", "astm-e11-17", "--size", "75um", "--grade", "inspection", "--ignore-columns"]
        for ending in ("txt", "md", "json", "html"):
            self.assertIn("colour", self.report(readings, ending, *options).decode())
        self.assertNotIn("Ignored", self.report("astm-e11-17", "txt").decode())

    def test_cautions_about_the_readings_are_on_the_paper(self):
        # regression: implausible readings passed without a warning
        readings = self.folder / "d.csv"
        rows = [70 + i % 11 for i in range(110)]
        options = ["--standard", "astm-e11-17", "--size", "75um", "--grade", "inspection"]
        for words, warp, weft in (("all openings parallel to the warp are the same", [75] * 110, rows), ("warp and shute hold the same number of openings", rows, rows),
                                  ("read in steps of 5 \u00b5m", [70 + i % 3 * 5 for i in range(110)], rows)):
            readings.write_text("direction,aperture_um\n" + "".join(f"warp,{value}\n" for value in warp) + "".join(f"weft,{value}\n" for value in weft))
            for ending in ("txt", "html"):
                self.assertIn(words, re.sub(r"\s+", " ", self.report(readings, ending, *options).decode()))

    def test_an_agreed_count_is_named_as_agreed(self):
        # boundary: where the edition's count is not known, the report says with whom and when another was agreed
        job = self.job("iso-3310-1-1990", {"readings:": 'agreed_count: {value: "30", with: Tolvane Mills, date: "2026-11-02"}\nreadings:'})
        text = re.sub(r"\s+", " ", self.report(job, "txt").decode())
        for words in ("30", "Tolvane Mills", "2026-11-02", "agreed"):
            self.assertIn(words, text)

    def test_what_was_not_verified_is_said_in_words_of_the_trade(self):
        # golden: provenance as worded in reports, where "second-hand" and "seen" would not be understood
        text = re.sub(r"\s+", " ", self.report("astm-e11-17", "txt").decode())
        self.assertIn("provisional: the limits marked below have not been verified against the standard", text)
        self.assertIn("from a public transcription, not verified", text)
        self.assertIn("unverified", text)
        self.assertNotRegex(text, r"second-hand|from memory|not seen")

    def laboratory(self, extra=""):
        (self.folder / "lab.yaml").write_text("schema: sievecloth-laboratory/1\nname: Laboratory <of> Weave & Wire\n"
                                              "address: [Weft Street 3, Kettenheim]\naccreditation: accredited under number 0815\n" + extra)
        return self.folder / "lab.yaml"

    def test_a_laboratory_has_its_own_face(self):
        (self.folder / "logo.svg").write_text('<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 30 10"><rect width="30" height="10"/></svg>')
        shutil.copy(GERMAN, self.folder / "words.yaml")
        face = self.laboratory("logo: logo.svg\nwording: words.yaml\n")
        text = self.report("astm-e11-17", "txt", "--laboratory", face).decode()
        self.assertTrue(text.startswith("Laboratory <of> Weave & Wire\nWeft Street 3\nKettenheim\naccredited under number 0815\n\nPr\u00fcfbericht\n"))
        html = self.report("astm-e11-17", "html", "--laboratory", face).decode()
        self.assertIn('<html lang="de">', html)
        self.assertIn("<strong>Laboratory &lt;of&gt; Weave &amp; Wire</strong>", html)
        self.assertIn('src="data:image/svg+xml;base64,', html)
        self.assertNotIn("http", html)

    def test_a_template_lays_out_what_the_report_says(self):
        (self.folder / "t.txt").write_text("{{shown.title}} {{report.number}}: {{verdict}}\n"
                                           "{{#criteria}}{{id}} {{direction}} {{observed_um}}\n{{/criteria}}"
                                           "{{#shown.sections}}[{{id}}]{{/shown.sections}}\n{{report.piece.serial}}\n")
        (self.folder / "t.html").write_text("<!DOCTYPE html><title>{{shown.title}}</title><p>{{report.piece.serial}}</p>"
                                            "{{#shown.sections}}{{#pictures}}{{{svg}}}{{/pictures}}{{/shown.sections}}")
        job = self.job("astm-e11-17", {"serial: S-4711": "serial: '<b>&'"})
        text = self.report(job, "txt", "--template", self.folder / "t.txt").decode()
        self.assertTrue(text.startswith("Inspection report IR-2026-031: conforms\nviewing"))
        self.assertIn("average-aperture warp 74.8857", text)
        self.assertIn("[piece][basis]", text)
        self.assertIn("<b>&\n", text)
        html = self.report(job, "html", "--template", self.folder / "t.html").decode()
        self.assertIn("<p>&lt;b&gt;&amp;</p>", html)
        self.assertEqual(html.count("<svg"), 6)
        (self.folder / "t.txt").write_text("{{#criteria}}")
        run("check", job, "--report", self.folder / "a.txt", "--template", self.folder / "t.txt", code=65)

    def test_a_figure_that_one_direction_alone_has(self):
        # property: its place among the others is the same, whichever direction it is
        places = []
        for measured in ("warp", "weft"):
            rows = "".join(f"  {direction},{75 + (i * 7 + j) % 9 / 10},{50 + i % 3 if direction == measured and i < 12 else ''}\n"
                           for j, direction in enumerate(("warp", "weft")) for i in range(110))
            job = self.folder / f"{measured}.yaml"
            job.write_text("schema: sievecloth-job/1\nstandard: astm-e11-17\nsize: \"No. 200\"\ngrade: inspection\nviewing: {result: passed}\n"
                           f"readings: |\n  direction,aperture_um,wire_um\n{rows}")
            text = self.report(job, "txt", "--how-sure").decode()
            self.assertEqual(text.count("\n  mean wire of the piece"), 1)
            places.append(text[: text.index("\n  mean wire of the piece")].count("What it means"))
        self.assertEqual(places[0], places[1])


def refresh():
    """Writes the golden files anew; tools/dev/refresh_golden calls it."""
    GOLDEN.mkdir(exist_ok=True)
    for name, edition, ending, options in GOLDEN_FILES:
        path = GOLDEN / f"new.{ending}"
        run("check", FIXTURES / f"{edition}.yaml", "--report", path, *options)
        path.rename(GOLDEN / name)


if __name__ == "__main__":
    refresh() if "--refresh" in sys.argv else main(14)
