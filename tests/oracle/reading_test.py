# oracle: files of readings with random damage (fixed seed), read by the tool and by tests/support/oracle.py
"""reading_test.py TOOL: both must refuse the same files and read the same values out of the others, whatever the readings are wanted for.
Prints `N passed, N failed`."""

import collections
import concurrent.futures
import functools
import json
import os
import pathlib
import random
import subprocess
import sys

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "support"))
import oracle  # noqa: E402

SEED = "sievecloth readings 1"
CASES = 1000
LONG = 40  # number of them
QUANTITIES = ("aperture", "wire", "suspects")
SOUND = (
    b"direction,aperture_um,wire_um\nwarp,75.3,50\nweft,74.8,\n",
    b"# a comment\ndirection;aperture_mm;role;x_mm;y_mm\nwarp;0,0753;;1;2\nshute;0,0748;suspect;;\n",
    b"direction,aperture_um,gap\nwarp,75,0\nwarp,76,12\nweft,74,\n",
    b'"direction"\taperture_um\tfield\r\nwarp\t75\ta\r\nweft\t"74,5"\tb\r\n',
    b"aperture_in,direction\n0.003,warp\n0.0029,shoot\n",
)
PIECES = (b",", b";", b"\t", b"\n", b"\r\n", b"\r", b'"', b'""', b"#", b" ", b".", b"0", b"-", b"1", b"e", b"+", b"\0", b"\xff", b"\xc2\xb5",
          b"\xef\xbb\xbf", b"\n\n", b"warp", b"weft", b"suspect", b"sample", b"aperture_um", b"x_mm")


OPTIONS = ("--standard", "astm-e11-17", "--size", "75um", "--grade", "inspection")
# Each uses the reader in a different way.
CONSUMERS = (
    ("check", "-", *OPTIONS, "--json"), ("check", "-", *OPTIONS, "--json", "--how-sure"),
    ("check", "-", *OPTIONS, "--json", "--decision", "guarded-acceptance"), ("watch", "-", *OPTIONS, "--every", "10000000000"),
)


def damage(rng, data):
    """One change: something put in, taken out or put over, or a line repeated elsewhere."""
    at = rng.randrange(len(data) + 1)
    kind = rng.randrange(4)
    if kind == 0:
        return data[:at] + rng.choice(PIECES) + data[at:]
    if kind == 1:
        return data[:at] + data[at + rng.choice((1, 1, 2, 5)) :]
    if kind == 2:
        return data[:at] + rng.choice(PIECES) + data[at + 1 :]
    lines = data.split(b"\n")
    lines.insert(rng.randrange(len(lines) + 1), rng.choice(lines))
    return b"\n".join(lines)


def as_spreadsheets_leave_it(rng, data):
    """Columns without a name behind the others, and rows of separators behind the last, of the file's separator or another one."""
    head = data.split(b"\n")[0]
    separator = next((s for s in (b";", b"\t", b",") if s in head), b",")
    more = rng.choice((0, 0, 1, 2))
    lines = [line + separator * more if line.strip() else line for line in data.split(b"\n")]
    return b"\n".join(lines) + b"".join(rng.choice((separator, b",", b";", b" ", b"")) * rng.randrange(4) + b"\n" for _ in range(rng.choice((0, 1, 3))))


def make_file(number):
    rng = random.Random(f"{SEED}/{number}")
    data = rng.choice(SOUND)
    if rng.random() < 0.2:
        data = as_spreadsheets_leave_it(rng, data)
    for _ in range(rng.choice((0, 1, 1, 1, 2, 3))):
        data = damage(rng, data)
    return data


