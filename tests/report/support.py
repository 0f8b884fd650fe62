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
        done = run("check", file, "--report", path, *options, environment=environment)
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


def main(least):
    """Runs every test of the file, and fails where fewer than `least` were found."""
    module = sys.modules["__main__"]
    suite = unittest.defaultTestLoader.loadTestsFromModule(module)
    if suite.countTestCases() < least:
        sys.exit(f"only {suite.countTestCases()} tests, at least {least} expected")
    sys.exit(not unittest.TextTestRunner(verbosity=2).run(suite).wasSuccessful())
