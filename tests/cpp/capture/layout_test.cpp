#include "mamelon/layout.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mamelon/error.h"

namespace {

using mamelon::card_layout;
using testing::HasSubstr;

bool overlap(double ax, double ay, double aw, double ah, double bx, double by, double bw,
             double bh) {
  return ax < bx + bw && bx < ax + aw && ay < by + bh && by < ay + ah;
}

TEST(Layout, PartsLieOnTheCardAndApart) {
  for (const std::size_t patches : {1U, 7U, 16U, 40U}) {
    const auto layout = card_layout({.patches = patches});
    const auto& card = layout.card;
    std::vector<mamelon::WhiteArea> parts = card.white_areas;
    EXPECT_GE(parts.size(), 15U);
    ASSERT_EQ(card.patches.size(), patches);
    for (const auto& p : card.patches) {
      parts.push_back({p.x_mm, p.y_mm, p.width_mm, p.height_mm});
      EXPECT_FALSE(p.lab || p.reflectance);
    }
    for (const auto& f : card.fiducials) {
      parts.push_back({f.x_mm, f.y_mm, f.size_mm, f.size_mm});
    }
    for (std::size_t i = 0; i < parts.size(); ++i) {
      const auto& a = parts[i];
      EXPECT_GE(a.x_mm, 0);
      EXPECT_GE(a.y_mm, 0);
      EXPECT_LE(a.x_mm + a.width_mm, card.width_mm + 1e-9);
      EXPECT_LE(a.y_mm + a.height_mm, card.height_mm + 1e-9);
      for (std::size_t k = 0; k < i; ++k) {
        const auto& b = parts[k];
        EXPECT_FALSE(overlap(a.x_mm, a.y_mm, a.width_mm, a.height_mm, b.x_mm, b.y_mm, b.width_mm,
                             b.height_mm));
      }
    }
  }
}

TEST(Layout, TheOpeningIsAsWideAsWanted) {
  const auto layout = card_layout({.patches = 4, .opening_mm = 50});
  ASSERT_TRUE(layout.opening.has_value());
  EXPECT_GE(layout.opening->width_mm, 50);
  EXPECT_FALSE(card_layout({.bar_mm = 0}).opening.has_value());
}

TEST(Layout, NamesAreEscaped) {
  EXPECT_THAT(layout_svg(card_layout({.name = "a<b&c"})), HasSubstr("a&lt;b&amp;c"));
}

TEST(Layout, RefusesWhatCannotBePrinted) {
  EXPECT_THROW((void)card_layout({.patches = 0}), mamelon::ArgumentError);
  EXPECT_THROW((void)card_layout({.patch_mm = 0.5}), mamelon::ArgumentError);
  EXPECT_THROW((void)card_layout({.bar_mm = -1}), mamelon::ArgumentError);
}

}  // namespace
