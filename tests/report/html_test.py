# property: one self-contained file, all external text as typed; read by Python's own parser
import html.parser
import re

from support import EDITIONS, ReportTest, doubtful, main

HOSTILE = "<script>alert(1)</script> \"&' --> </style> {{x}} ]]>"


class Reader(html.parser.HTMLParser):
    VOID = {"meta", "br", "img", "link", "line", "rect", "circle", "polyline"}

    def __init__(self):
        super().__init__()
        self.tags, self.stack, self.text, self.attributes, self.faults = [], [], [], [], []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += [(tag, name, value) for name, value in attrs]
        if tag not in self.VOID:
            self.stack.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += [(tag, name, value) for name, value in attrs]

    def handle_endtag(self, tag):
        if not self.stack or self.stack.pop() != tag:
            self.faults.append(tag)

    def handle_data(self, data):
        self.text.append(data)


def read(document):
    reader = Reader()
    reader.feed(document)
    reader.close()
    return reader


class Html(ReportTest):
    def test_one_file_without_script_or_network(self):
        for edition in EDITIONS:
            document = self.report(edition, "html", "--annex", "readings").decode()
            self.assertNotRegex(document, r"(?i)https?:|//[a-z]|@import|url\(|<script|<iframe|<object|<link|\son[a-z]+=")
            reader = read(document)
            self.assertEqual((reader.faults, reader.stack), ([], []), edition)
            for tag, name, value in reader.attributes:
                self.assertNotIn(name, ("href", "src", "action", "srcset"), (tag, value))

    def test_text_from_outside_shows_as_typed(self):
        yaml = "'" + HOSTILE.replace("'", "''") + "'"
        job = self.job("astm-e11-17", {"serial: S-4711": f"serial: {yaml}", "number: IR-2026-031": f"number: {yaml}",
                                       "name: Nordwald Test Laboratory": f"name: {yaml}", "by: A. Lind": f"by: {yaml}",
                                       "customer: Fenwick Aggregates": f"customer: {yaml}"})
        document = self.report(job, "html").decode()
        reader = read(document)
        self.assertNotIn("script", reader.tags)
        self.assertEqual((reader.faults, reader.stack), ([], []))
        self.assertGreaterEqual("".join(reader.text).count(HOSTILE), 5)
        self.assertEqual(document.count("</style>"), 1)
        self.assertNotIn("alert(1)", re.search(r"<style>(.*?)</style>", document, re.S)[1].replace("alert\\28 1\\29 ", ""))

    def test_pictures_keep_their_text(self):
        reader = read(self.report("astm-e11-17", "html").decode())
        self.assertEqual(reader.tags.count("figure"), 6)  # distribution, order and map, for both directions
        self.assertGreater(reader.tags.count("text"), 60)
        self.assertIn("opening [\u00b5m]", reader.text)
        self.assertEqual(read(self.report("iso-3310-1-1990", "html").decode()).tags.count("figure"), 4)  # no positions, no map

    def rows(self, document):
        """The rows of the criteria: requirement -> list of (cells as text, drawing), warp before weft."""
        section = re.search(r'<section id="criteria">(.*?)</section>', document, re.S)[1]
        titles = re.findall(r"<th scope=\"col\"[^>]*>(.*?)</th>", section)
        rows = {}
        for row in re.findall(r"<tr><td.*?</tr>", section, re.S):
            cells = [re.sub(r"<svg.*?</svg>|<[^>]*>", "", cell, flags=re.S) for cell in re.findall(r"<td[^>]*>(.*?)</td>", row, re.S)]
            drawing = re.search(r"<svg.*?</svg>", row, re.S)
            rows.setdefault(cells[0], []).append((dict(zip(titles, cells)), drawing[0] if drawing else ""))
        return rows

    def strokes(self, drawing, width):
        return sorted({float(x) for x, same in re.findall(rf'<line x1="([\d.]+)" y1="[\d.]+" x2="([\d.]+)"[^>]*stroke-width="{width}"', drawing) if x == same})

    def test_each_value_is_drawn_between_its_limits(self):
        # identity: the places on the drawing are in proportion to the numbers of the JSON document
        job, _ = doubtful(self.folder)["whole budget"]
        document = self.document(job, "--how-sure")
        drawn = self.rows(self.report(job, "html", "--how-sure").decode())
        seen = 0
        for name, id in (("Average opening", "average-aperture"), ("Average wire diameter", "wire-diameter")):
            for (cells, drawing), criterion in zip(drawn[name], [c for c in document["criteria"] if c["id"] == id]):
                lower, upper = self.strokes(drawing, "1.2")
                dot = float(re.search(r'<circle cx="([\d.]+)"', drawing)[1])
                share = (criterion["observed_um"] - criterion["lower_um"]) / (criterion["upper_um"] - criterion["lower_um"])
                self.assertAlmostEqual((dot - lower) / (upper - lower), share, delta=0.001)
                if "guard_um" in criterion:
                    per_um = (upper - lower) / (criterion["upper_um"] - criterion["lower_um"])
                    for moved, limit in zip(self.strokes(drawing, "0.5"), (lower + per_um * criterion["guard_um"], upper - per_um * criterion["guard_um"])):
                        self.assertAlmostEqual(moved, limit, delta=0.011)
                        seen += 1
                if id == "average-aperture":  # U is drawn as wide as it is, and printed
                    expanded = document[f"how_sure_{criterion['direction']}"]["mean_expanded_um"]["value"]
                    low, high = self.strokes(drawing, "0.8")
                    self.assertAlmostEqual((high - low) / (upper - lower), 2 * expanded / (criterion["upper_um"] - criterion["lower_um"]), delta=0.001)
                    self.assertLessEqual(expanded, float(cells["U"]))  # two digits, rounded up
                    self.assertLess(float(cells["U"]), 1.1 * expanded)
        self.assertGreaterEqual(seen, 4)
        self.assertIn("U", self.rows(self.report(job, "html").decode())["Average opening"][0][0])  # without --how-sure too

    def test_what_lies_far_off_is_an_arrow(self):
        # boundary: on the limit, just on the drawing, and beyond it on either side; w = 75 um, Y = 4.1 um of the table
        readings = self.folder / "d.csv"
        options = ["--standard", "astm-e11-17", "--size", "75um", "--grade", "inspection"]
        for value, dot in ((79.1, True), (81.5, True), (82, False), (68.5, True), (68, False), (50, False), (120, False)):
            readings.write_text("direction,aperture_um\n" + f"warp,{value}\nweft,{value}\n" * 110)
            for _, drawing in self.rows(self.report(readings, "html", *options).decode())["Average opening"]:
                self.assertEqual(("<circle" in drawing, "<polyline" in drawing), (dot, not dot), value)

    def test_text_omits_drawings_and_their_key(self):
        for ending in ("txt", "md"):
            text = self.report("astm-e11-17", ending).decode()
            self.assertNotIn("Between the limits", text)
            self.assertNotIn("heavy strokes", text)

    def test_the_language_is_named(self):
        self.assertIn(b'<html lang="en">', self.report("astm-e11-17", "html"))


if __name__ == "__main__":
    main(7)
