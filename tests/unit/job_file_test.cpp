#include "sievecloth/job_file.hpp"

#include <gtest/gtest.h>

namespace sievecloth {
namespace {

constexpr const char* k_whole_job = R"(schema: sievecloth-job/1
standard: iso-3310-1-2016
size: 75um
grade: calibration
piece:
  identification: T-17
  frame: {shape: round, diameter: "8 in", depth: "50 mm"}
all_apertures: true
apertures_in_piece: 12
measured: {by: "A. B.", date: "2026-11-20", instrument: projector, resolution: "0.5 um"}
viewing: {result: failed, suspects: 3}
only_seen: true
readings: |
  direction,aperture_um
  warp,75
)";

// The errors, as `code line column`, in order.
std::string complaints(const std::string& yaml) {
  const Result<Job> job = read_job(yaml, "job.yaml");
  if (job.ok()) return "none";
  std::string text;
  for (const Error& error : job.errors()) {
    text += std::to_string(static_cast<int>(error.code)) + " " + std::to_string(error.where.line) + " " +
            std::to_string(error.where.column) + "; ";
  }
  return text;
}

TEST(JobFile, EveryPart) {
  // identity: each value arrives in its own field
  const Job job = read_job(k_whole_job, "job.yaml").value();
  EXPECT_EQ(job.standard->text, "iso-3310-1-2016");
  EXPECT_EQ(job.size->where.line, 3);
  EXPECT_EQ(job.grade->text, "calibration");
  ASSERT_TRUE(job.piece.frame.has_value());
  EXPECT_EQ(job.piece.frame->size, Length::from_pm(203'200'000'000));
  EXPECT_TRUE(job.piece.all_apertures);
  EXPECT_EQ(job.piece.apertures_in_piece, 12);
  EXPECT_EQ(job.measured.resolution, Length::from_pm(500'000));
  EXPECT_FALSE(job.viewing->passed);
  EXPECT_EQ(job.viewing->suspects, 3);
  EXPECT_TRUE(job.only_seen);
  EXPECT_FALSE(job.measured_only);
  EXPECT_EQ(job.readings.text, "direction,aperture_um\nwarp,75\n");
  EXPECT_EQ(job.readings.first_line, 14);
  EXPECT_EQ(job.readings.indentation, 2);
}

TEST(JobFile, FilesOfReadings) {
  // identity: one file, several, or one of each direction; boundary: none, one of them twice, one that is no name
  const std::string head = "schema: sievecloth-job/1\nreadings: ";
  const auto files = [&](const std::string& text) {
    std::string names;
    for (const NamedFile& file : read_job(head + text + "\n", "job.yaml").value().readings.files)
      names += file.name + (file.direction ? "=" + std::string(to_text(*file.direction)) : "") + " ";
    return names;
  };
  EXPECT_EQ(files("a.csv"), "a.csv ");
  EXPECT_EQ(files("[b.csv, a.csv]"), "b.csv a.csv ");
  EXPECT_EQ(files("{weft: b.csv, warp: a.csv}"), "a.csv=warp b.csv=weft ");
  EXPECT_EQ(files("{weft: b.csv}"), "b.csv=weft ");
  EXPECT_EQ(complaints(head + "[]\n"), "306 2 11; ");
  EXPECT_EQ(complaints(head + "[a.csv, a.csv]\n"), "306 2 19; ");
  EXPECT_EQ(complaints(head + "{warp: a.csv, weft: a.csv}\n"), "306 2 31; ");
  EXPECT_EQ(complaints(head + "{warp: a.csv, across: b.csv}\n"), "302 2 25; ");
  EXPECT_EQ(complaints(head + "[a.csv, [b.csv]]\n").substr(0, 8), "305 2 19");
}

TEST(JobFile, Columns) {
  // identity: each name arrives with what its column holds; boundary: a name twice, units that differ, a role of one direction
  const std::string head = "schema: sievecloth-job/1\nreadings: a.csv\n";
  const Job job =
      read_job(head + "columns: {direction: R, operator: P, unit: mm, warp: {aperture: K}, weft: {aperture: S, gap: N}}\n",
               "job.yaml")
          .value();
  const std::vector<NamedColumn> expected{{"R", "direction"},
                                          {"P", "operator"},
                                          {"K", "aperture", Direction::warp},
                                          {"S", "aperture", Direction::weft},
                                          {"N", "gap", Direction::weft}};
  EXPECT_EQ(job.columns, expected);
  EXPECT_EQ(job.unit, Unit::millimetre);
  EXPECT_EQ(complaints(head + "unit: um\ncolumns: {unit: um}\n"), "none");
  EXPECT_EQ(complaints(head + "unit: um\ncolumns: {unit: mm}\n"), "306 4 17; ");
  EXPECT_EQ(complaints(head + "columns: {aperture: A, wire: A}\n"), "306 3 30; ");
  EXPECT_EQ(complaints(head + "columns: {warp: {role: A}}\n"), "302 3 18; ");
  EXPECT_EQ(complaints(head + "columns: {colour: A}\n"), "302 3 11; ");
}

TEST(JobFile, ScaleAndUncertainty) {
  // identity: what a report states about the instrument arrives in full, and what is not given stays open
  const auto measured = [](std::string_view record) {
    return read_job("schema: sievecloth-job/1\nreadings: a.csv\nmeasured: " + std::string(record) + "\n", "job.yaml")
        .value()
        .measured;
  };
  const MeasurementRecord whole = measured(
      "{scale: {certificate: C-17, date: \"2026-02-01\", due: \"2027-02-01\", correction: applied}, "
      "uncertainty: {budget: U-7, expanded: \"0.6 um\", coverage_factor: \"2\"}}");
  ASSERT_TRUE(whole.scale.has_value());
  EXPECT_EQ(whole.scale->certificate, "C-17");
  EXPECT_EQ(whole.scale->date, "2026-02-01");
  EXPECT_EQ(whole.scale->due, "2027-02-01");
  EXPECT_EQ(whole.scale->correction_applied, true);
  ASSERT_TRUE(whole.uncertainty.has_value());
  EXPECT_EQ(whole.uncertainty->budget, "U-7");
  EXPECT_EQ(whole.uncertainty->budget, "U-7");
  EXPECT_EQ(measured("{scale: {certificate: C-17, correction: not applied}}").scale->correction_applied, false);
  EXPECT_EQ(measured("{scale: {certificate: C-17}}").scale->correction_applied, std::nullopt);
  EXPECT_FALSE(measured("{by: A}").scale.has_value());
  EXPECT_FALSE(measured("{by: A}").uncertainty.has_value());

  // boundary: a repeatability needs at least two readings
  const auto with = [](std::string_view count) {
    return "schema: sievecloth-job/1\nreadings: a.csv\nuncertainty: {repeatability: \"0.2 um\", repeatability_readings: " +
           std::string(count) + "}\n";
  };
  EXPECT_EQ(complaints(with("2")), "none");
  EXPECT_EQ(complaints(with("1")), "306 3 64; ");
}

TEST(JobFile, ReadingsInAFile) {
  // identity: a value without a line break is a file's name
  EXPECT_EQ(read_job("schema: sievecloth-job/1\nreadings: a.csv\n", "job.yaml")->readings.files.front().name, "a.csv");
}

TEST(JobFile, WhatIsWrongComesAtOnce) {
  // boundary: unknown, duplicate and missing keys, wrong words, lengths without a unit, each with its position
  EXPECT_EQ(complaints("schema: sievecloth-job/1\nreadings: a.csv\nsieve: 1\n"), "302 3 1; ");
  EXPECT_EQ(complaints("schema: sievecloth-job/1\nreadings: a.csv\nreadings: b.csv\n"), "303 3 1; ");
  EXPECT_EQ(complaints("schema: sievecloth-job/2\n"), "304 1 1; 306 1 9; ");
  EXPECT_EQ(complaints("schema: sievecloth-job/1\nreadings: a.csv\nviewing: {result: good}\nmeasured_only: yes\n"),
            "306 3 19; 306 4 16; ");
  for (const char* length :
       {"\"200\"", "\"200 km\"", "\"-200 mm\"", "\"0 mm\"", "\"1e3 mm\"", "\"mm\"", "\"20 km\"", "\"10001 m\""}) {
    EXPECT_EQ(complaints(std::string("schema: sievecloth-job/1\nreadings: a.csv\npiece: {roll: {width: \"1 m\", length: ") +
                         length + "}}\n"),
              "306 3 38; ")
        << length;
  }
}

TEST(JobFile, FramesAndRolls) {
  // boundary: a round frame has a diameter, a square one a side, and a piece cannot also be on a roll
  const std::string head = "schema: sievecloth-job/1\nreadings: a.csv\npiece: ";
  EXPECT_EQ(complaints(head + "{frame: {shape: square, side: \"300 mm\"}}\n"), "none");
  EXPECT_EQ(complaints(head + "{frame: {shape: square, diameter: \"300 mm\"}}\n"), "306 3 16; ");
  EXPECT_EQ(complaints(head + "{frame: {shape: round}}\n"), "306 3 16; ");
  EXPECT_EQ(complaints(head + "{frame: {shape: round, diameter: \"200 mm\"}, roll: {width: \"1 m\", length: \"10000 m\"}}\n"),
            "306 3 8; ");
}

TEST(JobFile, AllAperturesNeedTheirNumber) {
  // boundary: without apertures_in_piece it cannot be checked whether all were measured
  EXPECT_EQ(complaints("schema: sievecloth-job/1\nreadings: a.csv\nall_apertures: true\n"), "304 3 16; ");
  EXPECT_EQ(complaints("schema: sievecloth-job/1\nreadings: a.csv\napertures_in_piece: 0\n"), "306 3 21; ");
}

}  // namespace
}  // namespace sievecloth
