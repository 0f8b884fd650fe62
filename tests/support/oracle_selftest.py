# source: published values (named at each check), so that the oracle does not rest on its own results
"""Proves the oracle against numbers that nobody in this project computed. Prints `N passed, N failed`."""

import csv
import math
import statistics
import sys
from decimal import Decimal
from fractions import Fraction

import oracle
from oracle import Options, Piece, assess

UM, MM = 10**6, 10**9
passed, failures = 0, []


def check(what, found, expected):
    global passed
    if found == expected:
        passed += 1
    else:
        failures.append(f"{what}: found {found!r}, expected {expected!r}")


def near(what, found, expected, places):
    """`found` rounds to the printed decimal."""
    check(what, str(round(Decimal(found), places)), str(Decimal(expected).quantize(Decimal(1).scaleb(-places))))


def outcomes(piece, standard, size, grade=None, options=None):
    result = assess(piece, standard, size, grade, options)
    return result, {(c["id"], c["direction"]): c["outcome"] for c in result["criteria"]}


def chi_square():
    # One-sided upper multipliers sqrt((n - 1) / chi-square), computed with R.
    sizes = (15, 20, 25, 30, 40, 50, 100, 250)
    printed = {
        5000: "1.8536 1.6662 1.5581 1.4867 1.3966 1.3410 1.2200 1.1292",
        10000: "1.7332 1.5777 1.4868 1.4262 1.3491 1.3012 1.1958 1.1157",
        1350: "2.0897 1.8352 1.6921 1.5991 1.4835 1.4132 1.2631 1.1528",
    }
    for tail, row in printed.items():
        for n, value in zip(sizes, row.split()):
            near(f"K({n}) at {tail} millionths", oracle.spread_factor(n, tail), value, 4)
    # NIST/SEMATECH e-Handbook 7.2.3: the upper 5 % point of chi-square with 9 degrees of freedom is 16.92.
    near("chi-square 9, 95 %", oracle.chi_square_quantile(9, 950000), "16.92", 2)
    # Two degrees of freedom have a closed form: -2 ln(1 - p).
    exact = oracle.CONTEXT.multiply(-2, oracle.CONTEXT.ln(Decimal("0.995")))
    check("chi-square 2", abs(oracle.chi_square_quantile(2, 5000) - exact) < Decimal("1e-45"), True)
    check("pi", str(oracle.pi())[:32], "3.141592653589793238462643383279"[:32])
    for twice in range(1, 60):
        check(f"gamma({twice}/2)", math.isclose(float(oracle.gamma_half(twice)), math.gamma(twice / 2), rel_tol=1e-14), True)


def gb_t_annex_a():
    # GB/T 6003.1-2012 Annex A (from the 2000 edition of ISO 3310-1), w = 2.0 mm: class value x count.
    short = [1859] * 3 + [1906] * 5 + [1953] * 11 + [2000] * 6
    long = [1859] * 2 + [1906] * 4 + [1953] * 9 + [2000] * 20 + [2047] * 10 + [2094] * 3 + [2141] * 2
    piece = Piece()
    piece.apertures["warp"] = [v * UM for v in short]
    result, got = outcomes(piece, "iso-3310-1-2016", "2 mm", "inspection")
    sample = result["samples"]["warp"]["aperture"]
    near("n 25 mean", Decimal(float(sample.mean)) / MM, "1.9436", 4)
    near("n 25 s", oracle.root(sample.variance) / MM, "0.04500", 5)
    spread = next(c for c in result["criteria"] if c["id"] == "aperture-standard-deviation")
    near("n 25 K s", spread["observed"] / MM, "0.070", 3)
    check("n 25 spread", got["aperture-standard-deviation", "warp"], "met")
    check("n 25 average", got["average-aperture", "warp"], "met")
    check("n 25 verdict", (result["verdict"], result["provisional"]), ("undecided", True))
    piece.apertures["warp"] = [v * UM for v in long]
    result, got = outcomes(piece, "iso-3310-1-2016", "2 mm", "calibration")
    sample = result["samples"]["warp"]["aperture"]
    near("n 50 mean", Decimal(float(sample.mean)) / MM, "1.99906", 5)
    near("n 50 s", oracle.root(sample.variance) / MM, "0.06116", 5)
    check("n 50 calibration spread", got["aperture-standard-deviation", "warp"], "undecided")
    spread = next(c for c in result["criteria"] if c["id"] == "aperture-standard-deviation")
    near("n 50 K s at 0.00135", spread["observed"] / UM, "86.4", 1)
    result, got = outcomes(piece, "iso-3310-1-2016", "2 mm", "inspection")
    spread = next(c for c in result["criteria"] if c["id"] == "aperture-standard-deviation")
    near("n 50 K s at 0.005", spread["observed"] / UM, "82.0", 1)
    check("n 50 inspection spread", got["aperture-standard-deviation", "warp"], "met")


