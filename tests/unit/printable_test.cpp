// boundary: anything that a terminal or a reader could take for more than plain text is escaped; code points from the Unicode
// standard
#include <gtest/gtest.h>

#include "sievecloth/result.hpp"

namespace sievecloth {
namespace {

TEST(Printable, LettersOfAnyLanguageStay) {
  for (const std::string text :
       {"75 \u00b5m", "\u00a0", "Pr\u00fcfsieb", "\u2027", "\u202f", "\u2065", "\u206a", "\U0001F600", "\u0627\u0644"}) {
    EXPECT_EQ(printable(text), text);
  }
}

TEST(Printable, ControlCharactersAreEscaped) {
  EXPECT_EQ(printable("a\x1b[31m\x07\n\r\t\x7f"), "a\\x1b[31m\\x07\\x0a\\x0d\\x09\\x7f");
  EXPECT_EQ(printable("\u0080\u009f"), "\\xc2\\x80\\xc2\\x9f");
  EXPECT_EQ(printable(std::string_view("\0", 1)), "\\x00");
}

TEST(Printable, WhatTurnsOrEndsALineIsEscaped) {
  for (const std::string text :
       {"\u2028", "\u2029", "\u202a", "\u202b", "\u202c", "\u202d", "\u202e", "\u2066", "\u2067", "\u2068", "\u2069"}) {
    EXPECT_EQ(printable(text).size(), 12U) << text;
    EXPECT_EQ(printable(text).substr(0, 4), "\\xe2");
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
