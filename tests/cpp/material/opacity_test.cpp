#include "mamelon/opacity.h"

#include <cmath>

#include <gtest/gtest.h>

#include "mamelon/appearance.h"
#include "mamelon/difference.h"

#include "paste_samples.h"

namespace mamelon {
namespace {

const Viewing& d65() {
  static const Viewing viewing{standard_illuminant("D65"), Observer::deg2};
  return viewing;
}

TEST(Opacity, OfAClearLayerIsThatOfItsFloors) {
  // Next to no scattering and no absorption: over black nothing comes back, over white 0.96.
  const Opacity clear = opacity(test::flat_paste("clear", 0, 1e-9), Engine::kubelka_munk, d65());
  EXPECT_NEAR(clear.contrast_ratio, 0, 1e-8);
  EXPECT_FALSE(clear.infinite_mm.has_value());
  const double y = to_measured(1, interface_of(1.5, false));
  EXPECT_NEAR(clear.tp_ab, 116 * std::cbrt(y) - 16, 0.01);
}

TEST(Opacity, InfiniteDepthIsWhereTheDifferenceCrossesTheThreshold) {
  const Paste paste = test::flat_paste("dun", 0.1, 1.2);
  const Opacity one = opacity(paste, Engine::kubelka_munk, d65());
  ASSERT_TRUE(one.infinite_mm.has_value());
  const Opacity there = opacity(paste, Engine::kubelka_munk, d65(), *one.infinite_mm);
  EXPECT_NEAR(there.tp00, threshold::perceptible_de00, 1e-3);
  EXPECT_GT(one.tp00, there.tp00);
  EXPECT_LT(one.contrast_ratio, there.contrast_ratio);
  EXPECT_LT(there.contrast_ratio, 1);
}

TEST(Opacity, MoreScatteringHidesSooner) {
  double before = 40;
  for (const double s : {0.8, 1.6, 3.2}) {
    const auto depth =
        opacity(test::flat_paste("dun", 0.1, s), Engine::kubelka_munk, d65()).infinite_mm;
    ASSERT_TRUE(depth.has_value());
    EXPECT_LT(*depth, before);
    before = *depth;
  }
}

Paste fitted_paste() {
  Paste paste = test::flat_paste("dun", 0.1, 1.6);
  paste.transport = TransportConstants{paste.absorption, paste.scattering, 0.6};
  const std::size_t n = test::visible.count;
  paste.transport->modes = {{std::vector<double>(n, 0.02), std::vector<double>(n, 0.05)}};
  return paste;
}

TEST(Opacity, HidingDepthHasTheIntervalOfTheConstants) {
  const Paste paste = fitted_paste();
  const Opacity shown = opacity(paste, Engine::transport, d65());
  ASSERT_TRUE(shown.infinite_mm && shown.infinite_95_mm);
  // One mode: 1.96 of its moves lead to the ends.
  const auto& mode = paste.transport->modes[0];
  const auto deep = opacity(moved(paste, mode, -1.96), Engine::transport, d65());
  const auto shallow = opacity(moved(paste, mode, 1.96), Engine::transport, d65());
  EXPECT_NEAR((*shown.infinite_95_mm)[0], *shallow.infinite_mm, 0.01);
  EXPECT_NEAR((*shown.infinite_95_mm)[1], *deep.infinite_mm, 0.01);
  EXPECT_FALSE(opacity(paste, Engine::kubelka_munk, d65()).infinite_95_mm.has_value());
}

TEST(Masking, TakesSoManyCoatsThatTheFloorIsHidden) {
  const Paste paste = fitted_paste();
  const Reflectance dark(test::visible, std::vector<double>(test::visible.count, 0.1));
  const auto mask = masking(paste, Engine::transport, dark, d65(), 0.15);
  ASSERT_TRUE(mask && mask->thickness_95_mm);
  const auto lab = [&](double mm) {
    return to_lab(predict(Stack{dark, {{paste, mm}}, false}, Engine::transport), d65());
  };
  EXPECT_NEAR(de00(lab(30), lab(mask->thickness_mm)), threshold::perceptible_de00, 1e-3);
  EXPECT_GE(mask->coats * 0.15, (*mask->thickness_95_mm)[1]);
  EXPECT_LT((mask->coats - 1) * 0.15, (*mask->thickness_95_mm)[1]);
  // A lighter floor needs less.
  const Reflectance light(test::visible, std::vector<double>(test::visible.count, 0.4));
  EXPECT_LT(masking(paste, Engine::transport, light, d65())->thickness_mm, mask->thickness_mm);
  // What hides nothing needs no number of coats.
  EXPECT_FALSE(
      masking(test::flat_paste("clear", 0, 1e-9), Engine::kubelka_munk, dark, d65()).has_value());
  EXPECT_THROW((void)masking(paste, Engine::transport, dark, d65(), 0), ArgumentError);
}

TEST(Opacity, FloorsOutOfOrderAreRefused) {
  const Paste paste = test::flat_paste("dun", 0.1, 1.2);
  EXPECT_THROW((void)opacity(paste, Engine::kubelka_munk, d65(), 1, 0.5, 0.5), ArgumentError);
  EXPECT_THROW((void)opacity(paste, Engine::kubelka_munk, d65(), 1, 0, 1.1), ArgumentError);
  EXPECT_THROW((void)opacity(paste, Engine::transport, d65()), ArgumentError);
}

}  // namespace
}  // namespace mamelon
