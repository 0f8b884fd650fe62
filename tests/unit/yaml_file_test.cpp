// boundary: the strict YAML reader's contract in lib/yaml/yaml_file.hpp; places counted by hand in the texts below.
#include "yaml/yaml_file.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace sievecloth {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::StartsWith;

std::string first_complaint(std::string_view yaml) {
  const Result<YamlNode> node = parse_yaml(yaml, "f.yaml");
  return node ? "no complaint" : to_text(node.error());
}

TEST(YamlFile, KeepsTextQuotesPlacesAndOrder) {
  const YamlNode root = parse_yaml("b: \"010\"\na: [x, 'y']\n", "f.yaml").value();
  ASSERT_EQ(root.kind, YamlNode::Kind::mapping);
  ASSERT_EQ(root.children.size(), 2U);
  const YamlNode& b = root.children[0];
  EXPECT_EQ(b.key, "b");
  EXPECT_EQ(b.text, "010");
  EXPECT_TRUE(b.quoted);
  EXPECT_EQ(b.mark.line, 1);
  EXPECT_EQ(b.mark.column, 4);
  const YamlNode& a = root.children[1];
  ASSERT_EQ(a.children.size(), 2U);
  EXPECT_FALSE(a.children[0].quoted);
  EXPECT_TRUE(a.children[1].quoted);
  EXPECT_EQ(a.children[1].mark.line, 2);
  EXPECT_EQ(a.children[1].mark.column, 8);
}

TEST(YamlFile, CountsColumnsInCharactersAndTakesByteOrderMarkAndCrLf) {
  const YamlNode root = parse_yaml("\xEF\xBB\xBF{\"\u00b5\u00b5\": a, b: c}\r\n", "f.yaml").value();
  ASSERT_EQ(root.children.size(), 2U);
  EXPECT_EQ(root.children[0].mark.column, 8);
  EXPECT_EQ(root.children[1].key_mark.column, 11);
}

TEST(YamlFile, RefusesWhatIsNotPlainYaml) {
  EXPECT_EQ(first_complaint(""), "f.yaml:1:1: an empty document: expected lines such as `key: value`");
  EXPECT_EQ(first_complaint("# only this\n"), "f.yaml:1:1: an empty document: expected lines such as `key: value`");
  EXPECT_THAT(first_complaint("a: [1, 2\nb: 3\n"), StartsWith("f.yaml:2:"));
  EXPECT_THAT(first_complaint("a: 1\n---\nb: 2\n"), HasSubstr("f.yaml:2:1: a second document"));
  EXPECT_EQ(first_complaint("a: &x 1\n"), "f.yaml:1:4: an anchor (&) cannot be used here");
  EXPECT_EQ(first_complaint("a: 1\nb: !!str 1\n"), "f.yaml:2:4: a tag (!) cannot be used here");
  EXPECT_EQ(first_complaint("a: 1\n[b]: 1\n"), "f.yaml:2:1: a key must be a text");
  EXPECT_THAT(first_complaint("a: *x\n"), StartsWith("f.yaml:1:"));
  EXPECT_EQ(first_complaint("a: 1\nb: \xFF\n"),
            "f.yaml:2:4: not a text in UTF-8 without control characters: found '\\xff', expected a text file saved as UTF-8");
  EXPECT_EQ(first_complaint("a\rb: 1\n"),
            "f.yaml:1:2: not a text in UTF-8 without control characters: found '\\x0d', expected a text file saved as UTF-8");
  EXPECT_EQ(first_complaint(std::string_view("a: \0", 4)),
            "f.yaml:1:4: not a text in UTF-8 without control characters: found '\\x00', expected a text file saved as UTF-8");
}

TEST(YamlFile, ShowsWholeCharactersOfWhatIsNotYaml) {
  // regression: found by fuzzing; the parser's message ends with the first byte of the character after a backslash
  EXPECT_EQ(first_complaint("a: \"\\\u00b5\""), "f.yaml:1:7: not YAML: unknown escape character: \\xc2");
  EXPECT_EQ(first_complaint("a: \"\\"), "f.yaml:1:6: not YAML: unknown escape character: \\x04");  // the parser's end marker
}

TEST(YamlFile, RefusesAnAliasEvenWhereItsAnchorExists) {
  const Result<YamlNode> node = parse_yaml("a: &x 1\nb: *x\n", "f.yaml");
  ASSERT_FALSE(node.ok());
  ASSERT_EQ(node.errors().size(), 2U);
  EXPECT_EQ(to_text(node.errors()[1]), "f.yaml:2:4: an alias (*) cannot be used here");
}

