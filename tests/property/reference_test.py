#!/usr/bin/env python3
# property: every public name is documented, and the tool that checks this detects one that is not
"""reference_test.py WORK: writes the reference into the folder WORK, and then tries headers that each lack one sentence."""
import pathlib
import re
import shutil
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parents[2]
WORK = pathlib.Path(sys.argv[1])

# A kind of name, where it is documented, and the text required in the error.
MISSING = (
    ("a class", "inspector.hpp", "/// The verdict so far. There is none to accept.*\n", "Compound sievecloth::Standing "),
    ("a member function", "inspector.hpp", "  /// Everything taken so far, whether readings were lost, the conditions, the plan and the viewing tests.\n", "save()"),
    ("a member", "inspector.hpp", "  ///< which criterion rejects[^\\n]*", "criterion (variable)"),
    ("an enumeration", "assessment.hpp", "/// What holding a criterion against the sample gave.\n", "Outcome (enumeration)"),
    ("a function", "assessment.hpp", "/// `average-aperture` and so on.\n", "to_text(CriterionId id)"),
    ("a constant", "summary.hpp", "/// No summary takes more: 10\\^10.\n", "k_most_readings (variable)"),
    ("a function in C", "c/sievecloth.h", "/\\*\\* How many editions are built in. \\*/\n", "sievecloth_edition_count"),
    ("a member in C", "c/sievecloth.h", "/\\*\\*< sievecloth_verdict \\*/", "verdict (variable)"),
)


def reference(name, *headers):
    shutil.rmtree(WORK / name, ignore_errors=True)
    done = subprocess.run([ROOT / "tools/dev/reference", WORK / name, *headers], capture_output=True, text=True, timeout=600, check=False)
    return done.returncode, done.stderr


def main():
    failures = []
    code, complaints = reference("reference")
    if code != 0:
        failures.append(f"the headers of the project: {complaints}")
    pages = "".join(page.read_text() for page in (WORK / "reference/html").glob("*.html"))
    failures += [f"the reference does not know {name}" for name in ("record_viewing", "find_edition", "sievecloth_inspector_finish", "k_snapshot_size")
                 if name not in pages]
    for kind, header, sentence, complaint in MISSING:
        headers = WORK / "headers"
        shutil.rmtree(headers, ignore_errors=True)
        shutil.copytree(ROOT / "include", headers)
        changed, count = re.subn(sentence, "", (headers / "sievecloth" / header).read_text(), count=1)
        (headers / "sievecloth" / header).write_text(changed)
        code, complaints = reference("lacking", headers)
        if count != 1 or code != 1 or complaint not in complaints:
            failures.append(f"{kind} without documentation was not noticed: exit code {code}, {complaints}")
    for failure in failures:
        print(failure, file=sys.stderr)
    print(f"{len(MISSING) + 5 - len(failures)} passed, {len(failures)} failed")
    sys.exit(1 if failures else 0)


main()
