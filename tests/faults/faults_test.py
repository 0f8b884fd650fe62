#!/usr/bin/env python3
# boundary: what docs/cli.md promises when a write, a read, an allocation or a whole file fails; the faults come from shim.cpp
"""faults_test.py TOOL SHIM write|read|memory|damage|many [--all]

Without --all every fault that has many places (bytes, allocations) is tried at a fixed choice of them; with it at each.
Prints how many faults were tried; fails where the tool crashed, said something wrong, or left something behind.
"""

import concurrent.futures
import itertools
import json
import os
import pathlib
import resource
import signal
import subprocess
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "support"))
import oracle  # noqa: E402

TOOL, SHIM, PART = sys.argv[1:4]
ALL = "--all" in sys.argv
ASKED = ["--standard", "astm-e11-17", "--size", "75um", "--grade", "inspection", "--viewing", "passed"]
READINGS = "direction,aperture_um,wire_um\n" + "".join(f"{direction},{70 + i % 11},{'50' if i < 10 else ''}\n" for direction in ("warp", "weft") for i in range(110))
SHORT = "direction,aperture_um,wire_um\nwarp,75.3,50\nweft,74.8,\n"
ENDING = (signal.SIGTERM, signal.SIGINT, signal.SIGHUP)
OLD = b"what stood here before\n"
tried = 0
complaints = []

for ending in ENDING:
    signal.signal(ending, signal.SIG_DFL)  # the parent may have left it ignored, and the tool would inherit that


def run(folder, *arguments, fault="", fired="", limit=None, **more):
    environment = {"PATH": "/usr/bin:/bin", "LD_PRELOAD": SHIM, "SIEVECLOTH_TEST_FAULT": fault, "SIEVECLOTH_TEST_FIRED": fired}
    limited = (lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))) if limit is not None else None
    options = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE} | more
    return subprocess.run([TOOL, *arguments], cwd=folder, env=environment, timeout=600, check=False, preexec_fn=limited, **options)


def expect(right, what, done):
    global tried
    tried += 1
    if not right:
        complaints.append(f"{what}: exit code {done.returncode}\n  {done.stdout!r}\n  {done.stderr!r}"[:1500])


