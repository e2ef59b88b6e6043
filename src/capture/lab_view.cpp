#include "capture/lab_view.h"

#include <algorithm>
#include <cmath>

#include "base/parallel.h"
#include "capture/geometry.h"
#include "colour/vectors.h"

namespace mamelon::detail {
namespace {

// XYZ ≈ matrix · RGB around a mid tooth signal, and the white of the fit's viewing.
struct LinearMap {
  Eigen::Matrix3d to_xyz_over_white;
};

Eigen::Vector3d xyz_of(const CardFit& fit, const Xyz& white, const Eigen::Vector3d& rgb,
                       PointPx at) {
  return to_eigen(to_xyz(fit.correction->lab(to_vec3(rgb), Mat3{}, at).value, white));
}

LinearMap linear_map(const Photo& photo, const CardFit& fit, const cv::Rect& part) {
  const Xyz white = white_point(fit.viewing);
  const PointPx at = {part.x + part.width / 2.0, part.y + part.height / 2.0};
  // The mean colour of the part stands for its exposure; any colour will do for its slope.
  Eigen::Vector3d mean = Eigen::Vector3d::Zero();
  constexpr int grid = 24;
  for (int i = 0; i < grid * grid; ++i) {
    const auto x = static_cast<std::size_t>(part.x + part.width * (i % grid) / grid);
    const auto y = static_cast<std::size_t>(part.y + part.height * (i / grid) / grid);
    const auto p = photo.pixel(x, y);
    mean += Eigen::Vector3d(p[0], p[1], p[2]) / (65535.0 * grid * grid);
  }
  mean = mean.cwiseMax(1e-3);
  LinearMap map;
  for (int c = 0; c < 3; ++c) {
    Eigen::Vector3d more = mean;
    Eigen::Vector3d less = mean;
    more[c] *= 1.05;
    less[c] *= 0.95;
    map.to_xyz_over_white.col(c) =
        (xyz_of(fit, white, more, at) - xyz_of(fit, white, less, at)) / (0.1 * mean[c]);
  }
  const Eigen::Vector3d w = to_eigen(white);
  map.to_xyz_over_white = w.cwiseInverse().asDiagonal() * map.to_xyz_over_white;
  return map;
}

// Light in the lower bits, and in the upper ones whether it is clipped: sums of both in one.
constexpr std::uint64_t one_clipped = std::uint64_t{1} << 40;

std::uint64_t counted(std::uint16_t light, std::uint16_t clip_level) {
  return light + (light >= clip_level ? one_clipped : 0);
}

std::array<std::array<std::uint64_t, 256>, 3> counted_codes(const Photo& photo) {
  std::array<std::array<std::uint64_t, 256>, 3> table{};
  for (std::size_t c = 0; c < 3; ++c) {
    for (std::size_t code = 0; code < 256; ++code) {
      table[c][code] = counted(photo.light_of_code[c][code], photo.clip_level[c]);
    }
  }
  return table;
}

float lab_f(float t) {
  return t > 216.0F / 24389.0F ? std::cbrt(t) : (24389.0F / 27.0F * t + 16.0F) / 116.0F;
}

}  // namespace

double px_per_mm_at(const CardFit& fit, PointPx at) {
  const PointMm mm = apply_inverse(inverse(fit.mm_to_px), at);
  const LocalScale scale = local_scale(fit.mm_to_px, mm);
  return std::sqrt(scale.largest * scale.smallest);
}

LabView make_view(const Photo& photo, const CardFit& fit, cv::Rect part, double px_per_mm_wanted) {
  part &= cv::Rect(0, 0, static_cast<int>(photo.width), static_cast<int>(photo.height));
  const double scale = px_per_mm_at(fit, {part.x + part.width / 2.0, part.y + part.height / 2.0});
  LabView view;
  view.step = std::max(1, static_cast<int>(std::floor(scale / px_per_mm_wanted + 0.3)));
  view.px_per_mm = scale / view.step;
  part.width -= part.width % view.step;
  part.height -= part.height % view.step;
  view.part = part;
  const int columns = part.width / view.step;
  const int rows = part.height / view.step;
  view.lab.create(rows, columns);
  view.least.create(rows, columns);
  view.clipped.create(rows, columns);
  const Eigen::Matrix3f to_xyz_over_white =
      linear_map(photo, fit, part).to_xyz_over_white.cast<float>();
  // Camera signal of a perfect white, channel by channel.
  const Eigen::Vector3f of_white = to_xyz_over_white.inverse() * Eigen::Vector3f(1, 1, 1);
  // Every second pixel of a large photo is enough for a picture of this size.
  const int skip = view.step >= 4 ? 2 : 1;
  const int read = (view.step + skip - 1) / skip;
  const float unit = 1.0F / (65535.0F * static_cast<float>(read * read));
  const auto fill_row = [&](std::size_t row, const auto& value_at) {
    const int y = static_cast<int>(row);
    const auto y0 = static_cast<std::size_t>(part.y + y * view.step);
    for (int column = 0; column < columns; ++column) {
      const auto x0 = static_cast<std::size_t>(part.x + column * view.step);
      std::array<std::uint64_t, 3> sum{};
      for (int dy = 0; dy < view.step; dy += skip) {
        std::size_t i = 3 * ((y0 + static_cast<std::size_t>(dy)) * photo.width + x0);
        for (int dx = 0; dx < view.step; dx += skip, i += 3 * static_cast<std::size_t>(skip)) {
          for (std::size_t c = 0; c < 3; ++c) sum[c] += value_at(c, i + c);
        }
      }
      const auto light_of = [](std::uint64_t s) {
        return static_cast<float>(static_cast<std::uint32_t>(s & (one_clipped - 1)));
      };
      const Eigen::Vector3f rgb =
          Eigen::Vector3f(light_of(sum[0]), light_of(sum[1]), light_of(sum[2])) * unit;
      const Eigen::Vector3f xyz = to_xyz_over_white * rgb;
      const float fx = lab_f(xyz[0]);
      const float fy = lab_f(xyz[1]);
      const float fz = lab_f(xyz[2]);
      view.lab(y, column) = {116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)};
      view.least(y, column) = rgb.cwiseQuotient(of_white).minCoeff();
      view.clipped(y, column) = (sum[0] | sum[1] | sum[2]) >= one_clipped ? 1 : 0;
    }
  };
  const auto fill = [&](const auto& value_at) {
    parallel_for(static_cast<std::size_t>(rows), 16, [&](std::size_t begin, std::size_t end) {
      for (std::size_t row = begin; row < end; ++row) fill_row(row, value_at);
    });
  };
  if (photo.codes.empty()) {
    fill([&photo](std::size_t c, std::size_t i) {
      return counted(photo.rgb[i], photo.clip_level[c]);
    });
  } else {
    const auto table = counted_codes(photo);
    fill([&](std::size_t c, std::size_t i) { return table[c][photo.codes[i]]; });
  }
  return view;
}

}  // namespace mamelon::detail