def iso_1990():
    # European Pharmacopoeia 8.0, chapter 2.1.4 [um]: w, X, Y, Z, wire nominal, maximum, minimum.
    printed = """11200 770 350 560 2500 2900 2100
8000 600 250 430 2000 2300 1700
5600 470 180 320 1600 1900 1300
4000 370 130 250 1400 1700 1200
2800 290 90 190 1120 1300 950"""
    for line in printed.splitlines():
        w, x, y, z, _, wire_max, wire_min = (int(v) * UM for v in line.split())
        row = oracle.edition("iso-3310-1-1990").find(f"{w // UM} um")
        check(f"1990, {w // UM}", (row.maximum.value, row.average.value, row.intermediate.value - w), (x, y, z))
        check(f"1990, {w // UM}, wire", (row.wire_minimum.value, row.wire_maximum.value), (wire_min, wire_max))
    check("1990, 2000", oracle.formula_1990("2000"), (230 * UM, 70 * UM, 150 * UM))
    # GOST 6613-86 [um]: average deviation Y, and the range Z..X in which only a limited share of the apertures may lie. It prints whole
    # micrometres at 250 and tens from 500 on: X to the nearest, Y and Z rounded up.
    for w, y, z, x, step in ((250, 10, 34, 58, 1), (500, 20, 60, 90, 10), (1000, 40, 90, 140, 10), (2000, 70, 150, 230, 10), (2500, 90, 180, 260, 10)):
        x_found, y_found, z_found = (value / step for value in oracle.unrounded_1990(str(w)))
        check(f"GOST {w}", (round(x_found) * step, math.ceil(y_found) * step, math.ceil(z_found) * step), (x, y, z))


def printed_tables():
    # The 1990 formulas reproduce the X printed in E11-17, in all 56 rows, at its rounding.
    for line in oracle.printed("astm-e11-17"):
        x, _, _ = oracle.formula_1990(line["nominal_um"])
        check(f"X of {line['designation']}", x, int(line["maximum_tolerance_um"]) * UM)
    check("sizes", [len(oracle.edition(name).rows) for name in oracle.EDITIONS], [56, 99, 99, 56])
    # Rows between two E11 sizes use the greater count; 28 mm lies between 31.5 mm (all) and 26.5 mm (15).
    iso = oracle.edition("iso-3310-1-2016")
    check("count of 28 mm", iso.find("28 mm").counts["inspection"].value, oracle.ALL)
    check("count of 2.24 mm", iso.find("2.24 mm").counts["calibration"].value, 50)
    check("count of 710 um", iso.find("710um").counts["compliance"].value, 50)
    check("wires of 600 um, E11-04", oracle.edition("astm-e11-04").find("600 um").wire_minimum.value, 360_750_000)
    check("wires of 710 um, E11-04", oracle.edition("astm-e11-04").find("No. 25").wire_minimum.value, 427_500_000)


def nist():
    # NIST StRD, univariate: certified mean and standard deviation, all 15 digits.
    def column(name):
        lines = (oracle.DATA.parent / "reference" / name).read_text().splitlines()
        start = next(i for i, line in enumerate(lines) if line.startswith("-----"))
        return [line.split()[0] for line in lines[start + 1 :]]

    for name, n, mean, s in (
        ("LEW.DAT", 200, "-177.435000000000", "277.332168044316"),
        ("MAVRO.DAT", 50, "2.00185600000000", "0.000429123454003053"),
        ("MICHELSO.DAT", 100, "299.852400000000", "0.0790105478190518"),
        ("LOTTERY3.DAT", 218, "518.958715596330", "291.699727470969"),
        ("NUMACC1.DAT", 3, "10000002", "1"),
        ("NUMACC2.DAT", 1001, "1.2", "0.1"),
        ("NUMACC3.DAT", 1001, "1000000.2", "0.1"),
        ("NUMACC4.DAT", 1001, "10000000.2", "0.1"),
    ):
        got = oracle.describe([int(Decimal(word) * 10**12) for word in column(name)])
        check(f"{name} n", got.n, n)
        mean_found = Decimal(got.mean.numerator) / Decimal(got.mean.denominator) / 10**12
        near(f"{name} mean", mean_found, mean, -Decimal(mean).as_tuple().exponent)
        near(f"{name} s", oracle.root(got.variance) / 10**12, s, -Decimal(s).as_tuple().exponent)


