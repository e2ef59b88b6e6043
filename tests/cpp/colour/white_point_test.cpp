#include <cmath>

#include <gtest/gtest.h>

#include "mamelon/viewing.h"

namespace mamelon {
namespace {

struct Chromaticity {
  const char* viewing;
  double x;
  double y;
  int digits;
};

// CIE 15:2004, table T.3 and the tables of F illuminants; CIE 015:2018 for LEDs, as colour-science
// carries them (D50 and D65 to five digits from memory).
constexpr Chromaticity printed[] = {
    {"A/2", 0.44758, 0.40745, 5},      {"C/2", 0.31006, 0.31616, 5},
    {"D50/2", 0.34567, 0.35851, 5},    {"D55/2", 0.33243, 0.34744, 5},
    {"D65/2", 0.31272, 0.32903, 5},    {"D75/2", 0.29903, 0.31488, 5},
    {"A/10", 0.45117, 0.40594, 5},     {"C/10", 0.31039, 0.31905, 5},
    {"D50/10", 0.34773, 0.35952, 5},   {"D55/10", 0.33412, 0.34877, 5},
    {"D65/10", 0.31381, 0.33098, 5},   {"D75/10", 0.29968, 0.31740, 5},
    {"F1/2", 0.3131, 0.3371, 4},       {"F2/2", 0.3721, 0.3751, 4},
    {"F3/2", 0.4091, 0.3941, 4},       {"F4/2", 0.4402, 0.4031, 4},
    {"F5/2", 0.3138, 0.3452, 4},       {"F6/2", 0.3779, 0.3882, 4},
    {"F7/2", 0.3129, 0.3292, 4},       {"F8/2", 0.3458, 0.3586, 4},
    {"F9/2", 0.3741, 0.3727, 4},       {"F10/2", 0.3458, 0.3588, 4},
    {"F11/2", 0.3805, 0.3769, 4},      {"F12/2", 0.4370, 0.4042, 4},
    {"LED-B1/2", 0.4560, 0.4078, 4},   {"LED-B2/2", 0.4357, 0.4012, 4},
    {"LED-B3/2", 0.3756, 0.3723, 4},   {"LED-B4/2", 0.3422, 0.3502, 4},
    {"LED-B5/2", 0.3118, 0.3236, 4},   {"LED-BH1/2", 0.4474, 0.4066, 4},
    {"LED-RGB1/2", 0.4557, 0.4211, 4}, {"LED-V1/2", 0.4548, 0.4044, 4},
    {"LED-V2/2", 0.3781, 0.3775, 4},
};

// CIE computed what it printed by sums at 5 nm over 380–780 nm.
TEST(WhitePoint, SummedAt5nmGivesEveryDigitThatCiePrints) {
  const Grid five{380, 5, 81};
  for (const Chromaticity& row : printed) {
    const Viewing viewing = viewing_from_string(row.viewing);
    const Power power =
        resample(viewing.illuminant.power(), five, Interpolation::linear, Extrapolation::error);
    // Under equal energy the 1 nm weights are the colour-matching functions.
    const auto matching = weights({360, 1, 421}, {standard_illuminant("E"), viewing.observer});
    Xyz sum;
    for (std::size_t i = 0; i < five.count; ++i) {
      const std::size_t band = 20 + 5 * i;
      sum.x += power[i] * matching->x[band];
      sum.y += power[i] * matching->y[band];
      sum.z += power[i] * matching->z[band];
    }
    const double total = sum.x + sum.y + sum.z;
    const double half_unit = 0.5 * std::pow(10.0, -row.digits);
    // A tenth of that again, for values that stand on the edge of rounding.
    EXPECT_NEAR(sum.x / total, row.x, 1.1 * half_unit) << row.viewing;
    EXPECT_NEAR(sum.y / total, row.y, 1.1 * half_unit) << row.viewing;
  }
}

struct White {
  const char* viewing;
  double x;
  double z;
};

// ASTM E308, table 5 (from memory): sums at 1 nm over 360–780 nm, Y = 100, three decimals.
constexpr White summed[] = {
    {"A/2", 109.850, 35.585},   {"C/2", 98.074, 118.232},   {"D65/2", 95.047, 108.883},
    {"F2/2", 99.186, 67.393},   {"F7/2", 95.041, 108.747},  {"F11/2", 100.962, 64.350},
    {"A/10", 111.144, 35.200},  {"C/10", 97.285, 116.145},  {"D65/10", 94.811, 107.304},
    {"F2/10", 103.279, 69.027}, {"F7/10", 95.792, 107.686}, {"F11/10", 103.863, 65.607},
};

TEST(WhitePoint, SummedAt1nmGivesTheWhitesOfAstmE308) {
  for (const White& row : summed) {
    const Xyz white = white_point(viewing_from_string(row.viewing));
    EXPECT_NEAR(100 * white.x, row.x, 0.001) << row.viewing;
    EXPECT_NEAR(100 * white.y, 100, 1e-10) << row.viewing;
    EXPECT_NEAR(100 * white.z, row.z, 0.001) << row.viewing;
  }
}

// Daylight at the temperature that the 1968 revision of c2 gave D65 is D65 but for the rounding of
// its two factors.
TEST(WhitePoint, DaylightBuiltFromItsComponentsIsD65) {
  const Illuminant built = daylight(6500 * 1.4388 / 1.4380);
  const Illuminant table = standard_illuminant("D65");
  ASSERT_EQ(built.power().grid(), table.power().grid());
  for (std::size_t i = 0; i < built.power().size(); ++i)
    EXPECT_NEAR(built.power()[i], table.power()[i], 1e-3) << built.power().grid().wavelength_nm(i);
}

}  // namespace
}  // namespace mamelon
