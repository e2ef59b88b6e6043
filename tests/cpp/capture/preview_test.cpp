#include "mamelon/preview.h"

#include <cmath>

#include <gtest/gtest.h>

#include "mamelon/error.h"

namespace mamelon {
namespace {

Photo even_photo(std::size_t width, std::size_t height, std::uint16_t light) {
  Photo photo;
  photo.width = width;
  photo.height = height;
  photo.rgb.assign(3 * width * height, light);
  return photo;
}

TEST(Preview, AveragesLightAndEncodesItAsSrgb) {
  // Half black, half white: the mean light is 0.5, which IEC 61966-2-1 encodes as 188.
  Photo photo = even_photo(40, 40, 0);
  for (std::size_t i = 0; i < photo.rgb.size(); ++i) photo.rgb[i] = (i / 3) % 2 == 0 ? 65535 : 0;
  const Preview seen = preview_of(photo, 20);
  ASSERT_EQ(seen.width, 20U);
  ASSERT_EQ(seen.height, 20U);
  ASSERT_EQ(seen.rgba.size(), 4U * 400);
  for (std::size_t i = 0; i < seen.rgba.size(); ++i) {
    EXPECT_EQ(static_cast<unsigned char>(seen.rgba[i]), i % 4 == 3 ? 255 : 188);
  }
}

TEST(Preview, KeepsAPhotoThatIsSmallEnoughAndRefusesAnEmptyPicture) {
  EXPECT_EQ(preview_of(even_photo(33, 21, 9), 33).width, 33U);
  EXPECT_THROW((void)preview_of(even_photo(33, 21, 9), 15), ArgumentError);
}

TEST(OutlineOf, FollowsTheRimInEvenSteps) {
  Mask mask{.x = 100, .y = 50, .width = 61, .height = 61, .inside = {}};
  mask.inside.assign(61 * 61, 0);
  for (std::size_t y = 0; y < 61; ++y) {
    for (std::size_t x = 0; x < 61; ++x) {
      mask.inside[y * 61 + x] =
          std::hypot(static_cast<double>(x) - 30, static_cast<double>(y) - 30) <= 25 ? 1 : 0;
    }
  }
  mask.inside[0] = 1;  // a lone pixel is not the outline
  const auto rim = outline_of(mask, 24);
  ASSERT_EQ(rim.size(), 24U);
  for (const PointPx& at : rim) {
    EXPECT_NEAR(std::hypot(at.x - 130.5, at.y - 80.5), 25, 1.5);
  }
  EXPECT_TRUE(
      outline_of(Mask{.x = 0, .y = 0, .width = 2, .height = 2, .inside = {0, 0, 0, 0}}, 8).empty());
  EXPECT_THROW((void)outline_of(mask, 2), ArgumentError);
}

}  // namespace
}  // namespace mamelon
