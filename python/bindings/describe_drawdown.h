#pragma once
// Fields of the value types that fit a paste's constants from drawdowns.

#include "mamelon/drawdown.h"
#include "mamelon/opacity.h"
#include "mamelon/paste_report.h"

#include "describe_material.h"

namespace mamelon::python {

template <>
struct Names<Geometry> {
  static constexpr const char* alias = "Geometry";
  static constexpr std::array names{std::pair{Geometry::unstated, "unstated"},
                                    std::pair{Geometry::diffuse_8_excluded, "diffuse_8_excluded"},
                                    std::pair{Geometry::diffuse_8_included, "diffuse_8_included"},
                                    std::pair{Geometry::angle_45_0, "angle_45_0"}};
};
template <>
struct Names<Backing> {
  static constexpr const char* alias = "Backing";
  static constexpr std::array names{
      std::pair{Backing::unstated, "unstated"}, std::pair{Backing::internal, "internal"},
      std::pair{Backing::seen_in_air, "seen_in_air"}, std::pair{Backing::air_gap, "air_gap"}};
};

template <>
struct Names<Face> {
  static constexpr const char* alias = "Face";
  static constexpr std::array names{std::pair{Face::smooth, "smooth"},
                                    std::pair{Face::rough, "rough"}};
};

template <>
struct Fields<Aperture> {
  static constexpr const char* name = "Aperture";
  static constexpr auto all() {
    return std::tuple{needed("lit_mm", &Aperture::lit_mm, "diameter of what is lit"),
                      needed("seen_mm", &Aperture::seen_mm, "diameter of what is seen")};
  }
};
template <>
struct Fields<Drawdown> {
  static constexpr const char* name = "Drawdown";
  static constexpr auto all() {
    using T = Drawdown;
    return std::tuple{
        needed("specimen", &T::specimen, "readings of one specimen share its error of thickness"),
        needed("thickness_mm", &T::thickness_mm, "in mm"),
        needed("geometry", &T::geometry, "how it was read"),
        needed("contact", &T::contact, "how the specimen lies on the backing"),
        needed("backing", &T::backing, "reflectance of the backing"),
        field("measured", &T::measured, "reflectance of the specimen over it, or measured_lab"),
        field("measured_lab", &T::measured_lab, "CIELAB in place of `measured`"),
        field("thickness_sd_mm", &T::thickness_sd_mm, "error of the thickness"),
        field("reflectance_sd", &T::reflectance_sd, "repeat noise of `measured`"),
        field("lab_sd", &T::lab_sd, "repeat noise of `measured_lab`"),
        field("lower_face", &T::lower_face, "of the specimen; counts across an air gap"),
        field("aperture", &T::aperture, "lit and seen; None: not known, one of the usual ones")};
  }
};
template <>
struct Fields<SpecimenThickness> {
  static constexpr const char* name = "SpecimenThickness";
  static constexpr auto all() {
    using T = SpecimenThickness;
    return std::tuple{needed("specimen", &T::specimen, "name of the specimen"),
                      needed("thickness_mm", &T::thickness_mm, "as fitted"),
                      needed("sd_mm", &T::sd_mm, "its standard deviation")};
  }
};
template <>
struct Fields<PasteFit> {
  static constexpr const char* name = "PasteFit";
  static constexpr auto all() {
    using T = PasteFit;
    return std::tuple{
        needed("absorption", &T::absorption, "K, or μa of transport, per mm"),
        needed("scattering", &T::scattering, "S, or μs(1 − g) of transport, per mm"),
        field("engine", &T::engine, "whose constants they are"),
        field("refractive_index", &T::refractive_index, "as fitted by transport, else as stated"),
        field("refractive_index_sd", &T::refractive_index_sd, "its standard deviation"),
        field("scale", &T::scale, "what the instrument reads of what there is, as fitted"),
        field("scale_sd", &T::scale_sd, "its standard deviation"),
        field("anisotropy", &T::anisotropy, "g of transport"),
        field("anisotropy_sd", &T::anisotropy_sd, "its standard deviation"),
        field("anisotropy_fitted", &T::anisotropy_fitted, "True when the drawdowns told g"),
        field("ln_absorption_sd", &T::ln_absorption_sd, "standard deviation of ln K, one a band"),
        field("ln_scattering_sd", &T::ln_scattering_sd, "standard deviation of ln S, one a band"),
        field("covariance", &T::covariance,
              "of ln K, ln S, g and the index (transport only) and the thicknesses in mm, row by "
              "row"),
        field("thickness", &T::thickness, "of each specimen, as fitted"),
        field("residual", &T::residual, "measured less fitted, one a drawdown"),
        field("lab_residual", &T::lab_residual, "the same for a Lab"),
        field("chi_square", &T::chi_square, "of the readings"),
        field("degrees_of_freedom", &T::degrees_of_freedom,
              "readings less the effective number of constants"),
        field("widened", &T::widened, "how much wider than by the stated noise the sds are"),
        field("residual_rms", &T::residual_rms, "of the reflectances"),
        field("residual_lab_rms", &T::residual_lab_rms, "of the coordinates of CIELAB"),
        field("aperture", &T::aperture, "taken for drawdowns without one: the likeliest"),
        field("scattering_undetermined", &T::scattering_undetermined,
              "True when the specimens hide S"),
        field("thinnest_mm", &T::thinnest_mm, "of the specimens"),
        field("thickest_mm", &T::thickest_mm, "of the specimens"),
        field("model_sd", &T::model_sd, "as stated"),
        field("reflectance_sd", &T::reflectance_sd, "of a predicted reflectance of 1 mm"),
        field("provenance", &T::provenance, "how it was made"),
        field("warnings", &T::warnings, "what to know before using it")};
  }
};
template <>
struct Fields<FittedPrediction> {
  static constexpr const char* name = "FittedPrediction";
  static constexpr auto all() {
    using T = FittedPrediction;
    return std::tuple{needed("reflectance", &T::reflectance, "seen outside, d:8"),
                      needed("reflectance_sd", &T::reflectance_sd, "one a band"),
                      needed("lab", &T::lab, "with the covariance of its error"),
                      field("warnings", &T::warnings, "layers outside the fitted thicknesses")};
  }
};
template <>
struct Fields<Opacity> {
  static constexpr const char* name = "Opacity";
  static constexpr auto all() {
    using T = Opacity;
    return std::tuple{
        needed("thickness_mm", &T::thickness_mm, "of the layer"),
        needed("tp00", &T::tp00, "translucency parameter, CIEDE2000"),
        needed("tp_ab", &T::tp_ab, "the same as ΔE*ab"),
        needed("contrast_ratio", &T::contrast_ratio, "Y over black / Y over white"),
        needed("infinite_mm", &T::infinite_mm, "depth that hides the floor; None beyond 30 mm")};
  }
};

template <>
struct Fields<FitReport> {
  static constexpr const char* name = "FitReport";
  static FitReport blank() {
    return {.label = {},
            .viewing = Fields<Viewing>::blank(),
            .paste = {},
            .drawdowns = {},
            .kubelka_munk = {},
            .transport = {},
            .opacity = {},
            .warnings = {}};
  }
  static constexpr auto all() {
    using T = FitReport;
    return std::tuple{needed("label", &T::label, "your own title"),
                      needed("viewing", &T::viewing, "of the colours"),
                      needed("paste", &T::paste, "with the constants of both engines"),
                      needed("drawdowns", &T::drawdowns, "as fitted, repeats averaged"),
                      needed("kubelka_munk", &T::kubelka_munk, "the fit by two fluxes"),
                      needed("transport", &T::transport, "the fit by radiative transfer"),
                      needed("opacity", &T::opacity, "by transport"),
                      field("warnings", &T::warnings, "what to know before using it")};
  }
};

}  // namespace mamelon::python
