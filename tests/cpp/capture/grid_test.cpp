// A grid over the tooth, and every pixel of it.

#include <cmath>

#include <gtest/gtest.h>

#include "mamelon/difference.h"
#include "mamelon/error.h"
#include "mamelon/zones.h"

#include "demo.h"

namespace {

using demo::d65;
using demo::scene;

struct Found {
  const demo::Scene& scene;
  mamelon::CardFit fit;
  mamelon::Zones zones;
};

Found central() {
  const auto& s = scene("front_teeth_linear");
  auto fit = fit_card(s.photo, s.card, d65());
  mamelon::ToothHint hint;
  hint.point = s.teeth[2].point;
  auto zones = find_zones(s.photo, fit, hint);
  return {s, std::move(fit), std::move(zones)};
}

TEST(Grid, ThreeRowsAreTheThirds) {
  const auto f = central();
  const auto thirds = read_zones(f.scene.photo, f.fit, f.zones, "t");
  const auto rows = read_grid(f.scene.photo, f.fit, f.zones, 3, 1, "t");
  ASSERT_EQ(rows.size(), 3U);
  for (std::size_t i = 0; i < 3; ++i) {
    EXPECT_EQ(rows[i].zone, "r" + std::to_string(i + 1) + "c1");
    EXPECT_LT(mamelon::de00(rows[i].lab.value, thirds[i].lab.value), 0.02);
  }
}

TEST(Grid, CellsAddUpToTheTooth) {
  const auto f = central();
  const auto one = read_grid(f.scene.photo, f.fit, f.zones, 1, 1, "t");
  const auto cells = read_grid(f.scene.photo, f.fit, f.zones, 5, 4, "t");
  ASSERT_EQ(one.size(), 1U);
  std::size_t count = 0;
  double l = 0;
  for (const auto& cell : cells) {
    count += cell.count;
    l += static_cast<double>(cell.count) * cell.lab.value.l;
  }
  EXPECT_LE(count, one[0].count);
  EXPECT_GT(static_cast<double>(count), 0.98 * static_cast<double>(one[0].count));
  EXPECT_NEAR(l / static_cast<double>(count), one[0].lab.value.l, 0.3);
}

TEST(Grid, RefusesAnImpossibleGrid) {
  const auto f = central();
  EXPECT_THROW((void)read_grid(f.scene.photo, f.fit, f.zones, 0, 3, "t"), mamelon::ArgumentError);
  EXPECT_THROW((void)read_grid(f.scene.photo, f.fit, f.zones, 3, 51, "t"), mamelon::ArgumentError);
}

TEST(LabMap, PixelsAreWhatTheCorrectionGivesThem) {
  const auto f = central();
  const auto map = map_lab(f.scene.photo, f.fit, f.zones);
  ASSERT_EQ(map.lab.size(), 3 * map.width * map.height);
  std::size_t compared = 0;
  for (std::size_t i = 0; i < map.width * map.height; ++i) {
    const std::size_t x = map.x + i % map.width;
    const std::size_t y = map.y + i / map.width;
    const bool measured = f.zones.tooth.inside[i] != 0 && f.zones.glare.inside[i] == 0;
    if (!measured) {
      EXPECT_TRUE(std::isnan(map.lab[3 * i]));
      continue;
    }
    if (i % 977 != 0) continue;
    const auto p = f.scene.photo.pixel(x, y);
    const mamelon::Lab exact = f.fit.correction
                                   ->lab({p[0] / 65535.0, p[1] / 65535.0, p[2] / 65535.0}, {},
                                         {static_cast<double>(x), static_cast<double>(y)})
                                   .value;
    EXPECT_LT(mamelon::de00(exact, {map.lab[3 * i], map.lab[3 * i + 1], map.lab[3 * i + 2]}), 0.05);
    ++compared;
  }
  EXPECT_GT(compared, 20U);
}

}  // namespace
