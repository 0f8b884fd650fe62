# golden: the output shown in docs/examples/README.md is what the commands print; the verdicts are also compared with the oracle
"""examples_test.py TOOL [--refresh]: runs the commands of docs/examples/README.md and prints `N passed, N failed`.

--refresh writes what they print into README.md instead, to be read before it is committed.
"""

import json
import os
import pathlib
import re
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parents[2]
README = ROOT / "docs" / "examples" / "README.md"
sys.path.insert(0, str(ROOT / "tests" / "support"))
import oracle  # noqa: E402

MM, UM = oracle.PM_PER_UNIT["mm"], oracle.PM_PER_UNIT["um"]
PASSED, MEASURED = dict(viewing="passed"), dict(measured_only=True, apertures_only=True)

# example -> standard, size, grade, other contents of its job file, verdict, and the criteria not met
EXAMPLES = {
    "good-75um": ("astm-e11-17", "75 um", "inspection", PASSED | dict(resolution=UM // 10), "conforms", []),
    "worn-75um": ("astm-e11-17", "75 um", "inspection", PASSED | dict(resolution=UM // 10), "does-not-conform",
                  ["average-aperture warp", "maximum-aperture warp"]),
    "coarse-16mm": ("iso-3310-1-2016", "16 mm", "inspection", PASSED | dict(frame_diameter=300 * MM, resolution=MM // 100), "conforms", []),
    "roll-5600um": ("astm-e11-17", "5.6 mm", "compliance", PASSED | dict(roll_area=1220 * 15000 * MM * MM, resolution=UM), "conforms", []),
    "gb-t-6003-annex-a-n25": ("iso-3310-1-2016", "2 mm", "inspection", MEASURED, "undecided", []),
    "gb-t-6003-annex-a-n50": ("iso-3310-1-2016", "2 mm", "calibration", MEASURED, "undecided", []),
}


def run(command, tool):
    environment = {"PATH": f"{tool.parent}:/usr/bin:/bin", "LC_ALL": "C.UTF-8"}
    return subprocess.run(["bash", "-c", command], cwd=ROOT, env=environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, timeout=600, check=False)


def replay(block, tool):
    """The block with the output of each of its commands as it is now."""
    commands = [line for line in block.splitlines() if line.startswith("$ ")]
    return "".join(f"{command}\n{run(command[2:], tool).stdout.decode()}" for command in commands)


def check_readme(tool, refresh):
    text = README.read_text(encoding="utf-8")
    now = re.sub(r"(?<=```console\n)(.*?)(?=```\n)", lambda match: replay(match[1], tool), text, flags=re.DOTALL)
    if refresh:
        README.write_text(now, encoding="utf-8")
        return []
    commands = re.findall(r"^\$ ", text, flags=re.MULTILINE)
    result = [] if len(commands) >= 8 else ["README.md shows fewer than eight commands"]
    return result + [f"README.md shows {old!r}, now {new!r}" for old, new in zip(text.splitlines(), now.splitlines()) if old != new][:5]


def check_example(name, tool):
    standard, size, grade, options, verdict, not_met = EXAMPLES[name]
    piece = oracle.read_csv((README.parent / f"{name}.csv").read_bytes())
    assessment = oracle.assess(piece, standard, size, grade, oracle.Options(**options))
    expected = sorted((c["id"], c["direction"] or "", c["outcome"]) for c in assessment["criteria"])
    done = run(f"sievecloth check docs/examples/{name}.yaml --json", tool)
    found = json.loads(done.stdout)
    outcomes = sorted((c["id"], c.get("direction", ""), c["outcome"]) for c in found["criteria"])
    facts = {
        f"the verdict {verdict}": (verdict, verdict) == (found["verdict"], assessment["verdict"]),
        "the exit code of the verdict": done.returncode == oracle.EXIT_CODE[verdict],
        f"not met: {not_met}": [f"{id} {direction}" for id, direction, outcome in outcomes if outcome == "not-met"] == not_met,
        "the oracle's outcomes": outcomes == expected,
        "the oracle's word on provisional": found["provisional"] == assessment["provisional"],
    }
    return [f"{name}: expected {fact}" for fact, holds in facts.items() if not holds]


def main():
    tool = pathlib.Path(sys.argv[1]).resolve()
    refresh = sys.argv[2:] == ["--refresh"]
    results = [check_example(name, tool) for name in EXAMPLES] + [check_readme(tool, refresh)]
    files = {path.stem for path in README.parent.glob("*.yaml")}
    results.append([] if files == set(EXAMPLES) else [f"an example without a check, or the other way round: {sorted(files ^ set(EXAMPLES))}"])
    for line in (line for lines in results for line in lines):
        print(line)
    failed = sum(bool(lines) for lines in results)
    print(f"{len(results) - failed} passed, {failed} failed")
    return 1 if failed or not os.path.exists(tool) else 0


if __name__ == "__main__":
    sys.exit(main())
