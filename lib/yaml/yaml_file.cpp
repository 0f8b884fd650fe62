#include "yaml/yaml_file.hpp"

#include <fmt/format.h>
#include <yaml-cpp/eventhandler.h>
#include <yaml-cpp/exceptions.h>
#include <yaml-cpp/mark.h>
#include <yaml-cpp/parser.h>

#include <algorithm>
#include <charconv>
#include <chrono>
#include <numeric>
#include <sstream>
#include <utility>

#include "base/text.hpp"

namespace sievecloth {
namespace {

/// Converts the parser's locations (bytes, from 0) into ours (characters, from 1). They come in file order, so that each line is
/// counted once.
class PlaceFinder {
 public:
  explicit PlaceFinder(std::string_view text) : text_(text) {}

  YamlMark operator()(const YAML::Mark& mark) {
    if (mark.is_null()) return {};
    const auto byte = static_cast<std::size_t>(mark.column);
    if (mark.line < line_ || (mark.line == line_ && byte < byte_)) *this = PlaceFinder(text_);
    for (; line_ < mark.line; ++line_) {
      line_start_ = std::min(text_.find('\n', line_start_), text_.size() - 1) + 1;
      byte_ = characters_ = 0;
    }
    characters_ += character_count(text_.substr(std::min(line_start_ + byte_, text_.size()), byte - byte_));
    byte_ = byte;
    return {line_ + 1, static_cast<std::int64_t>(characters_) + 1};
  }

 private:
  std::string_view text_;
  int line_ = 0;
  std::size_t line_start_ = 0;
  std::size_t byte_ = 0;
  std::size_t characters_ = 0;
};

struct TooMuch {};

/// Builds the tree from the parser's events, because the parser's own tree drops duplicate keys.
class TreeBuilder : public YAML::EventHandler {
 public:
  TreeBuilder(std::string_view text, Complaints& complaints) : place_(text), complaints_(complaints) {}

  YamlNode root;
  int documents = 0;

  YamlMark place(const YAML::Mark& mark) { return place_(mark); }

  void OnDocumentStart(const YAML::Mark& mark) override {
    if (++documents == 2) complain(ErrorCode::yaml_syntax, place(mark), "a second document in one file");
  }
  void OnDocumentEnd() override {}
  void OnNull(const YAML::Mark& mark, YAML::anchor_t anchor) override { leaf(make(YamlNode::Kind::null, start(mark, "", anchor))); }
  void OnAlias(const YAML::Mark& mark, YAML::anchor_t) override {
    const YamlMark at = place(mark);
    complain(ErrorCode::yaml_syntax, at, "an alias (*) cannot be used here");
    leaf(make(YamlNode::Kind::null, at));
  }
  void OnScalar(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor, const std::string& value) override {
    YamlNode node = make(YamlNode::Kind::scalar, start(mark, tag, anchor));
    node.quoted = tag == "!";  // the parser gives this tag to every scalar that is not plain
    node.text = value;
    leaf(std::move(node));
  }
  void OnSequenceStart(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor, YAML::EmitterStyle::value) override {
    open(make(YamlNode::Kind::sequence, start(mark, tag, anchor)));
  }
  void OnSequenceEnd() override { close(); }
  void OnMapStart(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor, YAML::EmitterStyle::value) override {
    open(make(YamlNode::Kind::mapping, start(mark, tag, anchor)));
  }
  void OnMapEnd() override { close(); }

 private:
  struct Level {
    YamlNode node;
    std::optional<YamlNode> key;  // of a mapping, while its value is pending
  };

  YamlNode make(YamlNode::Kind kind, YamlMark mark) {
    if (++values_ > k_most_yaml_values) {
      complain(ErrorCode::too_many_values, mark, fmt::format("more than {} keys and values", k_most_yaml_values));
      throw TooMuch{};
    }
    YamlNode node;
    node.kind = kind;
    node.mark = mark;
    return node;
  }

  void complain(ErrorCode code, YamlMark at, std::string message) { complaints_.add(code, at.line, at.column, std::move(message)); }