def some(count, wanted):
    """Every place below `count`, or a fixed choice of about so many, the first and the last among them."""
    return range(count) if ALL or count <= wanted else sorted({*range(0, count, count // wanted + 1), 1, count - 1})


def in_parallel(work, places):
    with concurrent.futures.ThreadPoolExecutor(os.cpu_count() or 2) as pool:
        for what, right, done in pool.map(work, places):
            expect(right, what, done)


class Folder:
    """A folder with readings, and with or without what stood there before."""

    def __init__(self, parent, name, old):
        self.path = pathlib.Path(parent) / name
        self.path.mkdir()
        (self.path / "d.csv").write_text(READINGS, encoding="ascii")
        self.old = old

    def is_as_before(self):
        names = {path.name for path in self.path.iterdir()} - {"d.csv"}
        return names == ({"out.txt"} if self.old else set()) and (not self.old or (self.path / "out.txt").read_bytes() == OLD)

    def leftovers(self):
        return {path.name for path in self.path.iterdir()} - {"d.csv", "out.txt"}

    def prepare(self):
        (self.path / "out.txt").unlink(missing_ok=True)
        if self.old:
            (self.path / "out.txt").write_bytes(OLD)


def says(done, code, *words):
    text = done.stderr.decode()
    return done.returncode == code and all(word in text for word in words)


def test_write(temporary):
    target = {"report": ["--report", "out.txt", "--overwrite"], "summary": ["--summary", "out.txt", "--overwrite"]}
    for kind, old in itertools.product(target, (False, True)):
        folder = Folder(temporary, f"{kind}-{old}", old)
        command = ["check", "d.csv", *ASKED, *target[kind]]
        folder.prepare()
        done = run(folder.path, *command)
        whole = (folder.path / "out.txt").read_bytes()
        expect(done.returncode == 0 and len(whole) > 100, "without a fault", done)
        for at in some(len(whole), 12):
            for fault, limit in ((f"write {at}", None), ("", at)):
                folder.prepare()
                done = run(folder.path, *command, fault=fault, limit=limit)
                expect(says(done, 74, "out.txt: writing failed") and (kind == "summary" or not done.stdout) and folder.is_as_before(), f"{kind}, full at byte {at} {fault}", done)
        for at in some(len(whole), 3):
            for number in ENDING:
                folder.prepare()
                done = run(folder.path, *command, fault=f"signal {at} {number.value}")
                expect(done.returncode == -number and folder.is_as_before(), f"{kind}, {number.name} at byte {at}", done)
        for fault, code in (("sync 0", 74), ("rename 0", 73), ("close 0", 74)):
            folder.prepare()
            expect(says(run(folder.path, *command, fault=fault), code, "out.txt") and folder.is_as_before(), f"{kind}, {fault}", done)
        folder.prepare()
        done = run(folder.path, *command, fault="lost 0")
        expect(done.returncode == 0 and (folder.path / "out.txt").read_bytes() == whole and not folder.leftovers(), f"{kind}, a share that loses its answer", done)
        folder.prepare()
        done = run(folder.path, *command, fault=f"signal {len(whole)} {signal.SIGTERM.value}")
        expect(done.returncode == 0 and (folder.path / "out.txt").read_bytes() == whole, "a signal that never comes", done)
    folder = Folder(temporary, "answer", False)
    for json_too in ([], ["--json"]):
        answer = run(folder.path, "check", "d.csv", *ASKED, *json_too).stdout
        for at in some(len(answer), 12):
            done = run(folder.path, "check", "d.csv", *ASKED, *json_too, fault=f"answer {at}")
            expect(says(done, 74, "writing the answer failed") and done.stdout == answer[:at], f"answer, full at byte {at}", done)
    with open("/dev/full", "wb") as full:
        done = run(folder.path, "check", "d.csv", *ASKED, stdout=full)
        done.stdout = b""
        expect(says(done, 74), "/dev/full", done)
    os.symlink("/dev/full", folder.path / "full.txt")
    done = run(folder.path, "check", "d.csv", *ASKED, "--report", "full.txt")
    expect(says(done, 74, "writing failed") and not done.stdout, "a report to /dev/full", done)


def test_read(temporary):
    path = pathlib.Path(temporary)
    inputs = {"d.csv": READINGS, "job.yaml": "schema: sievecloth-job/1\nreadings: d.csv\n", "inline.yaml": "schema: sievecloth-job/1\nreadings: |\n  " + READINGS.replace("\n", "\n  ")}
    for name, text in inputs.items():
        (path / name).write_text(text, encoding="ascii")
    for name, text in inputs.items():
        command = ["check", name, *ASKED, "--json"]
        sound = run(path, *command)
        expect(sound.returncode == 0, f"{name} without a fault", sound)
        size = len(text) + (len(READINGS) if name == "job.yaml" else 0)
        for at in some(size, 20):
            done = run(path, *command, fault=f"read {at}")
            expect(done.returncode == 74 and not done.stdout and json.loads(done.stderr)["errors"][0]["code"] == 510, f"{name}, reading fails at byte {at}", done)
        for piece in (1, 7, 1000):
            done = run(path, *command, fault=f"short {piece}")
            expect((done.returncode, done.stdout) == (0, sound.stdout), f"{name} in pieces of {piece}", done)
    rows = READINGS.count("\n") - 1
    for kind, at in itertools.product(("grow", "shrink"), some(len(READINGS), 15)):
        (path / "moving.csv").write_text(READINGS, encoding="ascii")
        done = run(path, "check", "moving.csv", *ASKED, "--json", fault=f"{kind} {at} moving.csv")
        # Grown: the late row may or may not count. Shrunk: an error, unless everything was read before.
        if done.returncode in (65, 74):
            expect(kind == "shrink" and not done.stdout, f"{kind} at byte {at}", done)
            continue
        counted = sum(side["aperture"]["n"] for side in json.loads(done.stdout)["samples"].values() if "aperture" in side)
        right = counted in (rows, rows + 1) if kind == "grow" else counted == rows
        expect(right and done.returncode in (0, 2), f"{kind} at byte {at}", done)


def test_memory(temporary):
    path = pathlib.Path(temporary)
    (path / "d.csv").write_text(READINGS, encoding="ascii")
    (path / "bad.csv").write_text("direction,aperture_um\nwarp,x\n", encoding="ascii")
    (path / "job.yaml").write_text("schema: sievecloth-job/1\nreadings: d.csv\npiece: {identification: A}\n", encoding="ascii")
    commands = {
        "check": ["check", "d.csv", *ASKED], "json": ["check", "job.yaml", *ASKED, "--json"], "refused": ["check", "bad.csv", *ASKED],
        "report": ["check", "job.yaml", *ASKED, "--report", "out.html"], "pdf": ["check", "job.yaml", *ASKED, "--report", "out.pdf"], "batch": ["check", "d.csv", "job.yaml", *ASKED, "--threads", "2"],
        "size": ["size", "75um"], "usage": ["check", "d.csv"],
    }

    def report_of(command, at):
        """What the command writes as a report in place of out.*; empty where there is none."""
        target = path / f"{at}-{command[-1]}"
        fired = path / f"fired-{at}-{command[-1].replace('/', '')}"
        done = run(path, *command[:-1], str(target) if command[-1].startswith("out.") else command[-1], fault=f"malloc {at}" if at else "", fired=str(fired))
        written = target.read_bytes() if target.exists() else b""
        reached = fired.exists()
        target.unlink(missing_ok=True)
        fired.unlink(missing_ok=True)
        return done, written, reached

    for name, command in commands.items():
        sound, whole, _ = report_of(command, 0)

        def fails_at(at, command=command, sound=sound, name=name, whole=whole):
            done, written, reached = report_of(command, at)
            as_ever = (done.returncode, done.stdout, done.stderr, written) == (sound.returncode, sound.stdout, sound.stderr, whole)
            refused = done.returncode == 70 and not done.stdout and b"memory" in done.stderr and written in (b"", whole)
            # The PDF libraries are not ours, and have their own messages when memory runs out.
            refused = refused or (name == "pdf" and done.returncode == 73 and not done.stdout and b"out.pdf" in done.stderr and not written)
            # A help page may come out shorter: the streams that produce it swallow exceptions.
            shorter_help = name == "usage" and done.returncode == 64 and done.stderr.split(b"\n")[0] == sound.stderr.split(b"\n")[0]
            return reached, f"{name}, allocation {at}", as_ever or (reached and (refused or shorter_help)), done

        count = 1
        while fails_at(count)[0]:
            count *= 2
        low = count // 2
        while low + 1 < count:
            middle = (low + count) // 2
            low, count = (middle, count) if fails_at(middle)[0] else (low, middle)
        in_parallel(lambda at: fails_at(at)[1:], some(count, 25))
        left = {entry.name for entry in path.iterdir()} - {"d.csv", "bad.csv", "job.yaml"}
        expect(not left, f"{name} leaves {left}", sound)
        print(f"{name}: {count} allocations")
    done = run(path, *commands["pdf"], fault="crash 0")
    expect(says(done, 73, "out.pdf: ") and not done.stdout and not (path / "out.pdf").exists(), "what draws a PDF crashes", done)


def judged(data):
    """What the oracle reads out of a file; None where it must be refused."""
    try:
        piece = oracle.read_csv(data)
    except oracle.BadData:
        return None
    return {(direction, quantity): len(values[direction]) for quantity, values in (("aperture", piece.apertures), ("wire", piece.wires)) for direction in oracle.DIRECTIONS if values[direction]}


def damaged(data):
    for size in range(len(data)):
        yield data[:size]
    for bit in range(8 * len(data)):
        yield data[: bit // 8] + bytes([data[bit // 8] ^ 1 << bit % 8]) + data[bit // 8 + 1 :]


def test_damage(_temporary):
    def check(data):
        done = run("/", "check", "-", *ASKED, "--json", input=data)
        expected = judged(data)
        if data.lstrip(b"\xef\xbb\xbf").split(b"\n")[0].find(b":") >= 0:  # treated as a job file
            return f"{data!r}", done.returncode == 65 and not done.stdout, done
        if expected is None:
            return f"{data!r}", done.returncode == 65 and not done.stdout, done
        if done.returncode not in (0, 1, 2):
            return f"{data!r}", False, done
        samples = json.loads(done.stdout)["samples"]
        found = {(direction, quantity): samples[direction][quantity]["n"] for direction in samples for quantity in ("aperture", "wire") if quantity in samples[direction]}
        return f"{data!r}", found == expected, done

    in_parallel(check, list(damaged(SHORT.encode()))[:: 1 if ALL else 3])


def test_many(temporary):
    path = pathlib.Path(temporary)
    (path / "d.csv").write_text(READINGS, encoding="ascii")
    names = [f"{i}.csv" for i in range(10_000)]
    for name in names:
        os.link(path / "d.csv", path / name)
    (path / names[5000]).unlink()
    (path / names[5000]).mkdir()
    done = run(path, "check", *names, *ASKED, "--summary", "out.csv")
    lines = (path / "out.csv").read_text(encoding="utf-8").splitlines()
    right = says(done, 66, "5000.csv: is a directory") and len(lines) == 10_001 and sum(",conforms," in line for line in lines) == 9_999
    expect(right and lines[5001].startswith("5000.csv,error,"), "10,000 files, one of them unreadable", done)


def main():
    with tempfile.TemporaryDirectory() as temporary:
        globals()[f"test_{PART}"](temporary)
    for complaint in complaints[:10]:
        print(complaint)
    print(f"{tried - len(complaints)} passed, {len(complaints)} failed")
    return 1 if complaints or not tried else 0


if __name__ == "__main__":
    sys.exit(main())