TEST(YamlFile, LimitsTheDepth) {
  const auto nested = [](std::size_t levels) { return std::string(levels, '[') + std::string(levels, ']'); };
  EXPECT_TRUE(parse_yaml(nested(k_deepest_yaml), "f.yaml").ok());
  const Result<YamlNode> deeper = parse_yaml(nested(k_deepest_yaml + 1), "f.yaml");
  ASSERT_FALSE(deeper.ok());
  EXPECT_EQ(deeper.error().code, ErrorCode::too_deep);
  EXPECT_EQ(deeper.error().where.column, 17);
  EXPECT_FALSE(parse_yaml(nested(100000), "f.yaml").ok());
}

std::vector<std::string> complaints_of_mapping(std::string_view yaml) {
  const YamlNode root = parse_yaml(yaml, "f.yaml").value();
  Complaints complaints("f.yaml");
  const YamlMapping map(&root, "the file", {.required = {"a", "b"}, .optional = {"c"}}, complaints);
  std::vector<std::string> texts;
  for (const Error& error : complaints.take()) texts.push_back(to_text(error));
  return texts;
}

TEST(YamlMapping, FindsUnknownDuplicateMissingAndEmptyKeys) {
  EXPECT_THAT(complaints_of_mapping("a: 1\nb: 2\n"), ElementsAre());
  EXPECT_THAT(complaints_of_mapping("a: 1\nb: 2\nc: 3\n"), ElementsAre());
  EXPECT_THAT(complaints_of_mapping("a: 1\nB: 2\nb: 3\n"),
              ElementsAre("f.yaml:2:1: unknown key in the file: found 'B', expected one of a, b, c"));
  EXPECT_THAT(complaints_of_mapping("a: 1\nb: 2\na: 3\n"), ElementsAre("f.yaml:3:1: key given twice, first in line 1: found 'a'"));
  EXPECT_THAT(complaints_of_mapping("c: 1\nb: 2\n"), ElementsAre("f.yaml:1:1: the file lacks the key 'a'"));
  EXPECT_THAT(complaints_of_mapping("a:\nb: ~\n"),
              ElementsAre("f.yaml:1:1: key without a value: found 'a', expected a value, in quotes if it begins with #",
                          "f.yaml:2:1: key without a value: found 'b', expected a value, in quotes if it begins with #"));
  EXPECT_THAT(complaints_of_mapping("[a, b]"), ElementsAre("f.yaml:1:1: a list where the file must stand"));
}

TEST(YamlMapping, GivesValuesAndNothing) {
  const YamlNode root = parse_yaml("a: 1\nb: 2\n", "f.yaml").value();
  Complaints complaints("f.yaml");
  const YamlMapping map(&root, "the file", {.required = {"a", "b"}, .optional = {"c"}}, complaints);
  ASSERT_NE(map["b"], nullptr);
  EXPECT_EQ(map["b"]->text, "2");
  EXPECT_EQ(map["c"], nullptr);
  const YamlMapping nothing(nullptr, "the file", {.required = {"a"}, .optional = {}}, complaints);
  EXPECT_EQ(nothing["a"], nullptr);
  EXPECT_TRUE(complaints.none());
}

/// Reads the single value of the text with `read`; returns the error, or nothing.
template <class Read>
std::string complaint_of(std::string_view yaml, Read read) {
  const YamlNode root = parse_yaml(yaml, "f.yaml").value();
  Complaints complaints("f.yaml");
  const auto value = read(&root.children[0], complaints);
  const Errors errors = complaints.take();
  EXPECT_EQ(errors.empty(), value.has_value());
  return errors.empty() ? "" : to_text(errors[0]);
}

TEST(YamlValues, LengthsMustBeQuotedDecimals) {
  const auto read = [](const YamlNode* node, Complaints& complaints) { return yaml_length(node, Unit::micrometre, complaints); };
  EXPECT_EQ(complaint_of("a: \"75.5\"", read), "");
  EXPECT_EQ(complaint_of("a: 75.5", read), "f.yaml:1:4: a number without quotes: found '75.5', expected \"75.5\"");
  EXPECT_THAT(complaint_of("a: \"7,5\"", read), StartsWith("f.yaml:1:4: not a number in plain digits: found '7,5'"));
  EXPECT_THAT(complaint_of("a: \"0.0000001\"", read), StartsWith("f.yaml:1:4: finer than a picometre"));
  EXPECT_EQ(complaint_of("a: [\"1\"]", read), "f.yaml:1:4: a list where a number in quotes must stand");
}

