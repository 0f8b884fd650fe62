// boundary: anything that a terminal or a reader could take for more than plain text is escaped; code points from the Unicode
// standard
#include <gtest/gtest.h>

#include "sievecloth/result.hpp"

namespace sievecloth {
namespace {

TEST(Printable, LettersOfAnyLanguageStay) {
  for (const std::string text : {"75 \u00b5m", "Pr\u00fcfsieb", "\u2027", "\U0001F600", "\u0627\u0644"}) {
    EXPECT_EQ(printable(text), text);
  }
}

TEST(Printable, ControlCharactersAreEscaped) {
  EXPECT_EQ(printable("a\x1b[31m\x07\n\r\t\x7f"), "a\\x1b[31m\\x07\\x0a\\x0d\\x09\\x7f");
  EXPECT_EQ(printable("\u0080\u009f"), "<U+0080><U+009F>");
  EXPECT_EQ(printable(std::string_view("\0", 1)), "\\x00");
}

TEST(Printable, WhatCannotBeSeenIsShownByItsNumber) {
  // regression: "found 'warp', expected warp" helps nobody
  EXPECT_EQ(printable("\u202e"), "<U+202E>");
  EXPECT_EQ(printable("warp\u00a0"), "warp<U+00A0>");
  EXPECT_EQ(printable("\U000e0041"), "<U+E0041>");
  EXPECT_EQ(printable("\U00013430\U0001343f\U0001d159"), "<U+13430><U+1343F><U+1D159>");
  for (const std::string text : {"\u2028", "\u2029", "\u202a", "\u202d", "\u2066", "\u2069", "\u200b", "\ufeff", "\u00ad", "\u2003",
                                 "\u202f", "\u2060", "\u3000", "\u200d", "\ufe0f", "\u3164", "\u2800", "\uffff"}) {
    EXPECT_EQ(printable(text).size(), 8U) << text;
    EXPECT_EQ(printable(text).substr(0, 3), "<U+");
  }
}

TEST(Printable, WhatIsNotUtf8IsEscapedByteByByte) {
  EXPECT_EQ(printable("\xff\xc3("), "\\xff\\xc3(");
  EXPECT_EQ(printable("\xed\xa0\x80"), "\\xed\\xa0\\x80");
}

TEST(Printable, LongTextIsCutBetweenCharacters) {
  EXPECT_EQ(printable("abcdef", 6), "abcdef");
  EXPECT_EQ(printable("abcdefg", 6), "abcdef...");
  EXPECT_EQ(printable("abcde\u00b5x", 6), "abcde\u00b5...");
}

}  // namespace
}  // namespace sievecloth