  YamlMark start(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor) {
    const YamlMark at = place(mark);
    if (anchor != 0) complain(ErrorCode::yaml_syntax, at, "an anchor (&) cannot be used here");
    if (!tag.empty() && tag != "?" && tag != "!") complain(ErrorCode::yaml_syntax, at, "a tag (!) cannot be used here");
    return at;
  }

  void open(YamlNode node) {
    if (levels_.size() == k_deepest_yaml) {
      complain(ErrorCode::too_deep, node.mark, fmt::format("nested more than {} levels deep", k_deepest_yaml));
      throw TooMuch{};
    }
    levels_.push_back({std::move(node), std::nullopt});
  }

  void close() {
    YamlNode node = std::move(levels_.back().node);
    levels_.pop_back();
    leaf(std::move(node));
  }

  void leaf(YamlNode node) {
    if (levels_.empty()) {
      if (documents == 1) root = std::move(node);
      return;
    }
    Level& level = levels_.back();
    if (level.node.kind == YamlNode::Kind::mapping && !level.key) {
      if (node.kind != YamlNode::Kind::scalar) complain(ErrorCode::wrong_type, node.mark, "a key must be a text");
      level.key = std::move(node);
      return;
    }
    if (level.key) {
      node.key = std::move(level.key->text);
      node.key_mark = level.key->mark;
      level.key.reset();
    }
    level.node.children.push_back(std::move(node));
  }

  PlaceFinder place_;
  Complaints& complaints_;
  std::vector<Level> levels_;
  std::size_t values_ = 0;
};

std::string_view kind_name(YamlNode::Kind kind) {
  constexpr auto names = std::to_array<std::string_view>({"nothing", "a single value", "a list", "a mapping"});
  return names[static_cast<std::size_t>(kind)];
}

void complain(Complaints& complaints, ErrorCode code, const YamlNode& node, std::string message, std::string expected = {}) {
  complaints.add(code, node.mark.line, node.mark.column, std::move(message), node.text, std::move(expected));
}

bool has_kind(const YamlNode& node, YamlNode::Kind kind, std::string_view what, Complaints& complaints) {
  if (node.kind == kind) return true;
  complain(complaints, ErrorCode::wrong_type, node, fmt::format("{} where {} must stand", kind_name(node.kind), what));
  return false;
}

std::string listed(const YamlKeys& keys) {
  std::string text;
  for (const auto* list : {&keys.required, &keys.optional}) {
    for (const std::string_view key : *list) text += fmt::format("{}{}", text.empty() ? "" : ", ", key);
  }
  return text;
}

// Letters to insert, leave out or exchange to make one text of the other.
std::size_t edits(std::string_view a, std::string_view b) {
  std::vector<std::size_t> row(b.size() + 1);
  std::iota(row.begin(), row.end(), std::size_t{0});
  for (std::size_t i = 0; i < a.size(); ++i) {
    std::size_t diagonal = std::exchange(row[0], i + 1);
    for (std::size_t j = 0; j < b.size(); ++j) {
      const std::size_t exchanged = diagonal + (a[i] == b[j] ? 0 : 1);
      diagonal = row[j + 1];
      row[j + 1] = std::min({exchanged, diagonal + 1, row[j] + 1});
    }
  }
  return row.back();
}

// The keys that may stand there; of more than fit into a message the one most like what was found.
std::string expected_for(std::string_view found, const YamlKeys& keys) {
  constexpr std::size_t k_longest_list = 500, k_longest_key = 40;
  if (std::string all = listed(keys); all.size() <= k_longest_list || keys.optional.empty()) return "one of " + all;
  const auto unlikeness = [&](std::string_view key) { return edits(found.substr(0, k_longest_key), key); };
  return fmt::format("a key such as {}", *std::ranges::min_element(keys.optional, {}, unlikeness));
}

bool knows(const std::vector<std::string_view>& keys, std::string_view key) {
  return std::find(keys.begin(), keys.end(), key) != keys.end();
}

bool is_date(std::string_view text) {
  constexpr std::string_view pattern = "dddd-dd-dd";
  if (text.size() != pattern.size()) return false;
  for (std::size_t i = 0; i < pattern.size(); ++i) {
    if (pattern[i] == 'd' ? !is_digit(text[i]) : text[i] != pattern[i]) return false;
  }
  const auto number = [&](std::size_t at, std::size_t digits) {
    int value = 0;
    std::from_chars(text.data() + at, text.data() + at + digits, value);
    return value;
  };
  using namespace std::chrono;
  return (year(number(0, 4)) / month(static_cast<unsigned>(number(5, 2))) / day(static_cast<unsigned>(number(8, 2)))).ok();
}

}  // namespace

bool check_text(std::string_view text, Complaints& complaints) {
  std::int64_t line = 1;
  std::int64_t column = 1;
  while (!text.empty()) {
    const std::size_t length = utf8_length(text);
    const auto first = static_cast<unsigned char>(text.front());
    const bool line_end = text.starts_with('\n') || text.starts_with("\r\n");
    const bool is_plain = length != 0 && (!is_invisible(code_point(text.substr(0, length))) || first == '\t' || line_end);
    if (!is_plain) {
      complaints.add(ErrorCode::not_text, line, column, "not a text in UTF-8 without control characters",
                     text.substr(0, std::max<std::size_t>(length, 1)), "a text file saved as UTF-8");
      return false;
    }
    column = first == '\n' ? 1 : column + 1;
    line += first == '\n' ? 1 : 0;
    text.remove_prefix(length);
  }
  return true;
}

Result<YamlNode> parse_yaml(std::string_view text, const std::string& file) {
  constexpr std::size_t k_longest_message = 200;
  Complaints complaints(file);
  if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);
  if (!check_text(text, complaints)) return complaints.take();  // the parser accepts invalid bytes and guesses UTF-16
  TreeBuilder tree(text, complaints);
  try {
    std::istringstream stream{std::string(text)};
    YAML::Parser parser(stream);
    while (tree.documents < 2 && parser.HandleNextDocument(tree)) {
    }
    if (tree.documents == 0) complaints.add(ErrorCode::yaml_syntax, 1, 1, "an empty document", "", "lines such as `key: value`");
  } catch (const YAML::Exception& error) {
    const YamlMark at = tree.place(error.mark);
    complaints.add(ErrorCode::yaml_syntax, at.line, at.column, "not YAML: " + printable(error.msg, k_longest_message));
  } catch (const TooMuch&) {  // already reported
  }
  if (!complaints.none()) return complaints.take();
  return std::move(tree.root);
}

