#pragma once
/// @file
/// What a card's fit was made from, kept for later photos of the same session, camera and light
/// that show no card.

#include <array>
#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "mamelon/card.h"
#include "mamelon/description.h"
#include "mamelon/image.h"
#include "mamelon/viewing.h"

namespace mamelon {

/// A patch of the card as the photo showed it.
struct KeptPatch {
  std::string name;
  PointPx at;
  std::size_t pixels = 0;
  Vec3 rgb{};
  Mat3 rgb_cov{};
  double clipped_fraction = 0;
  std::string left_out;
};
template <>
struct Fields<KeptPatch> {
  static constexpr const char* name = "KeptPatch";
  static constexpr auto all() {
    using T = KeptPatch;
    return FieldList{
        needed("name", &T::name, "as on the card").items(1, 200),
        needed("at", &T::at, "its middle in the photo"),
        needed("pixels", &T::pixels, "behind the mean"),
        needed("rgb", &T::rgb, "trimmed mean in linear light, of full scale").range(0, 1),
        needed("rgb_cov", &T::rgb_cov, "3×3 covariance of that mean"),
        field("clipped_fraction", &T::clipped_fraction, "of its pixels").range(0, 1),
        field("left_out", &T::left_out, "why it was not used; empty when it was").items(0, 200)};
  }
};

/// A white place in a photo.
struct KeptWhite {
  PointPx at;
  Vec3 rgb{};
  Mat3 rgb_cov{};
};
template <>
struct Fields<KeptWhite> {
  static constexpr const char* name = "KeptWhite";
  static constexpr auto all() {
    using T = KeptWhite;
    return FieldList{
        needed("at", &T::at, "its middle in the photo"),
        needed("rgb", &T::rgb, "trimmed mean in linear light, of full scale").range(0, 1),
        needed("rgb_cov", &T::rgb_cov, "3×3 covariance of that mean")};
  }
};

/// Everything that a fit by a card rests on: the card, and what the photo showed of it. The fit
/// itself is made of it again, to the same bits.
struct KeptFit {
  Card card = blank<Card>();
  std::size_t width_px = 0;
  std::size_t height_px = 0;
  Encoding encoding = Encoding::srgb_assumed;
  std::string profile;
  CameraSettings settings;
  std::array<double, 9> mm_to_px{};
  std::optional<CorrectionMethod> method;
  std::vector<KeptPatch> patches{};
  std::vector<KeptWhite> whites{};
  std::vector<KeptWhite> blank_white{};
  std::string photo;
};
template <>
struct Fields<KeptFit> {
  static constexpr const char* name = "KeptFit";
  static constexpr const char* format = "mamelon-kept-fit";
  static constexpr const char* about =
      "A reference card and what a photo showed of it, for later photos by the same camera and "
      "light";
  static constexpr auto all() {
    using T = KeptFit;
    return FieldList{
        needed("card", &T::card, "that stood in the photo"),
        needed("width_px", &T::width_px, "of the upright photo").range(1, 1e6),
        needed("height_px", &T::height_px, "of the upright photo").range(1, 1e6),
        needed("encoding", &T::encoding, "how the file's numbers relate to light"),
        field("profile", &T::profile, "description of the embedded profile; empty: none")
            .items(0, 1000),
        field("settings", &T::settings, "how the photo was taken, as its file says"),
        needed("mm_to_px", &T::mm_to_px, "row-major homography from the card's mm to pixels"),
        field("method", &T::method,
              "of colour correction; None: the best that card and photo "
              "allow"),
        needed("patches", &T::patches, "of the card, in its order").items(1, 2000).unique(),
        field("whites", &T::whites, "of the card's white base").items(0, 1000),
        field("blank_white", &T::blank_white, "of a photo of a blank white field")
            .items(0, 1000)
            .quiet(),
        field("photo", &T::photo, "digest of the photo").items(0, 200)};
  }
  static void relate(const KeptFit& kept, const std::string& where);
};

/// What `fit` was made from. Throws ArgumentError for a fit without a card, for one to tabs in the
/// same photo, whose errors are that photo's own, and for one to a photo without a card.
[[nodiscard]] KeptFit keep(const CardFit& fit);

/// How much may have changed since the card was photographed, as standard deviations of natural
/// logarithms.
struct LightDrift {
  /// Of all light: lamp, exposure and distance together.
  double light = 0.07;
  /// Of each channel by itself: the lamp's colour.
  double colour = 0.007;
};
template <>
struct Fields<LightDrift> {
  static constexpr const char* name = "LightDrift";
  static constexpr auto all() {
    using T = LightDrift;
    return FieldList{
        field("light", &T::light, "sd of the logarithm of all light").range(0, 1),
        field("colour", &T::colour, "sd of the logarithm of each channel").range(0, 1)};
  }
};

/// How a kept fit is used on a later photo.
struct LaterFitOptions {
  /// None: the defaults of `LightDrift` (a tenth of a stop, and about 50 K at 5600 K: assumptions,
  /// from memory of lamps and shutters), twice as much where a file does not say how it was taken.
  std::optional<LightDrift> drift;
  /// Pixels of the photo for one millimetre at the tooth; none: as in the card's photo.
  std::optional<double> px_per_mm;
  /// Surfaces of known colour in the later photo: what they are missed by is taken off, and the
  /// interval shrinks near their colours.
  std::vector<KnownSurface> surfaces = {};
};

/// The correction of a photo without a card by the fit that was kept of an earlier one. The
/// interval grows by what may have drifted; a shadow that was not there shows in nothing but
/// `surfaces`. Throws CaptureError where the photo does not belong to the fit: another camera,
/// exposure, balance, profile or size, or surfaces that read otherwise than drift explains. Warns
/// where the files do not say.
[[nodiscard]] CardFit fit_later(const Photo& photo, const KeptFit& kept, const Viewing& viewing,
                                const LaterFitOptions& options = {});

}  // namespace mamelon