def make_long_file(number):
    """Many rows in few shapes, as instruments write them, at most one of them damaged."""
    rng = random.Random(f"{SEED}/long/{number}")
    separator, mark = rng.choice(((",", "."), (";", ","), ("\t", ".")))
    unit, per_unit = rng.choice((("um", 1), ("mm", 1000), ("in", 25400)))
    decimals, end = rng.randrange(0, 3) + {1: 0, 1000: 3, 25400: 4}[per_unit], rng.choice(("\n", "\r\n"))
    more = [name for name in ("role", "field", "gap", "x_mm y_mm") if rng.random() < 0.4]
    lines = [separator.join(["direction", f"aperture_{unit}", f"wire_{unit}", *" ".join(more).split()])]
    for row in range(rng.choice((1100, 6000, 25000))):
        aperture = f"{rng.uniform(60, 90) / per_unit:.{decimals}f}".replace(".", mark)
        wire = f"{rng.uniform(45, 55) / per_unit:.{decimals}f}".replace(".", mark) if rng.random() < 0.2 else ""
        suspect = "role" in more and rng.random() < 0.01
        cells = [rng.choice(("warp", "weft", "weft", "shute")), aperture, "" if suspect else wire]
        if "role" in more:
            cells.append("suspect" if suspect else rng.choice(("", "sample")))
        if "field" in more:
            cells.append(rng.choice(("", f"F{row}", "7", "Gr\u00fcn 3", "at 07:43")))
        if "gap" in more:
            cells.append(rng.choice(("", str(row // 20), "0", "007", "999999999")))
        if "x_mm y_mm" in more:
            cells += rng.choice((["", ""], [f"{row}", f"-{row % 7}{mark}5"]))
        lines.append(separator.join(cells))
    data = (end.join(lines) + end * (rng.random() < 0.9)).encode()
    if end == "\n" and rng.random() < 0.2:
        data = as_spreadsheets_leave_it(rng, data)
    return damage(rng, data) if rng.random() < 0.6 else data


def expected_samples(data):
    """{(direction, quantity): {n, mean, smallest, largest}}, or None where the file must be refused."""
    try:
        piece = oracle.read_csv(data)
    except oracle.BadData:
        return None
    result = {}
    for quantity, values in (("aperture", piece.apertures), ("wire", piece.wires), ("suspects", piece.suspects)):
        for direction in oracle.DIRECTIONS:
            if values[direction]:
                result[direction, quantity] = oracle.statistics_to_json(oracle.describe(values[direction]))
    return result


def found_samples(document):
    """Of check all samples, of watch what its last line says of apertures."""
    last = json.loads(document) if b"sievecloth-watch/1" not in document else json.loads(document.splitlines()[-1])
    samples = last["samples"] if "samples" in last else {direction: {"aperture": last[direction]} for direction in oracle.DIRECTIONS if last[direction]["n"]}
    return {(direction, quantity): samples[direction][quantity] for direction in samples for quantity in QUANTITIES if quantity in samples[direction]}


def run(number, tool):
    """(complaint or None, was it refused)"""
    data = make_file(number) if number < CASES - LONG else make_long_file(number)
    expected = expected_samples(data)
    consumer = CONSUMERS[number // 3 % len(CONSUMERS)]
    watches = consumer[0] == "watch"
    command = [tool, *consumer, *(() if watches else ("--threads", str(1 + number % 3)))]
    if watches and expected is not None:
        expected = {key: value for key, value in expected.items() if key[1] == "aperture"}
    done = subprocess.run(command, input=data, capture_output=True, timeout=600, check=False)
    if expected is None:
        right = done.returncode == 65 and (watches or not done.stdout)
    else:
        right = done.returncode in oracle.EXIT_CODE.values()
        if right:
            found = found_samples(done.stdout)
            right = found.keys() == expected.keys() and all(found[key].get(what) == value for key in expected for what, value in expected[key].items())
    complaint = None if right else f"file {number}: {data[:500]!r}\n  expected {expected}\n  found exit code {done.returncode}, {done.stdout[:2000]!r} {done.stderr[:300]!r}"
    return complaint, expected is None


def main():
    with concurrent.futures.ProcessPoolExecutor(os.cpu_count() or 2) as pool:
        results = list(pool.map(functools.partial(run, tool=sys.argv[1]), range(CASES), chunksize=50))
    complaints = [complaint for complaint, _ in results if complaint]
    counts = collections.Counter(refused for _, refused in results)
    if min(counts[True], counts[False]) < CASES // 5:
        complaints.append(f"coverage: {counts[True]} files refused, {counts[False]} read")
    for complaint in complaints[:10]:
        print(complaint)
    print(f"{CASES - len(complaints)} passed, {len(complaints)} failed")
    return 1 if complaints else 0


if __name__ == "__main__":
    sys.exit(main())
