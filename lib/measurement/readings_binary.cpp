#include "sievecloth/readings_binary.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cstring>

#include <fmt/format.h>
#include <zlib.h>

#include "base/refusal.hpp"

namespace sievecloth {
namespace {

constexpr std::uint32_t k_version = 1;
constexpr std::size_t k_header_bytes = 24;   // magic, version, reserved, quantum; a checksum follows
constexpr std::size_t k_run_head_bytes = 8;  // quantity, direction, reserved, count
constexpr std::size_t k_count_bytes = 8;     // readings in the file; replaces the values if the quantity is 0: the end
constexpr std::size_t k_checksum_bytes = 4;

std::uint32_t checksum(std::span<const char> bytes) {
  return static_cast<std::uint32_t>(::crc32(0, reinterpret_cast<const Bytef*>(bytes.data()), static_cast<uInt>(bytes.size())));
}

// Little-endian on every machine.
template <class Number>
Number get(const char* from) {
  std::uint64_t number = 0;
  for (std::size_t i = 0; i < sizeof(Number); ++i) number |= std::uint64_t{static_cast<unsigned char>(from[i])} << (8 * i);
  return static_cast<Number>(number);
}

template <class Number>
void put(std::vector<char>& to, Number number) {
  for (std::size_t i = 0; i < sizeof(Number); ++i) to.push_back(static_cast<char>(static_cast<std::uint64_t>(number) >> (8 * i)));
}

bool has_run(std::uint8_t quantity, std::uint8_t direction, std::uint16_t reserved, std::uint32_t count) {
  return quantity >= 1 && quantity <= 3 && direction <= 1 && reserved == 0 && count >= 1 && count <= k_longest_run;
}

class BinaryReader {
 public:
  BinaryReader(const ByteSource& source, const std::string& file, const std::function<void(const Run&, Length)>& take)
      : source_(source), file_(file), take_(take) {}

  Result<std::int64_t> read() {
    if (read_header()) {
      while (read_run()) {
      }
    }
    if (!errors_.empty()) return std::move(errors_);
    if (count_ == 0) return error(ErrorCode::no_readings, "the file has no reading", "at least one run");
    return count_;
  }

 private:
  Error error(ErrorCode code, std::string message, std::string expected) const {
    return {code, std::move(message), "", std::move(expected), {file_, 0, 0}};
  }

  bool fail(ErrorCode code, std::string message, std::string expected) {
    errors_.push_back(error(code, std::move(message), std::move(expected)));
    return false;
  }

  // Appends up to `size` bytes. Returns their number; errors_ is set if the source failed.
  std::size_t append(std::size_t size) {
    const std::size_t before = bytes_.size();
    bytes_.resize(before + size);
    std::size_t done = 0;
    while (done < size) {
      const Result<std::size_t> read = source_(std::span(bytes_).subspan(before + done));
      if (!read.ok()) errors_ = read.errors();
      if (!read.ok() || *read == 0) break;
      done += *read;
    }
    bytes_.resize(before + done);
    return done;
  }

  bool need(std::size_t size) {
    if (append(size) == size) return true;
    return errors_.empty() ? fail(ErrorCode::malformed_binary, fmt::format("the file is cut short after {} readings", count_),
                                  "a file that ends with its count of readings")
                           : false;
  }

  bool read_header() {
    bytes_.clear();
    if (!need(k_header_bytes + k_checksum_bytes)) return false;
    if (!std::string_view(bytes_.data(), bytes_.size()).starts_with(k_binary_magic))
      return fail(ErrorCode::malformed_binary, "not a file of binary readings",
                  "the bytes 89 53 56 43 52 0D 0A 1A at its beginning");
    if (!is_intact()) return false;
    if (get<std::uint32_t>(&bytes_[8]) != k_version || get<std::uint32_t>(&bytes_[12]) != 0)
      return fail(ErrorCode::malformed_binary, "another version of the format", "version 1");
    const std::uint64_t quantum = get<std::uint64_t>(&bytes_[16]);
    if (quantum == 0 || quantum > static_cast<std::uint64_t>(k_coarsest_quantum.pm()))
      return fail(ErrorCode::malformed_binary, fmt::format("a quantum of {} pm", quantum), "1 pm to 1 mm");
    quantum_ = Length::from_pm(static_cast<std::int64_t>(quantum));
    return true;
  }

