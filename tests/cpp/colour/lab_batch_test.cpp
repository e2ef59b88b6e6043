#include <cmath>
#include <cstring>
#include <random>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "mamelon/batch.h"
#include "mamelon/colour.h"
#include "mamelon/error.h"
#include "mamelon/viewing.h"

#include "every_target.h"

namespace mamelon {
namespace {

using testing_data::on_every_target;

Lab scalar_lab(const double* rgb, const LinearToLab& conversion) {
  const Vec3 xyz = multiply(conversion.to_xyz, Vec3{rgb[0], rgb[1], rgb[2]});
  return to_lab(Xyz{xyz[0], xyz[1], xyz[2]}, conversion.white);
}

// IEC 61966-2-1 in double.
double decode(int value) {
  const double v = value / 255.0;
  return v <= 0.04045 ? v / 12.92 : std::pow((v + 0.055) / 1.055, 2.4);
}

template <class T>
double largest_error(const std::vector<T>& lab, const std::vector<double>& rgb,
                     const LinearToLab& conversion) {
  double largest = 0;
  for (std::size_t i = 0; i < rgb.size(); i += 3) {
    const Lab expected = scalar_lab(&rgb[i], conversion);
    largest = std::max({largest, std::abs(static_cast<double>(lab[i]) - expected.l),
                        std::abs(static_cast<double>(lab[i + 1]) - expected.a),
                        std::abs(static_cast<double>(lab[i + 2]) - expected.b)});
  }
  return largest;
}

TEST(LabBatch, LinearLightAgreesWithTheScalarFunction) {
  const LinearToLab conversion = srgb_to_lab();
  std::mt19937_64 random(1);
  std::uniform_real_distribution<double> exponent(-14, 0.5);
  std::vector<double> rgb(3 * 50'001);
  for (double& value : rgb) value = std::exp2(exponent(random));
  rgb[0] = rgb[1] = rgb[2] = 0;
  std::vector<float> rgb_float(rgb.begin(), rgb.end());
  std::vector<double> rgb_rounded(rgb_float.begin(), rgb_float.end());
  std::vector<double> first;
  on_every_target([&](const std::string& target) {
    std::vector<double> lab(rgb.size());
    lab_from_linear<double>(rgb, conversion, lab);
    EXPECT_LE(largest_error(lab, rgb, conversion), 1e-12) << target;
    if (first.empty()) first = lab;
    EXPECT_EQ(first, lab) << target;
    std::vector<float> lab_float(rgb.size());
    lab_from_linear<float>(rgb_float, conversion, lab_float);
    EXPECT_LE(largest_error(lab_float, rgb_rounded, conversion), 2e-4) << target;
  });
}

TEST(LabBatch, PixelsOf16Bits) {
  const LinearToLab conversion = srgb_to_lab();
  std::mt19937_64 random(2);
  std::vector<std::uint16_t> rgb(3 * 10'000);
  std::vector<double> light;
  for (auto& value : rgb) {
    value = static_cast<std::uint16_t>(random());
    light.push_back(value / 65535.0);
  }
  std::vector<float> lab(rgb.size());
  lab_from_linear(rgb, conversion, lab);
  EXPECT_LE(largest_error(lab, light, conversion), 2e-4);
}

TEST(LabBatch, EverySrgbColourWithin2e4OfTheStandard) {
  // All 8-bit values of each channel, the others on a coarse lattice.
  std::vector<std::uint8_t> rgb;
  std::vector<double> light;
  for (int r = 0; r < 256; ++r) {
    for (int g = 0; g < 256; g += 5) {
      for (int b = 0; b < 256; b += 5) {
        for (const auto& pixel : {std::array{r, g, b}, std::array{g, r, b}, std::array{g, b, r}}) {
          for (const int value : pixel) {
            rgb.push_back(static_cast<std::uint8_t>(value));
            light.push_back(decode(value));
          }
        }
      }
    }
  }
  std::vector<float> lab(rgb.size());
  lab_from_srgb8(rgb, lab);
  EXPECT_LE(largest_error(lab, light, srgb_to_lab()), 2e-4);
}

TEST(LabBatch, NearestStraightFromPixelsIsTheTwoStepsToTheBit) {
  std::mt19937_64 random(3);
  std::vector<std::uint8_t> rgb(3 * 10'007);
  for (auto& value : rgb) value = static_cast<std::uint8_t>(random());
  const std::vector<float> candidates{60, 3, 20, 75, 1, 15, 80, 0, 12, 50, 10, 30, 30, 40, -40};
  const auto set = LabRows<float>::interleaved(candidates);
  const std::size_t pixels = rgb.size() / 3;
  on_every_target([&](const std::string& target) {
    std::vector<float> lab(rgb.size());
    lab_from_srgb8(rgb, lab);
    std::vector<std::uint32_t> index(pixels);
    std::vector<std::uint32_t> index_fused(pixels);
    std::vector<float> de(pixels);
    std::vector<float> de_fused(pixels);
    nearest_rows<float>(LabRows<float>::interleaved(lab), set, index, de);
    nearest_srgb8(rgb, set, index_fused, de_fused, {.threads = 3});
    EXPECT_EQ(index, index_fused) << target;
    EXPECT_EQ(de, de_fused) << target;
  });
}

TEST(LabBatch, SpectraToTristimulusValues) {
  const auto table = weights(Grid{400, 10, 31}, viewing_from_string("D65/2"));
  std::mt19937_64 random(4);
  std::uniform_real_distribution<double> reflectance(0, 1);
  std::vector<double> spectra(31 * 1500);
  for (double& value : spectra) value = reflectance(random);
  std::vector<double> first;
  on_every_target([&](const std::string& target) {
    std::vector<double> xyz(3 * 1500);
    xyz_rows(spectra, *table, xyz, 2);
    if (first.empty()) first = xyz;
    EXPECT_EQ(first, xyz) << target;
    for (std::size_t i = 0; i < 1500; ++i) {
      const std::vector<double> one(spectra.begin() + 31 * static_cast<std::ptrdiff_t>(i),
                                    spectra.begin() + 31 * static_cast<std::ptrdiff_t>(i + 1));
      const Xyz expected = to_xyz(Reflectance(table->grid, one), *table);
      ASSERT_NEAR(xyz[3 * i], expected.x, 1e-14) << target;
      ASSERT_NEAR(xyz[3 * i + 1], expected.y, 1e-14) << target;
      ASSERT_NEAR(xyz[3 * i + 2], expected.z, 1e-14) << target;
    }
  });
}

TEST(LabBatch, WrongSizesAreErrors) {
  std::vector<float> lab(6);
  EXPECT_THROW(lab_from_srgb8(std::vector<std::uint8_t>(9), lab), ArgumentError);
  EXPECT_THROW(lab_from_srgb8(std::vector<std::uint8_t>(4), lab), ArgumentError);
  EXPECT_THROW(lab_from_linear<float>(std::vector<float>(6), LinearToLab{{}, {1, 0, 1}}, lab),
               ArgumentError);
}

}  // namespace
}  // namespace mamelon
