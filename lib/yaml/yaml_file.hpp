// Strict reading of YAML: no duplicate or unknown keys, no anchors, aliases or tags; every error has its line and column.
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

/// A location in the text; line and column (in characters) count from 1.
struct YamlMark {
  std::int64_t line = 0;
  std::int64_t column = 0;
};

/// A value of the document, as written: scalars keep their text, and nothing is converted to a number or boolean.
struct YamlNode {
  enum class Kind : std::uint8_t { null, scalar, sequence, mapping };
  Kind kind = Kind::null;
  bool quoted = false;  ///< a quoted scalar or a block scalar
  std::string text;     ///< of a scalar
  YamlMark mark;
  std::string key;  ///< in a mapping: the key of this value
  YamlMark key_mark;
  std::vector<YamlNode> children;  ///< items of a sequence, values of a mapping, in the order of the file
};

/// Maximum nesting depth.
inline constexpr std::size_t k_deepest_yaml = 16;
/// Keys and values of one file, some times what the largest table has.
inline constexpr std::size_t k_most_yaml_values = 100'000;

/// Returns true if `text` is UTF-8 without invisible characters other than line ends and tabs. Otherwise adds not_text for the
/// first.
bool check_text(std::string_view text, Complaints& complaints);

/// Parses a text that holds one document.
/// Errors: not_text (not UTF-8, or control characters); yaml_syntax (including an empty document, a second one, anchors, aliases,
/// tags); wrong_type (a key that is not a scalar); too_deep; too_many_values (more than k_most_yaml_values).
Result<YamlNode> parse_yaml(std::string_view text, const std::string& file);

struct YamlKeys {
  std::vector<std::string_view> required;
  std::vector<std::string_view> optional;
};

/// One mapping with validated keys: each once, none unknown, none missing, none without a value.
class YamlMapping {
 public:
  /// `what` names the mapping in error messages, such as `a row`. `node` must outlive this; null yields an empty mapping without an
  /// error, since its absence has been reported already.
  /// Errors: wrong_type, duplicate_key, unknown_key, key_missing.
  YamlMapping(const YamlNode* node, std::string_view what, const YamlKeys& keys, Complaints& complaints);

  /// The value of `key`, or null if there is none.
  const YamlNode* operator[](std::string_view key) const;
  /// Location of the mapping.
  YamlMark mark() const { return node_ == nullptr ? YamlMark{} : node_->mark; }

 private:
  const YamlNode* node_ = nullptr;
};

// Each of these reads one value. Null yields nothing, without an error; an invalid value yields nothing and an error (wrong_type,
// wrong_value, malformed_number, too_fine, too_large).

/// Returns the node itself if it is a quoted scalar, as required of numbers that YAML could misread.
const YamlNode* yaml_quoted(const YamlNode* node, Complaints& complaints);
/// One line of text, not empty, without control characters.
std::optional<std::string> yaml_text(const YamlNode* node, Complaints& complaints);
/// A quoted decimal, as read by parse_length; may be negative.
std::optional<Length> yaml_length(const YamlNode* node, Unit unit, Complaints& complaints);
/// A length above 0 with its unit, such as `200 mm`: without one it would be a guess.
std::optional<Length> yaml_length_with_unit(const YamlNode* node, Complaints& complaints);
/// A whole number within least .. most, in plain digits, quoted or not.
std::optional<std::int64_t> yaml_integer(const YamlNode* node, std::int64_t least, std::int64_t most, Complaints& complaints);
/// A calendar date, `YYYY-MM-DD`.
std::optional<std::string> yaml_date(const YamlNode* node, Complaints& complaints);
/// `true` or `false`, unquoted.
std::optional<bool> yaml_bool(const YamlNode* node, Complaints& complaints);
/// The index of the text among `names`.
std::optional<std::size_t> yaml_choice(const YamlNode* node, std::span<const std::string_view> names, Complaints& complaints);
/// The items of a sequence; empty if it is not one.
std::span<const YamlNode> yaml_items(const YamlNode* node, Complaints& complaints);

}  // namespace sievecloth
