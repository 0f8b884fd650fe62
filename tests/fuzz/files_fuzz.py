#!/usr/bin/env python3
# property: whatever a logo, a template, a laboratory's file or its wording holds, the tool ends within its limits, writes a report or says why not, and leaves nothing
"""files_fuzz.py TOOL [RUNS] [SEED] [KIND]: damages such files at random and lets the tool make reports with them; all kinds, or one."""
import collections
import os
import pathlib
import random
import re
import resource
import struct
import subprocess
import sys
import tempfile
import time
import zlib

ROOT = pathlib.Path(__file__).resolve().parents[2]
TOOL, RUNS, SEED = str(pathlib.Path(sys.argv[1]).resolve()), int(sys.argv[2]) if len(sys.argv) > 2 else 200, sys.argv[3] if len(sys.argv) > 3 else "1"
READINGS = "direction,aperture_um,wire_um\n" + "".join(f"{direction},{75 + i % 5 / 10},50\n" for direction in ("warp", "weft") for i in range(100))
OPTIONS = ["--standard", "astm-e11-17", "--size", "No. 200", "--grade", "inspection", "--viewing", "passed"]
# Seconds and MiB of a run: the limits of a process of its own, and what the tool takes itself.
LIMITS = {"logo": (30, 700), "template": (60, 2500), "laboratory": (10, 200), "language": (10, 200)}
KINDS = sys.argv[4:] or list(LIMITS)


def chunk(kind, data):
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def png(width=9, height=9, depth=8, colour=2, interlaced=0):
    row = b"\0" + bytes(range(width * {0: 1, 2: 3, 6: 4}[colour] * depth // 8))
    return (b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, depth, colour, 0, 0, interlaced)) +
            chunk(b"IDAT", zlib.compress(row * height)) + chunk(b"IEND", b""))


SVG = b"""<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="90" height="40" viewBox="0 0 90 40">
<defs><g id="a"><rect width="9" height="9" fill="url(#p)"/></g><pattern id="p" width="2" height="2"><circle r="1"/></pattern>
<filter id="f"><feTurbulence numOctaves="3" baseFrequency="0.1"/><feGaussianBlur stdDeviation="3"/></filter></defs>
<use xlink:href="#a" x="5"/><text x="3" y="20" font-size="9" filter="url(#f)">Weir</text><image width="9" height="9" xlink:href="data:image/png;base64,iVBORw0KGgo="/></svg>"""
LABORATORY = (ROOT / "tests/fuzz/corpus/branding/whole").read_bytes()
LANGUAGE = (ROOT / "lib/report/wording/de.yaml").read_bytes()
LOGOS = {".png": [png(), png(20, 3, 8, 6), png(5, 5, 16, 0), png(8, 8, 8, 2, 1)], ".svg": [SVG]}
TEMPLATES = [b"{{verdict}} {{{report.title}}}\n{{#criteria}}{{id}} {{observed_um}}{{^upper_um}}-{{/upper_um}}\n{{/criteria}}{{report.mark}}\n",
             b"{{#shown}}{{#sections}}<h2>{{title}}</h2>{{#tables}}{{#rows}}{{#cells}}{{text}}{{/cells}}{{/rows}}{{/tables}}{{/sections}}{{/shown}}\n",
             b"{{=<% %>=}}<%verdict%><%! note %><%> other%>\n"]
PIECES = [b"{{#criteria}}", b"{{/criteria}}", b"{{#shown}}", b"{{", b"}}", b"{{{", b"{{=", b"=}}", b"{{> x}}", b"\0", b"\xff", b"9" * 10, b"0", b"-1", b"1e9", b"url(#f)",
          b"#a", b"<use xlink:href='#a'/>", b"<g>", b"</g>", b"&x;", b"<!DOCTYPE svg [<!ENTITY x 'xx'>]>", b"file:///etc/hostname", b"IHDR", b"IDAT", b"\0\0\xff\xff", b"\n"]


WORDS = [b"{frame}", b"{size}" * 5, b"{", b"}", b"\\u202e", b"\\x07", b"<script>", b"&amp;", b"\"", b"'", b"\\", b"#", b": ", b"\n", b"\n  ", b"- ", b"[", b"]", b"&a ",
         b"*a", b"!!b ", b"|", b"\xc2\xa0", b"\xef\xbb\xbf", b"\xf0\x9f\x98\x80", b"x" * 500, b"-", b"0", b"1e9", b"99999999999 um", b"%d %n", b"sievecloth-report/1 draft"]


def damage(rng, data, pieces=PIECES):
    for _ in range(rng.choice((1, 1, 2, 4, 9))):
        at = rng.randrange(len(data) + 1)
        data = data[:at] + rng.choice(pieces) * rng.choice((1, 1, 1, 3, 20)) + data[at + rng.choice((0, 0, 1, 4)) :]
    return data if rng.random() < 0.95 else data[: rng.randrange(len(data) + 1)]


