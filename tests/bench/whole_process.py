#!/usr/bin/env python3
"""Times whole processes side by side, in turn, prints medians and ratios, and at the end the table of docs/performance.md.

    tests/bench/whole_process.py build/sievecloth [--kernels build/tests/sievecloth_bench] [--rows 10000000] [--rounds 9]
                                 [--folder DIR] [--only NAME]...

Files are made from fixed seeds in DIR, where they are not there yet (default: a temporary folder); those for `growth` need 2 GB. Peers
that are not installed are left out and named. Every round runs each command once, so that what else the machine does falls on all of
them alike; compare the ratios, not the times.
"""
import argparse
import json
import math
import os
import random
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

OPTIONS = ["--standard", "astm-e11-17", "--size", "75um", "--grade", "inspection", "--measured-only"]
TABLE = ["| what | beside | asked | measured |", "|---|---|---|---|"]


def row(what, beside, unit, *pairs, more_is_better=False):
    """A row of the table: `pairs` of what is asked, or None, and what was measured, or None. Bold is missed."""
    def shown(limit, value):
        if value is None:
            return "not measured"
        text = f"{value:.2f}" if value < 3 else f"{value:.1f}" if value < 30 else f"{value:.0f}" if value < 1000 else f"{int(float(f'{value:.3g}'))}"
        missed = limit is not None and (value < limit if more_is_better else value > limit)
        return f"**{text}**" if missed else text

    asked = " / ".join("" if limit is None else f"{limit:g}" for limit, _ in pairs).strip(" /")
    TABLE.append(f"| {what} | {beside} | {asked} {unit} | {' / '.join(shown(*pair) for pair in pairs)} |")


def number(rng, mean, deviation, decimals):
    return f"{max(1.0, rng.gauss(mean, deviation)):.{decimals}f}"


def regular_rows(rng, count):
    """Two decimals, the direction left open: it comes in two runs."""
    return ["%s," + number(rng, 75, 3, 2) + "," + number(rng, 50, 1, 2) + "\n" for _ in range(count)]


def mixed_rows(rng):
    """Digits, decimals and direction vary from row to row, and cells are empty."""
    rows = []
    for _ in range(500_000):
        aperture = number(rng, 75 * rng.choice((1, 1, 1, 1.6)), 3, rng.randrange(4))
        wire = number(rng, 50 * rng.choice((1, 1, 1, 2.1)), 1, rng.randrange(4))
        empty = rng.random()
        if empty < 0.1:
            aperture = ""
        elif empty < 0.3:
            wire = ""
        rows.append(f"{rng.choice(('warp', 'weft'))},{aperture},{wire}\n")
    return rows


# Additional columns: the header, and a row's cells by its number.
FIELD = "field", lambda row: f"F{row // 20 % 900}"
GAP = "gap", lambda row: f"{row // 1000 % 5000}"
POSITION = "x_mm,y_mm", lambda row: f"{row % 1000 * 0.125:.3f},{row // 1000 * 0.125:.3f}"


def repeat(out, rows, first, count, more):
    """`rows` again and again, each as a number of the file's rows, with its further cells."""
    for begin in range(first, first + count, len(rows)):
        part = rows[:first + count - begin]
        if more:
            part = [f"{row[:-1]},{more[1](begin + i)}\n" for i, row in enumerate(part)]
        out.write("".join(part))


def begin_file(path, more):
    out = open(path, "w", encoding="ascii")
    out.write(",".join(["direction,aperture_um,wire_um"] + ([more[0]] if more else [])) + "\n")
    return out


def make_regular(path, count, seed=5, more=None):
    if path.exists():
        return
    rows = regular_rows(random.Random(seed), min(count, 200_000))
    warp = count - count // 2
    with begin_file(path, more) as out:
        repeat(out, [row % "warp" for row in rows], 0, warp, more)
        repeat(out, [row % "weft" for row in rows], warp, count - warp, more)


def make_mixed(path, count, seed=6, more=None):
    if path.exists():
        return
    with begin_file(path, more) as out:
        repeat(out, mixed_rows(random.Random(seed)), 0, count, more)


