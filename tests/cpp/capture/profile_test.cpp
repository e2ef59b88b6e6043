// ICC input profiles, opened and used by Little CMS as any other program would.

#include "mamelon/profile.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <fstream>
#include <iterator>
#include <memory>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <lcms2.h>

#include "mamelon/difference.h"
#include "mamelon/error.h"

#include "capture/lineariser.h"
#include "demo.h"

namespace {

using mamelon::CorrectionMethod;
using mamelon::InputProfile;
using mamelon::Lab;
using mamelon::Viewing;
using testing::HasSubstr;

Viewing d50() {
  return {mamelon::standard_illuminant("D50"), mamelon::Observer::deg2};
}

std::vector<std::byte> bytes_of(const std::string& file) {
  std::ifstream in(file, std::ios::binary);
  std::vector<char> text{std::istreambuf_iterator<char>(in), {}};
  std::vector<std::byte> bytes(text.size());
  std::transform(text.begin(), text.end(), bytes.begin(), [](char c) { return std::byte(c); });
  return bytes;
}

struct Close {
  void operator()(void* profile) const { cmsCloseProfile(profile); }
};
using Handle = std::unique_ptr<void, Close>;

Handle opened(const InputProfile& profile) {
  return Handle(cmsOpenProfileFromMem(profile.bytes.data(),
                                      static_cast<cmsUInt32Number>(profile.bytes.size())));
}

std::string text_of(cmsHPROFILE profile) {
  std::array<char, 400> text{};
  cmsGetProfileInfoASCII(profile, cmsInfoDescription, "en", "US", text.data(), text.size());
  return text.data();
}

std::vector<Lab> converted(cmsHPROFILE profile, const std::vector<std::uint16_t>& codes) {
  const Handle lab(cmsCreateLab4Profile(nullptr));
  cmsHTRANSFORM transform =
      cmsCreateTransform(profile, TYPE_RGB_16, lab.get(), TYPE_Lab_DBL,
                         INTENT_RELATIVE_COLORIMETRIC, cmsFLAGS_HIGHRESPRECALC);
  std::vector<cmsCIELab> out(codes.size() / 3);
  cmsDoTransform(transform, codes.data(), out.data(), static_cast<cmsUInt32Number>(out.size()));
  cmsDeleteTransform(transform);
  std::vector<Lab> colours;
  for (const cmsCIELab& each : out) colours.push_back({each.L, each.a, each.b});
  return colours;
}

double quantile(std::vector<double> values, double share) {
  std::sort(values.begin(), values.end());
  return values.at(static_cast<std::size_t>(share * static_cast<double>(values.size() - 1)));
}

struct Case {
  const char* photo;
  std::optional<CorrectionMethod> method;
  bool is_matrix;
};

class Profile : public testing::TestWithParam<Case> {};

TEST_P(Profile, ConvertsThePhotoAsTheFitDoes) {
  const auto& s = demo::scene(GetParam().photo);
  const std::string file = std::string(MAMELON_DATA_DIR) + "/photos/" + GetParam().photo +
                           (s.photo.bits == 16 ? ".tif" : ".jpg");
  const auto content = bytes_of(file);
  const auto fit = fit_card(s.photo, s.card, d50(),
                            {.method = GetParam().method, .corners_px = {}, .exclude = {}});
  const InputProfile profile = input_profile(content, "photo", fit, "tooth20");
  EXPECT_EQ(profile.is_matrix, GetParam().is_matrix);
  EXPECT_LT(profile.de00_median, 0.05);
  EXPECT_LT(profile.de00_max, 0.2);

  const Handle handle = opened(profile);
  ASSERT_NE(handle, nullptr);
  EXPECT_EQ(cmsGetDeviceClass(handle.get()), cmsSigInputClass);
  EXPECT_EQ(cmsGetColorSpace(handle.get()), cmsSigRgbData);
  EXPECT_EQ(text_of(handle.get()), profile.description);
  EXPECT_THAT(profile.description, HasSubstr("left out"));

  // The upright demo photos' codes run as their pixels do.
  const auto raster = mamelon::detail::decode_raster(content, "photo");
  const mamelon::PointPx centre = to_px(fit, {fit.card_width_mm / 2, fit.card_height_mm / 2});
  std::vector<std::uint16_t> codes;
  std::vector<Lab> at_centre;
  std::vector<Lab> at_place;
  for (std::size_t y = 5; y < s.photo.height; y += 23) {
    for (std::size_t x = 5; x < s.photo.width; x += 19) {
      const auto rgb = s.photo.pixel(x, y);
      if (std::equal(rgb.begin(), rgb.end(), s.photo.clip_level, std::greater_equal<>())) continue;
      const mamelon::Vec3 light = {rgb[0] / 65535.0, rgb[1] / 65535.0, rgb[2] / 65535.0};
      at_centre.push_back(fit.correction->lab(light, {}, centre).value);
      at_place.push_back(
          fit.correction->lab(light, {}, {static_cast<double>(x), static_cast<double>(y)}).value);
      for (std::size_t c = 0; c < 3; ++c) {
        const std::size_t i = 3 * (y * s.photo.width + x) + c;
        codes.push_back(raster.bits == 16 ? raster.codes16[i]
                                          : static_cast<std::uint16_t>(257 * raster.codes8[i]));
      }
    }
  }
  const std::vector<Lab> found = converted(handle.get(), codes);
  std::vector<double> apart;
  std::vector<double> by_light;
  for (std::size_t i = 0; i < found.size(); ++i) {
    if (at_centre[i].l > 99.5) continue;
    apart.push_back(de00(found[i], at_centre[i]));
    by_light.push_back(de00(found[i], at_place[i]));
  }
  ASSERT_GT(apart.size(), 1000U);
  EXPECT_LE(quantile(apart, 0.5), 0.05);
  EXPECT_LE(quantile(apart, 0.95), 0.2);
  // What the light's unevenness adds, which no profile can hold.
  RecordProperty("median_de00_with_uneven_light", std::to_string(quantile(by_light, 0.5)));
  RecordProperty("median_de00", std::to_string(quantile(apart, 0.5)));
  RecordProperty("p95_de00", std::to_string(quantile(apart, 0.95)));
  RecordProperty("max_de00", std::to_string(quantile(apart, 1)));
}

INSTANTIATE_TEST_SUITE_P(Photos, Profile,
                         testing::Values(Case{"front_teeth", {}, false},
                                         Case{"front_teeth_linear", {}, false},
                                         Case{"front_teeth_warm", {}, false},
                                         Case{"front_teeth_linear", CorrectionMethod::grey, true}));

TEST(InputProfile, SameFitSameBytes) {
  const auto& s = demo::scene("front_teeth");
  const auto content = bytes_of(std::string(MAMELON_DATA_DIR) + "/photos/front_teeth.jpg");
  const auto fit = fit_card(s.photo, s.card, demo::d65());
  EXPECT_EQ(input_profile(content, "p", fit, "a").bytes,
            input_profile(content, "p", fit, "a").bytes);
}

TEST(InputProfile, IsAdaptedFromTheFitsWhite) {
  const auto& s = demo::scene("front_teeth_linear");
  const auto content = bytes_of(std::string(MAMELON_DATA_DIR) + "/photos/front_teeth_linear.tif");
  const auto fit = fit_card(s.photo, s.card, demo::d65());
  const Handle handle = opened(input_profile(content, "p", fit, "a"));
  const auto* adaptation =
      static_cast<const cmsCIEXYZ*>(cmsReadTag(handle.get(), cmsSigChromaticAdaptationTag));
  ASSERT_NE(adaptation, nullptr);
  // Bradford from D65 to D50, as ICC profiles of sRGB state it (IEC 61966-2-1 profiles, ICC).
  EXPECT_NEAR(adaptation[0].X, 1.0479, 5e-4);
  EXPECT_NEAR(adaptation[1].Y, 0.9904, 5e-4);
  EXPECT_NEAR(adaptation[2].Z, 0.7519, 5e-4);
}

TEST(InputProfile, RefusesWhatAProfileCannotHold) {
  const auto& s = demo::scene("front_teeth");
  const auto content = bytes_of(std::string(MAMELON_DATA_DIR) + "/photos/front_teeth.jpg");
  const auto ten =
      fit_card(s.photo, s.card, {mamelon::standard_illuminant("D65"), mamelon::Observer::deg10});
  EXPECT_THROW((void)input_profile(content, "p", ten, "a"), mamelon::ArgumentError);
}

}  // namespace
