// Binary readings: accepted input is what a writer would have written, and no single damaged bit is accepted.
#include <vector>

#include <zlib.h>

#include "fuzz.hpp"
#include "sievecloth/readings_binary.hpp"

using namespace sievecloth;
using namespace sievecloth::fuzz;

namespace {

struct Runs {
  Length quantum;
  std::vector<std::pair<Run, std::vector<std::int32_t>>> runs;
};

std::string written(const Runs& content) {
  std::string bytes;
  BinaryWriter writer(content.quantum, [&](std::string_view part) { bytes += part; });
  for (const auto& [run, values] : content.runs)
    demand(writer.write({run.direction, run.quantity, values}).ok(), "a run can be written");
  writer.finish();
  return bytes;
}

// Reads; accepted input must be what a writer would have written.
bool accepts(std::string_view bytes, std::size_t piece) {
  Runs content;
  const Result<std::int64_t> read = read_binary(source_of(bytes, piece), "-", [&](const Run& run, Length quantum) {
    content.quantum = quantum;
    content.runs.push_back({run, {run.values.begin(), run.values.end()}});
  });
  if (!read.ok()) {
    demand_complaints(read.errors());
    return false;
  }
  std::int64_t count = 0;
  Sample sample({Length::of(75, Unit::micrometre), std::nullopt, std::nullopt}, Length::of(50, Unit::micrometre));
  for (const auto& [run, values] : content.runs) {
    demand(add(sample, {run.direction, run.quantity, values}, content.quantum).ok(), "a reading that was let through can be added");
    count += static_cast<std::int64_t>(values.size());
  }
  demand(*read >= 1 && *read == count && sample.count() == count, "the readings are counted");
  demand(written(content) == bytes, "what was read is what was written");
  return true;
}

// Sets every checksum in an input that has the shape of the format, so that the data behind them is reached.
std::string with_checksums(std::string text) {
  const auto put = [&](std::size_t from, std::size_t to) {
    if (to + 4 > text.size()) return false;
    const auto sum = ::crc32(0, reinterpret_cast<const Bytef*>(text.data() + from), static_cast<uInt>(to - from));
    for (std::size_t i = 0; i < 4; ++i) text[to + i] = static_cast<char>(sum >> (8 * i));
    return true;
  };
  if (!put(0, 24)) return text;
  for (std::size_t at = 28; at + 8 <= text.size();) {
    const std::string_view head = std::string_view(text).substr(at, 8);
    const bool end = head == std::string_view("\0\0\0\0\0\0\0\0", 8);
    const std::size_t count = static_cast<unsigned char>(head[4]) + 256u * static_cast<unsigned char>(head[5]);
    const std::size_t checked = at + (end ? 16 : 8 + 4 * count);
    if (!put(at, checked) || end) break;
    at = checked + 4;
  }
  return text;
}

// A file made from numbers, and then with one of its bits flipped.
void check_written(Bytes bytes) {
  Runs content;
  content.quantum = Length::from_pm(1 + bytes.take<std::uint32_t>() % 1'000);
  const std::uint32_t turned = bytes.take<std::uint32_t>();
  while (!bytes.empty()) {
    const std::uint8_t kind = bytes.take<std::uint8_t>();
    std::vector<std::int32_t> values(1 + kind / 6 % 8);
    for (std::int32_t& value : values) value = 1 + (bytes.take<std::int32_t>() & 0x3FFF'FFFF);
    content.runs.push_back({{static_cast<Direction>(kind % 2), static_cast<RunQuantity>(1 + kind % 3), {}}, std::move(values)});
  }
  std::string file = written(content);
  demand(accepts(file, SIZE_MAX) == !content.runs.empty(), "a file with readings is accepted");
  const std::size_t bit = turned % (8 * file.size());
  file[bit / 8] = static_cast<char>(file[bit / 8] ^ (1 << (bit % 8)));
  demand(!accepts(file, SIZE_MAX), "a damaged bit is noticed");
  file.resize(turned % file.size());
  demand(!accepts(file, 7), "a file cut short is noticed");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  Bytes bytes(data, size);
  const std::uint8_t way = bytes.take<std::uint8_t>();
  const std::size_t piece = 1 + way / 3;
  if (way % 3 == 0) accepts(bytes.text(), piece);
  if (way % 3 == 1) accepts(with_checksums(std::string(bytes.text())), piece);
  if (way % 3 == 2) check_written(bytes);
  return 0;
}
