#!/usr/bin/env python3
# property: whatever a logo or a template holds, the tool ends within its limits, writes a report or says why not, and leaves nothing
"""files_fuzz.py TOOL [RUNS] [SEED]: damages logos and templates at random and lets the tool make reports with them."""
import os
import pathlib
import random
import resource
import struct
import subprocess
import sys
import tempfile
import time
import zlib

TOOL, RUNS, SEED = str(pathlib.Path(sys.argv[1]).resolve()), int(sys.argv[2]) if len(sys.argv) > 2 else 60, sys.argv[3] if len(sys.argv) > 3 else "1"
READINGS = "direction,aperture_um,wire_um\n" + "".join(f"{direction},{75 + i % 5 / 10},50\n" for direction in ("warp", "weft") for i in range(100))
OPTIONS = ["--standard", "astm-e11-17", "--size", "No. 200", "--grade", "inspection", "--viewing", "passed"]
LONGEST, MOST = 60, 2500  # seconds and MiB of a run: the limits of a template, and what the tool takes itself


def png(width=9, height=9, depth=8, colour=2, interlaced=0):
    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    row = b"\0" + bytes(range(width * {0: 1, 2: 3, 6: 4}[colour] * depth // 8))
    return (b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, depth, colour, 0, 0, interlaced)) +
            chunk(b"IDAT", zlib.compress(row * height)) + chunk(b"IEND", b""))


SVG = b"""<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="90" height="40" viewBox="0 0 90 40">
<defs><g id="a"><rect width="9" height="9" fill="url(#p)"/></g><pattern id="p" width="2" height="2"><circle r="1"/></pattern>
<filter id="f"><feTurbulence numOctaves="3" baseFrequency="0.1"/><feGaussianBlur stdDeviation="3"/></filter></defs>
<use xlink:href="#a" x="5"/><text x="3" y="20" font-size="9" filter="url(#f)">Weir</text><image width="9" height="9" xlink:href="data:image/png;base64,iVBORw0KGgo="/></svg>"""
LOGOS = {".png": [png(), png(20, 3, 8, 6), png(5, 5, 16, 0), png(8, 8, 8, 2, 1)], ".svg": [SVG]}
TEMPLATES = [b"{{verdict}} {{{report.title}}}\n{{#criteria}}{{id}} {{observed_um}}{{^upper_um}}-{{/upper_um}}\n{{/criteria}}{{report.mark}}\n",
             b"{{#shown}}{{#sections}}<h2>{{title}}</h2>{{#tables}}{{#rows}}{{#cells}}{{text}}{{/cells}}{{/rows}}{{/tables}}{{/sections}}{{/shown}}\n",
             b"{{=<% %>=}}<%verdict%><%! note %><%> other%>\n"]
PIECES = [b"{{#criteria}}", b"{{/criteria}}", b"{{#shown}}", b"{{", b"}}", b"{{{", b"{{=", b"=}}", b"{{> x}}", b"\0", b"\xff", b"9" * 10, b"0", b"-1", b"1e9", b"url(#f)",
          b"#a", b"<use xlink:href='#a'/>", b"<g>", b"</g>", b"&x;", b"<!DOCTYPE svg [<!ENTITY x 'xx'>]>", b"file:///etc/hostname", b"IHDR", b"IDAT", b"\0\0\xff\xff", b"\n"]


def damage(rng, data):
    for _ in range(rng.choice((1, 1, 2, 4, 9))):
        at = rng.randrange(len(data) + 1)
        data = data[:at] + rng.choice(PIECES) * rng.choice((1, 1, 1, 3, 20)) + data[at + rng.choice((0, 0, 1, 4)) :]
    return data if rng.random() < 0.95 else data[: rng.randrange(len(data) + 1)]


def run(folder, rng):
    """What is wrong with the run, or None; and its exit code."""
    ending = rng.choice([".png", ".svg", "template", "template"])
    if ending == "template":
        (folder / "t.txt").write_bytes(damage(rng, rng.choice(TEMPLATES)))
        options = ["--template", "t.txt", "--report", "r.txt"]
    else:
        (folder / f"logo{ending}").write_bytes(damage(rng, rng.choice(LOGOS[ending])))
        (folder / "lab.yaml").write_text(f"schema: sievecloth-laboratory/1\nname: Weir\nlogo: logo{ending}\n")
        options = ["--laboratory", "lab.yaml", "--report", rng.choice(("r.html", "r.pdf"))]
    inputs = {path.name for path in folder.iterdir()}
    begin = time.monotonic()
    with subprocess.Popen([TOOL, "check", "r.csv", *OPTIONS, *options], cwd=folder, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE) as process:
        said = process.stderr.read()
        _, status, used = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
    new = {path.name for path in folder.iterdir()} - inputs
    right = new == ({options[-1]} if process.returncode == 0 else set())
    for name in new:
        (folder / name).unlink()
    if process.returncode not in (0, 65, 73) or not right or time.monotonic() - begin > LONGEST or used.ru_maxrss / 1024 > MOST:
        return f"{options}: exit code {process.returncode}, {new}, {time.monotonic() - begin:.1f} s, {used.ru_maxrss // 1024} MiB, {said[-300:]!r}", process.returncode
    return None, process.returncode


def main():
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    faults, accepted = [], 0
    with tempfile.TemporaryDirectory() as temporary:
        folder = pathlib.Path(temporary)
        (folder / "r.csv").write_text(READINGS)
        for number in range(RUNS):
            state = random.Random(f"{SEED}/{number}")
            fault, code = run(folder, state)
            accepted += code == 0
            if fault:
                faults.append(f"run {number}: {fault}")
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    print("\n".join(faults))
    print(f"{RUNS} files, {accepted} accepted, {len(faults)} faults, {used.ru_utime + used.ru_stime:.0f} s of processor time")
    sys.exit(1 if faults or not 0 < accepted < RUNS else 0)


main()
