#include "sheet/raster.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <string_view>

#include <png.h>

#include "mamelon/error.h"
#include "mamelon/viewing.h"

#include "base/parallel.h"
#include "capture/signal_table.h"

namespace mamelon::detail {
namespace {

std::string base64(const std::vector<std::uint8_t>& bytes) {
  constexpr std::string_view digits =
      "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string out;
  out.reserve((bytes.size() + 2) / 3 * 4);
  for (std::size_t i = 0; i < bytes.size(); i += 3) {
    const std::size_t left = std::min<std::size_t>(3, bytes.size() - i);
    std::uint32_t word = 0;
    for (std::size_t k = 0; k < 3; ++k) {
      word = (word << 8U) | (k < left ? bytes[i + k] : 0U);
    }
    for (std::size_t k = 0; k < 4; ++k) {
      out += k <= left ? digits[(word >> (18U - 6U * k)) & 63U] : '=';
    }
  }
  return out;
}

// Mean linear colour of the photo pixels under one picture pixel.
Vec3 mean_rgb(const Photo& photo, const Crop& crop, std::size_t x, std::size_t y) {
  Vec3 sum{};
  std::size_t count = 0;
  const std::size_t x0 = crop.x + x * crop.shrink;
  const std::size_t y0 = crop.y + y * crop.shrink;
  for (std::size_t py = y0; py < std::min(y0 + crop.shrink, photo.height); ++py) {
    for (std::size_t px = x0; px < std::min(x0 + crop.shrink, photo.width); ++px) {
      const auto pixel = photo.pixel(px, py);
      for (std::size_t c = 0; c < 3; ++c) sum[c] += pixel[c];
      ++count;
    }
  }
  for (double& value : sum) value /= 65535.0 * static_cast<double>(std::max<std::size_t>(count, 1));
  return sum;
}

std::uint8_t to_byte(double value) {
  return static_cast<std::uint8_t>(std::lround(std::clamp(value, 0.0, 1.0) * 255.0));
}

}  // namespace

Crop crop_around(const Mask& tooth, const Photo& photo, std::size_t longest) {
  const std::size_t margin = std::max(tooth.width, tooth.height) / 5 + 4;
  Crop crop;
  crop.x = tooth.x > margin ? tooth.x - margin : 0;
  crop.y = tooth.y > margin ? tooth.y - margin : 0;
  const std::size_t right = std::min(tooth.x + tooth.width + margin, photo.width);
  const std::size_t bottom = std::min(tooth.y + tooth.height + margin, photo.height);
  const std::size_t width = right - crop.x;
  const std::size_t height = bottom - crop.y;
  crop.shrink = std::max<std::size_t>(1, (std::max(width, height) + longest - 1) / longest);
  crop.width = (width + crop.shrink - 1) / crop.shrink;
  crop.height = (height + crop.shrink - 1) / crop.shrink;
  return crop;
}

std::vector<std::uint8_t> render(const Photo& photo, const CardFit& fit, const Crop& crop) {
  std::vector<Vec3> signals(crop.width * crop.height);
  parallel_for(crop.height, 8, [&](std::size_t begin, std::size_t end) {
    for (std::size_t i = begin * crop.width; i < end * crop.width; ++i) {
      signals[i] = mean_rgb(photo, crop, i % crop.width, i / crop.width);
    }
  });
  // The whole range of signals, the table's light being that of the middle.
  std::array<double, 3> low = {1, 1, 1};
  std::array<double, 3> high = {0, 0, 0};
  for (const Vec3& signal : signals) {
    for (std::size_t c = 0; c < 3; ++c) {
      low[c] = std::min(low[c], signal[c]);
      high[c] = std::max(high[c], signal[c]);
    }
  }
  for (std::size_t c = 0; c < 3; ++c) high[c] = std::max(high[c], low[c] + 1e-6);
  const auto place = [&crop](double x, double y) {
    const auto shrink = static_cast<double>(crop.shrink);
    return PointPx{static_cast<double>(crop.x) + shrink * (x + 0.5),
                   static_cast<double>(crop.y) + shrink * (y + 0.5)};
  };
  const SignalTable table(
      fit, low, high,
      place(static_cast<double>(crop.width) / 2, static_cast<double>(crop.height) / 2));
  const Xyz white = white_point(fit.viewing);
  std::vector<std::uint8_t> out(3 * signals.size());
  parallel_for(crop.height, 8, [&](std::size_t begin, std::size_t end) {
    for (std::size_t i = begin * crop.width; i < end * crop.width; ++i) {
      const PointPx at =
          place(static_cast<double>(i % crop.width), static_cast<double>(i / crop.width));
      const Lab lab = to_lab(table.at(signals[i], fit.correction->light(at)), white);
      const DisplayColour colour = to_display(lab, white);
      out[3 * i] = to_byte(colour.r);
      out[3 * i + 1] = to_byte(colour.g);
      out[3 * i + 2] = to_byte(colour.b);
    }
  });
  return out;
}

bool is_inside(const Mask& mask, const Crop& crop, std::size_t x, std::size_t y) {
  const std::size_t px = crop.x + x * crop.shrink + crop.shrink / 2;
  const std::size_t py = crop.y + y * crop.shrink + crop.shrink / 2;
  if (px < mask.x || py < mask.y || px >= mask.x + mask.width || py >= mask.y + mask.height) {
    return false;
  }
  return mask.inside[(py - mask.y) * mask.width + (px - mask.x)] != 0;
}

std::string png_data_uri(const std::vector<std::uint8_t>& rgb, std::size_t width,
                         std::size_t height) {
  png_image image{};
  image.version = PNG_IMAGE_VERSION;
  image.width = static_cast<png_uint_32>(width);
  image.height = static_cast<png_uint_32>(height);
  image.format = PNG_FORMAT_RGB;
  const auto row = static_cast<png_int_32>(3 * width);
  png_alloc_size_t bytes = 0;
  std::vector<std::uint8_t> file;
  bool written =
      png_image_write_to_memory(&image, nullptr, &bytes, 0, rgb.data(), row, nullptr) != 0;
  if (written) {
    file.resize(bytes);
    written =
        png_image_write_to_memory(&image, file.data(), &bytes, 0, rgb.data(), row, nullptr) != 0;
  }
  if (!written)
    throw IoError(std::string("the picture for the sheet cannot be made: ") + image.message);
  file.resize(bytes);
  return "data:image/png;base64," + base64(file);
}

}  // namespace mamelon::detail