  // Returns false at the end, or after an error.
  bool read_run() {
    bytes_.clear();
    if (!need(k_run_head_bytes)) return false;
    const std::uint8_t quantity = get<std::uint8_t>(&bytes_[0]);
    const std::uint8_t direction = get<std::uint8_t>(&bytes_[1]);
    const std::uint32_t count = get<std::uint32_t>(&bytes_[4]);
    if (std::all_of(bytes_.begin(), bytes_.end(), [](char byte) { return byte == 0; })) return read_end();
    if (!has_run(quantity, direction, get<std::uint16_t>(&bytes_[2]), count))
      return fail(ErrorCode::malformed_binary, fmt::format("no head of a run after {} readings", count_),
                  fmt::format("quantity 1 to 3, direction 0 or 1, 1 to {} readings", k_longest_run));
    if (!need(count * sizeof(std::int32_t) + k_checksum_bytes) || !is_intact()) return false;
    values_.resize(count);
    for (std::size_t i = 0; i < count; ++i) values_[i] = get<std::int32_t>(&bytes_[k_run_head_bytes + 4 * i]);
    const auto broken = std::find_if(values_.begin(), values_.end(), [&](std::int32_t value) { return !is_reading(value); });
    if (broken != values_.end()) return fail_value(*broken, count_ + 1 + (broken - values_.begin()));
    count_ += count;
    if (count_ > k_most_readings)
      return fail(ErrorCode::too_many_readings, "too many readings for one piece", fmt::format("at most {}", k_most_readings));
    take_({static_cast<Direction>(direction), static_cast<RunQuantity>(quantity), values_}, quantum_);
    return true;
  }

  bool is_intact() {
    const std::span<const char> covered = std::span(bytes_).first(bytes_.size() - k_checksum_bytes);
    if (get<std::uint32_t>(bytes_.data() + covered.size()) == checksum(covered)) return true;
    return fail(ErrorCode::checksum, fmt::format("the checksum of what follows {} readings is wrong", count_), "an undamaged file");
  }

  bool is_reading(std::int32_t value) const { return value > 0 && value * quantum_.pm() <= k_longest_reading.pm(); }

  bool fail_value(std::int32_t value, std::int64_t number) {
    if (value > 0) return fail(ErrorCode::too_large, fmt::format("reading {} is longer than 100 m", number), "a measured length");
    return fail(ErrorCode::not_positive, fmt::format("reading {} is {}", number, value), "a length above 0");
  }

  bool read_end() {
    if (!need(k_count_bytes + k_checksum_bytes) || !is_intact()) return false;
    if (get<std::uint64_t>(&bytes_[k_run_head_bytes]) != static_cast<std::uint64_t>(count_))
      return fail(ErrorCode::malformed_binary, fmt::format("the end counts other than {} readings", count_),
                  "every run of the file");
    bytes_.clear();
    if (append(1) != 0) return fail(ErrorCode::malformed_binary, "something follows the end", "one file of readings");
    return false;
  }

  const ByteSource& source_;
  const std::string& file_;
  const std::function<void(const Run&, Length)>& take_;
  std::vector<char> bytes_;
  std::vector<std::int32_t> values_;
  Length quantum_;
  std::int64_t count_ = 0;
  Errors errors_;
};

}  // namespace

Result<void> add(Sample& sample, const Run& run, Length quantum) noexcept {
  DirectionSample& side = sample[run.direction];
  Summary& summary = run.quantity == RunQuantity::aperture  ? side.aperture
                     : run.quantity == RunQuantity::suspect ? side.suspect
                                                            : side.wire;
  return summary.add_quanta(run.values, quantum);
}

Result<std::int64_t> read_binary(const ByteSource& source, const std::string& file,
                                 const std::function<void(const Run&, Length quantum)>& take) {
  return BinaryReader(source, file, take).read();
}

BinaryWriter::BinaryWriter(Length quantum, Sink sink) : sink_(std::move(sink)), quantum_(quantum) {
  if (quantum_ <= Length() || quantum_ > k_coarsest_quantum) return;
  std::vector<char> bytes(k_binary_magic.begin(), k_binary_magic.end());
  put(bytes, k_version);
  put(bytes, std::uint32_t{0});
  put(bytes, static_cast<std::uint64_t>(quantum_.pm()));
  write_checked(std::move(bytes));
}

Result<void> BinaryWriter::write(const Run& run) {
  if (quantum_ <= Length() || quantum_ > k_coarsest_quantum) return refusal(ErrorCode::wrong_argument, "wrong quantum");
  if (run.values.empty() || run.values.size() > k_longest_run) return refusal(ErrorCode::wrong_argument, "wrong length");
  if (std::any_of(run.values.begin(), run.values.end(), [](std::int32_t value) { return value <= 0; }))
    return refusal(ErrorCode::not_positive, "not above 0");
  std::vector<char> bytes;
  put(bytes, static_cast<std::uint8_t>(run.quantity));
  put(bytes, static_cast<std::uint8_t>(run.direction));
  put(bytes, std::uint16_t{0});
  put(bytes, static_cast<std::uint32_t>(run.values.size()));
  for (const std::int32_t value : run.values) put(bytes, value);
  write_checked(std::move(bytes));
  count_ += static_cast<std::int64_t>(run.values.size());
  return {};
}

void BinaryWriter::finish() {
  std::vector<char> bytes(k_run_head_bytes, '\0');
  put(bytes, static_cast<std::uint64_t>(count_));
  write_checked(std::move(bytes));
}

void BinaryWriter::write_checked(std::vector<char> bytes) {
  put(bytes, checksum(bytes));
  sink_({bytes.data(), bytes.size()});
}

}  // namespace sievecloth
