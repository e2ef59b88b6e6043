#include <algorithm>
#include <cmath>
#include <map>
#include <random>

#include <gtest/gtest.h>

#include "mamelon/colour.h"
#include "mamelon/difference.h"
#include "mamelon/error.h"

#include "vectors.h"

namespace mamelon {
namespace {

using testing_data::number;
using testing_data::Row;
using testing_data::rows_of;

const Xyz white{0.9504, 1, 1.0888};
const Xyz other{1.0985, 1, 0.3558};

// colour-science, tests/python/reference_colour/formulas.py; it says why some cells are nan.
TEST(Formulas, EqualColourScience) {
  const Cam16Conditions place{white, 20, 0.2, Surround::average};
  std::map<std::string, double> worst;
  std::size_t finite_cam16 = 0;
  for (const Row& row : rows_of("formulas.csv")) {
    const Lab p{number(row[0]), number(row[1]), number(row[2])};
    const Lab q{number(row[3]), number(row[4]), number(row[5])};
    const auto hold = [&](const std::string& name, double ours, const std::string& cell) {
      double& miss = worst[name];
      miss = std::max(miss, std::fabs(ours - number(cell)));
    };
    hold("de76", de76(p, q), row[6]);
    hold("de94", de94(p, q), row[7]);
    hold("de94 textiles", de94(p, q, {2, 1, 1}, Application94::textiles), row[8]);
    hold("cmc 2:1", de_cmc(p, q), row[9]);
    hold("cmc 1:1", de_cmc(p, q, 1, 1), row[10]);
    hold("din99o", de_din99o(p, q), row[11]);
    if (std::isfinite(number(row[12]))) hold("de00", de00(p, q), row[12]);
    const Cam16Ucs cam_p = to_cam16_ucs(to_xyz(p, white), place);
    const Cam16Ucs cam_q = to_cam16_ucs(to_xyz(q, white), place);
    if (std::isfinite(number(row[16]))) {
      ++finite_cam16;
      hold("cam16 j", cam_p.j, row[13]);
      hold("cam16 a", cam_p.a, row[14]);
      hold("cam16 b", cam_p.b, row[15]);
      hold("cam16", de_cam16(cam_p, cam_q), row[16]);
    }
    const Xyz xyz = to_xyz(p, white);
    const Xyz cat16 = adapt(xyz, white, other, Adaptation::cat16);
    const Xyz bradford = adapt(xyz, white, other, Adaptation::bradford);
    hold("cat16", cat16.x, row[17]);
    hold("cat16", cat16.y, row[18]);
    hold("cat16", cat16.z, row[19]);
    hold("bradford", bradford.x, row[20]);
    hold("bradford", bradford.y, row[21]);
    hold("bradford", bradford.z, row[22]);
  }
  EXPECT_GT(finite_cam16, 300U);
  for (const auto& [name, miss] : worst) EXPECT_LT(miss, 1e-9) << name;
}

TEST(Formulas, AreZeroOnEqualColoursAndNanStaysNan) {
  const double nan = std::nan("");
  for (const Formula formula :
       {Formula::de00, Formula::de76, Formula::de94, Formula::cmc, Formula::din99o}) {
    const DifferenceFormula chosen{formula, {2, 1, 1}};
    EXPECT_EQ(difference({70, 2, 18}, {70, 2, 18}, chosen), 0);
    EXPECT_EQ(difference({70, 0, 0}, {70, 0, 0}, chosen), 0);
    EXPECT_TRUE(std::isnan(difference({70, nan, 18}, {70, 2, 18}, chosen)));
    EXPECT_TRUE(std::isnan(difference({70, 2, 18}, {nan, 2, 18}, chosen)));
  }
}

TEST(Formulas, RowsAndTablesAreTheScalarsInPlace) {
  std::mt19937_64 random(5);
  std::uniform_real_distribution<double> value(-40, 90);
  std::vector<Lab> p(9000);
  std::vector<Lab> q(9000);
  for (Lab& lab : p) lab = {value(random), value(random), value(random)};
  for (Lab& lab : q) lab = {value(random), value(random), value(random)};
  p[77].b = std::nan("");
  std::vector<double> de(p.size());
  const DifferenceFormula cmc{Formula::cmc, {2, 1, 1}};
  difference_rows(p, q, de, cmc);
  for (std::size_t i = 0; i < p.size(); ++i)
    if (i != 77) {
      ASSERT_EQ(de[i], de_cmc(p[i], q[i])) << i;
    }
  EXPECT_TRUE(std::isnan(de[77]));

  const std::span<const Lab> some(q.data(), 7);
  std::vector<double> table(p.size() * some.size());
  const DifferenceFormula plain{Formula::de00, {}};
  difference_table(p, some, table, plain);
  for (std::size_t i = 0; i < p.size(); i += 997)
    for (std::size_t j = 0; j < some.size(); ++j)
      ASSERT_EQ(table[i * some.size() + j], de00(p[i], some[j]));
  table.pop_back();
  EXPECT_THROW(difference_table(p, some, table, plain), ArgumentError);
  EXPECT_THROW(difference_rows(p, some, de, plain), ArgumentError);
}

TEST(Cam16, TheWhiteIs100AndGreyAndConditionsAreChecked) {
  const Cam16Ucs top = to_cam16_ucs(white, {white, 20, 0.2, Surround::average});
  EXPECT_NEAR(top.j, 100, 1e-9);
  EXPECT_THROW((void)to_cam16_ucs(white, {white, 0, 0.2, Surround::average}), ArgumentError);
  EXPECT_THROW((void)to_cam16_ucs(white, {white, 20, 0, Surround::average}), ArgumentError);
  EXPECT_THROW((void)to_cam16_ucs(white, {white, 20, 20, Surround::average}), ArgumentError);
  EXPECT_THROW((void)to_cam16_ucs(white, {{}, 20, 0.2, Surround::average}), ArgumentError);
}

}  // namespace
}  // namespace mamelon
