# boundary: stdout, stderr and exit code of every command in cases.py, against docs/cli.md and docs/errors.md
"""cli_test.py TOOL [--only NAME]: runs the cases and prints `N passed, N failed`.

What is compared, for every case:
- exit code below 64: stdout holds the words in their order, stderr is empty (or holds the words of `err`);
- exit code from 64: stdout is empty, stderr holds the words; with `at` it is exactly one line `FILE:LINE:COLUMN: ...` per complaint;
- a case with `at` runs a second time with --json: the same exit code, an empty stdout, and the same places in JSON on stderr.
"""

import argparse
import concurrent.futures
import json
import os
import pathlib
import re
import subprocess
import sys
import tempfile
from dataclasses import dataclass, field

LEAST_CASES = 110
NOBODY = 65534


@dataclass
class Case:
    name: str
    args: list
    code: int
    out: tuple = ()  # words of stdout, in this order
    err: tuple = ()  # words of stderr, in any order
    at: list = None  # (file, line, column, word...) of every complaint; None: any line or column
    json: dict = None  # a subset of the document on stdout
    files: dict = field(default_factory=dict)
    stdin: bytes = b""
    setting: str = ""  # closed-stdout, full-stdout, closed-stdin, nobody
    without: tuple = ()  # words that stdout must not contain


def write_files(folder, files):
    for name, content in files.items():
        path = folder / name
        if content is None:
            path.mkdir()
        else:
            path.write_bytes(content.encode() if isinstance(content, str) else content)


def execute(tool, case, args, folder):
    """The finished process, with stdout as bytes (empty where it was closed or full)."""
    options = dict(cwd=folder, stderr=subprocess.PIPE, timeout=600, check=False, env={"PATH": "/usr/bin:/bin"})
    if case.setting == "closed-stdin":
        return subprocess.run(["sh", "-c", 'exec "$0" "$@" <&-', tool, *args], stdout=subprocess.PIPE, **options)
    if case.setting == "full-stdout":
        with open("/dev/full", "wb") as full:
            return subprocess.run([tool, *args], input=case.stdin, stdout=full, **options)
    if case.setting == "closed-stdout":
        reader, writer = os.pipe()
        os.close(reader)
        try:
            return subprocess.run([tool, *args], input=case.stdin, stdout=writer, **options)
        finally:
            os.close(writer)
    if case.setting == "nobody":
        for name in case.files:
            (folder / name).chmod(0)
        if os.getuid() == 0:  # root can read anything
            options |= dict(user=NOBODY, group=NOBODY, extra_groups=[])
            # In a separate process: one started meanwhile by another thread would hold the copy open for writing, and it could not run.
            subprocess.run(["cp", tool, folder / "tool-of-nobody"], check=True)
            tool = folder / "tool-of-nobody"
            os.chmod(tool, 0o755)
    return subprocess.run([tool, *args], input=case.stdin, stdout=subprocess.PIPE, **options)


def subset(expected, found, path="json"):
    """Complaints where `found` lacks what `expected` names."""
    if isinstance(expected, dict) and isinstance(found, dict):
        return [c for key in expected for c in (subset(expected[key], found[key], f"{path}.{key}") if key in found else [f"{path}.{key} is missing"])]
    return [] if expected == found else [f"{path}: expected {expected!r}, found {found!r}"]


def in_order(words, text):
    """The first word that does not follow the ones before it, or None."""
    start = 0
    for word in words:
        start = text.find(word, start)
        if start < 0:
            return word
        start += len(word)
    return None


def check_places(at, text):
    lines = text.splitlines()
    if len(lines) != len(at):
        return [f"expected {len(at)} complaints, found {len(lines)}: {text[:400]!r}"]
    result = []
    for (file, line, column, *words), found in zip(at, lines):
        place = ":".join(r"\d+" if part is None else re.escape(str(part)) for part in (file, line, column))
        if not re.match(place + ": ", found):
            result.append(f"expected a complaint at {file}:{line}:{column}, found {found[:200]!r}")
        result += [f"expected {word!r} in {found[:200]!r}" for word in words if word not in found]
    return result


def check_json_places(at, done, code):
    """The second run: with --json the same complaints are one JSON document on stderr."""
    if done.returncode != code or done.stdout:
        return [f"--json: exit code {done.returncode}, stdout {done.stdout[:100]!r}"]
    try:
        errors = json.loads(done.stderr)["errors"]
    except (ValueError, KeyError) as error:
        return [f"--json: stderr is no document with errors ({error}): {done.stderr[:200]!r}"]
    result = [] if len(errors) == len(at) else [f"--json: expected {len(at)} errors, found {len(errors)}"]
    for (file, line, column, *_), found in zip(at, errors):
        for key, value in (("file", file), ("line", line), ("column", column)):
            if value is not None and found.get(key) != value:
                result.append(f"--json: expected {key} {value!r}, found {found.get(key)!r} in {found}")
    return result


def check(case, done):
    out, err = (done.stdout or b"").decode("utf-8", "replace"), done.stderr.decode("utf-8", "replace")
    result = [] if done.returncode == case.code else [f"expected exit code {case.code}, found {done.returncode}: {err[:300]!r}"]
    if case.code >= 64 and out:
        result.append(f"expected an empty stdout, found {out[:200]!r}")
    missing = in_order(case.out, out)
    if missing is not None:
        result.append(f"expected {missing!r} in its order in stdout {out[:1500]!r}")
    result += [f"did not expect {word!r} in stdout" for word in case.without if word in out]
    result += [f"expected {word!r} in stderr {err[:600]!r}" for word in case.err if word not in err]
    if case.code < 64 and not case.err and err:
        result.append(f"expected an empty stderr, found {err[:300]!r}")
    if case.code >= 64 and not err:
        result.append("expected words on stderr")
    if case.at is not None:
        result += check_places(case.at, err)
    if case.json is not None:
        try:
            result += subset(case.json, json.loads(out))
        except ValueError as error:
            result.append(f"stdout is no JSON: {error}")
    return result


def run(tool, case):
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        folder.chmod(0o755)
        write_files(folder, case.files)
        result = check(case, execute(tool, case, case.args, folder))
        if case.at is not None and "--json" not in case.args:
            result += check_json_places(case.at, execute(tool, case, [*case.args, "--json"], folder), case.code)
        return result


def main():
    import cases  # next to this file

    parser = argparse.ArgumentParser()
    parser.add_argument("tool", type=pathlib.Path)
    parser.add_argument("--only")
    args = parser.parse_args()
    chosen = [case for case in cases.CASES if args.only in (None, case.name)]
    names = [case.name for case in chosen]
    assert len(set(names)) == len(names), "two cases have the same name"
    with concurrent.futures.ThreadPoolExecutor(os.cpu_count() or 2) as pool:
        results = list(pool.map(lambda case: run(str(args.tool.resolve()), case), chosen))
    failed = [(case, lines) for case, lines in zip(chosen, results) if lines]
    for case, lines in failed:
        print(f"{case.name}: sievecloth {' '.join(case.args)}")
        for line in lines:
            print(f"    {line}")
    print(f"{len(chosen) - len(failed)} passed, {len(failed)} failed")
    if args.only is None and len(chosen) < LEAST_CASES:
        print(f"fewer than {LEAST_CASES} cases")
        return 1
    return 1 if failed else 0


if __name__ == "__main__":
    sys.modules["cli_test"] = sys.modules["__main__"]  # cases.py takes Case from here
    sys.exit(main())
