#!/usr/bin/env python3
# property: a new criterion does not build without its name, its entry in the catalogue, its title and its rule in reports
"""new_criterion_test.py BUILD: walks the first steps of DEVELOPERS.md, "A new criterion", in a scratch tree, leaving out one at a time."""

import pathlib
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "support"))
from scratch_tree import ScratchTree

CATALOGUE, PAPER = "lib/judgement/criteria.cpp", "lib/report/report_tables.cpp"
LAST = "    {CriterionId::wire_diameter, Compared::length, wire_diameter, half_the_range},\n"


def main():
    failures = []

    def expect(step, complaint, words):
        if words not in complaint if words else complaint:
            failures.append(f"{step}: expected {words!r} from the compiler, found {complaint!r}")

    with tempfile.TemporaryDirectory() as folder:
        tree = ScratchTree(sys.argv[1], folder)
        tree.change("include/sievecloth/assessment.hpp", "  wire_diameter,\n};", "  wire_diameter,\n  wire_difference,\n};")
        expect("without its word", tree.compile(CATALOGUE), "wire_difference")
        tree.change("lib/judgement/names.hpp", 'return "wire-diameter";\n', 'return "wire-diameter";\n    case CriterionId::wire_difference: return "wire-difference";\n')
        expect("without its entry", tree.compile(CATALOGUE), "a criterion without its entry")
        tree.change(CATALOGUE, LAST, LAST + "    {CriterionId::wire_difference, Compared::length, viewing, half_the_range},\n")
        expect("with its entry", tree.compile(CATALOGUE), "")
        expect("without its texts", tree.compile(PAPER), "a value without its text")
        tree.change("lib/report/english.hpp", '    {"criterion.wire-diameter",', '    {"criterion.wire-difference", "Difference of the wires"},\n    {"criterion.wire-diameter",')
        expect("without its rule", tree.compile(PAPER), "a value without its text")
        tree.change("lib/report/english.hpp", '    {"rule.wire-diameter",', '    {"rule.wire-difference", "Alike."},\n    {"rule.wire-diameter",')
        expect("with its texts", tree.compile(PAPER), "")
    print("\n".join(failures) or "a new criterion must be whole")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