def by_hand():
    # identity: verdicts that follow from the rules by hand.
    good = Piece()
    for direction in oracle.DIRECTIONS:
        good.apertures[direction] = [(70 + i % 11) * UM for i in range(110)]
        good.wires[direction] = [50 * UM] * 10
    e11 = ("astm-e11-17", "No. 200", "inspection")
    result, got = outcomes(good, *e11, Options(viewing="passed"))
    check("good", (result["verdict"], result["provisional"]), ("conforms", True))
    check("average of the good one", got["average-aperture", "weft"], "met")
    check("no share in E11-17", got["share-above-intermediate", "warp"], "not-applicable")
    result, _ = outcomes(good, *e11, Options(viewing="passed", apertures_only=True))
    check("apertures only", (result["verdict"], result["provisional"]), ("conforms", True))
    result, _ = outcomes(good, *e11, Options(viewing="passed", only_seen=True))
    check("only seen", result["verdict"], "undecided")
    result, _ = outcomes(good, *e11, Options())
    check("viewing not recorded", result["verdict"], "undecided")
    result, _ = outcomes(good, *e11, Options(viewing="failed"))
    check("viewing failed", (result["verdict"], result["provisional"]), ("does-not-conform", False))
    check("the same readings in both directions", ("same-in-both-directions", None) in outcomes(good, *e11)[0]["cautions"], True)
    recorded = lambda number: outcomes(good, *e11, Options(viewing="passed", suspects=number))[1]["viewing", None]
    check("no suspects recorded, none named", recorded(0), "met")
    check("one suspect recorded, none named", recorded(1), "undecided")
    old = ("iso-3310-1-1990", "75 um", None)
    check("count not known", outcomes(good, *old, Options(viewing="passed"))[1]["sample-size", "warp"], "undecided")
    check("agreed count", outcomes(good, *old, Options(viewing="passed", agreed_count=110))[1]["sample-size", "warp"], "met")
    check("fewer than agreed", outcomes(good, *old, Options(viewing="passed", agreed_count=111))[1]["average-aperture", "warp"], "undecided")
    check("average against a count not known", outcomes(good, *old, Options(viewing="passed"))[1]["average-aperture", "warp"], "undecided")
    all_but_some = Options(viewing="passed", all_apertures=True, apertures_in_piece=5000)
    check("all apertures, and not all measured", outcomes(good, *e11, all_but_some)[1]["sample-size", "warp"], "undecided")
    good.suspects["weft"] = [46 * UM]  # w - X
    check("small suspect on the bound", outcomes(good, *e11)[1]["maximum-aperture", "weft"], "met")
    good.suspects["weft"] = [46 * UM - 1]
    check("small suspect below it", outcomes(good, *e11)[1]["maximum-aperture", "weft"], "undecided")
    good.suspects["weft"] = [104 * UM]
    check("suspect on the limit", outcomes(good, *e11)[1]["maximum-aperture", "weft"], "met")
    good.suspects["weft"] = [104 * UM + 1]
    check("suspect above it", outcomes(good, *e11)[1]["maximum-aperture", "weft"], "not-met")
    short = Piece()
    short.apertures["warp"] = [90 * UM] * 3
    result, got = outcomes(short, *e11, Options(measured_only=True))
    check("three bad readings do not fail", result["verdict"], "undecided")
    short.apertures["warp"] = [104 * UM + 1]
    check("one oversize aperture does", outcomes(short, *e11)[0]["verdict"], "does-not-conform")
    coarse = Piece()
    coarse.apertures["warp"] = [v * UM for v in (70, 75, 80, 85) * 5]
    got = outcomes(coarse, *old, Options(agreed_count=20))[1]
    check("5 um steps at 75 um", [got[id, "warp"] for id in ("average-aperture", "maximum-aperture", "share-above-intermediate")],
          ["undecided", "undecided", "met"])
    coarse.suspects["warp"] = [110 * UM]
    check("well above the limit in coarse steps", outcomes(coarse, "iso-3310-1-1990", "75 um")[1]["maximum-aperture", "warp"], "not-met")
    whole = Piece()
    for direction in oracle.DIRECTIONS:
        whole.apertures[direction] = [50 * MM] * 12
        whole.wires[direction] = [5 * MM] * 10
    options = Options(viewing="passed", all_apertures=True, apertures_in_piece=12)
    check("all apertures", outcomes(whole, "astm-e11-17", "50 mm", "inspection", options)[0]["verdict"], "conforms")
    check("without a job", outcomes(whole, "astm-e11-17", "50 mm", "inspection", Options(viewing="passed"))[0]["verdict"], "undecided")
    # A 300 mm frame requires (300/200)^2 = 2.25 times 15, rounded up.
    row, spec = oracle.edition("iso-3310-1-2016").find("16 mm"), oracle.edition("iso-3310-1-2016")
    check("300 mm frame", oracle.required_count(row, spec, "inspection", Options(frame_diameter=300 * MM)).value, 34)
    # 1220 mm x 30 m = 36.6 m2 = 3.9396 x 100 square feet.
    row, spec = oracle.edition("astm-e11-17").find("5.6 mm"), oracle.edition("astm-e11-17")
    check("roll", oracle.required_count(row, spec, "compliance", Options(roll_area=1220 * MM * 30000 * MM)).value, 591)
    check("short roll", oracle.required_count(row, spec, "compliance", Options(roll_area=1220 * MM * 1000 * MM)).value, 150)
    values = [3, 1, 4, 1, 5, 9, 2, 6]
    check("variance", oracle.describe(values).variance, statistics.variance(map(Fraction, values)))


