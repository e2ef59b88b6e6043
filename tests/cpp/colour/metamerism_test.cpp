#include <cmath>

#include <gtest/gtest.h>

#include "mamelon/appearance.h"
#include "mamelon/error.h"

namespace mamelon {
namespace {

const Grid grid{400, 10, 31};
const DifferenceFormula ab{Formula::de76, {}};

Reflectance curve(double level, double ripple) {
  std::vector<double> values;
  for (std::size_t i = 0; i < grid.count; ++i)
    values.push_back(level + 0.005 * static_cast<double>(i) +
                     ripple * std::sin(static_cast<double>(i) / 2));
  return {grid, values};
}

std::vector<Illuminant> lights() {
  return {standard_illuminant("A"), standard_illuminant("F11"), standard_illuminant("LED-B3")};
}

TEST(Metamerism, OfIdenticalSpectraIsZero) {
  const Reflectance tooth = curve(0.4, 0.02);
  for (const Metamerism& index :
       special_metamerism(tooth, tooth, standard_illuminant("D65"), lights(), {})) {
    EXPECT_EQ(index.residual, 0);
    EXPECT_EQ(index.uncorrected, 0);
    EXPECT_EQ(index.multiplicative, 0);
    EXPECT_EQ(index.additive, 0);
  }
}

TEST(Metamerism, ListsEveryLightUnderBothObservers) {
  const auto indices =
      special_metamerism(curve(0.4, 0), curve(0.4, 0.03), standard_illuminant("D65"), lights(), {});
  ASSERT_EQ(indices.size(), 6U);
  const char* expected[] = {"A/2", "F11/2", "LED-B3/2", "A/10", "F11/10", "LED-B3/10"};
  for (std::size_t i = 0; i < 6; ++i) EXPECT_EQ(to_string(indices[i].viewing), expected[i]);
}

// A sample that is the reference times a constant differs by no metamerism: the multiplicative
// correction removes all of it under every light, and nothing is left under the reference light.
TEST(Metamerism, MultiplicativeCorrectionRemovesAScale) {
  const Reflectance tooth = curve(0.4, 0.02);
  std::vector<double> scaled;
  for (const double value : tooth.values()) scaled.push_back(0.9 * value);
  for (const Metamerism& index : special_metamerism(tooth, Reflectance(grid, scaled),
                                                    standard_illuminant("D65"), lights(), ab)) {
    EXPECT_GT(index.residual, 2);
    EXPECT_GT(index.uncorrected, 2);
    EXPECT_NEAR(index.multiplicative, 0, 1e-9);
    EXPECT_GT(index.additive, 0);
  }
}

// Under the reference light itself both corrections leave nothing, whatever the curves.
TEST(Metamerism, UnderTheReferenceLightNothingIsLeft) {
  const Illuminant d65 = standard_illuminant("D65");
  for (const Metamerism& index :
       special_metamerism(curve(0.4, 0.02), curve(0.45, -0.05), d65, {&d65, 1}, {})) {
    EXPECT_GT(index.residual, 0.5);
    EXPECT_EQ(index.uncorrected, index.residual);
    EXPECT_NEAR(index.multiplicative, 0, 1e-9);
    EXPECT_NEAR(index.additive, 0, 1e-9);
  }
}

// Worked from XYZ by hand: sample times ratio, and sample plus difference (CIE 015:2018, 9.2).
TEST(Metamerism, IsTheDifferenceAfterCorrectionInXyz) {
  const Reflectance reference = curve(0.4, 0);
  const Reflectance sample = curve(0.42, 0.06);
  const Illuminant d65 = standard_illuminant("D65");
  const Illuminant a = standard_illuminant("A");
  const Metamerism index = special_metamerism(reference, sample, d65, {&a, 1}, ab).front();
  const Xyz r = to_xyz(reference, {d65, Observer::deg2});
  const Xyz s = to_xyz(sample, {d65, Observer::deg2});
  const Xyz under_a = to_xyz(sample, {a, Observer::deg2});
  const Xyz white = white_point({a, Observer::deg2});
  const Lab there = to_lab(reference, {a, Observer::deg2});
  const Xyz scaled{under_a.x * r.x / s.x, under_a.y * r.y / s.y, under_a.z * r.z / s.z};
  const Xyz moved{under_a.x + r.x - s.x, under_a.y + r.y - s.y, under_a.z + r.z - s.z};
  EXPECT_NEAR(index.multiplicative, de76(there, to_lab(scaled, white)), 1e-12);
  EXPECT_NEAR(index.additive, de76(there, to_lab(moved, white)), 1e-12);
  EXPECT_NEAR(index.uncorrected, de76(there, to_lab(under_a, white)), 1e-12);
  EXPECT_GT(index.multiplicative, 0.1);
}

TEST(Metamerism, NamesWhatIsWrong) {
  const Illuminant d65 = standard_illuminant("D65");
  const Reflectance tooth = curve(0.4, 0);
  const Reflectance other({380, 10, 31}, tooth.values());
  EXPECT_THROW((void)special_metamerism(tooth, other, d65, lights(), {}), ArgumentError);
  EXPECT_THROW((void)special_metamerism(tooth, tooth, d65, {}, {}), ArgumentError);
  const Reflectance black(grid, std::vector<double>(grid.count, 0.0));
  EXPECT_THROW((void)special_metamerism(tooth, black, d65, lights(), {}), ArgumentError);
}

}  // namespace
}  // namespace mamelon
