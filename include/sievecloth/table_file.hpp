// Reads editions from YAML: the project's own tables at build time, and an owner's table at run time.
#pragma once

#include <memory>
#include <span>
#include <string>
#include <string_view>

#include "sievecloth/edition.hpp"

namespace [[gnu::visibility("default")]] sievecloth {

/// An edition together with the storage that its views point into. Movable; the address of the edition does not change.
class TableFile {
 public:
  /// What the views of the edition point into.
  struct Storage;
  /// Called by `read_table`.
  explicit TableFile(std::shared_ptr<const Storage> storage) : storage_(std::move(storage)) {}
  const Edition& edition() const noexcept;  ///< valid as long as any copy of this object

 private:
  std::shared_ptr<const Storage> storage_;
};

/// Reads a table strictly: unknown or duplicate keys, missing values, unquoted numbers, a unit other than um, rows out of order and
/// limits that contradict each other are errors, all with file, line and column, up to 20 at once.
/// `sources` is the text of sources.yaml; an owner's table lists its sources in its own `sources:` and passes an empty text.
/// Errors: the 3xx family.
Result<TableFile> read_table(std::string_view yaml, const std::string& file, std::string_view sources = {});

/// What a table with the key `transcribed:` lies over.
struct Overlay {
  std::span<const Edition* const> editions;  ///< that of its name, if any, is its base; must outlive the table
  std::string_view digest;                   ///< SHA-256 of the table's file, part of `Edition::table_set`
};

/// Reads an owner's table, which may be a transcription: then `seen` and `computed` count as such, and it may have the name of one
/// of the editions of `overlay`. It lies over that edition value by value: what it leaves out, and its rows and sources, are those
/// of the base; errata of the base fall away where their value was copied.
/// Errors: the 3xx family.
Result<TableFile> read_table(std::string_view yaml, const std::string& file, const Overlay& overlay);

}  // namespace sievecloth
