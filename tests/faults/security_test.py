#!/usr/bin/env python3
# boundary: malicious input, against docs/security.md
"""security_test.py TOOL [pdf]: names, texts and files that try to escape from where they belong. Prints `N passed, N failed`."""

import csv
import html.parser
import io
import json
import os
import pathlib
import re
import subprocess
import sys
import tempfile

TOOL, PDF = sys.argv[1], sys.argv[2:] == ["pdf"]
ASKED = ["--standard", "astm-e11-17", "--size", "75um", "--grade", "inspection"]
READINGS = "direction,aperture_um,wire_um\nwarp,75.3,50\nweft,74.8,49\n"
JOB = 'schema: sievecloth-job/1\nstandard: astm-e11-17\nsize: "75um"\ngrade: inspection\n'
PATIENCE = 120  # seconds until a command counts as hanging
HARMFUL = ("\x1b[31mred", "\x1b]0;title\x07", "bell\x07", "c1\u009b31m", "del\x7f", "back\x08\x08", "over\rwritten", "turned\u202egnp.exe", "line\u2028break")
passed, complaints = 0, []


def run(folder, *arguments, **more):
    return subprocess.run([TOOL, *arguments], cwd=folder, capture_output=True, timeout=PATIENCE, check=False, stdin=subprocess.DEVNULL if "input" not in more else None, **more)


def expect(right, what, done=None):
    global passed
    if right:
        passed += 1
    else:
        complaints.append(f"{what}\n  {done}"[:1200])


def is_plain(data):
    """Whether a terminal only gets letters and line ends."""
    text = data.decode("utf-8")
    turning = "\u2028\u2029\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
    return not any((ord(c) < 32 and c != "\n") or 127 <= ord(c) < 160 or c in turning for c in text)


def test_terminal(folder):
    """No name and no text out of a file reaches the terminal raw."""
    for text in HARMFUL:
        (folder / f"{text}.csv").write_text(READINGS, encoding="utf-8")
        (folder / f"{text}.yaml").write_text("schema: 7\n", encoding="utf-8")
        (folder / "column.csv").write_text(f"direction,{text}\nwarp,75\n", encoding="utf-8", newline="")
        (folder / "cell.csv").write_text(f"direction,aperture_um\n{text},75\nwarp,{text}\n", encoding="utf-8", newline="")
        (folder / "job.yaml").write_text(JOB + f"piece: {{identification: {json.dumps(text)}}}\nreadings: |\n  direction,aperture_um\n  warp,75\n", encoding="utf-8")
        (folder / "key.yaml").write_text(JOB + f"{json.dumps(text)}: 1\nreadings: d.csv\n", encoding="utf-8")
        (folder / "names.yaml").write_text(JOB + f"readings: {json.dumps(text)}\n", encoding="utf-8")
        inputs = (f"{text}.csv", f"{text}.missing", f"{text}.yaml", "column.csv", "cell.csv", "job.yaml", "key.yaml", "names.yaml")
        commands = [["check", name, *ASKED] for name in inputs] + [["check", *inputs, *ASKED]]
        commands += [["check", "column.csv", *ASKED[:-4], "--size", text, "--grade", "inspection"], ["check", "column.csv", "--standard", text, *ASKED[2:]],
                     ["check", "column.csv", *ASKED[:-1], text], ["check", "column.csv", *ASKED, f"--{text}"], [text], ["size", text], ["size", "75um", "--standard", text],
                     ["check", "column.csv", *ASKED, "--report", text], ["check", f"{text}.csv", *ASKED, "--report", f"{text}/a.txt"], ["check", "column.csv", *ASKED, "--tables", text],
                     ["check", "column.csv", *ASKED, "--threads", text], ["watch", f"{text}.missing", *ASKED], ["plan", "--size", text], ["match", text], ["cloth", text], ["gauge", text]]
        for command in commands:
            done = run(folder, *command)
            expect(is_plain(done.stdout) and is_plain(done.stderr) and done.returncode not in (70,) and done.returncode >= 0, f"{command}", done)
        (folder / f"{text}.csv").write_text(f"direction,aperture_um,field\nwarp,75.3,{text if chr(13) not in text else 'a'}\n", encoding="utf-8", newline="")
        run(folder, "check", f"{text}.csv", *ASKED, "--annex", "readings", "--report", "out.txt", "--report", "out.md")
        expect(is_plain((folder / "out.txt").read_bytes()) and is_plain((folder / "out.md").read_bytes()), f"report of {text!r}")


