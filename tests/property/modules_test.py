#!/usr/bin/env python3
"""property: the modules of lib/ and the tools include each other only along the edges that DEVELOPERS.md allows.

Reads every #include of lib/, include/ and tools/, sub-folders too, and fails on any other edge, on a public header that includes more
than the standard library, on yaml-cpp outside of lib/yaml, on a top-level entry that has no place, and on sources that are not ASCII.
Source: the table `BELOW` below, as in DEVELOPERS.md.
"""
import pathlib
import re
import sys

ROOT = pathlib.Path(__file__).resolve().parents[2]
# Modules directly below each module; it may include those, and whatever is below them in turn.
BELOW = {
    "base": set(),
    "standards": {"base"},
    "measurement": {"base"},
    "judgement": {"standards", "measurement"},
    "diagnosis": {"judgement"},
    "check": {"diagnosis"},
    "report": {"check"},
    "yaml": {"report"},
    "capi": {"check", "report"},
    "registry": {"check", "report"},
}
# Tools may include everything; but tablegen is built before the editions that most of lib/ needs.
TOOLS = {"sievecloth": set(BELOW), "tablegen": {"base", "standards", "yaml"}}
TOP = {"CMakeLists.txt", "README.md", "DEVELOPERS.md", "LICENSE", "lib", "include", "tools", "tests", "tables", "docs"}
# Headers without a source file of the same stem: the module they belong to; `sievecloth.hpp` includes the whole core.
HEADER_MODULES = {"job": "measurement", "version": "base", "sievecloth": "check"}
INCLUDE = re.compile(r'^\s*#\s*include\s+([<"])([^>"]+)[>"]', re.M)

failures = []
checks = 0


def check(condition, message):
    global checks
    checks += 1
    if not condition:
        failures.append(message)


def reach(module):
    return {module}.union(*(reach(below) for below in BELOW[module]))


def sources(folder):
    return sorted(path for path in (ROOT / folder).rglob("*") if path.suffix in (".cpp", ".hpp", ".h", ".in") and path.name != "CMakeLists.txt")


def module_of_public_header(name):
    if name.startswith("sievecloth/c/"):
        return "capi"
    stem = pathlib.Path(name).name.split(".")[0]
    if stem in HEADER_MODULES:
        return HEADER_MODULES[stem]
    modules = {path.relative_to(ROOT / "lib").parts[0] for path in (ROOT / "lib").rglob(f"{stem}.cpp")}
    check(len(modules) == 1, f"include/{name}: expected one lib/**/{stem}.cpp, found {sorted(modules)}")
    return modules.pop() if modules else None


def module_of_include(path, name):
    """The module that a file's include belongs to, or none: a library of others, or a neighbour of a tool."""
    if name.startswith("sievecloth/"):
        return module_of_public_header(name)
    if (ROOT / "lib" / name).is_file():
        return name.split("/")[0]
    if (path.parent / name).is_file():
        check(path.is_relative_to(ROOT / "tools"), f"{path.relative_to(ROOT)}: {name} must be named with its module")
    return None


def check_edges(path, allowed):
    place = path.relative_to(ROOT)
    for bracket, name in INCLUDE.findall(path.read_text("utf-8")):
        module = module_of_include(path, name)
        check(module is None or module in allowed, f"{place}: must not include {name}")
        check(bracket == "<" or module or (path.parent / name).is_file(), f"{place}: {name} is nowhere")
        check(not name.startswith("yaml-cpp/") or place.parts[:2] == ("lib", "yaml"), f"{place}: YAML is read in lib/yaml alone")


for source in sources("lib"):
    module = source.relative_to(ROOT / "lib").parts[0]
    check(module in BELOW, f"{source.relative_to(ROOT)}: a module without a place in the table")
    if module in BELOW:
        check_edges(source, reach(module))

for source in sources("tools"):
    tool = source.relative_to(ROOT / "tools").parts[0]
    if source.suffix in (".cpp", ".hpp"):
        check_edges(source, TOOLS[tool])

for header in sources("include"):
    name = str(header.relative_to(ROOT / "include"))
    check_edges(header, reach(module_of_public_header(name)))
    for bracket, included in INCLUDE.findall(header.read_text("utf-8")):
        standard = bracket == "<" and re.fullmatch(r"[a-z0-9_]+(\.h)?", included)
        check(standard or included.startswith("sievecloth/"), f"{name}: includes {included}, not the standard library alone")

for source in (path for folder in ("lib", "include", "tools") for path in sources(folder)):
    check(source.read_bytes().isascii(), f"{source.relative_to(ROOT)}: not ASCII")

for entry in ROOT.iterdir():
    check(entry.name in TOP or entry.name.startswith((".", "build")), f"{entry.name}: nothing else stands at the top level")

for failure in failures:
    print(failure, file=sys.stderr)
print(f"{checks - len(failures)} passed, {len(failures)} failed")
sys.exit(1 if failures or checks < 100 else 0)
