#include "kept_readings.hpp"

#include <fmt/format.h>

#include "files.hpp"
#include "input.hpp"

namespace sievecloth::tool {

Result<KeptReadings> keep_readings(const std::string& file, CsvOptions options) {
  if (const Result<void> apart = keep_answer_apart(file); !apart) return apart.errors();
  std::vector<Reading> readings;
  bool too_many = false;
  options.file = file;
  CsvReader reader(std::move(options), [&](const Reading& reading) {
    too_many = readings.size() == k_most_kept;
    if (!too_many) readings.push_back(reading);
  });
  const Result<void> end = read_blocks(file, [&](std::string_view block) { return reader.feed(block) && !too_many; });
  if (!end.ok()) return end.errors();
  if (too_many) {
    return Error{ErrorCode::too_many_readings,
                 "more readings than this verb keeps",
                 "",
                 fmt::format("at most {}", k_most_kept),
                 {file, 0, 0}};
  }
  const Result<std::int64_t> rows = reader.finish();
  if (!rows.ok()) return rows.errors();
  return KeptReadings{std::move(readings), reader.ignored_columns()};
}

std::string ignored_columns_note(const std::vector<std::string>& columns) {
  return fmt::format("Columns ignored: {}", printable(fmt::format("{}", fmt::join(columns, ", ")), 4096));
}

}  // namespace sievecloth::tool
