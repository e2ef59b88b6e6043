#include "capture/sampling.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "colour/vectors.h"

namespace mamelon::detail {
namespace {

constexpr int cells = 4;
constexpr std::size_t all_cells = std::size_t{cells} * cells;

struct PixelAt {
  std::array<std::uint16_t, 3> rgb;
  std::uint8_t cell;
};

std::uint16_t median(std::vector<std::uint16_t>& values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

struct Limits {
  double low = 0;
  double high = 0;
};

// Light that a fifth of a code stands for in an 8-bit file, whose codes go about as light^(1/2.2):
// what rounding in YCbCr and in the transform leaves of an even patch's mean.
double rounding_sd(double light) {
  return 0.2 / 255 * 2.2 * std::pow(light, 1 - 1 / 2.2);
}

std::array<Limits, 3> robust_limits(const std::vector<PixelAt>& pixels) {
  std::array<Limits, 3> limits{};
  // Two medians of a few thousand are as good as those of all, and they are half of the time.
  const std::size_t step = std::max<std::size_t>(1, pixels.size() / 2500);
  std::vector<std::uint16_t> values;
  for (std::size_t c = 0; c < 3; ++c) {
    values.clear();
    for (std::size_t i = 0; i < pixels.size(); i += step) values.push_back(pixels[i].rgb[c]);
    const std::uint16_t middle = median(values);
    for (std::uint16_t& v : values) {
      v = static_cast<std::uint16_t>(v > middle ? v - middle : middle - v);
    }
    // 1.4826: from median absolute deviation to standard deviation of a normal distribution. The
    // floor keeps flat 8-bit patches, whose deviation is 0, from losing their second code value.
    const double spread = std::max(1.4826 * median(values), 20.0 + 0.006 * middle);
    limits[c] = {middle - 3.5 * spread, middle + 3.5 * spread};
  }
  return limits;
}

}  // namespace

RegionSample sample_region(const Photo& photo, const Homography& mm_to_px,
                           const Homography& px_to_mm, const RectMm& rect, double inset) {
  const RectMm core = {rect.x + inset * rect.width, rect.y + inset * rect.height,
                       rect.width * (1 - 2 * inset), rect.height * (1 - 2 * inset)};
  RegionSample sample;
  sample.centre = apply(mm_to_px, {core.x + core.width / 2, core.y + core.height / 2});
  double x0 = 1e9;
  double y0 = 1e9;
  double x1 = -1e9;
  double y1 = -1e9;
  for (const PointMm corner : {PointMm{core.x, core.y}, PointMm{core.x + core.width, core.y},
                               PointMm{core.x, core.y + core.height},
                               PointMm{core.x + core.width, core.y + core.height}}) {
    const PointPx p = apply(mm_to_px, corner);
    x0 = std::min(x0, p.x);
    x1 = std::max(x1, p.x);
    y0 = std::min(y0, p.y);
    y1 = std::max(y1, p.y);
  }
  // A region that the photo cuts off is no sample.
  if (x0 < 0 || y0 < 0 || x1 > static_cast<double>(photo.width) - 1 ||
      y1 > static_cast<double>(photo.height) - 1) {
    return sample;
  }
  const auto first_x = static_cast<std::size_t>(std::ceil(x0));
  const auto first_y = static_cast<std::size_t>(std::ceil(y0));
  const auto end_x = static_cast<std::size_t>(std::floor(x1)) + 1;
  const auto end_y = static_cast<std::size_t>(std::floor(y1)) + 1;
  // Ten thousand pixels say all there is to say; large photos are read at every second pixel or
  // fewer.
  constexpr double enough_pixels = 10000;
  const auto stride = static_cast<std::size_t>(
      std::max(1.0, std::round(std::sqrt((x1 - x0) * (y1 - y0) / enough_pixels))));
  std::vector<PixelAt> pixels;
  pixels.reserve(((end_y - first_y) / stride + 1) * ((end_x - first_x) / stride + 1));
  std::size_t clipped = 0;
  std::size_t black = 0;
  for (std::size_t y = first_y; y < end_y; y += stride) {
    for (std::size_t x = first_x; x < end_x; x += stride) {
      const PointMm mm = apply_inverse(px_to_mm, {static_cast<double>(x), static_cast<double>(y)});
      const double u = (mm.x - core.x) / core.width;
      const double v = (mm.y - core.y) / core.height;
      if (!(u >= 0 && u < 1 && v >= 0 && v < 1)) continue;
      const auto p = photo.pixel(x, y);
      if (photo.is_clipped(p)) ++clipped;
      // The two lowest codes of an 8-bit sRGB file; colours outside its gamut are cut there.
      constexpr std::uint16_t bottom = 20;
      if (std::min({p[0], p[1], p[2]}) <= bottom) ++black;
      const int cell = static_cast<int>(v * cells) * cells + static_cast<int>(u * cells);
      pixels.push_back({p, static_cast<std::uint8_t>(cell)});
    }
  }
  if (pixels.empty()) return sample;
  sample.clipped_fraction = static_cast<double>(clipped) / static_cast<double>(pixels.size());
  sample.black_fraction = static_cast<double>(black) / static_cast<double>(pixels.size());

  const auto limits = robust_limits(pixels);
  std::array<Eigen::Vector3d, all_cells> sums;
  sums.fill(Eigen::Vector3d::Zero());
  std::array<double, all_cells> counts{};
  Eigen::Vector3d total = Eigen::Vector3d::Zero();
  for (const PixelAt& p : pixels) {
    bool kept = true;
    for (std::size_t c = 0; c < 3; ++c) {
      kept = kept && p.rgb[c] >= limits[c].low && p.rgb[c] <= limits[c].high;
    }
    if (!kept) continue;
    const Eigen::Vector3d value = Eigen::Vector3d(p.rgb[0], p.rgb[1], p.rgb[2]) / 65535.0;
    sums[p.cell] += value;
    counts[p.cell] += 1;
    total += value;
    ++sample.pixels;
  }
  if (sample.pixels == 0) return sample;
  const Eigen::Vector3d mean = total / static_cast<double>(sample.pixels);
  Eigen::Matrix3d scatter = Eigen::Matrix3d::Zero();
  int used = 0;
  for (std::size_t i = 0; i < sums.size(); ++i) {
    if (counts[i] < 1) continue;
    const Eigen::Vector3d d = sums[i] / counts[i] - mean;
    scatter += d * d.transpose();
    ++used;
  }
  if (used > 1) scatter /= static_cast<double>(used) * static_cast<double>(used - 1);
  sample.rgb = to_vec3(mean);
  if (photo.bits == 8) {
    for (Eigen::Index c = 0; c < 3; ++c) scatter(c, c) += std::pow(rounding_sd(mean[c]), 2);
  }
  sample.rgb_cov = to_mat3(scatter);
  return sample;
}

}  // namespace mamelon::detail
