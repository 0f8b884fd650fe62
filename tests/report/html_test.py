# property: one self-contained file, all external text as typed; read by Python's own parser
import html.parser
import re

from support import EDITIONS, ReportTest, main

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
        self.assertEqual(reader.tags.count("svg"), 6)  # distribution, order and map, for both directions
        self.assertGreater(reader.tags.count("text"), 60)
        self.assertIn("aperture [\u00b5m]", reader.text)
        self.assertEqual(read(self.report("iso-3310-1-1990", "html").decode()).tags.count("svg"), 4)  # no positions, no map

    def test_the_language_is_named(self):
        self.assertIn(b'<html lang="en">', self.report("astm-e11-17", "html"))


if __name__ == "__main__":
    main(4)
