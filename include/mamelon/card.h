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

/// Reference colour of a patch under `viewing`. Throws ArgumentError when the patch has a Lab only
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

/// The fitted mapping from linear camera RGB at a place in the photo to CIELAB.
class Correction {
 public:
  virtual ~Correction() = default;
  /// CIELAB with covariance (all of it shared: it is the model's) of the mean colour `rgb` (0–1)
  /// found around `at`; `rgb_cov` goes to the random part.
  [[nodiscard]] virtual Measured<Lab> lab(const Vec3& rgb, const Mat3& rgb_cov,
                                          PointPx at) const = 0;
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
  std::vector<std::string> warnings;
  Provenance provenance;
};

[[nodiscard]] PointPx to_px(const CardFit& fit, PointMm at);

struct CardFitOptions {
  std::optional<CorrectionMethod> method;  ///< none: the best the card and the photo allow
  /// Card corners in pixels (upper left, upper right, lower right, lower left) instead of
  /// fiducials.
  std::optional<std::array<PointPx, 4>> corners_px;
  std::vector<std::string> exclude;  ///< names of patches to leave out
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

/// A surface of known colour in the photo: a tab of the user's own set beside the tooth.
struct KnownSurface {
  std::string name;
  BoxPx box;                               ///< within the surface
  std::optional<Lab> lab;                  ///< under the fit's viewing
  std::optional<Reflectance> reflectance;  ///< preferred over `lab` where both are given
};

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
