#!/usr/bin/env python3
# oracle: a model of files, options and exit codes beside the tool, over random commands; source: docs/cli.md, docs/reports.md, docs/security.md
"""model_test.py TOOL [COMMANDS] [SEED]: runs random commands over a folder of inputs, outputs and links, and after each looks whether
the exit code is the model's, whether the files that the model names were written whole, and whether everything else is as before."""
import collections
import contextlib
import os
import pathlib
import random
import subprocess
import sys
import tempfile

ROOT = pathlib.Path(__file__).resolve().parents[2]
TOOL = str(pathlib.Path(sys.argv[1]).resolve())
COMMANDS = int(sys.argv[2]) if len(sys.argv) > 2 else 300
SEED = int(sys.argv[3]) if len(sys.argv) > 3 else 1
OPTIONS = ["--standard", "astm-e11-17", "--size", "No. 200", "--grade", "inspection", "--viewing", "passed"]
PLAN = ["plan", "--standard", "astm-e11-17", "--size", "75um", "--grade", "inspection", "--frame", "200mm"]
HEAD = "direction,aperture_um,wire_um\n"


def readings(count, shift=0.0):
    return HEAD + "".join(f"{direction},{75 + shift + (i * 7 + j) % 9 / 10},{50 + i % 3 / 10}\n" for j, direction in enumerate(("warp", "weft")) for i in range(count))


def job(number, serial, rest):
    paper = f"report: {{number: \"{number}\"}}\n" if number else ""
    piece = f"piece: {{serial: \"{serial}\"}}\n" if serial else ""
    return f"schema: sievecloth-job/1\nstandard: astm-e11-17\nsize: \"No. 200\"\ngrade: inspection\nviewing: {{result: passed}}\n{piece}{paper}{rest}\n"


INLINE = "readings: |\n" + "".join(f"  {line}\n" for line in readings(100).splitlines())
TEXTS = {
    "a.csv": readings(100), "b.csv": readings(120), "off.csv": readings(100, 9), "few.csv": readings(20), "bad.csv": HEAD + "warp,x,50\n",
    "one.yaml": job("", "", "readings: a.csv"), "two.yaml": job("IR-1", "A", "readings: sub/deep.csv"), "three.yaml": job("IR-1", "B", INLINE),
    "four.yaml": job("IR-2", "A", "readings: a.csv"), "five.yaml": job("IR-2", "", INLINE), "lost.yaml": job("IR-3", "C", "readings: none.csv"),
    "sub/deep.csv": readings(100), "lab.yaml": "schema: sievecloth-laboratory/1\nname: Weir Mesh Laboratory\nwording: de.yaml\n",
    "de.yaml": (ROOT / "lib/report/wording/de.yaml").read_text(encoding="utf-8"), "t.txt": "{{verdict}}\n",
    "table.yaml": (ROOT / "tests/fuzz/corpus/table/house").read_text(encoding="utf-8"), "notes.txt": "notes of somebody else\n", "notes.html": "",
}
# What the tool says of each file, and what identifies its report: number and piece; None: a draft.
RESULTS = {"a.csv": 0, "b.csv": 0, "off.csv": 1, "few.csv": 2, "bad.csv": 65, "none.csv": 66, "one.yaml": 0, "two.yaml": 0, "three.yaml": 0,
           "four.yaml": 0, "five.yaml": 0, "lost.yaml": 66, "soft.csv": 0, "hard.csv": 0}
MARKS = {"two.yaml": ("IR-1", "A"), "three.yaml": ("IR-1", "B"), "four.yaml": ("IR-2", "A"), "five.yaml": ("IR-2", "")}
NUMBERS = {**{file: mark[0] for file, mark in MARKS.items()}, "lost.yaml": "IR-3"}
NAMED_BY = {"one.yaml": "a.csv", "two.yaml": "sub/deep.csv", "four.yaml": "a.csv", "lost.yaml": "none.csv"}
LABORATORY = {"lab.yaml": ["lab.yaml", "de.yaml"]}
REPORTS = ["x.txt", "./x.txt", "sub/../x.txt", "up/x.txt", "y.html", "z.json", "w.md", "{}.txt", "{}.html", "sub/{}.json", "notes.txt", "notes.html", "t.txt",
           "dangling.txt", "new.txt", "soft.txt", "gone/x.txt", "x.doc", "ring.txt", "{}/x.txt"]
SUMMARIES = ["s.csv", "s.txt", "x.txt", "a.csv", "soft.csv", "hard.csv", "sub/deep.csv", "two.yaml", "lab.yaml", "de.yaml", "notes.txt", "up/s.csv", "gone/s.csv", "/dev/null", "sub"]
FOREIGN, DRAFT = "foreign", "draft"


