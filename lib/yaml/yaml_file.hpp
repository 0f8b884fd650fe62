// Strict reading of YAML: no duplicate or unknown keys, no anchors, aliases or tags, every complaint with its line and column.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/complaints.hpp"
#include "sievecloth/length.hpp"
#include "sievecloth/result.hpp"

namespace sievecloth {

/// A place in the text, both counted from 1, the column in characters.
struct YamlMark {
  std::int64_t line = 0;
  std::int64_t column = 0;
};

/// A value of the document, as it was written: scalars keep their text, and nothing is taken for a number or a truth value.
struct YamlNode {
  enum class Kind : std::uint8_t { null, scalar, sequence, mapping };
  Kind kind = Kind::null;
  bool quoted = false;  ///< a scalar in quotes, or a block scalar
  std::string text;     ///< of a scalar
  YamlMark mark;
  std::string key;  ///< in a mapping: the key that this is the value of
  YamlMark key_mark;
  std::vector<YamlNode> children;  ///< items of a sequence, values of a mapping, in the order of the file
};

/// Deeper nesting is refused.
inline constexpr std::size_t k_deepest_yaml = 16;

/// Parses a text that holds one document.
/// Errors: not_text (not UTF-8, or control characters); yaml_syntax (also an empty document, a second one, anchors, aliases, tags);
/// wrong_type (a key that is no scalar); too_deep.
Result<YamlNode> parse_yaml(std::string_view text, const std::string& file);

struct YamlKeys {
  std::vector<std::string_view> required;
  std::vector<std::string_view> optional;
};

/// One mapping whose keys have been checked: each once, none unknown, none missing, none without a value.
class YamlMapping {
 public:
  /// `what` names the mapping in complaints, such as `a row`. `node` must outlive this; a null pointer is an empty mapping, without
  /// a complaint, since whoever looked for it complained.
  /// Complaints: wrong_type, duplicate_key, unknown_key, key_missing.
  YamlMapping(const YamlNode* node, std::string_view what, const YamlKeys& keys, Complaints& complaints);

  /// The value of `key`, or a null pointer where there is none.
  const YamlNode* operator[](std::string_view key) const;
  /// Where the mapping begins.
  YamlMark mark() const { return node_ == nullptr ? YamlMark{} : node_->mark; }

 private:
  const YamlNode* node_ = nullptr;
};

// Each of these reads one value. A null pointer gives nothing, without a complaint; a value that does not fit gives nothing and a
// complaint (wrong_type, wrong_value, malformed_number, too_fine, too_large).

/// The node itself where it is a scalar in quotes: what numbers must be that YAML could read otherwise.
const YamlNode* yaml_quoted(const YamlNode* node, Complaints& complaints);
/// One line of text, not empty, without control characters.
std::optional<std::string> yaml_text(const YamlNode* node, Complaints& complaints);
/// A decimal in quotes, as parse_length reads it; negative ones too.
std::optional<Length> yaml_length(const YamlNode* node, Unit unit, Complaints& complaints);
/// A whole number within least .. most, in plain digits, with or without quotes.
std::optional<std::int64_t> yaml_integer(const YamlNode* node, std::int64_t least, std::int64_t most, Complaints& complaints);
/// A day of the calendar as `YYYY-MM-DD`.
std::optional<std::string> yaml_date(const YamlNode* node, Complaints& complaints);
/// `true` or `false`, without quotes.
std::optional<bool> yaml_bool(const YamlNode* node, Complaints& complaints);
/// The index of the text among `names`.
std::optional<std::size_t> yaml_choice(const YamlNode* node, std::span<const std::string_view> names, Complaints& complaints);
/// The items of a sequence; none where it is not one.
std::span<const YamlNode> yaml_items(const YamlNode* node, Complaints& complaints);

}  // namespace sievecloth
