#include "capture/zone_sums.h"

#include <algorithm>
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
  for (std::size_t row = 0; row < mask.height; ++row) {
    for (std::size_t column = 0; column < mask.width; ++column) {
      if (mask.inside[row * mask.width + column] == 0) continue;
      const std::uint16_t* p = photo.pixel(mask.x + column, mask.y + row);
      Cell& cell = cells[row / side * columns + column / side];
      cell.sum += Eigen::Vector3d(p[0], p[1], p[2]);
      cell.count += 1;
      out.centre.x += static_cast<double>(mask.x + column);
      out.centre.y += static_cast<double>(mask.y + row);
      ++out.count;
    }
  }
  if (out.count == 0) return out;
  const auto n = static_cast<double>(out.count);
  for (Cell& cell : cells) {
    cell.sum /= 65535.0;
    out.mean += cell.sum / n;
  }
  out.centre = {out.centre.x / n, out.centre.y / n};
  const auto full = static_cast<double>(side * side);
  out.mean_cov = cell_noise(cells, columns, full) * (full / n);
  return out;
}

}  // namespace mamelon::detail
