#!/usr/bin/env python3
# regression: no input takes time or memory without end, and no process stays behind
"""bounds_test.py TOOL"""
import contextlib
import os
import pathlib
import resource
import signal
import struct
import subprocess
import sys
import tempfile
import time
import unittest
import zlib

TOOL = str(pathlib.Path(sys.argv.pop(1)).resolve())
OPTIONS = ["--standard", "astm-e11-17", "--size", "No. 200", "--grade", "inspection", "--viewing", "passed"]
READINGS = "direction,aperture_um,wire_um\n" + "".join(f"{direction},{75 + i % 5 / 10},50\n" for direction in ("warp", "weft") for i in range(100))
LABORATORY = "schema: sievecloth-laboratory/1\nname: Weir Mesh Laboratory\n"
TURBULENCE = ("<svg xmlns='http://www.w3.org/2000/svg' width='99' height='99'><filter id='f'><feTurbulence numOctaves=\"2000000000\"/></filter>"
              "<rect width='99' height='99' filter='url(#f)'/></svg>")
SMALL = "<svg xmlns='http://www.w3.org/2000/svg' width='9' height='9'><rect width='9' height='9'/></svg>"
SECONDS = 30  # for what must end within seconds, on a busy machine


def png(width, height, row):
    """A grey picture; `row`: its bytes, given once."""
    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    packer = zlib.compressobj(1)
    data = b"".join([packer.compress(b"\0" + row) for _ in range(height)] + [packer.flush()])
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)) + chunk(b"IDAT", data) + chunk(b"IEND", b"")


def children(process):
    found = set()
    with contextlib.suppress(FileNotFoundError):
        for task in pathlib.Path(f"/proc/{process}/task").iterdir():
            found |= {int(word) for word in (task / "children").read_text().split()}
    return found


