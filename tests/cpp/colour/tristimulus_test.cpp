#include <array>
#include <cmath>
#include <map>

#include <gtest/gtest.h>

#include "mamelon/viewing.h"

#include "vectors.h"

namespace mamelon {
namespace {

using testing_data::number;
using testing_data::Row;
using testing_data::rows_of;

// The closed forms of tests/python/reference_colour/tristimulus.py.
Reflectance specimen(const std::string& name, const Grid& grid) {
  std::vector<double> values;
  for (std::size_t i = 0; i < grid.count; ++i) {
    const double wavelength = grid.wavelength_nm(i);
    values.push_back(name == "tooth" ? 0.25 + 0.4 / (1 + std::exp(-(wavelength - 480) / 60))
                                     : 0.5 + 0.35 * std::sin(wavelength / 17));
  }
  return {grid, values};
}

// colour-science's ASTM E308/E2022 over every illuminant, observer and grid (Y of white = 100).
TEST(Tristimulus, EqualsColourScienceE308) {
  std::map<std::string, double> worst;
  for (const Row& row : rows_of("tristimulus.csv")) {
    const Grid grid{number(row[2]), number(row[3]), static_cast<std::size_t>(number(row[4]))};
    const Viewing viewing = viewing_from_string(row[0] + "/" + row[1]);
    const Xyz xyz = to_xyz(specimen(row[5], grid), viewing);
    const double miss =
        std::max({std::fabs(100 * xyz.x - number(row[6])), std::fabs(100 * xyz.y - number(row[7])),
                  std::fabs(100 * xyz.z - number(row[8]))});
    double& least = worst[row[2] + "/" + row[3] + "/" + row[4]];
    least = std::max(least, miss);
  }
  for (const auto& [grid, miss] : worst) EXPECT_LT(miss, 1e-6) << grid;
}

// Tristimulus values are linear in reflectance: errors of bands that are independent add their
// squares, and what one band's error does to X, Y and Z goes together.
TEST(Tristimulus, CarriesErrorsOfBands) {
  const Grid grid{400, 10, 31};
  const auto table = weights(grid, viewing_from_string("D65/2"));
  std::vector<double> sd(grid.count, 0);
  sd[5] = 0.01;
  sd[20] = 0.02;
  const Mat3 covariance = xyz_covariance(*table, sd);
  const std::array<const std::vector<double>*, 3> channels = {&table->x, &table->y, &table->z};
  for (std::size_t i = 0; i < 3; ++i) {
    for (std::size_t k = 0; k < 3; ++k) {
      const double expected = 1e-4 * (*channels[i])[5] * (*channels[k])[5] +
                              4e-4 * (*channels[i])[20] * (*channels[k])[20];
      EXPECT_NEAR(covariance[i][k], expected, 1e-15);
    }
  }
  EXPECT_GT(covariance[0][1], 1e-9);
}

// ASTM E308 sums over 360–780 nm: what a light emits beyond does not count.
TEST(Tristimulus, EndsAt360And780Nm) {
  const Grid grid{350, 1, 441};
  std::vector<double> power(grid.count, 1);
  const Illuminant even("even", Power(grid, power));
  for (std::size_t i = 0; i < grid.count; ++i) {
    const double nm = grid.wavelength_nm(i);
    if (nm < 360 || nm > 780) power[i] = 1e9;
  }
  const Illuminant odd("odd", Power(grid, power));
  const Reflectance tooth = specimen("tooth", {360, 5, 85});
  for (const Observer observer : {Observer::deg2, Observer::deg10}) {
    const Xyz a = to_xyz(tooth, {even, observer});
    const Xyz b = to_xyz(tooth, {odd, observer});
    EXPECT_EQ(a.x, b.x);
    EXPECT_EQ(a.y, b.y);
    EXPECT_EQ(a.z, b.z);
  }
}

}  // namespace
}  // namespace mamelon
