#include "files.hpp"

#include <filesystem>
#include <optional>
#include <utility>

#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include "input.hpp"
#include "output.hpp"
#include "report/mark.hpp"

namespace sievecloth::tool {
namespace {

namespace fs = std::filesystem;

// No report is longer; a file that is cannot be one.
constexpr std::size_t k_longest_report = 1u << 30;

// Empty for what is no regular file: a device and a pipe can be written to any number of times.
std::optional<FileIdentity> identity_in(const struct stat& status) {
  return S_ISREG(status.st_mode) ? std::optional(FileIdentity{status.st_dev, status.st_ino, ""}) : std::nullopt;
}

std::optional<FileIdentity> identity_of_open(int file) {
  struct stat status {};
  return ::fstat(file, &status) == 0 ? identity_in(status) : std::nullopt;
}

// Of a file that is there, or of one that is not there yet.
std::optional<FileIdentity> identity_of(const std::string& path) {
  struct stat status {};
  if (::stat(path.c_str(), &status) == 0) return identity_in(status);
  std::error_code ignored;
  const fs::path target = fs::absolute(link_target(path), ignored);
  if (::stat(target.parent_path().c_str(), &status) != 0) return FileIdentity{0, 0, target.lexically_normal().string()};
  return FileIdentity{status.st_dev, status.st_ino, target.filename().string()};
}

Error refusal(std::string message, const std::string& path, std::string expected) {
  return {ErrorCode::cannot_create, std::move(message), "", std::move(expected), {path, 0, 0}};
}

}  // namespace

void Files::add_input(const std::string& path) {
  if (path.empty()) return;
  const std::optional<FileIdentity> identity = path == "-" ? identity_of_open(STDIN_FILENO) : identity_of(path);
  if (identity) inputs_.emplace(*identity, path);
}

Result<void> Files::add_output(const std::string& path) {
  const std::optional<FileIdentity> identity = identity_of(path);
  if (!identity || outputs_.insert(*identity).second) return {};
  return refusal("two outputs would go to the same file", path,
                 "another name; {} in the name of a report stands for the name of the piece's file");
}

bool Files::standard_output_is_a_file() { return identity_of_open(STDOUT_FILENO).has_value(); }

Result<void> Files::add_standard_output() {
  const std::optional<FileIdentity> identity = identity_of_open(STDOUT_FILENO);
  if (!identity) return {};
  if (const auto input = inputs_.find(*identity); input != inputs_.end())
    return refusal(fmt::format("would be written to {}, which is read", printable(input->second)), "standard output",
                   "another file");
  if (outputs_.insert(*identity).second) return {};
  return refusal("another output would go to the same file", "standard output", "another file");
}

Result<std::optional<FileState>> Files::may_write(const std::string& path, std::string_view mark) const {
  const std::optional<FileIdentity> identity = identity_of(path);
  if (!identity) return std::optional<FileState>();
  if (const auto input = inputs_.find(*identity); input != inputs_.end()) {
    return refusal(fmt::format("would replace {}, which is read", printable(input->second)), path, "another name");
  }
  const std::optional<FileState> there = state_of(path);  // before it is read: what is read is replaced, or nothing
  if (overwrite_ || !there) return there;
  if (mark.empty()) return refusal("is there already", path, "another name, or --overwrite");
  const Result<std::string> document = read_whole(path, k_longest_report);
  if (!document.ok())
    return refusal("is there already, and cannot be read to see whether it is the same report", path, "another name, or --overwrite");
  if (may_replace(mark_in(*document), mark)) return there;
  return refusal("is there already, and is not the same report of the same piece", path, "another name, or --overwrite");
}

Result<void> keep_answer_apart(const std::string& input) {
  Files files(false);
  files.add_input(input);
  return files.add_standard_output();
}

}  // namespace sievecloth::tool
