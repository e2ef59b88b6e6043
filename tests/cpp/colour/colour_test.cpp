#include "mamelon/colour.h"

#include <cmath>
#include <numbers>
#include <random>

#include <gtest/gtest.h>

#include "mamelon/error.h"
#include "mamelon/viewing.h"

namespace mamelon {
namespace {

const Xyz white{0.950470, 1, 1.088830};

TEST(Lab, RoundTripsTo1e12) {
  std::mt19937_64 random(3);
  std::uniform_real_distribution<double> lightness(0, 100);
  std::uniform_real_distribution<double> opponent(-100, 100);
  for (int i = 0; i < 10000; ++i) {
    const Lab lab{lightness(random), opponent(random), opponent(random)};
    const Lab back = to_lab(to_xyz(lab, white), white);
    ASSERT_NEAR(back.l, lab.l, 1e-12);
    ASSERT_NEAR(back.a, lab.a, 1e-12 * 500);
    ASSERT_NEAR(back.b, lab.b, 1e-12 * 500);
    const Lab around = to_lab(to_lch(lab));
    ASSERT_NEAR(around.a, lab.a, 1e-12 * 100);
    ASSERT_NEAR(around.b, lab.b, 1e-12 * 100);
  }
}

TEST(Lab, WhiteIs100AndTheJoinIsContinuous) {
  EXPECT_EQ(to_lab(white, white), (Lab{100, 0, 0}));
  const double join = 216.0 / 24389.0;
  const double below = to_lab({0, join * (1 - 1e-12), 0}, {1, 1, 1}).l;
  const double above = to_lab({0, join * (1 + 1e-12), 0}, {1, 1, 1}).l;
  EXPECT_NEAR(below, 8, 1e-9);  // (6/29)³ is L* = 8
  EXPECT_NEAR(above, 8, 1e-9);
}

TEST(Lab, JacobianMatchesCentralDifferences) {
  const Xyz at{0.42, 0.44, 0.33};
  const Mat3 jacobian = lab_jacobian(at, white);
  const double h = 1e-6;
  for (std::size_t j = 0; j < 3; ++j) {
    Xyz up = at;
    Xyz down = at;
    (j == 0 ? up.x : j == 1 ? up.y : up.z) += h;
    (j == 0 ? down.x : j == 1 ? down.y : down.z) -= h;
    const Lab p = to_lab(up, white);
    const Lab q = to_lab(down, white);
    EXPECT_NEAR(jacobian[0][j], (p.l - q.l) / (2 * h), 1e-5);
    EXPECT_NEAR(jacobian[1][j], (p.a - q.a) / (2 * h), 1e-5);
    EXPECT_NEAR(jacobian[2][j], (p.b - q.b) / (2 * h), 1e-5);
  }
}

// Each analytic Jacobian against central differences of the function itself.
template <class Function>
Mat3 central_differences(const Vec3& at, double h, const Function& function) {
  Mat3 jacobian{};
  for (std::size_t j = 0; j < 3; ++j) {
    Vec3 up = at;
    Vec3 down = at;
    up[j] += h;
    down[j] -= h;
    const Vec3 p = function(up);
    const Vec3 q = function(down);
    for (std::size_t i = 0; i < 3; ++i) jacobian[i][j] = (p[i] - q[i]) / (2 * h);
  }
  return jacobian;
}

void expect_near(const Mat3& a, const Mat3& b, double tolerance) {
  for (std::size_t i = 0; i < 3; ++i)
    for (std::size_t j = 0; j < 3; ++j) EXPECT_NEAR(a[i][j], b[i][j], tolerance) << i << j;
}

TEST(Lab, InverseAndCylindricalJacobiansMatchCentralDifferences) {
  for (const Lab& lab : {Lab{72, 2, 18}, Lab{40, -12, -30}, Lab{5, 1, 2}}) {
    const auto to_xyz_vector = [](const Vec3& v) {
      const Xyz xyz = to_xyz(Lab{v[0], v[1], v[2]}, white);
      return Vec3{xyz.x, xyz.y, xyz.z};
    };
    const auto to_lch_vector = [](const Vec3& v) {
      const Lch lch = to_lch({v[0], v[1], v[2]});
      return Vec3{lch.l, lch.c, lch.h_deg};
    };
    const Vec3 at{lab.l, lab.a, lab.b};
    expect_near(xyz_jacobian(lab, white), central_differences(at, 1e-4, to_xyz_vector), 1e-9);
    expect_near(lch_jacobian(lab), central_differences(at, 1e-4, to_lch_vector), 1e-5);
    // One undoes the other.
    expect_near(multiply(lab_jacobian(to_xyz(lab, white), white), xyz_jacobian(lab, white)),
                diagonal({1, 1, 1}), 1e-12);
  }
  EXPECT_THROW((void)lch_jacobian({50, 0, 0}), ArgumentError);
}

TEST(Measured, CarriesBothCovariancesByTheJacobian) {
  Measured<Xyz> xyz;
  xyz.value = {0.42, 0.44, 0.33};
  xyz.random = diagonal({1e-6, 2e-6, 3e-6});
  xyz.shared = {{{4e-6, 1e-6, 0}, {1e-6, 4e-6, 0}, {0, 0, 1e-6}}};
  xyz.dof = 7;
  const Measured<Lab> lab = measured_lab(xyz, white);
  EXPECT_EQ(lab.value, to_lab(xyz.value, white));
  EXPECT_EQ(lab.dof, 7);
  expect_near(lab.random, propagate(lab_jacobian(xyz.value, white), xyz.random), 0);
  const Measured<Xyz> back = measured_xyz(lab, white);
  expect_near(back.random, xyz.random, 1e-18);
  expect_near(back.shared, xyz.shared, 1e-18);
  // Turning the axes changes no volume but for the degrees: sd of hue in degrees is sd/C.
  Measured<Lab> level;
  level.value = {60, 20, 0};
  level.random = diagonal({0.1, 0.2, 0.3});
  const Measured<Lch> lch = measured_lch(level);
  EXPECT_NEAR(lch.random[1][1], 0.2, 1e-12);
  EXPECT_NEAR(std::sqrt(lch.random[2][2]), std::sqrt(0.3) / 20 * 180 / std::numbers::pi, 1e-12);
  const Xyz a = white_point(viewing_from_string("A/2"));
  const Measured<Xyz> adapted = measured_adapted(xyz, white, a, Adaptation::cat16);
  const Mat3 matrix = adaptation_matrix(white, a, Adaptation::cat16);
  const Vec3 product = multiply(matrix, Vec3{xyz.value.x, xyz.value.y, xyz.value.z});
  EXPECT_NEAR(product[0], adapted.value.x, 1e-15);
  EXPECT_NEAR(product[2], adapted.value.z, 1e-15);
  expect_near(adapted.shared, propagate(matrix, xyz.shared), 0);
}

TEST(Lch, HueLiesIn0To360) {
  EXPECT_EQ(to_lch({50, 0, 0}), (Lch{50, 0, 0}));
  EXPECT_EQ(to_lch({50, -0.0, -0.0}).h_deg, 0);
  EXPECT_EQ(to_lch({50, 3, -1e-30}).h_deg, 0);
  EXPECT_NEAR(to_lch({50, 0, -3}).h_deg, 270, 1e-12);
  EXPECT_NEAR(to_lch({50, -3, -0.0}).h_deg, 180, 1e-12);
}

// IEC 61966-2-1: white, black and the red primary, whose CIELAB under D65 is 53.24, 80.09, 67.20.
TEST(Display, KnowsTheCornersOfSrgbAndReportsClipping) {
  const Xyz d65 = white_point(viewing_from_string("D65/2"));
  EXPECT_EQ(to_hex(to_display({100, 0, 0}, d65)), "#ffffff");
  EXPECT_FALSE(to_display({100, 0, 0}, d65).clipped);
  EXPECT_EQ(to_hex(to_display({0, 0, 0}, d65)), "#000000");
  const DisplayColour red = to_display({53.24, 80.09, 67.20}, d65);
  EXPECT_NEAR(red.r, 1, 2e-3);
  EXPECT_NEAR(red.g, 0, 2e-2);
  EXPECT_TRUE(to_display({60, 0, 120}, d65).clipped);
  EXPECT_FALSE(to_display({75, 2, 18}, d65).clipped);
  // Mid grey of 8 bits: 119 is L* 50 (published conversions agree on #777777).
  EXPECT_EQ(to_hex(to_display({50, 0, 0}, d65)), "#777777");
  const Xyz colour{0.3, 0.35, 0.2};
  const Xyz back = from_linear_srgb(to_linear_srgb(colour, d65), d65);
  EXPECT_NEAR(back.x, colour.x, 1e-14);
  EXPECT_NEAR(back.z, colour.z, 1e-14);
}

TEST(Adaptation, TakesWhiteToWhiteAndBack) {
  const Xyz a = white_point(viewing_from_string("A/2"));
  for (const Adaptation method : {Adaptation::cat16, Adaptation::bradford}) {
    const Xyz there = adapt(white, white, a, method);
    EXPECT_NEAR(there.x, a.x, 1e-12);
    EXPECT_NEAR(there.z, a.z, 1e-12);
    const Xyz back = adapt(adapt({0.3, 0.4, 0.2}, white, a, method), a, white, method);
    EXPECT_NEAR(back.x, 0.3, 1e-12);
    EXPECT_NEAR(back.y, 0.4, 1e-12);
    EXPECT_NEAR(back.z, 0.2, 1e-12);
  }
}

}  // namespace
}  // namespace mamelon