def make_pieces(folder, count, job):
    """Pieces of 200 readings, as CSV or each with a job file."""
    folder.mkdir(exist_ok=True)
    rng = random.Random(7)
    names = []
    for i in range(count):
        make_regular(folder / f"{i}.csv", 200, rng.random())
        names.append(f"{i}.csv")
        if not job:
            continue
        text = ('schema: "sievecloth-job/1"\nstandard: "astm-e11-17"\nsize: "75um"\ngrade: "inspection"\nmeasured_only: true\n'
                f'piece:\n  serial: "{i}"\nreadings: "{i}.csv"\n')
        (folder / f"{i}.yaml").write_text(text, encoding="ascii")
        names[-1] = f"{i}.yaml"
    return names


def peers(path):
    """Programs that are not made for this, each reading all columns."""
    table = f'x <- data.table::fread("{path}", nThread = 2, showProgress = FALSE)'
    frame = f'import pandas; pandas.read_csv("{path}")'
    awk = "BEGIN{FS=\",\"} NR>1{n[$1]++; s[$1]+=$2; q[$1]+=$2*$2} END{for (d in n) print d, n[d], s[d]/n[d]}"
    return {
        "cat": ["cat", path],
        "wc -l": ["wc", "-l", path],
        "R fread, 2 threads": ["Rscript", "-e", table],
        "pandas": ["/usr/bin/python3", "-c", frame],
        "awk": ["awk", awk, path],
    }


def installed(command):
    if shutil.which(command[0]) is None:
        return False
    probe = {"Rscript": ["Rscript", "-e", "library(data.table)"], "/usr/bin/python3": ["/usr/bin/python3", "-c", "import pandas"]}
    if command[0] not in probe:
        return True
    return subprocess.run(probe[command[0]], capture_output=True, check=False).returncode == 0


def once(command, folder=None):
    """Seconds that the process took."""
    actions = [(os.POSIX_SPAWN_OPEN, descriptor, os.devnull, os.O_WRONLY, 0) for descriptor in (1, 2)]
    program = shutil.which(command[0])
    home = os.getcwd()
    os.chdir(folder or home)
    begin = time.perf_counter()
    process = os.posix_spawn(program, command, os.environ, file_actions=actions)
    _, status = os.waitpid(process, 0)
    seconds = time.perf_counter() - begin
    os.chdir(home)
    if os.waitstatus_to_exitcode(status) not in (0, 1, 2):
        sys.exit(f"failed: {command[:8]}")
    return seconds


def peak_memory(command, folder=None, piped=None):
    """MiB, as GNU time sees it: a process that Python starts would begin with the memory of Python."""
    if shutil.which("time") is None:
        return float("nan")
    source = subprocess.Popen(["cat", piped], stdout=subprocess.PIPE).stdout if piped else subprocess.DEVNULL
    run = subprocess.run(["time", "-f", "%M", *command], stdin=source, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, cwd=folder,
                         check=False)
    return int(run.stderr.split()[-1]) / 1024


def instructions(command):
    """That callgrind counts; None where it is not installed."""
    if shutil.which("valgrind") is None:
        return None
    run = subprocess.run(["valgrind", "--tool=callgrind", "--callgrind-out-file=/dev/null", *command], stdout=subprocess.DEVNULL,
                         stderr=subprocess.PIPE, text=True, check=False)
    return int(run.stderr.split("Collected : ")[1].split()[0])


def compare(title, commands, rounds, base, folder=None):
    """Result: for each command the median of its ratios to `base` and of its seconds, and its MiB."""
    missing = [name for name, command in commands.items() if not installed(command)]
    times = {name: [] for name in commands if name not in missing}
    memory = {name: peak_memory(commands[name], folder) for name in times}  # also warms the cache
    for _ in range(rounds):
        for name in times:
            times[name].append(once(commands[name], folder))
    print(f"\n{title}: {rounds} rounds in turn; ratio to `{base}`, the median of the rounds")
    ratios = {name: statistics.median(a / b for a, b in zip(seconds, times[base])) for name, seconds in times.items()}
    for name, seconds in times.items():
        print(f"  {name:24} {statistics.median(seconds) * 1e3:10.2f} ms  {ratios[name]:8.2f} x  least {min(seconds) * 1e3:9.2f} ms  "
              f"{memory[name]:7.1f} MiB")
    for name in missing:
        print(f"  {name:24} not installed")
    return ratios, {name: statistics.median(seconds) for name, seconds in times.items()}, memory


