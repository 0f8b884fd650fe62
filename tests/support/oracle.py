# oracle: a second implementation of the decision rules, from the standards' printed values and with its own exact arithmetic
"""Judges one file of readings the slow and plain way, to compare the tool with.

Nothing is shared with the C++: limits come from the printed values in tests/data/standards (ISO 3310-1:1990 by its formulas), never
from tables/; lengths are integers of picometres, means are Fractions, roots and chi-square quantiles are Decimals of 60 digits.

    oracle.py FILE.csv --standard astm-e11-17 --size "No. 200" --grade inspection [options]

prints the assessment as JSON. `assess()` is the same for programs.
"""

import argparse
import csv
import decimal
import functools
import json
import math
import pathlib
import re
import sys
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction

DATA = pathlib.Path(__file__).resolve().parent.parent / "data" / "standards"
CONTEXT = decimal.Context(prec=60, rounding=decimal.ROUND_HALF_EVEN, Emin=-999999, Emax=999999)

PM_PER_UNIT = {"um": 10**6, "mm": 10**9, "in": 25_400_000_000}
LONGEST_PM = 10**14  # 100 m
ALL = math.inf  # a count greater than any number
GRADES = ("compliance", "inspection", "calibration")
DIRECTIONS = ("warp", "weft")
EDITIONS = ("astm-e11-17", "iso-3310-1-2016", "iso-3310-1-1990", "astm-e11-04")
HUNDRED_SQUARE_FEET_PM2 = 100 * (12 * PM_PER_UNIT["in"]) ** 2
EXIT_CODE = {"conforms": 0, "does-not-conform": 1, "undecided": 2}


class BadData(Exception):
    """The readings are not what the format asks for; the tool answers with exit code 65."""


# --------------------------------------------------------------------------------------------------------------- numbers


def nearest_double(value):
    """The double nearest to a Fraction, an int or a Decimal; None stays None."""
    return None if value is None else float(value)


def root(value):
    """The square root of a Fraction that is not negative, to 60 digits."""
    with decimal.localcontext(CONTEXT):
        return (Decimal(value.numerator) / Decimal(value.denominator)).sqrt()


