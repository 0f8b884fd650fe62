// What one call of the tool reads and writes: no output takes the place of an input, of another output, or of a file that is not
// its own.
#pragma once

#include <compare>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <string_view>

#include <sys/types.h>

#include "output.hpp"
#include "sievecloth/result.hpp"

namespace sievecloth::tool {

/// A file by what it is. Links and other spellings of its name are the same file.
struct FileIdentity {
  dev_t device = 0;  ///< where the folder is not there either: 0
  ino_t inode = 0;
  std::string name;  ///< of a file that is not there yet, in its folder

  auto operator<=>(const FileIdentity&) const = default;
};

/// The inputs and outputs of one call. All are named before anything is written.
class Files {
 public:
  /// `overwrite`: a file that is there may be replaced whatever it is, unless it is an input or another output.
  explicit Files(bool overwrite) : overwrite_(overwrite) {}

  /// A file that is read; `-` is standard input. Whether it can be read is found out elsewhere.
  void add_input(const std::string& path);
  /// A file that will be written. Errors: cannot_create (another output is the same file).
  Result<void> add_output(const std::string& path);
  /// Whether the answer goes to a regular file.
  static bool standard_output_is_a_file();
  /// Standard output where it is a file, as a further output. Errors: cannot_create (it is an input or another output).
  Result<void> add_standard_output();
  /// Decides whether `path` may be written, once all inputs are known. `mark`: of a report, as report_mark gives it; empty for a
  /// file that belongs to no one piece. Returns the file whose place it may take, none if there is none. Errors: cannot_create (it
  /// is an input; it is there, and not the same report of the same piece).
  Result<std::optional<FileState>> may_write(const std::string& path, std::string_view mark = {}) const;

 private:
  bool overwrite_;
  std::map<FileIdentity, std::string> inputs_;  // and the name that each was given
  std::set<FileIdentity> outputs_;
};

/// For a command that reads `input` and writes its answer alone. Errors: cannot_create (the answer would go to the file that is
/// read).
Result<void> keep_answer_apart(const std::string& input);

}  // namespace sievecloth::tool
