# property: the list written by `plan` can be passed to `check` unchanged: refused while empty, judged once filled in
"""plan_test.py TOOL"""

import pathlib
import subprocess
import sys
import tempfile


def run(tool, *args, folder):
    return subprocess.run([tool, *args], cwd=folder, capture_output=True, text=True, timeout=600, check=False)


JOB = """schema: sievecloth-job/1
standard: astm-e11-17
size: 4 in.
grade: inspection
all_apertures: true
apertures_in_piece: 9
viewing: {result: passed}
readings: p.csv
"""


def check_few(tool, folder):
    """Nine apertures: all are measured, the job file says so, and the tenth wire stands in a row of its own."""
    planned = run(tool, "plan", "--standard", "astm-e11-17", "--size", "4 in.", "--grade", "inspection", "--frame", "18in",
                  "--csv", "p.csv", "--overwrite", folder=folder)
    assert "all_apertures" in planned.stdout and "further places" in planned.stdout, planned
    path = folder / "p.csv"
    path.write_text(path.read_text().replace(",,\n", ",100,6.3\n") + "warp,,,,,,6.3\nweft,,,,,,6.3\n")
    (folder / "job.yaml").write_text(JOB)
    judged = run(tool, "check", "job.yaml", "--how-sure", folder=folder)
    assert judged.returncode == 0 and judged.stdout.startswith("conforms"), judged


def main(tool):
    size = ["--standard", "astm-e11-17", "--size", "No. 200", "--grade", "inspection"]
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        pieces = [["--frame", "8in"], ["--square", "12in"], ["--width", "48in", "--length", "30m"], ["--frame", "8in", "--scattered"],
                  ["--frame", "8in", "--field", "1mm"]]
        for seed, piece in enumerate(pieces):
            planned = run(tool, "plan", *size, *piece, "--seed", str(seed), "--csv", "p.csv", "--overwrite", folder=folder)
            assert planned.returncode == 0, planned.stderr
            empty = run(tool, "check", "p.csv", *size, "--viewing", "passed", folder=folder)
            assert empty.returncode == 65 and "no reading" in empty.stderr and empty.stdout == "", empty
            path = folder / "p.csv"
            text = path.read_text()
            assert text.count(",,\n") >= 200
            path.write_text(text.replace(",,\n", ",75,50\n"))
            of_piece = [word for word in piece if word not in ("--scattered", "--field", "1mm")]
            judged = run(tool, "check", "p.csv", *size, *of_piece, "--viewing", "passed", folder=folder)
            assert judged.returncode == 0 and judged.stdout.startswith("conforms"), judged
        check_few(tool, folder)
    print("6 plans filled in and judged")


if __name__ == "__main__":
    main(pathlib.Path(sys.argv[1]).resolve())