def check(tool, path, threads):
    return [tool, "check", str(path), *OPTIONS, "--threads", str(threads)]


def measure_files(tool, folder, rows, rounds, only):
    for name, make, more, asked in (("regular", make_regular, FIELD, 6), ("mixed", make_mixed, FIELD, 10),
                                    ("positions", make_regular, POSITION, 12)):
        if only and name not in only:
            continue
        path = folder / f"{name}-{rows}-{more[0]}.csv"
        make(path, rows, more=more)
        two, one = "check, 2 threads", "check, 1 thread"
        commands = {"cat": ["cat", str(path)], two: check(tool, path, 2), one: check(tool, path, 1)} | peers(str(path))
        ratios, _, memory = compare(f"{name}, {rows} rows, {path.stat().st_size / 1e6:.0f} MB", commands, rounds, "cat")
        row(f"{name} rows, 2 threads / 1 thread", "`cat`", "times", (asked, ratios[two]), (None, ratios[one]))
        faster = [(10, ratios[peer] / ratios[two] if peer in ratios else None) for peer in ("R fread, 2 threads", "pandas")]
        row(f"{name} rows, faster than", "R fread / pandas", "times", *faster, more_is_better=True)
        if name in ("regular", "positions"):
            piped = peak_memory(check(tool, "-", 2), piped=path)
            row(f"{name} rows, peak memory, file / pipe", "", "MiB", (16, memory[two]), (16, piped))


def measure_how_sure(tool, folder, rows, rounds):
    """What stands beside the verdict, and a PDF of it."""
    for name, more in (("fields", FIELD), ("gaps", GAP), ("positions", POSITION)):
        path = folder / f"regular-{rows}-{more[0]}.csv" if name != "positions" else folder / f"positions-{rows}-{more[0]}.csv"
        make_regular(path, rows, more=more)
        sure = [*check(tool, path, 2), "--how-sure"]
        commands = {"cat": ["cat", str(path)], "how sure": sure, "PDF": [*sure, "--report", str(folder / "x.pdf"), "--overwrite"]}
        ratios, times, memory = compare(f"--how-sure with {name}, {rows} rows", commands, rounds, "cat")
        row(f"`--how-sure` with {name}, 2 threads / MiB", "`cat`", "times", (20, ratios["how sure"]), (64, memory["how sure"]))
        row(f"a PDF beyond `--how-sure` with {name}", "", "ms", (150, 1e3 * (times["PDF"] - times["how sure"])))
    path = folder / "start.csv"
    make_regular(path, 200)
    sure = [*check(tool, path, 2), "--how-sure"]
    commands = {"/bin/true": ["/bin/true"], "how sure": sure, "HTML": [*sure, "--report", str(folder / "x.html"), "--overwrite"]}
    ratios, _, _ = compare("200 rows, --how-sure", commands, rounds * 30, "/bin/true")
    row("200 rows, `--how-sure` / with a report in HTML", "`/bin/true`", "times", (None, ratios["how sure"]), (6, ratios["HTML"]))


def measure_instructions(tool, folder):
    counts = []
    for name, make in (("regular", make_regular), ("mixed", make_mixed)):
        both = []
        for rows in (100_000, 600_000):
            path = folder / f"{name}-{rows}.csv"
            make(path, rows)
            both.append(instructions(check(tool, path, 1)))
        counts.append((None, None if None in both else (both[1] - both[0]) / 500_000))
    row("instructions a row, regular / mixed", "", "", *counts)


def measure_start(tool, folder, rounds):
    path = folder / "start.csv"
    make_regular(path, 200)
    commands = {"/bin/true": ["/bin/true"], "check": check(tool, path, 2), "awk": peers(str(path))["awk"]}
    ratios, _, _ = compare("start: 200 rows", commands, rounds * 60, "/bin/true")
    row("200 rows", "`/bin/true`", "times", (2.2, ratios["check"]))


