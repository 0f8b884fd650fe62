#!/usr/bin/env python3
# property: a new column of readings does not build until it is stated what its cells hold and whether their digits matter
"""new_column_test.py BUILD: compiles the reader, as BUILD does, in a scratch tree with one column more. Source: lib/measurement/csv."""

import pathlib
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "support"))
from scratch_tree import ScratchTree

FOLDER = "lib/measurement/csv"
SOURCES = ("plain_rows.cpp", "rows.cpp")


def main():
    failures = []
    with tempfile.TemporaryDirectory() as folder:
        tree = ScratchTree(sys.argv[1], folder)
        for source in SOURCES:
            if complaint := tree.compile(f"{FOLDER}/{source}"):
                failures.append(f"{source} does not compile as it is: {complaint}")
        tree.change(f"{FOLDER}/header.hpp", "x, y, ignored, empty };", "x, y, shed, ignored, empty };")
        for source in SOURCES:
            complaint = tree.compile(f"{FOLDER}/{source}")
            if "shed" not in complaint:
                failures.append(f"{source} compiles with a column that it does not know: {complaint}")
        tree.change(f"{FOLDER}/plain_rows.cpp", "    case Field::ignored: return", "    case Field::shed:\n    case Field::ignored: return")
        if complaint := tree.compile(f"{FOLDER}/plain_rows.cpp"):
            failures.append(f"plain_rows.cpp does not compile with the column declared: {complaint}")
    print("\n".join(failures) or "a new column must be declared")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
