#pragma once
// Fields of the value types of the capture layer.

#include "mamelon/card.h"
#include "mamelon/image.h"
#include "mamelon/layout.h"
#include "mamelon/zones.h"

#include "describe_colour.h"

namespace mamelon::python {

template <>
struct Names<Encoding> {
  static constexpr const char* alias = "Encoding";
  static constexpr std::array names{std::pair{Encoding::linear, "linear"},
                                    std::pair{Encoding::profile, "profile"},
                                    std::pair{Encoding::srgb_assumed, "srgb_assumed"},
                                    std::pair{Encoding::camera_rendering, "camera_rendering"}};
};
template <>
struct Names<CorrectionMethod> {
  static constexpr const char* alias = "CorrectionMethod";
  static constexpr std::array names{
      std::pair{CorrectionMethod::response_estimate, "response_estimate"},
      std::pair{CorrectionMethod::matrix, "matrix"},
      std::pair{CorrectionMethod::root_polynomial, "root_polynomial"},
      std::pair{CorrectionMethod::grey, "grey"}, std::pair{CorrectionMethod::tabs, "tabs"}};
};
template <>
struct Names<ToothKind> {
  static constexpr const char* alias = "ToothKind";
  static constexpr std::array names{std::pair{ToothKind::anterior, "anterior"},
                                    std::pair{ToothKind::posterior, "posterior"}};
};

template <>
struct Fields<PointMm> {
  static constexpr const char* name = "PointMm";
  static constexpr bool plain = true;
  static constexpr auto all() {
    return std::tuple{needed("x", &PointMm::x, "to the right in mm"),
                      needed("y", &PointMm::y, "downwards in mm")};
  }
};
template <>
struct Fields<PointPx> {
  static constexpr const char* name = "PointPx";
  static constexpr bool plain = true;
  static constexpr auto all() {
    return std::tuple{needed("x", &PointPx::x, "to the right in pixels"),
                      needed("y", &PointPx::y, "downwards in pixels")};
  }
};
template <>
struct Fields<BoxPx> {
  static constexpr const char* name = "BoxPx";
  static constexpr bool plain = true;
  static constexpr auto all() {
    return std::tuple{needed("x", &BoxPx::x, "left edge in pixels"),
                      needed("y", &BoxPx::y, "upper edge in pixels"),
                      needed("width", &BoxPx::width, "in pixels"),
                      needed("height", &BoxPx::height, "in pixels")};
  }
};
template <>
struct Fields<Patch> {
  static constexpr const char* name = "Patch";
  static constexpr auto all() {
    return std::tuple{
        needed("name", &Patch::name, "unique on the card"),
        needed("x_mm", &Patch::x_mm, "left edge on the card in mm"),
        needed("y_mm", &Patch::y_mm, "upper edge on the card in mm"),
        needed("width_mm", &Patch::width_mm, "in mm"),
        needed("height_mm", &Patch::height_mm, "in mm"),
        field("neutral", &Patch::neutral, "True for a grey of the neutral ramp"),
        field("lab", &Patch::lab, "colour under the card's viewing"),
        field("reflectance", &Patch::reflectance, "preferred over `lab` where both are given")};
  }
};
template <>
struct Fields<Fiducial> {
  static constexpr const char* name = "Fiducial";
  static constexpr auto all() {
    return std::tuple{needed("id", &Fiducial::id, "in the 4×4 dictionary of 50"),
                      needed("x_mm", &Fiducial::x_mm, "left edge on the card in mm"),
                      needed("y_mm", &Fiducial::y_mm, "upper edge on the card in mm"),
                      needed("size_mm", &Fiducial::size_mm, "side in mm")};
  }
};
template <>
struct Fields<WhiteArea> {
  static constexpr const char* name = "WhiteArea";
  static constexpr auto all() {
    return std::tuple{needed("x_mm", &WhiteArea::x_mm, "left edge on the card in mm"),
                      needed("y_mm", &WhiteArea::y_mm, "upper edge on the card in mm"),
                      needed("width_mm", &WhiteArea::width_mm, "in mm"),
                      needed("height_mm", &WhiteArea::height_mm, "in mm")};
  }
};
template <>
struct Fields<DesignedError> {
  static constexpr const char* name = "DesignedError";
  static constexpr auto all() {
    return std::tuple{
        needed("light", &DesignedError::light, "daylight, incandescent, LED or all"),
        needed("de00_median", &DesignedError::de00_median, "median CIEDE2000 of simulated teeth"),
        needed("de00_p95", &DesignedError::de00_p95, "its 95 % point")};
  }
};
template <>
struct Fields<CardDesign> {
  static constexpr const char* name = "CardDesign";
  static constexpr auto all() {
    return std::tuple{needed("errors", &CardDesign::errors, "one a class of light, `all` last"),
                      needed("variance_factor", &CardDesign::variance_factor,
                             "squared ΔE00 over the squares of the stated U95, 95 % point")};
  }
};
template <>
struct Fields<KnownSurface> {
  static constexpr const char* name = "KnownSurface";
  static constexpr auto all() {
    return std::tuple{needed("name", &KnownSurface::name, "of the surface"),
                      needed("box", &KnownSurface::box, "within the surface, in pixels"),
                      field("lab", &KnownSurface::lab, "colour under the fit's viewing"),
                      field("reflectance", &KnownSurface::reflectance,
                            "preferred over `lab` where both are given")};
  }
};
template <>
struct Fields<Signal> {
  static constexpr const char* name = "Signal";
  static constexpr auto all() {
    return std::tuple{needed("rgb", &Signal::rgb, "linear, 0–1 of full scale"),
                      needed("at", &Signal::at, "around where in the photo"),
                      field("rgb_cov", &Signal::rgb_cov, "3×3 covariance of the mean"),
                      field("kind", &Signal::kind, "what the surface is made of")};
  }
};
template <>
struct Fields<LabDifference> {
  static constexpr const char* name = "LabDifference";
  static constexpr auto all() {
    return std::tuple{needed("one", &LabDifference::one, "the first colour"),
                      needed("other", &LabDifference::other, "the second"),
                      field("apart", &LabDifference::apart, "ΔL*, Δa*, Δb*, first less second"),
                      field("covariance", &LabDifference::covariance, "3×3, of `apart`"),
                      field("de00", &LabDifference::de00, "CIEDE2000 of the two"),
                      field("de00_u95", &LabDifference::de00_u95,
                            "95 % point of how far the true difference lies from `apart`")};
  }
};
template <>
struct Fields<Card> {
  static constexpr const char* name = "Card";
  static Card blank() {
    return {.name = {},
            .width_mm = 0,
            .height_mm = 0,
            .fiducials = {},
            .patches = {},
            .white_areas = {},
            .white_reflectance = {},
            .white_lab = {},
            .viewing = Fields<Viewing>::blank(),
            .provenance = {}};
  }
  static constexpr auto all() {
    return std::tuple{
        needed("name", &Card::name, "of the card"),
        needed("width_mm", &Card::width_mm, "in mm"),
        needed("height_mm", &Card::height_mm, "in mm"),
        needed("fiducials", &Card::fiducials,
               "four: upper left, upper right, lower right, lower left"),
        needed("patches", &Card::patches, "of known colour"),
        needed("viewing", &Card::viewing, "of every Lab on the card"),
        field("white_areas", &Card::white_areas, "of bare white base, for the light field"),
        field("white_reflectance", &Card::white_reflectance, "of the white base"),
        field("white_lab", &Card::white_lab, "of the white base"),
        field("provenance", &Card::provenance, "how it was made"),
        field("design", &Card::design, "how exact it can be: see `design_card`")};
  }
};
template <>
struct Fields<CardLayout> {
  static constexpr const char* name = "CardLayout";
  static CardLayout blank() { return {.card = Fields<Card>::blank(), .opening = {}}; }
  static constexpr auto all() {
    return std::tuple{
        needed("card", &CardLayout::card, "fiducials, windows without colours, white areas"),
        field("opening", &CardLayout::opening, "to be cut out; None without bars")};
  }
};
template <>
struct Fields<PatchFit> {
  static constexpr const char* name = "PatchFit";
  static constexpr auto all() {
    return std::tuple{
        needed("name", &PatchFit::name, "of the patch"),
        needed("used", &PatchFit::used, "False when left out of the fit"),
        field("reason", &PatchFit::reason, "why it was left out; empty when used"),
        field("pixels", &PatchFit::pixels, "behind the mean"),
        field("rgb", &PatchFit::rgb, "trimmed mean in linear light, 0–1 of full scale"),
        field("rgb_cov", &PatchFit::rgb_cov, "3×3 covariance of that mean"),
        field("clipped_fraction", &PatchFit::clipped_fraction, "of its pixels"),
        field("reference", &PatchFit::reference, "the patch's stated colour"),
        field("fitted", &PatchFit::fitted, "the colour that the fit gives it"),
        field("de00", &PatchFit::de00, "CIEDE2000 of fitted against reference"),
        field("loo_de00", &PatchFit::loo_de00, "the same with this patch left out of the fit")};
  }
};
template <>
struct Fields<Zone> {
  static constexpr const char* name = "Zone";
  static constexpr auto all() {
    return std::tuple{needed("name", &Zone::name, "cervical, middle, incisal or occlusal"),
                      needed("mask", &Zone::mask, "its pixels, glare and margin left out")};
  }
};
template <>
struct Fields<Zones> {
  static constexpr const char* name = "Zones";
  static constexpr auto all() {
    return std::tuple{
        needed("tooth", &Zones::tooth, "mask of the whole tooth"),
        needed("glare", &Zones::glare, "mask of the glare on it"),
        needed("zones", &Zones::zones, "the thirds along its long axis"),
        field("cervical_end", &Zones::cervical_end, "end of the long axis at the gingiva"),
        field("incisal_end", &Zones::incisal_end, "the other end of the long axis"),
        field("glare_fraction", &Zones::glare_fraction, "of the tooth's pixels"),
        field("clipped_fraction", &Zones::clipped_fraction, "of the tooth's pixels"),
        field("warnings", &Zones::warnings, "what to know before using it"),
        field("provenance", &Zones::provenance, "how it was made"),
        field("photo_digest", &Zones::photo_digest, "of the photo that they belong to")};
  }
};

// A mask is made of an array, so it has no table of fields.
template <>
struct Convert<Mask> {
  static std::string in_type() { return "Mask"; }
  static std::string out_type() { return "Mask"; }
  static py::object to_python(const Mask& value) { return py::cast(std::make_shared<Mask>(value)); }
  static Mask from_python(py::handle object, const std::string& where) {
    if (!py::isinstance<Mask>(object)) wrong_type(where, "a Mask", object);
    return object.cast<const Mask&>();
  }
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
struct Fields<Photo> {
  static constexpr const char* name = "Photo";
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
           a.profile_description == b.profile_description && a.warnings == b.warnings &&
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
           std::to_string(value.bits) + " bit, " + Convert<Encoding>::name(value.encoding) + ")";
  }
};

// A fit with what it was made from: the correction is code, not numbers, so pickling a fit keeps
// the recipe and fits again, which gives the same bits. Either a card or surfaces made it.
struct FittedCard {
  CardFit fit;
  std::shared_ptr<const Photo> photo;
  std::shared_ptr<const Card> card;
  Viewing viewing;
  CardFitOptions options;
  std::vector<KnownSurface> surfaces = {};
  SurfaceFitOptions surface_options = {};
};
template <>
struct Fields<FittedCard> {
  static constexpr const char* name = "CardFit";
};
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
