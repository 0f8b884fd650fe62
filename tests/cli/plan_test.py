# property: the list that `plan` writes goes through `check` unchanged: refused while it is empty, judged once it is filled in
"""plan_test.py TOOL"""

import pathlib
import subprocess
import sys
import tempfile


def run(tool, *args, folder):
    return subprocess.run([tool, *args], cwd=folder, capture_output=True, text=True, timeout=600, check=False)


def main(tool):
    size = ["--standard", "astm-e11-17", "--size", "No. 200", "--grade", "inspection"]
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        for seed, piece in enumerate([["--frame", "8in"], ["--square", "12in"], ["--width", "48in", "--length", "30m"]]):
            planned = run(tool, "plan", *size, *piece, "--seed", str(seed), "--csv", "p.csv", folder=folder)
            assert planned.returncode == 0, planned.stderr
            empty = run(tool, "check", "p.csv", *size, "--viewing", "passed", folder=folder)
            assert empty.returncode == 65 and "no reading" in empty.stderr and empty.stdout == "", empty
            path = folder / "p.csv"
            text = path.read_text()
            assert text.count(",,\n") >= 200
            path.write_text(text.replace(",,\n", ",75,50\n"))
            judged = run(tool, "check", "p.csv", *size, "--viewing", "passed", folder=folder)
            assert judged.returncode == 0 and judged.stdout.startswith("conforms"), judged
    print("3 plans filled in and judged")


if __name__ == "__main__":
    main(pathlib.Path(sys.argv[1]).resolve())
