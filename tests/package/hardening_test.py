#!/usr/bin/env python3
# property: programs and libraries are compiled and linked with hardening, as readelf and objdump report
"""hardening_test.py optimised|plain FILE...: reads ELF files.

What every file must have: an address of chance (a program too), relocations that are read-only once all are bound at the start, no
segment that can be written and executed, code apart from everything else, a guarded stack, and on x86-64 the mark of control-flow
protection with places to land. A program must also call fortified functions, where it was compiled with optimisation, and touch each page
of a large frame.
"""
import re
import subprocess
import sys


def printed(*command):
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout


def weaknesses(path, optimised):
    """What a file lacks, in words."""
    header, segments, dynamic = (printed("readelf", "-W", option, path) for option in ("-h", "-l", "-d"))
    imported = set(re.findall(r" UND (\w+)", printed("readelf", "-W", "--dyn-syms", path)))
    program = bool(re.search(r"^ +INTERP", segments, re.M))
    loads = re.findall(r"^ +LOAD +0x(\w+) \S+ \S+ \S+ \S+ ([R ])([W ])([E ])", segments, re.M)
    demands = {
        "position-independent": re.search(r"Type: +DYN", header) and (not program or re.search(r"FLAGS_1.*\bPIE\b", dynamic)),
        "no relocations in code": "TEXTREL" not in dynamic,
        "read-only relocations": re.search(r"^ +GNU_RELRO", segments, re.M),
        "bound at the start": re.search(r"\(BIND_NOW\)|FLAGS.*\bBIND_NOW\b|FLAGS_1.*\bNOW\b", dynamic),
        "a stack that is no code": re.search(r"^ +GNU_STACK .* RW +0x", segments, re.M),
        "nothing written and executed": loads and not any(write == "W" and execute == "E" for _, _, write, execute in loads),
        "code apart": not any(int(offset, 16) == 0 and execute == "E" for offset, _, _, execute in loads),
        "a guarded stack": "__stack_chk_fail" in imported,
    }
    if program and optimised:
        demands["fortified functions"] = any(re.fullmatch(r"__(?!stack)\w+_chk", name) for name in imported)
    if "X86-64" in header:
        code = printed("objdump", "-d", "--no-show-raw-insn", path)
        demands["marked for control-flow protection"] = re.search(r"x86 feature: IBT, SHSTK", printed("readelf", "-n", path))
        demands["places to land"] = code.count("endbr64") > 100
        if program:
            probe = r"sub +\$0x1000,%rsp\n[^\n]*(?:or|mov)q +\$0x0,[^\n]*\(%rsp\)"
            demands["pages of large frames touched"] = re.search(probe, code)
    return [f"{path}: not {demand}" if demand.startswith(("position", "bound", "marked")) else f"{path}: without {demand}"
            for demand, met in demands.items() if not met]


def main():
    found = [weakness for path in sys.argv[2:] for weakness in weaknesses(path, sys.argv[1] == "optimised")]
    print("\n".join(found) or f"{len(sys.argv) - 2} files are hardened")
    sys.exit(1 if found or len(sys.argv) < 3 else 0)


if __name__ == "__main__":
    main()