YamlMapping::YamlMapping(const YamlNode* node, std::string_view what, const YamlKeys& keys, Complaints& complaints) {
  if (node == nullptr || !has_kind(*node, YamlNode::Kind::mapping, what, complaints)) return;
  node_ = node;
  std::vector<const YamlNode*> known;
  for (const YamlNode& child : node->children) {
    if (complaints.full()) return;
    const auto& [line, column] = child.key_mark;
    const auto same = std::find_if(known.begin(), known.end(), [&](const YamlNode* other) { return other->key == child.key; });
    if (!knows(keys.required, child.key) && !knows(keys.optional, child.key)) {
      complaints.add(ErrorCode::unknown_key, line, column, fmt::format("unknown key in {}", what), child.key,
                     expected_for(child.key, keys));
    } else if (same != known.end()) {
      complaints.add(ErrorCode::duplicate_key, line, column,
                     fmt::format("key given twice, first in line {}", (*same)->key_mark.line), child.key);
    } else {
      known.push_back(&child);
      if (child.kind == YamlNode::Kind::null) {
        complaints.add(ErrorCode::key_missing, line, column, "key without a value", child.key,
                       "a value, in quotes if it begins with #");
      }
    }
  }
  for (const std::string_view key : keys.required) {
    if (std::any_of(known.begin(), known.end(), [&](const YamlNode* child) { return child->key == key; })) continue;
    complaints.add(ErrorCode::key_missing, node->mark.line, node->mark.column, fmt::format("{} lacks the key '{}'", what, key));
  }
}

const YamlNode* YamlMapping::operator[](std::string_view key) const {
  if (node_ == nullptr) return nullptr;
  for (const YamlNode& child : node_->children) {
    if (child.key == key) return child.kind == YamlNode::Kind::null ? nullptr : &child;
  }
  return nullptr;
}