def measure_growth(tool, folder, rounds):
    """How the time grows with the rows: the slope of its logarithm over theirs, what the start takes left out."""
    start = folder / "regular-1.csv"
    make_regular(start, 1)
    points = []
    print("\ngrowth, 2 threads; beyond a start with one row, the median of the rounds")
    for rows in (1_000, 10_000, 100_000, 1_000_000, 10_000_000, 100_000_000):
        path = folder / f"regular-{rows}.csv"
        make_regular(path, rows)
        repeats = rounds * 40 if rows <= 10_000 else rounds if rows < 10**8 else 3
        beyond = statistics.median(once(check(tool, path, 2)) - once(check(tool, start, 2)) for _ in range(repeats))
        print(f"  {rows:11} rows {beyond * 1e3:10.2f} ms  {beyond / rows * 1e9:7.2f} ns a row")
        points.append((math.log(rows), math.log(max(beyond, 1e-6))))  # a microsecond is the smallest difference resolved
    row("exponent of the growth, 1e3 to 1e8 rows / the last tenfold", "start left out", "",
        *((None, statistics.linear_regression(*zip(*part)).slope) for part in (points, points[-2:])))


def measure_pieces(tool, folder, rounds, count=10_000):
    for job, what, asked in ((False, "pieces of 200 readings, CSV", 30_000), (True, "pieces of 200 readings, a job file each", 5_000)):
        pieces = folder / ("jobs" if job else "pieces")
        names = make_pieces(pieces, count, job)
        command = [tool, "check", *names, *([] if job else OPTIONS)]
        times = compare(f"{count} {what}", {"check": command}, rounds, "check", pieces)
        row(what, "", "a second", (asked, count / times[1]["check"]), more_is_better=True)


def measure_kernels(program):
    """The inner loops in memory, beside nothing but reading it."""
    run = subprocess.run([program, "--benchmark_filter=^(read_|add_um|add_quanta)", "--benchmark_enable_random_interleaving=true",
                          "--benchmark_repetitions=9", "--benchmark_min_time=0.05", "--benchmark_format=json"],
                         stdout=subprocess.PIPE, check=True)
    medians = {entry["run_name"]: entry["cpu_time"] for entry in json.loads(run.stdout)["benchmarks"] if entry.get("aggregate_name") == "median"}
    row("doubles in memory", "read limit", "times", (2, medians["add_um"] / medians["read_doubles"]))
    row("int32 quanta in memory", "read limit", "times", (2, medians["add_quanta"] / medians["read_int32"]))


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("tool")
    parser.add_argument("--kernels")
    parser.add_argument("--rows", type=int, default=10_000_000)
    parser.add_argument("--rounds", type=int, default=9)
    parser.add_argument("--folder", type=Path)
    parser.add_argument("--only", action="append", choices=["regular", "mixed", "positions", "how-sure", "instructions", "start", "growth", "pieces", "kernels"])
    arguments = parser.parse_args()
    tool = str(Path(arguments.tool).resolve())
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    with tempfile.TemporaryDirectory() as temporary:
        folder = arguments.folder or Path(temporary)
        folder.mkdir(exist_ok=True)
        wanted = arguments.only
        if not wanted or {"regular", "mixed", "positions"} & set(wanted):
            measure_files(tool, folder, arguments.rows, arguments.rounds, wanted)
        if not wanted or "how-sure" in wanted:
            measure_how_sure(tool, folder, arguments.rows, arguments.rounds)
        if not wanted or "start" in wanted:
            measure_start(tool, folder, arguments.rounds)
        if arguments.kernels and (not wanted or "kernels" in wanted):
            measure_kernels(str(Path(arguments.kernels).resolve()))
        if not wanted or "pieces" in wanted:
            measure_pieces(tool, folder, arguments.rounds)
        if not wanted or "growth" in wanted:
            measure_growth(tool, folder, arguments.rounds)
        if not wanted or "instructions" in wanted:
            measure_instructions(tool, folder)
    print("\n" + "\n".join(TABLE))


if __name__ == "__main__":
    main()
