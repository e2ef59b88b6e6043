#include "capture/zone_sums.h"

#include <algorithm>
#include <array>
#include <cstdint>
#include <string>
#include <vector>

#include "mamelon/error.h"

namespace mamelon::detail {
namespace {

struct Cell {
  Eigen::Vector3d sum = Eigen::Vector3d::Zero();
  double count = 0;
};

// Half the mean square difference of neighbouring cells: noise that pixels share through
// interpolation, compression and texture counts in full, the tooth's own slow change of colour does
// not.
Eigen::Matrix3d cell_noise(const std::vector<Cell>& cells, std::size_t columns, double full) {
  Eigen::Matrix3d sum = Eigen::Matrix3d::Zero();
  double pairs = 0;
  for (std::size_t i = 0; i < cells.size(); ++i) {
    for (const std::size_t j : {i + 1, i + columns}) {
      if (j >= cells.size() || (j == i + 1 && j % columns == 0)) continue;
      // Cells that the zone barely enters are noisier than the others.
      if (cells[i].count < full / 2 || cells[j].count < full / 2) continue;
      const Eigen::Vector3d d = cells[i].sum / cells[i].count - cells[j].sum / cells[j].count;
      sum += d * d.transpose() / 2;
      pairs += 1;
    }
  }
  return pairs > 0 ? Eigen::Matrix3d(sum / pairs) : sum;
}

}  // namespace

std::string named(const Zone& zone) {
  return zone.name == "cusps" || zone.name == "fissures" ? zone.name : zone.name + " third";
}

void check_mask(const Photo& photo, const Mask& mask) {
  if (mask.inside.size() != mask.width * mask.height) {
    throw ArgumentError("the tooth mask holds " + std::to_string(mask.inside.size()) +
                        " values; width × height would be " +
                        std::to_string(mask.width * mask.height));
  }
  if (mask.x > photo.width || mask.width > photo.width - mask.x || mask.y > photo.height ||
      mask.height > photo.height - mask.y) {
    throw ArgumentError("the tooth mask reaches beyond the photo of " +
                        std::to_string(photo.width) + "×" + std::to_string(photo.height) +
                        " pixels");
  }
}

ZoneSums sum_zone(const Photo& photo, const Mask& mask) {
  const std::size_t side = std::max<std::size_t>(4, std::max(mask.width, mask.height) / 24);
  const std::size_t columns = mask.width / side + 1;
  std::vector<Cell> cells(columns * (mask.height / side + 1));
  ZoneSums out;
  // Whole numbers: they add up exactly, in any order, and faster.
  std::uint64_t sum_x = 0;
  std::uint64_t sum_y = 0;
  for (std::size_t row = 0; row < mask.height; ++row) {
    const std::uint8_t* inside = mask.inside.data() + row * mask.width;
    std::size_t in_row = 0;
    for (std::size_t first = 0; first < mask.width; first += side) {
      std::array<std::uint64_t, 3> sum{};
      std::size_t count = 0;
      for (std::size_t column = first; column < std::min(first + side, mask.width); ++column) {
        if (inside[column] == 0) continue;
        const auto p = photo.pixel(mask.x + column, mask.y + row);
        for (std::size_t c = 0; c < 3; ++c) sum[c] += p[c];
        sum_x += mask.x + column;
        ++count;
      }
      Cell& cell = cells[row / side * columns + first / side];
      cell.sum += Eigen::Vector3d(static_cast<double>(sum[0]), static_cast<double>(sum[1]),
                                  static_cast<double>(sum[2]));
      cell.count += static_cast<double>(count);
      in_row += count;
    }
    sum_y += in_row * (mask.y + row);
    out.count += in_row;
  }
  if (out.count == 0) return out;
  const auto n = static_cast<double>(out.count);
  for (Cell& cell : cells) {
    cell.sum /= 65535.0;
    out.mean += cell.sum / n;
  }
  out.centre = {static_cast<double>(sum_x) / n, static_cast<double>(sum_y) / n};
  const auto full = static_cast<double>(side * side);
  out.mean_cov = cell_noise(cells, columns, full) * (full / n);
  return out;
}

}  // namespace mamelon::detail