class Tags(html.parser.HTMLParser):
    """Tags and attributes of a report."""

    def __init__(self):
        super().__init__()
        self.tags, self.attributes, self.links = set(), set(), set()

    def handle_starttag(self, tag, attrs):
        self.tags.add(tag)
        self.attributes |= {name for name, _ in attrs}
        self.links |= {value for name, value in attrs if name in ("href", "src", "xlink:href")}


def test_reports(folder):
    """Nothing that a job, a laboratory or a wording says becomes markup."""
    marks = "<script>alert(1)</script><img src=x onerror=alert(1)>\"'&amp;</style></title>]]>--> {{#x}} `*_[a](http://b) (\\) %% | =1+1"
    text, other = json.dumps(marks), json.dumps("2" + marks)
    job = JOB + f"""piece: {{identification: {text}, serial: {text}, material: {text}, weave: {text}, condition: {text}}}
laboratory: {{name: {text}, address: {text}}}
measured: {{by: {text}, place: {text}, method: {text}, sampling: {text}, instrument: {text}, temperature: {text}, humidity: {text},
  scale: {{certificate: {text}}}, uncertainty: {{budget: {text}, expanded: "0.5 um", coverage_factor: "2"}}}}
viewing: {{result: passed, by: {text}, light: {text}, magnification: {text}}}
sampled: {{by: {text}, plan: {text}, seed: {text}}}
examined: [{{what: {text}, result: {text}, limit: {text}}}]
corrected: [{{reading: {text}, was: 57 um, now: 74.8 um, reason: {text}, by: {text}, date: "2026-11-01"}}]
report: {{number: {text}, replaces: {other}, amendment: {text}, changed: [{text}], customer_address: {text}, external: [{text}], opinions_by: {text}, authorised_as: {text}, authorised_by: {text}, customer: {text}, order: {text}, deviations: [{text}]}}
readings: |
  direction,aperture_um,wire_um,field
  warp,75.3,50,<script>
  weft,74.8,49,"=1+1"
"""
    (folder / "job.yaml").write_text(job, encoding="utf-8")
    (folder / "plain.yaml").write_text(job.replace(text, '"plain"').replace(other, '"other"').replace("<script>", "a"), encoding="utf-8")
    (folder / "lab.yaml").write_text(f"schema: sievecloth-laboratory/1\nname: {text}\naddress: [{text}]\naccreditation: {text}\n", encoding="utf-8")
    pages = {}
    for name in ("job", "plain"):
        done = run(folder, "check", f"{name}.yaml", "--laboratory", "lab.yaml", "--annex", "readings", *(word for ending in ("html", "md", "txt", "json", *(["pdf"] if PDF else [])) for word in ("--report", f"{name}.{ending}")))
        expect(done.returncode == 2, "a report with markup in every text", done)
        pages[name] = Tags()
        pages[name].feed((folder / f"{name}.html").read_text(encoding="utf-8"))
    harmless, harmful = pages["plain"], pages["job"]
    expect(harmful.tags == harmless.tags and harmful.attributes == harmless.attributes and harmful.links == harmless.links, f"{harmful.tags ^ harmless.tags} {harmful.attributes ^ harmless.attributes}")
    expect(not harmful.tags & {"script", "img", "iframe", "object", "embed", "link", "base", "form"} and not any(name.startswith("on") for name in harmful.attributes), "active tags")
    expect("<script" not in (folder / "job.html").read_text(encoding="utf-8").lower(), "a script in HTML")
    markdown = (folder / "job.md").read_text(encoding="utf-8")
    expect("<script" not in markdown.replace("\\<", "") and not re.search(r"(?<!\\)\]\(http", markdown), "markup in Markdown")
    report = json.loads((folder / "job.json").read_text(encoding="utf-8"))["report"]
    expect(marks in json.dumps(report).encode().decode("unicode_escape") or marks in str(report), "JSON keeps the text as it is")
    if PDF:
        shown = subprocess.run(["pdftotext", "-raw", "job.pdf", "-"], cwd=folder, capture_output=True, check=True).stdout.decode()
        expect("<script>alert(1)</script>" in shown.replace("\n", ""), "PDF shows the text as it is")
        structure = subprocess.run(["qpdf", "--qdf", "--object-streams=disable", "job.pdf", "-"], cwd=folder, capture_output=True, check=True).stdout
        expect(not any(name in structure for name in (b"/JavaScript", b"/JS", b"/OpenAction", b"/Launch", b"/URI", b"/EmbeddedFile ")), "active objects in PDF")


