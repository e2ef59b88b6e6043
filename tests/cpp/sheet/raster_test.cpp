// The sheet's picture of a tooth beside the correction itself, pixel by pixel.

#include "sheet/raster.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>

#include <gtest/gtest.h>

#include "mamelon/colour.h"
#include "mamelon/files.h"

namespace {

using namespace mamelon;

TEST(Raster, PictureShowsWhatTheCorrectionSays) {
  const std::string data(MAMELON_DATA_DIR);
  const Photo photo = read_photo(data + "/photos/front_teeth.jpg");
  const CardFit fit =
      fit_card(photo, read_card(data + "/cards/tooth20_frame.json"), viewing_from_string("D65/2"));
  const Zones zones = find_zones(photo, fit, {});
  const detail::Crop crop = detail::crop_around(zones.tooth, photo, 120);
  const auto picture = detail::render(photo, fit, crop);
  ASSERT_EQ(picture.size(), 3 * crop.width * crop.height);
  const Xyz white = white_point(fit.viewing);
  double largest = 0;
  double total = 0;
  for (std::size_t i = 0; i < crop.width * crop.height; ++i) {
    const std::size_t x0 = crop.x + i % crop.width * crop.shrink;
    const std::size_t y0 = crop.y + i / crop.width * crop.shrink;
    Vec3 mean{};
    double count = 0;
    for (std::size_t y = y0; y < std::min(y0 + crop.shrink, photo.height); ++y) {
      for (std::size_t x = x0; x < std::min(x0 + crop.shrink, photo.width); ++x) {
        const auto light = photo.pixel(x, y);
        for (std::size_t c = 0; c < 3; ++c) mean[c] += light[c] / 65535.0;
        count += 1;
      }
    }
    for (double& value : mean) value /= count;
    const double half = static_cast<double>(crop.shrink) / 2;
    const PointPx at = {static_cast<double>(x0) + half, static_cast<double>(y0) + half};
    const DisplayColour exact = to_display(fit.correction->lab(mean, Mat3{}, at).value, white);
    const std::array<double, 3> wanted = {exact.r, exact.g, exact.b};
    for (std::size_t c = 0; c < 3; ++c) {
      const double away = std::abs(255 * std::clamp(wanted.at(c), 0.0, 1.0) - picture[3 * i + c]);
      largest = std::max(largest, away);
      total += away;
    }
  }
  // Rounding to a byte alone makes 0.25 on average and 0.5 at most.
  EXPECT_LT(total / static_cast<double>(picture.size()), 0.35);
  EXPECT_LT(largest, 3);
}

}  // namespace
