#include "mamelon/image.h"

#include <algorithm>
#include <cmath>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "mamelon/error.h"

#include "encode.h"

namespace {

using mamelon::decode_photo;
using mamelon::Encoding;

constexpr std::size_t width = 320;
constexpr std::size_t height = 256;

// Four flat quarters of different colours, so that every orientation is told apart.
constexpr std::uint8_t quarters[4][3] = {
    {200, 60, 40}, {50, 190, 70}, {40, 80, 210}, {180, 170, 30}};

encode::Image8 quarters8() {
  encode::Image8 image{width, height, std::vector<std::uint8_t>(3 * width * height)};
  for (std::size_t y = 0; y < height; ++y) {
    for (std::size_t x = 0; x < width; ++x) {
      const std::size_t quarter = (y >= height / 2 ? 2U : 0U) + (x >= width / 2 ? 1U : 0U);
      std::copy_n(quarters[quarter], 3,
                  image.rgb.begin() + static_cast<std::ptrdiff_t>(3 * (y * width + x)));
    }
  }
  return image;
}

encode::Image16 ramp16() {
  encode::Image16 image{width, height, std::vector<std::uint16_t>(3 * width * height)};
  for (std::size_t y = 0; y < height; ++y) {
    for (std::size_t x = 0; x < width; ++x) {
      image.rgb[3 * (y * width + x)] = static_cast<std::uint16_t>(200 * x);
      image.rgb[3 * (y * width + x) + 1] = static_cast<std::uint16_t>(250 * y);
      image.rgb[3 * (y * width + x) + 2] = static_cast<std::uint16_t>(100 * x + 100 * y);
    }
  }
  return image;
}

// IEC 61966-2-1, written out again here as the check on the decoder's table.
int srgb_light(int code) {
  const double v = code / 255.0;
  const double light = v <= 0.04045 ? v / 12.92 : std::pow((v + 0.055) / 1.055, 2.4);
  return static_cast<int>(std::lround(65535 * light));
}

template <class Failure>
void expect_failure(const encode::Bytes& bytes, const std::string& part) {
  try {
    (void)decode_photo(bytes, "photo.bin");
    ADD_FAILURE() << "accepted; expected: " << part;
  } catch (const Failure& failure) {
    EXPECT_THAT(failure.what(), testing::HasSubstr(part));
    EXPECT_THAT(failure.what(), testing::HasSubstr("photo.bin"));
  }
}

TEST(Image, UntaggedPngIsSrgbWithAWarning) {
  const auto photo = decode_photo(encode::png8(quarters8()), "p.png");
  EXPECT_EQ(photo.encoding, Encoding::srgb_assumed);
  EXPECT_EQ(photo.bits, 8);
  ASSERT_EQ(photo.warnings.size(), 1U);
  for (std::size_t c = 0; c < 3; ++c) {
    EXPECT_EQ(photo.pixel(3, 3)[c], srgb_light(quarters[0][c]));
    EXPECT_EQ(photo.clip_level[c], 65535);
  }
}

TEST(Image, EightBitFilesKeepTheirCodes) {
  const auto image = quarters8();
  for (const auto& bytes : {encode::png8(image), encode::png8(image, encode::srgb_profile())}) {
    const auto photo = decode_photo(bytes, "p.png");
    EXPECT_TRUE(photo.rgb.empty());
    EXPECT_EQ(photo.codes, image.rgb);
    const auto wide = mamelon::expanded(photo);
    EXPECT_TRUE(wide.codes.empty());
    ASSERT_EQ(wide.rgb.size(), 3 * photo.width * photo.height);
    for (std::size_t y = 0; y < photo.height; ++y) {
      for (std::size_t x = 0; x < photo.width; ++x) {
        EXPECT_EQ(wide.pixel(x, y), photo.pixel(x, y));
      }
    }
    EXPECT_EQ(mamelon::expanded(wide).rgb, wide.rgb);
  }
}

TEST(Image, LightOfAProfilesTablesIsKeptWide) {
  const auto photo = decode_photo(encode::png8(quarters8(), encode::srgb_table_profile()), "p.png");
  EXPECT_TRUE(photo.codes.empty());
  EXPECT_EQ(photo.rgb.size(), 3 * photo.width * photo.height);
}

TEST(Image, SrgbProfileGivesTheSrgbCurve) {
  const auto photo = decode_photo(encode::png8(quarters8(), encode::srgb_profile()), "p.png");
  EXPECT_EQ(photo.encoding, Encoding::profile);
  EXPECT_TRUE(photo.warnings.empty());
  EXPECT_FALSE(photo.profile_description.empty());
  for (std::size_t c = 0; c < 3; ++c) {
    // Little CMS holds the curve's parameters as 16.16 fixed-point numbers in the file.
    EXPECT_NEAR(photo.pixel(3, 3)[c], srgb_light(quarters[0][c]), 6);
  }
}

TEST(Image, StraightCurvesAreLinear) {
  const auto image = ramp16();
  const auto photo = decode_photo(encode::tiff16(image, encode::gamma_profile(1.0)), "p.tif");
  EXPECT_EQ(photo.encoding, Encoding::linear);
  EXPECT_EQ(photo.bits, 16);
  EXPECT_EQ(photo.rgb, image.rgb);
}

TEST(Image, GammaProfileIsUndoneExactly) {
  const auto image = ramp16();
  const auto photo = decode_photo(encode::tiff16(image, encode::gamma_profile(1.8)), "p.tif");
  EXPECT_EQ(photo.encoding, Encoding::profile);
  for (const std::size_t i : {3000UL, 60001UL, 200002UL}) {
    // The exponent is a 16.16 fixed-point number in the file: 1.8 to within 1e-5.
    const double light = 65535 * std::pow(image.rgb[i] / 65535.0, 1.8);
    EXPECT_NEAR(photo.rgb[i], light, 1.0);
  }
}

TEST(Image, TableProfileGivesProportionalLight) {
  const auto photo = decode_photo(encode::png8(quarters8(), encode::srgb_table_profile()), "p.png");
  EXPECT_EQ(photo.encoding, Encoding::profile);
  // sRGB light, Bradford-adapted to D50, in the linear wide primaries: matrices of IEC 61966-2-1
  // and ISO 22028-2, product computed with colour-science 0.4 (matrix_RGB_to_RGB, Bradford).
  const double m[3][3] = {
      {0.5292, 0.3301, 0.1407}, {0.0983, 0.8735, 0.0282}, {0.0169, 0.1177, 0.8654}};
  for (std::size_t c = 0; c < 3; ++c) {
    double expected = 0;
    for (std::size_t k = 0; k < 3; ++k) expected += m[c][k] * srgb_light(quarters[0][k]);
    EXPECT_NEAR(photo.pixel(3, 3)[c], expected, 0.02 * 65535) << c;
  }
}

TEST(Image, PngGammaChunkIsUsed) {
  const auto image = ramp16();
  const auto linear = decode_photo(encode::png16(image, 1.0), "p.png");
  EXPECT_EQ(linear.encoding, Encoding::linear);
  EXPECT_EQ(linear.rgb, image.rgb);
  const auto curved = decode_photo(encode::png16(image, 1 / 2.2), "p.png");
  EXPECT_EQ(curved.encoding, Encoding::profile);
}

TEST(Image, TiledTiffEqualsStrips) {
  const auto image = ramp16();
  const auto icc = encode::gamma_profile(1.0);
  EXPECT_EQ(decode_photo(encode::tiff16(image, icc, 1, true), "t").rgb,
            decode_photo(encode::tiff16(image, icc, 1, false), "t").rgb);
}

// Corner colours of the upright photo for each orientation, clockwise from the upper left, as
// quarter numbers (EXIF 2.32, Orientation: which edges row 0 and column 0 are).
class Orientation : public testing::TestWithParam<std::tuple<int, std::array<int, 4>>> {};

TEST_P(Orientation, TurnsThePhotoUpright) {
  const auto [orientation, corners] = GetParam();
  encode::JpegOptions options;
  options.orientation = orientation;
  options.quality = 98;
  const auto photo = decode_photo(encode::jpeg(quarters8(), options), "p.jpg");
  const bool turned = orientation >= 5;
  ASSERT_EQ(photo.width, turned ? height : width);
  ASSERT_EQ(photo.height, turned ? width : height);
  const std::size_t x[4] = {20, photo.width - 20, photo.width - 20, 20};
  const std::size_t y[4] = {20, 20, photo.height - 20, photo.height - 20};
  for (std::size_t i = 0; i < 4; ++i) {
    for (std::size_t c = 0; c < 3; ++c) {
      EXPECT_NEAR(photo.pixel(x[i], y[i])[c],
                  srgb_light(quarters[static_cast<std::size_t>(corners[i])][c]), 1400)
          << "corner " << i;
    }
  }
}

INSTANTIATE_TEST_SUITE_P(
    All, Orientation,
    testing::Values(std::tuple{1, std::array{0, 1, 3, 2}}, std::tuple{2, std::array{1, 0, 2, 3}},
                    std::tuple{3, std::array{3, 2, 0, 1}}, std::tuple{4, std::array{2, 3, 1, 0}},
                    std::tuple{5, std::array{0, 2, 3, 1}}, std::tuple{6, std::array{2, 0, 1, 3}},
                    std::tuple{7, std::array{3, 1, 0, 2}}, std::tuple{8, std::array{1, 3, 2, 0}}));

TEST_P(Orientation, AMirroredPhotoIsFlipped) {
  encode::JpegOptions options;
  options.quality = 100;
  options.orientation = std::get<0>(GetParam());
  const auto bytes = encode::jpeg(quarters8(), options);
  const auto photo = decode_photo(bytes, "p.jpg");
  const auto flipped = decode_photo(bytes, "p.jpg", {.mirrored = true});
  ASSERT_EQ(flipped.width, photo.width);
  for (std::size_t y = 0; y < photo.height; y += 17) {
    for (std::size_t x = 0; x < photo.width; x += 13) {
      ASSERT_EQ(flipped.pixel(photo.width - 1 - x, y), photo.pixel(x, y)) << x << ' ' << y;
    }
  }
  EXPECT_NE(flipped.provenance, photo.provenance);
}

TEST(Image, MalformedExifIsIgnoredWithAWarning) {
  encode::JpegOptions options;
  options.orientation = 77;
  const auto photo = decode_photo(encode::jpeg(quarters8(), options), "p.jpg");
  EXPECT_EQ(photo.width, width);
  EXPECT_THAT(photo.warnings, testing::Contains(testing::HasSubstr("EXIF")));
}

TEST(Image, CameraRenderingIsTheCallersStatement) {
  mamelon::PhotoOptions options;
  options.camera_rendering = true;
  const auto photo = decode_photo(encode::jpeg(quarters8()), "p.jpg", options);
  EXPECT_EQ(photo.encoding, Encoding::camera_rendering);
}

TEST(Image, RefusesWhatIsNotAPhoto) {
  expect_failure<mamelon::DataError>({}, "not a JPEG, PNG, TIFF, HEIC, WebP or camera raw");
  expect_failure<mamelon::DataError>(encode::Bytes(5000, std::byte{7}),
                                     "not a JPEG, PNG, TIFF, HEIC, WebP or camera raw");
}

TEST(Image, EveryTruncationIsAnError) {
  const std::vector<encode::Bytes> files = {encode::jpeg(quarters8()), encode::png8(quarters8()),
                                            encode::tiff16(ramp16())};
  for (const auto& whole : files) {
    for (int percent = 1; percent < 100; percent += 7) {
      const encode::Bytes part(
          whole.begin(),
          whole.begin() +
              static_cast<std::ptrdiff_t>(whole.size() * static_cast<std::size_t>(percent) / 100));
      EXPECT_THROW((void)decode_photo(part, "cut"), mamelon::DataError) << percent;
    }
  }
}

TEST(Image, RefusesGreyAndCmyk) {
  encode::JpegOptions grey;
  grey.grey = true;
  expect_failure<mamelon::CaptureError>(encode::jpeg(quarters8(), grey), "greyscale");
  encode::JpegOptions cmyk;
  cmyk.cmyk = true;
  expect_failure<mamelon::CaptureError>(encode::jpeg(quarters8(), cmyk), "CMYK");
  auto colourless = quarters8();
  for (std::size_t i = 0; i < colourless.rgb.size(); i += 3) {
    colourless.rgb[i + 1] = colourless.rgb[i + 2] = colourless.rgb[i];
  }
  expect_failure<mamelon::CaptureError>(encode::png8(colourless), "black and white");
}

TEST(Image, RefusesASmallPhotoAndSaysTheLimit) {
  const encode::Image8 small{200, 100, std::vector<std::uint8_t>(std::size_t{3} * 200 * 100, 90)};
  expect_failure<mamelon::CaptureError>(encode::png8(small), "240");
}

TEST(Image, BrokenProfileIsAnError) {
  auto icc = encode::srgb_profile();
  std::fill(icc.begin(), icc.begin() + 64, std::byte{0x5A});
  expect_failure<mamelon::DataError>(encode::tiff16(ramp16(), icc), "ICC profile");
}

TEST(Image, MissingFileIsAnIoError) {
  EXPECT_THROW((void)mamelon::read_photo("no/such/photo.jpg"), mamelon::IoError);
}

TEST(Image, ProvenanceFollowsTheBytes) {
  const auto a = decode_photo(encode::png8(quarters8()), "a");
  const auto b = decode_photo(encode::png8(quarters8()), "b");
  EXPECT_EQ(a.provenance, b.provenance);
  auto changed = quarters8();
  changed.rgb[0] = 201;
  EXPECT_NE(decode_photo(encode::png8(changed), "a").provenance.digest, a.provenance.digest);
}

}  // namespace
