// Finer readings of a tooth than its thirds: a grid, and every pixel.

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "mamelon/error.h"
#include "mamelon/zones.h"

#include "base/parallel.h"
#include "capture/belongs.h"
#include "capture/later.h"
#include "capture/signal_table.h"
#include "capture/zone_sums.h"
#include "colour/vectors.h"

namespace mamelon {
namespace {

// What of the tooth can be measured: the thirds' masks together.
Mask measurable(const Photo& photo, const Zones& zones) {
  if (zones.zones.empty()) throw ArgumentError("the zones are empty");
  Mask all = zones.zones.front().mask;
  for (const Zone& zone : zones.zones) {
    detail::check_mask(photo, zone.mask);
    if (zone.mask.x != all.x || zone.mask.y != all.y || zone.mask.width != all.width ||
        zone.mask.height != all.height) {
      throw ArgumentError("the zones' masks must share one rectangle");
    }
    for (std::size_t i = 0; i < all.inside.size(); ++i) {
      all.inside[i] = all.inside[i] != 0 || zone.mask.inside[i] != 0 ? 1 : 0;
    }
  }
  return all;
}

// A tooth's own frame: along the axis from its cervical end, and across.
struct Frame {
  PointPx origin;
  std::array<double, 2> along{};   // per pixel, 1 at the incisal end
  std::array<double, 2> across{};  // unit vector
  double low = 0;                  // reach of the pixels across
  double high = 0;
};

Frame frame_of(const Zones& zones, const Mask& mask) {
  Frame f;
  f.origin = zones.cervical_end;
  const double dx = zones.incisal_end.x - zones.cervical_end.x;
  const double dy = zones.incisal_end.y - zones.cervical_end.y;
  const double length = std::hypot(dx, dy);
  if (!(length > 1)) throw ArgumentError("the zones have no long axis");
  f.along = {dx / (length * length), dy / (length * length)};
  // To the right of the photo for a tooth that stands upright in it, whichever end is up.
  const double sign = std::abs(dy) >= std::abs(dx) ? (dy > 0 ? 1 : -1) : (dx > 0 ? -1 : 1);
  f.across = {sign * dy / length, -sign * dx / length};
  f.low = 1e9;
  f.high = -1e9;
  for (std::size_t i = 0; i < mask.inside.size(); ++i) {
    if (mask.inside[i] == 0) continue;
    const double x = static_cast<double>(mask.x + i % mask.width) - f.origin.x;
    const double y = static_cast<double>(mask.y + i / mask.width) - f.origin.y;
    const double u = x * f.across[0] + y * f.across[1];
    f.low = std::min(f.low, u);
    f.high = std::max(f.high, u);
  }
  return f;
}

std::size_t part_of(double position, std::size_t parts) {
  const double at = std::floor(position * static_cast<double>(parts));
  return static_cast<std::size_t>(std::clamp(at, 0.0, static_cast<double>(parts - 1)));
}

}  // namespace

std::vector<Reading> read_grid(const Photo& photo, const CardFit& fit, const Zones& zones,
                               std::size_t rows, std::size_t columns, const std::string& label,
                               SurfaceKind kind) {
  if (!fit.correction) throw ArgumentError("the card fit holds no correction");
  check_belongs(photo, fit, "reading a grid");
  detail::check_zones_belong(photo, zones, "reading a grid");
  if (rows < 1 || columns < 1 || rows > 50 || columns > 50) {
    throw ArgumentError("a grid has 1 to 50 rows and columns, not " + std::to_string(rows) + "×" +
                        std::to_string(columns));
  }
  const Mask all = measurable(photo, zones);
  const Frame frame = frame_of(zones, all);
  Mask empty = all;
  std::fill(empty.inside.begin(), empty.inside.end(), std::uint8_t{0});
  std::vector<Mask> cells(rows * columns, empty);
  const double span = std::max(1e-9, frame.high - frame.low);
  for (std::size_t i = 0; i < all.inside.size(); ++i) {
    if (all.inside[i] == 0) continue;
    const double x = static_cast<double>(all.x + i % all.width) - frame.origin.x;
    const double y = static_cast<double>(all.y + i / all.width) - frame.origin.y;
    const std::size_t row = part_of(x * frame.along[0] + y * frame.along[1], rows);
    const std::size_t column =
        part_of((x * frame.across[0] + y * frame.across[1] - frame.low) / span, columns);
    cells[row * columns + column].inside[i] = 1;
  }
  std::vector<Reading> readings;
  for (std::size_t i = 0; i < cells.size(); ++i) {
    const detail::ZoneSums sums = detail::sum_zone(photo, cells[i]);
    if (sums.count < detail::min_zone_pixels) continue;
    const std::string zone =
        "r" + std::to_string(i / columns + 1) + "c" + std::to_string(i % columns + 1);
    readings.push_back(
        Reading{.label = label,
                .zone = zone,
                .lab = fit.correction->lab(Signal{
                    detail::to_vec3(sums.mean), detail::to_mat3(sums.mean_cov), sums.centre, kind}),
                .reflectance = std::nullopt,
                .viewing = fit.viewing,
                .count = sums.count,
                .warnings = {},
                .provenance = make_provenance(
                    "read_grid",
                    "rows=" + std::to_string(rows) + ";columns=" + std::to_string(columns) +
                        ";zone=" + zone + detail::kind_setting(kind),
                    {photo.provenance.digest, fit.provenance.digest, zones.provenance.digest}),
                .kind = kind});
    detail::warn_of_unlikely_colour(fit, readings.back());
  }
  if (readings.empty()) {
    throw CaptureError("nothing is left of the tooth to measure; avoid glare and over-exposure");
  }
  return readings;
}

LabMap map_lab(const Photo& photo, const CardFit& fit, const Zones& zones) {
  if (!fit.correction) throw ArgumentError("the card fit holds no correction");
  check_belongs(photo, fit, "mapping a tooth");
  detail::check_zones_belong(photo, zones, "mapping a tooth");
  detail::check_mask(photo, zones.tooth);
  detail::check_mask(photo, zones.glare);
  const Mask& tooth = zones.tooth;
  LabMap map{tooth.x, tooth.y, tooth.width, tooth.height, {}};
  map.lab.assign(3 * tooth.inside.size(), std::numeric_limits<float>::quiet_NaN());
  std::array<double, 3> low = {1, 1, 1};
  std::array<double, 3> high = {0, 0, 0};
  const auto pixel = [&](std::size_t i) -> std::optional<Vec3> {
    if (tooth.inside[i] == 0 || zones.glare.inside[i] != 0) return std::nullopt;
    const auto p = photo.pixel(tooth.x + i % tooth.width, tooth.y + i / tooth.width);
    if (photo.is_clipped(p)) return std::nullopt;
    return Vec3{p[0] / 65535.0, p[1] / 65535.0, p[2] / 65535.0};
  };
  PointPx centre;
  double count = 0;
  for (std::size_t i = 0; i < tooth.inside.size(); ++i) {
    const auto rgb = pixel(i);
    if (!rgb) continue;
    for (std::size_t c = 0; c < 3; ++c) {
      low[c] = std::min(low[c], (*rgb)[c]);
      high[c] = std::max(high[c], (*rgb)[c]);
    }
    centre.x += static_cast<double>(tooth.x + i % tooth.width);
    centre.y += static_cast<double>(tooth.y + i / tooth.width);
    count += 1;
  }
  if (count == 0) return map;
  for (std::size_t c = 0; c < 3; ++c) high[c] = std::max(high[c], low[c] + 1e-6);
  const detail::SignalTable table(fit, low, high, {centre.x / count, centre.y / count});
  const Xyz white = white_point(fit.viewing);
  detail::parallel_for(tooth.height, 16, [&](std::size_t begin, std::size_t end) {
    for (std::size_t i = begin * tooth.width; i < end * tooth.width; ++i) {
      const auto rgb = pixel(i);
      if (!rgb) continue;
      const PointPx at = {static_cast<double>(tooth.x + i % tooth.width),
                          static_cast<double>(tooth.y + i / tooth.width)};
      const Lab lab = to_lab(table.at(*rgb, fit.correction->light(at)), white);
      map.lab[3 * i] = static_cast<float>(lab.l);
      map.lab[3 * i + 1] = static_cast<float>(lab.a);
      map.lab[3 * i + 2] = static_cast<float>(lab.b);
    }
  });
  return map;
}

}  // namespace mamelon