const YamlNode* yaml_quoted(const YamlNode* node, Complaints& complaints) {
  if (node == nullptr || !has_kind(*node, YamlNode::Kind::scalar, "a number in quotes", complaints)) return nullptr;
  if (node->quoted) return node;
  complain(complaints, ErrorCode::wrong_type, *node, "a number without quotes", fmt::format("\"{}\"", printable(node->text)));
  return nullptr;
}

std::optional<std::string> yaml_text(const YamlNode* node, Complaints& complaints) {
  if (node == nullptr || !has_kind(*node, YamlNode::Kind::scalar, "a text", complaints)) return std::nullopt;
  if (node->text.empty() || printable(node->text, node->text.size()) != node->text) {
    complain(complaints, ErrorCode::wrong_value, *node, "not a line of text", "one line, not empty, without control characters");
    return std::nullopt;
  }
  return node->text;
}

std::optional<Length> yaml_length(const YamlNode* node, Unit unit, Complaints& complaints) {
  node = yaml_quoted(node, complaints);
  if (node == nullptr) return std::nullopt;
  Result<Length> length = parse_length(node->text, unit);
  if (length) return *length;
  complain(complaints, length.error().code, *node, length.error().message, length.error().expected);
  return std::nullopt;
}

std::optional<Length> yaml_length_with_unit(const YamlNode* node, Complaints& complaints) {
  const std::optional<std::string> text = yaml_text(node, complaints);
  if (!text) return std::nullopt;
  if (const Result<Length> length = parse_length_with_unit(*text); length.ok()) return *length;
  complain(complaints, ErrorCode::wrong_value, *node, "not a length with its unit",
           "a length above 0 such as \"200 mm\", in um, mm, m or in");
  return std::nullopt;
}

std::optional<std::int64_t> yaml_integer(const YamlNode* node, std::int64_t least, std::int64_t most, Complaints& complaints) {
  if (node == nullptr || !has_kind(*node, YamlNode::Kind::scalar, "a whole number", complaints)) return std::nullopt;
  std::int64_t value = 0;
  const char* end = node->text.data() + node->text.size();
  const auto [stop, error] = std::from_chars(node->text.data(), end, value);
  const bool padded = node->text.size() > 1 && node->text.starts_with('0');
  if (error == std::errc() && stop == end && !padded && value >= least && value <= most) return value;
  complain(complaints, ErrorCode::wrong_value, *node, "not a whole number in plain digits", fmt::format("{} to {}", least, most));
  return std::nullopt;
}

std::optional<std::string> yaml_date(const YamlNode* node, Complaints& complaints) {
  if (node == nullptr || !has_kind(*node, YamlNode::Kind::scalar, "a date", complaints)) return std::nullopt;
  if (is_date(node->text)) return node->text;
  complain(complaints, ErrorCode::wrong_value, *node, "not a date", "a day of the calendar as YYYY-MM-DD");
  return std::nullopt;
}

std::optional<bool> yaml_bool(const YamlNode* node, Complaints& complaints) {
  if (node == nullptr || !has_kind(*node, YamlNode::Kind::scalar, "true or false", complaints)) return std::nullopt;
  if (!node->quoted && node->text == "true") return true;
  if (!node->quoted && node->text == "false") return false;
  complain(complaints, ErrorCode::wrong_value, *node, "neither true nor false", "true or false, without quotes");
  return std::nullopt;
}

std::optional<std::size_t> yaml_choice(const YamlNode* node, std::span<const std::string_view> names, Complaints& complaints) {
  if (node == nullptr || !has_kind(*node, YamlNode::Kind::scalar, "a word", complaints)) return std::nullopt;
  const auto found = std::find(names.begin(), names.end(), node->text);
  if (found != names.end()) return static_cast<std::size_t>(found - names.begin());
  complain(complaints, ErrorCode::wrong_value, *node, "unknown word", fmt::format("one of {}", fmt::join(names, ", ")));
  return std::nullopt;
}

std::span<const YamlNode> yaml_items(const YamlNode* node, Complaints& complaints) {
  if (node == nullptr || !has_kind(*node, YamlNode::Kind::sequence, "a list", complaints)) return {};
  return node->children;
}

}  // namespace sievecloth
