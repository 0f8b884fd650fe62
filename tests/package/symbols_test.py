#!/usr/bin/env python3
# property: shared libraries export only the names in their headers, and the status codes of the C library are those of the C++ library
"""symbols_test.py C_LIBRARY [LIBRARY...]: compares nm's lists with the headers, and sievecloth.h with result.hpp.

The C library shows exactly the functions of sievecloth.h. Each name that another library shows is one of ours, and spelt in a public header.
"""
import pathlib
import re
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parents[2]
INCLUDE = ROOT / "include" / "sievecloth"


def enumerators(text, name):
    body = re.search(rf"enum (?:class )?{name}\b[^{{]*{{(.*?)}}", text, re.S)[1]
    return {match[1]: int(match[2]) for match in re.finditer(r"^\s*([A-Za-z]\w*) = (-?\d+)", body, re.M)}


def strangers(library):
    """What a C++ library shows although no public header declares it."""
    words = {"operator"} | set(re.findall(r"[A-Za-z_]\w*", "".join(header.read_text() for header in INCLUDE.glob("*.hpp*"))))
    listed = subprocess.run(["nm", "-DC", "--defined-only", library], check=True, capture_output=True, text=True).stdout
    shown = [line.split(" ", 2)[2] for line in listed.splitlines()]
    own = [re.match(r"(?:(?:typeinfo(?: name)?|vtable|guard variable) for )?(?:[^()]* )?sievecloth::([\w~:]+)", name) for name in shown]
    unknown = [name for name, match in zip(shown, own) if not match or not words.issuperset(re.findall(r"\w+", match[1]))]
    return unknown if shown else [f"{library} shows nothing at all"]


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
    for library in sys.argv[2:]:
        unknown = strangers(library)
        failures += [f"{pathlib.Path(library).name} shows {len(unknown)} names that no public header declares: {unknown[:60]}"] if unknown else []
    for failure in failures:
        print(failure, file=sys.stderr)
    print(f"{len(declared)} functions, {len(statuses)} statuses, {len(failures)} failures")
    sys.exit(1 if failures else 0)


if __name__ == "__main__":
    main()