def runs(process):
    try:
        return pathlib.Path(f"/proc/{process}/stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"
    except FileNotFoundError:
        return False


class Bounds(unittest.TestCase):
    def setUp(self):
        self.temporary = tempfile.TemporaryDirectory()
        self.addCleanup(self.temporary.cleanup)
        self.folder = pathlib.Path(self.temporary.name)
        self.put("r.csv", READINGS)

    def put(self, name, content):
        (self.folder / name).write_bytes(content if isinstance(content, bytes) else content.encode())

    def ended(self, *arguments, code, mebibytes=1000):
        """The complaint of a command that ends within seconds, and does not take more memory."""
        begin = time.monotonic()
        with subprocess.Popen([TOOL, *arguments], cwd=self.folder, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE) as process:
            complaint = process.stderr.read().decode()
            _, status, used = os.wait4(process.pid, 0)
            process.returncode = os.waitstatus_to_exitcode(status)
        self.assertEqual(process.returncode, code, complaint[-500:])
        self.assertLess(time.monotonic() - begin, SECONDS, complaint[-500:])
        self.assertLess(used.ru_maxrss / 1024, mebibytes, complaint[-500:])
        self.assertLess(len(complaint), 10_000)
        return complaint

    def with_logo(self, name, content, ending, code):
        self.put(name, content)
        self.put("lab.yaml", f"{LABORATORY}logo: {name}\n")
        return self.ended("check", "r.csv", *OPTIONS, "--laboratory", "lab.yaml", "--report", f"r.{ending}", code=code)

    # ---- pictures

    def test_a_picture_that_never_ends(self):
        for ending in ("html", "pdf"):
            self.assertIn("processor time", self.with_logo("t.svg", TURBULENCE, ending, 73))
            self.assertFalse((self.folder / f"r.{ending}").exists())

    def test_a_picture_that_fills_the_memory(self):
        self.assertIn("memory", self.with_logo("p.png", png(20_000, 20_000, bytes(20_000)), "html", 73))

    def test_what_is_no_picture_is_not_embedded(self):
        for name, content in (("n.png", "root:x:0:0"), ("n.svg", "root:x:0:0"), ("t.png", png(9, 9, bytes(9))[:40]), ("e.png", ""), ("s.png", SMALL)):
            self.with_logo(name, content, "html", 73)
            self.assertFalse((self.folder / "r.html").exists(), name)

    def test_pictures_are_embedded(self):
        for name, content in (("p.png", png(9, 9, bytes(9))), ("s.svg", SMALL), ("large.png", png(3000, 2000, bytes(3000)))):
            self.with_logo(name, content, "html", 0)
            self.assertIn("base64", (self.folder / "r.html").read_text())

    def test_names_that_lead_out_of_the_laboratorys_folder(self):
        (self.folder / "lab").mkdir()
        self.put("secret.png", png(9, 9, bytes(9)))
        (self.folder / "lab" / "link.png").symlink_to(self.folder / "secret.png")
        (self.folder / "lab" / "own.png").write_bytes(png(9, 9, bytes(9)))
        for key, name, code in (("logo", "../secret.png", 65), ("logo", str(self.folder / "secret.png"), 65), ("logo", "link.png", 65),
                                ("wording", "../secret.yaml", 65), ("logo", "own.png", 0), ("logo", "../lab/own.png", 0)):
            (self.folder / "lab" / "lab.yaml").write_text(f"{LABORATORY}{key}: {name}\n")
            complaint = self.ended("check", "r.csv", *OPTIONS, "--laboratory", "lab/lab.yaml", "--report", "r.html", code=code)
            self.assertEqual("folder" in complaint, code == 65, name)

    # ---- processes

    def killed_while_it_draws(self, *arguments):
        with subprocess.Popen([TOOL, *arguments], cwd=self.folder, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) as process:
            started, end = set(), time.monotonic() + SECONDS
            while not started and time.monotonic() < end:
                started = children(process.pid)
            self.assertTrue(started, "no process was started")
            process.send_signal(signal.SIGKILL)
        end = time.monotonic() + 5
        while any(runs(child) for child in started) and time.monotonic() < end:
            time.sleep(0.01)
        self.assertEqual([child for child in started if runs(child)], [])

    def test_no_child_outlives_the_tool(self):
        self.put("t.svg", TURBULENCE)
        self.put("lab.yaml", f"{LABORATORY}logo: t.svg\n")
        self.killed_while_it_draws("check", "r.csv", *OPTIONS, "--laboratory", "lab.yaml", "--report", "r.pdf")

    def test_no_child_of_a_batch_outlives_the_tool(self):
        names = [f"{i}.csv" for i in range(8)]
        for name in names:
            self.put(name, READINGS + "warp,75.1,50\nweft,75.2,50\n" * 20_000)
        self.killed_while_it_draws("check", *names, *OPTIONS, "--threads", "4", "--annex", "readings", "--report", "{}.pdf")

    def test_a_child_that_reached_a_limit_is_ended(self):
        self.put("t.txt", "{{#criteria}}" * 12 + "x" * 1000 + "{{/criteria}}" * 12)
        self.put("s.csv", READINGS)
        most = 0
        with subprocess.Popen([TOOL, "check", "r.csv", "s.csv", *OPTIONS, "--threads", "1", "--template", "t.txt", "--report", "{}.txt"], cwd=self.folder,
                              stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) as process:
            while process.poll() is None:
                most = max(most, len([child for child in children(process.pid) if runs(child)]))
                time.sleep(0.01)
        self.assertEqual((process.returncode, most), (73, 1))

    # ---- texts

    def test_jobs_of_many_values(self):
        for text in ("a: [" + "a," * (4 << 20) + "a]\n", "a,\n" * (2 << 20), "[" * (1 << 20), "- " * (1 << 20), "a: &a [" + "*a," * 1000 + "]\n"):
            self.put("job.yaml", text)
            self.ended("check", "job.yaml", code=65, mebibytes=400)

    def test_jobs_of_many_files(self):
        job = "schema: sievecloth-job/1\nstandard: astm-e11-17\nsize: \"No. 200\"\ngrade: inspection\nviewing: {result: passed}\n"
        for names in (["r.csv"] * 99_000, [f"{i}.csv" for i in range(99_000)]):
            self.put("job.yaml", f"{job}readings: [{', '.join(names)}]\n")
            self.assertIn("at most 500", self.ended("check", "job.yaml", code=65))
        for count, code in ((500, 0), (501, 65)):
            for i in range(count):
                self.put(f"{i}.csv", f"direction,aperture_um,wire_um\n{'warp' if i % 2 else 'weft'},{75 + i / 1000},50\n")
            self.put("job.yaml", f"{job}readings: [{', '.join(f'{i}.csv' for i in range(count))}]\n")
            self.ended("check", "job.yaml", code=code)

    def test_templates_that_multiply(self):
        for inside in ("x" * 1000, ""):
            opened = "".join("{{#criteria}}" for _ in range(12))
            self.put("t.txt", opened + inside + "{{/criteria}}" * 12)
            self.ended("check", "r.csv", *OPTIONS, "--template", "t.txt", "--report", "r.txt", code=73, mebibytes=2300)

    def test_a_wording_that_multiplies(self):
        wording = (pathlib.Path(__file__).resolve().parents[2] / "lib/report/wording/de.yaml").read_text(encoding="utf-8")
        at = wording.index("{frame}")
        self.put("w.yaml", wording[:at] + "{frame}" * 100_000 + wording[at:])
        self.ended("check", "r.csv", *OPTIONS, "--language", "w.yaml", "--report", "r.txt", code=65)

    def test_a_wording_of_keys_that_nobody_knows(self):
        lines = "".join(f"  k{i}.{'a' * 90}: \"x\"\n" for i in range(40_000))
        self.put("w.yaml", f"schema: sievecloth-wording/1\nlanguage: en\ndecimal_mark: \".\"\ntexts:\n{lines}")
        self.ended("check", "r.csv", *OPTIONS, "--language", "w.yaml", "--report", "r.txt", code=65)

    def test_names_of_fields(self):
        for size, code in ((256, 0), (257, 65)):
            self.put("f.csv", "direction,aperture_um,wire_um,field\n" + "".join(f"{line},{'f' * size}\n" for line in READINGS.splitlines()[1:]))
            self.ended("check", "f.csv", *OPTIONS, code=code)

    def test_a_name_of_a_file_is_not_repeated_in_full(self):
        self.ended("check", "x" * 100_000, *OPTIONS, code=66)
        self.ended("check", "r.csv", "--standard", "x" * 100_000, code=64)
        self.ended("x" * 100_000, code=64)
        self.ended("check", "r.csv", *OPTIONS, "--report", "x" * 100_000, code=64)

    def test_numbers_that_are_none(self):
        self.ended("watch", "r.csv", *OPTIONS, "--follow", "nan", code=64)
        self.ended("watch", "r.csv", *OPTIONS, "--follow", "inf", code=64)
        self.ended("cloth", "--aperture", "75um", "--wire", "50um", "--density", "inf", code=64)
        for factor, code in (("0", 65), ("-2", 65), ("nan", 65), ("1e1", 65), ("2", 0), ("12.7", 0)):
            self.put("job.yaml", "schema: sievecloth-job/1\nstandard: astm-e11-17\nsize: \"No. 200\"\ngrade: inspection\nviewing: {result: passed}\n"
                                 f"measured: {{uncertainty: {{budget: B1, expanded: \"0.5 um\", coverage_factor: \"{factor}\"}}}}\nreadings: r.csv\n")
            self.ended("check", "job.yaml", code=code)


if __name__ == "__main__":
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    unittest.main()
