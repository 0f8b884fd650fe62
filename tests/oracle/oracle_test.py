# oracle: tests/support/oracle.py and the tool judge the same random samples (fixed seed), and every field must agree
"""oracle_test.py TOOL [--cases N] [--case I]: compares `TOOL check ... --json` with the oracle and prints `N passed, N failed`."""

import argparse
import collections
import concurrent.futures
import functools
import json
import math
import os
import pathlib
import random
import subprocess
import sys
import tempfile
from dataclasses import dataclass, field, replace
from decimal import Decimal

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "support"))
import oracle  # noqa: E402

SEED = "sievecloth 1"
UM, MM, INCH = oracle.PM_PER_UNIT["um"], oracle.PM_PER_UNIT["mm"], oracle.PM_PER_UNIT["in"]
BAD_CELLS = ("NaN", "inf", "0", "0.000", "-75", "1e5", "75.31.2", "75.12345678901234", "+75", ".", "5.", "7 5", "0x4B", "nil", "1'000", "100000000000000000000")


@dataclass
class Reading:
    direction: str
    aperture: int = None
    wire: int = None
    suspect: bool = False
    name: str = ""  # of a suspect
    position: tuple = None


@dataclass
class Case:
    """One run of the tool: what is asked, the readings, and how they are written down."""

    number: int
    standard: str
    row: oracle.Row
    grade: str
    options: oracle.Options
    readings: list = field(default_factory=list)
    good: bool = False  # readings that mostly conform
    gaps: int = 0  # so many are numbered
    job: bool = False
    inline: bool = False
    frame: str = None
    roll: tuple = None
    separator: str = ","
    mark: str = "."
    units: tuple = ("um", "um")  # of apertures and wires
    unit_option: str = None
    bom: bool = False
    line_end: str = "\n"
    zeros: int = 0
    bad_cell: str = None
    capitals: bool = False  # words in the file
    unfinished: bool = False  # its last line has no line end
    last_line: bool = False  # and the tool is told so


# ------------------------------------------------------------------------------------------------------------ generator


def around(rng, value):
    return value + rng.choice((-1, 0, 0, 1))


def spread_out(rng, center, s, n):
    """Bell-shaped around `center`."""
    return [max(1, center + round((sum(rng.random() for _ in range(12)) - 6) * s)) for _ in range(n)]


