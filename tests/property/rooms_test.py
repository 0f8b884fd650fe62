#!/usr/bin/env python3
"""property: the rooms of lib/ include each other only along the edges that DEVELOPERS.md allows.

Reads every #include of lib/ and include/ and fails on any other edge, on a public header that includes more than the standard library,
on a top-level entry that has no place, and on sources that are not ASCII. Source: the table `ALLOWED` below, as in DEVELOPERS.md.
"""
import pathlib
import re
import sys

ROOT = pathlib.Path(__file__).resolve().parents[2]
ALLOWED = {
    "base": set(),
    "standards": {"base"},
    "measurement": {"base"},
    "judgement": {"base", "standards", "measurement"},
    "diagnosis": {"base", "standards", "measurement", "judgement"},
    "report": {"base", "standards", "measurement", "judgement", "diagnosis"},
    "capi": {"base", "standards", "measurement", "judgement"},
}
TOP = {"CMakeLists.txt", "README.md", "DEVELOPERS.md", "LICENSE", "lib", "include", "tools", "tests", "tables", "docs"}
# Headers without a source file of their own stem: which room they belong to.
HEADER_ROOMS = {"edition": "standards", "version": "base", "sievecloth": None}
INCLUDE = re.compile(r'^\s*#include\s+([<"])([^>"]+)[>"]', re.M)

failures = []
checks = 0


def check(condition, message):
    global checks
    checks += 1
    if not condition:
        failures.append(message)


def room_of_source(path):
    return path.relative_to(ROOT / "lib").parts[0]


def room_of_public_header(stem):
    if stem in HEADER_ROOMS:
        return HEADER_ROOMS[stem]
    rooms = {room_of_source(path) for path in (ROOT / "lib").rglob(f"{stem}.cpp")}
    check(len(rooms) == 1, f"include/sievecloth/{stem}.hpp: expected one lib/**/{stem}.cpp, found {sorted(rooms)}")
    return rooms.pop() if rooms else None


def room_of_include(name):
    parts = name.split("/")
    if parts[0] == "sievecloth":
        return "capi" if parts[1] == "c" else room_of_public_header(pathlib.Path(parts[-1]).stem)
    return parts[0] if parts[0] in ALLOWED else None


def check_edges(path, room):
    for bracket, name in INCLUDE.findall(path.read_text("utf-8")):
        if bracket == '"':
            target = room_of_include(name)
            check(target is None or target == room or target in ALLOWED[room], f"{path.relative_to(ROOT)}: {room} must not include {name}")


for source in sorted((ROOT / "lib").rglob("*.?pp")):
    room = room_of_source(source)
    check(room in ALLOWED, f"{source.relative_to(ROOT)}: a room without a place in the table")
    check_edges(source, room)

for header in sorted((ROOT / "include/sievecloth").glob("*.hpp")):
    room = room_of_public_header(header.stem)
    if room:
        check_edges(header, room)
    for bracket, name in INCLUDE.findall(header.read_text("utf-8")):
        standard = bracket == "<" and re.fullmatch(r"[a-z0-9_]+", name)
        check(standard or name.startswith("sievecloth/"), f"{header.relative_to(ROOT)}: includes {name}, not the standard library alone")

for source in sorted(path for folder in ("lib", "include", "tools") for path in (ROOT / folder).rglob("*.?pp")):
    check(source.read_bytes().isascii(), f"{source.relative_to(ROOT)}: not ASCII")

for entry in ROOT.iterdir():
    check(entry.name in TOP or entry.name.startswith((".", "build")), f"{entry.name}: nothing else stands at the top level")

for failure in failures:
    print(failure, file=sys.stderr)
print(f"{checks - len(failures)} passed, {len(failures)} failed")
sys.exit(1 if failures or checks < 100 else 0)