TEST(YamlValues, WholeNumbersHaveARangeAndNoPadding) {
  const auto read = [](const YamlNode* node, Complaints& complaints) { return yaml_integer(node, 1, 20, complaints); };
  EXPECT_EQ(complaint_of("a: 1", read), "");
  EXPECT_EQ(complaint_of("a: \"20\"", read), "");
  for (const std::string_view wrong :
       {"a: 0", "a: 21", "a: 010", "a: 1.0", "a: 0x1", "a: +1", "a: 99999999999999999999", "a: 1e1"}) {
    EXPECT_THAT(complaint_of(wrong, read), HasSubstr("not a whole number in plain digits")) << wrong;
  }
}

TEST(YamlValues, TruthIsTrueOrFalse) {
  const auto read = [](const YamlNode* node, Complaints& complaints) { return yaml_bool(node, complaints); };
  EXPECT_EQ(complaint_of("a: true", read), "");
  EXPECT_EQ(complaint_of("a: false", read), "");
  for (const std::string_view wrong : {"a: yes", "a: True", "a: \"true\"", "a: 1"}) {
    EXPECT_THAT(complaint_of(wrong, read), HasSubstr("neither true nor false")) << wrong;
  }
}

TEST(YamlValues, TextIsOneLineWithoutControlCharacters) {
  const auto read = [](const YamlNode* node, Complaints& complaints) { return yaml_text(node, complaints); };
  EXPECT_EQ(complaint_of("a: some \u00b5m", read), "");
  EXPECT_THAT(complaint_of("a: \"\"", read), HasSubstr("not a line of text"));
  EXPECT_THAT(complaint_of("a: \"x\\ty\"", read), HasSubstr("found 'x\\x09y'"));
  EXPECT_THAT(complaint_of("a: |\n  x\n  y\n", read), HasSubstr("not a line of text"));
}

TEST(YamlValues, ChoicesNameTheirWords) {
  constexpr std::array<std::string_view, 2> words{"warp", "weft"};
  const auto read = [&](const YamlNode* node, Complaints& complaints) { return yaml_choice(node, words, complaints); };
  EXPECT_EQ(complaint_of("a: weft", read), "");
  EXPECT_EQ(complaint_of("a: woof", read), "f.yaml:1:4: unknown word: found 'woof', expected one of warp, weft");
}

TEST(Complaints, ComeInTheOrderOfTheFileAndAreTwentyAtMost) {
  Complaints complaints("f.yaml");
  for (int line = 50; line >= 1; --line) complaints.add(ErrorCode::wrong_value, line, 1, "wrong");
  const Errors errors = complaints.take();
  ASSERT_EQ(errors.size(), k_most_complaints);
  EXPECT_EQ(errors.front().where.line, 1);
  EXPECT_EQ(errors.back().where.line, 20);
}

TEST(YamlFile, MoreValuesThanAnyFileNeedsAreRefused) {
  // regression: a job of 8 MiB of "a," took a gigabyte; boundary: the sequence itself is one value
  const auto list = [](std::size_t values) {
    std::string text = "[";
    for (std::size_t i = 0; i < values; ++i) text += "a,";
    return parse_yaml(text + "]", "f.yaml");
  };
  EXPECT_TRUE(list(k_most_yaml_values - 1).ok());
  EXPECT_EQ(list(k_most_yaml_values).error().code, ErrorCode::too_many_values);
}

TEST(YamlFile, InvisibleCharactersAreRefusedByNumber) {
  // regression: a reversed or hidden part of a name reached reports; source: Unicode 15, general category Cf
  for (const char* hidden : {"\u202e", "\u200b", "\u2066", "\u00ad"}) {
    const Result<YamlNode> file = parse_yaml(std::string("a: b") + hidden + "c\n", "f.yaml");
    ASSERT_FALSE(file.ok());
    EXPECT_TRUE(to_text(file.error()).find("<U+") != std::string::npos) << to_text(file.error());
  }
  EXPECT_TRUE(parse_yaml("a: \u0645\u06cc\u200c\u062e\n", "f.yaml").ok());  // the joiner that Persian needs
}

}  // namespace
}  // namespace sievecloth
