"""What the report tests share: fixtures, running the tool, and a place for its files."""
import json
import os
import pathlib
import subprocess
import sys
import tempfile
import unittest

TOOL, ROOT = pathlib.Path(sys.argv[1]).resolve(), pathlib.Path(sys.argv[2]).resolve()
FIXTURES = ROOT / "tests/data/report"
EDITIONS = ["astm-e11-17", "iso-3310-1-2016", "iso-3310-1-1990", "astm-e11-04"]


def run(*arguments, code=None, cwd=None, environment=None, stdin=None):
    done = subprocess.run([TOOL, *map(str, arguments)], capture_output=True, cwd=cwd, input=stdin,
                          env={**os.environ, **(environment or {})})
    if code is not None and done.returncode != code:
        raise AssertionError(f"{arguments}: exit code {done.returncode}, not {code}: {done.stderr.decode()}")
    return done


class ReportTest(unittest.TestCase):
    def setUp(self):
        self.place = tempfile.TemporaryDirectory()
        self.addCleanup(self.place.cleanup)
        self.folder = pathlib.Path(self.place.name)

    def report(self, job, ending, *options, name="report", environment=None):
        """The bytes of one report on a fixture or a job file."""
        file = job if isinstance(job, pathlib.Path) else FIXTURES / f"{job}.yaml"
        path = self.folder / f"{name}.{ending}"
        done = run("check", file, "--report", path, "--overwrite", *options, environment=environment)
        self.assertIn(done.returncode, (0, 1, 2), done.stderr.decode())
        return path.read_bytes()

    def job(self, edition, replacements, name="job"):
        """A fixture with some of its text replaced; each must be there."""
        text = (FIXTURES / f"{edition}.yaml").read_text()
        for old, new in replacements.items():
            self.assertIn(old, text)
            text = text.replace(old, new)
        path = self.folder / f"{name}.yaml"
        path.write_text(text)
        return path

    def document(self, job, *options):
        return json.loads(self.report(job, "json", *options))


UNCERTAINTY = """schema: sievecloth-job/1
standard: astm-e11-17
size: "No. 200"
grade: inspection
piece: {frame: {shape: round, diameter: "8 in"}}
measured: {resolution: "0.5 um"}
uncertainty: {scale_factor: "0.0005", scale_offset: "0.1 um", repeatability: "0.4 um", repeatability_readings: 20}
process: {mean: "75.2 um", standard_deviation: "0.9 um"}
decision: {rule: four-outcomes, guard_factor: "1"}
viewing: {result: passed}
readings: d.csv
"""


def cloth(n, fault=lambda i: 0, field="", place=False):
    """Readings of both directions with a fixed generator; `fault` is added along the weft."""
    lines, state = ["direction,aperture_um,wire_um,field" + (",x_mm,y_mm" if place else "")], 1
    for direction in ("warp", "weft"):
        for i in range(n):
            state = state * 48271 % 2147483647
            aperture = 75 + (state % 9001 - 4500) / 1500 + (fault(i) if direction == "weft" else 0)
            where = (f",{i % 5 / 8},{i // 5 / 8}" if direction == "warp" else f",{i // 5 / 8},{i % 5 / 8}") if place else ""
            lines.append(f"{direction},{aperture:.3f},{50 + i % 3 if i < 12 else ''},{field}{where}")
    return "\n".join(lines) + "\n"


def doubtful(folder):
    """Jobs that between them bring out every figure and sentence of `--how-sure`: name -> (file, options)."""
    job = UNCERTAINTY
    partly = job.replace('scale_factor: "0.0005", scale_offset: "0.1 um", ', "").replace("four-outcomes", "guarded-acceptance")
    plain = "\n".join(line for line in job.splitlines() if not line.startswith(("uncertainty", "process", "decision", "measured"))) + "\n"
    every = plain.replace("piece:", "all_apertures: true\napertures_in_piece: 12\n#")
    suspect = "direction,aperture_um,role\nwarp,99,suspect\nweft,98,suspect\n"
    both = "".join(f"{d},{75 + i % 2 * 0.5}\n" for d in ("warp", "weft") for i in range(2))
    cases = {"whole budget": (job, cloth(110)), "part of a budget": (partly, cloth(110)), "no budget": (plain, cloth(110, field="f")),
             "faults": (plain, cloth(120, lambda i: (3 if i % 2 else -3) + (9 if i > 100 else 0) + (60 if i == 50 else 0))),
             "gaps": (plain, cloth(100, place=True)), "all": (every, cloth(12)), "equal": (plain, cloth(0) + "warp,75,,\nweft,75,,\n" * 30),
             "suspects": (plain, suspect), "two": (plain, "direction,aperture_um\n" + both), "one": (plain, "direction,aperture_um\nwarp,75\n")}
    jobs = {}
    for name, (text, readings) in cases.items():
        place = folder / name.replace(" ", "-")
        place.mkdir()
        (place / "d.csv").write_text(readings)
        (place / "job.yaml").write_text(text)
        jobs[name] = place / "job.yaml", ["--contiguous"] if name == "faults" else []
    return jobs


def main(least):
    """Runs every test of the file, and fails where fewer than `least` were found."""
    module = sys.modules["__main__"]
    suite = unittest.defaultTestLoader.loadTestsFromModule(module)
    if suite.countTestCases() < least:
        sys.exit(f"only {suite.countTestCases()} tests, at least {least} expected")
    sys.exit(not unittest.TextTestRunner(verbosity=2).run(suite).wasSuccessful())