class Folder:
    def __init__(self, path):
        self.path = path
        (path / "sub").mkdir()
        for name, text in TEXTS.items():
            (path / name).write_text(text, encoding="utf-8")
        (path / "soft.csv").symlink_to("a.csv")
        os.link(path / "b.csv", path / "hard.csv")
        (path / "soft.txt").symlink_to("notes.txt")
        (path / "dangling.txt").symlink_to("new.txt")
        (path / "ring.txt").symlink_to("ring.txt")
        (path / "up").symlink_to(".")
        self.marks = {}  # by identity, of what the tool wrote

    def identity(self, name):
        """By file where there is one, else by folder and name; None for what is no regular file."""
        path = os.path.join(self.path, name)
        with contextlib.suppress(OSError):
            status = os.stat(path)
            return (status.st_dev, status.st_ino) if os.path.isfile(path) else None
        real = os.path.realpath(path)
        with contextlib.suppress(OSError):
            status = os.stat(os.path.dirname(real))
            return (status.st_dev, status.st_ino, os.path.basename(real))
        return (real,)

    def exists(self, name):
        return os.path.exists(os.path.join(self.path, name))

    def can_be_written(self, name):
        """A folder that is there, and no ring of links."""
        path = os.path.join(self.path, name)
        if os.path.isdir(path):
            return False
        if os.path.islink(path) and not os.path.exists(path) and os.path.realpath(path) == os.path.abspath(path):
            return False
        return os.path.isdir(os.path.dirname(os.path.realpath(path)))

    def has_lost_an_input(self):
        """To --overwrite, in a command that does not read it: what the tool says of it is not known any more."""
        return any((self.path / name).read_bytes() != text.encode() for name, text in TEXTS.items() if not name.startswith("notes")) or (
            (self.path / "hard.csv").read_bytes() != TEXTS["b.csv"].encode())

    def content(self):
        found = {}
        for folder, _, names in os.walk(self.path):
            for name in names:
                path = os.path.join(folder, name)
                key = os.path.relpath(path, self.path)
                found[key] = os.readlink(path) if os.path.islink(path) else pathlib.Path(path).read_bytes()
        return found


class Command:
    def __init__(self, rng):
        self.rng = rng
        self.overwrite = rng.random() < 0.25
        self.arguments = []
        (self.make_plan if rng.random() < 0.15 else self.make_check)()
        if self.overwrite:
            self.arguments.append("--overwrite")

    def make_plan(self):
        self.kind = "plan"
        self.outputs = [(option, self.rng.choice(SUMMARIES)) for option in ("--csv", "--picture") if self.rng.random() < 0.8]
        self.inputs = ["table.yaml"] if self.rng.random() < 0.3 else []
        self.arguments = [*PLAN, *(word for output in self.outputs for word in output), *(["--tables", *self.inputs] if self.inputs else [])]

    def make_check(self):
        rng, self.kind = self.rng, "check"
        self.files = rng.sample(sorted(RESULTS), rng.choice((1, 1, 1, 2, 3)))
        self.reports = [rng.choice(REPORTS) for _ in range(rng.choice((0, 1, 1, 1, 2, 3)))]
        self.summaries = [rng.choice(SUMMARIES) for _ in range(rng.choice((0, 0, 0, 1, 1, 2)))]
        self.read = [name for name in ("lab.yaml", "de.yaml", "t.txt", "table.yaml") if rng.random() < 0.15]
        self.json = rng.random() < 0.2
        options = {"lab.yaml": "--laboratory", "de.yaml": "--language", "t.txt": "--template", "table.yaml": "--tables"}
        self.arguments = ["check", *self.files, *OPTIONS, *(word for name in self.reports for word in ("--report", name)),
                          *(word for name in self.summaries for word in ("--summary", name)), *(word for name in self.read for word in (options[name], name)),
                          *(["--json"] if self.json else []), *rng.choice(([], ["--threads", "1"], ["--threads", "3"]))]