def reading():
    def reads(text, unit=None):
        data = text if isinstance(text, bytes) else text.encode()
        try:
            piece = oracle.read_csv(data, unit)
        except oracle.BadData:
            return None
        return [v for part in (piece.apertures, piece.suspects, piece.wires) for d in oracle.DIRECTIONS for v in part[d]]

    check("um", reads("direction,aperture_um\nwarp,75.31\n"), [75_310_000])
    check("inch", reads("direction\taperture_in\nshute\t0,0029\n"), [73_660_000])
    check("quoted, CRLF, BOM", reads(b'\xef\xbb\xbfdirection;"wire_mm"\r\nwarp;"0,05"\r\n'), [50_000_000])
    check("unit by option", reads("direction,aperture\nwarp,75\n", "um"), [75_000_000])
    check("UTF-16", reads("\ufeffdirection,aperture_um\nwarp,.5\n".encode("utf-16-be")), [500_000])
    check("micro sign of Windows-1252", reads(b"direction,aperture (\xb5m)\nwarp,75\n"), [75_000_000])
    check("unit behind a blank", reads("direction,aperture um\nwarp,75\n"), [75_000_000])
    bad = ("", "direction,aperture in\nwarp,1\n", "direction,aperture_um\n", "direction,aperture\nwarp,75\n", "direction,aperture_um,colour\nwarp,75,red\n")
    for text in bad:
        check(f"bad {text!r}", reads(text), None)
    for cell in ("NaN", "inf", "0", "0.000", "-75", "1e5", "1,234.5", "75.1234567", "+75", ".", "5.", "7 5", "0x4B", "\u0667\u0665", "100000001.1"):
        check(f"bad cell {cell!r}", reads(f"direction,aperture_um\nwarp,{cell}\n"), None)
    check("thirteen decimals that end in zeros", reads("direction,aperture_um\nwarp,75.1234560000000\n"), [75_123_456])
    check("two marks", reads("direction;aperture_um\nwarp;75,1\nwarp;75.1\n"), None)
    check("position twice", reads("direction,aperture_um,x_mm,y_mm\nwarp,75,1,2\nwarp,76,1.0,2\n"), None)
    check("position in two directions", reads("direction,aperture_um,x_mm,y_mm\nwarp,75,-1,2\nweft,76,-1,2\n"), [75_000_000, 76_000_000])
    check("csv module agrees", oracle.split_row('a,"b,""c""",', ","), next(csv.reader(['a,"b,""c""",'])))


for part in (chi_square, gb_t_annex_a, iso_1990, printed_tables, nist, by_hand, reading):
    part()
for failure in failures:
    print(failure)
print(f"{passed} passed, {len(failures)} failed")
sys.exit(1 if failures or passed < 200 else 0)
