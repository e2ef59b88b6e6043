#include "mamelon/error.h"

#include <gtest/gtest.h>

namespace mamelon {
namespace {

TEST(Printable, KeepsTextAndEscapesTheRest) {
  EXPECT_EQ(printable("ΔE00 ≤ 0.8 °"), "ΔE00 ≤ 0.8 °");
  EXPECT_EQ(printable("1.2\x15|"), "1.2\\x15|");
  EXPECT_EQ(printable("two\nlines"), "two\\x0alines");
  EXPECT_EQ(printable("\xff\xfe"), "\\xff\\xfe");
  EXPECT_EQ(printable("cut \xe2\x89"), "cut \\xe2\\x89");
  EXPECT_EQ(printable("\xc0\x80"), "\\xc0\\x80");           // overlong
  EXPECT_EQ(printable("\xed\xa0\x80"), "\\xed\\xa0\\x80");  // surrogate
  EXPECT_EQ(printable("\xf4\x90\x80\x80"), "\\xf4\\x90\\x80\\x80");
  EXPECT_EQ(printable("\xf0\x9f\x98\x80"), "\xf0\x9f\x98\x80");
}

// A file with stray bytes was once quoted as it stood, and the message could not be decoded.
TEST(Error, MessagesArePrintable) {
  EXPECT_STREQ(DataError("expected a number, got \"1\xb8\"").what(),
               "expected a number, got \"1\\xb8\"");
}

}  // namespace
}  // namespace mamelon
