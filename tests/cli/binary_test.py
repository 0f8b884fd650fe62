#!/usr/bin/env python3
# identity: the C and the Python example write the same bytes, and check judges them like the same readings as CSV
"""binary_test.py TOOL FOLDER_OF_EXAMPLES C_COMPILER"""
import json
import subprocess
import sys
import tempfile
from pathlib import Path

TOOL, EXAMPLES, COMPILER = sys.argv[1], Path(sys.argv[2]), sys.argv[3]
OPTIONS = ["--standard", "astm-e11-17", "--size", "75um", "--grade", "inspection", "--measured-only", "--json"]


def check(*arguments, stdin=None):
    return subprocess.run([TOOL, "check", *map(str, arguments), *OPTIONS], stdin=stdin, capture_output=True, check=False)


def judged(path, *more):
    run = check(path, *more)
    assert run.returncode in (0, 1, 2), run.stderr.decode()
    return run.returncode, json.loads(run.stdout)


def main():
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(temporary)
        program, from_c, from_python = folder / "write_readings", folder / "c.svcr", folder / "python.svcr"
        subprocess.run([COMPILER, "-Wall", "-Wextra", "-Werror", EXAMPLES / "write_readings.c", "-lz", "-o", program], check=True)
        subprocess.run([program, from_c], check=True)
        script = EXAMPLES / "binary_readings.py"
        subprocess.run([sys.executable, script, "write", from_python], check=True)
        assert from_c.read_bytes() == from_python.read_bytes(), "the examples write different files"

        lines = subprocess.run([sys.executable, script, "read", from_c], check=True, capture_output=True, text=True).stdout.splitlines()
        rows = [line.split(",") for line in lines[1:]]
        assert len(rows) == 24 and {quantity for _, quantity, _ in rows} == {"aperture"}
        as_csv = folder / "readings.csv"
        as_csv.write_text("direction,aperture_um\n" + "".join(f"{direction},{um}\n" for direction, _, um in rows), encoding="ascii")
        expected = judged(as_csv)
        assert judged(from_c) == expected
        job = folder / "job.yaml"
        job.write_text('schema: "sievecloth-job/1"\nreadings: "c.svcr"\n', encoding="ascii")
        assert judged(job) == expected
        with open(from_c, "rb") as stream:
            piped = check("-", stdin=stream)
        assert (piped.returncode, json.loads(piped.stdout)) == expected

        damaged = bytearray(from_c.read_bytes())
        damaged[40] ^= 1
        (folder / "damaged.svcr").write_bytes(damaged)
        for path, more in ((folder / "damaged.svcr", []), (from_c, ["--unit", "um"])):
            run = check(path, *more)
            assert run.returncode == 65 and not run.stdout and json.loads(run.stderr), (path, run)

        # boundary: binary readings beside a table, of a direction that the job gives otherwise, and with names of columns
        (folder / "one.csv").write_text("direction,aperture_um\nwarp,75\n", encoding="ascii")
        job.write_text("schema: sievecloth-job/1\nreadings: [c.svcr, one.csv]\n", encoding="ascii")
        samples, alone = judged(job)[1]["samples"], expected[1]["samples"]
        assert samples["warp"]["aperture"]["n"] == alone["warp"]["aperture"]["n"] + 1 and samples["weft"] == alone["weft"]
        for more, word in (("readings: {warp: c.svcr}", "another direction"), ("columns: {aperture: A}\nreadings: c.svcr", "columns were named")):
            job.write_text(f"schema: sievecloth-job/1\n{more}\n", encoding="ascii")
            run = check(job)
            assert run.returncode == 65 and not run.stdout and word in run.stderr.decode(), (more, run)
    print("binary readings: passed")


if __name__ == "__main__":
    main()
