# boundary: the output of plan, cloth, match and gauge, as in docs/cli.md; no real measurement
"""Cases of cli_test.py for the verbs beside check."""

from cli_test import Case

PLAN = ["plan", "--standard", "iso-3310-1-2016", "--size", "75um", "--grade", "inspection"]


def readings(mean, spread, n=110, wire=50, wires=10):
    lines = ["direction,aperture_um,wire_um"]
    for direction in ("warp", "weft"):
        for i in range(n):
            steps = 0 if direction == "weft" and i == 0 else i % 11 - 5  # in no real piece are warp and weft the same
            lines.append(f"{direction},{mean + steps * spread / 3.2:.3f},{wire if i < wires else ''}")
    return "\n".join(lines) + "\n"


def study(shift):
    """One person's readings: five apertures, three times each; a little off in turn."""
    lines = ["direction,field,aperture_um"]
    for trial in range(3):
        for aperture in range(5):
            lines.append(f"warp,{aperture},{70 + 2 * aperture + shift + (trial + aperture) % 3 * 0.1:.1f}")
    return "\n".join(lines) + "\n"


HOUSE = """schema: sievecloth-table/1
standard: house
edition: "3"
title: House rules 3
unit: um
rests_on: our own drawing
sources: [{id: drawing, title: "Drawing 12"}]
defaults: {rows: {provenance: seen, source: drawing}}
rules:
  graded: false
  wire_count: {value: "12", provenance: seen, source: drawing}
rows:
  - {nominal: "77", average_tolerance: "4", maximum_tolerance: "29", wire: {preferred: "50", minimum: "43", maximum: "58"}}
"""
STUDY = {"anna.csv": study(0), "ben.csv": study(0.2), "carla.csv": study(-0.1)}
SMALL = {"anna.csv": "direction,field,aperture_um\nwarp,1,70\nwarp,1,70.1\nwarp,2,80.2\nwarp,2,80.1\n",
         "ben.csv": "direction,field,aperture_um\nwarp,1,70.3\nwarp,1,70.2\nwarp,2,80.2\nwarp,2,80.4\n"}
GAUGE = ["gauge", "anna.csv", "ben.csv", "carla.csv"]

CHECK = ["check", "d.csv", "--standard", "astm-e11-17", "--size", "75um", "--grade", "inspection", "--viewing", "passed"]
JOB = """schema: sievecloth-job/1
standard: astm-e11-17
size: "No. 200"
grade: inspection
measured: {resolution: "0.5 um"}
uncertainty: {scale_factor: "0.0005", scale_offset: "0.1 um", repeatability: "0.4 um", repeatability_readings: 20}
process: {mean: "75.2 um", standard_deviation: "0.9 um"}
decision: {rule: guarded-acceptance, guard_factor: "1"}
viewing: {result: passed}
readings: d.csv
"""
COARSE = JOB.replace("0.1 um", "4 um")  # U of 8 um against 2 Y = 8.2 um


def in_order(alternating):
    """Gaps in their order: neighbours share a wire, and with a displaced reed dent they are alternating wide and narrow."""
    lines = ["direction,aperture_um"]
    state = 1
    for direction in ("warp", "weft"):
        for i in range(120):
            state = state * 48271 % 2147483647
            lines.append(f"{direction},{75 + (state % 9001 - 4500) / 1500 + alternating * (3 if i % 2 else -3):.3f}")
    return "\n".join(lines) + "\n"


