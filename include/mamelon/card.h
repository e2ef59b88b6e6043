#pragma once
/// @file
/// The reference card: its definition, and its fit in a photo.

#include <array>
#include <cstddef>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "mamelon/description.h"
#include "mamelon/image.h"
#include "mamelon/reading.h"

namespace mamelon {

/// A place on the card, from its upper left corner.
struct PointMm {
  double x = 0;
  double y = 0;
};
template <>
struct Fields<PointMm> {
  static constexpr const char* name = "PointMm";
  static constexpr bool plain = true;
  static constexpr auto all() {
    return FieldList{needed("x", &PointMm::x, "to the right in mm"),
                     needed("y", &PointMm::y, "downwards in mm")};
  }
};
/// A place in a photo, from its upper left corner.
struct PointPx {
  double x = 0;
  double y = 0;
};
template <>
struct Fields<PointPx> {
  static constexpr const char* name = "PointPx";
  static constexpr bool plain = true;
  static constexpr auto all() {
    return FieldList{needed("x", &PointPx::x, "to the right in pixels"),
                     needed("y", &PointPx::y, "downwards in pixels")};
  }
};

/// An upright box in a photo.
struct BoxPx {
  double x = 0;
  double y = 0;
  double width = 0;
  double height = 0;
};
template <>
struct Fields<BoxPx> {
  static constexpr const char* name = "BoxPx";
  static constexpr bool plain = true;
  static constexpr auto all() {
    return FieldList{needed("x", &BoxPx::x, "left edge in pixels"),
                     needed("y", &BoxPx::y, "upper edge in pixels"),
                     needed("width", &BoxPx::width, "in pixels"),
                     needed("height", &BoxPx::height, "in pixels")};
  }
};

/// One patch of known colour; position of its upper left corner and size on the card.
struct Patch {
  std::string name;
  double x_mm = 0;
  double y_mm = 0;
  double width_mm = 0;
  double height_mm = 0;
  bool neutral = false;
  std::optional<Lab> lab;
  std::optional<Reflectance> reflectance;
};
template <>
struct Fields<Patch> {
  static constexpr const char* name = "Patch";
  static constexpr auto all() {
    return FieldList{
        needed("name", &Patch::name, "unique on the card").items(1, 200),
        needed("x_mm", &Patch::x_mm, "left edge on the card").in("mm").range(0, 1000),
        needed("y_mm", &Patch::y_mm, "upper edge on the card").in("mm").range(0, 1000),
        needed("width_mm", &Patch::width_mm, "to the right").in("mm").range(0.1, 1000),
        needed("height_mm", &Patch::height_mm, "downwards").in("mm").range(0.1, 1000),
        field("neutral", &Patch::neutral, "True for a grey of the neutral ramp"),
        field("lab", &Patch::lab, "colour under the card's viewing").strict(),
        field("reflectance", &Patch::reflectance, "preferred over `lab` where both are given")
            .range(0, 2)};
  }
};

/// A square fiducial of OpenCV's 4×4 dictionary of 50.
struct Fiducial {
  int id = 0;
  double x_mm = 0;
  double y_mm = 0;
  double size_mm = 0;
};
template <>
struct Fields<Fiducial> {
  static constexpr const char* name = "Fiducial";
  static constexpr auto all() {
    return FieldList{
        needed("id", &Fiducial::id, "in the 4×4 dictionary of 50").range(0, 49),
        needed("x_mm", &Fiducial::x_mm, "left edge on the card").in("mm").range(0, 1000),
        needed("y_mm", &Fiducial::y_mm, "upper edge on the card").in("mm").range(0, 1000),
        needed("size_mm", &Fiducial::size_mm, "side").in("mm").range(0.5, 1000)};
  }
};

/// A rectangle of bare white base (or a white bar beside the tooth) for the light field.
struct WhiteArea {
  double x_mm = 0;
  double y_mm = 0;
  double width_mm = 0;
  double height_mm = 0;
};
template <>
struct Fields<WhiteArea> {
  static constexpr const char* name = "WhiteArea";
  static constexpr auto all() {
    return FieldList{
        needed("x_mm", &WhiteArea::x_mm, "left edge on the card").in("mm").range(0, 1000),
        needed("y_mm", &WhiteArea::y_mm, "upper edge on the card").in("mm").range(0, 1000),
        needed("width_mm", &WhiteArea::width_mm, "to the right").in("mm").range(0.1, 1000),
        needed("height_mm", &WhiteArea::height_mm, "downwards").in("mm").range(0.1, 1000)};
  }
};

/// ΔE00 of surfaces of one kind read by a card under one class of light.
struct DesignedError {
  std::string light;
  double de00_median = 0;
  double de00_p95 = 0;
  SurfaceKind kind = SurfaceKind::tooth;
};
template <>
struct Fields<DesignedError> {
  static constexpr const char* name = "DesignedError";
  static constexpr auto all() {
    return FieldList{
        needed("light", &DesignedError::light,
               "daylight, cool LED, warm LED, tungsten, lines (fluorescent tubes, RGB LEDs), or "
               "all but lines")
            .items(1, 200),
        needed("de00_median", &DesignedError::de00_median, "median CIEDE2000 of simulated surfaces")
            .range(0, 100),
        needed("de00_p95", &DesignedError::de00_p95, "its 95 % point").range(0, 100),
        field("kind", &DesignedError::kind, "of the surfaces").since(2).quiet()};
  }
};

/// How exact the response estimate can be with a card, by simulation: see `design_card`.
struct CardDesign {
  std::vector<DesignedError> errors;
  /// Squared ΔE00 over the squares of the stated U95, 95 % point: what intervals are built on.
  double variance_factor = 1;
};
template <>
struct Fields<CardDesign> {
  static constexpr const char* name = "CardDesign";
  static constexpr auto all() {
    return FieldList{needed("errors", &CardDesign::errors,
                            "by kind of surface, teeth first; of each kind one a class of light")
                         .items(1, 100),
                     needed("variance_factor", &CardDesign::variance_factor,
                            "squared ΔE00 over the squares of the stated U95, 95 % point")
                         .range(0.01, 100)};
  }
};

/// A reference card: patches of known colour, fiducials at its corners, white areas.
struct Card {
  std::string name;
  double width_mm = 0;
  double height_mm = 0;
  std::array<Fiducial, 4> fiducials;
  std::vector<Patch> patches;
  std::vector<WhiteArea> white_areas;
  std::optional<Reflectance> white_reflectance;
  std::optional<Lab> white_lab;
  Viewing viewing;
  Provenance provenance;
  std::optional<CardDesign> design = std::nullopt;
};
template <>
struct Fields<Card> {
  static constexpr const char* name = "Card";
  static constexpr const char* format = "mamelon-card";
  static constexpr const char* about =
      "Patches of known colour, measured from the upper left corner of a card with four fiducials";
  static constexpr std::array constants{Constant{"dictionary", "4x4_50"}};
  static Card blank() {
    return {.name = {},
            .width_mm = 0,
            .height_mm = 0,
            .fiducials = {},
            .patches = {},
            .white_areas = {},
            .white_reflectance = {},
            .white_lab = {},
            .viewing = mamelon::blank<Viewing>(),
            .provenance = {}};
  }
  static constexpr auto all() {
    return FieldList{
        needed("name", &Card::name, "of the card").items(1, 200),
        needed("width_mm", &Card::width_mm, "of the whole card").in("mm").range(1, 1000),
        needed("height_mm", &Card::height_mm, "of the whole card").in("mm").range(1, 1000),
        needed("fiducials", &Card::fiducials,
               "four: upper left, upper right, lower right, lower left"),
        needed("patches", &Card::patches, "of known colour").items(1, 2000).unique(),
        needed("viewing", &Card::viewing, "of every Lab on the card"),
        field("white_areas", &Card::white_areas, "of bare white base, for the light field")
            .key("white.areas")
            .items(0, 1000)
            .quiet(),
        field("white_reflectance", &Card::white_reflectance, "of the white base")
            .key("white.reflectance")
            .range(0, 2),
        field("white_lab", &Card::white_lab, "of the white base").key("white.lab").strict(),
        field("provenance", &Card::provenance, "how it was made").hidden(),
        field("design", &Card::design, "how exact it can be: see `design_card`").since(1)};
  }
  static void relate(const Card& card, const std::string& where);
};

/// Throws ArgumentError for a card that cannot be true: a patch without a colour; a reflectance
/// above 1.02 (measurements of white reach a little above 1) or of no more than 0.001 throughout; a
/// patch or white whose Lab and reflectance differ by more than ΔE00 1 under the card's viewing, as
/// a shifted spectrum or another viewing makes them; a white base darker than L* 80.
void check_card(const Card& card, const std::string& where);

/// Reference colour of a patch under `viewing`: of its reflectance where it has one. Throws
/// ArgumentError when the patch has a Lab only and `viewing` is not the card's.
[[nodiscard]] Lab patch_lab(const Card& card, const Patch& patch, const Viewing& viewing);

/// What became of one patch.
struct PatchFit {
  std::string name;
  bool used = false;
  std::string reason;
  std::size_t pixels = 0;
  Vec3 rgb{};
  Mat3 rgb_cov{};
  double clipped_fraction = 0;
  Lab reference{};
  Lab fitted{};
  double de00 = 0;
  double loo_de00 = 0;
};
template <>
struct Fields<PatchFit> {
  static constexpr const char* name = "PatchFit";
  static constexpr auto all() {
    return FieldList{
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

/// How camera RGB became CIELAB.
enum class CorrectionMethod { response_estimate, matrix, root_polynomial, grey, tabs };
template <>
struct Words<CorrectionMethod> {
  static constexpr const char* name = "CorrectionMethod";
  static constexpr auto words =
      words_of("response_estimate", "matrix", "root_polynomial", "grey", "tabs");
};

/// The mean light of a surface in the photo.
struct Signal {
  Vec3 rgb{};
  Mat3 rgb_cov{};
  PointPx at;
  SurfaceKind kind = SurfaceKind::tooth;
};
template <>
struct Fields<Signal> {
  static constexpr const char* name = "Signal";
  static constexpr auto all() {
    return FieldList{needed("rgb", &Signal::rgb, "linear, 0–1 of full scale"),
                     needed("at", &Signal::at, "around where in the photo"),
                     field("rgb_cov", &Signal::rgb_cov, "3×3 covariance of the mean"),
                     field("kind", &Signal::kind, "what the surface is made of")};
  }
};

/// The fitted mapping from linear camera RGB at a place in the photo to CIELAB.
class Correction {
 public:
  virtual ~Correction() = default;
  /// CIELAB with covariance (all of it shared: it is the model's) of a signal; its own covariance
  /// goes to the random part.
  [[nodiscard]] virtual Measured<Lab> lab(const Signal& signal) const = 0;
  /// The same of the mean colour `rgb` (0–1) of a tooth found around `at`.
  [[nodiscard]] Measured<Lab> lab(const Vec3& rgb, const Mat3& rgb_cov, PointPx at) const {
    return lab(Signal{rgb, rgb_cov, at});
  }
  /// Covariance between the shared errors in CIELAB of two signals.
  [[nodiscard]] virtual Mat3 common(const Signal& one, const Signal& other) const = 0;
  /// How it was fitted.
  [[nodiscard]] virtual CorrectionMethod method() const = 0;
  /// Light at a place over the light at the card's centre, and the standard deviation of its
  /// natural logarithm.
  [[nodiscard]] virtual double light(PointPx at) const = 0;
  /// Standard deviation of the light's natural logarithm there.
  [[nodiscard]] virtual double light_log_sd(PointPx at) const = 0;
};

struct KeptFit;

/// A card found in a photo, with the correction fitted to its patches.
struct CardFit {
  std::array<double, 9> mm_to_px{};   ///< row-major homography, card mm to pixels
  double card_width_mm = 0;           ///< size of the card
  double card_height_mm = 0;          ///< of the card
  std::vector<WhiteArea> card_parts;  ///< fiducials, patches and white areas: no tooth is there
  double reprojection_rms_px = 0;     ///< of the fiducials' corners
  double edge_blur_mm = 0;            ///< width of the fiducials' edges; 0: not known
  std::vector<PatchFit> patches;      ///< how each patch was met
  std::shared_ptr<const Correction> correction;  ///< from camera RGB to CIELAB
  Viewing viewing;                               ///< of that CIELAB
  double loo_de00_median = 0;                    ///< of the patches' ΔE00, each left out in turn
  double loo_de00_max = 0;                       ///< the largest of them
  double loo_de00_near = 0;  ///< root mean square, patches near tooth colours weighing most
  std::vector<std::string> warnings;  ///< what to know before using it
  Provenance provenance;              ///< how it was made
  std::string photo_digest = {};      ///< of the photo that it belongs to: see `check_belongs`
  std::shared_ptr<const KeptFit> made_from = {};  ///< by a card alone: see `keep`
  bool later = false;  ///< by a kept fit: no card stands in the photo, see `fit_later`
};

/// Where a place on the card's plane lies in the photo.
[[nodiscard]] PointPx to_px(const CardFit& fit, PointMm at);

/// Identifies a photo by how it was made or, for one made from an array, by its pixels.
[[nodiscard]] std::string photo_digest(const Photo& photo);
/// Throws ArgumentError where `fit` is of another photo than `photo`; `what` names the step.
void check_belongs(const Photo& photo, const CardFit& fit, const std::string& what);

/// The mean light of a box in the photo, its clipped and odd pixels left out. Throws ArgumentError
/// for a box outside the photo and CaptureError where too little of it can be used.
[[nodiscard]] Signal box_signal(const Photo& photo, const BoxPx& box, SurfaceKind kind);

/// How two surfaces in one photo differ in CIELAB, first less second. What camera, light and card
/// put both off by cancels; the metamerism of their materials does not, so that the interval is
/// narrower than that of the two readings, but never nothing.
struct LabDifference {
  Lab one;
  Lab other;
  Vec3 apart{};
  Mat3 covariance{};
  double de00 = 0;
  double de00_u95 = 0;
};
template <>
struct Fields<LabDifference> {
  static constexpr const char* name = "LabDifference";
  static constexpr auto all() {
    return FieldList{needed("one", &LabDifference::one, "the first colour"),
                     needed("other", &LabDifference::other, "the second"),
                     field("apart", &LabDifference::apart, "ΔL*, Δa*, Δb*, first less second"),
                     field("covariance", &LabDifference::covariance, "3×3, of `apart`"),
                     field("de00", &LabDifference::de00, "CIEDE2000 of the two"),
                     field("de00_u95", &LabDifference::de00_u95,
                           "95 % point of how far the true difference lies from `apart`")};
  }
};
/// Throws ArgumentError where `fit` holds no correction.
[[nodiscard]] LabDifference difference(const CardFit& fit, const Signal& one, const Signal& other);

/// A surface of known colour in the photo: a tab of the user's own set beside the tooth.
struct KnownSurface {
  std::string name;
  BoxPx box;
  std::optional<Lab> lab;
  std::optional<Reflectance> reflectance;
};
template <>
struct Fields<KnownSurface> {
  static constexpr const char* name = "KnownSurface";
  static constexpr auto all() {
    return FieldList{needed("name", &KnownSurface::name, "of the surface"),
                     needed("box", &KnownSurface::box, "within the surface, in pixels"),
                     field("lab", &KnownSurface::lab, "colour under the fit's viewing"),
                     field("reflectance", &KnownSurface::reflectance,
                           "preferred over `lab` where both are given")};
  }
};

/// How a card is fitted.
struct CardFitOptions {
  std::optional<CorrectionMethod> method;  ///< none: the best the card and the photo allow
  /// Card corners in pixels (upper left, upper right, lower right, lower left) instead of
  /// fiducials.
  std::optional<std::array<PointPx, 4>> corners_px = {};
  std::vector<std::string> exclude = {};  ///< names of patches to leave out
  /// Tabs of the user's own, measured, that stand in the same photo: what the card's correction
  /// leaves at them is taken off near their colours, for tabs and restorations.
  std::vector<KnownSurface> surfaces = {};
  /// A photo of a blank white field by the same camera, lens and light, of the same size: it tells
  /// how uneven the light is. None: the card's white tells it alone.
  std::shared_ptr<const Photo> blank_white = {};
};

/// Finds the card by its fiducials, reads its patches, corrects uneven light and fits the
/// correction with leave-one-out cross-validation. Throws CaptureError when the card is missing,
/// cut off, mirrored, does not agree with its definition, or too few patches can be used.
[[nodiscard]] CardFit fit_card(const Photo& photo, const Card& card, const Viewing& viewing,
                               const CardFitOptions& options = {});

/// Simulates the response estimate with this card before the measured cameras of the prior, each
/// left out of it in turn, and its classes of light, and compares what teeth are read as with what
/// they are. Deterministic; takes about a second. Throws ArgumentError unless every patch has a
/// reflectance.
[[nodiscard]] CardDesign design_card(const Card& card, const Viewing& viewing);

/// A patch that would let a card tell more.
struct SuggestedPatch {
  std::string made_of;
  Lab lab{};
  Reflectance reflectance{};
  double error_before = 0;
  double error_after = 0;
};
template <>
struct Fields<SuggestedPatch> {
  static constexpr const char* name = "SuggestedPatch";
  static constexpr auto all() {
    using T = SuggestedPatch;
    return FieldList{
        needed("made_of", &T::made_of, "what absorbs in it, and how much"),
        needed("lab", &T::lab, "its colour"),
        needed("reflectance", &T::reflectance, "at 400–700 nm"),
        field("error_before", &T::error_before,
              "root mean square CIEDE2000 over kinds and classes of light without it and those "
              "after it"),
        field("error_after", &T::error_after, "the same with it")};
  }
};

/// Which patches a card gains most by: `count` (1–10) of them one after the other, each the one of
/// the candidates that leaves the least mean square ΔE00 over teeth, restorations, tabs and floors
/// under every class of light, lines included, before cameras that the prior has not seen. The
/// candidates are white paint with one pigment that absorbs up to an edge or in a band, weak or
/// strong, and mixtures with black; by two fluxes (Kubelka and Munk 1931). Deterministic; takes
/// some seconds a patch. Throws as `design_card`, and ArgumentError for a count out of range.
[[nodiscard]] std::vector<SuggestedPatch> suggest_patches(const Card& card, const Viewing& viewing,
                                                          std::size_t count);

/// How measured surfaces stand in for a card.
struct SurfaceFitOptions {
  /// Pixels of the photo for one millimetre; none: the boxes are taken to be drawn around the
  /// middle half of tabs 8.5 mm wide (common practice).
  std::optional<double> px_per_mm;
};

/// The correction without a card: with spectra of six or more surfaces the response estimate, else
/// the average camera, scaled channel by channel to the surfaces. Right near their colours; the
/// light is taken to be even, and the interval says what that may cost. Throws ArgumentError for
/// surfaces without a colour or boxes outside the photo and CaptureError when none can be used or
/// they contradict each other.
[[nodiscard]] CardFit fit_surfaces(const Photo& photo, const std::vector<KnownSurface>& surfaces,
                                   const Viewing& viewing, const SurfaceFitOptions& options = {});

}  // namespace mamelon
