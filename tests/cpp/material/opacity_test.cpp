#include "mamelon/opacity.h"

#include <cmath>

#include <gtest/gtest.h>

#include "mamelon/appearance.h"

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

TEST(Opacity, FloorsOutOfOrderAreRefused) {
  const Paste paste = test::flat_paste("dun", 0.1, 1.2);
  EXPECT_THROW((void)opacity(paste, Engine::kubelka_munk, d65(), 1, 0.5, 0.5), ArgumentError);
  EXPECT_THROW((void)opacity(paste, Engine::kubelka_munk, d65(), 1, 0, 1.1), ArgumentError);
  EXPECT_THROW((void)opacity(paste, Engine::transport, d65()), ArgumentError);
}

}  // namespace
}  // namespace mamelon
