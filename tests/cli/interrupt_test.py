#!/usr/bin/env python3
# boundary: signals that end check while it reads or writes, checked by the process status and the contents of its folder
"""interrupt_test.py TOOL CC: prints `N passed, N failed`."""
import array
import fcntl
import os
import pathlib
import signal
import subprocess
import sys
import tempfile
import termios
import time

TOOL, CC = str(pathlib.Path(sys.argv[1]).resolve()), sys.argv[2]
E11 = ["--standard", "astm-e11-17", "--size", "75um", "--grade", "inspection", "--measured-only"]
SIGNALS = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)
HEADER = b"direction,aperture_um\n"
ROWS = b"warp,75.31\nweft,74.90\nwarp,75.32\nweft,74.91\n" * 10_000  # more than a block or a pipe holds
FAILURES, CHECKS = [], 0

for ending in SIGNALS:
    signal.signal(ending, signal.SIG_DFL)  # the parent may have left it ignored, and the tool would inherit that

# Stops in the middle of the first write to a file, and reports it.
HALF_WRITE = """
#include <string.h>
#include <sys/syscall.h>
#include <unistd.h>
ssize_t write(int file, const void* bytes, size_t size) {
  if (file <= 2) return syscall(SYS_write, file, bytes, size);
  syscall(SYS_write, file, bytes, size / 2);
  syscall(SYS_write, 2, "half\\n", 5);
  for (;;) pause();
}
"""


def check(condition, message):
    global CHECKS
    CHECKS += 1
    if not condition:
        FAILURES.append(message)


def start(*arguments, folder, **options):
    return subprocess.Popen([TOOL, "check", *arguments, *E11], cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE, **options)


def wait_until_read(pipe):
    """Until nothing that was written is left in the pipe: its reader has begun, and waits for more."""
    left, deadline = array.array("i", [1]), time.monotonic() + 60
    while left[0] > 0:
        fcntl.ioctl(pipe, termios.FIONREAD, left)
        if time.monotonic() > deadline:
            sys.exit("the tool does not read")
        time.sleep(0.001)


def ended_by(process, number, what):
    process.send_signal(number)
    out, _ = process.communicate(timeout=60)
    check(process.returncode == -number, f"{what}, {number.name}: exit code {process.returncode}")
    check(out == b"", f"{what}, {number.name}: an answer")


def while_reading(folder, number):
    process = start("-", "--report", "r.txt", "--summary", "s.csv", folder=folder, stdin=subprocess.PIPE)
    process.stdin.write(HEADER + ROWS)
    process.stdin.flush()
    wait_until_read(process.stdin)
    ended_by(process, number, "a pipe")
    check(os.listdir(folder) == [], f"a pipe, {number.name}: left {os.listdir(folder)}")


def while_reading_the_second_piece(folder, number):
    (folder / "first.csv").write_bytes(HEADER + ROWS)
    os.mkfifo(folder / "second.csv")
    process = start("first.csv", "second.csv", "--summary", "s.csv", folder=folder)
    with open(folder / "second.csv", "wb", buffering=0) as pipe:
        pipe.write(HEADER)
        wait_until_read(pipe)
        ended_by(process, number, "a batch")
    check(sorted(os.listdir(folder)) == ["first.csv", "second.csv"], f"a batch, {number.name}: left {os.listdir(folder)}")


def while_writing(folder, number, library, option, name):
    (folder / "first.csv").write_bytes(HEADER + ROWS)
    (folder / name).write_text("of before")
    before = sorted(os.listdir(folder))
    process = start("first.csv", option, name, "--overwrite", folder=folder, env={**os.environ, "LD_PRELOAD": library})
    said = process.stderr.readline()
    check(said == b"half\n", f"{name}: {said}")
    new = set(os.listdir(folder)) - set(before)
    check(len(new) <= 1, f"{name}: more than one file beside it")  # none where the system knows files without a name
    ended_by(process, number, name)
    check(sorted(os.listdir(folder)) == before, f"{name}, {number.name}: left {os.listdir(folder)}")
    check((folder / name).read_text() == "of before", f"{name}, {number.name}: what stood there is gone")


def ignored_where_the_caller_wants_it(folder):
    process = start("-", folder=folder, stdin=subprocess.PIPE, preexec_fn=lambda: signal.signal(signal.SIGHUP, signal.SIG_IGN))
    process.stdin.write(HEADER + ROWS)
    process.stdin.flush()
    wait_until_read(process.stdin)
    process.send_signal(signal.SIGHUP)
    out, _ = process.communicate(timeout=60)
    check(process.returncode in (0, 1, 2) and out, f"an ignored signal: exit code {process.returncode}")


def in_new_folder(test, *arguments):
    with tempfile.TemporaryDirectory() as folder:
        test(pathlib.Path(folder), *arguments)


def main():
    with tempfile.TemporaryDirectory() as folder:
        source, library = pathlib.Path(folder, "half_write.c"), str(pathlib.Path(folder, "half_write.so"))
        source.write_text(HALF_WRITE)
        subprocess.run([CC, "-shared", "-fPIC", str(source), "-o", library], check=True)
        for number in SIGNALS:
            in_new_folder(while_reading, number)
            in_new_folder(while_reading_the_second_piece, number)
            for option, name in (("--report", "r.txt"), ("--report", "r.html"), ("--summary", "s.csv")):
                in_new_folder(while_writing, number, library, option, name)
    in_new_folder(ignored_where_the_caller_wants_it)
    for failure in FAILURES:
        print(failure, file=sys.stderr)
    print(f"{CHECKS - len(FAILURES)} passed, {len(FAILURES)} failed")
    sys.exit(1 if FAILURES or CHECKS < 70 else 0)


main()
