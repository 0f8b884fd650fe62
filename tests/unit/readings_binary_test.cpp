#include "sievecloth/readings_binary.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <random>
#include <string>
#include <vector>

#include "support/outcome.hpp"

namespace sievecloth {
namespace {

constexpr Length k_quantum = Length::from_pm(10'000);

struct Read {
  std::vector<std::pair<RunQuantity, Direction>> runs;
  std::vector<std::int32_t> values;
  Errors errors;
  std::int64_t count = 0;
};

Read read(const std::string& bytes, std::size_t piece = SIZE_MAX) {
  Read read;
  std::size_t at = 0;
  const ByteSource source = [&](std::span<char> to) -> Result<std::size_t> {
    const std::size_t size = std::min({to.size(), bytes.size() - at, piece});
    std::copy_n(bytes.begin() + static_cast<std::ptrdiff_t>(at), size, to.begin());
    at += size;
    return size;
  };
  const Result<std::int64_t> result = read_binary(source, "rig.svcr", [&](const Run& run, Length quantum) {
    EXPECT_EQ(quantum, k_quantum);
    read.runs.emplace_back(run.quantity, run.direction);
    read.values.insert(read.values.end(), run.values.begin(), run.values.end());
  });
  if (result.ok()) read.count = *result;
  if (!result.ok()) read.errors = result.errors();
  return read;
}

std::string written(const std::vector<std::vector<std::int32_t>>& runs) {
  std::string bytes;
  BinaryWriter writer(k_quantum, [&](std::string_view part) { bytes += part; });
  for (std::size_t i = 0; i < runs.size(); ++i) {
    EXPECT_TRUE(writer.write({i % 2 == 0 ? Direction::warp : Direction::weft, static_cast<RunQuantity>(1 + i % 3), runs[i]}));
  }
  writer.finish();
  return bytes;
}

TEST(ReadingsBinary, ReadsWhatItWrote) {
  // property: runs of any length, in pieces of any size, are read back unchanged
  std::mt19937_64 random(20261125);
  for (int round = 0; round < 100; ++round) {
    std::vector<std::vector<std::int32_t>> runs(1 + random() % 5);
    std::vector<std::int32_t> all;
    for (std::vector<std::int32_t>& run : runs) {
      run.resize(random() % 50 == 0 ? k_longest_run : 1 + random() % 100);
      for (std::int32_t& value : run) value = 1 + static_cast<std::int32_t>(random() % INT32_MAX);
      all.insert(all.end(), run.begin(), run.end());
    }
    const Read back = read(written(runs), 1 + random() % 300);
    ASSERT_TRUE(back.errors.empty());
    EXPECT_EQ(back.values, all);
    EXPECT_EQ(back.count, static_cast<std::int64_t>(all.size()));
    ASSERT_EQ(back.runs.size(), runs.size());
    if (runs.size() > 2) {
      EXPECT_EQ(back.runs[2], std::pair(RunQuantity::wire, Direction::warp));
    }
  }
}

TEST(ReadingsBinary, IsThePublishedFormat) {
  // source: docs/binary-readings.md; the checksums were computed with zlib.crc32 of Python
  const std::string expected{
      "\x89SVCR\r\n\x1A\x01\0\0\0\0\0\0\0\x10\x27\0\0\0\0\0\0"
      "\x05\xF5\x50\x96"
      "\x01\x01\0\0\x02\0\0\0\x6B\x1D\0\0\x6C\x1D\0\0"
      "\xC8\xA6\x95\xF9"
      "\0\0\0\0\0\0\0\0\x02\0\0\0\0\0\0\0"
      "\x28\x4C\x9E\xAE",
      28 + 20 + 20};
  std::string bytes;
  BinaryWriter writer(k_quantum, [&](std::string_view part) { bytes += part; });
  const std::vector<std::int32_t> values{7531, 7532};
  ASSERT_TRUE(writer.write({Direction::weft, RunQuantity::aperture, values}));
  writer.finish();
  EXPECT_EQ(bytes, expected);
}

TEST(ReadingsBinary, NoDamageGetsIn) {
  // boundary: every changed byte, every truncation, and an extra byte at the end are errors
  const std::string sound = written({{7531, 7532, 7490}, {7600}, {5012, 5013}});
  ASSERT_TRUE(read(sound).errors.empty());
  for (std::size_t at = 0; at < sound.size(); ++at) {
    std::string damaged = sound;
    damaged[at] = static_cast<char>(damaged[at] ^ 0x10);
    EXPECT_FALSE(read(damaged).errors.empty()) << at;
  }
  for (std::size_t size = 0; size < sound.size(); ++size) {
    const Read cut = read(sound.substr(0, size));
    ASSERT_FALSE(cut.errors.empty()) << size;
    EXPECT_EQ(cut.errors.front().code, ErrorCode::malformed_binary) << size;
  }
  EXPECT_EQ(read(sound + '\0').errors.front().code, ErrorCode::malformed_binary);
  EXPECT_EQ(read(written({})).errors.front().code, ErrorCode::no_readings);
}

TEST(ReadingsBinary, EachRunGoesWhereItSays) {
  // identity: apertures, suspects and wires in each direction reach their own summary, and no other
  const std::vector<std::int32_t> values{7531, 7532};
  for (const Direction direction : k_directions) {
    for (const RunQuantity quantity : {RunQuantity::aperture, RunQuantity::wire, RunQuantity::suspect}) {
      Sample sample;
      ASSERT_TRUE(add(sample, {direction, quantity, values}, k_quantum));
      for (const Direction other : k_directions) {
        const DirectionSample& side = sample[other];
        const bool here = other == direction;
        EXPECT_EQ(side.aperture.count(), here && quantity == RunQuantity::aperture ? 2 : 0);
        EXPECT_EQ(side.wire.count(), here && quantity == RunQuantity::wire ? 2 : 0);
        EXPECT_EQ(side.suspect.count(), here && quantity == RunQuantity::suspect ? 2 : 0);
      }
    }
  }
  Sample sample;
  const std::vector<std::int32_t> spoilt{7531, 0};
  EXPECT_EQ(test::refused_at(add(sample, {Direction::warp, RunQuantity::aperture, spoilt}, k_quantum)),
            1u);  // the first invalid reading
  EXPECT_EQ(sample.count(), 0);
}

TEST(ReadingsBinary, WritesNoReadingThatIsNone) {
  // boundary: zero and negative values, empty and too long runs, a quantum out of range
  std::string bytes;
  BinaryWriter writer(k_quantum, [&](std::string_view part) { bytes += part; });
  const std::size_t header = bytes.size();
  for (const std::vector<std::int32_t>& values : {std::vector<std::int32_t>{}, std::vector<std::int32_t>(k_longest_run + 1, 1)})
    EXPECT_EQ(test::code_of(writer.write({Direction::warp, RunQuantity::aperture, values})), ErrorCode::wrong_argument);
  for (const std::vector<std::int32_t>& values : {std::vector<std::int32_t>{0}, {1, -1}})
    EXPECT_EQ(test::code_of(writer.write({Direction::warp, RunQuantity::aperture, values})), ErrorCode::not_positive);
  EXPECT_EQ(bytes.size(), header);
  const std::vector<std::int32_t> smallest{1};
  EXPECT_TRUE(writer.write({Direction::warp, RunQuantity::aperture, smallest}));
  for (const std::int64_t pm : {std::int64_t{0}, std::int64_t{-1}, k_coarsest_quantum.pm() + 1}) {
    BinaryWriter wrong(Length::from_pm(pm), [&](std::string_view) { ADD_FAILURE(); });
    const std::vector<std::int32_t> one{1};
    EXPECT_EQ(test::code_of(wrong.write({Direction::warp, RunQuantity::aperture, one})), ErrorCode::wrong_argument);
  }
}

}  // namespace
}  // namespace sievecloth