def average_on_limit(rng, row, n):
    limit = row.nominal + rng.choice((-1, 1)) * row.average.value
    values = []
    for _ in range(n // 2):
        d = rng.randrange(row.average.value)
        values += [limit - d, limit + d]
    values += [limit] * (n - len(values))
    values[0] += rng.choice((-1, 0, 0, 1))
    return values


def maximum_on_limit(rng, row, n):
    values = spread_out(rng, row.nominal, row.average.value, n)
    values[rng.randrange(n)] = around(rng, row.nominal + row.maximum.value)
    return values


def spread_limits(case, n):
    limit = case.row.spread.get(case.grade)
    if limit is None:
        return [case.row.average.value * 2]
    if not oracle.edition(case.standard).k_band:
        return [limit.value]
    return [limit.value, oracle.careful_spread_limit(limit.value, n, 1350 if case.grade == "calibration" else 5000)]


def spread_on_limit(rng, case, n):
    """An odd number with deviations -L, 0 and +L has s = L exactly; the one in the middle tips the scale."""
    limit = rng.choice(spread_limits(case, max(3, n | 1))) + rng.choice((-1, 0, 0, 0, 1))
    values = [case.row.nominal - limit] * (n // 2) + [case.row.nominal + limit] * (n // 2) + [case.row.nominal]
    if rng.random() < 0.3:
        values[-1] += rng.choice((1, 1000, 10**6))
    return [max(1, value) for value in values]


def share_on_limit(rng, case, n):
    limit = case.row.intermediate.value
    percent = oracle.edition(case.standard).share_percent
    above = max(0, percent * n // 100 + rng.choice((0, 0, 1)))
    values = [case.row.nominal - rng.randrange(case.row.average.value) for _ in range(n)]
    for i in range(min(n, above)):
        values[i] = limit + rng.choice((1, 1, 10**6))
    for i in range(above, min(n, above + 2)):
        values[i] = limit
    return values


def coarse(rng, row, n):
    step = max(UM, row.average.value // 4) * rng.choice((1, 1, 2)) + rng.choice((0, 0, 1))
    near = row.nominal // step
    values = [(near + rng.choice((-1, 0, 1))) * step for _ in range(n)]
    if rng.random() < 0.4:
        values[0] = (row.nominal + row.maximum.value) // step * step + step * rng.choice((0, 1, 2))
    return [max(1, value) for value in values]


def apertures(rng, case, n):
    row = case.row
    modes = ["bell", "bell", "average", "maximum", "spread", "equal"]
    if row.intermediate:
        modes += ["share", "share"]
    modes += ["coarse"] * (2 if oracle.edition(case.standard).resolution else 1)
    mode = rng.choice(["bell"] * 12 + modes if case.good else modes)
    if n == 0:
        return []
    if mode == "average":
        return average_on_limit(rng, row, n)
    if mode == "maximum":
        return maximum_on_limit(rng, row, n)
    if mode == "spread":
        return spread_on_limit(rng, case, n)
    if mode == "share":
        return share_on_limit(rng, case, n)
    if mode == "coarse":
        return coarse(rng, row, n)
    if mode == "equal":
        return [around(rng, row.nominal + row.average.value)] * n
    limits = spread_limits(case, max(n, 2))
    off, wide = (0.8, 0.4) if case.good else (1.05, 1.05)
    center = row.nominal + round(row.average.value * rng.uniform(-off, off))
    values = spread_out(rng, center, min(limits) * rng.uniform(0.2, wide), n)
    grain = rng.choice((1, 1000, 10**5, 10**5, 10**6))
    return [max(grain, value // grain * grain) for value in values]


def wires(rng, case):
    row, n = case.row, rng.choice((10, 11, 20) if case.good else (0, 1, 9, 10, 10, 10, 11, 20))
    middle = (row.wire_minimum.value + row.wire_maximum.value) // 2
    if case.good and rng.random() < 0.8:
        return spread_out(rng, middle, middle // 100, n)
    center = rng.choice((row.wire_minimum.value, row.wire_maximum.value, middle))
    if rng.random() < 0.5 or n == 0:
        return [around(rng, center)] * n
    return spread_out(rng, center, center // 30, n)


def aperture_count(rng, case):
    required = oracle.required_count(case.row, oracle.edition(case.standard), case.grade, case.options)
    whole = case.options.apertures_in_piece
    if whole:
        return whole if case.good else rng.choice((whole, whole, whole, max(0, whole - 1)))
    enough = 60 if required is None or required.value == oracle.ALL else required.value
    if enough > 1500 and rng.random() < 0.8:
        enough = 100
    if case.good and enough <= 1500:
        return enough + rng.choice((0, 0, 1, 5))
    return rng.choice((enough, enough, enough, enough, enough + rng.randrange(1, 12), max(0, enough - 1), 0, 1, 2, 9, 16, 17, 19, 20))


def add_job(rng, case):
    case.job, case.inline = True, rng.random() < 0.4
    options = case.options
    kind = rng.choice(("plain", "frame", "roll", "all", "resolution"))
    if kind == "frame":
        frames = (("200 mm", 200 * MM), ("300 mm", 300 * MM), ("100 mm", 100 * MM), ("8 in", 8 * INCH), ("75 mm", 75 * MM), ("20 mm", 20 * MM))
        holds = [frame for frame in frames if frame[1] > case.row.nominal]  # a smaller one is an error
        case.frame, options.frame_diameter = rng.choice(holds)
    elif kind == "roll":
        width, length = rng.choice((914, 1000, 1220)), rng.choice((1, 8, 12))
        case.roll, options.roll_area = (f"{width} mm", f"{length} m"), width * length * 1000 * MM**2
    elif kind == "all":
        options.all_apertures, options.apertures_in_piece = True, rng.choice((4, 9, 16, 20, 21, 36, 64))
    elif kind == "resolution":
        finest = max(UM, case.row.average.value // 4)
        options.resolution = finest + rng.choice((-1, 0, 1, finest))


def choose_format(rng, case):
    case.separator = rng.choice((",", ",", ";", "\t"))
    case.mark = rng.choice((".", ",")) if case.separator != "," else "."
    case.units = (rng.choice(("um", "um", "um", "mm", "in")), rng.choice(("um", "um", "mm", "in")))
    case.unit_option = case.units[0] if case.units[0] == case.units[1] and not case.job and rng.random() < 0.2 else None
    case.bom, case.zeros = not case.inline and rng.random() < 0.1, rng.choice((0, 0, 0, 2, 8))
    case.line_end = "\r\n" if not case.inline and rng.random() < 0.2 else "\n"
    case.capitals = rng.random() < 0.1
    case.unfinished, case.last_line = not case.inline and rng.random() < 0.06, rng.random() < 0.2


def representable(pm, unit):
    """An inch of finite decimals is a multiple of 127 pm."""
    return pm if unit != "in" else max(127, pm // 127 * 127)


def make_case(number):
    rng = random.Random(f"{SEED}/{number}")
    standard = rng.choice(oracle.EDITIONS)
    spec_edition = oracle.edition(standard)
    options = oracle.Options(viewing=rng.choice(("passed",) * 5 + ("failed", None)), apertures_only=rng.random() < 0.2, only_seen=rng.random() < 0.1)
    if rng.random() < 0.15:
        options.viewing, options.measured_only = rng.choice((None, None, "passed", "failed")), True
    case = Case(number, standard, rng.choice(spec_edition.rows), rng.choice(oracle.GRADES) if spec_edition.graded else None, options)
    if standard == "astm-e11-17" and rng.random() < 0.2:  # rows with a doubtful limit
        case.row, case.grade = spec_edition.find(rng.choice(("37.5 mm", "31.5 mm", "19 mm"))), rng.choice(("compliance", "inspection"))
    case.good = rng.random() < 0.45
    if case.good and options.viewing == "failed" and not options.measured_only:
        options.viewing = "passed"
    if not spec_edition.graded and rng.random() < 0.7:
        options.agreed_count = rng.choice((1, 17, 20, 60))
    if rng.random() < 0.35:
        add_job(rng, case)
    choose_format(rng, case)
    for direction in oracle.DIRECTIONS:
        if rng.random() < 0.07 and not case.good:
            continue
        aperture_values = apertures(rng, case, aperture_count(rng, case))
        if options.apertures_in_piece:
            aperture_values = aperture_values[: options.apertures_in_piece]
        if direction == "weft" and rng.random() < 0.05:  # copied and pasted
            aperture_values = [reading.aperture for reading in case.readings if reading.aperture and not reading.suspect]
        wire_values = wires(rng, case)
        suspects = [around(rng, case.row.nominal + case.row.maximum.value) for _ in range(rng.choice((0,) * (20 if case.good else 4) + (1, 2)))]
        case.readings += combine(rng, direction, aperture_values, wire_values, suspects)
    case.readings = [replace(r, aperture=r.aperture and representable(r.aperture, case.units[0]), wire=r.wire and representable(r.wire, case.units[1]))
                     for r in case.readings]
    if not case.readings:
        case.readings.append(Reading("warp", case.row.nominal // 127 * 127))
    if rng.random() < 0.5:
        rng.shuffle(case.readings)
    if rng.random() < 0.2:
        for i, reading in enumerate(case.readings):
            reading.position = (i % 40 - 20, i // 40) if rng.random() < 0.8 else None
    name_suspects(rng, case)
    if rng.random() < 0.25:
        case.gaps = rng.choice((1, 8, 9, 10, 11, 13, 40))
    if rng.random() < 0.05:
        case.bad_cell = rng.choice(BAD_CELLS)
    return case


def name_suspects(rng, case):
    """Some have names, of which a few are the same aperture in the other direction; the record may agree with them."""
    suspects = [reading for reading in case.readings if reading.suspect]
    for i, reading in enumerate(suspects):
        reading.name = rng.choice((f"s{i}", f"s{i}", "s0", ""))
    if case.job and case.options.viewing and rng.random() < 0.5:
        names = {r.name for r in suspects if r.name} | {r.position for r in suspects if not r.name and r.position and not has_fields(case)}
        case.options.suspects = max(0, len(names) + rng.choice((0, 0, 0, -1, 1)))


def has_fields(case):
    """Every fifth file names the field of each reading."""
    return case.number % 5 == 0


def combine(rng, direction, aperture_values, wire_values, suspects):
    """Wires stand beside apertures or in rows of their own."""
    readings = [Reading(direction, value) for value in aperture_values]
    beside = rng.random() < 0.5
    for i, value in enumerate(wire_values):
        if beside and i < len(readings):
            readings[i].wire = value
        else:
            readings.append(Reading(direction, None, value))
    return readings + [Reading(direction, value, suspect=True) for value in suspects]


# --------------------------------------------------------------------------------------------------------------- writer


def decimal_text(pm, unit, zeros=0, mark="."):
    with oracle.decimal.localcontext(oracle.CONTEXT):
        text = format((Decimal(pm) / oracle.PM_PER_UNIT[unit]).normalize(), "f")
    if zeros:
        text += ("" if "." in text else ".") + "0" * zeros
    return text.replace(".", mark)


def render(case):
    """The CSV's bytes."""
    with_wires = any(r.wire for r in case.readings)
    with_apertures = any(r.aperture for r in case.readings)
    with_roles = any(r.suspect for r in case.readings)
    with_positions = any(r.position for r in case.readings)
    suffix = [f"_{unit}" if not case.unit_option else "" for unit in case.units]
    columns = ["direction"] + ["aperture" + suffix[0]] * with_apertures + ["wire" + suffix[1]] * with_wires
    columns += ["role"] * with_roles + ["x_mm", "y_mm"] * with_positions + ["field"] * (has_fields(case) or any(r.name for r in case.readings))
    columns += ["gap"] * (case.gaps > 0)
    lines = ["# made by a test"] * (case.number % 3 == 0) + [case.separator.join(columns)]
    words = {"warp": ("warp",), "weft": ("weft", "weft", "shute", "shoot")}
    for i, reading in enumerate(case.readings):
        number = {"aperture": (reading.aperture, case.units[0]), "wire": (reading.wire, case.units[1])}
        cells = []
        for name in columns:
            what = name.split("_")[0]
            if what in number:
                pm, unit = number[what]
                cells.append("" if pm is None else decimal_text(pm, unit, case.zeros, case.mark))
            elif what == "role":
                cells.append("suspect" if reading.suspect else ("sample", "")[i % 2])
            elif what in "xy":
                cells.append("" if reading.position is None else str(reading.position["xy".index(what)]))
            elif what == "gap":
                cells.append("" if i % 6 == 5 else str(1 + i % case.gaps))
            elif what == "field":
                cells.append(reading.name or (f"f{i % 4}" if has_fields(case) else ""))
            else:
                cells.append(words[reading.direction][i % len(words[reading.direction])])
        if case.capitals:
            cells = [cell.capitalize() if name in ("direction", "role") else cell for cell, name in zip(cells, columns)]
        if case.bad_cell and i == len(case.readings) // 2:
            cells[1] = case.bad_cell
        if i % 7 == 3:
            cells = [f'"{cell}"' for cell in cells]
        lines.append(case.separator.join(cells))
    if case.capitals:
        lines[len(lines) - len(case.readings) - 1] = case.separator.join(capital_name(name, case.separator) for name in columns)
    text = case.line_end.join(lines) + ("" if case.unfinished else case.line_end)
    return (b"\xef\xbb\xbf" if case.bom else b"") + text.encode()


def capital_name(name, separator):
    """Another way to write the name of a column."""
    what, _, unit = name.partition("_")
    if not unit:
        return name.upper()
    return f'"{what.capitalize()}, {unit}"' if separator == "," else f"{what.capitalize()} [{unit}]"


def size_text(case):
    um = case.row.nominal // 10**5 / 10
    spellings = [case.row.designation, case.row.designation.replace(" ", "").replace("\u00b5", "u"), f"{um:g} um"]
    spellings += [case.row.alternative] * bool(case.row.alternative)
    return spellings[case.number % len(spellings)]


def quoted(text):
    return json.dumps(text, ensure_ascii=False)


def job_text(case, csv_name):
    options = case.options
    lines = ["schema: sievecloth-job/1", f"standard: {case.standard}", f"size: {quoted(size_text(case))}"]
    lines += [f"grade: {case.grade}"] * bool(case.grade)
    if case.frame:
        lines += ["piece: {frame: {shape: round, diameter: %s}}" % quoted(case.frame)]
    if case.roll:
        lines += ["piece: {roll: {width: %s, length: %s}}" % tuple(map(quoted, case.roll))]
    if options.all_apertures:
        lines += ["all_apertures: true", f"apertures_in_piece: {quoted(str(options.apertures_in_piece))}"]
    if options.resolution:
        lines += ["measured: {resolution: %s}" % quoted(decimal_text(options.resolution, "um") + " um")]
    if options.viewing:
        record = f", suspects: {options.suspects}" if options.suspects is not None else ""
        lines += [f"viewing: {{result: {options.viewing}{record}}}"]
    if options.agreed_count:
        lines += [f"agreed_count: {{value: {options.agreed_count}, with: Tolvane Mills}}"]
    lines += ["last_line: true"] * case.last_line
    lines += [f"{key}: true" for key in ("measured_only", "apertures_only", "only_seen") if getattr(options, key)]
    if not case.inline:
        return "\n".join(lines + [f"readings: {csv_name}"]) + "\n"
    block = render(case).decode().removesuffix("\n")
    return "\n".join(lines + ["readings: |"] + ["  " + line for line in block.split("\n")]) + "\n"


def arguments(case):
    options = case.options
    words = ["--standard", case.standard, "--size", size_text(case)] + (["--grade", case.grade] if case.grade else [])
    words += ["--viewing", options.viewing] if options.viewing else []
    words += ["--unit", case.unit_option] if case.unit_option else []
    words += ["--threads", str(case.number % 3)] if case.number % 3 else []
    words += ["--agreed-count", str(options.agreed_count)] if options.agreed_count else []
    words += ["--last-line"] * case.last_line
    return words + [f"--{key.replace('_', '-')}" for key in ("measured_only", "apertures_only", "only_seen") if getattr(options, key)]


# ------------------------------------------------------------------------------------------------------------ comparison


def shortest_decimal(text):
    """Numbers are printed as the shortest decimal that gives the double back."""
    value = float(text)
    digits = [t.lower().replace("e", " ").split()[0].replace(".", "").replace("-", "").strip("0") for t in (text, repr(value))]
    assert digits[0] == digits[1], f"{text} is not the shortest decimal of {value!r}"
    return value


class AboutAsLarge(float):
    """A number that no limit is compared with in this form: the last digits are free."""


def differences(expected, found, path=""):
    """Every field of `expected` must stand in `found` with the same value; null is the same as nothing."""
    if isinstance(expected, AboutAsLarge) and isinstance(found, float):
        return [] if math.isclose(expected, found, rel_tol=2e-15) else [f"{path[1:]}: expected about {expected!r}, found {found!r}"]
    if isinstance(expected, dict):
        found = found if isinstance(found, dict) else {}
        return [d for key in expected for d in differences(expected[key], found.get(key), f"{path}.{key}")]
    return [] if expected == found and isinstance(expected, bool) == isinstance(found, bool) else [f"{path[1:]}: expected {expected!r}, found {found!r}"]


def by_name(document):
    """Lists of criteria become maps, so that they compare by id and direction."""
    criteria = {}
    for criterion in document.get("criteria", []):
        key = f"{criterion['id']}/{criterion.get('direction')}"
        assert key not in criteria, f"{key} stands twice"
        criteria[key] = criterion
    return document | {"criteria": criteria}


def compare(assessment, found):
    """Differences between the oracle's assessment and the tool's document."""
    expected, found = by_name(oracle.to_json(assessment)), by_name(found)
    too_close = {f"{c['id']}/{c['direction']}" for c in assessment["criteria"] if c.get("too_close")}
    for key, criterion in expected["criteria"].items():
        if criterion["outcome"] == "not-applicable":
            expected["criteria"][key] = {"outcome": "not-applicable"}
        elif key.startswith("aperture-standard-deviation") and assessment["standard"] == "iso-3310-1-2016" and "observed_um" in criterion:
            criterion["observed_um"] = AboutAsLarge(criterion["observed_um"])  # K s; K is irrational
    result = differences(expected, found)
    result += [f"criteria: unexpected {key}" for key in found["criteria"] if key not in expected["criteria"]]
    warned = {(warning["kind"], warning.get("direction")) for warning in found["warnings"]}
    result += [f"warnings: {caution} is missing" for caution in assessment["cautions"] - warned]
    looked_for = {warning for warning in warned if warning[0] in ("no-spread", "coarse-step")}
    result += [f"warnings: unexpected {warning}" for warning in looked_for - assessment["cautions"]]
    if ("same-in-both-directions", None) in warned and not assessment["same_readings"]:
        result.append("warnings: warp and weft do not hold the same readings")
    for direction in oracle.DIRECTIONS:
        extra = found.get("samples", {}).get(direction, {})
        result += [f"samples: unexpected {direction} {q}" for q in ("aperture", "wire") if q in extra and q not in expected["samples"].get(direction, {})]
    return result, too_close


def judge(case):
    """The oracle's assessment of a case; BadData where it must be refused."""
    piece = oracle.read_csv(render(case), case.unit_option, case.last_line or case.inline)
    return oracle.assess(piece, case.standard, case.row.designation.replace("\u00b5", "u"), case.grade, case.options)


def execute(case, tool, folder):
    """The finished process of the tool."""
    data, stdin = render(case), None
    csv_path = folder / f"{case.number}.csv"
    csv_path.write_bytes(data)
    if case.job:
        job_path = folder / f"{case.number}.yaml"
        job_path.write_bytes(job_text(case, csv_path.name).encode())
        command = [tool, "check", str(job_path), "--json"]
    elif case.number % 4 == 0:
        command, stdin = [tool, "check", "-", *arguments(case), "--json"], data
    else:
        command = [tool, "check", str(csv_path), *arguments(case), "--json"]
    return subprocess.run(command, input=stdin, capture_output=True, timeout=600, check=False)


def run(case, tool, folder):
    """The differences of one case, as text lines (empty where tool and oracle agree), and what it reached."""
    done = execute(case, tool, folder)
    try:
        assessment = judge(case)
    except oracle.BadData:
        return bad_data_differences(done), []
    lines = explain(assessment, done)
    if done.returncode != assessment["exit_code"] and not any("verdict" in line for line in lines):
        lines.insert(0, f"exit code: expected {assessment['exit_code']}, found {done.returncode}; stderr {done.stderr[:300]!r}")
    return lines, reached(assessment)


def run_number(number, tool, folder):
    return run(make_case(number), tool, folder)


def explain(assessment, done):
    try:
        found = json.loads(done.stdout, parse_float=shortest_decimal)
        result, too_close = compare(assessment, found)
    except (ValueError, AssertionError) as error:
        return [f"stdout: {error}"]
    if result and too_close and all("verdict" in d or any(key in d for key in too_close) for d in result):
        return []  # within a picometre of the limit, where the rounding of K decides
    return result


def bad_data_differences(done):
    try:
        json.loads(done.stderr)
        is_json = True
    except ValueError:
        is_json = False
    facts = {"exit code 65": done.returncode == 65, "an empty stdout": done.stdout == b"", "JSON on stderr": is_json}
    return [f"bad data: expected {fact}; exit code {done.returncode}, stderr {done.stderr[:200]!r}" for fact, holds in facts.items() if not holds]


def reached(assessment):
    """What an assessment adds to the coverage."""
    cautions = [("caution", kind) for kind, _ in assessment["cautions"]]
    return [(assessment["verdict"], assessment["provisional"]), *cautions] + [(c["id"], c["outcome"]) for c in assessment["criteria"]]


def coverage(seen):
    """Complaints where the random samples do not reach a verdict or an outcome often enough to prove anything."""
    wanted = {(verdict, True): 20 for verdict in oracle.EXIT_CODE} | {("does-not-conform", False): 20}
    wanted |= {("caution", kind): 20 for kind in ("no-spread", "coarse-step", "same-in-both-directions")}
    ids = ("average-aperture", "maximum-aperture", "aperture-standard-deviation", "share-above-intermediate", "wire-diameter", "viewing")
    wanted |= {(id, outcome): 50 for id in ids for outcome in ("met", "not-met", "undecided")}
    wanted |= {("sample-size", "met"): 200, ("sample-size", "undecided"): 200}
    return [f"coverage: {key} only {seen[key]} times" for key, times in wanted.items() if seen[key] < times]


def shrink(case, tool, folder):
    """Drops readings while the case still fails."""
    step = max(1, len(case.readings) // 2)
    while step:
        i = 0
        while i < len(case.readings):
            smaller = replace(case, readings=case.readings[:i] + case.readings[i + step :])
            if smaller.readings and run(smaller, tool, folder)[0]:
                case = smaller
            else:
                i += step
        step //= 2
    return case


def show(case, tool, folder):
    print(f"\ncase {case.number}: {case.standard} {case.row.designation} {case.grade or ''} {case.options}")
    for line in run(case, tool, folder)[0]:
        print("  " + line)
    text = job_text(case, "FILE.csv") if case.job else f"check FILE {' '.join(arguments(case))}"
    body = "" if case.inline else render(case).decode()
    print("  " + "\n  ".join((text.rstrip() + "\n" + body).splitlines()[:60]))


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("tool")
    parser.add_argument("--cases", type=int, default=2400)
    parser.add_argument("--case", type=int)
    args = parser.parse_args()
    numbers = range(args.cases) if args.case is None else [args.case]
    seen, failed = collections.Counter(), []
    with tempfile.TemporaryDirectory() as name, concurrent.futures.ProcessPoolExecutor(os.cpu_count() or 2) as pool:
        folder = pathlib.Path(name)
        run_one = functools.partial(run_number, tool=args.tool, folder=folder)
        for number, (lines, outcomes) in zip(numbers, pool.map(run_one, numbers, chunksize=50)):
            seen.update(outcomes)
            if lines:
                failed.append(number)
                if len(failed) <= 10:
                    print(f"case {number}: {lines[0]}")
        if failed:
            smallest = [shrink(make_case(number), args.tool, folder) for number in failed[:5]]
            show(min(smallest, key=lambda case: len(case.readings)), args.tool, folder)
    thin = coverage(seen) if len(numbers) >= 2000 else []
    for line in thin:
        print(line)
    print(f"{len(numbers) - len(failed)} passed, {len(failed) + len(thin)} failed")
    return 1 if failed or thin else 0


if __name__ == "__main__":
    sys.exit(main())
