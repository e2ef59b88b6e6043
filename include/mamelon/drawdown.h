#pragma once
/// @file
/// Optical constants of a paste from drawdowns: flat specimens measured over known backings.

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "mamelon/colour.h"
#include "mamelon/description.h"
#include "mamelon/measured.h"
#include "mamelon/paste.h"
#include "mamelon/stack.h"
#include "mamelon/transport.h"
#include "mamelon/viewing.h"

namespace mamelon {

/// How a reflectance was read. Left unstated it is an error, not a guess: the choices differ by
/// several per cent.
/// A transmittance is total: of a beam near the normal on the upper face, all light that leaves the
/// lower one (of two smooth faces also the other way round); there is air on both sides, and
/// nothing behind.
enum class Geometry {
  unstated,
  diffuse_8_excluded,
  diffuse_8_included,
  angle_45_0,
  transmittance,
};
template <>
struct Words<Geometry> {
  static constexpr const char* name = "Geometry";
  static constexpr auto words =
      words_of("unstated", "d:8 excluded", "d:8 included", "45/0", "transmittance");
};

/// What the backing's reflectance means and how the specimen lies on it.
enum class Backing {
  unstated,
  internal,     ///< in optical contact, reflectance as seen from inside the paste
  seen_in_air,  ///< in optical contact, reflectance as an instrument reads the bare backing
  air_gap,      ///< under a film of air, reflectance as an instrument reads the bare backing
};
template <>
struct Words<Backing> {
  static constexpr const char* name = "Backing";
  static constexpr auto words = words_of("unstated", "internal", "seen_in_air", "air_gap");
};

/// The lower face of a specimen that lies across an air gap.
enum class Face {
  smooth,  ///< polished, or cured against glass or film: it mirrors by angle (Fresnel)
  rough,   ///< ground: what it sends back into the paste is even light
};
template <>
struct Words<Face> {
  static constexpr const char* name = "Face";
  static constexpr auto words = words_of("smooth", "rough");
};

/// The circles about one centre that an instrument lights and sees, as diameters. Light that leaves
/// the paste outside the circle lit is lost. Both far larger than the specimen's thickness (30
/// times apart): no loss.
struct Aperture {
  double lit_mm = 0;
  double seen_mm = 0;
};
template <>
struct Fields<Aperture> {
  static constexpr const char* name = "Aperture";
  static constexpr auto all() {
    return FieldList{
        needed("lit_mm", &Aperture::lit_mm, "diameter of what is lit").in("mm").above(0, 1000),
        needed("seen_mm", &Aperture::seen_mm, "diameter of what is seen").in("mm").above(0, 1000)};
  }
};

/// Errors that the colours of a photo may share, at most (`Drawdown::lab_shared`).
inline constexpr std::size_t most_shared_errors = 96;

/// One reading of one specimen over one backing: a reflectance or, where the instrument gives no
/// more, a CIELAB colour. Of a transmittance the contact is `air_gap`, the backing 0 and the
/// aperture left out or endless.
struct Drawdown {
  std::string specimen;
  double thickness_mm = 0;
  double thickness_sd_mm = 0.02;
  Geometry geometry = Geometry::unstated;
  Backing contact = Backing::unstated;
  Reflectance backing{};
  Reflectance measured{};
  double reflectance_sd = 0.002;
  std::optional<Lab> measured_lab{};
  double lab_sd = 0.15;
  Face lower_face = Face::smooth;
  std::optional<Aperture> aperture{};
  std::string photo{};
  std::vector<Vec3> lab_shared{};
};
template <>
struct Fields<Drawdown> {
  static constexpr const char* name = "Drawdown";
  static constexpr auto all() {
    using T = Drawdown;
    return FieldList{
        needed("specimen", &T::specimen, "readings of one specimen share its error of thickness"),
        needed("thickness_mm", &T::thickness_mm, "in mm"),
        needed("geometry", &T::geometry, "how it was read"),
        needed("contact", &T::contact, "how the specimen lies on the backing"),
        needed("backing", &T::backing, "reflectance of the backing"),
        field("measured", &T::measured,
              "reflectance of the specimen over it, or its transmittance, or measured_lab"),
        field("measured_lab", &T::measured_lab, "CIELAB in place of `measured`"),
        field("thickness_sd_mm", &T::thickness_sd_mm, "error of the thickness"),
        field("reflectance_sd", &T::reflectance_sd, "repeat noise of `measured`"),
        field("lab_sd", &T::lab_sd, "repeat noise of `measured_lab`, each coordinate"),
        field("lower_face", &T::lower_face, "of the specimen; counts across an air gap"),
        field("aperture", &T::aperture, "lit and seen; None: not known, one of the usual ones"),
        field("photo", &T::photo, "colours read from one photo share the errors of `lab_shared`"),
        field("lab_shared", &T::lab_shared,
              "what one sd of each error that the photo's colours share does to `measured_lab`, as "
              "many and in the same order for all of a photo; up to 96")};
  }
};

/// Colours whose errors go together, as those of one photo do: `lab_shared` and `lab_sd` of all
/// from the joint covariance of their L*, a* and b*, in their order, row by row. Throws
/// ArgumentError for another number of elements than 9 n², more errors than `most_shared_errors`,
/// or one without `measured_lab`.
void share_errors(std::span<Drawdown> drawdowns, std::span<const double> covariance);

/// Repeats of the same specimen, geometry and backing as one reading each: their mean, with the
/// noise that the repeats show (pooled over all, divided by √n). Where nothing was repeated the
/// stated noise stays. Throws ArgumentError for repeats on unlike grids or of unlike thickness.
[[nodiscard]] std::vector<Drawdown> average_repeats(std::span<const Drawdown> drawdowns);

/// How constants are fitted.
struct PasteFitOptions {
  Engine engine = Engine::kubelka_munk;  ///< the model that is fitted
  int streams = 4;  ///< of `Engine::transport`; 8 across an air gap under a smooth face
  double refractive_index = 1.5;      ///< 1.01–2
  double refractive_index_sd = 0.02;  ///< of transport; 0: the index is known
  double scale_sd = 0.0075;           ///< of the instrument's scale, of transport; 0: it is known
  double backing_sd = 0.0075;  ///< of the level of backings read in air, as a share; of transport
  double loss_sd = 0.05;       ///< of the edge loss, as a share of it (table and beam)
  double scattering_bend_sd = 1e-3;  ///< of the second difference of ln S per 10 nm
  double absorption_bend_sd = 0.05;  ///< of the second difference of ln K per 10 nm
  /// Of a reflectance, added to the repeat noise: what the engine itself misses. Leave it 0 only
  /// where the engine is the truth.
  double model_sd = 0;
  std::optional<Viewing> viewing{};  ///< of every `measured_lab`; needed where there is one
};

/// Model errors to state in `PasteFitOptions::model_sd` where nothing better is known: with them
/// the 95 % intervals of stacks cover what 32 streams give (drawdown_study_test.cpp).
inline constexpr double kubelka_munk_model_sd = 0.008;
inline constexpr double transport_model_sd = 0.0003;

/// Largest chi-square per degree of freedom of a fit by transport that is accepted: misses twice as
/// large as the stated noise explains.
inline constexpr double largest_reduced_chi_square = 4;

/// Thickness of a specimen as it was stated and as the fit found it.
struct SpecimenThickness {
  std::string specimen;
  double thickness_mm = 0;
  double sd_mm = 0;
};
template <>
struct Fields<SpecimenThickness> {
  static constexpr const char* name = "SpecimenThickness";
  static constexpr auto all() {
    using T = SpecimenThickness;
    return FieldList{needed("specimen", &T::specimen, "name of the specimen"),
                     needed("thickness_mm", &T::thickness_mm, "as fitted"),
                     needed("sd_mm", &T::sd_mm, "its standard deviation")};
  }
};

/// A paste's constants with what is known of them.
struct PasteFit {
  Engine engine = Engine::kubelka_munk;
  double refractive_index = 1.5;
  double refractive_index_sd = 0;
  double scale = 1;
  double scale_sd = 0;
  PerMm absorption;
  PerMm scattering;
  double anisotropy = 0;
  double anisotropy_sd = 0;
  bool anisotropy_fitted = false;
  std::vector<double> ln_absorption_sd;
  std::vector<double> ln_scattering_sd;
  /// Of ln absorption, ln scattering (one a band each), g and the refractive index (transport only)
  /// and the thicknesses in mm, row by row; widened by `widened`.
  std::vector<double> covariance;
  std::vector<SpecimenThickness> thickness;
  std::vector<Reflectance> residual;
  std::vector<Vec3> lab_residual;
  double chi_square = 0;
  double degrees_of_freedom = 0;
  /// Standard deviations are this much wider than the stated noise alone would have them:
  /// √(chi-square / degrees of freedom), at least 1.
  double widened = 1;
  double residual_rms = 0;
  double residual_lab_rms = 0;
  std::optional<Aperture> aperture{};
  bool scattering_undetermined = false;
  double thinnest_mm = 0;
  double thickest_mm = 0;
  double model_sd = 0;
  double reflectance_sd = 0;
  Provenance provenance;
  std::vector<std::string> warnings;
};
template <>
struct Fields<PasteFit> {
  static constexpr const char* name = "PasteFit";
  static constexpr auto all() {
    using T = PasteFit;
    return FieldList{
        needed("absorption", &T::absorption, "K, or μa of transport, per mm"),
        needed("scattering", &T::scattering, "S, or μs(1 − g) of transport, per mm"),
        field("engine", &T::engine, "whose constants they are"),
        field("refractive_index", &T::refractive_index, "as fitted by transport, else as stated"),
        field("refractive_index_sd", &T::refractive_index_sd, "its standard deviation"),
        field("scale", &T::scale, "what the instrument reads of what there is, as fitted"),
        field("scale_sd", &T::scale_sd, "its standard deviation"),
        field("anisotropy", &T::anisotropy, "g of transport"),
        field("anisotropy_sd", &T::anisotropy_sd, "its standard deviation"),
        field("anisotropy_fitted", &T::anisotropy_fitted,
              "the drawdowns told g; else it is the default with its sd"),
        field("ln_absorption_sd", &T::ln_absorption_sd, "standard deviation of ln K, one a band"),
        field("ln_scattering_sd", &T::ln_scattering_sd, "standard deviation of ln S, one a band"),
        field("covariance", &T::covariance,
              "of ln K, ln S, g and the index (transport only) and the thicknesses in mm, row by "
              "row"),
        field("thickness", &T::thickness, "of each specimen, as fitted"),
        field("residual", &T::residual, "measured less fitted, one a drawdown; empty for a Lab"),
        field("lab_residual", &T::lab_residual, "the same for a Lab; zeros for a reflectance"),
        field("chi_square", &T::chi_square, "of the readings"),
        field("degrees_of_freedom", &T::degrees_of_freedom,
              "readings less the effective number of constants"),
        field("widened", &T::widened, "how much wider than by the stated noise the sds are"),
        field("residual_rms", &T::residual_rms, "of the reflectances; 0 where there are none"),
        field("residual_lab_rms", &T::residual_lab_rms,
              "of the coordinates of CIELAB; 0 where there are none"),
        field("aperture", &T::aperture, "taken for drawdowns without one: the likeliest"),
        field("scattering_undetermined", &T::scattering_undetermined,
              "True when the specimens hide S"),
        field("thinnest_mm", &T::thinnest_mm,
              "of the specimens: outside them a prediction extrapolates"),
        field("thickest_mm", &T::thickest_mm, "of the specimens"),
        field("model_sd", &T::model_sd, "as stated"),
        field("reflectance_sd", &T::reflectance_sd,
              "of a predicted reflectance of 1 mm, model error included"),
        field("provenance", &T::provenance, "how it was made"),
        field("warnings", &T::warnings, "what to know before using it")};
  }
};

/// Maximum a posteriori over all bands at once: reflectance noise, stated thickness errors as
/// unknowns, and smoothness of ln K and ln S (Gauss–Newton with Marquardt's damping). By transport
/// g is one more unknown, 0.6 with sd 0.25 where the drawdowns do not tell it, and so are the
/// refractive index, the instrument's scale (one of reflectances, one of transmittances) and the
/// size of the edge loss, with their stated sds. Instruments that keep their scale (a third of its
/// sd) and that do not (twice its sd where they read the bare backings, too, three times where
/// these are known otherwise), and, for drawdowns without an aperture, the usual apertures are
/// tried in turn, and the constants are averaged by how well each explains the readings; the
/// covariance holds their differences. A fit by transport whose chi-square per degree of freedom
/// exceeds `largest_reduced_chi_square` is refused with the likeliest cause, found by fitting again
/// with one thing changed; so is one that moves a thickness by five of its sds. CIELAB readings
/// enter as they are, through the tristimulus integrals: the smoothness alone shapes the curves,
/// and the standard deviations say how well. Throws ArgumentError for fewer than two readings or
/// backings, unequal grids, an unstated geometry or backing, a transmittance over a backing or of a
/// part of the light, both or neither of reflectance and Lab, a Lab without viewing, a thickness,
/// index, aperture or sd out of range, or a specimen that reads darker over the lighter backing;
/// ModelError when the fit does not settle or does not explain the readings.
[[nodiscard]] PasteFit fit_paste(std::span<const Drawdown> drawdowns,
                                 const PasteFitOptions& options = {});

/// Constants of two fluxes that say of the specimens of `drawdowns`, in contact and under an
/// endless aperture, what the fit `transport` of them says. Throws ArgumentError for a fit by two
/// fluxes.
[[nodiscard]] PasteFit two_fluxes_like(const PasteFit& transport,
                                       std::span<const Drawdown> drawdowns);

/// A paste of `name` and `role` with the constants of one fit, or of a fit by each engine to the
/// same drawdowns. Throws ArgumentError unless the first is by Kubelka and Munk and the second by
/// transport on the same grid.
[[nodiscard]] Paste paste_of(const std::string& name, Role role, const PasteFit& kubelka_munk,
                             const PasteFit* transport = nullptr);

/// A layer of a paste with its fit.
struct FittedLayer {
  const PasteFit* fit = nullptr;  ///< of the paste
  double thickness_mm = 0;        ///< of the layer
  double thickness_sd_mm = 0;     ///< its standard deviation
};

/// A predicted colour with all that is known of its error.
struct FittedPrediction {
  Reflectance reflectance;
  std::vector<double> reflectance_sd;
  Measured<Lab> lab;
  std::vector<std::string> warnings;
};
template <>
struct Fields<FittedPrediction> {
  static constexpr const char* name = "FittedPrediction";
  static constexpr auto all() {
    using T = FittedPrediction;
    return FieldList{
        needed("reflectance", &T::reflectance, "seen outside, d:8"),
        needed("reflectance_sd", &T::reflectance_sd, "one a band"),
        needed(
            "lab", &T::lab,
            "with the covariance of its error; the error is `shared`: it comes from the constants"),
        field("warnings", &T::warnings, "layers outside the fitted thicknesses")};
  }
};

/// The reflectance and colour (d:8) of layers of fitted pastes, from the floor outward, with the
/// error of the constants (whole covariance), of the thicknesses and of the engine (its sd for each
/// layer, neighbouring bands together over 100 nm). Throws ArgumentError for fits by unlike
/// engines, and as `predict`.
[[nodiscard]] FittedPrediction predict_fitted(const Reflectance& floor,
                                              std::span<const FittedLayer> layers,
                                              const Viewing& viewing, int streams = 4);

/// The reflectance and colour of a stack with the error of its pastes' constants (the modes of
/// their transport constants; layers of one paste, told by its name, err together), of the
/// thicknesses (one sd a layer, in mm) and of the engine, as `predict_fitted` has them. By two
/// fluxes, and for pastes without modes, `Paste::reflectance_sd` stands for the constants. Throws
/// as `predict`, and ArgumentError for another number of sds than layers.
[[nodiscard]] FittedPrediction predict_with_error(const Stack& stack,
                                                  std::span<const double> thickness_sd_mm,
                                                  const Viewing& viewing, Engine engine,
                                                  int streams = 4);

}  // namespace mamelon
