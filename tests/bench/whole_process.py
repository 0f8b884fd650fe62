#!/usr/bin/env python3
"""Times whole processes side by side, in turn, and prints medians and ratios.

    tests/bench/whole_process.py build/sievecloth [--rows 10000000] [--rounds 9] [--folder DIR] [--only NAME]...

Files are made from fixed seeds in DIR (default: a temporary folder). Peers that are not installed are left out and named. Every round
runs each command once, so that what else the machine does falls on all of them alike; compare the ratios, not the times.
"""
import argparse
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


def repeat(out, rows, count):
    while count > 0:
        out.write("".join(rows[:count]))
        count -= len(rows)


def make_regular(path, count, seed=5):
    rows = regular_rows(random.Random(seed), min(count, 200_000))
    with open(path, "w", encoding="ascii") as out:
        out.write("direction,aperture_um,wire_um\n")
        for direction, share in (("warp", count - count // 2), ("weft", count // 2)):
            repeat(out, [row % direction for row in rows], share)


def make_mixed(path, count, seed=6):
    with open(path, "w", encoding="ascii") as out:
        out.write("direction,aperture_um,wire_um\n")
        repeat(out, mixed_rows(random.Random(seed)), count)


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


def peak_memory(command, folder=None):
    """MiB, as GNU time sees it: a process that Python starts would begin with the memory of Python."""
    if shutil.which("time") is None:
        return float("nan")
    run = subprocess.run(["time", "-f", "%M", *command], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, cwd=folder, check=False)
    return int(run.stderr.split()[-1]) / 1024


def compare(title, commands, rounds, base, folder=None):
    missing = [name for name, command in commands.items() if not installed(command)]
    times = {name: [] for name in commands if name not in missing}
    memory = {name: peak_memory(commands[name], folder) for name in times}  # which warms the cache
    for _ in range(rounds):
        for name in times:
            times[name].append(once(commands[name], folder))
    print(f"\n{title}: {rounds} rounds in turn; ratio to `{base}`, the median of the rounds")
    for name, seconds in times.items():
        ratio = statistics.median(a / b for a, b in zip(seconds, times[base]))
        print(f"  {name:24} {statistics.median(seconds) * 1e3:10.2f} ms  {ratio:8.2f} x  least {min(seconds) * 1e3:9.2f} ms  {memory[name]:7.1f} MiB")
    for name in missing:
        print(f"  {name:24} not installed")
    return {name: min(seconds) for name, seconds in times.items()}


def check(tool, path, threads):
    return [tool, "check", str(path), *OPTIONS, "--threads", str(threads)]


def measure_files(tool, folder, rows, rounds, only):
    for name, make in (("regular", make_regular), ("mixed", make_mixed)):
        if only and name not in only:
            continue
        path = folder / f"{name}-{rows}.csv"
        if not path.exists():
            make(path, rows)
        commands = {"cat": ["cat", str(path)], "check, 2 threads": check(tool, path, 2), "check, 1 thread": check(tool, path, 1)}
        commands |= peers(str(path))
        compare(f"{name}, {rows} rows, {path.stat().st_size / 1e6:.0f} MB", commands, rounds, "cat")


def measure_start(tool, folder, rounds):
    path = folder / "start.csv"
    make_regular(path, 200)
    commands = {"/bin/true": ["/bin/true"], "check of 200 rows": check(tool, path, 2), "awk": peers(str(path))["awk"]}
    compare("start", commands, rounds * 40, "/bin/true")


def measure_growth(tool, folder, rounds):
    """How the time grows with the rows: the exponent between neighbours, what the start takes left out."""
    seconds = {}
    for rows in (1_000, 10_000, 100_000, 1_000_000, 10_000_000, 100_000_000):
        path = folder / f"growth-{rows}.csv"
        make_regular(path, rows)
        seconds[rows] = min(once(check(tool, path, 2)) for _ in range(rounds if rows < 10**8 else 3))
        path.unlink()
    start = seconds[1_000]
    print("\ngrowth, 2 threads; ns a row beyond the start, least of the rounds")
    for rows, time_taken in list(seconds.items())[1:]:
        print(f"  {rows:11} rows {time_taken * 1e3:10.2f} ms  {(time_taken - start) / rows * 1e9:7.2f} ns a row")


def measure_pieces(tool, folder, rounds, count=10_000):
    for job in (False, True):
        pieces = folder / ("jobs" if job else "pieces")
        names = make_pieces(pieces, count, job)
        command = [tool, "check", *names, *([] if job else OPTIONS)]
        seconds = compare(f"{count} pieces of 200 rows" + (", each with a job file" if job else ""), {"check": command}, rounds, "check", pieces)
        print(f"  {count / seconds['check']:.0f} pieces a second at best")


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("tool")
    parser.add_argument("--rows", type=int, default=10_000_000)
    parser.add_argument("--rounds", type=int, default=9)
    parser.add_argument("--folder", type=Path)
    parser.add_argument("--only", action="append", choices=["regular", "mixed", "start", "growth", "pieces"])
    arguments = parser.parse_args()
    tool = str(Path(arguments.tool).resolve())
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    with tempfile.TemporaryDirectory() as temporary:
        folder = arguments.folder or Path(temporary)
        folder.mkdir(exist_ok=True)
        wanted = arguments.only
        if not wanted or {"regular", "mixed"} & set(wanted):
            measure_files(tool, folder, arguments.rows, arguments.rounds, wanted)
        if not wanted or "start" in wanted:
            measure_start(tool, folder, arguments.rounds)
        if not wanted or "growth" in wanted:
            measure_growth(tool, folder, arguments.rounds)
        if not wanted or "pieces" in wanted:
            measure_pieces(tool, folder, arguments.rounds)


if __name__ == "__main__":
    main()
