#!/usr/bin/env python3
# property: the C library shows exactly the functions of its header, and its status codes are those of the C++ library
"""symbols_test.py LIBRARY: compares nm's list with sievecloth.h, and sievecloth.h with result.hpp and the reasons of assessment.hpp."""
import pathlib
import re
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parents[2]
INCLUDE = ROOT / "include" / "sievecloth"


def enumerators(text, name):
    body = re.search(rf"enum (?:class )?{name}\b[^{{]*{{(.*?)}}", text, re.S)[1]
    return {match[1]: int(match[2]) for match in re.finditer(r"^\s*([A-Za-z]\w*) = (-?\d+)", body, re.M)}


def main():
    header = (INCLUDE / "c" / "sievecloth.h").read_text()
    declared = set(re.findall(r"^SIEVECLOTH_API [^(]*?\b(sievecloth_\w+)\(", header, re.M))
    listed = subprocess.run(["nm", "-D", "--defined-only", sys.argv[1]], check=True, capture_output=True, text=True).stdout
    exported = {line.split()[2].split("@")[0] for line in listed.splitlines()}
    codes = enumerators((INCLUDE / "result.hpp").read_text(), "ErrorCode")
    statuses = {name.removeprefix("SIEVECLOTH_").lower(): value for name, value in enumerators(header, "sievecloth_status").items()}
    wrong = {name: value for name, value in statuses.items() if name != "ok" and codes.get(name) != value}
    documented = (ROOT / "docs" / "errors.md").read_text()
    failures = []
    if len(declared) < 20 or exported != declared:
        failures.append(f"shown but not declared: {sorted(exported - declared)}; declared but not shown: {sorted(declared - exported)}")
    if wrong or len(statuses) < 30:
        failures.append(f"statuses that differ from ErrorCode: {wrong}")
    failures += [f"docs/errors.md does not explain {name}" for name in codes if name not in documented and not 301 <= codes[name] <= 310]
    for failure in failures:
        print(failure, file=sys.stderr)
    print(f"{len(declared)} functions, {len(statuses)} statuses, {len(failures)} failures")
    sys.exit(1 if failures else 0)


if __name__ == "__main__":
    main()
