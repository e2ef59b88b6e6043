#include "mamelon/viewing.h"

#include <gtest/gtest.h>

namespace mamelon {
namespace {

TEST(Tristimulus, ThePerfectDiffuserIsWhiteOnEveryGrid) {
  const Viewing viewing = viewing_from_string("D65/2");
  const Xyz white = white_point(viewing);
  for (const Grid grid : {Grid{400, 10, 31}, Grid{380, 5, 81}, Grid{360, 20, 22}}) {
    const Reflectance one(grid, std::vector<double>(grid.count, 1.0));
    for (const Integration method : {Integration::weighting, Integration::sprague}) {
      const Xyz xyz = to_xyz(one, viewing, method);
      EXPECT_NEAR(xyz.x, white.x, 1e-12);
      EXPECT_NEAR(xyz.y, 1, 1e-12);
      EXPECT_NEAR(xyz.z, white.z, 1e-12);
    }
  }
}

TEST(Viewing, TextGoesThereAndBack) {
  for (const char* text : {"D65/2", "LED-B3/10", "D5500K/2"})
    EXPECT_EQ(to_string(viewing_from_string(text)), text);
  for (const char* bad : {"D65", "D65/3", "X/2", "/2", "", "D3000K/2"})
    EXPECT_THROW((void)viewing_from_string(bad), ArgumentError) << bad;
}

TEST(Viewing, PercentIsNamedAsSuch) {
  const Reflectance percent({400, 10, 31}, std::vector<double>(31, 55.0));
  try {
    (void)to_lab(percent, viewing_from_string("D65/2"));
    FAIL();
  } catch (const ArgumentError& error) {
    EXPECT_NE(std::string(error.what()).find("looks like percent"), std::string::npos);
  }
}

}  // namespace
}  // namespace mamelon
