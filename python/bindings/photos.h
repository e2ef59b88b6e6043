#pragma once
// Values of the capture layer that hold more than a list of fields.

#include <memory>
#include <string>
#include <vector>

#include "mamelon/card.h"
#include "mamelon/image.h"
#include "mamelon/kept_fit.h"
#include "mamelon/zones.h"

#include "values.h"

namespace mamelon {
template <>
struct Fields<Mask> {
  static constexpr const char* name = "Mask";
};
template <>
struct Fields<Photo> {
  static constexpr const char* name = "Photo";
};
}  // namespace mamelon
namespace mamelon::python {

// A mask is made of an array, so it has no table of fields.
template <>
struct Convert<Mask> : ConvertClass<Mask> {
  static bool same(const Mask& a, const Mask& b) {
    return a.x == b.x && a.y == b.y && a.width == b.width && a.height == b.height &&
           a.inside == b.inside;
  }
  static std::size_t hash(const Mask& value) {
    std::size_t seed = value.x * 31 + value.y;
    mix(seed, value.width);
    mix(seed, value.height);
    for (const std::uint8_t inside : value.inside) seed = seed * 131 + inside;
    return seed;
  }
  static std::string repr(const Mask& value) {
    return "Mask(" + std::to_string(value.width) + "×" + std::to_string(value.height) + ")";
  }
};

template <>
struct Convert<Photo> {
  // Of photos of one size, however each keeps its pixels.
  static bool same_light(const Photo& a, const Photo& b) {
    if (a.codes.empty() && b.codes.empty()) return a.rgb == b.rgb;
    for (std::size_t y = 0; y < a.height; ++y) {
      for (std::size_t x = 0; x < a.width; ++x) {
        if (a.pixel(x, y) != b.pixel(x, y)) return false;
      }
    }
    return true;
  }
  static bool same(const Photo& a, const Photo& b) {
    return a.width == b.width && a.height == b.height &&
           std::equal(std::begin(a.clip_level), std::end(a.clip_level), std::begin(b.clip_level)) &&
           a.bits == b.bits && a.encoding == b.encoding &&
           a.profile_description == b.profile_description &&
           Convert<CameraSettings>::same(a.settings, b.settings) && a.warnings == b.warnings &&
           a.provenance == b.provenance && same_light(a, b);
  }
  static std::size_t hash(const Photo& value) {
    std::size_t seed = Convert<Provenance>::hash(value.provenance);
    mix(seed, value.width);
    mix(seed, value.height);
    // Every 21st pixel of every row is enough to tell photos apart.
    for (std::size_t y = 0; y < value.height; ++y) {
      for (std::size_t x = 0; x < value.width; x += 21) seed = seed * 131 + value.pixel(x, y)[1];
    }
    return seed;
  }
  static std::string repr(const Photo& value) {
    return "Photo(" + std::to_string(value.width) + "×" + std::to_string(value.height) + ", " +
           std::to_string(value.bits) + " bit, " + std::string(to_string(value.encoding)) + ")";
  }
};

// A fit with what it was made from: the correction is code, not numbers, so pickling a fit keeps
// the recipe and fits again, which gives the same bits. A card, a kept fit or surfaces made it.
struct FittedCard {
  CardFit fit;
  std::shared_ptr<const Photo> photo;
  std::shared_ptr<const Card> card = {};
  Viewing viewing;
  CardFitOptions options = {};
  std::vector<KnownSurface> surfaces = {};
  SurfaceFitOptions surface_options = {};
  std::shared_ptr<const KeptFit> kept = {};
  LaterFitOptions later_options = {};
};
}  // namespace mamelon::python
namespace mamelon {
template <>
struct Fields<python::FittedCard> {
  static constexpr const char* name = "CardFit";
};
}  // namespace mamelon
namespace mamelon::python {
template <>
struct Convert<FittedCard> {
  static bool same(const FittedCard& a, const FittedCard& b) {
    return a.fit.mm_to_px == b.fit.mm_to_px &&
           Convert<std::vector<PatchFit>>::same(a.fit.patches, b.fit.patches) &&
           a.fit.viewing == b.fit.viewing && a.fit.warnings == b.fit.warnings &&
           a.fit.provenance == b.fit.provenance;
  }
  static std::size_t hash(const FittedCard& value) {
    return Convert<Provenance>::hash(value.fit.provenance);
  }
  static std::string repr(const FittedCard& value) {
    return "CardFit(" + std::to_string(value.fit.patches.size()) +
           " patches, loo_de00_median=" + short_number(value.fit.loo_de00_median) + ")";
  }
};

}  // namespace mamelon::python
