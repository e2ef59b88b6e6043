#pragma once
/// @file
/// The reference card: its definition, and its fit in a photo.

#include <array>
#include <cstddef>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "mamelon/image.h"
#include "mamelon/reading.h"

namespace mamelon {

struct PointMm {
  double x = 0;
  double y = 0;
};
struct PointPx {
  double x = 0;
  double y = 0;
};

struct BoxPx {
  double x = 0;
  double y = 0;
  double width = 0;
  double height = 0;
};

/// One patch of known colour; position of its upper left corner and size on the card.
struct Patch {
  std::string name;
  double x_mm = 0;
  double y_mm = 0;
  double width_mm = 0;
  double height_mm = 0;
  bool neutral = false;
  std::optional<Lab> lab;                  ///< under the card's viewing
  std::optional<Reflectance> reflectance;  ///< preferred over `lab` where both are given
};

/// A square fiducial of OpenCV's 4×4 dictionary of 50.
struct Fiducial {
  int id = 0;
  double x_mm = 0;
  double y_mm = 0;
  double size_mm = 0;
};

/// A rectangle of bare white base (or a white bar beside the tooth) for the light field.
struct WhiteArea {
  double x_mm = 0;
  double y_mm = 0;
  double width_mm = 0;
  double height_mm = 0;
};

/// ΔE00 of teeth read by a card under one class of light.
struct DesignedError {
  std::string light;  ///< daylight, incandescent, LED or all
  double de00_median = 0;
  double de00_p95 = 0;
};

/// How exact the response estimate can be with a card, by simulation: see `design_card`.
struct CardDesign {
  std::vector<DesignedError> errors;  ///< one a class of light, `all` last
  /// Squared ΔE00 over the squares of the stated U95, 95 % point: what intervals are built on.
  double variance_factor = 1;
};

struct Card {
  std::string name;
  double width_mm = 0;
  double height_mm = 0;
  std::array<Fiducial, 4> fiducials;  ///< upper left, upper right, lower right, lower left
  std::vector<Patch> patches;
  std::vector<WhiteArea> white_areas;
  std::optional<Reflectance> white_reflectance;
  std::optional<Lab> white_lab;
  Viewing viewing;  ///< of every Lab on the card
  Provenance provenance;
  std::optional<CardDesign> design = std::nullopt;  ///< none: a factor common to all cards is used
};

/// Throws ArgumentError for a card that cannot be true: a patch without a colour; a reflectance
/// above 1.02 (measurements of white reach a little above 1) or of no more than 0.001 throughout; a
/// patch or white whose Lab and reflectance differ by more than ΔE00 1 under the card's viewing, as
/// a shifted spectrum or another viewing makes them; a white base darker than L* 80.
void check_card(const Card& card);

/// Reference colour of a patch under `viewing`: of its reflectance where it has one. Throws ArgumentError when the patch has a Lab only
/// and `viewing` is not the card's.
[[nodiscard]] Lab patch_lab(const Card& card, const Patch& patch, const Viewing& viewing);

/// What became of one patch.
struct PatchFit {
  std::string name;
  bool used = false;
  std::string reason;  ///< why it was left out; empty when used
  std::size_t pixels = 0;
  Vec3 rgb{};      ///< trimmed mean in linear light, 0–1 of full scale
  Mat3 rgb_cov{};  ///< covariance of that mean
  double clipped_fraction = 0;
  Lab reference{};
  Lab fitted{};
  double de00 = 0;      ///< fitted against reference
  double loo_de00 = 0;  ///< the same with this patch left out of the fit
};

enum class CorrectionMethod { response_estimate, matrix, root_polynomial, grey, tabs };
[[nodiscard]] std::string_view to_string(CorrectionMethod method);

/// The mean light of a surface in the photo.
struct Signal {
  Vec3 rgb{};      ///< linear, 0–1 of full scale
  Mat3 rgb_cov{};  ///< covariance of that mean
  PointPx at;      ///< around where
  SurfaceKind kind = SurfaceKind::tooth;
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
  [[nodiscard]] virtual CorrectionMethod method() const = 0;
  /// Light at a place over the light at the card's centre, and the standard deviation of its
  /// natural logarithm.
  [[nodiscard]] virtual double light(PointPx at) const = 0;
  [[nodiscard]] virtual double light_log_sd(PointPx at) const = 0;
};

struct CardFit {
  std::array<double, 9> mm_to_px{};  ///< row-major homography, card mm to pixels
  double card_width_mm = 0;          ///< size of the card
  double card_height_mm = 0;
  std::vector<WhiteArea> card_parts;  ///< fiducials, patches and white areas: no tooth is there
  double reprojection_rms_px = 0;     ///< of the fiducials' corners
  double edge_blur_mm = 0;            ///< width of the fiducials' edges; 0: not known
  std::vector<PatchFit> patches;
  std::shared_ptr<const Correction> correction;
  Viewing viewing;
  double loo_de00_median = 0;
  double loo_de00_max = 0;
  double loo_de00_near = 0;  ///< root mean square, patches near tooth colours weighing most
  std::vector<std::string> warnings;
  Provenance provenance;
  std::string photo_digest = {};  ///< of the photo that it belongs to: see `check_belongs`
};

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
  Vec3 apart{};        ///< ΔL*, Δa*, Δb*
  Mat3 covariance{};   ///< of `apart`
  double de00 = 0;     ///< CIEDE2000 of the two
  double de00_u95 = 0; ///< 95 % point of how far the true difference lies from `apart`, in ΔE00
};
/// Throws ArgumentError where `fit` holds no correction.
[[nodiscard]] LabDifference difference(const CardFit& fit, const Signal& one, const Signal& other);

/// A surface of known colour in the photo: a tab of the user's own set beside the tooth.
struct KnownSurface {
  std::string name;
  BoxPx box;                               ///< within the surface
  std::optional<Lab> lab;                  ///< under the fit's viewing
  std::optional<Reflectance> reflectance;  ///< preferred over `lab` where both are given
};

struct CardFitOptions {
  std::optional<CorrectionMethod> method;  ///< none: the best the card and the photo allow
  /// Card corners in pixels (upper left, upper right, lower right, lower left) instead of
  /// fiducials.
  std::optional<std::array<PointPx, 4>> corners_px;
  std::vector<std::string> exclude;  ///< names of patches to leave out
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
