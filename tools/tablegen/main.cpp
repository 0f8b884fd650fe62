// tablegen: checks tables, and writes them as C++ for the build.
#include <fmt/format.h>

#include <cerrno>
#include <cstdio>
#include <cstring>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "generate.hpp"
#include "sievecloth/plausibility.hpp"
#include "sievecloth/table_file.hpp"

namespace {

using namespace sievecloth;

constexpr int k_usage = 64;
constexpr int k_bad_data = 65;
constexpr int k_no_input = 66;
constexpr int k_cannot_create = 73;

constexpr std::string_view k_help = R"(usage: tablegen --check TABLE.yaml...
       tablegen --output FILE.cpp TABLE.yaml...

--check   reads each table strictly, looks for typing errors and prints what it finds.
--output  writes the tables as C++, by standard and then by year.

A table is read with the sources.yaml of the folder above its own, where there is one; any other table lists its own sources.
Exit codes: 0 nothing found that the table's errata do not list; 64 usage; 65 a table is wrong; 66 a file cannot be read;
73 the output cannot be written.
)";

struct Stop {
  int exit_code;
};

[[noreturn]] void stop(int exit_code, std::string_view message) {
  fmt::print(stderr, "tablegen: {}\n", message);
  throw Stop{exit_code};
}

std::string read_file(const std::filesystem::path& path) {
  std::error_code error;
  if (std::filesystem::is_directory(path, error)) stop(k_no_input, fmt::format("{}: is a directory", path.string()));
  std::FILE* file = std::fopen(path.c_str(), "rb");
  if (file == nullptr) stop(k_no_input, fmt::format("{}: {}", path.string(), std::strerror(errno)));
  std::string text;
  char buffer[1 << 16];
  while (const std::size_t bytes = std::fread(buffer, 1, sizeof buffer, file)) text.append(buffer, bytes);
  const bool failed = std::ferror(file) != 0;
  std::fclose(file);
  if (failed) stop(k_no_input, fmt::format("{}: cannot be read", path.string()));
  return text;
}

std::optional<TableFile> read(const std::filesystem::path& path) {
  const std::filesystem::path shared = path.parent_path() / ".." / "sources.yaml";
  std::error_code failure;
  const std::string sources = std::filesystem::exists(shared, failure) ? read_file(shared) : std::string();
  Result<TableFile> table = read_table(read_file(path), path.string(), sources);
  if (table) return std::move(*table);
  for (const Error& error : table.errors()) fmt::print(stderr, "{}\n", to_text(error));
  return std::nullopt;
}

/// Whether everything that was found is listed in the errata.
bool report(const std::string& file, const Edition& edition) {
  fmt::print("{}: {}, {} sizes from {} to {}, errata: {}\n", file, edition.title, edition.rows.size(),
             edition.rows.front().designation, edition.rows.back().designation, edition.errata.size());
  fmt::print("  {}\n", describe_tolerances(edition));
  bool all_listed = true;
  for (const Implausibility& found : find_implausible(edition)) {
    fmt::print("  {}, {}: {}{}\n", found.row->designation, found.value, found.text, found.explained ? " (in the errata)" : "");
    all_listed = all_listed && found.explained;
  }
  return all_listed;
}

int check(const std::vector<std::string>& files) {
  bool good = true;
  for (const std::string& file : files) {
    const std::optional<TableFile> table = read(file);
    good = table && report(file, table->edition()) && good;
  }
  return good ? 0 : k_bad_data;
}

int generate(const std::string& output, const std::vector<std::string>& files) {
  std::vector<TableFile> tables;
  std::vector<const Edition*> editions;
  for (const std::string& file : files) {
    std::optional<TableFile> table = read(file);
    if (!table) return k_bad_data;
    editions.push_back(&table->edition());
    tables.push_back(std::move(*table));
  }
  const std::string text = tablegen::generate(std::move(editions));
  std::FILE* file = std::fopen(output.c_str(), "wb");
  if (file == nullptr) stop(k_cannot_create, fmt::format("{}: {}", output, std::strerror(errno)));
  const bool written = std::fwrite(text.data(), 1, text.size(), file) == text.size();
  if (std::fclose(file) != 0 || !written) stop(k_cannot_create, fmt::format("{}: cannot be written", output));
  return 0;
}

int run(const std::vector<std::string>& arguments) {
  const auto rest = [&](std::size_t first) {
    if (arguments.size() <= first) stop(k_usage, fmt::format("no tables given\n{}", k_help));
    return std::vector<std::string>(arguments.begin() + static_cast<std::ptrdiff_t>(first), arguments.end());
  };
  const std::string mode = arguments.empty() ? "" : arguments[0];
  if (mode == "--help") {
    fmt::print("{}", k_help);
    return 0;
  }
  if (mode == "--check") return check(rest(1));
  if (mode == "--output") return generate(arguments.size() > 1 ? arguments[1] : "", rest(2));
  stop(k_usage,
       fmt::format("{}\n{}", mode.empty() ? "nothing to do" : fmt::format("unknown option '{}'", printable(mode)), k_help));
}

}  // namespace

int main(int argc, char** argv) {
  try {
    return run(std::vector<std::string>(argv + 1, argv + argc));
  } catch (const Stop& end) {
    return end.exit_code;
  } catch (const std::exception& error) {
    fmt::print(stderr, "tablegen: {}\n", error.what());
    return 70;
  }
}