def test_wording(folder):
    """A language file is text, too."""
    template = next((path for path in (pathlib.Path(TOOL).parent.parent / "lib/report/wording").glob("*.yaml")), None) or next(pathlib.Path(__file__).resolve().parents[2].glob("lib/report/wording/*.yaml"))
    lines = template.read_text(encoding="utf-8").split("\n")
    changed = [line.replace(': "', ': "<script>x</script>', 1) if line.startswith("  ") else line for line in lines]
    (folder / "w.yaml").write_text("\n".join(changed), encoding="utf-8")
    (folder / "d.csv").write_text(READINGS, encoding="ascii")
    done = run(folder, "check", "d.csv", *ASKED, "--language", "w.yaml", "--report", "w.html")
    expect(done.returncode == 2 and "<script" not in (folder / "w.html").read_text(encoding="utf-8").lower(), "a script in a wording", done)


def test_summary(folder):
    """No cell of a summary is a formula to a spreadsheet."""
    names = ["=1+1.csv", "+1.csv", "@SUM(A1).csv", "\t=1.csv", "\r=1.csv", 'a","=1.csv', "a;=1.csv", "a\n=1.csv", "./-1.csv"]
    for name in names:
        (folder / name).write_text(READINGS, encoding="ascii")
    done = run(folder, "check", *names, "=missing.csv", "@missing.csv", *ASKED, "--summary", "out.csv")
    rows = list(csv.reader(io.StringIO((folder / "out.csv").read_text(encoding="utf-8"), newline="")))
    expect(done.returncode == 66 and len(rows) == 12 and all(len(row) == len(rows[0]) for row in rows), "a row for each piece", done)
    numbers = {rows[0].index(name) for name in ("margin_um", "share_of_allowance")}  # where a sign is legitimate
    for row in rows[1:]:
        texts = [cell for i, cell in enumerate(row) if i not in numbers]
        expect(not any(cell and cell[0] in "=+-@\t\r" for cell in texts), f"{row}")
        for i in numbers:
            expect(not row[i] or float(row[i]) is not None, f"{row}")


