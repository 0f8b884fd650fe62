#!/usr/bin/env python3
# property: a new column of readings does not build before somebody has said what its cells hold and whether their digits matter
"""new_column_test.py BUILD: compiles the reader, as BUILD does, in a scratch tree with one column more. Source: lib/measurement/csv."""

import json
import pathlib
import shlex
import shutil
import subprocess
import sys
import tempfile

ROOT = pathlib.Path(__file__).resolve().parents[2]
BUILD = pathlib.Path(sys.argv[1]).resolve()
FOLDER = pathlib.Path("lib/measurement/csv")
SOURCES = ("plain_rows.cpp", "rows.cpp")


def compile_in(tree, source):
    """Result: what the compiler complains of; nothing where it does not."""
    commands = json.loads((BUILD / "compile_commands.json").read_text())
    found = next(entry for entry in commands if entry["file"] == str(ROOT / FOLDER / source))
    words = [word for word in shlex.split(found["command"]) if not word.endswith("ccache") and word != "-Werror"]
    words = [word.replace(f"{ROOT}/lib", f"{tree}/lib") for word in words]
    del words[words.index("-o") : words.index("-o") + 2]
    done = subprocess.run([*words, "-fsyntax-only"], cwd=found["directory"], capture_output=True, text=True, check=False)
    return done.stderr if done.returncode else ""


def change(path, before, after):
    text = path.read_text()
    if text.count(before) != 1:
        sys.exit(f"{path.name} does not hold {before!r} once: this test must follow")
    path.write_text(text.replace(before, after))


def main():
    failures = []
    with tempfile.TemporaryDirectory() as folder:
        tree = pathlib.Path(folder)
        shutil.copytree(ROOT / "lib", tree / "lib")
        for source in SOURCES:
            if complaint := compile_in(tree, source):
                failures.append(f"{source} does not compile as it is: {complaint}")
        change(tree / FOLDER / "header.hpp", "x, y, ignored };", "x, y, gap, ignored };")
        for source in SOURCES:
            complaint = compile_in(tree, source)
            if "gap" not in complaint:
                failures.append(f"{source} compiles with a column that it does not know: {complaint}")
        change(tree / FOLDER / "plain_rows.cpp", "    case Field::ignored: return", "    case Field::gap:\n    case Field::ignored: return")
        if complaint := compile_in(tree, "plain_rows.cpp"):
            failures.append(f"plain_rows.cpp does not compile with the column declared: {complaint}")
    print("\n".join(failures) or "a new column must be declared")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
