// boundary: RFC 8259, section 7 (what a string must escape); the layout checked by hand
#include "report/json.hpp"

#include <gtest/gtest.h>

#include <cstdint>
#include <limits>
#include <vector>

namespace sievecloth {
namespace {

template <class Body>
std::string written(Body body, JsonText::Layout layout = JsonText::Layout::line) {
  JsonText json(layout);
  json.object([&] { body(json); });
  return json.text();
}

TEST(Json, EscapesWhatAStringMustNotHold) {
  std::string all;
  for (char c = 0; c < 0x20; ++c) all += c;
  EXPECT_EQ(
      written([&](JsonText& json) { json.member("a", all); }),
      "{\"a\": \"\\u0000\\u0001\\u0002\\u0003\\u0004\\u0005\\u0006\\u0007\\b\\t\\n\\u000B\\f\\r\\u000E\\u000F\\u0010\\u0011\\u0012"
      "\\u0013\\u0014\\u0015\\u0016\\u0017\\u0018\\u0019\\u001A\\u001B\\u001C\\u001D\\u001E\\u001F\"}\n");
  EXPECT_EQ(written([](JsonText& json) { json.member("\"", "\\ /\x7f \u00b5m"); }), "{\"\\\"\": \"\\\\ /\\u007F \u00b5m\"}\n");
}

TEST(Json, NumbersAreTheShortestDecimals) {
  const auto number = [](auto value) { return written([&](JsonText& json) { json.member("n", value); }); };
  EXPECT_EQ(number(0.1), "{\"n\": 0.1}\n");
  EXPECT_EQ(number(75.0), "{\"n\": 75}\n");
  EXPECT_EQ(number(1e-300), "{\"n\": 1e-300}\n");
  EXPECT_EQ(number(std::numeric_limits<std::int64_t>::min()), "{\"n\": -9223372036854775808}\n");
  EXPECT_EQ(number(std::numeric_limits<std::uint64_t>::max()), "{\"n\": 18446744073709551615}\n");
  EXPECT_EQ(number(true), "{\"n\": true}\n");
}

TEST(Json, LaysOutEmptyAndNestedContainers) {
  const auto body = [](JsonText& json) {
    json.array("none", std::vector<int>(), [](int) {});
    json.array("two", std::vector<int>({1, 2}), [&](int item) { json.value(item); });
    json.object("inner", [&] {
      json.object("empty", [] {});
      json.key("nothing");
      json.null();
    });
  };
  EXPECT_EQ(
      written(body, JsonText::Layout::lines),
      "{\n  \"none\": [],\n  \"two\": [\n    1,\n    2\n  ],\n  \"inner\": {\n    \"empty\": {},\n    \"nothing\": null\n  }\n}\n");
  EXPECT_EQ(written(body), "{\"none\": [],\"two\": [1,2],\"inner\": {\"empty\": {},\"nothing\": null}}\n");
}

}  // namespace
}  // namespace sievecloth
