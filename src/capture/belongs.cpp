#include "capture/belongs.h"

#include "mamelon/error.h"

namespace mamelon {
namespace {

void check_same(const Photo& photo, const std::string& digest, const std::string& found,
                const std::string& what) {
  // Values made by hand name no photo.
  if (digest.empty() || digest == photo_digest(photo)) return;
  throw ArgumentError(what + ": " + found +
                      " of another photo; make it anew for this one, or read later photos of one "
                      "session by a fit that was saved for them");
}

}  // namespace

std::string photo_digest(const Photo& photo) {
  if (!photo.provenance.digest.empty()) return photo.provenance.digest;
  // Every 21st pixel of every row is enough to tell photos apart.
  std::string record = std::to_string(photo.width) + "x" + std::to_string(photo.height);
  for (std::size_t y = 0; y < photo.height; ++y) {
    for (std::size_t x = y % 21; x < photo.width; x += 21) {
      for (const std::uint16_t value : photo.pixel(x, y)) {
        record.push_back(static_cast<char>(value & 0xff));
        record.push_back(static_cast<char>(value >> 8U));
      }
    }
  }
  return std::string(detail::of_pixels) + sha256_hex(std::string_view(record));
}

void check_belongs(const Photo& photo, const CardFit& fit, const std::string& what) {
  check_same(photo, fit.photo_digest, "the card fit is", what);
}

namespace detail {

void check_zones_belong(const Photo& photo, const Zones& zones, const std::string& what) {
  check_same(photo, zones.photo_digest, "the zones are", what);
}

void check_file_belongs(std::span<const std::byte> file, const CardFit& fit,
                        const std::string& what) {
  if (fit.photo_digest.empty() || fit.photo_digest.starts_with(of_pixels)) return;
  const std::string digest = sha256_hex(file);
  for (const bool rendering : {false, true}) {
    if (fit.photo_digest == read_photo_provenance(digest, {.camera_rendering = rendering}).digest) {
      return;
    }
  }
  throw ArgumentError(what + ": the card fit is of another photo; give the file that was fitted");
}

std::string kind_setting(SurfaceKind kind) {
  return ";kind=" + std::string(to_string(kind));
}

}  // namespace detail
}  // namespace mamelon
