#!/usr/bin/env python3
# oracle: the inputs of csv_fuzz.cpp, read by the tool and by tests/support/oracle.py, which must refuse the same and read the same
"""corpus_oracle_test.py TOOL FOLDER...: what the fuzzer found worth keeping, told to a second reader."""

import concurrent.futures
import json
import os
import pathlib
import re
import subprocess
import sys

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "support"))
import oracle  # noqa: E402

UNITS = (None, "um", "mm", "in")
LEAST = 20  # inputs


def is_taken_for_a_job(text):
    """A file whose first line that says something has a colon before any separator is a job file to the tool, not readings."""
    lines = [line for line in text.removeprefix(b"\xef\xbb\xbf").split(b"\n") if line.strip(b" \t\r") and not line.startswith(b"#")]
    return bool(lines) and (lines[0].startswith(b"---") or re.match(rb"[^,;\t\"]*?:", lines[0]) is not None)


def expected(text, unit):
    try:
        piece = oracle.read_csv(text, unit)
    except oracle.BadData:
        return None
    result = {}
    for quantity, values in (("aperture", piece.apertures), ("wire", piece.wires)):
        for direction in oracle.DIRECTIONS:
            if values[direction]:
                result[direction, quantity] = oracle.statistics_to_json(oracle.describe(values[direction]))
    return result


def compare(path):
    """None where the input is not for the oracle; else a complaint, empty where there is none."""
    data = path.read_bytes()
    choice, text = data[0] if data else 0, data[3:]
    if choice & 0x34 or is_taken_for_a_job(text):
        return None
    unit = UNITS[choice & 3]
    command = [sys.argv[1], "check", "-", "--standard", "astm-e11-17", "--size", "75um", "--grade", "inspection", "--json", *(["--unit", unit] if unit else [])]
    done = subprocess.run(command, input=text, capture_output=True, timeout=600, check=False)
    values = expected(text, unit)
    if values is None:
        return "" if done.returncode == 65 and not done.stdout else f"{path}: read, though the oracle refuses it: {text!r}"
    if done.returncode not in oracle.EXIT_CODE.values():
        return f"{path}: refused, though the oracle reads it: {text!r} {done.stderr!r}"
    samples = json.loads(done.stdout)["samples"]
    found = {(direction, quantity): samples[direction][quantity] for direction in samples for quantity in ("aperture", "wire") if quantity in samples[direction]}
    same = found.keys() == values.keys() and all(found[key].get(what) == value for key in values for what, value in values[key].items())
    return "" if same else f"{path}: {found} where the oracle has {values}"


def main():
    paths = sorted(path for folder in sys.argv[2:] for path in pathlib.Path(folder).iterdir())
    with concurrent.futures.ThreadPoolExecutor(os.cpu_count() or 2) as pool:
        results = [result for result in pool.map(compare, paths) if result is not None]
    complaints = [result for result in results if result]
    for complaint in complaints[:10]:
        print(complaint[:1000])
    print(f"{len(results) - len(complaints)} passed, {len(complaints)} failed")
    return 1 if complaints or len(results) < LEAST else 0


if __name__ == "__main__":
    sys.exit(main())
