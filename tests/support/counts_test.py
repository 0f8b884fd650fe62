#!/usr/bin/env python3
# identity: the counts in tests/README.md against the files that they count
"""counts_test.py [--write]: each `at least N` of tests/README.md must hold, and must not be far below what there is.

The kinds are counted the same way everywhere: a TEST of GoogleTest, an input of a fuzz target, a table of cases in Python as it is run.
--write puts in the counts of today.
"""

import pathlib
import re
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parents[2]
README = ROOT / "tests/README.md"


def gtests(folder):
    return sum(len(re.findall(r"^TEST(?:_P|_F)?\(", path.read_text(), re.MULTILINE)) for path in (ROOT / "tests" / folder).glob("*_test.cpp"))


def inputs(target):
    return sum(1 for path in (ROOT / "tests/fuzz/corpus" / target).iterdir() if path.is_file())


def commands():
    """The cases of cli_test.py, counted by Python."""
    script = "import cases; print(len(cases.CASES))"
    return int(subprocess.run([sys.executable, "-B", "-c", script], cwd=ROOT / "tests/cli", capture_output=True, text=True, check=True).stdout)


def constant(path, name):
    return int(re.search(rf"^{name} = ([\d_]+)", (ROOT / path).read_text(), re.MULTILINE)[1])


COUNT = {
    "unit": lambda: gtests("unit"), "source": lambda: gtests("source"), "property": lambda: gtests("property"), "commands": commands,
    "oracle files": lambda: constant("tests/oracle/reading_test.py", "CASES"),
} | {f"corpus {path.name}": (lambda name=path.name: inputs(name)) for path in sorted((ROOT / "tests/fuzz/corpus").iterdir())}


def main():
    text, wrong, used = README.read_text(), [], set()

    def replace(match):
        kind, stated = match[1], int(match[2].replace(" ", ""))
        used.add(kind)
        there = COUNT[kind]()
        if not stated <= there <= 1.25 * stated + 10:
            wrong.append(f"{kind}: tests/README.md says at least {stated}, there are {there}")
        return f"<!-- {kind} -->at least {there}"

    changed = re.sub(r"<!-- ([^>]+) -->at least (\d[\d ]*\d|\d)", replace, text)
    wrong += [f"{kind}: not in tests/README.md" for kind in COUNT if kind not in used]
    if "--write" in sys.argv:
        README.write_text(changed)
        return 0
    print("\n".join(wrong) or f"{len(used)} counts hold")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
