#include "mamelon/reading.h"

#include <gtest/gtest.h>

#include "mamelon/error.h"

namespace mamelon {
namespace {

const Grid grid{400, 10, 31};

Reading reading_of(const Lab& lab, const Viewing& viewing = viewing_from_string("D65/2")) {
  Reading reading{.label = "upper left",
                  .zone = "middle",
                  .lab = {},
                  .reflectance = {},
                  .viewing = viewing,
                  .count = 1,
                  .warnings = {},
                  .provenance = make_provenance("test", "", {})};
  reading.lab.value = lab;
  return reading;
}

TEST(Combine, TakesMeanAndCovarianceOfTheMean) {
  // Sample covariance of L* 70, 72, 74 is 4, of the mean 4/3; b* falls by half of what L* rises.
  std::vector<Reading> repeats = {reading_of({70, 1, 18}), reading_of({72, 1, 17}),
                                  reading_of({74, 1, 16})};
  repeats[0].lab.shared = diagonal({0.01, 0.01, 0.01});
  repeats[1].lab.shared = diagonal({0.09, 0.04, 0.04});
  repeats[2].warnings = {"dry"};
  const Reading mean = combine(repeats);
  EXPECT_NEAR(mean.lab.value.l, 72, 1e-12);
  EXPECT_NEAR(mean.lab.value.a, 1, 1e-12);
  EXPECT_NEAR(mean.lab.value.b, 17, 1e-12);
  EXPECT_NEAR(mean.lab.random[0][0], 4.0 / 3, 1e-12);
  EXPECT_NEAR(mean.lab.random[0][2], -2.0 / 3, 1e-12);
  EXPECT_NEAR(mean.lab.random[1][1], 0, 1e-12);
  EXPECT_EQ(mean.lab.shared, repeats[1].lab.shared);  // it does not shrink
  EXPECT_EQ(mean.lab.dof, 2);
  EXPECT_EQ(mean.count, 3U);
  EXPECT_EQ(mean.warnings, std::vector<std::string>{"dry"});
  EXPECT_EQ(mean.label, "upper left");
  EXPECT_EQ(mean.provenance.inputs.size(), 3U);
}

// What all repeats share does not shrink: the one of the largest total variance stands for all.
TEST(Combine, KeepsTheLargestSharedCovariance) {
  std::vector<Reading> repeats = {reading_of({70, 1, 18}), reading_of({72, 1, 17})};
  const auto kept = [&](const Vec3& first, const Vec3& second) {
    repeats[0].lab.shared = diagonal(first);
    repeats[1].lab.shared = diagonal(second);
    return combine(repeats).lab.shared;
  };
  EXPECT_EQ(kept({0.01, 0.02, 0.05}, {0.05, 0.02, 0.005}), diagonal({0.01, 0.02, 0.05}));
  EXPECT_EQ(kept({0.005, 0.02, 0.05}, {0.05, 0.02, 0.01}), diagonal({0.05, 0.02, 0.01}));
  EXPECT_EQ(kept({0.02, 0.05, 0.005}, {0.02, 0.005, 0.06}), diagonal({0.02, 0.005, 0.06}));
}

TEST(Combine, OneReadingKeepsItsCovariance) {
  Reading one = reading_of({70, 1, 18});
  one.lab.random = diagonal({0.04, 0.01, 0.01});
  const Reading same = combine({&one, 1});
  EXPECT_EQ(same.lab.random, one.lab.random);
  EXPECT_EQ(same.lab.dof, 0);
}

TEST(Combine, RefusesNothingAndMixedViewings) {
  EXPECT_THROW((void)combine({}), ArgumentError);
  const std::vector<Reading> mixed = {reading_of({70, 1, 18}),
                                      reading_of({70, 1, 18}, viewing_from_string("A/2"))};
  try {
    (void)combine(mixed);
    FAIL();
  } catch (const ArgumentError& error) {
    const std::string text = error.what();
    EXPECT_NE(text.find("D65/2"), std::string::npos);
    EXPECT_NE(text.find("A/2"), std::string::npos);
  }
}

TEST(Combine, CurvesAreAveragedOnlyOnOneGrid) {
  const Viewing viewing = viewing_from_string("D65/2");
  const auto level = [&](const Grid& on, double value) {
    return read_spectrum("tab", Reflectance(on, std::vector<double>(on.count, value)), viewing);
  };
  std::vector<Reading> repeats = {level(grid, 0.4), level(grid, 0.6)};
  ASSERT_TRUE(combine(repeats).reflectance);
  EXPECT_NEAR((*combine(repeats).reflectance)[7], 0.5, 1e-15);
  repeats[1] = level({380, 10, 36}, 0.6);
  EXPECT_FALSE(combine(repeats).reflectance);
}

TEST(ReadSpectrum, IsTheColourOfTheCurveAndRemembersHow) {
  std::vector<double> values;
  for (std::size_t i = 0; i < grid.count; ++i)
    values.push_back(0.3 + 0.01 * static_cast<double>(i));
  const Reflectance curve(grid, values);
  const Viewing viewing = viewing_from_string("D65/2");
  const Reading reading = read_spectrum("tab", curve, viewing);
  EXPECT_EQ(reading.lab.value, to_lab(curve, viewing));
  EXPECT_EQ(*reading.reflectance, curve);
  EXPECT_EQ(reading.provenance, read_spectrum("tab", curve, viewing).provenance);

  values[3] += 1e-15;
  EXPECT_NE(read_spectrum("tab", Reflectance(grid, values), viewing).provenance.digest,
            reading.provenance.digest);
  EXPECT_NE(read_spectrum("tab", curve, viewing_from_string("D65/10")).provenance.digest,
            reading.provenance.digest);
  // The same numbers on another grid, and a user's light of a borrowed name.
  EXPECT_NE(
      read_spectrum("tab", Reflectance({410, 10, 31}, curve.values()), viewing).provenance.digest,
      reading.provenance.digest);
  const Viewing posing{Illuminant("D65", Power({380, 5, 81}, std::vector<double>(81, 1.0))),
                       Observer::deg2};
  EXPECT_NE(read_spectrum("tab", curve, posing).provenance.digest, reading.provenance.digest);
  EXPECT_THROW(
      (void)read_spectrum("tab", Reflectance(grid, std::vector<double>(31, 60.0)), viewing),
      ArgumentError);
}

}  // namespace
}  // namespace mamelon
