#include <algorithm>
#include <stdexcept>
#include <string>

#include <gtest/gtest.h>

#include "mamelon/card.h"
#include "mamelon/error.h"

#include "demo.h"

namespace {

using mamelon::design_card;

using mamelon::SurfaceKind;

const mamelon::DesignedError& error_of(const mamelon::CardDesign& design, SurfaceKind kind,
                                       const std::string& light) {
  const auto found = std::find_if(
      design.errors.begin(), design.errors.end(),
      [&](const mamelon::DesignedError& e) { return e.kind == kind && e.light == light; });
  if (found == design.errors.end()) throw std::out_of_range(light);
  return *found;
}

const mamelon::DesignedError& all(const mamelon::CardDesign& design) {
  return error_of(design, SurfaceKind::tooth, "all");
}

TEST(Design, MoreAndBetterPatchesAllowMore) {
  const auto tooth20 = design_card(demo::card("tooth20"), demo::d65());
  EXPECT_EQ(tooth20.errors.size(), 4U * 6U);
  EXPECT_LT(all(tooth20).de00_median, all(tooth20).de00_p95);
  // Daylight is what cameras are made for.
  const auto tooth = [&](const char* light) {
    return error_of(tooth20, SurfaceKind::tooth, light).de00_p95;
  };
  EXPECT_LT(tooth("daylight"), tooth("warm LED"));
  // A card of broad patches cannot sense lines.
  EXPECT_GT(tooth("lines"), tooth("all"));
  EXPECT_GT(error_of(tooth20, SurfaceKind::restoration, "all").de00_p95, all(tooth20).de00_p95);
  auto poor = demo::card("tooth20");
  poor.patches.resize(7);
  const auto few = design_card(poor, demo::d65());
  EXPECT_LT(all(tooth20).de00_p95, all(few).de00_p95);
}

// One patch more, of the wavelengths that the card's patches tell least of.
TEST(Design, ASuggestedPatchLetsTheCardTellMore) {
  auto card = demo::card("compact12");
  const auto suggested = mamelon::suggest_patches(card, demo::d65(), 1);
  ASSERT_EQ(suggested.size(), 1U);
  EXPECT_LT(suggested[0].error_after, suggested[0].error_before);
  const auto before = design_card(card, demo::d65());
  mamelon::Patch patch = card.patches.back();
  patch.name = "more";
  patch.lab.reset();
  patch.reflectance = suggested[0].reflectance;
  card.patches.push_back(patch);
  const auto after = design_card(card, demo::d65());
  double gain = 0;
  for (std::size_t i = 0; i < before.errors.size(); ++i) {
    gain += before.errors[i].de00_p95 - after.errors[i].de00_p95;
  }
  EXPECT_GT(gain, 0);
  EXPECT_THROW((void)mamelon::suggest_patches(card, demo::d65(), 0), mamelon::ArgumentError);
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
