#include "mamelon/region.h"

#include <cmath>

#include "mamelon/error.h"

#include "capture/later.h"
#include "capture/zone_sums.h"
#include "colour/vectors.h"

namespace mamelon {

Reading read_region(const Photo& photo, const CardFit& fit, const Mask& region, SurfaceKind kind,
                    const std::string& label) {
  if (!fit.correction) throw ArgumentError("the card fit holds no correction");
  check_belongs(photo, fit, "reading a region");
  detail::check_mask(photo, region);
  Mask read = region;
  std::size_t clipped = 0;
  std::size_t all = 0;
  for (std::size_t i = 0; i < read.inside.size(); ++i) {
    if (read.inside[i] == 0) continue;
    ++all;
    if (!photo.is_clipped(photo.pixel(read.x + i % read.width, read.y + i / read.width))) continue;
    read.inside[i] = 0;
    ++clipped;
  }
  if (all == 0) throw ArgumentError("the region of the " + label + " is empty");
  if (clipped == all) {
    throw CaptureError("all of the " + label + " is over-exposed; expose less");
  }
  const detail::ZoneSums sums = detail::sum_zone(photo, read);
  Reading reading{
      .label = label,
      .zone = {},
      .lab = fit.correction->lab(
          Signal{detail::to_vec3(sums.mean), detail::to_mat3(sums.mean_cov), sums.centre, kind}),
      .reflectance = std::nullopt,
      .viewing = fit.viewing,
      .count = sums.count,
      .warnings = {},
      .provenance =
          make_provenance("read_region",
                          std::string(to_string(kind)) + ";" + std::to_string(region.x) + "," +
                              std::to_string(region.y) + "," + std::to_string(region.width) + "," +
                              std::to_string(region.height) + ":" +
                              sha256_hex(std::as_bytes(std::span(region.inside))),
                          {photo.provenance.digest, fit.provenance.digest}),
      .kind = kind};
  detail::warn_of_unlikely_colour(fit, reading);
  if (2 * clipped > all) {
    reading.warnings.push_back("more than half of the " + label + " is over-exposed");
  }
  return reading;
}

Reading read_region(const Photo& photo, const CardFit& fit, const BoxPx& region, SurfaceKind kind,
                    const std::string& label) {
  const auto edge = [](double at) { return static_cast<std::size_t>(std::floor(at + 0.5)); };
  const bool inside = region.x >= 0 && region.y >= 0 && region.width > 0 && region.height > 0 &&
                      region.x + region.width <= static_cast<double>(photo.width) &&
                      region.y + region.height <= static_cast<double>(photo.height);
  if (!inside) {
    throw ArgumentError("the box of the " + label + " is empty or reaches beyond the photo of " +
                        std::to_string(photo.width) + "×" + std::to_string(photo.height) +
                        " pixels");
  }
  Mask mask{.x = std::min(edge(region.x), photo.width - 1),
            .y = std::min(edge(region.y), photo.height - 1),
            .width = 0,
            .height = 0,
            .inside = {}};
  // A box smaller than a pixel is the pixel that it lies in.
  mask.width = std::max<std::size_t>(1, edge(region.x + region.width) - mask.x);
  mask.height = std::max<std::size_t>(1, edge(region.y + region.height) - mask.y);
  mask.inside.assign(mask.width * mask.height, 1);
  return read_region(photo, fit, mask, kind, label);
}

}  // namespace mamelon