@functools.lru_cache(maxsize=None)
def gamma_half(twice):
    """Gamma(twice / 2) to 60 digits."""
    with decimal.localcontext(CONTEXT):
        if twice % 2 == 0:
            return Decimal(math.factorial(twice // 2 - 1))
        value = pi().sqrt()
        for k in range(1, twice, 2):
            value = value * k / 2
        return value


@functools.lru_cache(maxsize=None)
def pi():
    """Machin: pi = 16 atan(1/5) - 4 atan(1/239), in integers with 20 guard digits."""
    unit = 10**80

    def inverse_tangent(n):
        power, total, k = unit // n, 0, 0
        while power:
            total += (-1) ** k * (power // (2 * k + 1))
            power //= n * n
            k += 1
        return total

    with decimal.localcontext(CONTEXT):
        return Decimal(16 * inverse_tangent(5) - 4 * inverse_tangent(239)) / unit


def chi_square_below(dof, x):
    """P(chi-square with `dof` degrees of freedom <= x) by the series of the lower incomplete gamma function: all terms positive."""
    with decimal.localcontext(CONTEXT):
        half, term, total, k = x / 2, Decimal(1), Decimal(1), 0
        while term > total * Decimal("1e-62"):
            k += 1
            term = term * half / (Decimal(dof) / 2 + k)
            total += term
        power = (half.ln() * dof / 2).exp()
        return power * (-half).exp() * total / gamma_half(dof + 2)


@functools.lru_cache(maxsize=None)
def chi_square_quantile(dof, tail_millionths):
    """The point that a chi-square stays below with the given probability: Newton's steps, then a bracket that proves the digits."""
    with decimal.localcontext(CONTEXT):
        tail = Decimal(tail_millionths) / 10**6
        # Wilson and Hilferty's approximation gives the start; the tails used are near -2.576 and -3.
        z = Decimal("-2.5758") if tail_millionths == 5000 else Decimal(-3)
        shape = Decimal(2) / (9 * dof)
        start = 1 - shape + z * shape.sqrt()
        x = dof * max(start, Decimal("0.001")) ** 3
        for _ in range(200):
            density = ((x / 2).ln() * (Decimal(dof) / 2 - 1) - x / 2).exp() / (2 * gamma_half(dof))
            step = (chi_square_below(dof, x) - tail) / density
            x = x / 2 if step >= x else x - step
            if abs(step) < x * Decimal("1e-50"):
                break
        slack = x * Decimal("1e-40")
        assert chi_square_below(dof, x - slack) < tail < chi_square_below(dof, x + slack)
        return x


def spread_factor(n, tail_millionths):
    """K = sqrt((n - 1) / chi-square quantile)."""
    with decimal.localcontext(CONTEXT):
        return ((n - 1) / chi_square_quantile(n - 1, tail_millionths)).sqrt()


def careful_spread_limit(sigma_0_pm, n, tail_millionths):
    """The greatest whole s [pm] with K s <= sigma_0."""
    with decimal.localcontext(CONTEXT):
        return int((sigma_0_pm / spread_factor(n, tail_millionths)).to_integral_value(decimal.ROUND_FLOOR))


def parse_length(text, unit, mark="."):
    """Plain digits with at most one decimal mark -> picometres. Nothing else is a number."""
    match = re.fullmatch(r"([0-9]*)(?:%s([0-9]+))?" % re.escape(mark), text)
    if not match or not text:
        raise BadData(f"not a number: {text!r}")
    whole, decimals = match[1], match[2] or ""
    value = Fraction(int(whole + decimals), 10 ** len(decimals)) * PM_PER_UNIT[unit]
    if value.denominator != 1:
        raise BadData(f"finer than a picometre: {text!r}")
    if value > LONGEST_PM:
        raise BadData(f"too large: {text!r}")
    return int(value)


# -------------------------------------------------------------------------------------------------------------- readings


@dataclass
class Piece:
    """The readings of one piece, each a list of picometres by direction."""

    apertures: dict = field(default_factory=lambda: {"warp": [], "weft": []})
    suspects: dict = field(default_factory=lambda: {"warp": [], "weft": []})
    wires: dict = field(default_factory=lambda: {"warp": [], "weft": []})
    wire_gaps: set = field(default_factory=set)  # (direction, gap) of a wire: readings along one gap cross the same wire
    wires_again: dict = field(default_factory=lambda: {"warp": 0, "weft": 0})  # readings of a wire that was read before
    suspect_names: set = field(default_factory=set)  # of the named suspects: apertures, not readings


def split_row(line, separator):
    """One row into (cell, quoted?) pairs."""
    cells, i = [], 0
    while True:
        if line[i : i + 1] == '"':
            cell, i = "", i + 1
            while True:
                end = line.find('"', i)
                if end < 0:
                    raise BadData("a quote without an end")
                cell, i = cell + line[i:end], end + 1
                if line[i : i + 1] != '"':
                    break
                cell, i = cell + '"', i + 1
            if i < len(line) and line[i] != separator:
                raise BadData("text after a quote")
        else:
            end = line.find(separator, i)
            end = len(line) if end < 0 else end
            cell, i = line[i:end], end
        cells.append(cell)
        if i >= len(line):
            return cells
        i += 1


UNIT = "(um|\u00b5m|\u03bcm|mm|in)"
COLUMN = re.compile(rf"(aperture|wire|x|y)(?:[ \t]*[_,/][ \t]*{UNIT}|[ \t]* [ \t]*(um|\u00b5m|\u03bcm|mm)|[ \t]*\([ \t]*{UNIT}[ \t]*\)|[ \t]*\[[ \t]*{UNIT}[ \t]*\])?")


def read_columns(header, unit):
    """The header's names -> [(what, unit)] with what in direction, aperture, wire, role, x, y, field, gap."""
    columns = []
    for name in map(ascii_lower, header):
        match = COLUMN.fullmatch(name)
        own_unit = match and next(("um" if u.endswith("m") and u != "mm" else u for u in match.groups()[1:] if u), None)
        if match and match[1] in "xy":
            if own_unit != "mm":
                raise BadData(f"{name} is not in mm")
            columns.append((match[1], "mm"))
        elif match:
            if not (own_unit or unit):
                raise BadData(f"{name} has no unit")
            columns.append((match[1], own_unit or unit))
        elif name in ("direction", "role", "field", "gap", "operator"):
            columns.append((name, None))
        else:
            raise BadData(f"unknown column {name!r}")
    whats = [what for what, _ in columns]
    if len(set(whats)) != len(whats) or "direction" not in whats or not {"aperture", "wire"} & set(whats):
        raise BadData("columns")
    return columns


def parse_position(text, mark):
    """A coordinate may be negative or zero."""
    return (-1 if text.startswith("-") else 1) * parse_length(text.removeprefix("-"), "mm", mark)


def decimal_mark(rows, columns, separator):
    """The one decimal mark of the file."""
    numbers = [cell for row in rows for cell, (what, _) in zip(row, columns) if what in ("aperture", "wire", "x", "y")]
    marks = {mark for cell in numbers for mark in ".," if mark in cell}
    if len(marks) > 1 or (separator == "," and "," in marks):
        raise BadData("decimal marks")
    return marks.pop() if marks else "."


def ascii_lower(text):
    return "".join(chr(ord(c) + 32) if "A" <= c <= "Z" else c for c in text)


DIRECTION_WORDS = {"warp": "warp", "weft": "weft", "shute": "weft", "shoot": "weft"}


def is_comment(line, separator, cells):
    """Below the header a line that begins with # and has the header's number of cells, not all but the first of them empty, or a
    direction behind its first cell, may be a row: it is neither."""
    if not line.startswith("#"):
        return False
    try:
        padded = len(split_row(line, separator)) == cells and not any(cell.strip(" \t") for cell in split_row(line, separator)[1:])
    except BadData:
        padded = False
    if padded:
        return True
    if any(ascii_lower(cell.strip(" \t").strip('"')) in DIRECTION_WORDS for cell in line.split(separator)[1:]):
        raise BadData("a comment with a direction")
    try:
        if len(split_row(line, separator)) == cells:
            raise BadData("a comment with as many cells as a row")
    except BadData as error:
        if "as many cells" in str(error):
            raise
    return True


def with_micro_sign(data):
    """The micro sign of Windows-1252 before an m in the header, in UTF-8."""
    lines = data.split(b"\n")
    for i, line in enumerate(lines):
        if not line.startswith(b"#") and line.strip(b" \t\r"):
            lines[i] = re.sub(b"(?<![\x80-\xff])\xb5m", "\u00b5m".encode(), line)
            break
    return b"\n".join(lines)


def read_csv(data, unit=None, last_line=False):
    """The bytes of a CSV -> Piece. Raises BadData where anything is wrong. `last_line`: the last line may lack its line end."""
    try:
        is_utf16 = data[:2] in (b"\xff\xfe", b"\xfe\xff")
        text = data.decode("utf-16") if is_utf16 else with_micro_sign(data).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise BadData("not UTF-8") from error
    if not text.endswith("\n") and not last_line:
        raise BadData("the last line does not end")
    lines = [line.removesuffix("\r") for line in text.removesuffix("\n").split("\n")]
    if any(re.search(r"[\x00\r]", line) for line in lines):
        raise BadData("not lines of text")
    while lines and (lines[0].startswith("#") or not lines[0].strip(" \t")):
        del lines[0]
    while lines and not lines[-1].strip(" \t"):
        del lines[-1]
    if not lines:
        raise BadData("no header")
    separator = next((s for s in ";\t," if s in lines[0]), ",")
    cells = len(split_row(lines[0], separator))
    lines = [lines[0]] + [line for line in lines[1:] if not is_comment(line, separator, cells)]

    def holds_nothing(line):  # as spreadsheets leave rows behind the last
        if line.strip(" \t\"" + separator):
            return False
        try:
            return not any(cell.strip(" \t") for cell in split_row(line, separator))
        except BadData:
            return False

    while lines[1:] and holds_nothing(lines[-1]):  # before a trailing comment too
        del lines[-1]
    if any(holds_nothing(line) for line in lines[1:]):
        raise BadData("an empty line between rows")
    header, *rows = [[cell.strip(" \t") for cell in split_row(line, separator)] for line in lines]
    if any(len(row) != len(header) for row in rows):
        raise BadData("cells")
    while header and not header[-1]:  # as spreadsheets leave columns
        if any(row.pop() for row in rows):
            raise BadData("a cell in a column without a name")
        header.pop()
    columns = read_columns(header, unit)
    mark = decimal_mark(rows, columns, separator)
    piece, positions = Piece(), set()
    for row in rows:
        read_row({what: (cell, column_unit) for cell, (what, column_unit) in zip(row, columns)}, mark, piece, positions)
    if not any(values for part in (piece.apertures, piece.suspects, piece.wires) for values in part.values()):
        raise BadData("no reading")
    return piece


def read_row(row, mark, piece, positions):
    direction = DIRECTION_WORDS.get(ascii_lower(row["direction"][0]))
    role = ascii_lower(row.get("role", ("sample", None))[0]) or "sample"
    if direction is None or role not in ("sample", "suspect"):
        raise BadData("direction or role")
    if len(row.get("field", ("", None))[0].encode()) > 256:
        raise BadData("the name of a field")
    if not re.fullmatch("0*[0-9]{0,9}", row.get("gap", ("", None))[0], re.ASCII):
        raise BadData("the number of a gap")
    values = {}
    for what in ("aperture", "wire"):
        cell, unit = row.get(what, ("", None))
        if cell:
            values[what] = parse_length(cell, unit, mark)
            if values[what] == 0:
                raise BadData("zero")
    x, y = row.get("x", ("", None))[0], row.get("y", ("", None))[0]
    if bool(x) != bool(y):
        raise BadData("half a position")
    if x:
        position = (direction, parse_position(x, mark), parse_position(y, mark))
        if position in positions:
            raise BadData("the same position twice")
        positions.add(position)
    if role == "suspect" and "wire" in values:
        raise BadData("a suspect is an aperture")
    if role == "suspect" and "aperture" not in values:
        raise BadData("a suspect without its aperture")
    if "aperture" in values and role == "suspect" and (row.get("field", ("", None))[0] or x):
        piece.suspect_names.add(ascii_lower(row.get("field", ("", None))[0]) or (parse_position(x, mark), parse_position(y, mark)))
    if "aperture" in values:
        (piece.suspects if role == "suspect" else piece.apertures)[direction].append(values["aperture"])
    if "wire" in values:
        piece.wires[direction].append(values["wire"])
        gap = row.get("gap", ("", None))[0]
        if gap:
            wire = (direction, int(gap))
            piece.wires_again[direction] += wire in piece.wire_gaps
            piece.wire_gaps.add(wire)


# ---------------------------------------------------------------------------------------------------------------- limits


@dataclass
class Value:
    """A limit [pm] or a count, and whether it is known too weakly for a plain verdict: neither seen in the edition nor computed."""

    value: object
    weak: bool = False


@dataclass
class Row:
    nominal: int
    designation: str
    alternative: str
    average: Value
    maximum: Value  # the tolerance X
    intermediate: Value = None  # an aperture, w + Z
    spread: dict = field(default_factory=dict)  # by grade, None where the edition has no limit
    counts: dict = field(default_factory=dict)  # by grade; absent where the edition's count is not known
    wire: int = None  # the preferred one, pm
    wire_minimum: Value = None
    wire_maximum: Value = None


@dataclass
class Edition:
    name: str
    rows: list
    graded: bool
    share_percent: int = None
    share_weak: bool = False
    k_band: bool = False  # ISO 3310-1:2016: K not seen
    spread_weak: bool = False
    resolution: bool = False
    wire_count_weak: bool = False

    def find(self, size):
        """The row of `75um`, `75 um`, `4.75 mm` or an alternative designation as printed."""
        match = re.fullmatch(r"([0-9.]+) ?(um|\u00b5m|\u03bcm|mm)", size)
        for row in self.rows:
            if match and parse_length(match[1], "mm" if match[2] == "mm" else "um") == row.nominal:
                return row
            if not match and row.alternative == size:
                return row
        raise KeyError(size)


def printed(name):
    with open(DATA / f"{name}.csv", encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def um(text, weak=False):
    return Value(parse_length(text, "um"), weak)


def count(text):
    return ALL if text == "all" else int(text)


def astm_e11_17():
    rows = []
    for line in printed("astm-e11-17"):
        row = Row(um(line["nominal_um"]).value, line["designation"], line["alternative"], um(line["average_tolerance_um"], True),
                  um(line["maximum_tolerance_um"], True), wire=um(line["wire_typical_um"]).value, wire_minimum=um(line["wire_min_um"], True), wire_maximum=um(line["wire_max_um"], True))
        for grade in GRADES:
            limit = line[f"{grade}_s_um"]
            row.spread[grade] = um(limit, True) if limit else None
            row.counts[grade] = Value(count(line[f"{grade}_n"]), True)
        if row.designation == "19 mm":
            row.wire_maximum = Value(3600 * 10**6, True)  # 3500 is a misprint: 3.15 mm wire has 3600 elsewhere
        rows.append(row)
    return Edition("astm-e11-17", rows, graded=True, spread_weak=True, wire_count_weak=True)


def neighbours_count(nominal, grade):
    """The E11-17 count of this size, or the greater one of the sizes above and below."""
    known = {um(line["nominal_um"]).value: count(line[f"{grade}_n"]) for line in printed("astm-e11-17")}
    if nominal in known:
        return known[nominal]
    return max(known[min(w for w in known if w > nominal)], known[max(w for w in known if w < nominal)])


def iso_3310_1_2016():
    rows = []
    for line in printed("iso-3310-1-2016"):
        nominal, sigma_0 = um(line["nominal_um"]).value, line["standard_deviation_limit_um"]
        row = Row(nominal, line["designation"], "", um(line["average_tolerance_um"], True), um(line["maximum_tolerance_um"], True),
                  wire=um(line["wire_preferred_um"]).value, wire_minimum=um(line["wire_min_um"], True), wire_maximum=um(line["wire_max_um"], True))
        for grade in GRADES:
            row.spread[grade] = um(sigma_0, True) if sigma_0 else None
            row.counts[grade] = Value(neighbours_count(nominal, "inspection" if grade == "compliance" else grade), True)
        rows.append(row)
    return Edition("iso-3310-1-2016", rows, graded=True, k_band=True, spread_weak=True, resolution=True, wire_count_weak=True)


def round_to(value_um, step_um):
    """To the nearest multiple, in picometres; no formula value lies on a tie."""
    steps = Decimal(value_um) / Decimal(step_um)
    rounded = steps.to_integral_value(decimal.ROUND_HALF_EVEN)
    assert abs(abs(steps - rounded) - Decimal("0.5")) > Decimal("1e-30")
    return int(rounded * Decimal(step_um) * 10**6)


def unrounded_1990(nominal_um):
    """(X, Y, Z) [um] by the formulas of ISO 3310-1:1990."""
    with decimal.localcontext(CONTEXT):
        w = Decimal(nominal_um)
        quarter = w.sqrt().sqrt()
        x = 2 * quarter**3 / 3 + 4 * quarter
        y = (w.ln() * Decimal("0.98")).exp() / 27 + Decimal("1.6")
        return x, y, (x + y) / 2


def formula_1990(nominal_um):
    """(X, Y, Z) [pm] of ISO 3310-1:1990 as printed."""
    with decimal.localcontext(CONTEXT):
        w = Decimal(nominal_um)
        x, y, z = unrounded_1990(nominal_um)
        coarse = "10" if w >= 1000 else "1"
        return round_to(x, coarse), round_to(y, "0.1" if w <= 250 else coarse), round_to(z, coarse)


def iso_3310_1_1990():
    wires_seen = ("11.2 mm", "8 mm", "5.6 mm", "4 mm", "2.8 mm")  # European Pharmacopoeia 2.1.4; the others are those of 2016
    rows = []
    for line in printed("iso-3310-1-2016"):
        nominal = um(line["nominal_um"]).value
        inferred = line["designation"] not in wires_seen
        x, y, z = formula_1990(line["nominal_um"])
        rows.append(Row(nominal, line["designation"], "", Value(y), Value(x), Value(nominal + z),
                        wire=um(line["wire_preferred_um"]).value, wire_minimum=um(line["wire_min_um"], inferred), wire_maximum=um(line["wire_max_um"], inferred)))
    return Edition("iso-3310-1-1990", rows, graded=False, share_percent=6, resolution=True, wire_count_weak=True)


def astm_e11_04():
    names = {line["nominal_um"]: (line["designation"], line["alternative"]) for line in printed("astm-e11-17")}
    rows = []
    for line in printed("astm-e11-04"):
        nominal, wire = um(line["nominal_um"]).value, um(line["wire_nominal_um"]).value
        per_mille = 50 if nominal > 600 * 10**6 else 75 if nominal >= 125 * 10**6 else 100
        rows.append(Row(nominal, *names[line["nominal_um"]], um(line["average_tolerance_um"], True),
                        Value(um(line["maximum_individual_um"]).value - nominal, True), um(line["five_percent_um"], True),
                        wire=wire, wire_minimum=Value(wire * (1000 - per_mille) // 1000, True), wire_maximum=Value(wire * (1000 + per_mille) // 1000, True)))
    return Edition("astm-e11-04", rows, graded=False, share_percent=5, share_weak=True, wire_count_weak=True)


@functools.lru_cache(maxsize=None)
def edition(name):
    return {"astm-e11-17": astm_e11_17, "iso-3310-1-2016": iso_3310_1_2016, "iso-3310-1-1990": iso_3310_1_1990, "astm-e11-04": astm_e11_04}[name]()


# ------------------------------------------------------------------------------------------------------------- judgement


@dataclass
class Options:
    viewing: str = None  # passed, failed or None: not recorded
    measured_only: bool = False
    apertures_only: bool = False
    only_seen: bool = False
    frame_diameter: int = None  # pm
    roll_area: int = None  # pm^2
    all_apertures: bool = False
    apertures_in_piece: int = None
    resolution: int = None  # pm, of the instrument
    suspects: int = None  # as in the record of the visual examination
    agreed_count: int = None


@dataclass
class Statistics:
    n: int
    mean: Fraction = None
    variance: Fraction = None  # None below two values
    minimum: int = None
    maximum: int = None


def describe(values):
    n, total = len(values), sum(values)
    if n == 0:
        return Statistics(0)
    variance = Fraction(n * sum(v * v for v in values) - total * total, n * (n - 1)) if n > 1 else None
    return Statistics(n, Fraction(total, n), variance, min(values), max(values))


def full_apertures(row, clear):
    """How many full apertures a round frame shows whose clear diameter is `clear`, one of them in its middle: counted one by one."""
    pitch, reach = row.nominal + row.wire, range(-41, 42)
    return sum((2 * abs(i) * pitch + row.nominal) ** 2 + (2 * abs(j) * pitch + row.nominal) ** 2 <= clear**2 for i in reach for j in reach)


def holds_few(row, options):
    """20 full apertures or fewer: as the record says, or as a round frame holds at the nominal pitch, half an inch of it covered."""
    if options.apertures_in_piece is not None:
        return options.apertures_in_piece <= 20
    clear = (options.frame_diameter or 0) - 12_700_000_000
    if not options.frame_diameter or clear > 40 * row.nominal:
        return False
    return clear <= 0 or full_apertures(row, clear) <= 20


def required_count(row, spec_edition, grade, options):
    """The count required of each direction: a Value, or None where the edition's count is not known."""
    if not spec_edition.graded and not options.agreed_count:
        return None
    known = row.counts[grade] if spec_edition.graded else Value(options.agreed_count, True)
    if holds_few(row, options):
        return Value(ALL, known.weak)
    if known.value == ALL:
        return known
    scale = Fraction(1)
    if spec_edition.name == "iso-3310-1-2016" and options.frame_diameter:
        scale = Fraction(max(options.frame_diameter, 75 * 10**9), 200 * 10**9) ** 2  # the count for a smaller frame is not known
    if spec_edition.name == "astm-e11-17" and grade == "compliance" and options.roll_area:
        scale = max(Fraction(1), Fraction(options.roll_area, HUNDRED_SQUARE_FEET_PM2))
    return Value(math.ceil(known.value * scale), known.weak)


def common_step(values):
    """The greatest common divisor of ten or more readings of at least three values; 1 where it says nothing."""
    return math.gcd(*values) if len(values) >= 10 and len(set(values)) >= 3 else 1


class Judge:
    """One direction of a piece against one row."""

    def __init__(self, spec_edition, row, grade, options, piece, direction, all_measured):
        self.edition, self.row, self.grade, self.options, self.direction = spec_edition, row, grade, options, direction
        self.values = piece.apertures[direction]
        self.suspects = piece.suspects[direction]
        self.aperture = describe(self.values)
        self.wire = describe(piece.wires[direction])
        self.different_wires = self.wire.n - piece.wires_again[direction]
        self.all_measured = all_measured
        self.count = required_count(row, spec_edition, grade, options)
        reached = self.count is not None and self.aperture.n >= self.count.value
        says_all = options.all_apertures and options.apertures_in_piece is not None  # for a piece not measured in full
        self.enough = self.aperture.n > 0 and (all_measured or (reached and not says_all))
        self.coarse_step = 0  # > 0 if the readings are coarser than the edition allows
        if spec_edition.resolution:
            step = max(options.resolution or 1, common_step(self.values))
            if step > max(Fraction(10**6), Fraction(row.average.value, 4)):
                self.coarse_step = step
        self.count_weak = self.count is None or self.count.weak

    def criteria(self):
        return [self.average(), self.maximum(), self.spread(), self.share(), self.wires(), self.sample_size()]

    def criterion(self, id, outcome, n, observed=None, weak=False, **limits):
        return dict(id=id, direction=self.direction, outcome=outcome, n=n, observed=observed, limits=limits, weak=weak)

    def average(self):
        limit, mean = self.row.average, self.aperture.mean
        lower, upper = self.row.nominal - limit.value, self.row.nominal + limit.value
        if not self.enough or self.coarse_step:
            outcome = "undecided"
        else:
            outcome = "met" if lower <= mean <= upper else "not-met"
        return self.criterion("average-aperture", outcome, self.aperture.n, mean, limit.weak or self.count_weak, lower_um=lower, upper_um=upper)

    def maximum(self):
        seen = self.values + self.suspects
        upper = self.row.nominal + self.row.maximum.value
        largest = max(seen, default=None)
        if largest is not None and largest > upper + self.coarse_step:
            outcome = "not-met"
        elif self.aperture.n == 0 or self.coarse_step:  # suspects alone are not a sample
            outcome = "undecided"
        elif any(suspect < self.row.nominal - self.row.maximum.value for suspect in self.suspects):  # cannot have been singled out as large
            outcome = "undecided"
        else:
            outcome = "met"
        return self.criterion("maximum-aperture", outcome, len(seen), largest, self.row.maximum.weak, upper_um=upper)

    def spread(self):
        limit, n, variance = self.row.spread.get(self.grade), self.aperture.n, self.aperture.variance
        if limit is None:
            return self.criterion("aperture-standard-deviation", "not-applicable", n)
        observed, careful = None, limit.value
        if variance is not None:
            observed = root(variance)
            if self.edition.k_band and not self.all_measured:
                tail = 1350 if self.grade == "calibration" else 5000
                careful = careful_spread_limit(limit.value, n, tail)
                with decimal.localcontext(CONTEXT):
                    observed = observed * spread_factor(n, tail)
        if variance is None or not self.enough or self.coarse_step:
            outcome = "undecided"
        elif variance <= careful**2:
            outcome = "met"
        else:
            outcome = "not-met" if variance > limit.value**2 else "undecided"
        weak = limit.weak or self.count_weak or self.edition.spread_weak
        result = self.criterion("aperture-standard-deviation", outcome, n, observed, weak, upper_um=limit.value)
        result["too_close"] = variance is not None and careful != limit.value and (careful - 1) ** 2 < variance < (careful + 2) ** 2
        return result

    def share(self):
        limit, n, percent = self.row.intermediate, self.aperture.n, self.edition.share_percent
        if percent is None:
            return self.criterion("share-above-intermediate", "not-applicable", n)
        above = sum(value > limit.value for value in self.values)
        if not self.enough or (n * percent < 100 and not self.all_measured):
            outcome = "undecided"
        else:
            outcome = "met" if 100 * above <= percent * n else "not-met"
        observed = Fraction(100 * above, n) if n else None
        weak = limit.weak or self.edition.share_weak or self.count_weak
        return self.criterion("share-above-intermediate", outcome, n, observed, weak, limit=percent)

    def wires(self):
        low, high, mean = self.row.wire_minimum, self.row.wire_maximum, self.wire.mean
        if self.options.apertures_only:
            return self.criterion("wire-diameter", "not-applicable", self.wire.n)
        same_wires = self.different_wires < 10 and not self.all_measured  # a piece that was measured in full has no more
        if self.wire.n < 10 or same_wires:
            outcome = "undecided"
        else:
            outcome = "met" if low.value <= mean <= high.value else "not-met"
        weak = low.weak or high.weak or self.edition.wire_count_weak
        return self.criterion("wire-diameter", outcome, self.wire.n, mean, weak, lower_um=low.value, upper_um=high.value)

    def sample_size(self):
        n = self.aperture.n
        if self.count is None:  # no count requires more than all
            return self.criterion("sample-size", "met" if self.all_measured and n else "undecided", n, n, True)
        limit = self.count.value if self.count.value != ALL else self.options.apertures_in_piece
        return self.criterion("sample-size", "met" if self.enough else "undecided", n, n, self.count_weak, limit=limit)


def viewing(options, piece):
    outcome = {"passed": "met", "failed": "not-met", None: "undecided"}[options.viewing]
    if outcome == "met" and options.suspects not in (None, len(piece.suspect_names)):
        outcome = "undecided"
    if options.measured_only and options.viewing is None:  # what was examined counts, whatever is left out
        outcome = "not-applicable"
    return dict(id="viewing", direction=None, outcome=outcome, n=None, observed=None, limits={}, weak=False)


def cautions(piece, row, spec_edition):
    """{(kind, direction)} of readings that cannot be real, from ten apertures on, where the definition leaves nothing to choose."""
    found = set()
    for direction in DIRECTIONS:
        values = piece.apertures[direction]
        if len(values) >= 10 and len(set(values)) == 1:
            found.add(("no-spread", direction))
        step = common_step(values) if values else 1
        if not spec_edition.resolution and step > max(10**6, Fraction(row.average.value, 4)):
            found.add(("coarse-step", direction))
    warp, weft = (piece.apertures[direction] for direction in DIRECTIONS)
    if len(warp) >= 10 and len(set(warp)) > 1 and warp == weft:
        found.add(("same-in-both-directions", None))
    return found


def form_verdict(criteria, options):
    """(verdict, provisional)"""
    outcomes = [c["outcome"] for c in criteria]
    if "not-met" in outcomes:
        verdict = "does-not-conform"
        provisional = all(c["weak"] for c in criteria if c["outcome"] == "not-met")
    else:
        verdict = "undecided" if "undecided" in outcomes else "conforms"
        provisional = any(c["weak"] for c in criteria if c["outcome"] != "not-applicable")
    if provisional and options.only_seen:
        verdict = "undecided"
    return verdict, provisional


def assess(piece, standard, size, grade=None, options=None):
    """The whole judgement, with exact values: lengths in picometres as int, Fraction or Decimal."""
    options = options or Options()
    spec_edition = edition(standard)
    row = spec_edition.find(size)
    assert (grade in GRADES) if spec_edition.graded else grade is None
    whole = options.apertures_in_piece
    all_measured = options.all_apertures and all(len(piece.apertures[d]) == whole for d in DIRECTIONS)
    judges = [Judge(spec_edition, row, grade, options, piece, direction, all_measured) for direction in DIRECTIONS]
    criteria = [criterion for judge in judges for criterion in judge.criteria()] + [viewing(options, piece)]
    verdict, provisional = form_verdict(criteria, options)
    return dict(cautions=cautions(piece, row, spec_edition), same_readings=sorted(piece.apertures["warp"]) == sorted(piece.apertures["weft"]), verdict=verdict, provisional=provisional, standard=standard, designation=row.designation, alternative=row.alternative or None,
                grade=grade, apertures_only=options.apertures_only, measured_only=options.measured_only and options.viewing is None, criteria=criteria,
                samples={judge.direction: {"aperture": judge.aperture, "wire": judge.wire} for judge in judges}, exit_code=EXIT_CODE[verdict])


def to_um(pm):
    if pm is None:
        return None
    with decimal.localcontext(CONTEXT):
        return nearest_double(pm / Decimal(10**6) if isinstance(pm, Decimal) else Fraction(pm) / 10**6)


def to_json(assessment):
    """The assessment in the tool's terms: micrometres as the nearest doubles."""
    result = {"schema": "sievecloth-assessment/1"}
    for key in ("verdict", "provisional", "standard", "designation", "alternative", "grade", "apertures_only", "measured_only"):
        result[key] = assessment[key]
    result["criteria"] = [criterion_to_json(c) for c in assessment["criteria"]]
    result["samples"] = {}
    for direction, sample in assessment["samples"].items():
        quantities = {quantity: statistics_to_json(s) for quantity, s in sample.items() if s.n}
        if quantities:
            result["samples"][direction] = quantities
    return result


def criterion_to_json(criterion):
    is_length = criterion["id"] not in ("share-above-intermediate", "sample-size", "viewing")
    result = {key: criterion[key] for key in ("id", "direction", "outcome") if criterion[key] is not None}
    if criterion["observed"] is not None:
        result["observed_um" if is_length else "observed"] = to_um(criterion["observed"]) if is_length else nearest_double(criterion["observed"])
    for key, limit in criterion["limits"].items():
        result[key] = to_um(limit) if key.endswith("_um") else limit
    if criterion["n"] is not None:
        result["n"] = criterion["n"]
    return result


def statistics_to_json(s):
    result = {"n": s.n, "mean_um": to_um(s.mean)}
    if s.variance is not None:
        result["standard_deviation_um"] = to_um(root(s.variance))
    return result | {"minimum_um": to_um(s.minimum), "maximum_um": to_um(s.maximum)}


def main():
    parser = argparse.ArgumentParser(description="Judges a file of readings, independently of the tool.")
    parser.add_argument("csv", type=pathlib.Path)
    parser.add_argument("--standard", required=True, choices=EDITIONS)
    parser.add_argument("--size", required=True)
    parser.add_argument("--grade", choices=GRADES)
    parser.add_argument("--viewing", choices=("passed", "failed"))
    parser.add_argument("--unit", choices=tuple(PM_PER_UNIT))
    for flag in ("measured-only", "apertures-only", "only-seen"):
        parser.add_argument(f"--{flag}", action="store_true")
    args = parser.parse_args()
    try:
        piece = read_csv(args.csv.read_bytes(), args.unit)
    except BadData as error:
        print(f"{args.csv}: {error}", file=sys.stderr)
        return 65
    options = Options(args.viewing, args.measured_only, args.apertures_only, args.only_seen)
    assessment = assess(piece, args.standard, args.size, args.grade, options)
    print(json.dumps(to_json(assessment), indent=1, ensure_ascii=False))
    return assessment["exit_code"]


if __name__ == "__main__":
    sys.exit(main())
