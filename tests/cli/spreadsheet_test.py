# source: files that a spreadsheet program saved (tests/data/spreadsheet); identity: each says what its sheet says
"""spreadsheet_test.py TOOL: the files were saved by LibreOffice 7.4.7.2 (Debian 12, libreoffice-calc) with the command

    soffice -env:UserInstallation=PROFILE --headless --convert-to "csv:Text - txt - csv (StarCalc):SEPARATOR,34,CHARSET,1,,0,QUOTED,true" SHEET.fods

where PROFILE sets the locale; `tools/dev/check_spreadsheet TOOL --refresh` saves them again, and `.ci/spreadsheet` checks that the
program still saves what the tool reads."""

import json
import pathlib
import subprocess
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "support"))
import spreadsheet  # noqa: E402

DATA = pathlib.Path(__file__).resolve().parents[1] / "data/spreadsheet"
JOB = "schema: sievecloth-job/1\nstandard: astm-e11-17\nsize: 75um\ngrade: inspection\nviewing: {result: passed}\n"


def plain():
    """The sheet in the plainest spelling."""
    lines = ["direction,aperture_um,wire_um"]
    for direction, apertures in spreadsheet.APERTURES.items():
        wires = spreadsheet.WIRES[direction] + [""] * len(apertures)
        lines += [f"{direction},{aperture},{wire}" for aperture, wire in zip(apertures, wires)]
    return "\n".join(lines) + "\n"


def checked(tool, folder, name, more=""):
    (folder / "job.yaml").write_text(f"{JOB}{more}readings: {name}\n", encoding="utf-8")
    return subprocess.run([tool, "check", "job.yaml", "--json"], cwd=folder, capture_output=True, text=True, timeout=60, check=False)


def failures_of(tool, folder, saved):
    (folder / "plain.csv").write_text(plain())
    expected = checked(tool, folder, "plain.csv")
    if expected.returncode != 2:  # too few readings for a verdict
        yield f"plain: {expected}"
    for name, data in saved.items():
        (folder / name).write_bytes(data)
        answer = checked(tool, folder, name, spreadsheet.WIDE_COLUMNS if "wide" in name else "")
        if "refused" in name:  # 0xF6 is another letter in each code page
            if answer.returncode != 65 or '"line": 2' not in answer.stderr or "CSV UTF-8" not in answer.stderr:
                yield f"{name}: {answer}"
        elif answer.returncode != 2 or json.loads(answer.stdout) != json.loads(expected.stdout):
            yield f"{name}: {answer}"


def check(tool, saved):
    with tempfile.TemporaryDirectory() as folder:
        failures = list(failures_of(tool, pathlib.Path(folder), saved))
    print("\n".join(failures) or f"{len(saved)} files read")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(check(pathlib.Path(sys.argv[1]).resolve(), {name: (DATA / name).read_bytes() for name in spreadsheet.SAVED}))