class Expected:
    """What the model says: the exit code, and the outputs that are written with what they hold."""

    def __init__(self, folder, command):
        self.folder, self.command, self.written = folder, command, {}
        self.code = self.of_plan() if command.kind == "plan" else self.of_check()
    def refuses(self, name, mark, inputs):
        identity = self.folder.identity(name)
        if identity is None:
            return False
        if identity in inputs:
            return True
        if self.command.overwrite or not self.folder.exists(name):
            return False
        now = self.folder.marks.get(identity, FOREIGN)
        return not (mark != FOREIGN and (now == DRAFT or (now == mark and isinstance(mark, tuple) and mark[1])))

    def conflict(self, outputs, inputs):
        seen = set()
        for name, mark in outputs:
            identity = self.folder.identity(name)
            if identity is not None and identity in seen:
                return True
            seen.add(identity)
            if self.refuses(name, mark, inputs):
                return True
        return False

    def write(self, name, mark):
        """Whether it can be; then it is."""
        if not self.folder.can_be_written(name):
            return False
        self.written[name] = mark
        return True

    def of_plan(self):
        outputs = [(name, FOREIGN) for _, name in self.command.outputs]
        if self.conflict(outputs, {self.folder.identity(name) for name in self.command.inputs}):
            return 73
        return 0 if all(self.write(name, mark) for name, mark in outputs) else 73

    def of_check(self):
        c = self.command
        if any(not name.endswith((".txt", ".html", ".json", ".md")) for name in c.reports):
            return 64
        if any(os.path.splitext(name)[1] not in ("", ".csv", ".txt") for name in c.summaries):
            return 64
        if "t.txt" in c.read and not any(name.endswith(".txt") for name in c.reports):
            return 64
        if any(os.path.splitext(name)[1] not in ("", ".csv", ".txt") for name in c.summaries):
            return 64
        inputs = set()
        for name in [*c.files, *(NAMED_BY[name] for name in c.files if name in NAMED_BY), *(more for name in c.read for more in LABORATORY.get(name, [name]))]:
            inputs.add(self.folder.identity(name))
        outputs = {file: [(name.replace("{}", os.path.splitext(file)[0]), self.mark(file, name)) for name in c.reports] for file in c.files}
        if c.reports or c.summaries:
            # A template prints no mark; but what it replaces is judged by the mark of the report that is meant.
            meant = [(name, MARKS.get(file, DRAFT)) for file in c.files for name, _ in outputs[file]]
            if self.conflict(meant + [(name, FOREIGN) for name in c.summaries], inputs):
                return 73
        numbers = [NUMBERS[file] for file in set(c.files) if file in NUMBERS]
        if len(c.files) > 1 and len(set(numbers)) < len(numbers):
            return 65
        codes = []
        for file in c.files:
            code = RESULTS[file]
            if code < 64 and not all(self.write(name, mark) for name, mark in outputs[file]):  # the first that cannot be ends them
                code = 73
            codes.append(code)
        errors = [code for code in codes if code >= 64]
        if len(c.files) == 1 and not c.summaries:
            return codes[0]
        for name in c.summaries:
            if not self.write(name, FOREIGN) and name != "/dev/null":
                errors.append(73)
                break
        return errors[0] if errors else 1 if 1 in codes else 2 if 2 in codes else 0

    def mark(self, file, report):
        return FOREIGN if "t.txt" in self.command.read and report.endswith(".txt") else MARKS.get(file, DRAFT)


def is_whole(name, data):
    """An output of its kind, to its end."""
    text = data.decode()
    if name.endswith(".html"):
        return text.startswith("<!DOCTYPE html>") and text.endswith("</html>\n")
    if name.endswith((".json", ".svg")):
        return text.startswith(("{", "<")) and text.endswith(("}\n", ">\n"))
    return text.endswith("\n")


def same_file(folder, key, names):
    real = os.path.realpath(os.path.join(folder.path, key))
    return any(os.path.realpath(os.path.join(folder.path, name)) == real for name in names)


def run(folder, command, codes):
    before, expected = folder.content(), Expected(folder, command)
    done = subprocess.run([TOOL, *command.arguments], cwd=folder.path, capture_output=True, timeout=120, check=False, stdin=subprocess.DEVNULL)
    faults = []
    codes[done.returncode] += 1
    if done.returncode != expected.code:
        faults.append(f"exit code {done.returncode}, the model says {expected.code}")
    after = folder.content()
    changed = {key for key in before.keys() | after.keys() if before.get(key) != after.get(key)}
    written = {name: mark for name, mark in expected.written.items() if folder.identity(name) is not None}
    faults += [f"{key} was changed" for key in sorted(changed) if not same_file(folder, key, written)]
    for name, mark in written.items():
        path = os.path.join(folder.path, name)
        if not os.path.exists(path):
            faults.append(f"{name} is missing")
            continue
        if not is_whole(os.path.basename(path), pathlib.Path(path).read_bytes()):
            faults.append(f"{name} is not whole")
        folder.marks[folder.identity(name)] = mark
    with contextlib.suppress(ChildProcessError):
        os.waitpid(-1, os.WNOHANG)
        faults.append("a child is left")
    return [f"{' '.join(command.arguments)}: {fault}\n    {done.stderr[:300]!r}" for fault in faults]


def main():
    rng, faults, done, codes = random.Random(SEED), [], 0, collections.Counter()
    while done < COMMANDS and len(faults) < 10:
        with tempfile.TemporaryDirectory() as temporary:
            folder = Folder(pathlib.Path(os.path.realpath(temporary)))
            for _ in range(min(25, COMMANDS - done)):
                command = Command(rng)
                found = run(folder, command, codes)
                faults += found
                done += 1
                if found or folder.has_lost_an_input():
                    break
    print("\n".join(faults))
    print(f"{done} commands, {len(faults)} faults; exit codes {dict(sorted(codes.items()))}")
    seldom = [code for code in (0, 1, 2, 64, 65, 66, 73) if codes[code] < COMMANDS / 100]  # a model that is hardly tried proves nothing
    sys.exit(1 if faults or seldom or done < COMMANDS else 0)


main()