CASES = [
    Case("how sure: text", [*CHECK, "--how-sure"], 0, files={"d.csv": readings(75, 3)},
         out=("conforms", "Measurement uncertainty and sampling confidence", "simple-acceptance", "parallel to the warp", "independent", "above 104", "all", "signs of weave faults")),
    Case("how sure: JSON", [*CHECK, "--how-sure", "--json"], 0, files={"d.csv": readings(75, 3)}, json={"verdict": "conforms"}),
    Case("how sure: job", ["check", "job.yaml", "--how-sure"], 0, files={"job.yaml": JOB, "d.csv": readings(75, 3)},
         out=("conforms", "guarded-acceptance", "U of the mean", "conformity", "consumer's risk", "producer's risk")),
    Case("how sure: a displaced reed dent", [*CHECK, "--apertures-only", "--how-sure", "--contiguous"], 0, files={"d.csv": in_order(1)},
         out=("signs of weave faults", "alternating wide and narrow", "lag-1 correlation", "displaced reed dents", "common practice")),
    Case("how sure: good cloth in order", [*CHECK, "--apertures-only", "--how-sure", "--contiguous"], 0, files={"d.csv": in_order(0)},
         out=("signs of weave faults", "0 of", "Nonsignificant tests", "critical value"), without=("the trade suspects",)),
    Case("how sure: contiguous alone", [*CHECK, "--contiguous"], 64, files={"d.csv": readings(75, 3)}, err=("--how-sure",)),
    Case("decision: guarded, near the limit", ["check", "job.yaml"], 1, files={"job.yaml": JOB, "d.csv": readings(79, 3)},
         out=("does-not-conform", "guarded-acceptance")),
    Case("decision: the same under simple acceptance", ["check", "job.yaml", "--decision", "simple-acceptance"], 0,
         files={"job.yaml": JOB, "d.csv": readings(79, 3)}, out=("conforms",)),
    Case("decision: four outcomes", ["check", "job.yaml", "--decision", "four-outcomes"], 2, files={"job.yaml": JOB, "d.csv": readings(79, 3)},
         out=("undecided", "conditional")),
    Case("decision: an instrument that cannot", ["check", "job.yaml"], 2, files={"job.yaml": COARSE, "d.csv": readings(75, 3)},
         out=("undecided", "cannot decide")),
    Case("decision: nothing known of the uncertainty", [*CHECK, "--decision", "guarded-acceptance"], 2, files={"d.csv": readings(75, 3)},
         out=("undecided", "not fully known")),
    Case("decision: unknown rule", ["check", "job.yaml"], 65, files={"job.yaml": JOB.replace("guarded-", "great-"), "d.csv": readings(75, 3)},
         at=[("job.yaml", 8, None, "great-acceptance")]),
    Case("decision: no part", ["check", "job.yaml"], 65, files={"job.yaml": JOB.replace('"1"', '"3.1"'), "d.csv": readings(75, 3)},
         at=[("job.yaml", 8, None, "3.1")]),
    Case("how sure: one reading", [*CHECK, "--how-sure"], 2, files={"d.csv": "direction,aperture_um\nwarp,75\n"},
         out=("independent", "1", "withheld", "at least three readings", "at most 95.0 %", "nothing can be said", "No test could be made"), without=(" nan", " inf ")),
    Case("how sure: all readings equal", [*CHECK, "--how-sure", "--apertures-only"], 0, files={"d.csv": readings(75, 0)}, err=("warning", "the same"),
         out=("without a spread", "no interval", "all values are equal"), without=("needed, mean", " nan", " inf ")),
    Case("how sure: one field only", [*CHECK, "--how-sure", "--apertures-only"], 0,
         files={"d.csv": "direction,field,aperture_um\n" + "".join(f"{d},f,{75 + i % (5 if d == 'warp' else 4)}\n" for d in ("warp", "weft") for i in range(100))},
         out=("fields of view taken as independent, with 100 readings", "mean of the piece", "withheld", "all readings lie in one gap or one field of view"), without=("at most 95.0 %",)),
    Case("how sure: suspects alone", [*CHECK, "--how-sure", "--apertures-only"], 2, files={"d.csv": "direction,aperture_um,role\nwarp,99,suspect\n"},
         out=("No reading of the sample", "No test could be made", "Not measured")),
    Case("how sure: wires alone", [*CHECK, "--how-sure"], 2, files={"d.csv": "direction,wire_um\n" + "".join(f"warp,{50 + i % 4}\n" for i in range(12))},
         out=("No reading of the sample", "aperture, parallel to the warp", "only one direction")),
    Case("plan: an owner's table", ["plan", "--tables", "own.yaml", "--standard", "house-3", "--size", "77um"], 0, files={"own.yaml": HOUSE},
         out=("House rules 3", "12")),
    Case("cloth: an owner's table", ["cloth", "--aperture", "77um", "--wire", "50um", "--tables", "own.yaml"], 0, files={"own.yaml": HOUSE},
         out=("ASTM E11-17", "House rules 3", "77")),
    Case("match: an owner's table", ["match", "d.csv", "--viewing", "passed", "--tables", "own.yaml"], 0,
         files={"own.yaml": HOUSE, "d.csv": readings(77, 3, wires=12)}, out=("House rules 3",)),
    Case("gauge: an owner's table", [*GAUGE, "--tables", "own.yaml", "--standard", "house-3", "--size", "77um"], 0, files=STUDY | {"own.yaml": HOUSE},
         out=("Against the tolerances of 77", "8.000")),
    Case("plan: the best that none in 100 can show, 1 - 0.05^(1/100)", [*PLAN, "--scattered"], 0, out=("above w + X, at best", "at most 2.95 %")),
    Case("plan: the best that none in 10 fields can show, 1 - 0.05^(1/10)", PLAN, 0, out=("above w + X, at best", "at most 25.9 %", "a field counts once")),
    Case("plan: a field of view", [*PLAN, "--frame", "200mm", "--field", "575um"], 0, out=("20", "runs of up to 5", "field of view 575")),
    Case("plan: a field of view of scattered apertures", [*PLAN, "--field", "1mm", "--scattered"], 64, err=("--scattered", "--field")),
    Case("plan: a field of view without a unit", [*PLAN, "--field", "1"], 64, err=("--field", "unit")),
    Case("plan: scattered over a sieve", [*PLAN, "--frame", "200mm", "--scattered"], 0, out=("seed 1, scattered, version 2", "more: --csv")),
    Case("plan: scattered, to fill in", [*PLAN, "--frame", "200mm", "--scattered", "--csv", "-"], 0,
         out=("direction,field,x_mm,y_mm,aperture_um,wire_um",), without=("resolution",)),
    Case("plan: millimetres from 1 mm on", [*PLAN[:3], "--size", "4mm", "--grade", "inspection", "--frame", "200mm", "--csv", "-"], 0,
         out=("direction,field,gap,x_mm,y_mm,aperture_mm,wire_mm",)),
    Case("plan: every aperture of a coarse sieve", [*PLAN[:3], "--size", "63mm", "--grade", "inspection", "--frame", "200mm"], 0,
         out=("every full aperture", "apertures_in_piece")),
    Case("plan: a mounted sieve", [*PLAN, "--frame", "200mm", "--seed", "7"], 0,
         out=("ISO 3310-1:2016", "apertures", "100", "on the centre lines", "wires", "10", "resolution", "seed 7, fields, version 2", "same chance", "parallel to the warp", "1w", "parallel to the weft")),
    Case("plan: JSON", [*PLAN, "--frame", "200mm", "--json"], 0, json={"schema": "sievecloth-plan/1", "standard": "iso-3310-1-2016", "seed": 1, "method": "fields", "method_version": 2}),
    Case("plan: a roll", [*PLAN, "--width", "48in", "--length", "30m"], 0, out=("1219.2 mm wide", "30000 mm long", "left", "centre", "right")),
    # boundary: the largest seed and the first beyond it; digits that a C programmer's reader takes for base 8 or 16
    Case("plan: the largest seed", [*PLAN, "--frame", "200mm", "--seed", "9223372036854775807"], 0, out=("seed 9223372036854775807",)),
    *[Case(f"plan: seed {seed}", [*PLAN, "--frame", "200mm", "--seed", seed], 64, err=("--seed", f"'{seed}'", "plain digits"))
      for seed in ("9223372036854775808", "010", "0x10", "1.5")],
    Case("plan: a table to fill in", [*PLAN, "--square", "300mm", "--csv", "-"], 0, out=("# ", "seed 1, fields, version 2", "direction,field,gap,x_mm,y_mm,aperture_um,wire_um", "warp,1,35,0,-139.25,,", "warp,2w,", "weft,"), without=("resolution",)),
    Case("plan: a picture", [*PLAN, "--frame", "200mm", "--picture", "-"], 0, out=("<svg", "<title>", "<circle", "parallel to the warp", "</svg>")),
    Case("plan: nothing known of the piece", PLAN, 0, out=("100", "No frame or roll")),
    Case("plan: no places to write", [*PLAN, "--csv", "p.csv"], 64, err=("--frame",)),
    Case("plan: cannot be created", [*PLAN, "--frame", "200mm", "--csv", "no/p.csv"], 73, err=("no/p.csv",)),
    Case("plan: no unit", [*PLAN, "--frame", "200"], 64, err=("200", "unit")),
    Case("plan: frame and roll", [*PLAN, "--frame", "200mm", "--width", "1m", "--length", "1m"], 64, err=("--width",)),
    Case("plan: half a roll", [*PLAN, "--width", "1m"], 64, err=("--length",)),
    Case("plan: a clear part wider than the frame", [*PLAN, "--frame", "200mm", "--clear", "201mm"], 64, err=("201 mm", "200 mm")),
    Case("plan: no aperture fits", [*PLAN[:-3], "125mm", "--grade", "inspection", "--frame", "100mm"], 64, err=("full aperture",)),
    Case("cloth: aperture and wire", ["cloth", "--aperture", "75um", "--wire", "50um", "--alloy", "304"], 0,
         out=("125 \u00b5m", "203.20", "36.00 %", "6400", "0.2491 kg/m\u00b2", "ASTM E11-17", "75 \u00b5m (No. 200)", "within the permitted")),
    Case("cloth: mesh and wire", ["cloth", "--mesh", "203.2", "--wire", "0.05mm"], 0, out=("75 \u00b5m", "Mass needs a material")),
    Case("cloth: JSON", ["cloth", "--pitch", "125um", "--wire", "50um", "--json"], 0, json={"schema": "sievecloth-cloth/1"}),
    Case("cloth: one measure", ["cloth", "--aperture", "75um"], 64, err=("two of",)),
    Case("cloth: contradiction", ["cloth", "--aperture", "75um", "--wire", "50um", "--pitch", "130um"], 64, err=("contradict",)),
    Case("cloth: no number", ["cloth", "--aperture", "75um", "--mesh", "many"], 64, err=("many",)),
    Case("cloth: unknown alloy", ["cloth", "--aperture", "75um", "--wire", "50um", "--alloy", "gold"], 64, err=("gold",)),
    Case("match: a No. 200", ["match", "d.csv", "--viewing", "passed"], 0, files={"d.csv": readings(75, 3)},
         out=("Met", "75 \u00b5m (No. 200), ASTM E11-17, inspection", "Nearest misses")),
    Case("match: too few readings for a far size", ["match", "d.csv", "--viewing", "passed"], 0, files={"d.csv": readings(75, 3, n=90)},
         out=("Not decided", "75 \u00b5m (No. 200), ASTM E11-17, inspection", "sample-size; average-aperture", "Nearest misses", "so far, n = 90"),
         without=("63 \u00b5m (No. 230), ASTM E11-17, inspection    nothing fails",)),
    Case("match: off grade", ["match", "d.csv"], 0, files={"d.csv": readings(82, 3)},
         out=("Nearest misses", "average-aperture", "Judged by measured quantities alone")),
    Case("match: JSON", ["match", "d.csv", "--json"], 0, files={"d.csv": readings(75, 3)}, json={"schema": "sievecloth-match/1"}),
    Case("match: no such file", ["match", "none.csv"], 66, err=("none.csv",)),
    Case("match: bad data", ["match", "d.csv"], 65, files={"d.csv": "direction,aperture_um\nwarp,x\n"}, at=[("d.csv", 2, 6, "x")]),
    Case("gauge: three people", [*GAUGE, "--standard", "astm-e11-17", "--size", "75um"], 0, files=STUDY,
         out=("5 apertures, 3 people, 3 readings each", "repeatability", "reproducibility", "categories", "one reading", "maximum", "mean of 100", "undecided, from", "Bias of each person", "anna", "ben", "carla",
              "95 % confidence interval")),
    Case("gauge: the mean of a stated number", [*GAUGE, "--standard", "astm-e11-17", "--size", "75um", "--averaged", "7"], 0, files=STUDY, out=("mean of 7",)),
    Case("gauge: the mean without a size", [*GAUGE, "--averaged", "7"], 64, files=STUDY, err=("--size",)),
    Case("gauge: two files of one name", ["gauge", "a/one.csv", "b/one.csv"], 0, files={"a": None, "b": None, "a/one.csv": study(0), "b/one.csv": study(0.1)},
         out=("a/one.csv", "b/one.csv")),
    Case("gauge: a file given twice", ["gauge", "anna.csv", "./anna.csv"], 65, files=STUDY, err=("./anna.csv", "is the same file as anna.csv")),
    Case("plan: the count is not known", ["plan", "--standard", "astm-e11-04", "--size", "75um", "--frame", "8in"], 0,
         out=("How many apertures this edition requires is not known",), without=("No frame",)),
    Case("gauge: too small a study", ["gauge", "anna.csv", "ben.csv", "--standard", "astm-e11-17", "--size", "75um"], 0, files=SMALL,
         out=("2 apertures, 2 people, 2 readings each", "no interval", "undecided", "too small"), without=("  fit:", "  marginal:", "  unfit:", "  cannot-decide:")),
    Case("gauge: without a tolerance", GAUGE, 0, files=STUDY, out=("--standard and --size",)),
    Case("gauge: JSON", [*GAUGE, "--json"], 0, files=STUDY, json={"schema": "sievecloth-gauge/1"}),
    Case("gauge: one person", ["gauge", "anna.csv"], 65, files=STUDY, err=("at least two apertures, two people",)),
    Case("gauge: a reading missing", GAUGE, 65, files=STUDY | {"ben.csv": study(0.2).rsplit("\n", 2)[0] + "\n"}, err=("equally often",)),
    Case("gauge: no field", GAUGE, 65, files=STUDY | {"ben.csv": "direction,aperture_um\nwarp,75\n"}, err=("ben.csv:2", "field")),
]
