#include <gtest/gtest.h>

#include "mamelon/card.h"
#include "mamelon/error.h"

#include "demo.h"

namespace {

using mamelon::design_card;

const mamelon::DesignedError& all(const mamelon::CardDesign& design) {
  return design.errors.back();
}

TEST(Design, MoreAndBetterPatchesAllowMore) {
  const auto tooth20 = design_card(demo::card("tooth20"), demo::d65());
  ASSERT_EQ(tooth20.errors.size(), 4U);
  EXPECT_EQ(all(tooth20).light, "all");
  EXPECT_LT(all(tooth20).de00_median, all(tooth20).de00_p95);
  // Daylight is what cameras are made for.
  EXPECT_LT(tooth20.errors[0].de00_p95, tooth20.errors[2].de00_p95);
  auto poor = demo::card("tooth20");
  poor.patches.resize(7);
  const auto few = design_card(poor, demo::d65());
  EXPECT_LT(all(tooth20).de00_p95, all(few).de00_p95);
}

TEST(Design, SameInputSameBits) {
  const auto card = demo::card("compact12");
  const auto a = design_card(card, demo::d65());
  const auto b = design_card(card, demo::d65());
  EXPECT_EQ(a.variance_factor, b.variance_factor);
  EXPECT_EQ(all(a).de00_p95, all(b).de00_p95);
}

TEST(Design, NeedsSpectra) {
  auto card = demo::card("compact12");
  card.patches[3].reflectance.reset();
  EXPECT_THROW((void)design_card(card, demo::d65()), mamelon::ArgumentError);
}

TEST(Design, SetsTheIntervalOfTheResponseEstimate) {
  const auto& s = demo::scene("front_teeth_linear");
  auto card = s.card;
  const mamelon::Vec3 tooth = {0.3, 0.26, 0.2};
  double last = 0;
  for (const double factor : {0.2, 1.0, 5.0}) {
    card.design =
        mamelon::CardDesign{.errors = {{.light = "all", .de00_median = 0.3, .de00_p95 = 1.0}},
                            .variance_factor = factor};
    const auto fit = fit_card(s.photo, card, demo::d65());
    const double sd = fit.correction->lab(tooth, {}, {600, 300}).sd()[2];
    EXPECT_GT(sd, last);
    last = sd;
  }
}

}  // namespace
