#include "base/numbers.h"

#include <clocale>

#include <gtest/gtest.h>

namespace mamelon::detail {
namespace {

TEST(Numbers, ReadWholeTextOrNothing) {
  EXPECT_EQ(parse_number(" 61.25 "), 61.25);
  EXPECT_EQ(parse_number("+1e-3"), 1e-3);
  EXPECT_EQ(parse_number("-0.5"), -0.5);
  for (const char* bad : {"", " ", "61,25", "1.2.3", "0x10", "nan", "inf", "1e999", "+-1", "5 %"})
    EXPECT_FALSE(parse_number(bad)) << bad;
}

TEST(Numbers, WriteShortestThatReadsBack) {
  EXPECT_EQ(format_number(0.1), "0.1");
  EXPECT_EQ(format_number(24389.0 / 27.0), "903.2962962962963");
  EXPECT_EQ(parse_number(format_number(1.0 / 3.0)), 1.0 / 3.0);
}

TEST(Numbers, FixedDecimalsHaveNoNegativeZero) {
  EXPECT_EQ(format_fixed(-0.004, 2), "0.00");
  EXPECT_EQ(format_fixed(-0.006, 2), "-0.01");
  EXPECT_EQ(format_fixed(12.345, 1), "12.3");
}

TEST(Numbers, LocaleDoesNotMatter) {
  if (std::setlocale(LC_ALL, "de_DE.UTF-8") == nullptr) GTEST_SKIP() << "no German locale here";
  EXPECT_EQ(parse_number("61.25"), 61.25);
  EXPECT_EQ(format_fixed(61.25, 2), "61.25");
  std::setlocale(LC_ALL, "C");
}

}  // namespace
}  // namespace mamelon::detail