def damage_lines(rng, data):
    """Words in some lines; lines that are left out, doubled or moved."""
    lines = data.split(b"\n")
    for _ in range(rng.choice((1, 1, 2, 5))):
        at = rng.randrange(len(lines))
        if rng.random() < 0.7:
            lines[at] = damage(rng, lines[at], WORDS)
        else:
            lines[at : at + 1] = rng.choice(([], [lines[at]] * 2, [rng.choice(lines)]))
    return b"\n".join(lines)


def damage_picture(rng, data):
    """Numbers of SVG that become others, and chunks of PNG whose checksum is right all the same."""
    if not data.startswith(b"\x89PNG"):
        number = rng.choice((b"0", b"-7", b"1e38", b"2000000000", b"0.00001", b"nan"))
        return damage(rng, re.sub(rb"\b\d+\b", lambda found: number if rng.random() < 0.1 else found[0], data) if rng.random() < 0.7 else data)
    if rng.random() < 0.3:
        return damage(rng, data)
    made, at = data[:8], 8
    while at < len(data):
        size = struct.unpack(">I", data[at : at + 4])[0]
        kind, content = data[at + 4 : at + 8], data[at + 8 : at + 8 + size]
        inside = zlib.decompress(content) if kind == b"IDAT" else content
        if content and rng.random() < 0.5:
            place = rng.randrange(len(inside))
            inside = inside[:place] + bytes([rng.choice((0, 1, 2, 3, 4, 8, 16, 127, 255))]) + inside[place + 1 :]
        content = zlib.compress(inside) if kind == b"IDAT" else inside
        made += chunk(kind, content) * (rng.choice((0, 2)) if rng.random() < 0.1 else 1)
        at += 12 + size
    return made


def options_of(folder, rng, kind):
    """Writes the damaged file, and returns the options that name it and a report."""
    if kind == "template":
        (folder / "t.txt").write_bytes(damage(rng, rng.choice(TEMPLATES)))
        return ["--template", "t.txt", "--report", "r.txt"]
    if kind == "language":
        (folder / "de.yaml").write_bytes(damage_lines(rng, LANGUAGE))
        return ["--language", "de.yaml", "--report", rng.choice(("r.txt", "r.md", "r.html"))]
    ending = rng.choice((".png", ".svg"))
    if kind == "laboratory":
        (folder / "lab.yaml").write_bytes(damage_lines(rng, LABORATORY))
    else:
        (folder / f"logo{ending}").write_bytes(damage_picture(rng, rng.choice(LOGOS[ending])))
        (folder / "lab.yaml").write_text(f"schema: sievecloth-laboratory/1\nname: Weir\nlogo: logo{ending}\n")
    return ["--laboratory", "lab.yaml", "--report", rng.choice(("r.html", "r.pdf") if kind == "logo" else ("r.txt", "r.md", "r.html"))]


def is_plain(name, data):
    """Whether a text has nothing in it that no reader sees."""
    return name.endswith(".pdf") or not re.search("[\0-\x08\x0b-\x1f\x7f-\x9f\u200b\u202a-\u202e\u2066-\u2069\ufeff]", data.decode())


def run(folder, rng, kind):
    """What is wrong with the run, or None; and its exit code."""
    before = set(folder.iterdir())
    options = options_of(folder, rng, kind)
    inputs = set(folder.iterdir())
    longest, most = LIMITS[kind]
    begin = time.monotonic()
    with subprocess.Popen([TOOL, "check", "r.csv", *OPTIONS, *options], cwd=folder, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE) as process:
        said = process.stderr.read()
        _, status, used = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
    seconds, memory = time.monotonic() - begin, used.ru_maxrss // 1024
    new = {path.name for path in set(folder.iterdir()) - inputs}
    right = new == ({options[-1]} if process.returncode == 0 else set()) and all(is_plain(name, (folder / name).read_bytes()) for name in new)
    for path in set(folder.iterdir()) - before:
        path.unlink()
    if process.returncode not in (0, 65, 66, 73) or not right or seconds > longest or memory > most:
        return f"{options}: exit code {process.returncode}, {new}, {seconds:.1f} s, {memory} MiB, {said[-300:]!r}", process.returncode
    return None, process.returncode


def main():
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    faults, accepted = [], collections.Counter()
    with tempfile.TemporaryDirectory() as temporary:
        folder = pathlib.Path(temporary)
        (folder / "r.csv").write_text(READINGS)
        for number in range(RUNS):
            kind = KINDS[number % len(KINDS)]
            fault, code = run(folder, random.Random(f"{SEED}/{number}"), kind)
            accepted[kind] += code == 0
            if fault:
                faults.append(f"run {number}: {fault}")
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    print("\n".join(faults))
    print(f"{RUNS} files, accepted {dict(accepted)}, {len(faults)} faults, {used.ru_utime + used.ru_stime:.0f} s of processor time")
    sys.exit(1 if faults or not all(0 < accepted[kind] < RUNS / len(KINDS) for kind in KINDS) else 0)


main()
