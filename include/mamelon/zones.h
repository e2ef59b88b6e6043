#pragma once
/// @file
/// The tooth in the photo, its thirds, and their colours.

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "mamelon/card.h"
#include "mamelon/description.h"

namespace mamelon {

/// A binary mask over a rectangle of the photo.
struct Mask {
  std::size_t x = 0;                 ///< of its upper left corner in the photo
  std::size_t y = 0;                 ///< likewise
  std::size_t width = 0;             ///< in pixels
  std::size_t height = 0;            ///< in pixels
  std::vector<std::uint8_t> inside;  ///< row-major, 1 inside
};

/// Where the tooth is. Give one of point, box, mask and rim; with none the largest tooth-like
/// region nearest the centre is taken, and a warning says so. Points inside and outside may go with
/// any of them but a mask; the first point inside stands for a missing point.
struct ToothHint {
  std::optional<PointPx> point;       ///< on the tooth
  std::optional<BoxPx> box;           ///< around it
  std::optional<Mask> mask;           ///< in place of the outline
  std::vector<PointPx> rim = {};      ///< drawn roughly, 3 corners or more; found beside it
  std::vector<PointPx> inside = {};   ///< places that belong to the tooth
  std::vector<PointPx> outside = {};  ///< places that do not
};

/// Whether a tooth stands in front or at the side, which tells how it tapers.
enum class ToothKind { anterior, posterior };
template <>
struct Words<ToothKind> {
  static constexpr const char* name = "ToothKind";
  static constexpr auto words = words_of("anterior", "posterior");
};

/// A named part of a tooth.
struct Zone {
  std::string name;
  Mask mask;
  Vec3 rim_shift{};
};
template <>
struct Fields<Zone> {
  static constexpr const char* name = "Zone";
  static constexpr auto all() {
    return FieldList{
        needed("name", &Zone::name,
               "cervical, middle, incisal (anterior) or occlusal (posterior); from above cusps and "
               "fissures"),
        needed("mask", &Zone::mask, "glare, clipped pixels and the margin of the outline left out"),
        field("rim_shift", &Zone::rim_shift,
              "change of L*, a*, b* when the rim moves outwards by 0.3 mm")};
  }
};

/// A tooth found in a photo: its outline, its glare and its parts.
struct Zones {
  Mask tooth;
  Mask glare;
  std::vector<Zone> zones;
  PointPx cervical_end;
  PointPx incisal_end;
  double glare_fraction = 0;
  double clipped_fraction = 0;
  /// Of the tooth's pixels: dark and brown, metal, white patches, other materials. `warnings` name
  /// them.
  double unsound_fraction = 0;
  /// Chance that the outline is the tooth's (overlap of 0.8 or more, middle third within 1 ΔE00),
  /// 0–1; 1 where a mask was given.
  double confidence = 1;
  std::vector<std::string> warnings;
  Provenance provenance;
  std::string photo_digest = {};  ///< of the photo that they belong to: see `check_belongs`
};
template <>
struct Fields<Zones> {
  static constexpr const char* name = "Zones";
  static constexpr auto all() {
    return FieldList{
        needed("tooth", &Zones::tooth, "mask of the whole tooth"),
        needed("glare", &Zones::glare, "mask of the glare on it"),
        needed("zones", &Zones::zones, "the thirds along its long axis"),
        field("cervical_end", &Zones::cervical_end, "end of the long axis at the gingiva"),
        field("incisal_end", &Zones::incisal_end, "the other end of the long axis"),
        field("glare_fraction", &Zones::glare_fraction, "of the tooth's pixels"),
        field("clipped_fraction", &Zones::clipped_fraction, "of the tooth's pixels"),
        field("unsound_fraction", &Zones::unsound_fraction,
              "of the tooth's pixels: what is not sound tooth, named in warnings"),
        field("confidence", &Zones::confidence,
              "chance that the outline is the tooth's, 0–1; 1 for a mask"),
        field("warnings", &Zones::warnings, "what to know before using it"),
        field("provenance", &Zones::provenance, "how it was made"),
        field("photo_digest", &Zones::photo_digest, "of the photo that they belong to")};
  }
};

/// How a tooth is outlined and cut.
struct ZoneOptions {
  ToothKind kind = ToothKind::anterior;  ///< how it tapers
  /// Where the cervical end points in the photo, counter-clockwise from its right-hand side (90:
  /// up); none: told from the gingiva beside it.
  std::optional<double> cervical_direction_deg;
  double margin_mm = 0.4;  ///< left out along the rim
  /// Seen from above (posterior teeth): cusps and fissures in place of thirds; what is not sound
  /// tooth is left out of both.
  bool from_above = false;
  /// Taken through crossed polarisers: what is bright is no light of the surface.
  bool polarised = false;
};

/// Outlines the tooth and cuts it into thirds along its long axis, or into cusps and fissures. A
/// zone of which nothing can be measured is left out from above. Throws ArgumentError for a hint
/// outside the photo or an anterior tooth from above, and CaptureError when no tooth-like region is
/// there or the confidence is below `least_confidence`.
[[nodiscard]] Zones find_zones(const Photo& photo, const CardFit& fit, const ToothHint& hint,
                               const ZoneOptions& options = {});

/// Outlines that are less certain than this are refused.
constexpr double least_confidence = 0.15;
/// Whether an outline is so uncertain that it is to be looked at before its reading is believed.
[[nodiscard]] constexpr bool is_doubtful(double confidence) {
  return confidence < 0.85;
}

/// A tooth in view, before any is chosen.
struct ToothInView {
  PointPx at;  ///< a place well within it
  Mask tooth;
  double confidence = 0;  ///< as in `Zones`
};
template <>
struct Fields<ToothInView> {
  static constexpr const char* name = "ToothInView";
  static constexpr auto all() {
    return FieldList{
        needed("at", &ToothInView::at, "a place well within the tooth"),
        needed("tooth", &ToothInView::tooth, "mask of the whole tooth"),
        field("confidence", &ToothInView::confidence, "chance that the outline is right, 0–1")};
  }
};

/// All teeth in view from the photo's upper left to its lower right, each with its outline; no two
/// share a pixel. An empty list when there is none.
[[nodiscard]] std::vector<ToothInView> find_teeth(const Photo& photo, const CardFit& fit);

/// Mean CIELAB of each zone with covariance, in the zones' order; `kind` is what the surface is
/// made of. Throws ArgumentError for a fit or zones of another photo.
[[nodiscard]] std::vector<Reading> read_zones(const Photo& photo, const CardFit& fit,
                                              const Zones& zones, const std::string& label,
                                              SurfaceKind kind = SurfaceKind::tooth);

/// The mean light of each zone, in the zones' order, for `difference`. Throws as `read_zones`.
[[nodiscard]] std::vector<Signal> zone_signals(const Photo& photo, const Zones& zones,
                                               SurfaceKind kind = SurfaceKind::tooth);

/// The reading of a box of a surface, such as a tab beside the tooth. Throws as `box_signal` and
/// `check_belongs` do.
[[nodiscard]] Reading read_box(const Photo& photo, const CardFit& fit, const BoxPx& box,
                               SurfaceKind kind, const std::string& label);

/// Mean CIELAB of the cells of a grid over the tooth: `rows` along its long axis from the cervical
/// end, `columns` across it from the photo's left (for a tooth that stands upright), 1–50 each. The
/// zone of a cell is named for instance `r1c2`; cells of which little can be measured are left out.
/// Throws ArgumentError for a grid outside that range and CaptureError when no cell is left.
[[nodiscard]] std::vector<Reading> read_grid(const Photo& photo, const CardFit& fit,
                                             const Zones& zones, std::size_t rows,
                                             std::size_t columns, const std::string& label,
                                             SurfaceKind kind = SurfaceKind::tooth);

/// CIELAB of a part of the photo, pixel by pixel.
struct LabMap {
  std::size_t x = 0;       ///< of its upper left corner in the photo
  std::size_t y = 0;       ///< likewise
  std::size_t width = 0;   ///< in pixels
  std::size_t height = 0;  ///< in pixels
  std::vector<float> lab;  ///< L*, a*, b* row-major; NaN outside the tooth, in glare, where clipped
};
/// The tooth of `zones` pixel by pixel, within 0.05 of what `read_zones` would give the pixel.
[[nodiscard]] LabMap map_lab(const Photo& photo, const CardFit& fit, const Zones& zones);

}  // namespace mamelon
