// identity: a checked piece equals what `assess` and `diagnose` give for the same readings; boundary: what a job leaves open
#include "sievecloth/check.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <string>

#include <gtest/gtest.h>

#include "support/judging.hpp"

namespace sievecloth {
namespace {

using namespace test;

/// The bytes of a text, a few at a time.
ByteSource source_of(std::string text, std::size_t at_a_time = 7) {
  return [text = std::move(text), at = std::size_t{0}, at_a_time](std::span<char> to) mutable -> Result<std::size_t> {
    const std::size_t size = std::min({to.size(), at_a_time, text.size() - at});
    std::copy_n(text.data() + at, size, to.data());
    at += size;
    return size;
  };
}

Job job_for(const char* standard, const char* size, const char* grade) {
  Job job{.standard = Located{standard, {"job.yaml", 2, 11}}, .size = Located{size, {"job.yaml", 3, 7}}};
  if (*grade != '\0') job.grade = Located{grade, {"job.yaml", 4, 8}};
  job.viewing = ViewingRecord{.passed = true};
  return job;
}

std::string readings(int apertures, const char* aperture = "75.5") {
  std::string text = "direction,aperture_um,wire_um,field\n";
  for (const char* direction : {"warp", "weft"}) {
    for (int i = 0; i < apertures; ++i) text += std::string(direction) + "," + aperture + (i < 10 ? ",50" : ",") + ",f\n";
  }
  return text;
}

TEST(Check, SaysWhatAssessSays) {
  // identity: the same sums by hand, in 200 apertures and 20 wires
  const CheckedPiece piece =
      check_piece(job_for("astm-e11-17", "No. 200", "inspection"), {}, source_of(readings(100)), "r.csv", {.keep_readings = 30})
          .value();
  const Specification size = specification("astm-e11-17", "75um", Grade::inspection);
  Sample sample = make_sample(size);
  for (const Direction direction : k_directions) {
    add(sample, direction, 100, Length::from_pm(75'500'000));
    add(sample, direction, 10, std::nullopt, um(50));
  }
  EXPECT_EQ(piece.assessment.sample, sample);
  EXPECT_EQ(piece.assessment.verdict, assess(size, sample, viewed())->verdict);
  EXPECT_EQ(piece.assessment.verdict, Verdict::conforms);
  EXPECT_EQ(piece.rows, 200);
  ASSERT_LE(piece.readings.size(), 30u);
  ASSERT_GE(piece.readings.size(), 15u);
  EXPECT_EQ(piece.readings.front().line, 2);
  EXPECT_FALSE(piece.diagnosis);
}

TEST(Check, NeitherThreadsNorWhatIsKeptTurnsAnything) {
  // property: the bits of the sample depend only on the readings
  const Job job = job_for("astm-e11-17", "No. 200", "inspection");
  const Sample plain = check_piece(job, {}, source_of(readings(60'000), 1 << 16), "r.csv")->assessment.sample;
  for (const CheckSettings& settings :
       {CheckSettings{.threads = 7}, CheckSettings{.diagnose = true}, CheckSettings{.keep_readings = 1, .threads = 3}}) {
    const CheckedPiece piece = check_piece(job, {}, source_of(readings(60'000), 1 << 16), "r.csv", settings).value();
    EXPECT_EQ(piece.assessment.sample, plain);
    EXPECT_LE(piece.readings.size(), settings.keep_readings);
    EXPECT_GE(2 * piece.readings.size(), settings.keep_readings);
    EXPECT_EQ(piece.diagnosis.has_value(), settings.diagnose);
  }
}

TEST(Check, GuardsComeFromTheJob) {
  // boundary: docs/statistics.md: under guarded acceptance nothing is accepted if its uncertainty is not known
  Job job = job_for("astm-e11-17", "No. 200", "inspection");
  job.decision_rule = Located{"guarded-acceptance", {}};
  EXPECT_EQ(check_piece(job, {}, source_of(readings(100)), "r.csv")->assessment.verdict, Verdict::undecided);
  job.uncertainty = {um(1), 0.0005, Length::from_pm(100'000), Length::from_pm(400'000), 20};
  const Assessment assessment = check_piece(job, {}, source_of(readings(100)), "r.csv")->assessment;
  EXPECT_TRUE(assessment.guards[Direction::weft].average.has_value());
  EXPECT_EQ(outcome(assessment, CriterionId::average_aperture), Outcome::met);
}

TEST(Check, ErrorsStandWhereTheJobSays) {
  // boundary: each part of a job missing or wrong, reported at its place
  const auto error = [](const Job& job, std::string text = readings(20)) {
    return check_piece(job, {}, source_of(std::move(text)), "r.csv").error();
  };
  EXPECT_EQ(error({}).code, ErrorCode::option_missing);
  EXPECT_EQ(error(job_for("astm-e11-17", "No. 200", "")).code, ErrorCode::option_missing);
  EXPECT_EQ(error(job_for("astm-e11-99", "No. 200", "inspection")).where.line, 2);
  EXPECT_EQ(error(job_for("astm-e11-17", "77 um", "inspection")).where.line, 3);
  EXPECT_EQ(error(job_for("astm-e11-17", "No. 200", "best")).where.line, 4);
  EXPECT_EQ(error(job_for("iso-3310-1-1990", "75um", "inspection")).where.line, 4);
  Job agreed = job_for("astm-e11-17", "No. 200", "inspection");
  agreed.agreed_count = AgreedCount{.value = 20, .where = {"job.yaml", 9, 1}};
  EXPECT_EQ(error(agreed).where.line, 9);
  Job rule = job_for("astm-e11-17", "No. 200", "inspection");
  rule.decision_rule = Located{"by heart", {"job.yaml", 7, 3}};
  EXPECT_EQ(error(rule).where.line, 7);
  EXPECT_EQ(error(job_for("astm-e11-17", "No. 200", "inspection"), "direction,aperture_um\nwarp,x\n").where.file, "r.csv");
}

TEST(Check, ASourceThatFailsIsAnError) {
  // boundary: the first call of a source fails
  const ByteSource fails = [](std::span<char>) -> Result<std::size_t> {
    return Error{ErrorCode::read_failed, "the line is dead", "", "", {}};
  };
  const Result<CheckedPiece> piece = check_piece(job_for("astm-e11-17", "No. 200", "inspection"), {}, fails, "r.csv");
  ASSERT_FALSE(piece.ok());
  EXPECT_EQ(piece.error().code, ErrorCode::read_failed);
}

TEST(Check, SourcesThatBreakTheirWordAreErrors) {
  // regression: a source that delivered more bytes than requested overran the buffer, and a missing source threw
  const Job job = job_for("astm-e11-17", "No. 200", "inspection");
  EXPECT_EQ(check_piece(job, {}, ByteSource(), "r.csv").error().code, ErrorCode::null_argument);
  for (const std::size_t too_much : {std::size_t{1} << 40, ~std::size_t{0}}) {
    const ByteSource boasts = [&](std::span<char>) -> Result<std::size_t> { return too_much; };
    EXPECT_EQ(check_piece(job, {}, boasts, "r.csv").error().code, ErrorCode::read_failed);
  }
}

TEST(Check, UncertaintiesThatCannotBeAreRefused) {
  // boundary: values that a job file could not hold, filled in by hand
  const auto code = [](auto change) {
    Job job = job_for("astm-e11-17", "No. 200", "inspection");
    job.uncertainty = {um(1), 0.0005, Length::from_pm(100'000), Length::from_pm(400'000), 20};
    job.process = Prior{75, 1};
    job.guard_factor = 1;
    change(job);
    const Result<CheckedPiece> piece = check_piece(job, {}, source_of(readings(100)), "r.csv", {.diagnose = true});
    return piece.ok() ? std::nullopt : std::optional(piece.error().code);
  };
  EXPECT_EQ(code([](Job&) {}), std::nullopt);
  for (const double wrong : {-1.0, std::nan(""), std::numeric_limits<double>::infinity()}) {
    EXPECT_EQ(code([&](Job& job) { job.guard_factor = wrong; }), ErrorCode::option_value);
    EXPECT_EQ(code([&](Job& job) { job.uncertainty.scale_factor = wrong; }), ErrorCode::option_value);
    EXPECT_EQ(code([&](Job& job) { job.process->standard_deviation = wrong; }), ErrorCode::option_value);
  }
  EXPECT_EQ(code([](Job& job) { job.process->mean = std::nan(""); }), ErrorCode::option_value);
  EXPECT_EQ(code([](Job& job) { job.process->standard_deviation = 0; }), ErrorCode::option_value);
  EXPECT_EQ(code([](Job& job) { job.uncertainty.repeatability_readings = 1; }), ErrorCode::option_value);
  EXPECT_EQ(code([](Job& job) { job.uncertainty.repeatability = um(-1); }), ErrorCode::option_value);
  EXPECT_EQ(code([](Job& job) { job.uncertainty.scale_offset = um(-1); }), ErrorCode::option_value);
  EXPECT_EQ(code([](Job& job) { job.uncertainty.resolution = Length(); }), ErrorCode::option_value);
}

TEST(Check, NoOwnersEditionHidesOneThatIsBuiltIn) {
  // regression: a copy with wider limits under the name of a built-in edition was mistaken for it
  Edition owners = *find_edition("astm-e11-17").value();
  owners.name = "house-3";
  const Edition* const editions[] = {&owners};
  const auto edition_of = [&](const char* name) {
    return check_piece(job_for(name, "No. 200", "inspection"), editions, source_of(readings(100)), "r.csv")
        ->assessment.specification.edition;
  };
  EXPECT_EQ(edition_of("house-3"), &owners);
  owners.name = "astm-e11-17";
  EXPECT_NE(edition_of("astm-e11-17"), &owners);
}

TEST(Check, TheCoarserOfTwoResolutionsCounts) {
  // regression: a job filled in by hand with the resolution among the uncertainties alone was judged as if it were fine
  for (const std::optional<Length> measured : {std::optional<Length>(), std::optional(um(1))}) {
    Job job = job_for("iso-3310-1-2016", "75um", "inspection");
    job.measured.resolution = measured;
    job.uncertainty.resolution = um(50);
    const CheckedPiece piece = check_piece(job, {}, source_of(readings(100)), "r.csv").value();
    EXPECT_EQ(piece.assessment.verdict, Verdict::undecided);
  }
}

TEST(Check, NoOwnersEditionIsNull) {
  // regression: a null pointer among the editions crashed
  const Edition* const editions[] = {nullptr};
  EXPECT_EQ(check_piece(job_for("astm-e11-17", "75um", "inspection"), editions, source_of(readings(100)), "r.csv").error().code,
            ErrorCode::null_argument);
}

}  // namespace
}  // namespace sievecloth