def test_names_in_jobs(folder):
    """What a file names is looked for from its own folder, and must be a regular file."""
    (folder / "inside").mkdir()
    (folder / "inside/d.csv").write_text(READINGS, encoding="ascii")
    os.mkfifo(folder / "inside/pipe")
    os.symlink("/dev/zero", folder / "inside/zero")
    os.symlink("loop", folder / "inside/loop")

    def check(name, **more):
        (folder / "inside/job.yaml").write_text(JOB + f"readings: {json.dumps(name)}\n", encoding="utf-8")
        return run(folder, "check", "inside/job.yaml", **more)

    expect(check("d.csv").returncode == 2, "from the folder of the job file")
    for name, words in (("pipe", b"no regular file"), ("zero", b"no regular file"), ("/dev/zero", b"no regular file"), ("/dev/stdin", b""), ("loop", b"cannot be opened"), (".", b"is a directory"), ("-", b"cannot be opened"), ("missing.csv", b"cannot be opened")):
        done = check(name, input=READINGS.encode()) if name in ("-", "/dev/stdin") else check(name)
        expect(done.returncode == 66 and words in done.stderr and not done.stdout, f"readings: {name}", done)
    for key, name in (("logo", "pipe.svg"), ("wording", "pipe")):
        if name == "pipe.svg":
            os.mkfifo(folder / "inside/pipe.svg")
        (folder / "inside/lab.yaml").write_text(f"schema: sievecloth-laboratory/1\nname: a\n{key}: {name}\n", encoding="utf-8")
        done = run(folder, "check", "inside/d.csv", *ASKED, "--laboratory", "inside/lab.yaml", "--report", "out.html")
        expect(done.returncode == 66 and not (folder / "out.html").exists(), f"{key} is a pipe", done)


def test_bombs(folder):
    """More than any honest file has is refused, soon and in little memory."""
    wide = ",".join(["a"] * 30_000)
    files = {
        "long-line.csv": ("direction,aperture_um\n" + "a" * 70_000 + "\n", 65), "columns.csv": (f"direction,aperture_um,{wide}\nwarp,75,{wide}\n", 2),
        "blank.csv": ("\n" * 2_000_000, 65), "comments.csv": ("# a comment\n" * 500_000 + READINGS, 2), "zeros.csv": ("\0" * 1_000_000, 65),
        "deep.yaml": (JOB + "piece: " + "[" * 100_000, 65), "deep-map.yaml": (JOB + "piece: " + "{a: " * 100_000, 65), "blocks.yaml": (JOB + "".join(" " * i + "a:\n" for i in range(2_000)), 65),
        "aliases.yaml": (JOB + "a: &a [" + "x," * 10 + "]\nb: &b [" + "*a," * 10 + "]\nc: [" + "*b," * 200_000 + "]\n", 65), "keys.yaml": (JOB + "".join(f"k{i}: 1\n" for i in range(50_000)), 65),
        "same.yaml": (JOB + "size: a\n" * 50_000, 65), "anchors.yaml": (JOB + "".join(f"k{i}: &a{i} 1\n" for i in range(50_000)), 65), "merge.yaml": (JOB + "<<: *a\n", 65),
        "tags.yaml": (JOB + "piece: !!python/object:os.system a\n", 65), "long-scalar.yaml": (JOB + "piece: {identification: \"" + "a" * 5_000_000 + "\"}\n", 65), "question.yaml": ("? " * 100_000, 65),
        "dashes.yaml": (JOB + "piece:\n " + "- " * 100_000, 65), "huge.yaml": (JOB + "readings: |\n  direction,aperture_um\n" + "  warp,75\n" * 6_800_000, 74),
    }
    for name, (text, code) in files.items():
        (folder / name).write_text(text, encoding="ascii")
        done = run(folder, "check", name, *(ASKED if name.endswith(".csv") else []), *(["--ignore-columns"] if name == "columns.csv" else []), "--json")
        done.stderr = done.stderr[:500]
        expect(done.returncode == code and bool(done.stdout) == (code < 64), name, done)
        (folder / name).unlink()
    with open("/dev/zero", "rb") as endless:
        done = subprocess.run([TOOL, "check", "-", *ASKED], stdin=endless, capture_output=True, timeout=PATIENCE, check=False)
    expect(done.returncode == 65, "an endless input", done)


def main():
    for test in (test_terminal, test_reports, test_wording, test_summary, test_names_in_jobs, test_bombs):
        with tempfile.TemporaryDirectory() as temporary:
            test(pathlib.Path(temporary))
    for complaint in complaints[:20]:
        print(complaint)
    print(f"{passed} passed, {len(complaints)} failed")
    return 1 if complaints or passed < 200 else 0


if __name__ == "__main__":
    sys.exit(main())
