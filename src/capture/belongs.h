#pragma once
// Whether what was found in a photo is used with that photo, and what a reading was told.

#include <cstddef>
#include <span>
#include <string>
#include <string_view>

#include "mamelon/zones.h"

namespace mamelon::detail {

// Throws ArgumentError where `zones` are of another photo; `what` names the step.
void check_zones_belong(const Photo& photo, const Zones& zones, const std::string& what);

// The same of a photo's file. A fit to a photo made from an array belongs to any.
void check_file_belongs(std::span<const std::byte> file, const CardFit& fit,
                        const std::string& what);

// What the digest of a photo made from an array begins with.
inline constexpr std::string_view of_pixels = "pixels ";

// Of a photo that was read from a file of this digest.
inline Provenance read_photo_provenance(const std::string& digest, const PhotoOptions& options) {
  std::string settings = options.camera_rendering ? "camera_rendering=1" : "camera_rendering=0";
  if (options.mirrored) settings += ";mirrored=1";
  return make_provenance("read_photo", settings, {digest});
}

// The kind of surface as a part of a provenance's settings.
std::string kind_setting(SurfaceKind kind);

}  // namespace mamelon::detail
